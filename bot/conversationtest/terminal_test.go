package conversationtest_test

import (
	"bytes"
	"context"
	"flag"
	"os"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/bot"
	conversation "bagwatch/bot/conversationtest"
	"bagwatch/bot/terminal"
)

var update = flag.Bool("update", false, "rewrite what the scripts expect")

// terminalStage plays a script by typing into a terminal and reading what it prints.
type terminalStage struct {
	*world
	screen *terminal.Terminal
	bot    *bot.Bot
	out    safeBuffer
}

// safeBuffer is what the terminal prints to, from the script and from the alert loop.
type safeBuffer struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (s *safeBuffer) Write(p []byte) (int, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.b.Write(p)
}

// take gives what was printed since the last time.
func (s *safeBuffer) take() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	defer s.b.Reset()
	return s.b.String()
}

func newTerminalStage(t *testing.T) *terminalStage {
	s := &terminalStage{world: newWorld(t)}
	s.screen = terminal.New(terminal.Config{
		Out: &s.out, Now: s.clock.now, Person: "Mara", Language: "en", Texts: s.parts.texts.Language("en"),
		Failed: func(err error) { t.Errorf("handler: %v", err) },
	})
	s.bot = s.world.bot(s.screen, terminal.Link)
	return s
}

func (s *terminalStage) line(line string) { s.screen.Line(context.Background(), s.bot, line) }

func (s *terminalStage) Enter(person, kitchen, topic string) error {
	s.screen.Speak(s.lang)
	if kitchen == "" {
		s.line("as " + person)
		return nil
	}
	if topic != "" {
		kitchen += "#" + topic
	}
	s.line("as " + person + " in " + kitchen)
	return nil
}

func (s *terminalStage) Act(verb, rest string) ([]string, error) {
	s.out.take()
	handled, err := s.common(verb, rest)
	switch {
	case err != nil:
		return nil, err
	case handled:
	case verb == ">":
		s.line("> " + rest)
	case verb == "fill":
		text, err := filled(rest)
		if err != nil {
			return nil, err
		}
		for _, chunk := range conversation.Chunks(text, 4096) {
			s.line("> " + chunk)
		}
	case slices.Contains([]string{"reply", "press", "edit", "photo", "place", "ask", "choose", "join", "leave", "migrate"}, verb):
		s.line("!" + verb + " " + rest)
	default:
		return nil, errAction
	}
	return conversation.Render(s.shown()), nil
}

var (
	headLine = regexp.MustCompile(`^╭ bagwatch(?:, (edited|notice|inline))?(?: → (.*))?$`)
	numbered = regexp.MustCompile(`\[\d+\] `)
)

// shown reads what was printed. What the terminal says itself is left out.
func (s *terminalStage) shown() []conversation.Shown {
	var out []conversation.Shown
	for line := range strings.Lines(s.out.take()) {
		line = strings.TrimRight(line, "\n")
		if m := headLine.FindStringSubmatch(line); m != nil {
			out = append(out, conversation.Shown{How: m[1], Where: m[2]})
			continue
		}
		text, ok := strings.CutPrefix(line, "│")
		if !ok || len(out) == 0 {
			continue
		}
		text = strings.TrimPrefix(text, " ")
		if strings.HasPrefix(text, "[") && numbered.MatchString(text) {
			labels := strings.Split(text, "  ")
			for i, l := range labels {
				labels[i] = numbered.ReplaceAllString(l, "")
			}
			text = conversation.Row(labels)
		}
		last := &out[len(out)-1]
		last.Lines = append(last.Lines, text)
	}
	return out
}

func TestConversationsInATerminal(t *testing.T) {
	count := 0
	for path, file := range scripts(t) {
		for i, script := range file.Scripts {
			count++
			t.Run(script.Name, func(t *testing.T) {
				got, diffs, err := script.Play(newTerminalStage(t))
				require.NoError(t, err)
				if *update {
					file.Scripts[i] = got
					return
				}
				for _, d := range diffs {
					assert.Fail(t, "the bot said something else", "%s", d)
				}
			})
		}
		if *update {
			require.NoError(t, os.WriteFile(path, []byte(file.String()), 0o644))
		}
	}
	assert.GreaterOrEqual(t, count, 40, "conversations")
}

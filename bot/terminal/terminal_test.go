package terminal_test

import (
	"bytes"
	"context"
	"errors"
	"io"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/bot"
	"bagwatch/bot/terminal"
	"bagwatch/internal/reply"
	"bagwatch/locales"
)

var noon = time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)

// heard keeps what the bot would hear.
type heard struct {
	all []bot.Incoming
	err error
}

func (h *heard) Handle(_ context.Context, in bot.Incoming) error {
	h.all = append(h.all, in)
	return h.err
}

func (h *heard) last(t *testing.T) bot.Incoming {
	t.Helper()
	require.NotEmpty(t, h.all)
	return h.all[len(h.all)-1]
}

func open(t *testing.T, cfg terminal.Config) (*terminal.Terminal, *heard, *bytes.Buffer) {
	texts, err := reply.Load(locales.FS, nil)
	require.NoError(t, err)
	out := &bytes.Buffer{}
	cfg.Out, cfg.Texts = out, texts.Language("en")
	cfg.Now = func() time.Time { return noon }
	return terminal.New(cfg), &heard{}, out
}

func message(text string, labels ...string) bot.Message {
	m := bot.Message{Text: reply.Text{{{Text: text, Style: reply.Strong}}}}
	for _, l := range labels {
		m.Buttons = append(m.Buttons, []bot.Button{{Label: l, Data: "data of " + l}})
	}
	return m
}

func TestANumberPressesWhileThereAreButtonsAndIsTextOtherwise(t *testing.T) {
	s, h, _ := open(t, terminal.Config{Person: "Mara"})
	s.Line(t.Context(), h, "2")
	assert.Equal(t, bot.Text, h.last(t).Kind)
	assert.Equal(t, "2", h.last(t).Text)
	chat := h.last(t).Chat
	id, err := s.Send(t.Context(), chat, message("one", "Pull", "Drop"))
	require.NoError(t, err)
	s.Line(t.Context(), h, "2")
	assert.Equal(t, bot.Press, h.last(t).Kind)
	assert.Equal(t, "data of Drop", h.last(t).Data)
	assert.Equal(t, id, h.last(t).Message)
	s.Line(t.Context(), h, "> 2")
	assert.Equal(t, "2", h.last(t).Text, "said, not pressed")
	s.Line(t.Context(), h, "3")
	assert.Equal(t, "3", h.last(t).Text, "there is no such button")
}

func TestAKitchenHearsCommandsAndRepliesOnly(t *testing.T) {
	s, h, out := open(t, terminal.Config{Person: "Mara", Kitchen: "Quay Street"})
	s.Line(t.Context(), h, "ribeye")
	s.Line(t.Context(), h, "/cook@other_bot ribeye")
	s.Line(t.Context(), h, "!photo")
	assert.Empty(t, h.all)
	assert.Contains(t, out.String(), "does not hear")
	s.Line(t.Context(), h, "/cook@bagwatch ribeye")
	in := h.last(t)
	assert.Equal(t, "/cook ribeye", in.Text)
	assert.True(t, in.Chat.Group)
	assert.Negative(t, int64(in.Chat.ID))
	first, err := s.Send(t.Context(), in.Chat, message("answer"))
	require.NoError(t, err)
	second, err := s.Send(t.Context(), in.Chat, message("another"))
	require.NoError(t, err)
	s.Line(t.Context(), h, "as Jonas: !reply rare")
	assert.Equal(t, "Jonas", h.last(t).From.Name)
	assert.Equal(t, second, h.last(t).ReplyTo)
	assert.True(t, h.last(t).ToBot)
	s.Line(t.Context(), h, "!reply oldest 3 cm")
	assert.Equal(t, first, h.last(t).ReplyTo)
	assert.Equal(t, "Mara", h.last(t).From.Name, "once only")
}

func TestTheFirstInAKitchenRunsIt(t *testing.T) {
	s, h, _ := open(t, terminal.Config{Person: "Mara", Kitchen: "Quay Street"})
	s.Line(t.Context(), h, "/bags")
	in := h.last(t)
	s.Line(t.Context(), h, "as Jonas in Quay Street: /bags")
	admin, err := s.Admin(t.Context(), in.Chat, in.From.ID)
	require.NoError(t, err)
	assert.True(t, admin)
	admin, err = s.Admin(t.Context(), in.Chat, h.last(t).From.ID)
	require.NoError(t, err)
	assert.False(t, admin)
	assert.NotEqual(t, in.From.ID, h.last(t).From.ID)
	assert.Equal(t, in.Chat.ID, h.last(t).Chat.ID)
}

func TestKeysOfOneChatDiffer(t *testing.T) {
	s, h, _ := open(t, terminal.Config{})
	s.Line(t.Context(), h, "one")
	_, err := s.Send(t.Context(), h.last(t).Chat, message("x", "Pull"))
	require.NoError(t, err)
	for _, line := range []string{"1", "1", "two", "!edit three", "!photo", "!place 1 2", "!ask four", "!join", "!leave", "!press Pull", "!press data:zz"} {
		s.Line(t.Context(), h, line)
	}
	seen := map[string]bool{}
	for _, in := range h.all {
		assert.False(t, seen[in.Key], "%s %s", in.Kind, in.Key)
		seen[in.Key] = true
		assert.Equal(t, noon, in.At)
	}
	assert.Len(t, seen, 12)
}

func TestEditsOfWhatIsNotThereAreLost(t *testing.T) {
	s, h, out := open(t, terminal.Config{})
	s.Line(t.Context(), h, "hello")
	chat := h.last(t).Chat
	assert.ErrorIs(t, s.Edit(t.Context(), chat, 99, message("x")), bot.ErrLost)
	assert.ErrorIs(t, s.Edit(t.Context(), chat, 1, message("x")), bot.ErrLost, "a person's own message")
	_, err := s.Send(t.Context(), bot.Chat{ID: 5}, message("x"))
	assert.ErrorIs(t, err, bot.ErrGone)
	id, err := s.Send(t.Context(), chat, message("x"))
	require.NoError(t, err)
	before := out.Len()
	require.NoError(t, s.Edit(t.Context(), chat, id, message("x")))
	assert.Equal(t, before, out.Len(), "what reads so already is not printed again")
	require.NoError(t, s.Edit(t.Context(), chat, id, message("y")))
	assert.Contains(t, out.String()[before:], "edited\n│ y")
}

func TestColourOnlyWhereAskedFor(t *testing.T) {
	for _, color := range []bool{false, true} {
		s, h, out := open(t, terminal.Config{Color: color})
		s.Line(t.Context(), h, "hello")
		_, err := s.Send(t.Context(), h.last(t).Chat, message("x", "Pull"))
		require.NoError(t, err)
		assert.Equal(t, color, strings.Contains(out.String(), "\x1b["))
	}
}

func TestRunReadsToTheEndAndReportsErrors(t *testing.T) {
	var failed []error
	s, h, _ := open(t, terminal.Config{Failed: func(err error) { failed = append(failed, err) }})
	h.err = errors.New("broken")
	lines := []string{"one", "", "two"}
	err := s.Run(t.Context(), h, func() (string, error) {
		if len(lines) == 0 {
			return "", io.EOF
		}
		line := lines[0]
		lines = lines[1:]
		return line, nil
	})
	require.NoError(t, err)
	assert.Len(t, h.all, 2, "an empty line is nothing")
	assert.Equal(t, []error{h.err, h.err}, failed)
	trouble := errors.New("unplugged")
	assert.ErrorIs(t, s.Run(t.Context(), h, func() (string, error) { return "", trouble }), trouble)
}

func TestPromptSaysWhoTypesWhere(t *testing.T) {
	s, h, _ := open(t, terminal.Config{Person: "Mara"})
	assert.Equal(t, "Mara> ", s.Prompt())
	s.Line(t.Context(), h, "as Jonas in Quay Street")
	assert.Equal(t, "Jonas @ Quay Street> ", s.Prompt())
	assert.Empty(t, h.all)
}

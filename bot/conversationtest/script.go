// Package conversationtest reads and plays scripts of conversations with the bot, such as those in
// testdata/conversations.
//
// A file holds several scripts, each under a line "-- its name --". A script is read line by line:
//
//	as Mara                     Mara goes on, alone with the bot
//	as Mara in Quay Street      Mara goes on, in a kitchen; "Quay Street#Grill" is a topic in it
//	> ribeye 3 cm               she types; in a kitchen the bot hears only commands
//	reply 3 cm                  she replies to the bot's newest message; "reply oldest 3 cm" to its first
//	press Thinner               she presses a button, in the newest message that has it; "press oldest …"
//	edit ribeye 4 cm            she edits her last message
//	fill 5000 ribeye            she types this over and over, up to so many characters
//	photo                       she sends a picture
//	place 38.7 -9.1             she sends a place
//	ask ribeye 1 in             she asks inline
//	choose 1                    she posts the first inline answer where she is
//	join, leave, migrate        the bot is added, removed or blocked; the group gets a new number
//	advance 14m                 time passes
//	language de                 what the apps of people who come later speak
//	store down, store up        the store fails, and works again
//
// and what follows is what the bot did then, in order:
//
//	< first line of a message
//	| its further lines, its buttons as [Thinner] [Thicker]
//	<edited first line of a message that was changed
//	<notice a text over the chat
//	<inline 1. title: description
//	<to Quay Street: first line of a message in another chat or topic
//
// Empty lines and lines that begin with # are for readers. Start with [Parse] and [Script.Play].
package conversationtest

import (
	"fmt"
	"strings"
	"time"
)

// Script is one conversation.
type Script struct {
	Name  string
	lines []string
}

// File is a file of scripts, with the text above the first.
type File struct {
	head    []string
	Scripts []*Script
}

// Parse reads a file of scripts.
func Parse(text string) (*File, error) {
	f := &File{}
	seen := map[string]bool{}
	for line := range strings.Lines(text) {
		line = strings.TrimRight(line, "\n")
		if name, ok := strings.CutPrefix(line, "-- "); ok && strings.HasSuffix(name, " --") {
			name = strings.TrimSuffix(name, " --")
			if seen[name] {
				return nil, fmt.Errorf("two scripts are called %q", name)
			}
			seen[name] = true
			f.Scripts = append(f.Scripts, &Script{Name: name})
			continue
		}
		if n := len(f.Scripts); n > 0 {
			f.Scripts[n-1].lines = append(f.Scripts[n-1].lines, line)
		} else {
			f.head = append(f.head, line)
		}
	}
	return f, nil
}

// String writes the file as Parse reads it.
func (f *File) String() string {
	var b strings.Builder
	for _, line := range f.head {
		b.WriteString(line + "\n")
	}
	for _, s := range f.Scripts {
		b.WriteString("-- " + s.Name + " --\n")
		for _, line := range s.lines {
			b.WriteString(line + "\n")
		}
	}
	return b.String()
}

// Stage is where a script is played: an adapter with people in front of it.
type Stage interface {
	// Enter makes a person the one who acts, alone or in a kitchen.
	Enter(person, kitchen, topic string) error
	// Act does what a line says and gives what the bot did, line by line as in a script.
	Act(verb, rest string) ([]string, error)
}

// Setting is what a stage is told before it begins.
type Setting struct {
	// Late says that the script adds the bot to its kitchens itself.
	Late bool
	// Migrates says that a kitchen of the script becomes another chat.
	Migrates bool
}

// Setting looks ahead in the script.
func (s *Script) Setting() Setting {
	var out Setting
	left := false
	for _, line := range s.lines {
		left = left || line == "leave"
		out.Late = out.Late || line == "join" && !left
		out.Migrates = out.Migrates || line == "migrate"
	}
	return out
}

// expectation tells whether a line says what the bot does.
func expectation(line string) bool {
	return strings.HasPrefix(line, "<") || strings.HasPrefix(line, "|")
}

// Difference is a place where the bot did something else than the script says.
type Difference struct {
	Line      int // of the action, counted from 1 within the script
	Action    string
	Want, Got []string
}

// String shows both.
func (d Difference) String() string {
	return fmt.Sprintf("line %d: %s\nwant\n%s\ngot\n%s", d.Line, d.Action, strings.Join(d.Want, "\n"), strings.Join(d.Got, "\n"))
}

// Play plays the script. It returns the script as it went, and where that differs.
func (s *Script) Play(stage Stage) (*Script, []Difference, error) {
	out := &Script{Name: s.Name}
	var diffs []Difference
	for i := 0; i < len(s.lines); {
		line := s.lines[i]
		at := i + 1
		i++
		out.lines = append(out.lines, line)
		if line == "" || line[0] == '#' {
			continue
		}
		if expectation(line) {
			return nil, nil, fmt.Errorf("line %d: nothing was done before %q", at, line)
		}
		var want []string
		for i < len(s.lines) && expectation(s.lines[i]) {
			want = append(want, s.lines[i])
			i++
		}
		got, err := act(stage, line)
		if err != nil {
			return nil, nil, fmt.Errorf("line %d: %s: %w", at, line, err)
		}
		out.lines = append(out.lines, got...)
		if strings.Join(want, "\n") != strings.Join(got, "\n") {
			diffs = append(diffs, Difference{Line: at, Action: line, Want: want, Got: got})
		}
	}
	return out, diffs, nil
}

func act(stage Stage, line string) ([]string, error) {
	verb, rest, _ := strings.Cut(line, " ")
	if verb != "as" {
		return stage.Act(verb, rest)
	}
	person, kitchen, _ := strings.Cut(rest, " in ")
	kitchen, topic, _ := strings.Cut(kitchen, "#")
	return nil, stage.Enter(person, kitchen, topic)
}

// Shown is one thing the bot did, as a stage saw it.
type Shown struct {
	// How is "", "edited", "notice" or "inline".
	How string
	// Where is the chat, and topic, when it is not the one of who acts.
	Where string
	// Lines are the text and a line for each row of buttons.
	Lines []string
}

// Render writes what the bot did as lines of a script. Notices come first: adapters differ in when they
// see them.
func Render(shown []Shown) []string {
	var out []string
	for _, notices := range [...]bool{true, false} {
		for _, s := range shown {
			if (s.How == "notice") != notices || len(s.Lines) == 0 {
				continue
			}
			mark := "<" + s.How
			if s.Where != "" {
				mark = strings.TrimRight("<"+s.How+" to "+s.Where, " ") + ":"
				mark = strings.Replace(mark, "< ", "<", 1)
			}
			for i, line := range s.Lines {
				if i == 0 {
					out = append(out, mark+" "+line)
					continue
				}
				out = append(out, strings.TrimRight("| "+line, " "))
			}
		}
	}
	return out
}

// Row writes a row of buttons.
func Row(labels []string) string { return "[" + strings.Join(labels, "] [") + "]" }

// Step is how much time passes with each line, so that nobody types faster than people do.
const Step = 5 * time.Second

// Chunks cuts a text as apps do that send at most size characters at a time.
func Chunks(text string, size int) []string {
	var out []string
	for r := []rune(text); len(r) > 0; {
		n := min(size, len(r))
		out = append(out, string(r[:n]))
		r = r[n:]
	}
	return out
}

package reply

import (
	"strings"
	"time"
)

// Style says how a part of a line is shown where the medium can.
type Style uint8

// The styles of a part.
const (
	Plain Style = iota
	Strong
	Code
	// Clock is a point in time: Part.At is set and Part.Text is how it reads in the chat's zone.
	Clock
)

// Part is a run of text in one style. It is never markup: whoever sends it escapes it.
type Part struct {
	Text  string
	Style Style
	At    time.Time
}

// Line is one line of an answer.
type Line []Part

// Text is an answer: lines, an empty one between paragraphs.
type Text []Line

// Line gives a plain one-part line.
func plainLine(s string) Line { return Line{{Text: s}} }

// String gives the line without styles.
func (l Line) String() string {
	if len(l) == 1 {
		return l[0].Text
	}
	var b strings.Builder
	for _, p := range l {
		b.WriteString(p.Text)
	}
	return b.String()
}

// String gives the answer without styles, lines separated by "\n".
func (t Text) String() string {
	lines := make([]string, len(t))
	for i, l := range t {
		lines[i] = l.String()
	}
	return strings.Join(lines, "\n")
}

// Points in time and code travel through translated sentences between these runes, which no
// message and no person's text may hold (clean strips them), and become parts in parts.
const (
	clockOpen  = '\uE000'
	codeOpen   = '\uE001'
	strongOpen = '\uE002'
	markSplit  = '\uE003'
	markClose  = '\uE004'
)

// clean strips the marks, controls and direction overrides from text that a person typed, so that it
// can neither fake a style nor reorder the line around it.
func clean(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r >= clockOpen && r <= markClose:
			return -1
		case r == '\u061C', r >= '\u200B' && r <= '\u200F', r >= '\u202A' && r <= '\u202E', r >= '\u2066' && r <= '\u2069', r == '\uFEFF':
			return -1
		case r < ' ', r >= 0x7F && r < 0xA0:
			return ' '
		}
		return r
	}, s)
}

// clockMark wraps a point in time.
func clockMark(at time.Time, text string) string {
	return string(clockOpen) + at.UTC().Format(time.RFC3339) + string(markSplit) + text + string(markClose)
}

// parts splits a rendered sentence at its marks.
func parts(s string) Line {
	if !strings.ContainsAny(s, string([]rune{clockOpen, codeOpen, strongOpen})) {
		return plainLine(s)
	}
	var line Line
	for s != "" {
		i := strings.IndexAny(s, string([]rune{clockOpen, codeOpen, strongOpen}))
		if i < 0 {
			return append(line, Part{Text: s})
		}
		if i > 0 {
			line = append(line, Part{Text: s[:i]})
		}
		rest := s[i:]
		open := []rune(rest[:3])[0] // the marks are three bytes each in UTF-8
		end := strings.IndexRune(rest, markClose)
		if end < 0 {
			return append(line, Part{Text: rest[3:]})
		}
		body := rest[3:end]
		s = rest[end+3:]
		switch open {
		case clockOpen:
			stamp, text, _ := strings.Cut(body, string(markSplit))
			at, err := time.Parse(time.RFC3339, stamp)
			if err != nil {
				line = append(line, Part{Text: text})
				continue
			}
			line = append(line, Part{Text: text, Style: Clock, At: at})
		case codeOpen:
			line = append(line, Part{Text: body, Style: Code})
		default:
			line = append(line, Part{Text: body, Style: Strong})
		}
	}
	return line
}

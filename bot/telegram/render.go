package telegram

import (
	"strconv"
	"strings"
	"unicode/utf16"

	"bagwatch/internal/reply"
)

// Limits of Bot API 10.3, in UTF-16 units after entity parsing.
const (
	maxText    = 4096 // sendMessage.text
	maxCaption = 1024 // sendPhoto.caption, sendDocument.caption
	maxNotice  = 200  // answerCallbackQuery.text
)

// escaper covers the three signs that are markup in text ("HTML style", Bot API).
var escaper = strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;")

// html writes a text in the platform's HTML. Everything that is not ours is escaped.
func html(t reply.Text) string {
	var b strings.Builder
	for i, line := range t {
		if i > 0 {
			b.WriteByte('\n')
		}
		for _, p := range line {
			writePart(&b, p)
		}
	}
	return b.String()
}

func writePart(b *strings.Builder, p reply.Part) {
	if p.Text == "" {
		return
	}
	open, end := "", ""
	switch p.Style {
	case reply.Strong:
		open, end = "<b>", "</b>"
	case reply.Code:
		open, end = "<code>", "</code>"
	case reply.Clock: // shown in the reader's own zone; older apps show the text
		if unix := p.At.Unix(); unix > 0 {
			open, end = `<tg-time unix="`+strconv.FormatInt(unix, 10)+`" format="t">`, "</tg-time>"
		}
	}
	b.WriteString(open)
	_, _ = escaper.WriteString(b, strings.ToValidUTF8(p.Text, "\uFFFD")) // a Builder does not fail
	b.WriteString(end)
}

// plain is a text without markup.
func plain(t reply.Text) string { return strings.ToValidUTF8(t.String(), "\uFFFD") }

// units counts UTF-16 units, never fewer than the platform counts.
func units(s string) int {
	n := 0
	for _, r := range s {
		n += max(utf16.RuneLen(r), 1)
	}
	return n
}

func lineUnits(l reply.Line) int {
	n := 0
	for _, p := range l {
		n += units(p.Text)
	}
	return n
}

// textUnits counts a text with its line ends.
func textUnits(t reply.Text) int {
	n := max(len(t)-1, 0)
	for _, l := range t {
		n += lineUnits(l)
	}
	return n
}

// cut shortens a string to a number of units, with an ellipsis if something went.
func cut(s string, limit int) string {
	if units(s) <= limit {
		return s
	}
	n := 1 // the ellipsis
	for i, r := range s {
		if n += max(utf16.RuneLen(r), 1); n > limit {
			return s[:i] + "…"
		}
	}
	return s
}

// split divides a text into pieces of at most first units, then rest units: at the end of a paragraph
// where it can, else of a line, else of a word, else anywhere. No piece is empty.
func split(t reply.Text, first, rest int) []reply.Text {
	if textUnits(t) <= first {
		return []reply.Text{t}
	}
	var pieces []reply.Text
	limit := first
	for t = trim(t); len(t) > 0; t = trim(t) {
		if textUnits(t) <= limit {
			return append(pieces, t)
		}
		piece, left := head(t, limit)
		if piece = trim(piece); len(piece) > 0 {
			pieces = append(pieces, piece)
		}
		t, limit = left, rest
	}
	return pieces
}

// head is as much of a text as fits, and the rest.
func head(t reply.Text, limit int) (piece, left reply.Text) {
	n, lines, paragraphs := -1, 0, 0
	for i, l := range t {
		if n += 1 + lineUnits(l); n > limit {
			break
		}
		lines = i + 1
		if i+1 < len(t) && lineUnits(t[i+1]) == 0 {
			paragraphs = i + 1
		}
	}
	switch {
	case paragraphs > 0:
		return t[:paragraphs], t[paragraphs:]
	case lines > 0:
		return t[:lines], t[lines:]
	}
	start, tail := headLine(t[0], limit)
	return reply.Text{start}, append(reply.Text{tail}, t[1:]...)
}

// headLine divides a line that is too long by itself.
func headLine(l reply.Line, limit int) (start, tail reply.Line) {
	n := 0
	for i, p := range l {
		size := units(p.Text)
		if n+size <= limit {
			n += size
			continue
		}
		at, space := 0, 0
		for j, r := range p.Text {
			if n += max(utf16.RuneLen(r), 1); n > limit {
				at = j
				break
			}
			if r == ' ' {
				space = j + 1
			}
		}
		if space > 0 {
			at = space
		}
		before, after := p, p
		before.Text, after.Text = p.Text[:at], p.Text[at:]
		start = append(append(reply.Line{}, l[:i]...), before)
		return start, append(reply.Line{after}, l[i+1:]...)
	}
	return l, nil
}

// trim drops empty lines around a text.
func trim(t reply.Text) reply.Text {
	blank := func(l reply.Line) bool { return strings.TrimSpace(l.String()) == "" }
	for len(t) > 0 && blank(t[0]) {
		t = t[1:]
	}
	for len(t) > 0 && blank(t[len(t)-1]) {
		t = t[:len(t)-1]
	}
	return t
}

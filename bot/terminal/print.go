package terminal

import (
	"context"
	"fmt"
	"strings"

	"bagwatch/bot"
	"bagwatch/internal/reply"
)

// How the bot's words stand out: a head line, a bar before each line. Colours only where asked for.
const (
	head  = "╭ bagwatch"
	bar   = "│ "
	bold  = "\x1b[1;33m"
	faint = "\x1b[36m"
	plain = "\x1b[0m"
)

// Send prints a message.
func (t *Terminal) Send(_ context.Context, to bot.Chat, m bot.Message) (bot.MessageID, error) {
	t.mu.Lock()
	defer t.mu.Unlock()
	c := t.byID[to.ID]
	if c == nil {
		return 0, bot.ErrGone
	}
	id := c.add(&message{byBot: true, topic: to.Topic, buttons: m.Buttons})
	t.show(c, to.Topic, "", m, id)
	return id, nil
}

// Edit prints the message anew.
func (t *Terminal) Edit(_ context.Context, to bot.Chat, id bot.MessageID, m bot.Message) error {
	t.mu.Lock()
	defer t.mu.Unlock()
	c := t.byID[to.ID]
	if n := -int(id); n > 0 && n <= len(t.carried) {
		c, id = t.carried[n-1].chat, t.carried[n-1].id
	}
	if c == nil || id < 1 || int(id) > len(c.messages) || !c.messages[id-1].byBot {
		return bot.ErrLost
	}
	c.messages[id-1].buttons = m.Buttons
	t.show(c, c.messages[id-1].topic, t.cfg.Texts.Say(reply.TerminalEdited, nil), m, id)
	return nil
}

// Notice prints the answer to a press, if there is one.
func (t *Terminal) Notice(_ context.Context, _ string, text string) error {
	t.mu.Lock()
	defer t.mu.Unlock()
	if text != "" {
		t.print([]string{head + ", " + t.cfg.Texts.Say(reply.TerminalNotice, nil), bar + text})
	}
	return nil
}

// Results prints inline answers by number and keeps them for "!choose".
func (t *Terminal) Results(_ context.Context, _ string, results []bot.Result) error {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.inline = results
	lines := []string{head + ", " + t.cfg.Texts.Say(reply.TerminalInline, nil)}
	for i, r := range results {
		lines = append(lines, fmt.Sprintf("%s%d. %s: %s", bar, i+1, r.Title, r.Description))
	}
	t.print(lines)
	return nil
}

// Admin reports whether the person opened the kitchen, or owns the private chat.
func (t *Terminal) Admin(_ context.Context, to bot.Chat, who bot.PersonID) (bool, error) {
	t.mu.Lock()
	defer t.mu.Unlock()
	c := t.byID[to.ID]
	return c != nil && c.owner == who, nil
}

// show prints a message unless it was last printed just so; the caller holds the lock.
func (t *Terminal) show(c *chat, topic int, how string, m bot.Message, id bot.MessageID) {
	top := head
	if how != "" {
		top += ", " + how
	}
	if c != t.now.chat || topic != t.now.topic {
		top += " → " + c.Title
		for name, number := range c.topics {
			if number == topic {
				top += "#" + name
			}
		}
	}
	var lines []string
	if m.Picture != nil {
		lines = append(lines, bar+"("+t.cfg.Texts.Say(reply.TerminalPicture, nil)+")")
	}
	if m.File != nil {
		lines = append(lines, bar+"("+t.saved(m)+")")
	}
	for _, line := range m.Text {
		s := line.String()
		if t.cfg.Color && len(line) > 0 && line[0].Style == reply.Strong {
			s = bold + s + plain
		}
		lines = append(lines, strings.TrimRight(bar+s, " "))
	}
	n := 0
	for _, row := range m.Buttons {
		var labels []string
		for _, b := range row {
			n++
			label := fmt.Sprintf("[%d] %s", n, b.Label)
			if t.cfg.Color {
				label = faint + label + plain
			}
			labels = append(labels, label)
		}
		lines = append(lines, bar+strings.Join(labels, "  "))
	}
	text := strings.Join(lines, "\n")
	if shown := &c.messages[id-1].shown; *shown != text || m.Picture != nil || m.File != nil {
		*shown = text
		t.print(append([]string{top}, lines...))
	}
}

// saved keeps a file where the terminal's owner wants it, and gives its name.
func (t *Terminal) saved(m bot.Message) string {
	if t.cfg.Save == nil {
		return m.FileName
	}
	name, err := t.cfg.Save(m.FileName, m.File)
	if err != nil {
		if t.cfg.Failed != nil {
			t.cfg.Failed(err)
		}
		return m.FileName
	}
	return name
}

// note prints a word of the terminal itself.
func (t *Terminal) note(id reply.ID) { t.print([]string{"(" + t.cfg.Texts.Say(id, nil) + ")"}) }

// print writes lines; a terminal that is gone ends the program elsewhere.
func (t *Terminal) print(lines []string) {
	_, _ = fmt.Fprint(t.cfg.Out, strings.Join(lines, "\n")+"\n")
}

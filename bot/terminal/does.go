package terminal

import (
	"context"
	"fmt"
	"strconv"
	"strings"
	"time"

	"bagwatch/bot"
	"bagwatch/internal/reply"
)

// does carries out a line that begins with "!". The caller holds the lock.
func (t *Terminal) does(ctx context.Context, at place, verb, rest string) (bot.Incoming, bool) {
	oldest := false
	if r, ok := strings.CutPrefix(rest, "oldest "); ok && (verb == "press" || verb == "reply") {
		rest, oldest = r, true
	}
	switch verb {
	case "press":
		return t.presses1(at, rest, oldest)
	case "reply":
		return t.replies(at, rest, oldest)
	case "edit":
		for i := len(at.chat.messages); i > 0; i-- {
			if m := at.chat.messages[i-1]; m.by == at.who.ID {
				m.said = rest
				in := t.incoming(at, bot.Edited, bot.MessageID(i))
				in.Key += "e" + strconv.FormatInt(in.At.UnixMilli(), 36)
				in.Text = rest
				return in, true
			}
		}
	case "ask":
		return t.asks(at, rest)
	case "choose":
		if n, err := strconv.Atoi(rest); err == nil && n > 0 && n <= len(t.inline) {
			m := t.inline[n-1].Message
			id := at.chat.add(&message{byBot: true, topic: at.topic, buttons: m.Buttons})
			t.carried = append(t.carried, carried{at.chat, id})
			t.show(at.chat, at.topic, "", m, id)
			return bot.Incoming{}, false
		}
	case "photo":
		return t.incoming(at, bot.Other, at.chat.add(&message{by: at.who.ID, topic: at.topic})), !at.chat.Group
	case "place":
		in := t.incoming(at, bot.Place, at.chat.add(&message{by: at.who.ID, topic: at.topic}))
		if _, err := fmt.Sscan(rest, &in.Latitude, &in.Longitude); err == nil {
			return in, true
		}
	case "join":
		return t.incoming(at, bot.Joined, at.chat.add(&message{})), true
	case "leave":
		return t.incoming(at, bot.Left, at.chat.add(&message{})), true
	case "migrate":
		return t.migrates(at)
	case "wait":
		d, err := time.ParseDuration(rest)
		if err != nil || d <= 0 || t.cfg.Wait == nil {
			break
		}
		t.mu.Unlock() // alerts are printed meanwhile
		if err := t.cfg.Wait(ctx, d); err != nil && t.cfg.Failed != nil {
			t.cfg.Failed(err)
		}
		t.mu.Lock()
		return bot.Incoming{}, false
	}
	t.note(reply.TerminalUnknown)
	return bot.Incoming{}, false
}

// presses1 is one press of a button, by label or, after "data:", by what it carries.
func (t *Terminal) presses1(at place, label string, oldest bool) (bot.Incoming, bool) {
	if data, forged := strings.CutPrefix(label, "data:"); forged {
		return t.press(at, bot.MessageID(len(at.chat.messages)), bot.Button{Data: data})
	}
	id, b, ok := at.chat.labelled(label, oldest)
	if !ok {
		t.note(reply.TerminalNobutton)
		return bot.Incoming{}, false
	}
	return t.press(at, id, b)
}

// linkPrefix begins a deep link of the terminal.
const linkPrefix = "bagwatch:start:"

// Link is a deep link: pressing a button with it opens the person's private chat with the bot.
func Link(payload string) string { return linkPrefix + payload }

func (t *Terminal) press(at place, id bot.MessageID, b bot.Button) (bot.Incoming, bool) {
	switch {
	case b.Share != "":
		return t.asks(at, b.Share)
	case strings.HasPrefix(b.URL, linkPrefix):
		return t.say(t.enter(at.who.Name, ""), "/start "+b.URL[len(linkPrefix):])
	case b.URL != "":
		t.print([]string{b.URL})
		return bot.Incoming{}, false
	}
	t.presses++
	in := t.incoming(at, bot.Press, id)
	in.Key = "p" + strconv.Itoa(t.presses)
	in.PressID, in.Data = in.Key, b.Data
	if id > 0 && int(id) <= len(at.chat.messages) {
		in.Chat.Topic = at.chat.messages[id-1].topic
	}
	for i, c := range t.carried {
		if c.chat == at.chat && c.id == id {
			own := *at.who
			in.Chat, in.Message = t.enter(own.Name, "").chat.Chat, -bot.MessageID(i+1)
			at.who.at = own.at // where they are has not changed
		}
	}
	return in, true
}

// replies is a reply to the bot, in the topic of the message it answers.
func (t *Terminal) replies(at place, text string, oldest bool) (bot.Incoming, bool) {
	to := 0
	for i, m := range at.chat.messages {
		if m.byBot && (to == 0 || !oldest) {
			to = i + 1
		}
	}
	if to == 0 {
		t.note(reply.TerminalUnknown)
		return bot.Incoming{}, false
	}
	in := t.incoming(at, bot.Text, at.chat.add(&message{said: text, by: at.who.ID, topic: at.topic}))
	in.Text, in.ReplyTo, in.ToBot = text, bot.MessageID(to), true
	return in, true
}

// asks is an inline query.
func (t *Terminal) asks(at place, text string) (bot.Incoming, bool) {
	t.posted++
	in := t.incoming(at, bot.Inline, 0)
	in.Chat = bot.Chat{} // an inline query does not say where it is typed
	in.Key = "q" + strconv.Itoa(t.posted)
	in.InlineID, in.Text = in.Key, text
	return in, true
}

// migrates gives a kitchen a new number.
func (t *Terminal) migrates(at place) (bot.Incoming, bool) {
	if !at.chat.Group {
		t.note(reply.TerminalUnknown)
		return bot.Incoming{}, false
	}
	in := t.incoming(at, bot.Migrated, at.chat.add(&message{}))
	at.chat.ID -= 1_000_000
	t.byID[at.chat.ID] = at.chat
	in.MovedTo = at.chat.ID
	return in, true
}

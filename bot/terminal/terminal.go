// Package terminal carries the bot's conversation to a terminal: one person, or several playing a
// shared kitchen.
//
// What is typed is a message to the bot, except for
//
//	2                        presses button 2, while numbered buttons are on screen; "> 2" says 2
//	as Mara                  goes on as Mara, in her private chat
//	as Mara in Quay Street   goes on as Mara, in a kitchen
//	as Mara: ribeye 3 cm     says one thing as Mara, where she was last
//	!press Thinner           presses a button by its label; "!press oldest Thinner" the oldest one
//	!reply 3 cm              replies to the bot's last message; "!reply oldest 3 cm" to its first
//	!edit ribeye 4 cm        edits one's own last message
//	!ask ribeye 1 in         asks inline, from any chat; !choose 1 posts the first answer
//	!photo, !place 38.7 -9.1 sends something that is no text
//	!join, !leave, !migrate  what happens to the bot in a chat
//	!wait 14m                lets the demo clock run
//
// A kitchen behaves like a group in which the bot hears only commands, replies to it and presses.
// Make a [Terminal] with [New], give it to bot.New as its Messenger, then [Terminal.Run].
package terminal

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"
	"sync"
	"time"

	"bagwatch/bot"
	"bagwatch/internal/reply"
)

// Handler is what the terminal needs of the bot.
type Handler interface {
	Handle(ctx context.Context, in bot.Incoming) error
}

// Config tunes a terminal.
type Config struct {
	// Out is where everything is printed; nothing else may write there.
	Out io.Writer
	// Color marks first lines and buttons with terminal colours.
	Color bool
	// Now is the clock that dates what is typed.
	Now func() time.Time
	// Wait lets the clock run on by d: a demo clock sleeps less than that. Nil refuses "!wait".
	Wait func(ctx context.Context, d time.Duration) error
	// Person and Kitchen are who types first and where; an empty Person is a made-up cook, an empty
	// Kitchen the person's private chat.
	Person, Kitchen string
	// Language is what the people's apps speak; may be empty.
	Language string
	// Texts are the terminal's own words.
	Texts *reply.Language
	// Save keeps a file that the bot sends and gives its name; nil only shows that there is one.
	Save func(name string, data []byte) (string, error)
	// Failed hears of errors of the handler, which has told the person already; may be nil.
	Failed func(error)
}

// defaultPerson is who types when nobody is named.
const defaultPerson = "Ife"

// Numbers of people and kitchens. Kitchens are negative, as groups are.
const (
	firstPerson  = 1001
	firstKitchen = -2001
)

// Terminal is a bot.Messenger that prints, and a reader of what people type.
type Terminal struct {
	cfg Config

	mu       sync.Mutex
	people   map[string]*person
	kitchens map[string]*chat
	private  map[bot.PersonID]*chat
	byID     map[bot.ChatID]*chat
	now      place
	presses  int
	inline   []bot.Result
	carried  []carried
	posted   int // inline queries so far
}

type person struct {
	bot.Person
	at place
}

// place is where somebody is: a chat and a topic in it.
type place struct {
	who   *person
	chat  *chat
	topic int
}

type chat struct {
	bot.Chat
	owner    bot.PersonID
	topics   map[string]int
	messages []*message
}

// message is one message of a chat; ids count from 1.
type message struct {
	byBot   bool
	said    string
	by      bot.PersonID
	topic   int
	shown   string // how it was last printed
	buttons [][]bot.Button
}

// carried is a message that a person posted through the bot. For the bot it is in no chat: a press counts
// as made in the person's own, and the message has a number below zero.
type carried struct {
	chat *chat
	id   bot.MessageID
}

// New makes a terminal.
func New(cfg Config) *Terminal {
	t := &Terminal{cfg: cfg, people: map[string]*person{}, kitchens: map[string]*chat{}, private: map[bot.PersonID]*chat{}, byID: map[bot.ChatID]*chat{}}
	who := cfg.Person
	if who == "" {
		who = defaultPerson
	}
	t.now = t.enter(who, cfg.Kitchen)
	return t
}

// enter gives the place of a person, in a kitchen or alone, made up when new.
func (t *Terminal) enter(name, kitchen string) place {
	p := t.people[name]
	if p == nil {
		p = &person{Person: bot.Person{ID: bot.PersonID(firstPerson + len(t.people)), Name: name, Language: t.cfg.Language}}
		t.people[name] = p
	}
	if kitchen == "" {
		c := t.private[p.ID]
		if c == nil {
			c = &chat{Chat: bot.Chat{ID: bot.ChatID(p.ID), Title: name}, owner: p.ID}
			t.private[p.ID], t.byID[c.ID] = c, c
		}
		p.at = place{who: p, chat: c}
		return p.at
	}
	kitchen, topic, _ := strings.Cut(kitchen, "#")
	c := t.kitchens[kitchen]
	if c == nil {
		c = &chat{Chat: bot.Chat{ID: bot.ChatID(firstKitchen - len(t.kitchens)), Group: true, Title: kitchen}, owner: p.ID, topics: map[string]int{}}
		t.kitchens[kitchen], t.byID[c.ID] = c, c
	}
	at := place{who: p, chat: c}
	if topic != "" {
		if c.topics[topic] == 0 {
			c.topics[topic] = 100 + len(c.topics)
		}
		at.topic = c.topics[topic]
	}
	p.at = at
	return at
}

// Speak sets what the apps of people speak who come from now on.
func (t *Terminal) Speak(language string) {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.cfg.Language = language
}

// Prompt is what stands before the cursor: who types where.
func (t *Terminal) Prompt() string {
	t.mu.Lock()
	defer t.mu.Unlock()
	if t.now.chat.Group {
		return t.now.who.Name + " @ " + t.now.chat.Title + "> "
	}
	return t.now.who.Name + "> "
}

// Run reads lines until the source ends or ctx is done. Read gives one line without its end.
func (t *Terminal) Run(ctx context.Context, h Handler, read func() (string, error)) error {
	for ctx.Err() == nil {
		line, err := read()
		if line != "" || err == nil {
			t.Line(ctx, h, line)
		}
		switch {
		case errors.Is(err, io.EOF):
			return nil
		case err != nil:
			return fmt.Errorf("read a line: %w", err)
		}
	}
	return nil
}

// Line deals with one line: it gives the bot what the line means and returns when it is handled.
func (t *Terminal) Line(ctx context.Context, h Handler, line string) {
	line = strings.TrimRight(line, "\r\n")
	if strings.TrimSpace(line) == "" {
		return
	}
	t.mu.Lock()
	at := t.now
	if rest, ok := strings.CutPrefix(line, "as "); ok {
		who, said, once := strings.Cut(rest, ":")
		name, kitchen, _ := strings.Cut(strings.TrimSpace(who), " in ")
		name, kitchen = strings.TrimSpace(name), strings.TrimSpace(kitchen)
		known := t.people[name]
		switch {
		case name == "":
		case !once:
			t.now = t.enter(name, kitchen)
			t.mu.Unlock()
			return
		case kitchen == "" && known != nil:
			at, line = known.at, strings.TrimSpace(said)
		case kitchen == "" && at.chat.Group:
			at, line = t.enter(name, at.chat.Title), strings.TrimSpace(said)
		default:
			at, line = t.enter(name, kitchen), strings.TrimSpace(said)
		}
	}
	in, ok := t.heard(ctx, at, line)
	t.mu.Unlock()
	if !ok {
		return
	}
	if err := h.Handle(ctx, in); err != nil && t.cfg.Failed != nil {
		t.cfg.Failed(err)
	}
}

// heard turns a line into what the bot hears. The caller holds the lock.
func (t *Terminal) heard(ctx context.Context, at place, line string) (bot.Incoming, bool) {
	if n, err := strconv.Atoi(line); err == nil {
		if id, b, ok := at.chat.numbered(n); ok {
			return t.press(at, id, b)
		}
	}
	if rest, ok := strings.CutPrefix(line, "> "); ok {
		return t.say(at, rest)
	}
	if rest, ok := strings.CutPrefix(line, "!"); ok {
		verb, rest, _ := strings.Cut(rest, " ")
		return t.does(ctx, at, verb, strings.TrimSpace(rest))
	}
	return t.say(at, line)
}

// botName is what commands for this bot carry in a group: "/cook@bagwatch".
const botName = "bagwatch"

// say is a person saying something; in a kitchen the bot hears commands only, and none for other bots.
func (t *Terminal) say(at place, text string) (bot.Incoming, bool) {
	id := at.chat.add(&message{said: text, by: at.who.ID, topic: at.topic})
	if command, rest, _ := strings.Cut(text, " "); strings.HasPrefix(command, "/") {
		name, to, named := strings.Cut(command, "@")
		if named && to != botName {
			return bot.Incoming{}, false
		}
		if named {
			text = strings.TrimSpace(name + " " + rest)
		}
	}
	if at.chat.Group && !strings.HasPrefix(text, "/") {
		t.note(reply.TerminalUnheard)
		return bot.Incoming{}, false
	}
	in := t.incoming(at, bot.Text, id)
	in.Text = text
	return in, true
}

func (t *Terminal) incoming(at place, kind bot.Kind, id bot.MessageID) bot.Incoming {
	c := at.chat.Chat
	c.Topic = at.topic
	return bot.Incoming{Kind: kind, Key: "m" + strconv.Itoa(int(id)), At: t.cfg.Now(), Chat: c, From: at.who.Person, Message: id}
}

func (c *chat) add(m *message) bot.MessageID {
	c.messages = append(c.messages, m)
	return bot.MessageID(len(c.messages))
}

// numbered finds button n of the newest message with buttons.
func (c *chat) numbered(n int) (bot.MessageID, bot.Button, bool) {
	for i := len(c.messages) - 1; i >= 0; i-- {
		if m := c.messages[i]; m.byBot && len(m.buttons) > 0 {
			for _, row := range m.buttons {
				if n <= len(row) && n > 0 {
					return bot.MessageID(i + 1), row[n-1], true
				}
				n -= len(row)
			}
			break
		}
	}
	return 0, bot.Button{}, false
}

// labelled finds a button by its label, in the newest message that has it or the oldest.
func (c *chat) labelled(label string, oldest bool) (bot.MessageID, bot.Button, bool) {
	var found bot.MessageID
	var button bot.Button
	for i, m := range c.messages {
		for _, row := range m.buttons {
			for _, b := range row {
				if b.Label == label {
					found, button = bot.MessageID(i+1), b
					if oldest {
						return found, button, true
					}
				}
			}
		}
	}
	return found, button, found != 0
}

package standin

import (
	"errors"
	"fmt"
	"sort"
	"strings"
	"time"
)

// EventKind says what happened in a chat.
type EventKind string

// What a bot can do in a chat.
const (
	Sent     EventKind = "sent"
	Edited   EventKind = "edited"
	Deleted  EventKind = "deleted"
	Pinned   EventKind = "pinned"
	Unpinned EventKind = "unpinned"
	Reacted  EventKind = "reacted"
	Action   EventKind = "action" // Message.Text is the action
)

// Event is one thing the bot did in a chat, with the message as it was then.
type Event struct {
	Kind    EventKind
	Message Message
	At      time.Time // by Config.Now
	Real    time.Time
}

// Button is one button of an inline keyboard.
type Button struct {
	Text, Data, URL, CopyText string
	SwitchInline              string // inline query it starts
	Switches                  bool   // it starts an inline query, which may be empty
}

// Location is a place in degrees.
type Location struct{ Latitude, Longitude float64 }

// Message is a snapshot of a message as people see it.
type Message struct {
	ID          int
	ChatID      int64
	Thread      int    // message_thread_id, zero outside topics
	InlineID    string // of a message sent via the bot
	From        string // first name of the sender
	ByBot       bool   // sent by, or via, the bot under test
	Text        string // text or caption, without markup; a service message in [brackets]
	Source      string // text or caption as the bot sent it
	Entities    []Entity
	Buttons     [][]Button
	Keyboard    [][]string // reply keyboard
	ForceReply  bool
	Placeholder string
	Photo       string // file_id of the largest size
	Document    string // file name
	Location    *Location
	ReplyTo     int
	Silent      bool
	Edits       int
	Deleted     bool
	Pinned      bool
	Reaction    string
	SentAt      time.Time // by Config.Now
	EditedAt    time.Time
	UpdateID    int // of a person's message: its update, zero if the bot was not told
}

// Button finds a button by its text or its data.
func (m Message) Button(what string) (Button, bool) {
	for _, row := range m.Buttons {
		for _, b := range row {
			if b.Text == what || b.Data != "" && b.Data == what {
				return b, true
			}
		}
	}
	return Button{}, false
}

// String shows the message on a few lines: text, then a row of [buttons] a line.
func (m Message) String() string {
	var b strings.Builder
	b.WriteString(m.Text)
	for _, row := range m.Buttons {
		b.WriteString("\n")
		for i, button := range row {
			if i > 0 {
				b.WriteString(" ")
			}
			b.WriteString("[" + button.Text + "]")
		}
	}
	return b.String()
}

func visible(m *stored) string {
	switch {
	case m.Text != "":
		return m.Text
	case m.Caption != "":
		return m.Caption
	case m.NewMembers != nil:
		return fmt.Sprintf("[%s joined]", m.NewMembers[0].FirstName)
	case m.LeftMember != nil:
		return fmt.Sprintf("[%s left]", m.LeftMember.FirstName)
	case m.MigrateTo != 0, m.MigrateFrom != 0:
		return "[became a supergroup]"
	case m.TopicCreated != nil:
		return fmt.Sprintf("[topic %s]", m.TopicCreated.Name)
	case m.NewTitle != "":
		return fmt.Sprintf("[now called %s]", m.NewTitle)
	}
	return ""
}

func buttons(m *stored) [][]Button {
	if m.ReplyMarkup == nil {
		return nil
	}
	var out [][]Button
	for _, row := range m.ReplyMarkup.Rows {
		var line []Button
		for _, o := range row {
			b := Button{Text: asString(o["text"]), Data: asString(o["callback_data"]), URL: asString(o["url"])}
			b.CopyText = asString(asObject(o["copy_text"])["text"])
			for _, key := range []string{"switch_inline_query", "switch_inline_query_current_chat"} {
				if q, ok := o[key]; ok {
					b.SwitchInline, b.Switches = asString(q), true
				}
			}
			if q := asObject(o["switch_inline_query_chosen_chat"]); q != nil {
				b.SwitchInline, b.Switches = asString(q["query"]), true
			}
			line = append(line, b)
		}
		out = append(out, line)
	}
	return out
}

func (m *stored) snapshot() Message {
	out := Message{
		ID: m.ID, ChatID: m.Chat.ID, Thread: m.Thread, InlineID: m.inlineID, ByBot: m.fromBot, Text: visible(m),
		Source: m.source, Entities: m.Entities, Buttons: buttons(m), Silent: m.silent, Edits: m.edits, Deleted: m.deleted,
		Pinned: m.pinned, Reaction: m.reaction, SentAt: m.at, EditedAt: m.edited,
	}
	if m.sender != nil {
		out.From = m.sender.FirstName
	}
	if m.Entities == nil {
		out.Entities = m.CaptionEnts
	}
	if n := len(m.Photo); n > 0 {
		out.Photo = m.Photo[n-1].FileID
	}
	if m.Document != nil {
		out.Document = m.Document.Name
	}
	if m.Location != nil {
		out.Location = &Location{m.Location.Latitude, m.Location.Longitude}
	}
	if m.ReplyTo != nil {
		out.ReplyTo = m.ReplyTo.ID
	}
	rows, _ := m.markup["keyboard"].([]any)
	for _, r := range rows {
		var row []string
		list, _ := r.([]any)
		for _, b := range list {
			row = append(row, asString(asObject(b)["text"])+asString(b))
		}
		out.Keyboard = append(out.Keyboard, row)
	}
	out.ForceReply = m.markup["force_reply"] == true
	out.Placeholder = asString(m.markup["input_field_placeholder"])
	return out
}

// event notes what the bot did; s.mu is held.
func (s *Server) event(chat *Chat, kind EventKind, m *stored) {
	s.addEvent(chat, Event{Kind: kind, Message: m.snapshot(), At: s.now(), Real: time.Now()})
}

func (s *Server) eventText(chat *Chat, kind EventKind, text string) {
	s.addEvent(chat, Event{Kind: kind, Message: Message{ChatID: chat.id, Text: text, ByBot: true}, At: s.now(), Real: time.Now()})
}

func (s *Server) addEvent(chat *Chat, e Event) {
	chat.events = append(chat.events, e)
	if len(chat.events) >= 2*s.cfg.KeepMessages {
		cut := len(chat.events) - s.cfg.KeepMessages
		chat.events = append([]Event(nil), chat.events[cut:]...)
		chat.dropped += cut
	}
	s.wake()
}

// Messages is the record of a chat, people and bot, in order, without deleted messages.
func (s *Server) Messages(chat *Chat) []Message {
	s.mu.Lock()
	defer s.mu.Unlock()
	var out []Message
	for _, m := range chat.messages {
		if !m.deleted {
			out = append(out, m.snapshot())
		}
	}
	sort.Slice(out, func(i, j int) bool { return out[i].ID < out[j].ID })
	return out
}

// Message is the present state of a message; false if it was forgotten.
func (s *Server) Message(m Message) (Message, bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	chat := s.chats[m.ChatID]
	if chat == nil || chat.messages[m.ID] == nil {
		return Message{}, false
	}
	return chat.messages[m.ID].snapshot(), true
}

// Events are all things the bot did in a chat, whether consumed or not.
func (s *Server) Events(chat *Chat) []Event {
	s.mu.Lock()
	defer s.mu.Unlock()
	return append([]Event(nil), chat.events...)
}

// ErrTimeout reports that what was waited for did not come.
var ErrTimeout = errors.New("standin: nothing came in time")

// waitUntil waits until ok, which is called with s.mu held.
func (s *Server) waitUntil(timeout time.Duration, ok func() bool) error {
	deadline := time.NewTimer(timeout)
	defer deadline.Stop()
	s.mu.Lock()
	defer s.mu.Unlock()
	for {
		if ok() {
			return nil
		}
		changed := s.changed
		if s.closing {
			return ErrTimeout
		}
		s.mu.Unlock()
		late := false
		select {
		case <-changed:
		case <-deadline.C:
			late = true
		}
		s.mu.Lock()
		if late {
			if ok() {
				return nil
			}
			return ErrTimeout
		}
	}
}

// WaitFor consumes the chat's events up to the first that matches, which it returns. Each chat has
// one reading position, shared by WaitFor, Next, Expect and Quiet.
func (s *Server) WaitFor(chat *Chat, timeout time.Duration, match func(Event) bool) (Event, error) {
	var found Event
	err := s.waitUntil(timeout, func() bool {
		for i := max(chat.cursor-chat.dropped, 0); i < len(chat.events); i++ {
			if match(chat.events[i]) {
				found = chat.events[i]
				chat.cursor = chat.dropped + i + 1
				return true
			}
		}
		return false
	})
	return found, err
}

// Next consumes the next event of a chat, actions ("typing") left out.
func (s *Server) Next(chat *Chat, timeout time.Duration) (Event, error) {
	return s.WaitFor(chat, timeout, func(e Event) bool { return e.Kind != Action })
}

// Skip consumes all events of a chat so far.
func (s *Server) Skip(chat *Chat) {
	s.mu.Lock()
	defer s.mu.Unlock()
	chat.cursor = chat.dropped + len(chat.events)
}

// ExpectTimeout is how long [Server.Expect] waits. It only bounds a failing test.
const ExpectTimeout = 5 * time.Second

// Expect waits for a message sent or edited by the bot that contains all parts, consumes up to it,
// and fails the test if none comes.
func (s *Server) Expect(chat *Chat, parts ...string) Message {
	if s.t != nil {
		s.t.Helper()
	}
	e, err := s.WaitFor(chat, ExpectTimeout, func(e Event) bool {
		if e.Kind != Sent && e.Kind != Edited {
			return false
		}
		for _, p := range parts {
			if !strings.Contains(e.Message.Text, p) {
				return false
			}
		}
		return true
	})
	if err != nil {
		var log strings.Builder
		for _, m := range s.Messages(chat) {
			fmt.Fprintf(&log, "\n#%d %s: %s", m.ID, m.From, m)
		}
		s.misuse("no message with %q in chat %d within %v; the chat is%s", parts, chat.id, ExpectTimeout, log.String())
	}
	return e.Message
}

// Quiet waits and returns an error with the first event, if one comes. It consumes nothing else.
func (s *Server) Quiet(chat *Chat, d time.Duration) error {
	e, err := s.Next(chat, d)
	if errors.Is(err, ErrTimeout) {
		return nil
	}
	return fmt.Errorf("standin: chat %d is not quiet: %s %q", chat.id, e.Kind, e.Message.Text)
}

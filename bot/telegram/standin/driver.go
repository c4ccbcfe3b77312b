package standin

import (
	"fmt"
	"strings"
	"time"
)

// WriteOption shapes what a person writes.
type WriteOption func(*stored)

// ReplyTo makes it a reply.
func ReplyTo(m Message) WriteOption {
	return func(w *stored) {
		if to := w.chat.messages[m.ID]; to != nil && !to.deleted {
			w.ReplyTo = to.shallow()
		}
	}
}

// InTopic writes into a topic of a forum.
func InTopic(thread int) WriteOption {
	return func(w *stored) { w.Thread, w.IsTopic = thread, true }
}

// Anonymous writes as the group itself, as an anonymous administrator does. The sender's id and
// name are from memory.
func Anonymous() WriteOption {
	return func(w *stored) {
		w.From = &wireUser{ID: 1087968824, IsBot: true, FirstName: "Group", Username: "GroupAnonymousBot"}
		chat := w.chat.wire()
		w.SenderChat = &chat
	}
}

// Forwarded marks it as forwarded from another person.
func Forwarded(from *User) WriteOption {
	return func(w *stored) {
		u := from.wire()
		w.ForwardOrigin = &wireOrigin{Type: "user", Date: w.at.Unix(), User: &u}
	}
}

// write stores a person's message and tells the bot if it may hear of it; s.mu is held.
func (s *Server) write(u *User, chat *Chat, m *stored, opts []WriteOption) Message {
	if chat.migrated != nil {
		chat = chat.migrated
	}
	if chat.isGroup() && !chat.member(u).in() {
		s.misuse("%s is not in chat %d", u.FirstName, chat.id)
	}
	if !chat.isGroup() {
		if chat.user != u {
			s.misuse("%s can't write in the private chat of %s", u.FirstName, chat.user.FirstName)
		}
		chat.started = true
		if chat.gone != "" { // writing needs an unblocked bot
			s.blockBot(chat, false)
		}
	}
	from := u.wire()
	m.sender, m.From, m.chat, m.at = u, &from, chat, s.now()
	for _, opt := range opts {
		opt(m)
	}
	s.put(chat, m)
	return s.told(m, "message")
}

// told delivers a person's message to the bot unless privacy mode keeps it back.
func (s *Server) told(m *stored, kind string) Message {
	id := 0
	if s.hears(m) {
		m.meant = true
		id = s.enqueue(kind, m.chat.id, updateHours*time.Hour, &m.wireMessage)
	}
	s.wake()
	out := m.snapshot()
	out.UpdateID = id
	return out
}

// hears is the privacy rule of groups ("Privacy mode", Bot features).
func (s *Server) hears(m *stored) bool {
	chat := m.chat
	switch {
	case !s.botIn(chat) || chat.gone != "":
		return false
	case !chat.isGroup():
		return true
	case m.sender == s.bot:
		return false
	case m.sender.IsBot: // bots do not hear each other
		return false
	case s.cfg.ReadsAllGroupMessages || chat.member(s.bot).status == statusAdmin:
		return true
	case m.ReplyTo != nil:
		if to := chat.messages[m.ReplyTo.ID]; to != nil && (to.fromBot || to.meant) {
			return true
		}
	}
	for _, e := range m.Entities {
		if e.Type != "bot_command" {
			continue
		}
		_, name, named := strings.Cut(span(m.Text, e), "@")
		switch {
		case named && strings.EqualFold(name, s.bot.Username):
			return true
		case !named && e.Offset == 0 && chat.lastBot == s.bot.ID:
			return true
		}
	}
	return false
}

// SendText is a person writing a message. Commands, mentions and hashtags become entities.
// UpdateID of the returned message is zero if privacy mode kept it from the bot.
func (s *Server) SendText(u *User, chat *Chat, text string, opts ...WriteOption) Message {
	s.mu.Lock()
	defer s.mu.Unlock()
	m := &stored{}
	m.Text, _ = trimmed(text, nil)
	if m.Text == "" || units(m.Text) > maxText {
		s.misuse("a person can't send %d characters", units(m.Text))
	}
	m.Entities = typedEntities(m.Text)
	return s.write(u, chat, m, opts)
}

// StartLink is a person opening t.me/BOT?start=PAYLOAD and pressing Start.
func (s *Server) StartLink(u *User, payload string) Message {
	if payload != "" && !startPayload.MatchString(payload) {
		s.misuse("start payload %q must be 1-64 of A-Z a-z 0-9 _ -", payload)
	}
	return s.SendText(u, s.Private(u), strings.TrimSpace("/start "+payload))
}

// EditText is a person editing their message.
func (s *Server) EditText(m Message, text string) Message {
	s.mu.Lock()
	defer s.mu.Unlock()
	w := s.own(m)
	w.Text, _ = trimmed(text, nil)
	w.Entities = typedEntities(w.Text)
	w.edits++
	w.edited = s.now()
	w.EditDate = w.edited.Unix()
	return s.told(w, "edited_message")
}

// own finds the stored message of a snapshot.
func (s *Server) own(m Message) *stored {
	chat := s.chats[m.ChatID]
	if chat == nil || chat.messages[m.ID] == nil {
		s.misuse("no message %d in chat %d", m.ID, m.ChatID)
	}
	return chat.messages[m.ID]
}

// DeleteMessage is a person deleting a message; the bot is not told.
func (s *Server) DeleteMessage(m Message) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.own(m).deleted = true
	s.wake()
}

// SendPhoto is a person sending a picture (PNG, JPEG or GIF) with a caption.
func (s *Server) SendPhoto(u *User, chat *Chat, picture []byte, caption string, opts ...WriteOption) Message {
	s.mu.Lock()
	defer s.mu.Unlock()
	f, err := s.uploaded(&call{method: "a person's photo"}, "photo", upload{"photo", picture})
	if err != nil {
		s.misuse("%s", err.description)
	}
	m := &stored{}
	m.Photo, m.Caption, m.CaptionEnts = photoSizes(f), caption, typedEntities(caption)
	return s.write(u, chat, m, opts)
}

// SendLocation is a person sending a place.
func (s *Server) SendLocation(u *User, chat *Chat, at Location, opts ...WriteOption) Message {
	s.mu.Lock()
	defer s.mu.Unlock()
	m := &stored{}
	m.Location = &wireLocation{Latitude: at.Latitude, Longitude: at.Longitude}
	return s.write(u, chat, m, opts)
}

// Press is a person pressing a callback button, named by its text or its data.
func (s *Server) Press(u *User, m Message, what string) Callback {
	s.mu.Lock()
	defer s.mu.Unlock()
	w := s.own(m)
	now := w.snapshot()
	b, ok := now.Button(what)
	if !ok || b.Data == "" {
		s.misuse("message %d in chat %d has no callback button %q; it shows:\n%s", m.ID, m.ChatID, what, now)
	}
	return s.press(u, w.chat, w, m.ID, b.Data)
}

// PressData presses a button that may not be there any more, or never was: an old or a forged one.
// If the message is unknown or deleted, the bot gets an inaccessible message.
func (s *Server) PressData(u *User, chat *Chat, messageID int, data string) Callback {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.press(u, chat, chat.messages[messageID], messageID, data)
}

func (s *Server) press(u *User, chat *Chat, m *stored, id int, data string) Callback {
	if chat.isGroup() && !chat.member(u).in() {
		s.misuse("%s is not in chat %d", u.FirstName, chat.id)
	}
	cb := &Callback{ID: s.queryID(), From: u, Chat: chat, MessageID: id, Data: data, Pressed: s.now(), real: time.Now()}
	w := wireCallback{ID: cb.ID, From: u.wire(), ChatInstance: fmt.Sprint(chat.id * 7919), Data: data}
	key := chat.id
	switch {
	case m != nil && m.inlineID != "":
		cb.Chat, cb.InlineID, w.InlineID = nil, m.inlineID, m.inlineID
		key = u.ID
	case m == nil || m.deleted:
		w.Message = &wireMessage{ID: id, Chat: chat.wire()} // date 0: inaccessible
	default:
		w.Message = m.deep()
	}
	s.addCallback(cb)
	s.enqueue("callback_query", key, callbackKept*time.Second, w)
	return *cb
}

// deep is the message with the message it replies to.
func (m *stored) deep() *wireMessage { w := m.wireMessage; return &w }

package standin

import (
	"fmt"
	"time"
)

// AddBot is a person adding the bot to a group, by t.me/BOT?startgroup=PAYLOAD if payload is not
// empty: my_chat_member, the service message, then "/start@BOT PAYLOAD".
func (s *Server) AddBot(by *User, chat *Chat, payload string) {
	s.mu.Lock()
	if payload != "" && !startPayload.MatchString(payload) {
		s.mu.Unlock()
		s.misuse("startgroup payload %q must be 1-64 of A-Z a-z 0-9 _ -", payload)
	}
	s.changeBot(chat, by, statusMember, Rights{})
	m := &stored{}
	m.NewMembers = []wireUser{s.bot.wire()}
	s.service(by, chat, m)
	s.mu.Unlock()
	if payload != "" {
		s.SendText(by, chat, "/start@"+s.bot.Username+" "+payload)
	}
}

// RemoveBot is a person removing the bot from a group.
func (s *Server) RemoveBot(by *User, chat *Chat) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.changeBot(chat, by, statusKicked, Rights{})
}

// Promote makes the bot an administrator with these rights.
func (s *Server) Promote(by *User, chat *Chat, rights Rights) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.changeBot(chat, by, statusAdmin, rights)
}

// Demote makes the bot a plain member.
func (s *Server) Demote(by *User, chat *Chat) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.changeBot(chat, by, statusMember, Rights{})
}

// changeBot changes the bot's status in a group and tells it.
func (s *Server) changeBot(chat *Chat, by *User, status string, rights Rights) {
	if !chat.isGroup() {
		s.misuse("the bot has no status in the private chat %d", chat.id)
	}
	old := chat.member(s.bot)
	chat.setMember(s.bot, status, rights)
	chat.gone = ""
	switch status {
	case statusKicked:
		chat.gone = "bot was kicked from the " + chat.kind + " chat"
	case statusLeft:
		chat.gone = "bot is not a member of the " + chat.kind + " chat"
	}
	s.tellStatus(chat, by, old, chat.member(s.bot))
}

func (s *Server) tellStatus(chat *Chat, by *User, old, now member) {
	s.enqueue("my_chat_member", chat.id, updateHours*time.Hour, wireMemberChange{
		Chat: chat.wire(), From: by.wire(), Date: s.now().Unix(), Old: old.wire(), New: now.wire(),
	})
}

// Block is a person blocking the bot.
func (s *Server) Block(u *User) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.blockBot(s.private(u), true)
}

// Unblock is a person unblocking the bot without writing.
func (s *Server) Unblock(u *User) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.blockBot(s.private(u), false)
}

func (s *Server) blockBot(chat *Chat, blocked bool) {
	old, now := member{user: s.bot, status: statusMember}, member{user: s.bot, status: statusKicked}
	chat.gone = "bot was blocked by the user"
	if !blocked {
		old, now = now, old
		chat.gone = ""
	}
	s.tellStatus(chat, chat.user, old, now)
}

// DeleteAccount is a person leaving the service; the bot is not told.
func (s *Server) DeleteAccount(u *User) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.private(u).deleted = true
}

// Join is a person joining a group.
func (s *Server) Join(u *User, chat *Chat) {
	s.mu.Lock()
	defer s.mu.Unlock()
	old := chat.member(u)
	chat.setMember(u, statusMember, Rights{})
	m := &stored{}
	m.NewMembers = []wireUser{u.wire()}
	s.service(u, chat, m)
	s.tellMember(chat, u, old)
}

// Leave is a person leaving a group.
func (s *Server) Leave(u *User, chat *Chat) {
	s.mu.Lock()
	defer s.mu.Unlock()
	old := chat.member(u)
	left := u.wire()
	m := &stored{}
	m.LeftMember = &left
	s.service(u, chat, m)
	chat.setMember(u, statusLeft, Rights{})
	s.tellMember(chat, u, old)
}

// MakeAdmin makes a person an administrator of a group.
func (s *Server) MakeAdmin(u *User, chat *Chat, rights Rights) {
	s.mu.Lock()
	defer s.mu.Unlock()
	old := chat.member(u)
	chat.setMember(u, statusAdmin, rights)
	s.tellMember(chat, u, old)
}

// tellMember tells of a person's status; the bot hears of it as an administrator that asked for it.
func (s *Server) tellMember(chat *Chat, u *User, old member) {
	if chat.member(s.bot).status != statusAdmin {
		return
	}
	s.enqueue("chat_member", chat.id, updateHours*time.Hour, wireMemberChange{
		Chat: chat.wire(), From: u.wire(), Date: s.now().Unix(), Old: old.wire(), New: chat.member(u).wire(),
	})
}

// service writes a service message, which every bot in the group hears of.
func (s *Server) service(u *User, chat *Chat, m *stored) *stored {
	from := u.wire()
	m.sender, m.From = u, &from
	s.put(chat, m)
	if s.botIn(chat) && chat.gone == "" {
		s.enqueue("message", chat.id, updateHours*time.Hour, &m.wireMessage)
	}
	s.wake()
	return m
}

// Topic adds a topic to a forum and returns its message_thread_id.
func (s *Server) Topic(by *User, chat *Chat, name string) int {
	s.mu.Lock()
	defer s.mu.Unlock()
	if !chat.forum {
		s.misuse("chat %d is no forum", chat.id)
	}
	m := &stored{}
	m.TopicCreated = &wireTopic{Name: name, IconColor: 7322096} // one of the six documented colours
	m.Thread, m.IsTopic = chat.lastID+1, true
	chat.topics[m.Thread] = name
	return s.service(by, chat, m).Thread
}

// Migrate turns a group into a supergroup, as its owner may at any time, and returns that. Service
// messages tell both sides; sends to the old id are refused with the new one.
func (s *Server) Migrate(by *User, chat *Chat) *Chat {
	s.mu.Lock()
	defer s.mu.Unlock()
	if chat.kind != "group" || chat.migrated != nil {
		s.misuse("chat %d is no basic group any more", chat.id)
	}
	s.lastGroup++
	now := &Chat{id: -1_000_000_000_000 - s.lastGroup, kind: "supergroup", title: chat.title, lastBot: chat.lastBot, gone: chat.gone}
	s.addChat(now)
	for _, id := range chat.order {
		m := *chat.members[id]
		now.members[id] = &m
		now.order = append(now.order, id)
	}
	out := &stored{}
	out.MigrateTo = now.id
	s.service(by, chat, out)
	in := &stored{}
	in.MigrateFrom = chat.id
	s.service(by, now, in)
	chat.migrated = now
	return now
}

// InlineOption shapes an inline query.
type InlineOption func(*wireInlineQuery)

// Offset asks for the next page.
func Offset(o string) InlineOption { return func(q *wireInlineQuery) { q.Offset = o } }

// Near tells the place, as after /setinlinegeo.
func Near(l Location) InlineOption {
	return func(q *wireInlineQuery) { q.Location = &wireLocation{Latitude: l.Latitude, Longitude: l.Longitude} }
}

// Ask is a person typing "@BOT query" in some chat. Long queries are cut as clients do.
func (s *Server) Ask(u *User, query string, opts ...InlineOption) InlineQuery {
	s.mu.Lock()
	defer s.mu.Unlock()
	for units(query) > maxInlineQuery {
		r := []rune(query)
		query = string(r[:len(r)-1])
	}
	w := wireInlineQuery{ID: s.queryID(), From: u.wire(), Query: query, ChatType: "private"}
	for _, opt := range opts {
		opt(&w)
	}
	q := &InlineQuery{ID: w.ID, From: u, Query: query, Offset: w.Offset, Asked: s.now()}
	s.queries[q.ID] = q
	s.queryList = append(s.queryList, q.ID)
	if len(s.queryList) > keptQueries {
		delete(s.queries, s.queryList[0])
		s.queryList = s.queryList[1:]
	}
	s.enqueue("inline_query", u.ID, inlineKept*time.Second, w)
	return *q
}

// Choose is a person sending a result of an answered inline query to a chat. The bot hears
// chosen_inline_result, unless feedback is off, and the message itself if it is in the chat.
func (s *Server) Choose(q InlineQuery, resultID string, chat *Chat) Message {
	s.mu.Lock()
	defer s.mu.Unlock()
	known := s.queries[q.ID]
	if known == nil || !known.Answered {
		s.misuse("inline query %q is not answered", q.Query)
	}
	for _, r := range known.Results {
		if r.ID != resultID {
			continue
		}
		m := r.message
		via := s.bot.wire()
		m.ViaBot = &via
		s.lastFile++
		if m.ReplyMarkup != nil {
			m.inlineID = fmt.Sprintf("inline-%06d", s.lastFile)
		}
		from := known.From.wire()
		m.sender, m.From = known.From, &from
		s.put(chat, &m)
		if m.inlineID != "" {
			s.inline[m.inlineID] = &m
		}
		s.event(chat, Sent, &m)
		if !s.cfg.NoInlineFeedback {
			s.enqueue("chosen_inline_result", known.From.ID, updateHours*time.Hour, wireChosen{r.ID, from, m.inlineID, known.Query})
		}
		if s.botIn(chat) && chat.gone == "" && (chat.isGroup() || chat.started) {
			s.enqueue("message", chat.id, updateHours*time.Hour, &m.wireMessage)
		}
		return m.snapshot()
	}
	s.misuse("inline query %q has no result %q", q.Query, resultID)
	return Message{}
}

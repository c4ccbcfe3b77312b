package standin

import (
	"fmt"
	"slices"
	"strings"
	"time"
)

// User is a person, or another bot. Make one with [Server.AddUser]; do not change it afterwards.
type User struct {
	ID           int64 // chosen by AddUser if zero, above 32 bits
	FirstName    string
	LastName     string
	Username     string // without @
	LanguageCode string // IETF tag, empty if the client sends none
	IsBot        bool
}

func (u *User) wire() wireUser {
	return wireUser{u.ID, u.IsBot, u.FirstName, u.LastName, u.Username, u.LanguageCode}
}

// Rights are what an administrator may do; the names are those of the Bot API.
type Rights struct {
	ManageChat     bool `json:"can_manage_chat,omitempty"`
	DeleteMessages bool `json:"can_delete_messages,omitempty"`
	PinMessages    bool `json:"can_pin_messages,omitempty"`
	ChangeInfo     bool `json:"can_change_info,omitempty"`
	InviteUsers    bool `json:"can_invite_users,omitempty"`
	ManageTopics   bool `json:"can_manage_topics,omitempty"`
}

// Statuses of a chat member.
const (
	statusCreator = "creator"
	statusAdmin   = "administrator"
	statusMember  = "member"
	statusLeft    = "left"
	statusKicked  = "kicked"
)

type member struct {
	user   *User
	status string
	rights Rights
}

func (m member) in() bool {
	return m.status == statusCreator || m.status == statusAdmin || m.status == statusMember
}

func (m member) wire() wireMember {
	w := wireMember{Status: m.status, User: m.user.wire()}
	no := false
	switch m.status {
	case statusCreator:
		w.IsAnonymous = &no
	case statusAdmin:
		w.Rights, w.IsAnonymous, w.CanBeEdited = m.rights, &no, &no
	case statusKicked:
		w.UntilDate = new(int64)
	}
	return w
}

// Chat is a private chat, group or supergroup. All its state belongs to the server.
type Chat struct {
	id       int64
	kind     string // private, group, supergroup
	title    string
	username string
	forum    bool
	user     *User // of a private chat
	members  map[int64]*member
	order    []int64 // member ids in order of joining
	started  bool    // private: the user has written to the bot
	migrated *Chat   // what a group became
	topics   map[int]string
	gone     string // why the bot is out of the chat, in the words of the 403
	deleted  bool   // private: the user's account is deleted
	lastBot  int64  // the bot that spoke last in a group
	lastID   int
	pinned   []int

	messages map[int]*stored
	oldest   int // ids below are forgotten
	events   []Event
	dropped  int // events no longer kept
	cursor   int // events consumed by Next and WaitFor

	rate       []time.Time // sends of the last second, if rates are limited
	rateMinute []time.Time // sends of the last minute to a group
	until      time.Time   // a 429 asked to wait until then, by Config.Now
	heldAt     time.Time   // when it did, real time
}

// ID is the chat's identifier.
func (c *Chat) ID() int64 { return c.id }

func (c *Chat) wire() wireChat {
	w := wireChat{ID: c.id, Type: c.kind, Title: c.title, Username: c.username, IsForum: c.forum}
	if c.user != nil {
		w.FirstName, w.LastName, w.Username = c.user.FirstName, c.user.LastName, c.user.Username
	}
	return w
}

func (c *Chat) isGroup() bool { return c.kind != "private" }

func (c *Chat) setMember(u *User, status string, rights Rights) {
	if _, known := c.members[u.ID]; !known {
		c.order = append(c.order, u.ID)
	}
	c.members[u.ID] = &member{u, status, rights}
}

func (c *Chat) member(u *User) member {
	if m := c.members[u.ID]; m != nil {
		return *m
	}
	return member{user: u, status: statusLeft}
}

// stored is a message as the server keeps it.
type stored struct {
	wireMessage
	sender   *User
	chat     *Chat
	inlineID string
	fromBot  bool // sent by the bot under test
	meant    bool // delivered to the bot though privacy mode is on
	markup   map[string]any
	silent   bool
	edits    int
	deleted  bool
	pinned   bool
	reaction string
	source   string // the text or caption as the bot sent it
	at       time.Time
	edited   time.Time
}

// AddUser adds a person; FirstName defaults to "Guest".
func (s *Server) AddUser(u User) *User {
	s.mu.Lock()
	defer s.mu.Unlock()
	if u.ID == 0 {
		s.lastUser++
		u.ID = s.lastUser
	}
	if u.FirstName == "" {
		u.FirstName = "Guest"
	}
	if s.users[u.ID] != nil {
		s.misuse("user %d exists already", u.ID)
	}
	s.users[u.ID] = &u
	return &u
}

// Private is the private chat of a user with the bot. The bot cannot write there before the user
// has written once, or [Server.Open] has been called.
func (s *Server) Private(u *User) *Chat {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.private(u)
}

func (s *Server) private(u *User) *Chat {
	c := s.chats[u.ID]
	if c == nil {
		c = &Chat{id: u.ID, kind: "private", user: u}
		s.addChat(c)
	}
	return c
}

// Open marks a private chat as started long ago, without an update; load tests need it.
func (s *Server) Open(u *User) *Chat {
	s.mu.Lock()
	defer s.mu.Unlock()
	c := s.private(u)
	c.started = true
	return c
}

func (s *Server) addChat(c *Chat) {
	c.members, c.topics, c.messages = map[int64]*member{}, map[int]string{}, map[int]*stored{}
	s.chats[c.id] = c
	s.chatOrder = append(s.chatOrder, c)
}

// Group is a basic group with these members, the first its creator, and the bot, which has been a
// member for long and spoke last: plain commands reach it. No updates tell of it.
func (s *Server) Group(title string, members ...*User) *Chat {
	return s.group("group", title, true, members)
}

// Supergroup is like [Server.Group], with an id starting −100.
func (s *Server) Supergroup(title string, members ...*User) *Chat {
	return s.group("supergroup", title, true, members)
}

// Forum is a supergroup with topics; see [Server.Topic].
func (s *Server) Forum(title string, members ...*User) *Chat {
	c := s.group("supergroup", title, true, members)
	c.forum = true
	return c
}

// EmptyGroup is a group without the bot; see [Server.AddBot].
func (s *Server) EmptyGroup(title string, members ...*User) *Chat {
	return s.group("group", title, false, members)
}

func (s *Server) group(kind, title string, withBot bool, members []*User) *Chat {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.lastGroup++
	id := -s.lastGroup
	if kind == "supergroup" {
		id = -1_000_000_000_000 - s.lastGroup
	}
	c := &Chat{id: id, kind: kind, title: title}
	s.addChat(c)
	for i, u := range members {
		status := statusMember
		if i == 0 {
			status = statusCreator
		}
		c.setMember(u, status, Rights{})
	}
	if withBot {
		c.setMember(s.bot, statusMember, Rights{})
		c.lastBot = s.bot.ID
	} else {
		c.gone = "bot is not a member of the " + kind + " chat"
	}
	return c
}

// botIn says whether the bot is in the chat.
func (s *Server) botIn(c *Chat) bool { return !c.isGroup() || c.member(s.bot).in() }

// target finds the chat of a call and says whether the bot may write there.
func (s *Server) target(c *call) (*Chat, *apiError) {
	chat, err := s.lookup(c, "chat_id")
	if err != nil {
		return nil, err
	}
	return chat, s.mayWrite(c, chat)
}

// lookup finds a chat without asking whether the bot may write there.
func (s *Server) lookup(c *call, field string) (*Chat, *apiError) {
	var chat *Chat
	switch v := c.params[field].(type) {
	case string:
		if v == "" {
			return nil, badRequest("chat_id is empty")
		}
		for _, other := range s.chatOrder {
			if other.isGroup() && other.username != "" && strings.EqualFold("@"+other.username, v) {
				chat = other
			}
		}
	case nil:
		return nil, badRequest("chat_id is empty")
	default:
		chat = s.chats[asInt(v)]
	}
	if chat == nil {
		c.violate(UnknownChat, "the bot has never met chat %v", c.params[field])
		return nil, badRequest("chat not found")
	}
	c.chatID = chat.id
	return chat, nil
}

func (s *Server) mayWrite(c *call, chat *Chat) *apiError {
	switch {
	case chat.migrated != nil:
		e := badRequest("group chat was upgraded to a supergroup chat")
		e.migrateTo = chat.migrated.id
		return e
	case chat.deleted:
		return forbidden("user is deactivated")
	case chat.gone != "":
		return forbidden(chat.gone)
	case !chat.isGroup() && !chat.started:
		c.violate(UnknownChat, "user %d has never written to the bot", chat.id)
		return forbidden("bot can't initiate conversation with a user")
	}
	return nil
}

// put stores a new message and forgets old ones.
func (s *Server) put(chat *Chat, m *stored) {
	chat.lastID++
	m.ID, m.Chat, m.chat, m.at = chat.lastID, chat.wire(), chat, s.now()
	m.Date = m.at.Unix()
	chat.messages[m.ID] = m
	for chat.oldest = max(chat.oldest, 1); len(chat.messages) > s.cfg.KeepMessages; chat.oldest++ {
		if old := chat.messages[chat.oldest]; old != nil && old.inlineID != "" {
			delete(s.inline, old.inlineID)
		}
		delete(chat.messages, chat.oldest)
		chat.pinned = slices.DeleteFunc(chat.pinned, func(id int) bool { return id == chat.oldest })
	}
	if m.sender != nil && m.sender.IsBot && chat.isGroup() {
		chat.lastBot = m.sender.ID
	}
}

// misuse reports a mistake of the test itself.
func (s *Server) misuse(format string, args ...any) {
	text := "standin: " + fmt.Sprintf(format, args...)
	if s.t != nil {
		s.t.Helper()
		s.t.Fatal(text)
	}
	panic(text)
}

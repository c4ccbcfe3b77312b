package standin

import (
	"slices"
)

func (s *Server) getMe(*call) (any, *apiError) {
	return wireMe{wireUser: s.bot.wire(), CanJoinGroups: true, CanReadAll: s.cfg.ReadsAllGroupMessages, InlineQueries: true}, nil
}

// readable finds a chat the bot may ask about.
func (s *Server) readable(c *call) (*Chat, *apiError) {
	chat, err := s.lookup(c, "chat_id")
	if err != nil {
		return nil, err
	}
	if chat.migrated != nil || chat.gone != "" && chat.isGroup() {
		return nil, s.mayWrite(c, chat)
	}
	return chat, nil
}

func (s *Server) getChat(c *call) (any, *apiError) {
	chat, err := s.readable(c)
	if err != nil {
		return nil, err
	}
	full := wireFullChat{wireChat: chat.wire(), MaxReactions: 11}
	if n := len(chat.pinned); n > 0 {
		full.Pinned = chat.messages[chat.pinned[n-1]].shallow()
	}
	return full, nil
}

func (s *Server) getChatMember(c *call) (any, *apiError) {
	chat, err := s.readable(c)
	if err != nil {
		return nil, err
	}
	u := s.users[c.num("user_id")]
	if u == nil {
		c.violate(UnknownChat, "no user %d", c.num("user_id"))
		return nil, badRequest("user not found")
	}
	if !chat.isGroup() {
		return member{user: u, status: statusMember}.wire(), nil
	}
	return chat.member(u).wire(), nil
}

func (s *Server) getChatAdministrators(c *call) (any, *apiError) {
	chat, err := s.readable(c)
	if err != nil {
		return nil, err
	}
	if !chat.isGroup() {
		c.violate(UnknownChat, "a private chat has no administrators")
		return nil, badRequest("there are no administrators in the private chat")
	}
	out := []wireMember{}
	for _, id := range chat.order {
		m := chat.members[id]
		// Other bots are not listed.
		if (m.status == statusCreator || m.status == statusAdmin) && (!m.user.IsBot || m.user == s.bot) {
			out = append(out, m.wire())
		}
	}
	return out, nil
}

func (s *Server) leaveChat(c *call) (any, *apiError) {
	chat, err := s.target(c)
	if err != nil {
		return nil, err
	}
	if !chat.isGroup() {
		c.violate(UnknownChat, "a private chat can't be left")
		return nil, badRequest("chat member status can't be changed in private chats")
	}
	s.changeBot(chat, s.bot, statusLeft, Rights{})
	return true, nil
}

// pinnable finds the message of a pin call and says whether the bot may pin.
func (s *Server) pinnable(c *call) (*Chat, *stored, *apiError) {
	chat, err := s.target(c)
	if err != nil {
		return nil, nil, err
	}
	if chat.isGroup() && !chat.member(s.bot).rights.PinMessages {
		return nil, nil, badRequest("not enough rights to manage pinned messages in the chat")
	}
	if !c.has("message_id") {
		return chat, nil, nil
	}
	id := int(c.num("message_id"))
	m := chat.messages[id]
	if m == nil && id > 0 && id < chat.oldest {
		return chat, nil, nil
	}
	if m == nil || m.deleted {
		if m == nil {
			c.violate(UnknownMessage, "message %d never was in chat %d", id, chat.id)
		}
		return nil, nil, badRequest("message to pin not found")
	}
	return chat, m, nil
}

func (s *Server) pinChatMessage(c *call) (any, *apiError) {
	chat, m, err := s.pinnable(c)
	if err != nil || m == nil {
		return true, err
	}
	chat.pinned = append(slices.DeleteFunc(chat.pinned, func(id int) bool { return id == m.ID }), m.ID)
	m.pinned = true
	s.event(chat, Pinned, m)
	return true, nil
}

func (s *Server) unpinChatMessage(c *call) (any, *apiError) {
	chat, m, err := s.pinnable(c)
	if err != nil {
		return nil, err
	}
	if m == nil && len(chat.pinned) > 0 && !c.has("message_id") {
		m = chat.messages[chat.pinned[len(chat.pinned)-1]]
	}
	if m == nil || !m.pinned {
		return nil, badRequest("message to unpin not found")
	}
	chat.pinned = slices.DeleteFunc(chat.pinned, func(id int) bool { return id == m.ID })
	m.pinned = false
	s.event(chat, Unpinned, m)
	return true, nil
}

func (s *Server) setMessageReaction(c *call) (any, *apiError) {
	chat, err := s.target(c)
	if err != nil {
		return nil, err
	}
	list := c.list("reaction")
	if len(list) > maxReactions {
		c.violate(LimitBroken, "%d reactions, a bot has at most %d", len(list), maxReactions)
		return nil, badRequest("REACTIONS_TOO_MANY")
	}
	id := int(c.num("message_id"))
	m := chat.messages[id]
	if m == nil && id > 0 && id < chat.oldest {
		return true, nil
	}
	if m == nil || m.deleted {
		if m == nil {
			c.violate(UnknownMessage, "message %d never was in chat %d", id, chat.id)
		}
		return nil, badRequest("message to react not found")
	}
	m.reaction = ""
	if len(list) > 0 {
		r := asObject(list[0])
		if asString(r["type"]) == "paid" {
			c.violate(LimitBroken, "bots can't use paid reactions")
			return nil, badRequest("REACTION_INVALID")
		}
		m.reaction = asString(r["emoji"]) + asString(r["custom_emoji_id"])
	}
	s.event(chat, Reacted, m)
	return true, nil
}

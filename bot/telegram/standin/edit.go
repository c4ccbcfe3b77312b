package standin

import (
	"reflect"
	"slices"
	"time"
)

// notModified is the official text for an edit that changes nothing.
const notModified = "message is not modified: specified new message content and reply markup are exactly the same as a current content and reply markup of the message"

// edited finds the message of an edit: by inline_message_id, or by chat and message id. A nil
// message without error is one that was forgotten to bound memory: its edit is accepted unchecked.
func (s *Server) edited(c *call) (*stored, *apiError) {
	if c.has("inline_message_id") {
		if c.has("chat_id") || c.has("message_id") {
			c.violate(SchemaBroken, "inline_message_id together with chat_id or message_id")
		}
		m := s.inline[c.str("inline_message_id")]
		if m == nil {
			c.violate(UnknownMessage, "no inline message %q", c.str("inline_message_id"))
			return nil, badRequest("MESSAGE_ID_INVALID")
		}
		return m, nil
	}
	chat, err := s.target(c)
	if err != nil {
		return nil, err
	}
	if !c.has("message_id") {
		c.violate(SchemaBroken, "neither message_id nor inline_message_id")
		return nil, badRequest("message identifier is not specified")
	}
	id := int(c.num("message_id"))
	m := chat.messages[id]
	switch {
	case m == nil && id > 0 && id < chat.oldest:
		return nil, nil
	case m == nil || m.deleted:
		if m == nil {
			c.violate(UnknownMessage, "message %d never was in chat %d", id, chat.id)
		}
		return nil, badRequest("message to edit not found")
	case !m.fromBot:
		c.violate(UnknownMessage, "message %d in chat %d is not the bot's own", id, chat.id)
		return nil, badRequest("message can't be edited")
	}
	if m.markup != nil && m.ReplyMarkup == nil { // a reply keyboard or a forced reply
		c.violate(UnknownMessage, "message %d has a reply keyboard: it can't be edited", id)
		return nil, badRequest("message can't be edited")
	}
	return m, nil
}

// apply makes an edit: change works on a copy, which replaces the message if it differs.
func (s *Server) apply(c *call, change func(*stored) *apiError) (any, *apiError) {
	m, err := s.edited(c)
	if err != nil {
		return nil, err
	}
	if m == nil { // forgotten
		m = &stored{sender: s.bot, fromBot: true}
		m.Text = "forgotten"
		if err := change(m); err != nil {
			return nil, err
		}
		chat := s.chats[c.chatID]
		m.ID, m.Chat, m.EditDate = int(c.num("message_id")), chat.wire(), s.now().Unix()
		return &m.wireMessage, nil
	}
	markup, err := c.markup(c.params, true, false)
	if err != nil {
		return nil, err
	}
	next := *m
	if err := change(&next); err != nil {
		return nil, err
	}
	next.setMarkup(markup)
	same := next.Text == m.Text && next.Caption == m.Caption &&
		reflect.DeepEqual(next.Entities, m.Entities) && reflect.DeepEqual(next.CaptionEnts, m.CaptionEnts) &&
		reflect.DeepEqual(next.Photo, m.Photo) && reflect.DeepEqual(next.Document, m.Document) &&
		next.CaptionAbove == m.CaptionAbove && sameMarkup(next.markup, m.markup)
	if same {
		c.violate(NotModified, "nothing changes in message %d of chat %d", m.ID, m.chat.id)
		return nil, badRequest(notModified)
	}
	next.edits++
	next.edited = s.now()
	next.EditDate = next.edited.Unix()
	*m = next
	s.event(m.chat, Edited, m)
	if m.inlineID != "" && c.has("inline_message_id") {
		return true, nil
	}
	w := m.wireMessage
	return &w, nil
}

func (s *Server) editMessageText(c *call) (any, *apiError) {
	return s.apply(c, func(m *stored) *apiError {
		if m.Text == "" {
			c.violate(UnknownMessage, "message %d has no text: use editMessageCaption", m.ID)
			return badRequest("there is no text in the message to edit")
		}
		return s.setText(c, m, c.params, "text", "entities")
	})
}

func (s *Server) editMessageCaption(c *call) (any, *apiError) {
	return s.apply(c, func(m *stored) *apiError {
		if m.Photo == nil && m.Document == nil && m.Text != "forgotten" {
			c.violate(UnknownMessage, "message %d has no caption: use editMessageText", m.ID)
			return badRequest("there is no caption in the message to edit")
		}
		return s.setCaption(c, m, c.params)
	})
}

func (s *Server) editMessageReplyMarkup(c *call) (any, *apiError) {
	return s.apply(c, func(*stored) *apiError { return nil })
}

func (s *Server) editMessageMedia(c *call) (any, *apiError) {
	media := c.obj("media")
	return s.apply(c, func(m *stored) *apiError {
		kind := asString(media["type"])
		if kind != "photo" && kind != "document" {
			c.violate(Unsupported, "media of type %q", kind)
			return badRequest("unsupported media type in the stand-in")
		}
		m.Text, m.Entities, m.Photo, m.Document = "", nil, nil, nil
		if err := s.attach(c, m, kind, asString(media["media"])); err != nil {
			return err
		}
		return s.setCaption(c, m, media)
	})
}

// mayDelete says why the bot may not delete a message, or nil.
func (s *Server) mayDelete(chat *Chat, m *stored) *apiError {
	admin := chat.isGroup() && chat.member(s.bot).rights.DeleteMessages
	own := m.fromBot || !chat.isGroup()
	switch {
	case !own && !admin:
		return badRequest("message can't be deleted")
	case !admin && s.now().Sub(m.at) >= deleteHours*time.Hour:
		return badRequest("message can't be deleted for everyone")
	}
	return nil
}

func (s *Server) deleteMessage(c *call) (any, *apiError) {
	chat, err := s.target(c)
	if err != nil {
		return nil, err
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
		return nil, badRequest("message to delete not found")
	}
	if err := s.mayDelete(chat, m); err != nil {
		return nil, err
	}
	s.remove(chat, m)
	return true, nil
}

func (s *Server) remove(chat *Chat, m *stored) {
	m.deleted = true
	chat.pinned = slices.DeleteFunc(chat.pinned, func(id int) bool { return id == m.ID })
	s.event(chat, Deleted, m)
}

func (s *Server) deleteMessages(c *call) (any, *apiError) {
	chat, err := s.target(c)
	if err != nil {
		return nil, err
	}
	ids := c.list("message_ids")
	if n := len(ids); n < 1 || n > maxDeleteMessages {
		c.violate(LimitBroken, "%d message_ids, allowed 1-%d", n, maxDeleteMessages)
		return nil, badRequest("too many message identifiers specified")
	}
	for _, v := range ids { // those that can't be found are skipped
		if m := chat.messages[int(asInt(v))]; m != nil && !m.deleted && s.mayDelete(chat, m) == nil {
			s.remove(chat, m)
		}
	}
	return true, nil
}

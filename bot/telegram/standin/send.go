package standin

import (
	"slices"
	"strings"
)

// handler carries out a method; s.mu is held.
type handler func(*Server, *call) (any, *apiError)

// methodTable lists the methods. getUpdates waits and is called apart.
func methodTable() map[string]handler {
	return map[string]handler{
		"getMe":               (*Server).getMe,
		"setWebhook":          (*Server).setWebhook,
		"deleteWebhook":       (*Server).deleteWebhook,
		"getWebhookInfo":      (*Server).getWebhookInfo,
		"sendMessage":         (*Server).sendMessage,
		"sendPhoto":           (*Server).sendPhoto,
		"sendDocument":        (*Server).sendDocument,
		"sendLocation":        (*Server).sendLocation,
		"sendChatAction":      (*Server).sendChatAction,
		"copyMessage":         (*Server).copyMessage,
		"forwardMessage":      (*Server).forwardMessage,
		"editMessageText":     (*Server).editMessageText,
		"editMessageCaption":  (*Server).editMessageCaption,
		"editMessageMedia":    (*Server).editMessageMedia,
		"deleteMessage":       (*Server).deleteMessage,
		"deleteMessages":      (*Server).deleteMessages,
		"answerCallbackQuery": (*Server).answerCallbackQuery,
		"answerInlineQuery":   (*Server).answerInlineQuery,
		"setMessageReaction":  (*Server).setMessageReaction,
		"pinChatMessage":      (*Server).pinChatMessage,
		"unpinChatMessage":    (*Server).unpinChatMessage,
		"getChat":             (*Server).getChat,
		"getChatMember":       (*Server).getChatMember,
		"leaveChat":           (*Server).leaveChat,
		"getFile":             (*Server).getFile,
		"setMyCommands":       (*Server).setMyCommands,
		"getMyCommands":       (*Server).getMyCommands,
		"deleteMyCommands":    (*Server).deleteMyCommands,

		"editMessageReplyMarkup": (*Server).editMessageReplyMarkup,
		"getChatAdministrators":  (*Server).getChatAdministrators,

		"setMyName":             setProfile("name", maxName),
		"getMyName":             getProfile("name"),
		"setMyDescription":      setProfile("description", maxDescription),
		"getMyDescription":      getProfile("description"),
		"setMyShortDescription": setProfile("short_description", maxShort),
		"getMyShortDescription": getProfile("short_description"),
	}
}

// draft starts a message of the bot: chat, topic, reply, keyboard.
func (s *Server) draft(c *call) (*stored, *Chat, *apiError) {
	chat, err := s.target(c)
	if err != nil {
		return nil, nil, err
	}
	m := &stored{sender: s.bot, fromBot: true, silent: c.boolean("disable_notification")}
	from := s.bot.wire()
	m.From = &from
	m.HasProtected = c.boolean("protect_content")
	if c.has("message_thread_id") {
		thread := int(c.num("message_thread_id"))
		if chat.topics[thread] == "" {
			c.violate(UnknownMessage, "chat %d has no topic %d (the General topic is addressed by leaving the field out)", chat.id, thread)
			return nil, nil, badRequest("message thread not found")
		}
		m.Thread, m.IsTopic = thread, true
	}
	if err := s.replyTo(c, chat, m); err != nil {
		return nil, nil, err
	}
	markup, err := c.markup(c.params, false, !chat.isGroup())
	if err != nil {
		return nil, nil, err
	}
	m.setMarkup(markup)
	return m, chat, nil
}

func (s *Server) replyTo(c *call, chat *Chat, m *stored) *apiError {
	p := c.obj("reply_parameters")
	if p == nil {
		return nil
	}
	if p["quote"] != nil {
		if n := units(asString(p["quote"])); n > maxQuote {
			c.violate(LimitBroken, "quote has %d characters, allowed 0-%d", n, maxQuote)
		}
	}
	id := int(asInt(p["message_id"]))
	in := chat
	if other, ok := p["chat_id"]; ok {
		in = s.chats[asInt(other)]
	}
	var to *stored
	if in != nil {
		to = in.messages[id]
	}
	switch {
	case to != nil && !to.deleted:
		m.ReplyTo = to.shallow()
	case p["allow_sending_without_reply"] == true:
	default:
		if in == nil || id > in.lastID || id < 1 {
			c.violate(UnknownMessage, "reply to message %d, which never was", id)
		}
		if in == nil || id >= in.oldest || id < 1 {
			return badRequest("message to be replied not found")
		}
	}
	return nil
}

// shallow is the message as shown inside another, without its own reply.
func (m *stored) shallow() *wireMessage {
	w := m.wireMessage
	w.ReplyTo = nil
	return &w
}

// sent stores a message of the bot and answers it.
func (s *Server) sent(chat *Chat, m *stored) *wireMessage {
	s.put(chat, m)
	s.event(chat, Sent, m)
	w := m.wireMessage
	return &w
}

func (s *Server) sendMessage(c *call) (any, *apiError) {
	m, chat, err := s.draft(c)
	if err != nil {
		return nil, err
	}
	if err := s.setText(c, m, c.params, "text", "entities"); err != nil {
		return nil, err
	}
	return s.sent(chat, m), nil
}

// setText reads and judges the text of a message.
func (s *Server) setText(c *call, m *stored, o map[string]any, key, entitiesKey string) *apiError {
	text, entities, err := c.formatted(o, asString(o[key]), entitiesKey)
	if err != nil {
		return err
	}
	switch n := units(text); {
	case n == 0:
		c.violate(LimitBroken, "%s is empty, allowed 1-%d characters", key, maxText)
		return badRequest("message text is empty")
	case n > maxText:
		c.violate(LimitBroken, "%s has %d characters after entity parsing, allowed 1-%d", key, n, maxText)
		if strings.HasPrefix(c.method, "edit") {
			return badRequest("MESSAGE_TOO_LONG")
		}
		return badRequest("message is too long")
	}
	m.Text, m.Entities, m.source = text, entities, asString(o[key])
	return nil
}

// setCaption reads and judges a caption.
func (s *Server) setCaption(c *call, m *stored, o map[string]any) *apiError {
	text, entities, err := c.formatted(o, asString(o["caption"]), "caption_entities")
	if err != nil {
		return err
	}
	if n := units(text); n > maxCaption {
		c.violate(LimitBroken, "caption has %d characters after entity parsing, allowed 0-%d", n, maxCaption)
		return badRequest("message caption is too long")
	}
	m.Caption, m.CaptionEnts, m.source = text, entities, asString(o["caption"])
	m.CaptionAbove = o["show_caption_above_media"] == true
	return nil
}

func (s *Server) sendPhoto(c *call) (any, *apiError) {
	return s.sendMedia(c, "photo")
}

func (s *Server) sendDocument(c *call) (any, *apiError) {
	return s.sendMedia(c, "document")
}

func (s *Server) sendMedia(c *call, kind string) (any, *apiError) {
	m, chat, err := s.draft(c)
	if err != nil {
		return nil, err
	}
	if err := s.attach(c, m, kind, c.str(kind)); err != nil {
		return nil, err
	}
	if c.has("thumbnail") {
		c.used[strings.TrimPrefix(c.str("thumbnail"), "attach://")] = true
	}
	if err := s.setCaption(c, m, c.params); err != nil {
		return nil, err
	}
	return s.sent(chat, m), nil
}

func (s *Server) sendLocation(c *call) (any, *apiError) {
	m, chat, err := s.draft(c)
	if err != nil {
		return nil, err
	}
	lat, long := asFloat(c.params["latitude"]), asFloat(c.params["longitude"])
	if lat < -90 || lat > 90 || long < -180 || long > 180 {
		c.violate(LimitBroken, "latitude %g, longitude %g", lat, long)
		return nil, badRequest("wrong latitude or longitude")
	}
	accuracy := asFloat(c.params["horizontal_accuracy"])
	if accuracy < 0 || accuracy > maxAccuracy {
		c.violate(LimitBroken, "horizontal_accuracy %g is not in 0-%d", accuracy, maxAccuracy)
	}
	live := c.num("live_period")
	if c.has("live_period") && live != liveForever && (live < minLive || live > maxLive) {
		c.violate(LimitBroken, "live_period %d is not in %d-%d", live, minLive, maxLive)
		return nil, badRequest("wrong live location period specified")
	}
	m.Location = &wireLocation{lat, long, accuracy, live}
	return s.sent(chat, m), nil
}

// chatActions are the documented actions (sendChatAction.action).
var chatActions = []string{"typing", "upload_photo", "record_video", "upload_video", "record_voice", "upload_voice",
	"upload_document", "choose_sticker", "find_location", "record_video_note", "upload_video_note"}

func (s *Server) sendChatAction(c *call) (any, *apiError) {
	chat, err := s.target(c)
	if err != nil {
		return nil, err
	}
	if !slices.Contains(chatActions, c.str("action")) {
		c.violate(SchemaBroken, "action %q", c.str("action"))
		return nil, badRequest("wrong parameter action in request")
	}
	s.eventText(chat, Action, c.str("action"))
	return true, nil
}

// original finds the message of copyMessage and forwardMessage.
func (s *Server) original(c *call, what string) (*stored, *apiError) {
	from, err := s.lookup(c, "from_chat_id")
	if err != nil {
		return nil, err
	}
	id := int(c.num("message_id"))
	m := from.messages[id]
	if m == nil || m.deleted {
		if id > from.lastID || id < 1 {
			c.violate(UnknownMessage, "message %d never was", id)
		}
		return nil, badRequest("message to %s not found", what)
	}
	return m, nil
}

func (s *Server) copyMessage(c *call) (any, *apiError) {
	original, err := s.original(c, "copy")
	if err != nil {
		return nil, err
	}
	m, chat, err := s.draft(c)
	if err != nil {
		return nil, err
	}
	m.content(original)
	if c.has("caption") {
		if err := s.setCaption(c, m, c.params); err != nil {
			return nil, err
		}
	}
	return map[string]any{"message_id": s.sent(chat, m).ID}, nil
}

func (s *Server) forwardMessage(c *call) (any, *apiError) {
	original, err := s.original(c, "forward")
	if err != nil {
		return nil, err
	}
	m, chat, err := s.draft(c)
	if err != nil {
		return nil, err
	}
	m.content(original)
	m.ForwardOrigin = &wireOrigin{Type: "user", Date: original.Date, User: original.From}
	return s.sent(chat, m), nil
}

// content copies what a reader sees of another message.
func (m *stored) content(o *stored) {
	m.Text, m.Entities, m.Caption, m.CaptionEnts = o.Text, o.Entities, o.Caption, o.CaptionEnts
	m.Photo, m.Document, m.Location, m.source = o.Photo, o.Document, o.Location, o.source
}

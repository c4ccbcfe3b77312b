package telegram

import (
	"hash/fnv"
	"strconv"
	"strings"
	"time"
	"unicode/utf16"

	"github.com/go-telegram/bot/models"

	"bagwatch/bot"
)

// incoming translates an update. False means that it is not for us: channel posts, other bots, talk in
// a group, kinds we do not know.
//
// Decisions: a caption counts as the text of a message, so that a photo "ribeye 450 g" is answered; a
// mention in a group does not count, since privacy mode would only let some of them through.
func (a *Adapter) incoming(u *models.Update) (bot.Incoming, bool) {
	switch {
	case u.Message != nil:
		return a.message(u.Message)
	case u.EditedMessage != nil:
		return a.edited(u.EditedMessage)
	case u.CallbackQuery != nil:
		return a.press(u.CallbackQuery)
	case u.InlineQuery != nil:
		return a.inline(u.InlineQuery)
	case u.MyChatMember != nil:
		return a.membership(u.ID, u.MyChatMember)
	}
	return bot.Incoming{}, false
}

// message translates what was written or what happened in a chat.
func (a *Adapter) message(m *models.Message) (bot.Incoming, bool) {
	if m.Chat.Type == models.ChatTypeChannel {
		return bot.Incoming{}, false
	}
	// Both sides of a migration tell of it; they become the same event of the old chat.
	switch {
	case m.MigrateToChatID != 0:
		return moved(m, m.Chat.ID, m.MigrateToChatID), true
	case m.MigrateFromChatID != 0:
		return moved(m, m.MigrateFromChatID, m.Chat.ID), true
	}
	in, ok := a.written(m)
	if !ok {
		return in, false
	}
	in.Key = "m" + strconv.Itoa(m.ID)
	text, command, ours := a.text(m)
	if !ours {
		return in, false
	}
	in.Text = text
	place := m.Location
	if place == nil && m.Venue != nil {
		place = &m.Venue.Location
	}
	switch {
	case place != nil:
		in.Kind, in.Latitude, in.Longitude = bot.Place, place.Latitude, place.Longitude
	case text != "":
		in.Kind = bot.Text
	case service(m):
		return in, false
	default:
		in.Kind = bot.Other
	}
	return in, !in.Chat.Group || command || in.ToBot
}

func moved(m *models.Message, from, to int64) bot.Incoming {
	return bot.Incoming{
		Kind: bot.Migrated, Key: "moved" + strconv.FormatInt(to, 10), At: time.Unix(int64(m.Date), 0),
		Chat: bot.Chat{ID: bot.ChatID(from), Group: true, Title: m.Chat.Title}, MovedTo: bot.ChatID(to),
	}
}

// edited translates a changed text. Moving locations come this way too and are nothing to us.
func (a *Adapter) edited(m *models.Message) (bot.Incoming, bool) {
	if m.Chat.Type == models.ChatTypeChannel {
		return bot.Incoming{}, false
	}
	in, ok := a.written(m)
	if !ok {
		return in, false
	}
	text, command, ours := a.text(m)
	in.Kind, in.Text = bot.Edited, text
	in.Key = "e" + strconv.Itoa(m.ID) + "." + strconv.Itoa(m.EditDate)
	if m.EditDate != 0 {
		in.At = time.Unix(int64(m.EditDate), 0)
	}
	return in, ours && text != "" && (!in.Chat.Group || command || in.ToBot)
}

// written fills in what all messages have, and leaves out what no person wrote.
func (a *Adapter) written(m *models.Message) (bot.Incoming, bool) {
	in := bot.Incoming{
		At: time.Unix(int64(m.Date), 0), Message: bot.MessageID(m.ID), Chat: chatOf(m),
	}
	switch {
	case m.ViaBot != nil, m.IsAutomaticForward:
		return in, false
	case m.SenderChat != nil:
		// An administrator who stays anonymous writes as the group, others may write as a channel.
		in.From = bot.Person{ID: bot.PersonID(m.SenderChat.ID), Name: m.SenderChat.Title}
	case m.From == nil || m.From.IsBot:
		return in, false
	default:
		in.From = person(m.From)
	}
	// In a topic each message that is no reply "replies" to the topic's first.
	if r := m.ReplyToMessage; r != nil && r.ForumTopicCreated == nil {
		in.ReplyTo = bot.MessageID(r.ID)
		me := a.me.Load()
		in.ToBot = r.From != nil && me != nil && r.From.ID == me.ID
	}
	return in, true
}

func chatOf(m *models.Message) bot.Chat {
	c := bot.Chat{ID: bot.ChatID(m.Chat.ID), Group: m.Chat.Type != models.ChatTypePrivate, Title: m.Chat.Title}
	if m.IsTopicMessage { // others may carry the id of a thread of replies
		c.Topic = m.MessageThreadID
	}
	return c
}

func person(u *models.User) bot.Person {
	return bot.Person{
		ID: bot.PersonID(u.ID), Name: strings.TrimSpace(u.FirstName + " " + u.LastName), Language: u.LanguageCode,
	}
}

// service reports a message that the platform wrote, such as "Ann joined".
func service(m *models.Message) bool {
	return len(m.NewChatMembers) > 0 || m.LeftChatMember != nil || m.NewChatTitle != "" || len(m.NewChatPhoto) > 0 ||
		m.DeleteChatPhoto || m.GroupChatCreated || m.SupergroupChatCreated || m.PinnedMessage != nil ||
		m.ForumTopicCreated != nil || m.ForumTopicEdited != nil || m.ForumTopicClosed != nil || m.ForumTopicReopened != nil ||
		m.GeneralForumTopicHidden != nil || m.GeneralForumTopicUnhidden != nil || m.MessageAutoDeleteTimerChanged != nil ||
		m.VoiceChatScheduled != nil || m.VoiceChatStarted != nil || m.VoiceChatEnded != nil || m.VoiceChatParticipantsInvited != nil ||
		m.BoostAdded != nil || m.ChatBackgroundSet != nil || m.WriteAccessAllowed != nil || m.ProximityAlertTriggered != nil ||
		m.ChatOwnerLeft != nil || m.ChatOwnerChanged != nil || m.ConnectedWebsite != ""
}

// text gives a message's text with a command in front, small and without our name. ours is false for
// a command to another bot; command says that there is one to us.
func (a *Adapter) text(m *models.Message) (text string, command, ours bool) {
	text, entities := m.Text, m.Entities
	if text == "" {
		text, entities = m.Caption, m.CaptionEntities
	}
	for _, e := range entities {
		if e.Type != models.MessageEntityTypeBotCommand {
			continue
		}
		start, end := slice16(text, e.Offset, e.Length)
		word, name, named := strings.Cut(text[start:end], "@")
		if named && !strings.EqualFold(name, a.Username()) {
			if e.Offset == 0 {
				return "", false, false
			}
			continue
		}
		if e.Offset > 0 && !named { // a command within a sentence is talk about it
			continue
		}
		rest := strings.TrimSpace(strings.TrimSpace(text[:start]) + " " + strings.TrimSpace(text[end:]))
		return strings.TrimSpace(strings.ToLower(word) + " " + rest), true, true
	}
	return text, false, true
}

// slice16 turns an offset and length in UTF-16 units into byte positions within s.
// What lies outside s is cut off.
func slice16(s string, offset, length int) (start, end int) {
	offset, length = min(max(offset, 0), len(s)), min(max(length, 0), len(s)) // units are not more than bytes
	start, end = len(s), len(s)
	n := 0
	for i, r := range s {
		if n >= offset && start == len(s) {
			start = i
		}
		if n >= offset+length {
			return start, i
		}
		n += max(utf16.RuneLen(r), 1)
	}
	return start, end
}

// press translates a pressed button. Under a message sent through inline mode there is no chat: it
// counts as the person's own, and the message gets a number by which Edit finds it again.
func (a *Adapter) press(q *models.CallbackQuery) (bot.Incoming, bool) {
	in := bot.Incoming{
		Kind: bot.Press, Key: "p" + q.ID, PressID: q.ID, Data: q.Data, At: a.cfg.Now(), From: person(&q.From), ToBot: true,
	}
	switch m, gone := q.Message.Message, q.Message.InaccessibleMessage; {
	case m != nil:
		in.Chat, in.Message = chatOf(m), bot.MessageID(m.ID)
		if len(m.Photo) > 0 || m.Document != nil {
			a.pictured.put(messageKey{in.Chat.ID, in.Message}, struct{}{})
		}
		if m.ReplyToMessage != nil && m.ReplyToMessage.ForumTopicCreated == nil {
			in.ReplyTo = bot.MessageID(m.ReplyToMessage.ID)
		}
	case gone != nil:
		in.Chat = bot.Chat{ID: bot.ChatID(gone.Chat.ID), Group: gone.Chat.Type != models.ChatTypePrivate, Title: gone.Chat.Title}
		in.Message = bot.MessageID(gone.MessageID)
	default:
		in.Chat = bot.Chat{ID: bot.ChatID(q.From.ID)}
		in.Message = inlineNumber(q.InlineMessageID)
		a.inlines.put(in.Message, q.InlineMessageID)
	}
	return in, true
}

// inlineNumber stands for an inline message. It is below zero, where no message id is, and the same
// after a restart.
func inlineNumber(id string) bot.MessageID {
	h := fnv.New64a()
	_, _ = h.Write([]byte(id)) // a hash does not fail
	return -bot.MessageID(h.Sum64()>>1) - 1
}

// inline translates a query typed after the bot's name. The person's own chat stands for its chat.
func (a *Adapter) inline(q *models.InlineQuery) (bot.Incoming, bool) {
	if q.From == nil || q.From.IsBot {
		return bot.Incoming{}, false
	}
	return bot.Incoming{
		Kind: bot.Inline, Key: "i" + q.ID, InlineID: q.ID, Text: q.Query, At: a.cfg.Now(),
		From: person(q.From), Chat: bot.Chat{ID: bot.ChatID(q.From.ID)},
	}, true
}

// membership translates that the bot came into a chat or left it.
func (a *Adapter) membership(update int64, c *models.ChatMemberUpdated) (bot.Incoming, bool) {
	in := bot.Incoming{
		Key: "u" + strconv.FormatInt(update, 10), At: time.Unix(int64(c.Date), 0), From: person(&c.From),
		Chat: bot.Chat{ID: bot.ChatID(c.Chat.ID), Group: c.Chat.Type != models.ChatTypePrivate, Title: c.Chat.Title},
	}
	was, is := member(c.OldChatMember), member(c.NewChatMember)
	switch {
	case c.Chat.Type == models.ChatTypeChannel, was == is:
		return in, false
	case is:
		in.Kind = bot.Joined
	default:
		in.Kind = bot.Left
	}
	return in, true
}

func member(m models.ChatMember) bool {
	switch m.Type {
	case models.ChatMemberTypeOwner, models.ChatMemberTypeAdministrator, models.ChatMemberTypeMember:
		return true
	case models.ChatMemberTypeRestricted:
		return m.Restricted != nil && m.Restricted.IsMember
	}
	return false
}

package telegram

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"time"

	tg "github.com/go-telegram/bot"
	"github.com/go-telegram/bot/models"

	"bagwatch/bot"
	"bagwatch/internal/reply"
)

// errEmpty reports a message without text, picture or file: our own mistake.
var errEmpty = errors.New("telegram: message without content")

// messageKey names a message among all chats.
type messageKey struct {
	chat bot.ChatID
	id   bot.MessageID
}

// noPreview keeps links from growing a picture under an answer.
var noPreview = &models.LinkPreviewOptions{IsDisabled: tg.True()}

// Send posts a message and gives its id. A text that is too long for one becomes several, cut at the
// ends of paragraphs; the first answers, the last has the buttons, and its id is given.
func (a *Adapter) Send(ctx context.Context, to bot.Chat, m bot.Message) (bot.MessageID, error) {
	ctx = context.WithValue(ctx, chatKey{}, to.ID)
	first := maxText
	if m.Picture != nil || m.File != nil {
		first = maxCaption
	}
	pieces := split(m.Text, first, maxText)
	if m.Picture == nil && m.File == nil && strings.TrimSpace(m.Text.String()) == "" {
		return 0, errEmpty
	}
	if len(pieces) == 0 {
		pieces = []reply.Text{nil}
	}
	var id bot.MessageID
	for i, piece := range pieces {
		out := outgoing{to: to, text: piece, silent: m.Silent}
		if i == 0 {
			out.replyTo, out.picture, out.file, out.name = m.ReplyTo, m.Picture, m.File, m.FileName
		}
		if i == len(pieces)-1 {
			out.markup = a.markup(m)
		}
		var err error
		if id, err = a.post(ctx, out); err != nil {
			return 0, meant(err)
		}
	}
	return id, nil
}

// outgoing is one message as the platform takes it.
type outgoing struct {
	to            bot.Chat
	text          reply.Text
	replyTo       bot.MessageID
	silent        bool
	markup        models.ReplyMarkup
	picture, file []byte
	name          string
}

// markup gives a message's keyboard as an interface that is nil if there is none.
func (a *Adapter) markup(m bot.Message) models.ReplyMarkup {
	if k := a.buttons(m.Buttons); k != nil {
		return k
	}
	if m.AskReply {
		return forceReply{Force: true, Selective: true}
	}
	return nil
}

func (a *Adapter) buttons(rows [][]bot.Button) *keyboard {
	if len(rows) == 0 {
		return nil
	}
	k, dropped := inlineKeyboard(rows)
	if dropped > 0 {
		a.counts.dropped.Add(int64(dropped))
		a.log.Error("buttons left out: no label, payload over 64 bytes, or too many", "count", dropped)
	}
	return k
}

// post sends one message. A topic that is gone or closed gives way to the whole chat, and markup that
// the platform cannot read to plain text, once each.
func (a *Adapter) post(ctx context.Context, out outgoing) (bot.MessageID, error) {
	sent, err := a.pace(ctx, out.to)
	if err != nil {
		return 0, err
	}
	defer sent()
	thread, mode := out.to.Topic, models.ParseModeHTML
	if thread == 1 { // the General topic is addressed by leaving it out
		thread = 0
	}
	id, err := a.postAs(ctx, out, thread, mode)
	if thread != 0 && badThread(err) {
		thread = 0
		id, err = a.postAs(ctx, out, thread, mode)
	}
	if badMarkup(err) {
		a.log.Error("markup refused, sent as plain text", "chat", out.to.ID, "error", err)
		id, err = a.postAs(ctx, out, thread, "")
	}
	return id, err
}

func (a *Adapter) postAs(ctx context.Context, out outgoing, thread int, mode models.ParseMode) (bot.MessageID, error) {
	text := written(out.text, mode)
	var under *models.ReplyParameters
	if out.replyTo > 0 {
		under = &models.ReplyParameters{MessageID: int(out.replyTo), AllowSendingWithoutReply: true}
	}
	var m *models.Message
	var err error
	switch {
	case out.picture != nil:
		m, err = a.lib.SendPhoto(ctx, &tg.SendPhotoParams{
			ChatID: int64(out.to.ID), MessageThreadID: thread, Caption: text, ParseMode: mode,
			Photo:               &models.InputFileUpload{Filename: pictureName, Data: bytes.NewReader(out.picture)},
			DisableNotification: out.silent, ReplyParameters: under, ReplyMarkup: out.markup,
		})
	case out.file != nil:
		m, err = a.lib.SendDocument(ctx, &tg.SendDocumentParams{
			ChatID: int64(out.to.ID), MessageThreadID: thread, Caption: text, ParseMode: mode,
			Document:            &models.InputFileUpload{Filename: out.name, Data: bytes.NewReader(out.file)},
			DisableNotification: out.silent, ReplyParameters: under, ReplyMarkup: out.markup,
		})
	default:
		return a.sendText(ctx, &tg.SendMessageParams{
			ChatID: int64(out.to.ID), MessageThreadID: thread, Text: text, ParseMode: mode, LinkPreviewOptions: noPreview,
			DisableNotification: out.silent, ReplyParameters: under, ReplyMarkup: out.markup,
		})
	}
	if err != nil { // the library gives a message beside an error
		return 0, err
	}
	id := bot.MessageID(m.ID)
	a.pictured.put(messageKey{out.to.ID, id}, struct{}{})
	return id, nil
}

// pictureName is what a picture's upload is called; people do not see it.
const pictureName = "curve.png"

// sendText is the call that answers most: the library's parameters, sent as JSON.
func (a *Adapter) sendText(ctx context.Context, p *tg.SendMessageParams) (bot.MessageID, error) {
	var m sent
	err := a.client.call(ctx, "sendMessage", p, &m)
	return m.ID, err
}

// written is a text as the parse mode wants it.
func written(t reply.Text, mode models.ParseMode) string {
	if mode == "" {
		return plain(t)
	}
	return html(t)
}

// Edit replaces a message's text and buttons; a picture only if the message has one. What does not fit
// is cut at the end of a paragraph.
func (a *Adapter) Edit(ctx context.Context, to bot.Chat, id bot.MessageID, m bot.Message) error {
	ctx = context.WithValue(ctx, chatKey{}, to.ID)
	at := edit{chat: to.ID, id: int(id)}
	if id < 0 {
		inline, ok := a.inlines.at(id)
		if !ok {
			return fmt.Errorf("%w: an inline message of long ago", bot.ErrLost)
		}
		at = edit{inline: inline}
		ctx = context.WithValue(ctx, chatKey{}, bot.ChatID(0))
		m.Picture = nil // nothing can be uploaded into an inline message
	}
	if id == 0 {
		return bot.ErrLost
	}
	if k := a.buttons(m.Buttons); k != nil {
		at.markup = k
	}
	sent, err := a.paceEdit(ctx, to)
	if err != nil {
		return err
	}
	if sent != nil {
		defer sent()
	}
	err = a.change(ctx, at, m, models.ParseModeHTML)
	if badMarkup(err) {
		a.log.Error("markup refused, edited as plain text", "chat", to.ID, "error", err)
		err = a.change(ctx, at, m, "")
	}
	if notModified(err) {
		return nil
	}
	return meant(err)
}

// edit names the message to edit, and its new buttons.
type edit struct {
	chat   bot.ChatID
	id     int
	inline string
	markup models.ReplyMarkup
}

// chatID is nil for an inline message, so that the field is left out.
func (e edit) chatID() any {
	if e.inline != "" {
		return nil
	}
	return int64(e.chat)
}

func (a *Adapter) change(ctx context.Context, at edit, m bot.Message, mode models.ParseMode) error {
	key := messageKey{at.chat, bot.MessageID(at.id)}
	_, pictured := a.pictured.at(key)
	switch {
	case m.Picture != nil:
		_, err := a.lib.EditMessageMedia(ctx, &tg.EditMessageMediaParams{
			ChatID: at.chatID(), MessageID: at.id, ReplyMarkup: at.markup,
			Media: &models.InputMediaPhoto{
				Media: "attach://" + pictureName, MediaAttachment: bytes.NewReader(m.Picture),
				Caption: written(fit(m.Text, maxCaption), mode), ParseMode: mode,
			},
		})
		return err
	case pictured:
		return a.client.call(ctx, "editMessageCaption", &tg.EditMessageCaptionParams{
			ChatID: at.chatID(), MessageID: at.id, InlineMessageID: at.inline, ReplyMarkup: at.markup,
			Caption: written(fit(m.Text, maxCaption), mode), ParseMode: mode,
		}, nil)
	}
	err := a.client.call(ctx, "editMessageText", &tg.EditMessageTextParams{
		ChatID: at.chatID(), MessageID: at.id, InlineMessageID: at.inline, ReplyMarkup: at.markup,
		Text: written(fit(m.Text, maxText), mode), ParseMode: mode, LinkPreviewOptions: noPreview,
	}, nil)
	if noText(err) && at.inline == "" { // it has a picture, from before our start
		a.pictured.put(key, struct{}{})
		return a.change(ctx, at, m, mode)
	}
	return err
}

// fit is what of a text goes into one message, with an ellipsis if that is not all.
func fit(t reply.Text, limit int) reply.Text {
	if textUnits(t) <= limit {
		return t
	}
	const more = "\n…"
	pieces := split(t, limit-len([]rune(more)), maxText)
	if len(pieces) == 0 {
		return nil
	}
	return append(append(reply.Text{}, pieces[0]...), reply.Line{{Text: "…"}})
}

// Notice answers a press, with a short text over the chat or without one. Too late is no error.
func (a *Adapter) Notice(ctx context.Context, pressID, text string) error {
	a.presses.Delete(pressID)
	err := a.client.call(ctx, "answerCallbackQuery", &tg.AnswerCallbackQueryParams{
		CallbackQueryID: pressID, Text: cut(strings.ToValidUTF8(text, "\uFFFD"), maxNotice),
	}, nil)
	if tooLate(err) {
		return nil
	}
	return meant(err)
}

// maxResults is how many results an inline query may get, and inlineCache for how many seconds the
// platform keeps them: the least that can be asked for, since answers depend on the person.
const maxResults, inlineCache = 50, 1

// answerInline is the library's AnswerInlineQueryParams with results already in JSON.
type answerInline struct {
	ID       string            `json:"inline_query_id"`
	Results  []json.RawMessage `json:"results"`
	Cache    int               `json:"cache_time"`
	Personal bool              `json:"is_personal"`
}

// Results answers an inline query. Too late is no error.
func (a *Adapter) Results(ctx context.Context, inlineID string, results []bot.Result) error {
	err := a.results(ctx, inlineID, results, models.ParseModeHTML)
	if badMarkup(err) {
		a.log.Error("markup refused, results as plain text", "error", err)
		err = a.results(ctx, inlineID, results, "")
	}
	if tooLate(err) {
		return nil
	}
	return meant(err)
}

func (a *Adapter) results(ctx context.Context, inlineID string, results []bot.Result, mode models.ParseMode) error {
	out := answerInline{ID: inlineID, Results: []json.RawMessage{}, Cache: inlineCache, Personal: true}
	for _, r := range results[:min(len(results), maxResults)] {
		article := &models.InlineQueryResultArticle{
			ID: r.ID, Title: strings.ToValidUTF8(r.Title, "\uFFFD"), Description: strings.ToValidUTF8(r.Description, "\uFFFD"),
			InputMessageContent: models.InputTextMessageContent{
				MessageText: written(fit(r.Message.Text, maxText), mode), ParseMode: mode, LinkPreviewOptions: noPreview,
			},
		}
		if k := a.buttons(r.Message.Buttons); k != nil {
			article.ReplyMarkup = k
		}
		raw, err := article.MarshalCustom()
		if err != nil {
			return fmt.Errorf("answerInlineQuery: %w", err)
		}
		out.Results = append(out.Results, raw)
	}
	return a.client.call(ctx, "answerInlineQuery", out, nil)
}

type adminKey struct {
	chat   bot.ChatID
	person bot.PersonID
}

type adminKnown struct {
	is    bool
	until time.Time
}

// How long an answer to Admin holds. A new administrator should not wait long. House rules.
const isAdminFor, noAdminFor = time.Minute, 10 * time.Second

// Admin reports whether the person runs the chat. One who writes as the group itself does.
func (a *Adapter) Admin(ctx context.Context, chat bot.Chat, person bot.PersonID) (bool, error) {
	if !chat.Group || int64(person) == int64(chat.ID) {
		return true, nil
	}
	if person <= 0 { // a channel
		return false, nil
	}
	key := adminKey{chat.ID, person}
	if known, ok := a.admins.at(key); ok && time.Now().Before(known.until) {
		return known.is, nil
	}
	ctx = context.WithValue(ctx, chatKey{}, chat.ID)
	m, err := a.lib.GetChatMember(ctx, &tg.GetChatMemberParams{ChatID: int64(chat.ID), UserID: int64(person)})
	if says(err, "user not found", "participant_id_invalid", "user_id_invalid") {
		return false, nil
	}
	if err != nil {
		return false, meant(err)
	}
	known := adminKnown{m.Type == models.ChatMemberTypeOwner || m.Type == models.ChatMemberTypeAdministrator, time.Now()}
	if known.is {
		known.until = known.until.Add(isAdminFor)
	} else {
		known.until = known.until.Add(noAdminFor)
	}
	a.admins.put(key, known)
	return known.is, nil
}

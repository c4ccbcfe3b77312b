package standin_test

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"image"
	"image/png"
	"io"
	"net/http"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/go-telegram/bot"
	"github.com/go-telegram/bot/models"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/bot/telegram/standin"
)

// witness is a testing.TB that collects errors instead of failing.
type witness struct {
	testing.TB
	mu     sync.Mutex
	errors []string
}

func (w *witness) Errorf(format string, args ...any) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.errors = append(w.errors, fmt.Sprintf(format, args...))
}

// take returns and forgets the errors so far.
func (w *witness) take() []string {
	w.mu.Lock()
	defer w.mu.Unlock()
	out := w.errors
	w.errors = nil
	return out
}

// wait bounds what a failing test waits; passing ones take milliseconds.
const wait = 5 * time.Second

// clock is a clock that tests move.
type clock struct {
	mu sync.Mutex
	at time.Time
}

func newClock() *clock {
	return &clock{at: time.Date(2026, 11, 25, 18, 0, 0, 0, time.UTC)}
}

func (c *clock) now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.at
}

func (c *clock) advance(d time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.at = c.at.Add(d)
}

// post calls a method with JSON and returns the decoded answer.
func post(t *testing.T, s *standin.Server, method, body string) reply {
	t.Helper()
	resp, err := http.Post(s.URL()+"/bot"+s.Token()+"/"+method, "application/json", strings.NewReader(body))
	require.NoError(t, err)
	defer resp.Body.Close()
	data, err := io.ReadAll(resp.Body)
	require.NoError(t, err)
	var r reply
	require.NoError(t, json.Unmarshal(data, &r), "%s", data)
	assert.Equal(t, map[bool]int{true: 200, false: r.ErrorCode}[r.OK], resp.StatusCode)
	r.header = resp.Header
	return r
}

type reply struct {
	OK          bool
	Result      json.RawMessage
	ErrorCode   int `json:"error_code"`
	Description string
	Parameters  struct {
		RetryAfter int   `json:"retry_after"`
		MigrateTo  int64 `json:"migrate_to_chat_id"`
	}
	header http.Header
}

// updates polls once and returns kind and body of each update.
func updates(t *testing.T, s *standin.Server, params string) []map[string]json.RawMessage {
	t.Helper()
	r := post(t, s, "getUpdates", params)
	require.True(t, r.OK, r.Description)
	var list []map[string]json.RawMessage
	require.NoError(t, json.Unmarshal(r.Result, &list))
	return list
}

func picture(t *testing.T, w, h int) []byte {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, png.Encode(&b, image.NewGray(image.Rect(0, 0, w, h))))
	return b.Bytes()
}

// client is the library our bot uses, pointed at the stand-in.
func client(t *testing.T, s *standin.Server) *bot.Bot {
	t.Helper()
	b, err := bot.New(s.Token(), bot.WithServerURL(s.URL()))
	require.NoError(t, err)
	return b
}

// The library writes copy_text into every button of its own type, so buttons are our own.
type key map[string]any

func keyboard(rows ...[]key) map[string]any { return map[string]any{"inline_keyboard": rows} }

func TestCallsOfTheLibraryPass(t *testing.T) {
	s := standin.New(t)
	b := client(t, s)
	ctx := context.Background()
	ann := s.AddUser(standin.User{FirstName: "Ann", LanguageCode: "en"})
	chat := s.Private(ann)
	s.SendText(ann, chat, "/start")

	me, err := b.GetMe(ctx)
	require.NoError(t, err)
	assert.Equal(t, standin.DefaultUsername, me.Username)

	sent, err := b.SendMessage(ctx, &bot.SendMessageParams{
		ChatID: chat.ID(), Text: "<b>Ribeye</b> &lt;3 <tg-time unix=\"1795590000\" format=\"t\">22:45</tg-time>", ParseMode: models.ParseModeHTML,
		ReplyMarkup: keyboard([]key{{"text": "Thicker", "callback_data": "t+"}, {"text": "Open", "url": "https://t.me/quay_street_bot?start=abc_1"}}),
	})
	require.NoError(t, err)
	assert.Equal(t, "Ribeye <3 22:45", sent.Text)
	assert.Equal(t, 10, sent.Entities[1].Offset)

	_, err = b.EditMessageText(ctx, &bot.EditMessageTextParams{ChatID: chat.ID(), MessageID: sent.ID, Text: "Flank"})
	require.NoError(t, err)
	photo, err := b.SendPhoto(ctx, &bot.SendPhotoParams{
		ChatID: chat.ID(), Photo: &models.InputFileUpload{Filename: "curve.png", Data: bytes.NewReader(picture(t, 64, 48))}, Caption: "core 54 °C",
	})
	require.NoError(t, err)
	assert.Equal(t, 64, photo.Photo[0].Width)
	_, err = b.EditMessageCaption(ctx, &bot.EditMessageCaptionParams{ChatID: chat.ID(), MessageID: photo.ID, Caption: "core 55 °C"})
	require.NoError(t, err)
	_, err = b.EditMessageMedia(ctx, &bot.EditMessageMediaParams{ChatID: chat.ID(), MessageID: photo.ID, Media: &models.InputMediaPhoto{
		Media: "attach://next.png", MediaAttachment: bytes.NewReader(picture(t, 80, 60)), Caption: "next"}})
	require.NoError(t, err)
	again, err := b.SendPhoto(ctx, &bot.SendPhotoParams{ChatID: chat.ID(), Photo: &models.InputFileString{Data: photo.Photo[0].FileID}})
	require.NoError(t, err)
	_, err = b.SendDocument(ctx, &bot.SendDocumentParams{ChatID: chat.ID(), Document: &models.InputFileUpload{Filename: "log.csv", Data: strings.NewReader("a,b\n")}})
	require.NoError(t, err)
	_, err = b.SendLocation(ctx, &bot.SendLocationParams{ChatID: chat.ID(), Latitude: 59.9, Longitude: 10.7})
	require.NoError(t, err)
	_, err = b.SendChatAction(ctx, &bot.SendChatActionParams{ChatID: chat.ID(), Action: models.ChatActionTyping})
	require.NoError(t, err)
	_, err = b.SetMessageReaction(ctx, &bot.SetMessageReactionParams{ChatID: chat.ID(), MessageID: sent.ID, Reaction: []models.ReactionType{
		{Type: models.ReactionTypeTypeEmoji, ReactionTypeEmoji: &models.ReactionTypeEmoji{Type: models.ReactionTypeTypeEmoji, Emoji: "👍"}}}})
	require.NoError(t, err)
	_, err = b.PinChatMessage(ctx, &bot.PinChatMessageParams{ChatID: chat.ID(), MessageID: sent.ID})
	require.NoError(t, err)
	_, err = b.UnpinChatMessage(ctx, &bot.UnpinChatMessageParams{ChatID: chat.ID(), MessageID: sent.ID})
	require.NoError(t, err)
	_, err = b.CopyMessage(ctx, &bot.CopyMessageParams{ChatID: chat.ID(), FromChatID: chat.ID(), MessageID: sent.ID})
	require.NoError(t, err)
	_, err = b.ForwardMessage(ctx, &bot.ForwardMessageParams{ChatID: chat.ID(), FromChatID: chat.ID(), MessageID: sent.ID})
	require.NoError(t, err)
	_, err = b.DeleteMessages(ctx, &bot.DeleteMessagesParams{ChatID: chat.ID(), MessageIDs: []int{again.ID}})
	require.NoError(t, err)
	_, err = b.DeleteMessage(ctx, &bot.DeleteMessageParams{ChatID: chat.ID(), MessageID: sent.ID})
	require.NoError(t, err)
	_, err = b.SendMessage(ctx, &bot.SendMessageParams{ChatID: chat.ID(), Text: "What food?", ReplyMarkup: &models.ForceReply{ForceReply: true, InputFieldPlaceholder: "ribeye 450 g"}})
	require.NoError(t, err)
	_, err = b.SetMyCommands(ctx, &bot.SetMyCommandsParams{Commands: []models.BotCommand{{Command: "cook", Description: "Plan a bag"}},
		Scope: &models.BotCommandScopeAllPrivateChats{}, LanguageCode: "de"})
	require.NoError(t, err)
	commands, err := b.GetMyCommands(ctx, &bot.GetMyCommandsParams{Scope: &models.BotCommandScopeAllPrivateChats{}, LanguageCode: "de"})
	require.NoError(t, err)
	assert.Equal(t, []models.BotCommand{{Command: "cook", Description: "Plan a bag"}}, commands)
	_, err = b.SetMyDescription(ctx, &bot.SetMyDescriptionParams{Description: "Plans bags."})
	require.NoError(t, err)
	about, err := b.GetMyDescription(ctx, &bot.GetMyDescriptionParams{LanguageCode: "fr"})
	require.NoError(t, err)
	assert.Equal(t, "Plans bags.", about.Description)
	member, err := b.GetChatMember(ctx, &bot.GetChatMemberParams{ChatID: chat.ID(), UserID: ann.ID})
	require.NoError(t, err)
	assert.Equal(t, models.ChatMemberTypeMember, member.Type)

	_, err = b.DeleteWebhook(ctx, &bot.DeleteWebhookParams{})
	require.NoError(t, err)
	_, err = b.GetWebhookInfo(ctx)
	require.NoError(t, err)

	f, err := b.GetFile(ctx, &bot.GetFileParams{FileID: photo.Photo[0].FileID})
	require.NoError(t, err)
	resp, err := http.Get(b.FileDownloadLink(f))
	require.NoError(t, err)
	defer resp.Body.Close()
	data, err := io.ReadAll(resp.Body)
	require.NoError(t, err)
	assert.Equal(t, picture(t, 64, 48), data)

	assert.Empty(t, s.Violations())
}

func TestWrongCallsAreCaught(t *testing.T) {
	w := &witness{TB: t}
	s := standin.New(w)
	ann := s.AddUser(standin.User{FirstName: "Ann"})
	chat := s.Private(ann)
	group := s.Group("Quay Street", ann)
	s.SendText(ann, chat, "/start")
	own := post(t, s, "sendMessage", fmt.Sprintf(`{"chat_id":%d,"text":"one"}`, chat.ID()))
	require.True(t, own.OK)
	cb := s.PressData(ann, chat, 2, "x")
	query := s.Ask(ann, "rib")
	require.Empty(t, w.take())

	text := func(extra string) string { return fmt.Sprintf(`{"chat_id":%d,"text":"hi"%s}`, chat.ID(), extra) }
	html := func(s string) string {
		b, err := json.Marshal(s)
		require.NoError(t, err)
		return fmt.Sprintf(`{"chat_id":%d,"parse_mode":"HTML","text":%s}`, chat.ID(), b)
	}
	button := func(b string) string { return text(`,"reply_markup":{"inline_keyboard":[[` + b + `]]}`) }
	results := func(n int, id string) string {
		one := func(i int) string {
			return fmt.Sprintf(`{"type":"article","id":"%s%d","title":"t","input_message_content":{"message_text":"m"}}`, id, i)
		}
		var all []string
		for i := range n {
			all = append(all, one(i))
		}
		return fmt.Sprintf(`{"inline_query_id":%q,"results":[%s]}`, query.ID, strings.Join(all, ","))
	}
	repeat := func(s string, n int) string { return strings.Repeat(s, n) }

	for name, tt := range map[string]struct {
		method, body string
		kind         standin.Kind
		answer       string // part of the description; empty means the call is answered ok
	}{
		"unknown method":            {"sendMesage", `{}`, standin.UnknownMethod, "method not found"},
		"unknown field":             {"sendMessage", text(`,"txet":"x"`), standin.SchemaBroken, ""},
		"wrong type":                {"sendMessage", text(`,"disable_notification":"quiet"`), standin.SchemaBroken, ""},
		"message id as text":        {"editMessageText", text(`,"message_id":"two"`), standin.SchemaBroken, "not found"},
		"fraction for an id":        {"editMessageText", text(`,"message_id":1.5`), standin.SchemaBroken, "not found"},
		"parse mode html5":          {"sendMessage", text(`,"parse_mode":"html5"`), standin.SchemaBroken, "unsupported parse_mode"},
		"markdown":                  {"sendMessage", text(`,"parse_mode":"MarkdownV2"`), standin.Unsupported, ""},
		"action cooking":            {"sendChatAction", fmt.Sprintf(`{"chat_id":%d,"action":"cooking"}`, chat.ID()), standin.SchemaBroken, "wrong parameter action"},
		"misspelt callback_data":    {"sendMessage", button(`{"text":"a","calback_data":"x"}`), standin.SchemaBroken, "Text buttons are unallowed"},
		"70 bytes of callback_data": {"sendMessage", button(`{"text":"a","callback_data":"` + repeat("x", 70) + `"}`), standin.LimitBroken, "BUTTON_DATA_INVALID"},
		"33 characters, 66 bytes":   {"sendMessage", button(`{"text":"a","callback_data":"` + repeat("é", 33) + `"}`), standin.LimitBroken, "BUTTON_DATA_INVALID"},
		"empty callback_data":       {"sendMessage", button(`{"text":"a","callback_data":""}`), standin.LimitBroken, "BUTTON_DATA_INVALID"},
		"button without action":     {"sendMessage", button(`{"text":"a"}`), standin.KeyboardBroken, "Text buttons are unallowed"},
		"button with two actions":   {"sendMessage", button(`{"text":"a","callback_data":"x","url":"https://example.org"}`), standin.KeyboardBroken, ""},
		"empty copy_text beside":    {"sendMessage", button(`{"text":"a","callback_data":"x","copy_text":{"text":""}}`), standin.KeyboardBroken, ""},
		"empty copy_text alone":     {"sendMessage", button(`{"text":"a","copy_text":{"text":""}}`), standin.LimitBroken, "BUTTON_COPY_TEXT_INVALID"},
		"button without text":       {"sendMessage", button(`{"text":"","callback_data":"x"}`), standin.KeyboardBroken, "can't parse inline keyboard button"},
		"button to nowhere":         {"sendMessage", button(`{"text":"a","url":"nowhere"}`), standin.LinkBroken, "URL"},
		"deep link too long":        {"sendMessage", button(`{"text":"a","url":"https://t.me/quay_street_bot?start=` + repeat("x", 65) + `"}`), standin.LinkBroken, ""},
		"deep link with a colon":    {"sendMessage", html(`<a href="https://t.me/quay_street_bot?start=a:b">x</a>`), standin.LinkBroken, ""},
		"13 buttons in a row":       {"sendMessage", button(strings.TrimSuffix(repeat(`{"text":"a","callback_data":"x"},`, 13), ",")), standin.KeyboardBroken, ""},
		"location button in group":  {"sendMessage", fmt.Sprintf(`{"chat_id":%d,"text":"x","reply_markup":{"keyboard":[[{"text":"here","request_location":true}]]}}`, group.ID()), standin.KeyboardBroken, "private chats only"},
		"201 character answer":      {"answerCallbackQuery", fmt.Sprintf(`{"callback_query_id":%q,"text":%q}`, cb.ID, repeat("x", 201)), standin.LimitBroken, "MESSAGE_TOO_LONG"},
		"invented callback":         {"answerCallbackQuery", `{"callback_query_id":"1"}`, standin.LimitBroken, "query is too old"},
		"empty text":                {"sendMessage", fmt.Sprintf(`{"chat_id":%d,"text":""}`, chat.ID()), standin.LimitBroken, "message text is empty"},
		"blank text":                {"sendMessage", fmt.Sprintf(`{"chat_id":%d,"text":" \n "}`, chat.ID()), standin.LimitBroken, "message text is empty"},
		"missing text":              {"sendMessage", fmt.Sprintf(`{"chat_id":%d}`, chat.ID()), standin.SchemaBroken, "message text is empty"},
		"5000 characters":           {"sendMessage", fmt.Sprintf(`{"chat_id":%d,"text":%q}`, chat.ID(), repeat("x", 5000)), standin.LimitBroken, "message is too long"},
		"2049 pairs of units":       {"sendMessage", fmt.Sprintf(`{"chat_id":%d,"text":%q}`, chat.ID(), repeat("🥩", 2049)), standin.LimitBroken, "message is too long"},
		"1025 character caption":    {"sendPhoto", fmt.Sprintf(`{"chat_id":%d,"photo":"https://example.org/a.png","caption":%q}`, chat.ID(), repeat("x", 1025)), standin.LimitBroken, "caption is too long"},
		"unclosed tag":              {"sendMessage", html("<b>x"), standin.MarkupBroken, `Can't find end tag corresponding to start tag "b"`},
		"crossed tags":              {"sendMessage", html("<b><i>x</b></i>"), standin.MarkupBroken, "Unmatched end tag at byte offset 7, expected \"</i>\", found \"</b>\""},
		"tag p":                     {"sendMessage", html("<p>x</p>"), standin.MarkupBroken, `Unsupported start tag "p" at byte offset 0`},
		"tag br":                    {"sendMessage", html("a<br>b"), standin.MarkupBroken, `Unsupported start tag "br" at byte offset 1`},
		"less-than sign":            {"sendMessage", html("1 < 2"), standin.MarkupBroken, `Unsupported start tag "" at byte offset 2`},
		"end tag alone":             {"sendMessage", html("x</b>"), standin.MarkupBroken, "Unexpected end tag at byte offset 1"},
		"named entity nbsp":         {"sendMessage", html("a&nbsp;b"), standin.MarkupBroken, ""},
		"bare ampersand":            {"sendMessage", html("fish & chips"), standin.MarkupBroken, ""},
		"bold in code":              {"sendMessage", html("<code>a<b>b</b></code>"), standin.MarkupBroken, ""},
		"nested blockquotes":        {"sendMessage", html("<blockquote>a<blockquote>b</blockquote></blockquote>"), standin.MarkupBroken, ""},
		"time without number":       {"sendMessage", html(`<tg-time format="t">x</tg-time>`), standin.MarkupBroken, "Invalid date-time"},
		"time with odd format":      {"sendMessage", html(`<tg-time unix="1795590000" format="HH">x</tg-time>`), standin.MarkupBroken, "Invalid date-time format"},
		"entity past the end":       {"sendMessage", text(`,"entities":[{"type":"bold","offset":1,"length":5}]`), standin.MarkupBroken, ""},
		"unknown chat":              {"sendMessage", `{"chat_id":42,"text":"x"}`, standin.UnknownChat, "chat not found"},
		"edit of nothing":           {"editMessageText", text(`,"message_id":99`), standin.UnknownMessage, "message to edit not found"},
		"edit of a person's text":   {"editMessageText", text(`,"message_id":1`), standin.UnknownMessage, "message can't be edited"},
		"edit that changes nothing": {"editMessageText", fmt.Sprintf(`{"chat_id":%d,"message_id":2,"text":"one"}`, chat.ID()), standin.NotModified, "message is not modified"},
		"caption of a text":         {"editMessageCaption", fmt.Sprintf(`{"chat_id":%d,"message_id":2,"caption":"one"}`, chat.ID()), standin.UnknownMessage, "no caption"},
		"topic that is not there":   {"sendMessage", text(`,"message_thread_id":1`), standin.UnknownMessage, "message thread not found"},
		"invented inline message":   {"editMessageText", `{"inline_message_id":"x","text":"y"}`, standin.UnknownMessage, "MESSAGE_ID_INVALID"},
		"command with capitals":     {"setMyCommands", `{"commands":[{"command":"Cook","description":"d"}]}`, standin.LimitBroken, "BOT_COMMAND_INVALID"},
		"command without text":      {"setMyCommands", `{"commands":[{"command":"cook","description":""}]}`, standin.LimitBroken, "BOT_COMMAND_DESCRIPTION_INVALID"},
		"three letter language":     {"setMyCommands", `{"commands":[],"language_code":"deu"}`, standin.LimitBroken, "LANG_CODE_INVALID"},
		"name of 65":                {"setMyName", fmt.Sprintf(`{"name":%q}`, repeat("x", 65)), standin.LimitBroken, "too long"},
		"51 results":                {"answerInlineQuery", results(51, "r"), standin.LimitBroken, "RESULTS_TOO_MUCH"},
		"result id of 65 bytes":     {"answerInlineQuery", results(1, repeat("x", 64)), standin.LimitBroken, "RESULT_ID_INVALID"},
		"result without content":    {"answerInlineQuery", fmt.Sprintf(`{"inline_query_id":%q,"results":[{"type":"article","id":"1","title":"t"}]}`, query.ID), standin.SchemaBroken, "Message content is not specified"},
		"next offset of 65 bytes":   {"answerInlineQuery", fmt.Sprintf(`{"inline_query_id":%q,"results":[],"next_offset":%q}`, query.ID, repeat("x", 65)), standin.LimitBroken, "NEXT_OFFSET_INVALID"},
		"odd start parameter":       {"answerInlineQuery", fmt.Sprintf(`{"inline_query_id":%q,"results":[],"button":{"text":"b","start_parameter":"a b"}}`, query.ID), standin.LinkBroken, "START_PARAM_INVALID"},
		"invented file id":          {"sendPhoto", fmt.Sprintf(`{"chat_id":%d,"photo":"AgAC"}`, chat.ID()), standin.FileBroken, "wrong file identifier"},
		"101 deletions":             {"deleteMessages", fmt.Sprintf(`{"chat_id":%d,"message_ids":[%s1]}`, chat.ID(), repeat("1,", 100)), standin.LimitBroken, "too many message identifiers"},
		"poll limit 101":            {"getUpdates", `{"limit":101}`, standin.LimitBroken, ""},
		"webhook on another host":   {"setWebhook", `{"url":"http://bot.example.org/hook"}`, standin.Unsupported, "HTTPS URL"},
		"odd secret":                {"setWebhook", `{"url":"http://127.0.0.1:1/","secret_token":"a b"}`, standin.LimitBroken, "unallowed characters"},
		"unknown reaction":          {"setMessageReaction", fmt.Sprintf(`{"chat_id":%d,"message_id":2,"reaction":[{"type":"emoji","emoji":"🥩"}]}`, chat.ID()), standin.SchemaBroken, ""},
		"body that is no JSON":      {"sendMessage", `{"chat_id":`, standin.BadRequest, "can't parse"},
	} {
		t.Run(name, func(t *testing.T) {
			before := len(s.Violations())
			r := post(t, s, tt.method, tt.body)
			found := s.Violations()[before:]
			require.Len(t, found, 1, "answered %q", r.Description)
			assert.Equal(t, tt.kind, found[0].Kind, "%s", found[0])
			assert.Len(t, w.take(), 1, "the test itself must fail")
			if tt.answer == "" {
				assert.True(t, r.OK, r.Description)
			} else {
				assert.False(t, r.OK)
				assert.Contains(t, r.Description, tt.answer)
			}
		})
	}
}

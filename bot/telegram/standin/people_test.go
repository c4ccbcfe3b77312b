package standin_test

import (
	"encoding/json"
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/bot/telegram/standin"
)

// say is the bot writing a text.
func say(t *testing.T, s *standin.Server, chat *standin.Chat, text string) reply {
	t.Helper()
	return post(t, s, "sendMessage", fmt.Sprintf(`{"chat_id":%d,"text":%q}`, chat.ID(), text))
}

// kinds are the update kinds of one poll, all confirmed by the next.
func kinds(t *testing.T, s *standin.Server) []string {
	t.Helper()
	var out []string
	last := 0
	for _, u := range updates(t, s, `{"allowed_updates":[]}`) {
		require.NoError(t, json.Unmarshal(u["update_id"], &last))
		for k := range u {
			if k != "update_id" {
				out = append(out, k)
			}
		}
	}
	if last > 0 {
		updates(t, s, fmt.Sprintf(`{"offset":%d}`, last+1))
	}
	return out
}

func TestPeopleAreHeardAsTheyWrite(t *testing.T) {
	s := standin.New(t)
	ann := s.AddUser(standin.User{FirstName: "Ann", LanguageCode: "de-AT"})
	s.SendText(ann, s.Private(ann), "  🥩 @Quay_Street /cook@quay_street_bot rare /srv/x a/b ")
	u := updates(t, s, `{}`)
	require.Len(t, u, 1)
	var m struct {
		Text string
		From struct {
			ID   int64
			Lang string `json:"language_code"`
		}
		Chat struct {
			ID   int64
			Type string
		}
		Entities []standin.Entity
	}
	require.NoError(t, json.Unmarshal(u[0]["message"], &m))
	assert.Equal(t, "🥩 @Quay_Street /cook@quay_street_bot rare /srv/x a/b", m.Text)
	assert.Greater(t, m.From.ID, int64(1)<<32, "user ids need more than 32 bits")
	assert.Equal(t, "de-AT", m.From.Lang)
	assert.Equal(t, m.From.ID, m.Chat.ID)
	assert.Equal(t, []standin.Entity{
		{Type: "mention", Offset: 3, Length: 12}, // the emoji is two units
		{Type: "bot_command", Offset: 16, Length: 21},
	}, m.Entities)
}

func TestPrivacyMode(t *testing.T) {
	s := standin.New(t)
	ann := s.AddUser(standin.User{FirstName: "Ann"})
	other := s.AddUser(standin.User{FirstName: "Other", Username: "other_bot", IsBot: true})
	g := s.Group("Quay Street", ann, other)
	card := say(t, s, g, "the card")
	require.True(t, card.OK)
	bots := s.Messages(g)[0]

	heard := func(m standin.Message) bool { return m.UpdateID != 0 }
	assert.False(t, heard(s.SendText(ann, g, "ribeye 450 g")), "plain talk")
	assert.True(t, heard(s.SendText(ann, g, "/cook ribeye")), "plain command, our bot spoke last")
	assert.False(t, heard(s.SendText(ann, g, "please /cook ribeye")), "plain command later in the text")
	assert.True(t, heard(s.SendText(ann, g, "please /cook@Quay_Street_Bot ribeye")), "named command, any case")
	assert.False(t, heard(s.SendText(ann, g, "/cook@other_bot ribeye")), "another bot's command")
	assert.True(t, heard(s.SendText(ann, g, "3 cm", standin.ReplyTo(bots))), "reply to the bot")
	assert.False(t, heard(s.SendText(other, g, "/cook@quay_street_bot")), "bots do not hear bots")
	assert.False(t, heard(s.SendText(ann, g, "/cook ribeye")), "plain command, another bot spoke last")

	s.Promote(ann, g, standin.Rights{})
	assert.True(t, heard(s.SendText(ann, g, "ribeye 450 g")), "administrators hear all")
}

func TestButtons(t *testing.T) {
	clk := newClock()
	s := standin.New(t, func(c *standin.Config) { c.Now = clk.now })
	ann := s.AddUser(standin.User{FirstName: "Ann"})
	chat := s.Open(ann)
	r := post(t, s, "sendMessage", fmt.Sprintf(`{"chat_id":%d,"text":"<b>Bag</b>","parse_mode":"HTML","reply_markup":{"inline_keyboard":[[{"text":"Pull","callback_data":"p1"},{"text":"Site","url":"https://example.org"}]]}}`, chat.ID()))
	require.True(t, r.OK, r.Description)
	card := s.Expect(chat, "Bag")
	assert.Equal(t, "Bag\n[Pull] [Site]", card.String())

	cb := s.Press(ann, card, "Pull")
	assert.Equal(t, "p1", cb.Data)
	assert.Equal(t, []string{"callback_query"}, kinds(t, s))
	assert.Len(t, s.UnansweredCallbacks(), 1)
	answer := func(cb standin.Callback) reply {
		return post(t, s, "answerCallbackQuery", fmt.Sprintf(`{"callback_query_id":%q,"text":"pulled"}`, cb.ID))
	}
	clk.advance(14 * time.Second)
	assert.True(t, answer(cb).OK)
	got, err := s.WaitForAnswer(cb, wait)
	require.NoError(t, err)
	assert.Equal(t, "pulled", got.Text)
	assert.Empty(t, s.UnansweredCallbacks())
	assert.Equal(t, 400, answer(cb).ErrorCode, "answered twice")

	late := s.Press(ann, card, "p1")
	clk.advance(16 * time.Second)
	assert.Equal(t, "Bad Request: query is too old and response timeout expired or query ID is invalid", answer(late).Description)
	assert.Len(t, s.UnansweredCallbacks(), 1)
	assert.Equal(t, []string{"callback_query"}, kinds(t, s), "kept for 150 s")
	s.Press(ann, card, "p1")
	clk.advance(151 * time.Second)
	assert.Empty(t, kinds(t, s), "kept for 150 s only")

	s.DeleteMessage(card)
	s.PressData(ann, chat, card.ID, "forged")
	u := updates(t, s, `{}`)
	require.Len(t, u, 1)
	assert.Contains(t, string(u[0]["callback_query"]), `"date":0`)
	assert.Equal(t, "Bad Request: message to edit not found",
		post(t, s, "editMessageText", fmt.Sprintf(`{"chat_id":%d,"message_id":%d,"text":"x"}`, chat.ID(), card.ID)).Description,
		"and that is no violation: a person deleted it")
}

func TestEditsKeepAndRemoveTheKeyboard(t *testing.T) {
	s := standin.New(t)
	ann := s.AddUser(standin.User{})
	chat := s.Open(ann)
	post(t, s, "sendMessage", fmt.Sprintf(`{"chat_id":%d,"text":"a","reply_markup":{"inline_keyboard":[[{"text":"Pull","callback_data":"p1"}]]}}`, chat.ID()))
	card := s.Expect(chat, "a")
	require.True(t, post(t, s, "editMessageText", fmt.Sprintf(`{"chat_id":%d,"message_id":%d,"text":"a"}`, chat.ID(), card.ID)).OK,
		"leaving reply_markup out removes the keyboard, which is a change")
	e, err := s.Next(chat, wait)
	require.NoError(t, err)
	assert.Equal(t, standin.Edited, e.Kind)
	assert.Empty(t, e.Message.Buttons)
	assert.Equal(t, 1, e.Message.Edits)
	require.NoError(t, s.Quiet(chat, 10*time.Millisecond))
}

func TestRefusalsThatAreNoViolations(t *testing.T) {
	clk := newClock()
	s := standin.New(t, func(c *standin.Config) { c.Now = clk.now })
	ann := s.AddUser(standin.User{FirstName: "Ann"})
	ben := s.AddUser(standin.User{FirstName: "Ben"})
	private, g := s.Open(ann), s.Group("Quay Street", ann, ben)

	s.Block(ann)
	assert.Equal(t, "Forbidden: bot was blocked by the user", say(t, s, private, "x").Description)
	s.SendText(ann, private, "back again")
	assert.True(t, say(t, s, private, "x").OK)
	assert.Equal(t, []string{"my_chat_member", "my_chat_member", "message"}, kinds(t, s))
	s.DeleteAccount(ann)
	assert.Equal(t, "Forbidden: user is deactivated", say(t, s, private, "x").Description)

	s.RemoveBot(ben, g)
	assert.Equal(t, "Forbidden: bot was kicked from the group chat", say(t, s, g, "x").Description)
	s.AddBot(ben, g, "abc")
	assert.True(t, say(t, s, g, "x").OK)
	assert.Equal(t, []string{"my_chat_member", "my_chat_member", "message", "message"}, kinds(t, s))
	assert.Equal(t, "/start@quay_street_bot abc", s.Messages(g)[1].Text)

	super := s.Migrate(ben, g)
	r := say(t, s, g, "x")
	assert.Equal(t, "Bad Request: group chat was upgraded to a supergroup chat", r.Description)
	assert.Equal(t, super.ID(), r.Parameters.MigrateTo)
	assert.Less(t, super.ID(), int64(-1_000_000_000_000))
	assert.True(t, say(t, s, super, "x").OK)
	u := updates(t, s, `{}`)
	require.Len(t, u, 2)
	assert.Contains(t, string(u[0]["message"]), fmt.Sprintf(`"migrate_to_chat_id":%d`, super.ID()))
	assert.Contains(t, string(u[1]["message"]), fmt.Sprintf(`"migrate_from_chat_id":%d`, g.ID()))

	require.True(t, post(t, s, "leaveChat", fmt.Sprintf(`{"chat_id":%d}`, super.ID())).OK)
	assert.Equal(t, 403, say(t, s, super, "x").ErrorCode)
}

func TestTopics(t *testing.T) {
	s := standin.New(t)
	ann := s.AddUser(standin.User{FirstName: "Ann"})
	f := s.Forum("Quay Street", ann)
	topic := s.Topic(ann, f, "bath 2")
	m := s.SendText(ann, f, "/bags", standin.InTopic(topic))
	assert.Equal(t, topic, m.Thread)
	require.True(t, post(t, s, "sendMessage", fmt.Sprintf(`{"chat_id":%d,"text":"none","message_thread_id":%d,"reply_parameters":{"message_id":%d}}`, f.ID(), topic, m.ID)).OK)
	out := s.Expect(f, "none")
	assert.Equal(t, topic, out.Thread)
	assert.Equal(t, m.ID, out.ReplyTo)
	u := updates(t, s, `{}`)
	assert.Contains(t, string(u[1]["message"]), `"is_topic_message":true`)
}

func TestInlineMode(t *testing.T) {
	s := standin.New(t)
	ann := s.AddUser(standin.User{FirstName: "Ann"})
	elsewhere := s.EmptyGroup("Elsewhere", ann)
	q := s.Ask(ann, "ribeye 1in")
	body := `{"inline_query_id":%q,"cache_time":1,"is_personal":true,"button":{"text":"Start","start_parameter":"x"},"results":[{"type":"article","id":"r1","title":"Ribeye",
		"input_message_content":{"message_text":"<b>Ribeye</b> 55.5 °C","parse_mode":"HTML"},"reply_markup":{"inline_keyboard":[[{"text":"Thicker","callback_data":"t"}]]}}]}`
	require.True(t, post(t, s, "answerInlineQuery", fmt.Sprintf(body, q.ID)).OK)
	done, err := s.WaitForResults(q, wait)
	require.NoError(t, err)
	require.Len(t, done.Results, 1)
	assert.Equal(t, "Ribeye 55.5 °C", done.Results[0].Text)
	assert.Equal(t, 1, done.CacheTime)

	m := s.Choose(done, "r1", elsewhere)
	assert.Equal(t, []string{"inline_query", "chosen_inline_result"}, kinds(t, s))
	cb := s.Press(ann, m, "Thicker")
	assert.NotEmpty(t, cb.InlineID)
	r := post(t, s, "editMessageText", fmt.Sprintf(`{"inline_message_id":%q,"text":"Ribeye 56 °C"}`, cb.InlineID))
	require.True(t, r.OK, r.Description)
	assert.Equal(t, "true", string(r.Result))
	now, ok := s.Message(m)
	require.True(t, ok)
	assert.Equal(t, "Ribeye 56 °C", now.Text)
}

func TestMemoryIsBounded(t *testing.T) {
	s := standin.New(t, func(c *standin.Config) { c.KeepMessages = 10; c.KeepCalls = 10 })
	ann := s.AddUser(standin.User{})
	chat := s.Open(ann)
	for i := range 100 {
		require.True(t, say(t, s, chat, fmt.Sprint("message ", i)).OK)
	}
	assert.Len(t, s.Messages(chat), 10)
	assert.Less(t, len(s.Events(chat)), 20)
	assert.LessOrEqual(t, len(s.Calls("")), 20)
	assert.Equal(t, 100, s.Count("sendMessage"))
	assert.True(t, post(t, s, "editMessageText", fmt.Sprintf(`{"chat_id":%d,"message_id":3,"text":"x"}`, chat.ID())).OK, "forgotten, so accepted")
	assert.Equal(t, "message 99", s.Expect(chat, "message 99").Text, "the reading position survives")
}

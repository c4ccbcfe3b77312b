package standin_test

import (
	"context"
	"fmt"
	"sync/atomic"
	"testing"
	"time"

	"github.com/go-telegram/bot"
	"github.com/go-telegram/bot/models"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"

	"bagwatch/bot/telegram/standin"
)

func TestEditedAndForwardedMessages(t *testing.T) {
	s := standin.New(t)
	ann, ben := s.AddUser(standin.User{FirstName: "Ann"}), s.AddUser(standin.User{FirstName: "Ben"})
	g := s.Group("Quay Street", ann, ben)
	m := s.SendText(ann, g, "/cook ribeye")
	again := s.EditText(m, "/cook flank")
	assert.NotZero(t, again.UpdateID)
	assert.Zero(t, s.EditText(m, "never mind").UpdateID, "an edit is judged by its new text")
	assert.Equal(t, []string{"message", "edited_message"}, kinds(t, s))

	s.SendText(ann, g, "/bags", standin.Anonymous())
	u := updates(t, s, `{}`)
	require.Len(t, u, 1)
	assert.Contains(t, string(u[0]["message"]), `"sender_chat":{"id":`+fmt.Sprint(g.ID()))
	s.SendText(ann, s.Private(ann), "seen this?", standin.Forwarded(ben))
	s.SendLocation(ann, s.Private(ann), standin.Location{Latitude: 59.9, Longitude: 10.7})
	s.Leave(ben, g)
	s.Join(ben, g)
	assert.Equal(t, []string{"message", "message", "message", "message", "message"}, kinds(t, s))
}

func TestAdministrators(t *testing.T) {
	s := standin.New(t)
	ann, ben := s.AddUser(standin.User{FirstName: "Ann"}), s.AddUser(standin.User{FirstName: "Ben"})
	g := s.Group("Quay Street", ann, ben)
	ask := func(method, rest string) reply {
		return post(t, s, method, fmt.Sprintf(`{"chat_id":%d%s}`, g.ID(), rest))
	}

	assert.Contains(t, string(ask("getChatAdministrators", "").Result), `"status":"creator"`)
	assert.NotContains(t, string(ask("getChatAdministrators", "").Result), `"Ben"`)
	s.MakeAdmin(ben, g, standin.Rights{DeleteMessages: true})
	assert.Contains(t, string(ask("getChatAdministrators", "").Result), `"Ben"`)
	assert.Contains(t, string(ask("getChatMember", fmt.Sprintf(`,"user_id":%d`, ben.ID)).Result), `"can_delete_messages":true`)

	m := s.SendText(ann, g, "/cook ribeye")
	assert.Equal(t, "Bad Request: message can't be deleted", ask("deleteMessage", fmt.Sprintf(`,"message_id":%d`, m.ID)).Description)
	assert.Equal(t, 400, ask("pinChatMessage", fmt.Sprintf(`,"message_id":%d`, m.ID)).ErrorCode)
	s.Promote(ann, g, standin.Rights{DeleteMessages: true, PinMessages: true})
	assert.True(t, ask("pinChatMessage", fmt.Sprintf(`,"message_id":%d`, m.ID)).OK)
	assert.Contains(t, string(ask("getChat", "").Result), `"pinned_message"`)
	assert.True(t, ask("deleteMessage", fmt.Sprintf(`,"message_id":%d`, m.ID)).OK)
	s.Demote(ann, g)
	assert.Equal(t, []string{"message", "my_chat_member", "my_chat_member"}, kinds(t, s))
}

func TestDeletionEndsAfter48Hours(t *testing.T) {
	clk := newClock()
	s := standin.New(t, func(c *standin.Config) { c.Now = clk.now })
	chat := s.Open(s.AddUser(standin.User{}))
	say(t, s, chat, "a")
	clk.advance(48 * time.Hour)
	assert.Equal(t, "Bad Request: message can't be deleted for everyone",
		post(t, s, "deleteMessage", fmt.Sprintf(`{"chat_id":%d,"message_id":1}`, chat.ID())).Description)
}

func TestToleratedKindsDoNotFailTheTest(t *testing.T) {
	s := standin.New(t)
	s.Tolerate(standin.NotModified)
	chat := s.Open(s.AddUser(standin.User{}))
	say(t, s, chat, "a")
	assert.Equal(t, 400, post(t, s, "editMessageText", fmt.Sprintf(`{"chat_id":%d,"message_id":1,"text":"a"}`, chat.ID())).ErrorCode)
	assert.Empty(t, s.Violations())
}

func TestSkipSchemaStillKeepsLimits(t *testing.T) {
	w := &witness{TB: t}
	s := standin.New(w, func(c *standin.Config) { c.SkipSchema = true })
	chat := s.Open(s.AddUser(standin.User{}))
	assert.True(t, post(t, s, "sendMessage", fmt.Sprintf(`{"chat_id":%d,"text":"x","txet":"y"}`, chat.ID())).OK)
	assert.Empty(t, w.take())
	assert.False(t, say(t, s, chat, "").OK)
	assert.Len(t, w.take(), 1)
}

func TestEarlyRetriesAreCounted(t *testing.T) {
	s := standin.New(t)
	chat := s.Open(s.AddUser(standin.User{}))
	s.Inject(standin.TooMany("sendMessage", 60, 1))
	assert.Equal(t, 429, say(t, s, chat, "a").ErrorCode)
	assert.True(t, say(t, s, chat, "under way").OK)
	assert.Zero(t, s.EarlyRetries(), "forgiven within 250 ms")
	time.Sleep(300 * time.Millisecond) // past the 250 ms of grace
	assert.True(t, say(t, s, chat, "too early").OK)
	assert.Equal(t, 1, s.EarlyRetries())
}

func TestPollThrottle(t *testing.T) {
	if testing.Short() {
		t.Skip("waits the official 3 s")
	}
	t.Parallel()
	s := standin.New(t, func(c *standin.Config) { c.PollThrottle = true })
	ann := s.AddUser(standin.User{})
	for range 3 {
		s.SendText(ann, s.Private(ann), "x")
	}
	assert.Len(t, updates(t, s, `{}`), 3)
	before := time.Now()
	assert.Len(t, updates(t, s, `{}`), 1, "again within 0.5 s: one update")
	assert.GreaterOrEqual(t, time.Since(before), 3*time.Second)
}

func TestCloseLeavesNothingBehind(t *testing.T) {
	defer goleak.VerifyNone(t, goleak.IgnoreCurrent())
	s, err := standin.Start(standin.Config{})
	require.NoError(t, err)
	b, err := bot.New(s.Token(), bot.WithServerURL(s.URL()), bot.WithErrorsHandler(func(error) {}))
	require.NoError(t, err)
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan struct{})
	go func() { b.Start(ctx); close(done) }()
	require.Eventually(t, s.Polling, wait, time.Millisecond)
	s.Close()
	cancel()
	<-done
}

// 5000 messages of 500 people, each answered: what load tests ask of the stand-in.
func TestFiveThousandMessages(t *testing.T) {
	const people, each = 500, 10
	var answered atomic.Int64
	all := make(chan struct{})
	s := standin.New(t, func(c *standin.Config) {
		c.KeepMessages, c.KeepCalls = 4, -1
		c.OnCall = func(call standin.Call) {
			if call.Method == "sendMessage" && call.Code == 200 && answered.Add(1) == people*each {
				close(all)
			}
		}
	})
	b, err := bot.New(s.Token(), bot.WithServerURL(s.URL()), bot.WithNotAsyncHandlers(), bot.WithWorkers(8),
		bot.WithDefaultHandler(func(ctx context.Context, b *bot.Bot, u *models.Update) {
			if _, err := b.SendMessage(ctx, &bot.SendMessageParams{ChatID: u.Message.Chat.ID, Text: u.Message.Text}); err != nil && ctx.Err() == nil {
				t.Error(err)
			}
		}))
	require.NoError(t, err)
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan struct{})
	go func() { b.Start(ctx); close(done) }()
	var users []*standin.User
	for range people {
		users = append(users, s.AddUser(standin.User{}))
	}
	start := time.Now()
	for i := range each {
		for _, u := range users {
			s.SendText(u, s.Private(u), fmt.Sprint("ribeye ", i))
		}
	}
	select {
	case <-all:
	case <-time.After(time.Minute): // some 3 s are needed
		t.Errorf("%d answered", answered.Load())
	}
	t.Logf("%d messages in %v", people*each, time.Since(start))
	cancel()
	<-done
	assert.LessOrEqual(t, len(s.Messages(s.Private(users[0]))), 4)
}

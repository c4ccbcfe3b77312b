package telegram_test

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/bot"
	"bagwatch/bot/telegram"
	"bagwatch/bot/telegram/standin"
)

func TestEchoByPolling(t *testing.T) {
	s := standin.New(t)
	ann := s.AddUser(standin.User{FirstName: "Ann"})
	chat := s.Private(ann)
	r := run(t, s, telegram.Config{}, echo)
	m := s.SendText(ann, chat, "ribeye <b>450</b> g & more")
	got := s.Expect(chat, "ribeye <b>450</b> g & more")
	assert.Equal(t, m.ID, got.ReplyTo)
	assert.Empty(t, got.Entities)
	require.NoError(t, r.stop())
	assert.Zero(t, s.Pending(), "what was handled is confirmed at the stop")
}

func TestOneChatInOrderAndChatsInParallel(t *testing.T) {
	s := standin.New(t)
	var users []*standin.User
	for i := range 6 {
		u := s.AddUser(standin.User{FirstName: fmt.Sprint("Cook", i)})
		s.Open(u)
		users = append(users, u)
	}
	for n := range 10 { // all is there before the bot starts
		for _, u := range users {
			s.SendText(u, s.Private(u), fmt.Sprint(n))
		}
	}
	var now, most atomic.Int32
	var mu sync.Mutex
	got := map[bot.ChatID][]string{}
	done := make(chan struct{}, 100)
	run(t, s, telegram.Config{}, func(*telegram.Adapter) handlerFunc {
		return func(_ context.Context, in bot.Incoming) error {
			n := now.Add(1)
			for old := most.Load(); n > old && !most.CompareAndSwap(old, n); old = most.Load() {
			}
			time.Sleep(5 * time.Millisecond)
			now.Add(-1)
			mu.Lock()
			got[in.Chat.ID] = append(got[in.Chat.ID], in.Text)
			mu.Unlock()
			done <- struct{}{}
			return nil
		}
	})
	for range 60 {
		select {
		case <-done:
		case <-time.After(patience):
			t.Fatal("not all came")
		}
	}
	mu.Lock()
	defer mu.Unlock()
	for chat, texts := range got {
		assert.Equal(t, []string{"0", "1", "2", "3", "4", "5", "6", "7", "8", "9"}, texts, "chat %d", chat)
	}
	assert.Greater(t, most.Load(), int32(1), "chats wait for each other")
	assert.LessOrEqual(t, most.Load(), int32(8), "more than the bound at a time")
}

// cuttable is a network that can be cut for good, as by a kill.
type cuttable struct {
	http.Transport
	cut atomic.Bool
}

func (c *cuttable) RoundTrip(r *http.Request) (*http.Response, error) {
	if c.cut.Load() {
		return nil, errors.New("cut")
	}
	return c.Transport.RoundTrip(r)
}

// A process that is killed cannot confirm. The next one gets what was not confirmed: everything that
// was not handled, and at most what was in flight of what was.
func TestNothingIsLostInAKillAndRepeatsAreBounded(t *testing.T) {
	const messages, kills = 300, 12
	s := standin.New(t, func(c *standin.Config) { c.SkipSchema = true })
	users := make([]*standin.User, 10)
	for i := range users {
		users[i] = s.AddUser(standin.User{FirstName: fmt.Sprint("Cook", i)})
		s.Open(users[i])
	}
	for n := range messages {
		u := users[n%len(users)]
		s.SendText(u, s.Private(u), fmt.Sprint("message ", n))
	}
	var mu sync.Mutex
	seen := map[string]int{}
	total := 0
	worst := 0
	for kill := 0; kill <= kills; kill++ {
		wire := &cuttable{}
		enough := make(chan struct{})
		once := sync.OnceFunc(func() { close(enough) })
		fresh, repeats := 0, 0
		r := run(t, s, telegram.Config{Transport: wire}, func(*telegram.Adapter) handlerFunc {
			return func(_ context.Context, in bot.Incoming) error {
				time.Sleep(time.Millisecond)
				mu.Lock()
				defer mu.Unlock()
				if wire.cut.Load() { // dead: this did not happen
					return nil
				}
				key := fmt.Sprint(in.Chat.ID, " ", in.Key)
				if seen[key] > 0 {
					repeats++
				} else {
					fresh++
				}
				seen[key]++
				total++
				if fresh >= 20 && kill < kills || len(seen) == messages {
					if kill < kills {
						wire.cut.Store(true)
					}
					once()
				}
				return nil
			}
		})
		select {
		case <-enough:
		case <-time.After(patience):
			t.Fatal("nothing comes any more")
		}
		require.NoError(t, r.stop())
		worst = max(worst, repeats)
	}
	assert.Len(t, seen, messages, "messages were lost")
	assert.LessOrEqual(t, worst, 8, "one kill repeated more than what was in flight")
	t.Logf("%d messages, %d kills, %d handled again, at most %d in one", messages, kills, total-messages, worst)
}

func TestStopFinishesWhatIsInHandAndLeavesTheRest(t *testing.T) {
	s := standin.New(t)
	ann, ben := s.AddUser(standin.User{FirstName: "Ann"}), s.AddUser(standin.User{FirstName: "Ben"})
	s.Open(ann)
	s.Open(ben)
	s.SendText(ann, s.Private(ann), "one")
	s.SendText(ann, s.Private(ann), "two")
	s.SendText(ben, s.Private(ben), "three")
	began, release := make(chan struct{}, 3), make(chan struct{})
	r := run(t, s, telegram.Config{}, func(a *telegram.Adapter) handlerFunc {
		return func(ctx context.Context, in bot.Incoming) error {
			began <- struct{}{}
			<-release
			return echo(a)(ctx, in)
		}
	})
	<-began
	<-began // "one" and "three" are in hand, "two" waits behind "one"
	stopped := make(chan error)
	go func() { stopped <- r.stop() }()
	time.Sleep(20 * time.Millisecond) // the stop arrives while they are in hand
	close(release)
	require.NoError(t, <-stopped)
	s.Expect(s.Private(ann), "one")
	s.Expect(s.Private(ben), "three")
	// "one" is confirmed; "two" was not begun; "three" lies behind it and will come again.
	assert.Equal(t, 2, s.Pending())
}

func TestGraceEndsHandlersThatHang(t *testing.T) {
	s := standin.New(t)
	ann := s.AddUser(standin.User{FirstName: "Ann"})
	began := make(chan struct{})
	r := run(t, s, telegram.Config{Grace: 50 * time.Millisecond}, func(*telegram.Adapter) handlerFunc {
		return func(ctx context.Context, _ bot.Incoming) error {
			close(began)
			<-ctx.Done()
			return ctx.Err()
		}
	})
	s.SendText(ann, s.Private(ann), "hang")
	<-began
	at := time.Now()
	require.NoError(t, r.stop())
	assert.Less(t, time.Since(at), 2*time.Second, "the grace is 50 ms; the rest is slack for a busy machine")
	assert.Equal(t, 1, s.Pending(), "what was aborted comes again")
}

func TestAnUndecodableUpdateIsSkipped(t *testing.T) {
	s := standin.New(t)
	ann := s.AddUser(standin.User{FirstName: "Ann"})
	chat := s.Private(ann)
	r := run(t, s, telegram.Config{}, echo)
	s.EnqueueRaw(1, `"my_chat_member":{"chat":{"id":1,"type":"private"},"from":{"id":1,"is_bot":false,"first_name":"X"},"date":1,"old_chat_member":{"status":"gatekeeper"},"new_chat_member":{"status":"member"}}`)
	s.EnqueueRaw(1, `"guest_message":{"message_id":1}`) // a kind newer than the library
	s.EnqueueRaw(1, `"message":{"message_id":"seven"}`)
	s.SendText(ann, chat, "still there")
	s.Expect(chat, "still there")
	assert.Equal(t, int64(2), r.Counts().Skipped)
	assert.Equal(t, int64(1), r.Counts().Ignored)
	assert.NotContains(t, r.log.String(), "gatekeeper")
}

func TestAStuckChatDoesNotHoldUpTheOthers(t *testing.T) {
	s := standin.New(t)
	slow, quick := s.AddUser(standin.User{FirstName: "Slow"}), s.AddUser(standin.User{FirstName: "Quick"})
	chat := s.Private(quick)
	s.Open(slow)
	release := make(chan struct{})
	run(t, s, telegram.Config{InFlight: 4}, func(a *telegram.Adapter) handlerFunc {
		return func(ctx context.Context, in bot.Incoming) error {
			if in.From.Name == "Slow" {
				<-release
			}
			return echo(a)(ctx, in)
		}
	})
	s.SendText(slow, s.Private(slow), "wait for me")
	for i := range 12 { // three windows' worth
		s.SendText(quick, chat, fmt.Sprint("quick ", i))
	}
	s.Expect(chat, "quick 11")
	close(release)
	s.Expect(s.Private(slow), "wait for me")
	require.Eventually(t, func() bool { return s.Pending() == 0 }, patience, 10*time.Millisecond)
}

func TestDuplicatesInOneWindowAreHandledOnce(t *testing.T) {
	s := standin.New(t)
	ann := s.AddUser(standin.User{FirstName: "Ann"})
	s.Open(ann)
	s.DuplicateNext(3)
	for i := range 3 {
		s.SendText(ann, s.Private(ann), fmt.Sprint(i))
	}
	var rec recorder
	run(t, s, telegram.Config{}, rec.handler)
	rec.wait(t, 3)
	require.Eventually(t, func() bool { return s.Pending() == 0 }, patience, 2*time.Millisecond)
	assert.Len(t, rec.all(), 3)
}

func TestPollingBacksOff(t *testing.T) {
	for name, f := range map[string]standin.Fault{
		"told to wait":       standin.TooMany("getUpdates", 1, 1),
		"server error":       {Method: "getUpdates", Code: 500, Times: 1},
		"a proxy's page":     standin.BadGateway("getUpdates", 1),
		"cut connection":     {Method: "getUpdates", Cut: standin.CutBefore},
		"cut with the batch": {Method: "getUpdates", Cut: standin.CutAfter},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			s := standin.New(t)
			ann := s.AddUser(standin.User{FirstName: "Ann"})
			chat := s.Private(ann)
			s.Inject(f)
			s.SendText(ann, chat, "hello")
			a, err := telegram.New(s.Token(), telegram.Config{APIURL: s.URL()})
			require.NoError(t, err)
			ctx, cancel := context.WithCancel(context.Background())
			done := make(chan error)
			began := time.Now()
			go func() { done <- a.Run(ctx, echo(a)) }()
			s.Expect(chat, "hello")
			least := 500 * time.Millisecond
			if f.Code == 429 {
				least = time.Second
			}
			assert.GreaterOrEqual(t, time.Since(began), least, "it polls again without a pause")
			cancel()
			require.NoError(t, <-done)
		})
	}
}

func TestARefusedTokenEndsRun(t *testing.T) {
	t.Run("at the start", func(t *testing.T) {
		s := standin.New(t)
		a, err := telegram.New("4242424242:AAWrongTokenForTestsOnly-00000000000", telegram.Config{APIURL: s.URL()})
		require.NoError(t, err)
		err = a.Run(context.Background(), echo(a))
		require.ErrorIs(t, err, telegram.ErrToken)
		assert.NotContains(t, err.Error(), "AAWrong")
	})
	t.Run("while polling", func(t *testing.T) {
		s := standin.New(t)
		a, err := telegram.New(s.Token(), telegram.Config{APIURL: s.URL()})
		require.NoError(t, err)
		done := make(chan error)
		go func() { done <- a.Run(context.Background(), echo(a)) }()
		require.Eventually(t, s.Polling, patience, time.Millisecond)
		s.Revoke()
		require.ErrorIs(t, <-done, telegram.ErrToken)
	})
}

func TestTheStartWaitsForAServerThatIsAway(t *testing.T) {
	s := standin.New(t)
	s.Inject(standin.BadGateway("getMe", 1))
	ann := s.AddUser(standin.User{FirstName: "Ann"})
	r := run(t, s, telegram.Config{}, echo)
	s.SendText(ann, s.Private(ann), "late")
	s.Expect(s.Private(ann), "late")
	assert.Contains(t, r.log.String(), "trying again")
	assert.Equal(t, standin.DefaultUsername, r.Username())
}

func TestAWebhookLeftBehindIsRemoved(t *testing.T) {
	s := standin.New(t)
	hook, err := telegram.New(s.Token(), telegram.Config{APIURL: s.URL(), WebhookURL: "http://127.0.0.1:1/x", WebhookSecret: "s"})
	require.NoError(t, err)
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error)
	go func() { done <- hook.Run(ctx, echo(hook)) }()
	require.Eventually(t, func() bool { return s.Count("setWebhook") == 1 }, patience, time.Millisecond)
	cancel()
	require.NoError(t, <-done)
	ann := s.AddUser(standin.User{FirstName: "Ann"})
	run(t, s, telegram.Config{}, echo)
	s.SendText(ann, s.Private(ann), "by polling")
	s.Expect(s.Private(ann), "by polling")
}

func TestASecondPollerStandsBy(t *testing.T) {
	s := standin.New(t)
	first := run(t, s, telegram.Config{}, echo)
	first.ready(s)
	second := run(t, s, telegram.Config{}, echo)
	require.Eventually(t, func() bool {
		return strings.Contains(first.log.String()+second.log.String(), "standing by")
	}, patience, 5*time.Millisecond)
	calls := s.Count("getUpdates")
	time.Sleep(300 * time.Millisecond)
	assert.LessOrEqual(t, s.Count("getUpdates")-calls, 1, "they take turns without a pause")
	ann := s.AddUser(standin.User{FirstName: "Ann"})
	s.SendText(ann, s.Private(ann), "one of you")
	s.Expect(s.Private(ann), "one of you")
}

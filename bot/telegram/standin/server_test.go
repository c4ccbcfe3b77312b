package standin_test

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/go-telegram/bot"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/bot/telegram/standin"
)

func TestTokenAndPaths(t *testing.T) {
	w := &witness{TB: t}
	s := standin.New(w)
	get := func(path string) (int, string) {
		resp, err := http.Get(s.URL() + path)
		require.NoError(t, err)
		defer resp.Body.Close()
		body, err := io.ReadAll(resp.Body)
		require.NoError(t, err)
		return resp.StatusCode, strings.TrimSpace(string(body))
	}
	code, body := get("/bot" + s.Token() + "/getMe")
	assert.Equal(t, 200, code, body)
	code, body = get("/bot1:AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA/getMe")
	assert.Equal(t, 401, code)
	assert.JSONEq(t, `{"ok":false,"error_code":401,"description":"Unauthorized"}`, body)
	code, _ = get("/botx/getMe")
	assert.Equal(t, 404, code)
	assert.Empty(t, w.take())
	code, _ = get("/")
	assert.Equal(t, 404, code)
	assert.Len(t, w.take(), 1)
	s.Revoke()
	code, _ = get("/bot" + s.Token() + "/getMe")
	assert.Equal(t, 401, code)
}

func TestStartRefusesWhatIsNotLoopback(t *testing.T) {
	_, err := standin.Start(standin.Config{Addr: "0.0.0.0:0"})
	require.ErrorContains(t, err, "not loopback")
	s, err := standin.Start(standin.Config{})
	require.NoError(t, err)
	defer s.Close()
	resp, err := http.Post(s.URL()+"/bot"+s.Token()+"/sendMessage", "application/x-www-form-urlencoded", strings.NewReader("chat_id=5&text=x"))
	require.NoError(t, err)
	resp.Body.Close()
	require.Len(t, s.Violations(), 1)
	assert.Equal(t, standin.UnknownChat, s.Violations()[0].Kind)
}

func TestGetUpdatesConfirmsByOffset(t *testing.T) {
	clk := newClock()
	s := standin.New(t, func(c *standin.Config) { c.Now = clk.now; c.FirstUpdateID = 100 })
	ann := s.AddUser(standin.User{})
	chat := s.Private(ann)
	for i := range 5 {
		assert.Equal(t, 100+i, s.SendText(ann, chat, fmt.Sprint(i)).UpdateID)
	}
	assert.Len(t, updates(t, s, `{"limit":2}`), 2)
	assert.Len(t, updates(t, s, `{}`), 5, "unconfirmed ones come again")
	assert.Len(t, updates(t, s, `{"offset":102}`), 3)
	assert.Len(t, updates(t, s, `{}`), 3)
	assert.Len(t, updates(t, s, `{"offset":-1}`), 1, "a negative offset forgets all before")
	assert.Equal(t, 1, s.Pending())
	clk.advance(24 * time.Hour)
	assert.Zero(t, s.Pending(), "kept 24 hours")

	assert.Empty(t, updates(t, s, `{"allowed_updates":["callback_query"]}`))
	assert.Zero(t, s.SendText(ann, chat, "not asked for").UpdateID)
	updates(t, s, `{"offset":1}`)
	assert.Zero(t, s.SendText(ann, chat, "the setting is remembered").UpdateID)
	updates(t, s, `{"allowed_updates":[]}`)
	assert.NotZero(t, s.SendText(ann, chat, "default again").UpdateID)
}

func TestLongPollWaitsAndOnlyOnePolls(t *testing.T) {
	s := standin.New(t)
	ann := s.AddUser(standin.User{})
	first := make(chan reply, 1)
	go func() { first <- post(t, s, "getUpdates", `{"timeout":50}`) }()
	require.Eventually(t, func() bool { return s.Polling() }, wait, time.Millisecond)
	second := make(chan reply, 1)
	go func() { second <- post(t, s, "getUpdates", `{"timeout":50}`) }()
	r := <-first
	assert.Equal(t, 409, r.ErrorCode)
	assert.Equal(t, "Conflict: terminated by other getUpdates request; make sure that only one bot instance is running", r.Description)
	s.SendText(ann, s.Private(ann), "hello")
	r = <-second
	require.True(t, r.OK)
	assert.Contains(t, string(r.Result), "hello")
}

// hook is a bot's webhook that tests script.
type hook struct {
	*httptest.Server
	mu     sync.Mutex
	got    []string // "chat text"
	secret []string
	fail   int // how many to refuse
}

func newHook(t *testing.T) *hook {
	h := &hook{}
	h.Server = httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		var u struct {
			Message struct {
				Text string
				Chat struct{ ID int64 }
			}
		}
		if err := json.NewDecoder(r.Body).Decode(&u); err != nil {
			t.Error(err)
		}
		h.mu.Lock()
		defer h.mu.Unlock()
		h.secret = append(h.secret, r.Header.Get("X-Telegram-Bot-Api-Secret-Token"))
		if h.fail > 0 {
			h.fail--
			w.Header().Set("Retry-After", "0")
			w.WriteHeader(http.StatusServiceUnavailable)
			return
		}
		h.got = append(h.got, fmt.Sprint(u.Message.Chat.ID, " ", u.Message.Text))
		if u.Message.Text == "call" {
			w.Header().Set("Content-Type", "application/json")
			fmt.Fprintf(w, `{"method":"sendMessage","chat_id":%d,"text":"answered"}`, u.Message.Chat.ID)
		}
	}))
	t.Cleanup(h.Close)
	return h
}

func (h *hook) seen(chat *standin.Chat) []string {
	h.mu.Lock()
	defer h.mu.Unlock()
	var out []string
	for _, g := range h.got {
		if text, ok := strings.CutPrefix(g, fmt.Sprint(chat.ID(), " ")); ok {
			out = append(out, text)
		}
	}
	return out
}

func TestWebhookKeepsOrderAndTriesAgain(t *testing.T) {
	s := standin.New(t, func(c *standin.Config) { c.WebhookBackoff = 5 * time.Millisecond })
	h := newHook(t)
	ann, ben := s.AddUser(standin.User{}), s.AddUser(standin.User{})
	s.SendText(ann, s.Private(ann), "before") // waits for the webhook
	h.fail = 3
	require.True(t, post(t, s, "setWebhook", fmt.Sprintf(`{"url":%q,"secret_token":"hush-1","max_connections":2}`, h.URL+"/hook")).OK)
	assert.Equal(t, 409, post(t, s, "getUpdates", `{}`).ErrorCode)
	want := []string{"before"}
	for i := range 20 {
		s.SendText(ann, s.Private(ann), fmt.Sprint(i))
		s.SendText(ben, s.Private(ben), fmt.Sprint(i))
		want = append(want, fmt.Sprint(i))
	}
	require.Eventually(t, func() bool { return s.Pending() == 0 }, wait, time.Millisecond)
	assert.Equal(t, want, h.seen(s.Private(ann)))
	assert.Equal(t, want[1:], h.seen(s.Private(ben)))
	ok, refused := s.Deliveries()
	assert.Equal(t, 41, ok)
	assert.Equal(t, 3, refused)
	for _, secret := range h.secret {
		assert.Equal(t, "hush-1", secret)
	}

	s.DuplicateNext(1)
	s.SendText(ann, s.Private(ann), "twice")
	s.SendText(ann, s.Private(ann), "call")
	s.Expect(s.Private(ann), "answered")
	assert.Equal(t, append(want, "twice", "twice", "call"), h.seen(s.Private(ann)))

	require.True(t, post(t, s, "deleteWebhook", `{}`).OK)
	s.SendText(ann, s.Private(ann), "polled")
	assert.Len(t, updates(t, s, `{}`), 1)
}

func TestFaults(t *testing.T) {
	s := standin.New(t)
	b := client(t, s)
	ctx := context.Background()
	ann := s.AddUser(standin.User{})
	chat := s.Open(ann)
	send := func(text string) error {
		_, err := b.SendMessage(ctx, &bot.SendMessageParams{ChatID: chat.ID(), Text: text})
		return err
	}

	s.Inject(standin.TooMany("sendMessage", 7, 1))
	var slow *bot.TooManyRequestsError
	require.ErrorAs(t, send("a"), &slow)
	assert.Equal(t, 7, slow.RetryAfter)
	s.Inject(standin.TooMany("sendMessage", 7, 1))
	assert.Equal(t, "7", say(t, s, chat, "a").header.Get("Retry-After"))
	require.NoError(t, send("a"))
	assert.Equal(t, 2, s.RateRefusals())

	s.Inject(standin.BadGateway("", 1))
	require.ErrorContains(t, send("b"), "502 Bad Gateway")
	s.Inject(standin.Fault{Method: "sendMessage", Code: 500})
	require.ErrorContains(t, send("b"), "Internal Server Error")
	assert.Len(t, s.Messages(chat), 1)

	s.Inject(standin.Fault{Cut: standin.CutBefore})
	require.ErrorIs(t, send("c"), io.EOF)
	assert.Len(t, s.Messages(chat), 1, "cut before: not carried out")
	s.Inject(standin.Fault{Cut: standin.CutAfter})
	require.ErrorIs(t, send("d"), io.EOF)
	assert.Len(t, s.Messages(chat), 2, "cut after: carried out")

	remove := s.Inject(standin.Fault{Times: -1, Skip: 1, Delay: time.Hour, Chat: chat.ID()})
	require.NoError(t, send("e"))
	short, cancel := context.WithTimeout(ctx, 20*time.Millisecond)
	defer cancel()
	_, err := b.SendMessage(short, &bot.SendMessageParams{ChatID: chat.ID(), Text: "f"})
	require.True(t, errors.Is(err, context.DeadlineExceeded), "%v", err)
	remove()
	require.NoError(t, send("g"))
}

func TestRates(t *testing.T) {
	clk := newClock()
	s := standin.New(t, func(c *standin.Config) { c.Now = clk.now; c.Rates = standin.OfficialRates() })
	ann := s.AddUser(standin.User{})
	chat, group := s.Open(ann), s.Group("Quay Street", ann)
	assert.True(t, say(t, s, chat, "1").OK)
	r := say(t, s, chat, "2")
	assert.Equal(t, 429, r.ErrorCode)
	assert.Equal(t, "Too Many Requests: retry after 1", r.Description)
	assert.Equal(t, 1, r.Parameters.RetryAfter)
	assert.True(t, say(t, s, group, "another chat").OK)
	clk.advance(time.Second)
	assert.True(t, say(t, s, chat, "2").OK)
	for range 19 {
		clk.advance(time.Second)
		assert.True(t, say(t, s, group, "x").OK)
	}
	clk.advance(time.Second)
	r = say(t, s, group, "21st in a minute")
	assert.Equal(t, 429, r.ErrorCode)
	assert.Equal(t, 39, r.Parameters.RetryAfter, "the first was 21 s ago")
	for range 30 {
		assert.True(t, say(t, s, s.Open(s.AddUser(standin.User{})), "x").OK)
	}
	assert.Equal(t, 429, say(t, s, chat, "31st in a second").ErrorCode)
	assert.Equal(t, 3, s.RateRefusals())
}

func TestUndecodableUpdate(t *testing.T) {
	s := standin.New(t)
	s.EnqueueRaw(1, `"message":{"chat":"no object"}`)
	u := updates(t, s, `{}`)
	require.Len(t, u, 1)
	assert.JSONEq(t, `{"chat":"no object"}`, string(u[0]["message"]))
}

func BenchmarkSendMessage(b *testing.B) {
	for _, skip := range []bool{false, true} {
		b.Run(fmt.Sprintf("skip=%t", skip), func(b *testing.B) {
			s, err := standin.Start(standin.Config{SkipSchema: skip})
			require.NoError(b, err)
			defer s.Close()
			chat := s.Open(s.AddUser(standin.User{}))
			body := fmt.Sprintf(`{"chat_id":%d,"parse_mode":"HTML","text":"<b>Ribeye</b>, medium rare: water at 55.5 °C","reply_markup":{"inline_keyboard":[[{"text":"Start","callback_data":"s"},{"text":"Thicker","callback_data":"t"}]]}}`, chat.ID())
			for b.Loop() {
				resp, err := http.Post(s.URL()+"/bot"+s.Token()+"/sendMessage", "application/json", strings.NewReader(body))
				require.NoError(b, err)
				_, err = io.Copy(io.Discard, resp.Body)
				require.NoError(b, err)
				resp.Body.Close()
			}
		})
	}
}

package telegram_test

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/http"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/bot"
	"bagwatch/bot/telegram"
	"bagwatch/bot/telegram/standin"
)

const secret = "Quay-Street_1"

// hooked starts a bot in webhook mode.
func hooked(t *testing.T, s *standin.Server, cfg telegram.Config, handle func(*telegram.Adapter) handlerFunc) (r *running, address string) {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	address = "http://" + l.Addr().String()
	cfg.Listener, cfg.WebhookURL, cfg.WebhookSecret = l, address+"/hook", secret
	r = run(t, s, cfg, handle)
	require.Eventually(t, func() bool { return s.Count("setWebhook") > 0 }, patience, time.Millisecond)
	return r, address
}

// quickRetry makes the stand-in try deliveries again soon.
func quickRetry(c *standin.Config) { c.WebhookBackoff = 20 * time.Millisecond }

func post(t *testing.T, url, token, body string) *http.Response {
	t.Helper()
	req, err := http.NewRequest(http.MethodPost, url, strings.NewReader(body))
	require.NoError(t, err)
	if token != "" {
		req.Header.Set("X-Telegram-Bot-Api-Secret-Token", token)
	}
	client := &http.Client{Transport: &http.Transport{DisableKeepAlives: true}}
	resp, err := client.Do(req)
	require.NoError(t, err)
	require.NoError(t, resp.Body.Close())
	return resp
}

func TestEchoByWebhook(t *testing.T) {
	s := standin.New(t)
	ann := s.AddUser(standin.User{FirstName: "Ann"})
	r, address := hooked(t, s, telegram.Config{}, echo)
	for i := range 20 {
		s.SendText(ann, s.Private(ann), fmt.Sprint("message ", i))
	}
	for i := range 20 {
		assert.Equal(t, fmt.Sprint("message ", i), s.Expect(s.Private(ann), "message").Text, "in order")
	}
	assert.Equal(t, http.StatusOK, get(t, address+"/healthz").StatusCode)
	assert.Equal(t, http.StatusOK, get(t, address+"/readyz").StatusCode)
	require.NoError(t, r.stop())
	require.Eventually(t, func() bool { done, _ := s.Deliveries(); return done == 20 }, patience, time.Millisecond)
	_, refused := s.Deliveries()
	assert.Zero(t, refused)
}

func TestWhoMayDeliver(t *testing.T) {
	s := standin.New(t)
	var rec recorder
	r, address := hooked(t, s, telegram.Config{}, rec.handler)
	const update = `{"update_id":5,"message":{"message_id":1,"date":1,"from":{"id":7,"is_bot":false,"first_name":"A"},"chat":{"id":7,"type":"private"},"text":"hi"}}`
	for name, tt := range map[string]struct {
		secret, body string
		want         int
	}{
		"no secret":           {"", update, 401},
		"a wrong secret":      {"Quay-Street_2", update, 401},
		"a part of it":        {"Quay", update, 401},
		"no JSON":             {secret, "hello", 400},
		"no update":           {secret, "{}", 400},
		"too much":            {secret, `{"update_id":5,"x":"` + strings.Repeat("x", 2<<20) + `"}`, 413},
		"an unknown kind":     {secret, `{"update_id":6,"telepathy":{}}`, 200},
		"an undecodable kind": {secret, `{"update_id":7,"message":{"message_id":"x"}}`, 200},
	} {
		assert.Equal(t, tt.want, post(t, address+"/hook", tt.secret, tt.body).StatusCode, name)
	}
	assert.Empty(t, rec.all())
	assert.Equal(t, 405, get(t, address+"/hook").StatusCode)
	assert.Equal(t, 404, get(t, address+"/other").StatusCode)
	assert.Equal(t, 200, post(t, address+"/hook", secret, update).StatusCode)
	assert.Len(t, rec.all(), 1)
	assert.Equal(t, int64(3), r.Counts().Strangers)
	assert.Equal(t, int64(1), r.Counts().Skipped)
	assert.NotContains(t, r.log.String(), secret)
}

func TestTheWebhookAcknowledgesWhatIsHandled(t *testing.T) {
	s := standin.New(t, quickRetry)
	ann := s.AddUser(standin.User{FirstName: "Ann"})
	release := make(chan struct{})
	hooked(t, s, telegram.Config{}, func(*telegram.Adapter) handlerFunc {
		return func(context.Context, bot.Incoming) error { <-release; return nil }
	})
	s.SendText(ann, s.Private(ann), "slow")
	time.Sleep(50 * time.Millisecond)
	done, _ := s.Deliveries()
	assert.Zero(t, done, "acknowledged before it was handled")
	close(release)
	require.Eventually(t, func() bool { done, _ := s.Deliveries(); return done == 1 }, patience, time.Millisecond)
}

var errStoreDown = errors.New("store is down")

func isDown(err error) bool { return errors.Is(err, errStoreDown) }

func TestLaterOverWebhook(t *testing.T) {
	s := standin.New(t, quickRetry)
	ann := s.AddUser(standin.User{FirstName: "Ann"})
	var tries atomic.Int32
	_, address := hooked(t, s, telegram.Config{Later: isDown}, func(a *telegram.Adapter) handlerFunc {
		return func(ctx context.Context, in bot.Incoming) error {
			if in.Text == "try" || tries.Add(1) == 1 {
				return errStoreDown
			}
			return echo(a)(ctx, in)
		}
	})
	resp := post(t, address+"/hook", secret, `{"update_id":5,"message":{"message_id":1,"date":1,"from":{"id":7,"is_bot":false,"first_name":"A"},"chat":{"id":7,"type":"private"},"text":"try"}}`)
	assert.Equal(t, http.StatusServiceUnavailable, resp.StatusCode)
	assert.Equal(t, "5", resp.Header.Get("Retry-After"))
	s.SendText(ann, s.Private(ann), "again")
	e, err := s.Next(s.Private(ann), 8*time.Second) // it comes again after the 5 s asked for
	require.NoError(t, err)
	assert.Equal(t, "again", e.Message.Text)
}

func TestLaterOverPolling(t *testing.T) {
	s := standin.New(t)
	ann := s.AddUser(standin.User{FirstName: "Ann"})
	var tries atomic.Int32
	run(t, s, telegram.Config{Later: isDown}, func(a *telegram.Adapter) handlerFunc {
		return func(ctx context.Context, in bot.Incoming) error {
			if tries.Add(1) == 1 {
				return fmt.Errorf("save: %w", errStoreDown)
			}
			return echo(a)(ctx, in)
		}
	})
	s.SendText(ann, s.Private(ann), "one")
	s.SendText(ann, s.Private(ann), "two")
	assert.Equal(t, "one", s.Expect(s.Private(ann), "").Text, "the chat's order holds")
	assert.Equal(t, "two", s.Expect(s.Private(ann), "").Text)
}

func TestAStopWithTheStoreDownLosesNothing(t *testing.T) {
	s := standin.New(t)
	ann := s.AddUser(standin.User{FirstName: "Ann"})
	began := make(chan struct{}, 1)
	r := run(t, s, telegram.Config{Later: isDown}, func(*telegram.Adapter) handlerFunc {
		return func(context.Context, bot.Incoming) error {
			select {
			case began <- struct{}{}:
			default:
			}
			return errStoreDown
		}
	})
	s.SendText(ann, s.Private(ann), "keep me")
	<-began
	require.NoError(t, r.stop())
	assert.Equal(t, 1, s.Pending())
}

func TestSettingsThatAreRefused(t *testing.T) {
	const token = standin.DefaultToken
	for name, tt := range map[string]struct {
		token string
		cfg   telegram.Config
		want  string
	}{
		"no token":                         {"", telegram.Config{}, "token"},
		"a token with an address in it":    {"1:a/b", telegram.Config{}, "token"},
		"plain http to a far server":       {token, telegram.Config{APIURL: "http://api.example"}, "https"},
		"a webhook without a secret":       {token, telegram.Config{WebhookURL: "https://q.example/h"}, "secret"},
		"a webhook over plain http":        {token, telegram.Config{WebhookURL: "http://q.example/h", WebhookSecret: secret}, "https"},
		"a secret the platform refuses":    {token, telegram.Config{WebhookURL: "https://q.example/h", WebhookSecret: "a b"}, "secret"},
		"more in flight than a poll gives": {token, telegram.Config{InFlight: 200}, "in flight"},
	} {
		_, err := telegram.New(tt.token, tt.cfg)
		require.ErrorIs(t, err, telegram.ErrConfig, name)
		require.ErrorContains(t, err, tt.want, name)
	}
}

func TestAWebhookAddressThePlatformRefuses(t *testing.T) {
	s := standin.New(t)
	s.Inject(standin.Fault{Method: "setWebhook", Code: 400, Text: "Bad Request: bad webhook: Failed to resolve host"})
	a, err := telegram.New(s.Token(), telegram.Config{APIURL: s.URL(), WebhookURL: "http://127.0.0.1:1/x", WebhookSecret: secret})
	require.NoError(t, err)
	err = a.Run(t.Context(), echo(a))
	require.ErrorIs(t, err, telegram.ErrConfig)
	require.ErrorContains(t, err, "Failed to resolve host")
}

func TestReadiness(t *testing.T) {
	s := standin.New(t)
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	var down atomic.Bool
	remove := s.Inject(standin.Fault{Method: "getMe", Code: 500, Times: -1})
	run(t, s, telegram.Config{Listener: l, Ready: func(context.Context) error {
		if down.Load() {
			return errStoreDown
		}
		return nil
	}}, echo)
	address := "http://" + l.Addr().String()
	assert.Equal(t, 200, get(t, address+"/healthz").StatusCode, "it lives")
	assert.Equal(t, 503, get(t, address+"/readyz").StatusCode, "and waits for the platform")
	remove()
	require.Eventually(t, func() bool { return get(t, address+"/readyz").StatusCode == 200 }, patience, 50*time.Millisecond)
	down.Store(true)
	assert.Equal(t, 503, get(t, address+"/readyz").StatusCode)
	assert.Equal(t, 404, get(t, address+"/hook").StatusCode, "no webhook when polling")
}

package telegram_test

import (
	"bytes"
	"context"
	"log/slog"
	"net/http"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"

	"bagwatch/bot"
	"bagwatch/bot/telegram"
	"bagwatch/bot/telegram/standin"
	"bagwatch/internal/reply"
)

// patience bounds what a test waits for; a working bot needs milliseconds.
const patience = 10 * time.Second

// handlerFunc is a Handler.
type handlerFunc func(context.Context, bot.Incoming) error

func (f handlerFunc) Handle(ctx context.Context, in bot.Incoming) error { return f(ctx, in) }

// running is an adapter that runs.
type running struct {
	*telegram.Adapter
	t    *testing.T
	stop func() error // ends Run and gives its error; may be called twice
	log  *safeBuffer
}

// safeBuffer is a log that several write to.
type safeBuffer struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (s *safeBuffer) Write(p []byte) (int, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.b.Write(p)
}

func (s *safeBuffer) String() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.b.String()
}

// run starts an adapter on a stand-in and stops it when the test ends: in order, leaving no goroutine
// and no token in the log.
func run(t *testing.T, s *standin.Server, cfg telegram.Config, handle func(a *telegram.Adapter) handlerFunc) *running {
	t.Helper()
	before := goleak.IgnoreCurrent()
	out := &safeBuffer{}
	cfg.APIURL = s.URL()
	if cfg.Log == nil {
		cfg.Log = slog.New(slog.NewTextHandler(out, &slog.HandlerOptions{Level: slog.LevelDebug}))
	}
	a, err := telegram.New(s.Token(), cfg)
	require.NoError(t, err)
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() { done <- a.Run(ctx, handle(a)) }()
	r := &running{Adapter: a, t: t, log: out}
	r.stop = sync.OnceValue(func() error {
		cancel()
		select {
		case err := <-done:
			return err
		case <-time.After(15 * time.Second):
			t.Error("Run does not end")
			return nil
		}
	})
	t.Cleanup(func() {
		_ = r.stop() // a test that cares has looked
		goleak.VerifyNone(t, before)
		assert.NotContains(t, out.String(), s.Token()[strings.IndexByte(s.Token(), ':')+1:], "the token is in the log")
		if t.Failed() {
			t.Log(out.String())
		}
	})
	return r
}

// ready waits until the bot polls.
func (r *running) ready(s *standin.Server) {
	r.t.Helper()
	require.Eventually(r.t, s.Polling, patience, 2*time.Millisecond, "no poll comes")
}

// echo answers each text with itself.
func echo(a *telegram.Adapter) handlerFunc {
	return func(ctx context.Context, in bot.Incoming) error {
		if in.Kind != bot.Text {
			return nil
		}
		_, err := a.Send(ctx, in.Chat, bot.Message{Text: lines(in.Text), ReplyTo: in.Message})
		return err
	}
}

// lines makes a text of plain lines.
func lines(s string) reply.Text {
	var t reply.Text
	for _, l := range strings.Split(s, "\n") {
		t = append(t, reply.Line{{Text: l}})
	}
	return t
}

// recorder keeps what came in.
type recorder struct {
	mu   sync.Mutex
	list []bot.Incoming
}

func (r *recorder) handler(*telegram.Adapter) handlerFunc {
	return func(_ context.Context, in bot.Incoming) error {
		r.mu.Lock()
		defer r.mu.Unlock()
		r.list = append(r.list, in)
		return nil
	}
}

func (r *recorder) all() []bot.Incoming {
	r.mu.Lock()
	defer r.mu.Unlock()
	return append([]bot.Incoming(nil), r.list...)
}

// wait waits for n things that came in.
func (r *recorder) wait(t *testing.T, n int) []bot.Incoming {
	t.Helper()
	require.Eventually(t, func() bool { return len(r.all()) >= n }, patience, 2*time.Millisecond, "%d came in", n)
	return r.all()
}

// get asks a handler's path over HTTP.
func get(t *testing.T, url string) *http.Response {
	t.Helper()
	client := &http.Client{Transport: &http.Transport{DisableKeepAlives: true}}
	resp, err := client.Get(url)
	require.NoError(t, err)
	require.NoError(t, resp.Body.Close())
	return resp
}

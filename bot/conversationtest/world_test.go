package conversationtest_test

import (
	"context"
	"errors"
	"log/slog"
	"os"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"bagwatch/bot"
	conversation "bagwatch/bot/conversationtest"
	"bagwatch/internal/cook"
	"bagwatch/internal/food"
	"bagwatch/internal/phrase"
	"bagwatch/internal/reply"
	"bagwatch/internal/store"
	"bagwatch/locales"
)

// opening is when every script begins: a Wednesday afternoon.
var opening = time.Date(2026, 11, 25, 17, 0, 0, 0, time.UTC)

// parts are what all bots of a test run share.
type parts struct {
	model *cook.Model
	book  *phrase.Book
	texts *reply.Library
}

var shared = sync.OnceValues(func() (parts, error) {
	foods, err := food.Load()
	if err != nil {
		return parts{}, err
	}
	book, err := phrase.Load(locales.FS, foods)
	if err != nil {
		return parts{}, err
	}
	texts, err := reply.Load(locales.FS, nil)
	return parts{cook.New(foods), book, texts}, err
})

// clock is a clock that stands until it is moved.
type clock struct {
	mu sync.Mutex
	at time.Time
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

// failingStore is a store that can be away.
type failingStore struct {
	*store.Memory
	mu   sync.Mutex
	away bool
}

func (f *failingStore) set(away bool) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.away = away
}

func (f *failingStore) err() error {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.away {
		return store.ErrUnavailable
	}
	return nil
}

func (f *failingStore) Load(ctx context.Context, chat store.ChatID) (store.Document, error) {
	if err := f.err(); err != nil {
		return store.Document{}, err
	}
	return f.Memory.Load(ctx, chat)
}

func (f *failingStore) Save(ctx context.Context, chat store.ChatID, doc store.Document, fence store.Fence) (uint64, error) {
	if err := f.err(); err != nil {
		return 0, err
	}
	return f.Memory.Save(ctx, chat, doc, fence)
}

// world is what both stages have in common.
type world struct {
	t     *testing.T
	clock *clock
	store *failingStore
	parts parts
	log   *slog.Logger
	lang  string
}

func newWorld(t *testing.T) *world {
	p, err := shared()
	require.NoError(t, err)
	c := &clock{at: opening}
	var out strings.Builder
	t.Cleanup(func() {
		if t.Failed() {
			t.Log(out.String())
		}
	})
	return &world{
		t: t, clock: c, store: &failingStore{Memory: store.NewMemory(c.now)}, parts: p, lang: "en",
		log: slog.New(slog.NewTextHandler(&lockedWriter{w: &out}, nil)),
	}
}

type lockedWriter struct {
	mu sync.Mutex
	w  *strings.Builder
}

func (l *lockedWriter) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.w.Write(p)
}

func (w *world) bot(out bot.Messenger, link func(string) string) *bot.Bot {
	return bot.New(w.parts.model, w.parts.book, w.parts.texts, w.store, out, bot.Config{Log: w.log, Link: link})
}

var errAction = errors.New("no such action")

// common does what needs no adapter; handled is false for everything else.
func (w *world) common(verb, rest string) (handled bool, err error) {
	w.clock.advance(conversation.Step)
	switch verb {
	case "advance":
		d, err := time.ParseDuration(rest)
		if err != nil {
			return true, err
		}
		w.clock.advance(d - conversation.Step)
	case "language":
		w.lang = rest
	case "store":
		w.store.set(rest == "down")
	default:
		return false, nil
	}
	return true, nil
}

// filled repeats a text up to a number of characters.
func filled(rest string) (string, error) {
	count, text, _ := strings.Cut(rest, " ")
	n, err := strconv.Atoi(count)
	if err != nil {
		return "", err
	}
	long := []rune(strings.Repeat(text+" ", n/len(text)+1))
	return string(long[:n]), nil
}

// scripts reads every file of conversations.
func scripts(t *testing.T) map[string]*conversation.File {
	t.Helper()
	const dir = "../../testdata/conversations"
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	out := map[string]*conversation.File{}
	for _, e := range entries {
		if !strings.HasSuffix(e.Name(), ".txtar") {
			continue
		}
		data, err := os.ReadFile(dir + "/" + e.Name())
		require.NoError(t, err)
		f, err := conversation.Parse(string(data))
		require.NoError(t, err, e.Name())
		out[dir+"/"+e.Name()] = f
	}
	require.NotEmpty(t, out)
	return out
}

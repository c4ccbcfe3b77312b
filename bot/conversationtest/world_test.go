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
	"bagwatch/internal/curve"
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

	painter *curve.Painter
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
	if err != nil {
		return parts{}, err
	}
	painter, err := curve.New()
	return parts{cook.New(foods), book, texts, painter}, err
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

	talker  *bot.Bot
	alerts  *bot.Alerts
	ringing bool
	mu      sync.Mutex
	told    []bot.Chat // that were told news since the last look
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
		log: slog.New(slog.NewTextHandler(&lockedWriter{w: &out}, &slog.HandlerOptions{Level: slog.LevelDebug})),
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

// bot makes a bot with an alert loop that has not begun.
func (w *world) bot(out bot.Messenger, link func(string) string) *bot.Bot {
	b := bot.New(w.parts.model, w.parts.book, w.parts.texts, w.store, out, bot.Config{Log: w.log, Link: link, Painter: w.parts.painter})
	w.talker, w.alerts = b, bot.NewAlerts(b, w.store, bot.AlertConfig{
		Now: w.clock.now, Log: w.log,
		Forget: func(ctx context.Context, chat bot.ChatID) error { return b.Forget(ctx, chat, w.clock.now()) },
		Told: func(news bot.Telling) {
			w.mu.Lock()
			defer w.mu.Unlock()
			w.told = append(w.told, news.Chat)
		},
	})
	return b
}

// ring runs the alert loop until the test ends, and returns when it holds all partitions.
func (w *world) ring() error {
	if w.ringing {
		return nil
	}
	w.ringing = true
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() { done <- w.alerts.Run(ctx) }()
	w.t.Cleanup(func() {
		cancel()
		require.NoError(w.t, <-done)
	})
	for deadline := time.Now().Add(patience); w.alerts.Counts().Partitions < store.Partitions; {
		if time.Now().After(deadline) {
			return errors.New("the alert loop does not get its partitions")
		}
		time.Sleep(5 * time.Millisecond)
	}
	return nil
}

// patience bounds a failing test; a working bot needs a second at most.
const patience = 10 * time.Second

// ringTime is how long news takes by the script's clock. The loop measures its pauses by that clock, so it
// is moved on in small steps while news is due, and to the same moment in the end.
const ringTime = 10 * time.Second

// alarms waits until nothing is due any more and brings the live cards of the chats that were told up to
// date.
func (w *world) alarms() error {
	all := make([]int, store.Partitions)
	for i := range all {
		all[i] = i
	}
	began, rang := w.clock.now(), false
	for deadline := time.Now().Add(patience); ; time.Sleep(5 * time.Millisecond) {
		due, _, err := w.store.Due(context.Background(), all, w.clock.now(), 1)
		if err != nil {
			return err
		}
		if len(due) == 0 {
			break
		}
		if time.Now().After(deadline) {
			return errors.New("news is due and nobody tells it")
		}
		rang = true
		if w.clock.now().Sub(began) < ringTime-time.Second {
			w.clock.advance(20 * time.Millisecond)
		}
	}
	if rang {
		w.clock.advance(began.Add(ringTime).Sub(w.clock.now()))
	}
	w.mu.Lock()
	told := w.told
	w.told = nil
	w.mu.Unlock()
	for _, chat := range told {
		if err := w.talker.RefreshCard(context.Background(), chat, w.clock.now(), nil); err != nil {
			return err
		}
	}
	return nil
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
		if err := w.ring(); err != nil {
			return true, err
		}
		w.clock.advance(d - conversation.Step)
		if w.store.err() != nil {
			return true, nil // news waits for it
		}
		if err := w.alarms(); err != nil {
			return true, err
		}
	case "language":
		w.lang = rest
	case "store":
		w.store.set(rest == "down")
		if rest == "up" && w.ringing {
			return true, w.alarms()
		}
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
		// A short run, which is how the race detector is used, plays what is said once: the other languages say
		// the same again, and planning a dinner takes ten times as long then, past every deadline.
		if testing.Short() && (strings.HasPrefix(e.Name(), "main_") || e.Name() == "dinner.txtar") {
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

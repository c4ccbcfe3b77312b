package bot_test

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/bot"
	"bagwatch/internal/cook"
	"bagwatch/internal/kitchen"
	"bagwatch/internal/phrase"
	"bagwatch/internal/reply"
	"bagwatch/internal/store"
	"bagwatch/locales"
)

var noon = time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)

// said is one thing the bot did.
type said struct {
	how  string // send, edit, notice
	to   bot.Chat
	text string
	m    bot.Message
}

// fakeMessenger keeps what the bot said.
type fakeMessenger struct {
	mu     sync.Mutex
	all    []said
	panics int   // so many sends from now panic
	fails  error // every send fails so
	admins map[bot.PersonID]bool
}

func (f *fakeMessenger) note(s said) bot.MessageID {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.all = append(f.all, s)
	return bot.MessageID(1000 + len(f.all))
}

func (f *fakeMessenger) Send(_ context.Context, to bot.Chat, m bot.Message) (bot.MessageID, error) {
	if f.panics > 0 {
		f.panics--
		panic("broken on purpose")
	}
	if f.fails != nil {
		return 0, f.fails
	}
	return f.note(said{"send", to, m.Text.String(), m}), nil
}

func (f *fakeMessenger) Edit(_ context.Context, to bot.Chat, _ bot.MessageID, m bot.Message) error {
	f.note(said{"edit", to, m.Text.String(), m})
	return nil
}

func (f *fakeMessenger) Notice(_ context.Context, _, text string) error {
	f.note(said{how: "notice", text: text})
	return nil
}

func (f *fakeMessenger) Results(context.Context, string, []bot.Result) error { return nil }

func (f *fakeMessenger) Admin(_ context.Context, _ bot.Chat, p bot.PersonID) (bool, error) {
	return f.admins[p], nil
}

// take gives what was said since the last time.
func (f *fakeMessenger) take() []said {
	f.mu.Lock()
	defer f.mu.Unlock()
	out := f.all
	f.all = nil
	return out
}

// countingStore counts calls and can make a save conflict.
type countingStore struct {
	*store.Memory
	loads, saves int
	before       func()                        // runs before a save
	refuse       func(chat store.ChatID) error // may refuse a save
}

func (c *countingStore) Load(ctx context.Context, chat store.ChatID) (store.Document, error) {
	c.loads++
	return c.Memory.Load(ctx, chat)
}

func (c *countingStore) Save(ctx context.Context, chat store.ChatID, doc store.Document, fence store.Fence) (uint64, error) {
	c.saves++
	if f := c.before; f != nil {
		c.before = nil
		f()
	}
	if c.refuse != nil {
		if err := c.refuse(chat); err != nil {
			return 0, err
		}
	}
	return c.Memory.Save(ctx, chat, doc, fence)
}

// bench is a bot with a fake platform.
type bench struct {
	*bot.Bot
	t     *testing.T
	out   *fakeMessenger
	store *countingStore
	log   *strings.Builder
	keys  int
	at    time.Time
}

func newBench(t *testing.T) *bench {
	b := &bench{t: t, out: &fakeMessenger{}, log: &strings.Builder{}, at: noon}
	b.store = &countingStore{Memory: store.NewMemory(func() time.Time { return b.at })}
	b.Bot = b.another()
	return b
}

// another is a second process on the same store.
func (b *bench) another() *bot.Bot {
	foods := catalogue(b.t)
	book, err := phrase.Load(locales.FS, foods)
	require.NoError(b.t, err)
	texts, err := reply.Load(locales.FS, nil)
	require.NoError(b.t, err)
	log := slog.New(slog.NewTextHandler(b.log, &slog.HandlerOptions{Level: slog.LevelDebug}))
	return bot.New(cook.New(foods), book, texts, b.store, b.out, bot.Config{Log: log})
}

const mara, jonas bot.PersonID = 11, 12

func (b *bench) in(kind bot.Kind, who bot.PersonID, text string) bot.Incoming {
	b.keys++
	in := bot.Incoming{
		Kind: kind, Key: fmt.Sprint("k", b.keys), At: b.at, Chat: bot.Chat{ID: bot.ChatID(who)},
		From: bot.Person{ID: who, Name: "Marafaraway"}, Message: bot.MessageID(b.keys),
	}
	if kind == bot.Press {
		in.Data, in.PressID = text, in.Key
	} else {
		in.Text = text
	}
	return in
}

func (b *bench) say(text string) []said {
	b.t.Helper()
	require.NoError(b.t, b.Handle(b.t.Context(), b.in(bot.Text, mara, text)))
	b.at = b.at.Add(2 * time.Second)
	return b.out.take()
}

func (b *bench) bags(chat bot.ChatID) []kitchen.Bag {
	stored, err := b.store.Memory.Load(b.t.Context(), store.ChatID(chat))
	require.NoError(b.t, err)
	doc, err := kitchen.Decode(stored.Data)
	require.NoError(b.t, err)
	return doc.Running()
}

// button finds a button's data by its label.
func button(t *testing.T, m bot.Message, label string) string {
	t.Helper()
	for _, row := range m.Buttons {
		for _, x := range row {
			if x.Label == label {
				return x.Data
			}
		}
	}
	require.Fail(t, "no such button", label)
	return ""
}

func TestAPanicIsApologisedForAndTheBotGoesOn(t *testing.T) {
	b := newBench(t)
	b.out.panics = 1
	got := b.say("ribeye 3 cm")
	require.Len(t, got, 1)
	code := regexp.MustCompile(`code ([0-9A-Z]+)`).FindStringSubmatch(got[0].text)
	require.NotNil(t, code, got[0].text)
	assert.Contains(t, b.log.String(), "code="+code[1])
	assert.Contains(t, b.log.String(), "broken on purpose")
	got = b.say("ribeye 3 cm")
	require.Len(t, got, 1)
	assert.Contains(t, got[0].text, "Ribeye")
}

func TestAPlainQuestionTouchesNoStoreOnceTheChatIsKnown(t *testing.T) {
	b := newBench(t)
	b.say("ribeye 3 cm")
	loads := b.store.loads
	for _, text := range []string{"salmon 2 cm", "3 cm", "/help", "/water", "/foods", "nonsense"} {
		b.say(text)
	}
	assert.Equal(t, loads, b.store.loads)
	assert.Zero(t, b.store.saves)
	b.at = b.at.Add(time.Hour)
	b.say("cod")
	assert.Equal(t, loads+1, b.store.loads, "settings made elsewhere count after a while")
}

func TestAMessageDeliveredTwiceStartsOneBag(t *testing.T) {
	b := newBench(t)
	in := b.in(bot.Text, mara, "start ribeye 3 cm")
	for range 3 {
		require.NoError(t, b.Handle(t.Context(), in))
		got := b.out.take()
		require.Len(t, got, 1)
		assert.Contains(t, got[0].text, "In: Ribeye")
	}
	require.NoError(t, b.another().Handle(t.Context(), in), "nor does another process")
	assert.Len(t, b.bags(bot.ChatID(mara)), 1)
}

func TestAPressDeliveredTwiceStartsOneBag(t *testing.T) {
	b := newBench(t)
	plan := b.say("ribeye 3 cm")[0].m
	in := b.in(bot.Press, mara, button(t, plan, "Start the clock"))
	for range 2 {
		require.NoError(t, b.Handle(t.Context(), in))
	}
	assert.Len(t, b.bags(bot.ChatID(mara)), 1)
	pull := b.in(bot.Press, mara, "b/pull/1")
	for range 2 {
		require.NoError(t, b.Handle(t.Context(), pull))
		all := b.out.take()
		assert.Contains(t, all[len(all)-1].text, "Pulled", "said again")
	}
	assert.Empty(t, b.bags(bot.ChatID(mara)))
}

func TestAChangeMadeMeanwhileIsNotOverwritten(t *testing.T) {
	b := newBench(t)
	b.say("hello")
	other := b.another()
	b.store.before = func() {
		assert.NoError(t, other.Handle(t.Context(), b.in(bot.Text, mara, "/settings 14 l")))
	}
	b.say("/settings 900 W")
	all := b.say("/settings")
	assert.Contains(t, all[0].text, "14 l")
	assert.Contains(t, all[0].text, "900 W")
}

func TestSomebodyTooFastIsToldOnce(t *testing.T) {
	b := newBench(t)
	for range 40 {
		require.NoError(t, b.Handle(t.Context(), b.in(bot.Text, mara, "/help")))
	}
	got := b.out.take()
	require.Len(t, got, 21, "twenty answers and one request")
	assert.Contains(t, got[20].text, "One at a time")
	require.NoError(t, b.Handle(t.Context(), b.in(bot.Text, jonas, "/help")))
	assert.Len(t, b.out.take(), 1, "others are not slowed down")
	b.at = b.at.Add(30 * time.Second)
	assert.Len(t, b.say("/help"), 1)
}

func TestABlockedChatIsParkedAndNothingIsDue(t *testing.T) {
	b := newBench(t)
	b.say("start ribeye 3 cm")
	b.out.fails = fmt.Errorf("sendMessage: %w", bot.ErrGone)
	require.NoError(t, b.Handle(t.Context(), b.in(bot.Text, mara, "/help")))
	due, next, err := b.store.Due(t.Context(), allPartitions(), b.at.Add(1000*time.Hour), 10)
	require.NoError(t, err)
	assert.Empty(t, due)
	assert.True(t, next.IsZero())
	b.out.fails = nil
	require.NoError(t, b.Handle(t.Context(), b.in(bot.Joined, mara, "")))
	due, _, err = b.store.Due(t.Context(), allPartitions(), b.at.Add(1000*time.Hour), 10)
	require.NoError(t, err)
	assert.Len(t, due, 1, "armed again when unblocked")
}

func allPartitions() []int {
	all := make([]int, store.Partitions)
	for i := range all {
		all[i] = i
	}
	return all
}

func TestAPlatformThatAsksToWaitIsReportedToTheAdapter(t *testing.T) {
	b := newBench(t)
	b.out.fails = &bot.BusyError{After: time.Minute}
	var busy *bot.BusyError
	err := b.Handle(t.Context(), b.in(bot.Text, mara, "/help"))
	assert.ErrorAs(t, err, &busy)
	b.out.fails = errors.New("something else")
	assert.Error(t, b.Handle(t.Context(), b.in(bot.Text, mara, "/help")), "the apology could not be sent either")
}

func TestLogsHoldNoTextAndNoNames(t *testing.T) {
	b := newBench(t)
	for _, text := range []string{"xyzzyfood", "start ribeye 3 cm", "/settings Nowhereville", "start xyzzyfood", "/xyzzy"} {
		b.say(text)
	}
	require.NoError(t, b.Handle(t.Context(), b.in(bot.Press, mara, "b/pull/999")))
	require.NoError(t, b.Handle(t.Context(), b.in(bot.Press, mara, "xyzzy")))
	b.out.panics = 1
	b.say("ribeye xyzzy")
	log := b.log.String()
	require.NotEmpty(t, log)
	for _, secret := range []string{"xyzzy", "Marafaraway", "Nowhereville", "ribeye"} {
		assert.NotContains(t, log, secret)
	}
}

func TestEveryPressIsAnswered(t *testing.T) {
	b := newBench(t)
	plan := b.say("steak 3 cm")[0].m
	b.say("start cod 2 cm")
	var data []string
	for _, row := range plan.Buttons {
		for _, x := range row {
			if x.Data != "" {
				data = append(data, x.Data)
			}
		}
	}
	data = append(data, "", "p", "pzzz", "n", "d", "h", "g", "gbeef", "gbeef:1", "gbeef:99", "gnone", "s", "su", "su=metric", "sz", "sq", "sx",
		"sb=?", "sb=-4", "sb=NaN", "sc=mars", "B", "b/pull/1", "b/undo/1", "b/undo/1", "b/more/1", "b/when/1", "b/name/1", "b/drop/1", "b/gone/1",
		"b/at.zz/1", "b/at./1", "b/at.-1/1", "c", "czz", "ycod 2 cm", "y", "\x00", "😀")
	for _, d := range data {
		require.NoError(t, b.Handle(t.Context(), b.in(bot.Press, mara, d)), d)
		notices := 0
		for _, s := range b.out.take() {
			if s.how == "notice" {
				notices++
			}
		}
		assert.Equal(t, 1, notices, "%q", d)
		b.at = b.at.Add(5 * time.Second)
	}
}

func TestAGroupHearsNothingItDidNotAskFor(t *testing.T) {
	b := newBench(t)
	for _, in := range []bot.Incoming{
		b.in(bot.Text, mara, "ribeye 3 cm"), b.in(bot.Text, mara, "/weather"), b.in(bot.Other, mara, ""), b.in(bot.Place, mara, ""),
		b.in(bot.Edited, mara, "ribeye 4 cm"),
	} {
		in.Chat = bot.Chat{ID: -5, Group: true}
		require.NoError(t, b.Handle(t.Context(), in))
		assert.Empty(t, b.out.take(), in.Kind)
	}
}

func FuzzText(f *testing.F) {
	for _, s := range []string{"ribeye 3 cm", "/settings 12 l 1,5 kW Lisbon", "/water 12 l 1000 W 20 to 57", "start 2 ribeyes and the salmon, eggs", "/start =AQ", "in since 17:10", "-", "/", "/ x", "١٢ l"} {
		f.Add(s)
	}
	b := &bench{out: &fakeMessenger{}, log: &strings.Builder{}, at: noon}
	f.Fuzz(func(t *testing.T, s string) {
		if b.Bot == nil {
			b.t = t
			b.store = &countingStore{Memory: store.NewMemory(func() time.Time { return b.at })}
			b.Bot = b.another()
		}
		b.at = b.at.Add(2 * time.Second)
		for _, in := range []bot.Incoming{b.in(bot.Text, mara, s), b.in(bot.Press, mara, s), b.in(bot.Inline, mara, s)} {
			require.NoError(t, b.Handle(t.Context(), in))
		}
		require.NotContains(t, b.log.String(), "panicked")
		b.log.Reset()
		for _, m := range b.out.take() {
			require.LessOrEqual(t, len([]rune(m.text)), 4096)
			for _, row := range m.m.Buttons {
				require.LessOrEqual(t, len(row), 3)
				for _, x := range row {
					require.LessOrEqual(t, len(x.Data), 64)
				}
			}
		}
	})
}

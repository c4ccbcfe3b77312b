package bot_test

import (
	"context"
	"errors"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"bagwatch/bot"
	"bagwatch/internal/cook"
	"bagwatch/internal/food"
	"bagwatch/internal/kitchen"
	"bagwatch/internal/phrase"
	"bagwatch/internal/quantity"
	"bagwatch/internal/reply"
	"bagwatch/internal/store"
	"bagwatch/locales"
)

// alertTools are what every alert test needs, loaded once.
type alertTools struct {
	model *cook.Model
	book  *phrase.Book
	texts *reply.Library
	plan  *cook.Plan // of a ribeye
}

var loadAlertTools = sync.OnceValues(func() (alertTools, error) {
	foods, err := food.Load()
	if err != nil {
		return alertTools{}, err
	}
	book, err := phrase.Load(locales.FS, foods)
	if err != nil {
		return alertTools{}, err
	}
	texts, err := reply.Load(locales.FS, nil)
	if err != nil {
		return alertTools{}, err
	}
	m := cook.New(foods)
	plan, err := m.Plan(cook.Request{Food: "beef-ribeye", Pieces: 1, Thickness: quantity.Millimetres(30), HasSetpoint: true, Setpoint: 55.5})
	return alertTools{m, book, texts, plan}, err
})

func toolsForAlerts(t require.TestingT) alertTools {
	tools, err := loadAlertTools()
	require.NoError(t, err)
	return tools
}

// newAlertBot makes a bot and its alert loop.
func newAlertBot(t require.TestingT, s bot.AlertStore, out bot.Messenger, cfg bot.AlertConfig) (*bot.Bot, *bot.Alerts) {
	tools := toolsForAlerts(t)
	b := bot.New(tools.model, tools.book, tools.texts, s, out, bot.Config{Log: cfg.Log})
	return b, bot.NewAlerts(b, s, cfg)
}

// posted is one message that went out.
type posted struct {
	to bot.Chat
	m  bot.Message
	at time.Time
}

func (p posted) text() string { return p.m.Text.String() }

// postbox is a Messenger that keeps what is sent. refuse, when set, may refuse the n-th try to a chat,
// counted from 1; a refusal of errSentAnyway lets the message out all the same.
type postbox struct {
	refuse func(to bot.ChatID, n int) error
	slow   time.Duration

	mu       sync.Mutex
	sent     []posted
	edits    []edited
	tries    map[bot.ChatID]int
	all      int
	now, max int // in hand
}

// errSentAnyway is a broken connection after the platform acted.
var errSentAnyway = errors.New("connection lost")

func (p *postbox) Send(ctx context.Context, to bot.Chat, m bot.Message) (bot.MessageID, error) {
	p.mu.Lock()
	if p.tries == nil {
		p.tries = map[bot.ChatID]int{}
	}
	p.tries[to.ID]++
	p.all++
	p.now++
	p.max = max(p.max, p.now)
	n := p.tries[to.ID]
	p.mu.Unlock()
	defer func() {
		p.mu.Lock()
		p.now--
		p.mu.Unlock()
	}()
	if p.slow > 0 {
		select {
		case <-time.After(p.slow):
		case <-ctx.Done():
			return 0, ctx.Err()
		}
	}
	var err error
	if p.refuse != nil {
		err = p.refuse(to.ID, n)
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	if err == nil || errors.Is(err, errSentAnyway) {
		p.sent = append(p.sent, posted{to, m, time.Now()})
	}
	return bot.MessageID(len(p.sent)), err
}

func (p *postbox) Edit(_ context.Context, to bot.Chat, id bot.MessageID, m bot.Message) error {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.edits = append(p.edits, edited{to.ID, id, m.Text.String()})
	return nil
}

// edited is one edit of a message.
type edited struct {
	chat bot.ChatID
	id   bot.MessageID
	text string
}

func (p *postbox) Notice(context.Context, string, string) error                { return nil }
func (p *postbox) Results(context.Context, string, []bot.Result) error         { return nil }
func (p *postbox) Admin(context.Context, bot.Chat, bot.PersonID) (bool, error) { return true, nil }

func (p *postbox) got() []posted {
	p.mu.Lock()
	defer p.mu.Unlock()
	return slices.Clone(p.sent)
}

func (p *postbox) count() (tries int) {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.all
}

// starter is who starts bags.
var starter = kitchen.Who{ID: 7, Name: "Mara"}

// ribeyeAt puts a ribeye into a document that is ready, at its last call and past its best at these times.
func ribeyeAt(t require.TestingT, d *kitchen.Document, now, ready, last, best time.Time) kitchen.Bag {
	b, err := kitchen.NewBag(toolsForAlerts(t).plan, now.Add(-time.Hour), starter, "")
	require.NoError(t, err)
	b.Times.Early, b.Times.Ready, b.Times.LastCall, b.Times.BestBefore, b.Times.Limit = ready, ready, last, best, best.Add(time.Hour)
	b.Times.Pasteurised, b.Times.Serve = ready, cook.ServePasteurised
	b, err = d.StartBag(b, now.Add(-time.Hour))
	require.NoError(t, err)
	return b
}

// oneBag is a private chat's document with a ribeye that is ready in a while, and then goes on each ten
// minutes.
func oneBag(t require.TestingT, now time.Time, in time.Duration) kitchen.Document {
	d := kitchen.New(kitchen.Private, "")
	ready := now.Add(in).UTC().Truncate(time.Second)
	ribeyeAt(t, &d, now.UTC().Truncate(time.Second), ready, ready.Add(10*time.Minute), ready.Add(20*time.Minute))
	return d
}

// saveChat writes a chat's document as the bot would.
func saveChat(t require.TestingT, s bot.Store, chat bot.ChatID, d kitchen.Document) {
	data, err := kitchen.Encode(d)
	require.NoError(t, err)
	var revision uint64
	old, err := s.Load(context.Background(), store.ChatID(chat))
	if err == nil {
		revision = old.Revision
	} else {
		require.ErrorIs(t, err, store.ErrNone)
	}
	_, err = s.Save(context.Background(), store.ChatID(chat), store.Document{
		Revision: revision, Data: data, Next: kitchen.Next(d), Expires: kitchen.Expires(d, time.Now()),
	}, store.Fence{})
	require.NoError(t, err)
}

// loadChat reads it.
func loadChat(t require.TestingT, s bot.Store, chat bot.ChatID) kitchen.Document {
	stored, err := s.Load(context.Background(), store.ChatID(chat))
	require.NoError(t, err)
	d, err := kitchen.Decode(stored.Data)
	require.NoError(t, err)
	return d
}

// runAlerts runs the loop; the function returned ends it gracefully and is called at the test's end.
func runAlerts(t *testing.T, a *bot.Alerts) (stop func()) {
	t.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() { done <- a.Run(ctx) }()
	stop = sync.OnceFunc(func() {
		cancel()
		require.NoError(t, <-done)
	})
	t.Cleanup(stop)
	return stop
}

package bot

import (
	"context"
	"crypto/rand"
	"errors"
	"log/slog"
	"sync"
	"sync/atomic"
	"time"

	"bagwatch/internal/store"
)

// AlertStore is what the alert loop needs of storage; store.Memory and store.Redis satisfy it.
type AlertStore interface {
	Store
	Due(ctx context.Context, partitions []int, now time.Time, limit int) ([]store.DueEntry, time.Time, error)
	Acquire(ctx context.Context, holder string, partitions []int, ttl time.Duration) ([]store.Lease, error)
	Renew(ctx context.Context, leases []store.Lease, ttl time.Duration) ([]store.Lease, error)
	Release(ctx context.Context, leases []store.Lease) error
	Holders(ctx context.Context) ([store.Partitions]string, error)
}

// AlertConfig tunes the alert loop. The zero value works.
type AlertConfig struct {
	// Usual and Urgent post news; they may hold each message back until its turn. Nil means the bot's own
	// messenger. With both set, a long list is looked through for what is urgent, which then goes first.
	Usual, Urgent Messenger
	// Now is the clock that nothing is told ahead of; nil means time.Now.
	Now func() time.Time
	// Speed is how many times faster than real time Now runs; 0 means as fast.
	Speed float64
	// Holder names this process to the others, unique for each start; "" draws a name.
	Holder string
	// InFlight bounds the chats whose message is sent and not yet committed: what a crash can repeat. 0
	// means 8.
	InFlight int
	// Grace is how long Run finishes what is in hand after its context ended; 0 means 8 s.
	Grace time.Duration
	// Told, if not nil, hears of each message that was told, and must be quick.
	Told func(Telling)
	// Cards edits the live card of a chat after news was told in it, when there is time for it. Nil leaves
	// the cards alone.
	Cards Messenger
	// Forget goes on with forgetting the owner of a chat; nil means [Bot.Forget].
	Forget func(ctx context.Context, chat ChatID) error
	// Log is where to log; nil means nowhere.
	Log *slog.Logger
}

// Telling is one message that was told.
type Telling struct {
	Chat   Chat
	Items  int
	Late   time.Duration // of what was longest due
	Again  bool          // marked as a possible repeat
	Urgent bool
}

// Defaults and bounds of the loop. House rules.
const (
	alertsInFlight = 8
	alertsGrace    = 8 * time.Second
	// reserved are the places in flight that are kept for urgent news, when there is an order to keep.
	reserved = 2
	// ahead is how many times InFlight chats are loaded at a time, sent ones included.
	ahead = 2
	// listCap bounds the list in memory; what lies beyond it waits in the store.
	listCap   = 10_000
	listBatch = 1000
	listLow   = 100 // the list is read on when it gets shorter than this
	// listEvery is how often the due list is read at least, and listBusy how often while there is
	// plenty to do.
	listEvery = 500 * time.Millisecond
	listBusy  = time.Second
	lookers   = 4 // chats looked at for what is urgent, at a time
)

// Alerts carries out what falls due: it holds partitions, reads what is due in them, and tells each chat
// its news in one message.
//
// An alert is sent first and committed then, so a crash in between repeats at most [AlertConfig.InFlight]
// messages. Which they are is not known without a second write for each alert, so all that was due before
// this process got hold of a partition says that it may be a repeat. A commit that is refused or whose
// outcome is not known does not send again: what was sent is remembered until it is committed. After a
// send whose outcome is not known, the next try says that it may be a repeat.
//
// Make it with [NewAlerts], then [Alerts.Run].
type Alerts struct {
	bot    *Bot
	store  AlertStore
	cfg    AlertConfig
	log    *slog.Logger
	leases *leases

	flight, usual chan struct{} // places in flight; usual is nil when nothing is reserved
	wake          chan struct{}
	look          atomic.Int64 // unix milliseconds of when the list is read next
	counts        alertCounters

	mu    sync.Mutex
	sent  map[ChatID][]itemKey // sent and not committed
	cards map[ChatID]Chat      // whose card is to be edited
	stale chan struct{}        // there are such
}

// NewAlerts makes the alert loop of a bot whose documents are in s. Call it before the bot handles
// anything: it watches what the bot commits, to hear when something falls due earlier.
func NewAlerts(b *Bot, s AlertStore, cfg AlertConfig) *Alerts {
	if cfg.Now == nil {
		cfg.Now = time.Now
	}
	if cfg.Speed == 0 {
		cfg.Speed = 1
	}
	if cfg.Holder == "" {
		cfg.Holder = rand.Text()
	}
	if cfg.InFlight == 0 {
		cfg.InFlight = alertsInFlight
	}
	if cfg.Grace == 0 {
		cfg.Grace = alertsGrace
	}
	if cfg.Log == nil {
		cfg.Log = slog.New(slog.DiscardHandler)
	}
	a := &Alerts{
		bot: b, store: s, cfg: cfg, log: cfg.Log,
		flight: make(chan struct{}, cfg.InFlight), wake: make(chan struct{}, 1),
		sent: map[ChatID][]itemKey{}, cards: map[ChatID]Chat{}, stale: make(chan struct{}, 1),
	}
	if cfg.Forget == nil {
		a.cfg.Forget = func(ctx context.Context, chat ChatID) error { return b.Forget(ctx, chat, cfg.Now()) }
	}
	if a.ordered() {
		a.usual = make(chan struct{}, max(cfg.InFlight-reserved, 1))
	}
	if a.cfg.Usual == nil {
		a.cfg.Usual = b.out
	}
	if a.cfg.Urgent == nil {
		a.cfg.Urgent = a.cfg.Usual
	}
	a.leases = &leases{
		store: s, holder: cfg.Holder, now: cfg.Now, shown: a.shown, log: a.log, gained: a.nudge,
		roster: newRoster(s, cfg.Holder, cfg.Now, a.shown, a.log),
		held:   map[int]*tenure{}, free: map[int]time.Time{},
	}
	b.chats.store = waking{b.chats.store, a}
	return a
}

// ordered tells whether urgent news has its own way out.
func (a *Alerts) ordered() bool { return a.cfg.Urgent != nil && a.cfg.Usual != nil }

// real is a span of the injected clock in real time, and shown the other way round.
func (a *Alerts) real(d time.Duration) time.Duration {
	return time.Duration(float64(d) / a.cfg.Speed)
}

func (a *Alerts) shown(d time.Duration) time.Duration {
	return time.Duration(float64(d) * a.cfg.Speed)
}

// waking tells the loop when a commit makes something due before the loop would look.
type waking struct {
	Store
	a *Alerts
}

// Save commits.
func (w waking) Save(ctx context.Context, chat store.ChatID, doc store.Document, fence store.Fence) (uint64, error) {
	revision, err := w.Store.Save(ctx, chat, doc, fence)
	if err == nil && !doc.Next.IsZero() && doc.Next.UnixMilli() < w.a.look.Load() {
		w.a.nudge()
	}
	return revision, err
}

// nudge has the list read again.
func (a *Alerts) nudge() {
	select {
	case a.wake <- struct{}{}:
	default: // it is going to be
	}
}

// Run carries out what falls due until ctx ends; then it begins nothing new, finishes what is in hand
// within [AlertConfig.Grace], gives its partitions back and returns nil. It returns an error only for a
// document that no data key opens, since nobody may go on as if it were not there. It can run once.
func (a *Alerts) Run(ctx context.Context) error {
	working, abort := context.WithCancel(context.WithoutCancel(ctx)) // what is in hand is finished
	defer abort()
	leasing, stop := context.WithCancel(working)
	defer stop()
	var side sync.WaitGroup
	side.Go(func() { a.leases.run(leasing) })
	if a.cfg.Cards != nil {
		side.Go(func() { a.editCards(ctx) })
	}

	d := dispatch{Alerts: a, jobs: map[ChatID]*job{}, later: map[ChatID]*job{}, results: make(chan result)}
	err := d.run(ctx, working)

	late := time.AfterFunc(a.cfg.Grace, abort)
	d.drain()
	late.Stop()
	stop() // leases are renewed until here
	side.Wait()
	last, cancel := context.WithTimeout(context.WithoutCancel(ctx), releaseLimit)
	defer cancel()
	a.leases.release(last)
	return err
}

// releaseLimit bounds giving the partitions back at the end; they run out by themselves otherwise.
const releaseLimit = time.Second

// AlertCounts says what the loop did since it was made.
type AlertCounts struct {
	Sent       int64 // messages
	Items      int64 // pieces of news in them
	Again      int64 // messages marked as possible repeats
	Stale      int64 // chats that were listed and had nothing to tell
	Conflicts  int64 // commits refused because somebody changed the chat meanwhile
	Fenced     int64 // commits refused because somebody else holds the partition
	Busy       int64 // sends the platform asked to wait with
	Failed     int64 // sends that went wrong and are tried again
	Parked     int64 // chats that cannot be written to
	Moved      int64 // groups carried over to a new number
	Dead       int64 // messages given up
	Partitions int   // held now
}

type alertCounters struct {
	sent, items, again, stale, conflicts, fenced, busy, failed, parked, moved, dead atomic.Int64
}

// Counts reads the counters.
func (a *Alerts) Counts() AlertCounts {
	c := &a.counts
	return AlertCounts{
		Sent: c.sent.Load(), Items: c.items.Load(), Again: c.again.Load(), Stale: c.stale.Load(),
		Conflicts: c.conflicts.Load(), Fenced: c.fenced.Load(), Busy: c.busy.Load(), Failed: c.failed.Load(),
		Parked: c.parked.Load(), Moved: c.moved.Load(), Dead: c.dead.Load(),
		Partitions: len(a.leases.open()),
	}
}

// fatal tells an error after which nobody may go on.
func fatal(err error) bool { return errors.Is(err, store.ErrKey) }

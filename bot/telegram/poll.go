package telegram

import (
	"context"
	"encoding/json"
	"errors"
	"strings"
	"sync"
	"time"

	tg "github.com/go-telegram/bot"

	"bagwatch/bot"
)

// errStopped reports an update that was not begun because the bot stops. It comes again.
var errStopped = errors.New("telegram: stopped")

// allowed are the kinds of updates we ask for.
var allowed = [...]string{"message", "edited_message", "inline_query", "callback_query", "my_chat_member"}

// Polling. The platform keeps what is not confirmed, and confirms all below the offset of a call. The
// poller keeps a window of unconfirmed updates, oldest first, and asks with the offset behind those that
// are handled without a gap. A window of Config.InFlight bounds what a crash repeats.
//
// An update that takes long (a chat told to wait) would block the others once the window is full. When
// the oldest has been in hand for stuckAfter, the window is widened by those that are handled behind it:
// others go on, and only a crash in that time repeats more than Config.InFlight.
const (
	pollTimeout = 50 * time.Second // the most the platform waits
	pollLimit   = 100              // the most it gives
	stuckAfter  = 2 * time.Second  // house rule
	// gather is how long a poll waits for more to be handled when some is; house rule.
	gather = 20 * time.Millisecond
	// askAgain is the least time between polls with the same offset: the platform throttles those
	// within 0.5 s.
	askAgain = 600 * time.Millisecond
	// emptyPause slows polls that come back empty at once, which a working server does not do.
	emptyPause = 500 * time.Millisecond
	// firstRetry and lastRetry bound the pause after a failed poll.
	firstRetry, lastRetry = 500 * time.Millisecond, 30 * time.Second
	// standBy and lastStandBy bound the pause while somebody else polls: each try takes the updates
	// away from them, so it must be rare.
	standBy, lastStandBy = 15 * time.Second, 2 * time.Minute
)

// poller is the long poll and its window.
type poller struct {
	a  *Adapter
	in *intake

	offset  int64 // of the last poll that succeeded
	changed chan struct{}
	asked   time.Time // when the last poll began

	mu     sync.Mutex
	window []*entry
}

// entry is an update that is not confirmed.
type entry struct {
	id   int64
	at   time.Time
	done bool
}

func newPoller(a *Adapter, in *intake) *poller {
	return &poller{a: a, in: in, changed: make(chan struct{}, 1)}
}

// run polls until ctx ends or the token is refused.
func (p *poller) run(ctx context.Context) error {
	pause, stand := firstRetry, standBy
	for p.await(ctx) {
		offset, limit := p.next()
		p.asked = time.Now()
		list, err := p.poll(ctx, offset, limit, pollTimeout)
		switch {
		case err == nil:
			pause, stand = firstRetry, standBy
			p.a.alive()
			p.confirmed(offset)
			if fresh := p.take(list); fresh == 0 && p.idle() && time.Since(p.asked) < emptyPause {
				_ = sleep(ctx, emptyPause) // await sees the end
			}
		case ctx.Err() != nil:
		case refusedToken(err):
			return ErrToken
		case conflict(err):
			if strings.Contains(err.Error(), "webhook") {
				p.dropWebhook(ctx)
				_ = sleep(ctx, pause)
				continue
			}
			p.a.log.Warn("another process receives this bot's updates: standing by", "pause", stand)
			_ = sleep(ctx, stand)
			stand = min(2*stand, lastStandBy)
		default:
			wait := pause
			if busy := (*bot.BusyError)(nil); errors.As(err, &busy) {
				wait = max(wait, busy.After)
			}
			p.a.log.Warn("poll failed, trying again", "error", err, "pause", wait)
			_ = sleep(ctx, wait)
			pause = min(2*pause, lastRetry)
		}
	}
	return nil
}

// getUpdates are the method's parameters; the library keeps its own to itself.
type getUpdates struct {
	Offset  int64    `json:"offset,omitempty"`
	Limit   int      `json:"limit"`
	Timeout int      `json:"timeout"`
	Allowed []string `json:"allowed_updates"`
}

func (p *poller) poll(ctx context.Context, offset int64, limit int, timeout time.Duration) ([]json.RawMessage, error) {
	ctx = context.WithValue(context.WithValue(ctx, onceKey{}, true), patienceKey{}, time.Duration(0))
	var list []json.RawMessage
	err := p.a.client.call(ctx, "getUpdates", getUpdates{offset, limit, int(timeout / time.Second), allowed[:]}, &list)
	return list, err
}

func (p *poller) dropWebhook(ctx context.Context) {
	p.a.log.Warn("a webhook was set: removing it, since this process polls")
	if _, err := p.a.lib.DeleteWebhook(ctx, &tg.DeleteWebhookParams{}); err != nil {
		p.a.log.Warn("webhook not removed", "error", err)
	}
}

// state counts the window: handled without a gap, all handled, in hand, and how old the oldest in hand is.
func (p *poller) state() (prefix, done, busy int, age time.Duration) {
	p.mu.Lock()
	defer p.mu.Unlock()
	gap := false
	for _, e := range p.window {
		switch {
		case !e.done && !gap:
			gap, age = true, time.Since(e.at)
			busy++
		case !e.done:
			busy++
		default:
			done++
			if !gap {
				prefix++
			}
		}
	}
	return prefix, done, busy, age
}

// await returns when a poll makes sense, and false when ctx has ended.
func (p *poller) await(ctx context.Context) bool {
	size := p.a.cfg.InFlight
	for ctx.Err() == nil {
		prefix, _, busy, age := p.state()
		var wait time.Duration
		switch {
		case busy == 0, prefix >= (size+1)/2:
			return true
		case busy >= size:
			wait = pollTimeout // until one is handled
		case prefix > 0:
			wait = gather - time.Since(p.asked)
		default:
			wait = askAgain - time.Since(p.asked)
			if len(p.window) >= size { // more fit only once the oldest counts as stuck
				wait = max(wait, stuckAfter-age)
			}
		}
		if wait <= 0 {
			return true
		}
		t := time.NewTimer(wait)
		select {
		case <-p.changed:
		case <-t.C:
		case <-ctx.Done():
		}
		t.Stop()
	}
	return false
}

// next is the offset behind what is handled without a gap, and how many updates may be unconfirmed.
func (p *poller) next() (offset int64, limit int) {
	prefix, done, _, age := p.state()
	p.mu.Lock()
	defer p.mu.Unlock()
	offset, limit = p.offset, p.a.cfg.InFlight
	if prefix > 0 {
		offset = p.window[prefix-1].id + 1
	}
	if age >= stuckAfter {
		limit = min(limit+done-prefix, pollLimit)
	}
	return offset, limit
}

// confirmed forgets what a poll with this offset confirmed.
func (p *poller) confirmed(offset int64) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.offset = offset
	for len(p.window) > 0 && p.window[0].done && p.window[0].id < offset {
		p.window = p.window[1:]
	}
}

// idle says that nothing is in the window.
func (p *poller) idle() bool {
	p.mu.Lock()
	defer p.mu.Unlock()
	return len(p.window) == 0
}

// take has the new ones of a poll handled and counts them.
func (p *poller) take(list []json.RawMessage) (fresh int) {
	for _, raw := range list {
		u, err := decode(raw)
		if u.ID == 0 {
			p.a.counts.skipped.Add(1) // without an id it cannot even be confirmed; the next one does
			continue
		}
		e := &entry{id: u.ID, at: time.Now()}
		if p.add(e) {
			fresh++
			p.in.take(u, err, func(err error) { p.handled(e, err) })
		}
	}
	return fresh
}

// add puts an entry into the window unless it is there.
func (p *poller) add(e *entry) bool {
	p.mu.Lock()
	defer p.mu.Unlock()
	for _, known := range p.window {
		if known.id == e.id {
			return false
		}
	}
	p.window = append(p.window, e)
	return true
}

// handled notes that an update need not come again.
func (p *poller) handled(e *entry, err error) {
	if errors.Is(err, errStopped) {
		return
	}
	p.mu.Lock()
	e.done = true
	p.mu.Unlock()
	select {
	case p.changed <- struct{}{}:
	default:
	}
}

// confirmLimit bounds the last call at a stop.
const confirmLimit = 3 * time.Second

// confirm tells the platform at a stop what is handled, so that it does not come again.
func (p *poller) confirm() {
	offset, _ := p.next()
	if offset == p.offset {
		return
	}
	ctx, cancel := context.WithTimeout(context.Background(), confirmLimit)
	defer cancel()
	// What the call returns is not confirmed by it, and comes again.
	if _, err := p.poll(ctx, offset, 1, 0); err != nil {
		p.a.log.Warn("handled updates not confirmed: they will come again", "error", err)
	}
}

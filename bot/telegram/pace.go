package telegram

import (
	"context"
	"slices"
	"sync"
	"time"

	"bagwatch/bot"
)

// Priority orders what waits for its turn; lower goes first.
type Priority int

// The priorities, and their use.
const (
	Safety Priority = iota + 1 // something became unsafe, or is past and not pasteurised
	News                       // ready, last call, past, steps of a dinner
	Cards                      // edits of cards, and what nobody waits for
)

// Rates are how many paced messages go out at most. Zero takes the default, below zero is without limit.
// The platform counts all processes of a bot together: several processes must share the figures.
type Rates struct {
	Overall float64 // a second in all chats; default 30
	Chat    float64 // a second in one chat; default 1
	Group   float64 // a minute in one group; default 20
}

// Defaults of Rates: the official FAQ of bots, "My bot is hitting limits".
const defOverall, defChat, defGroup = 30, 1, 20

// Paced gives a Messenger for what nobody asked for just now: alerts and edits of cards. Each send and
// edit waits for its turn under the rates, by priority, edits always last. What the platform refuses as
// too fast is not waited for but given back as [bot.BusyError]: whoever sends alerts has a list of what
// is due and can do others first. Notices and results are answers, and go at once.
//
// Answers sent through the Adapter itself never wait, but count: alerts then slow down for them.
func (a *Adapter) Paced(p Priority) bot.Messenger { return paced{a, p} }

type paced struct {
	*Adapter
	priority Priority
}

type priorityKey struct{}

// Send waits for its turn.
func (p paced) Send(ctx context.Context, to bot.Chat, m bot.Message) (bot.MessageID, error) {
	return p.Adapter.Send(p.with(ctx, p.priority), to, m)
}

// Edit waits for its turn, after all that is sent.
func (p paced) Edit(ctx context.Context, to bot.Chat, id bot.MessageID, m bot.Message) error {
	return p.Adapter.Edit(p.with(ctx, Cards), to, id, m)
}

func (p paced) with(ctx context.Context, priority Priority) context.Context {
	return context.WithValue(context.WithValue(ctx, priorityKey{}, priority), patienceKey{}, time.Duration(0))
}

// pace waits for the turn of a message, or counts it if it is an answer. The caller calls sent when the
// message is sent or failed.
func (a *Adapter) pace(ctx context.Context, to bot.Chat) (sent func(), err error) {
	if sent, err = a.paceEdit(ctx, to); sent == nil && err == nil {
		a.pacer.count(to.ID, to.Group)
		sent = func() {}
	}
	return sent, err
}

// paceEdit is pace for edits; sent is nil if there was nothing to wait for. Edits that answer a press
// are not counted: the official figures are of messages.
func (a *Adapter) paceEdit(ctx context.Context, to bot.Chat) (sent func(), err error) {
	p, ok := ctx.Value(priorityKey{}).(Priority)
	if !ok || a.pacer.off() {
		return nil, nil
	}
	if err := a.pacer.turn(ctx, to.ID, to.Group, p); err != nil {
		return nil, err
	}
	return func() { a.pacer.sent(to.ID) }, nil
}

// pacer lets messages out one by one. Each limit is a virtual schedule (GCRA): next is when the next
// message would be due if they came evenly, and one may be early by the burst.
type pacer struct {
	overall, chat, group limit

	mu      sync.Mutex
	all     time.Time
	chats   map[bot.ChatID]time.Time
	groups  map[bot.ChatID]time.Time
	waiting []*waiter // by priority, then order of coming
	timer   *time.Timer
	swept   time.Time
}

// limit is one message each step, with burst more at once after a silence.
type limit struct {
	step  time.Duration // zero: no limit
	burst time.Duration
}

// free is when the schedule at next allows another message.
func (l limit) free(next time.Time) time.Time { return next.Add(-l.burst) }

// after is the schedule after a message at now.
func (l limit) after(next, now time.Time) time.Time {
	if next.Before(now) {
		next = now
	}
	return next.Add(l.step)
}

// waiter is a message that waits for its turn.
type waiter struct {
	chat     bot.ChatID
	group    bool
	priority Priority
	ready    chan struct{}
}

// newPacer takes the rates.
func newPacer(r Rates) *pacer {
	return &pacer{
		overall: newLimit(r.Overall, defOverall, time.Second),
		chat:    newLimit(r.Chat, defChat, time.Second),
		group:   newLimit(r.Group, defGroup, time.Minute),
		chats:   map[bot.ChatID]time.Time{}, groups: map[bot.ChatID]time.Time{},
	}
}

// newLimit lets out at most rate messages in any window: the first and a burst of a sixth, at most five,
// at once, the rest spread over the window. Where there is no room for a burst the steps are 5 % longer
// than needed, since a message may be slower on its way than the next. House rules.
func newLimit(rate, def float64, window time.Duration) limit {
	if rate == 0 {
		rate = def
	}
	if rate < 0 {
		return limit{}
	}
	if rate < 4 {
		return limit{step: time.Duration(1.05 * float64(window) / rate)}
	}
	burst := min(int(rate/6), 5)
	step := time.Duration(float64(window) / (rate - 1 - float64(burst)))
	return limit{step, step * time.Duration(burst)}
}

// off says that nothing is limited.
func (p *pacer) off() bool { return p.overall.step == 0 && p.chat.step == 0 && p.group.step == 0 }

// count notes a message that did not wait.
func (p *pacer) count(chat bot.ChatID, group bool) {
	if p.off() {
		return
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	p.take(chat, group, time.Now())
}

// sent notes that a message that had its turn has arrived, or never will. The next to its chat counts
// from here: on the way one message may overtake time that another had lost.
func (p *pacer) sent(chat bot.ChatID) {
	if p.chat.step == 0 {
		return
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	p.chats[chat] = time.Now().Add(p.chat.step)
	p.release()
}

// onItsWay holds a chat until sent; longer than any call takes.
const onItsWay = time.Hour

// turn waits until a message may go.
func (p *pacer) turn(ctx context.Context, chat bot.ChatID, group bool, priority Priority) error {
	w := &waiter{chat, group, priority, make(chan struct{})}
	p.mu.Lock()
	at, _ := slices.BinarySearchFunc(p.waiting, priority+1, func(w *waiter, q Priority) int { return int(w.priority - q) })
	p.waiting = slices.Insert(p.waiting, at, w)
	p.release()
	p.mu.Unlock()
	select {
	case <-w.ready:
		return nil
	case <-ctx.Done():
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	select {
	case <-w.ready: // let out at the same moment: it goes
		return nil
	default:
	}
	p.waiting = slices.DeleteFunc(p.waiting, func(o *waiter) bool { return o == w })
	p.release()
	return ctx.Err()
}

// release lets out whoever may go, and sets the timer for the next; p.mu is held. A chat that must wait
// does not hold up those behind it.
func (p *pacer) release() {
	now := time.Now()
	var next time.Time
	kept := p.waiting[:0]
	for i, w := range p.waiting {
		if free := p.overall.free(p.all); free.After(now) {
			kept = append(kept, p.waiting[i:]...)
			next = free
			break
		}
		if free := p.free(w.chat, w.group); free.After(now) {
			kept = append(kept, w)
			if next.IsZero() || free.Before(next) {
				next = free
			}
			continue
		}
		p.take(w.chat, w.group, now)
		if p.chat.step > 0 {
			p.chats[w.chat] = now.Add(onItsWay)
		}
		close(w.ready)
	}
	clear(p.waiting[len(kept):])
	p.waiting = kept
	if p.timer != nil {
		p.timer.Stop()
		p.timer = nil
	}
	if len(kept) > 0 {
		p.timer = time.AfterFunc(next.Sub(now), func() {
			p.mu.Lock()
			defer p.mu.Unlock()
			p.release()
		})
	}
}

// free is when a chat may get its next message.
func (p *pacer) free(chat bot.ChatID, group bool) time.Time {
	free := p.chat.free(p.chats[chat])
	if group {
		if g := p.group.free(p.groups[chat]); g.After(free) {
			free = g
		}
	}
	return free
}

// sweepEvery bounds the memory for chats that are silent; house rule.
const sweepEvery = time.Minute

// take counts a message.
func (p *pacer) take(chat bot.ChatID, group bool, now time.Time) {
	p.all = p.overall.after(p.all, now)
	if p.chat.step > 0 {
		p.chats[chat] = p.chat.after(p.chats[chat], now)
	}
	if group && p.group.step > 0 {
		p.groups[chat] = p.group.after(p.groups[chat], now)
	}
	if now.Sub(p.swept) < sweepEvery {
		return
	}
	p.swept = now
	for _, m := range []map[bot.ChatID]time.Time{p.chats, p.groups} {
		for id, next := range m {
			if next.Before(now) {
				delete(m, id)
			}
		}
	}
}

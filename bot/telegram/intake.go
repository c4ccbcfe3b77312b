package telegram

import (
	"context"
	"encoding/json"
	"sync"
	"time"

	"github.com/go-telegram/bot/models"

	"bagwatch/bot"
)

// intake decodes updates and has them handled: those of one chat in order, chats in parallel, under a
// bound.
type intake struct {
	a     *Adapter
	ctx   context.Context // of the handlers: it outlives the stop signal, so it is kept here
	h     Handler
	slots chan struct{}

	mu      sync.Mutex
	waiting map[bot.ChatID][]job // a key that is present has a worker
	closed  bool
	closing chan struct{} // closed with it
	running sync.WaitGroup
}

// job is one update to handle. done hears how it went, once; errStopped if it was not begun.
type job struct {
	in   bot.Incoming
	done func(error)
}

func newIntake(ctx context.Context, a *Adapter, h Handler) *intake {
	return &intake{a: a, ctx: ctx, h: h, slots: make(chan struct{}, a.cfg.InFlight),
		waiting: map[bot.ChatID][]job{}, closing: make(chan struct{})}
}

// updateHead is the one field that is read before anything else can go wrong.
type updateHead struct {
	ID int64 `json:"update_id"`
}

// take has a raw update handled. It reports an update that needs no handling by calling done at once.
func (n *intake) take(raw json.RawMessage, done func(error)) {
	n.a.counts.updates.Add(1)
	var u models.Update
	if err := json.Unmarshal(raw, &u); err != nil {
		// The reason names Go types and offsets, not the content.
		n.a.counts.skipped.Add(1)
		n.a.log.Warn("update skipped: cannot be decoded", "update", u.ID, "bytes", len(raw))
		done(nil)
		return
	}
	in, ok := n.a.incoming(&u)
	if !ok {
		n.a.counts.ignored.Add(1)
		done(nil)
		return
	}
	n.put(job{in, done})
}

func (n *intake) put(j job) {
	key := j.in.Chat.ID
	n.mu.Lock()
	if n.closed {
		n.mu.Unlock()
		j.done(errStopped)
		return
	}
	queue, busy := n.waiting[key]
	n.waiting[key] = append(queue, j)
	if !busy {
		n.running.Go(func() { n.work(key) })
	}
	n.mu.Unlock()
}

// work handles one chat's updates until there are none.
func (n *intake) work(key bot.ChatID) {
	for {
		n.slots <- struct{}{}
		n.mu.Lock()
		queue := n.waiting[key]
		if len(queue) == 0 {
			delete(n.waiting, key)
			n.mu.Unlock()
			<-n.slots
			return
		}
		j := queue[0]
		n.waiting[key] = queue[1:]
		closed := n.closed
		n.mu.Unlock()
		if closed {
			j.done(errStopped)
		} else {
			j.done(n.handleOrWait(j.in))
		}
		<-n.slots
	}
}

// How an update is tried again that the handler wants later, when we poll; house rule. A store that is
// down for longer loses the update: the person was told by then.
const (
	firstLater, lastLater = time.Second, 15 * time.Second
	giveUp                = 10 * time.Minute
)

// handleOrWait handles an update. A webhook's sender tries again by itself; polling has to.
func (n *intake) handleOrWait(in bot.Incoming) error {
	began := time.Now()
	for pause := firstLater; ; pause = min(2*pause, lastLater) {
		err := n.handle(in)
		if err == nil || n.a.cfg.WebhookURL != "" || !n.a.cfg.Later(err) || time.Since(began) > giveUp {
			return err
		}
		t := time.NewTimer(pause)
		select {
		case <-t.C:
		case <-n.closing:
			t.Stop()
			return errStopped
		}
	}
}

// handleLimit bounds one handler, waits for the platform included; house rule.
const handleLimit = time.Minute

func (n *intake) handle(in bot.Incoming) error {
	ctx, cancel := context.WithTimeout(n.ctx, handleLimit)
	defer cancel()
	began := time.Now()
	err := n.a.handle(ctx, n.h, in)
	n.a.counts.handled.Add(1)
	if err != nil {
		n.a.counts.failed.Add(1)
		n.a.log.Error("update not handled", "chat", in.Chat.ID, "kind", in.Kind, "error", err, "took", time.Since(began))
	} else {
		n.a.log.Debug("update handled", "chat", in.Chat.ID, "kind", in.Kind, "took", time.Since(began))
	}
	return err
}

// drain stops the intake and waits for what is in hand; after the grace handlers are aborted.
func (n *intake) drain(grace time.Duration, abort context.CancelFunc) {
	n.mu.Lock()
	n.closed = true
	close(n.closing)
	n.mu.Unlock()
	late := time.AfterFunc(grace, func() {
		n.a.log.Warn("handlers aborted: the grace is over")
		abort()
	})
	n.running.Wait()
	late.Stop()
}

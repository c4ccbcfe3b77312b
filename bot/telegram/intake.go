package telegram

import (
	"context"
	"encoding/json"
	"errors"
	"sync"
	"time"

	"github.com/go-telegram/bot/models"

	"bagwatch/bot"
)

// intake decodes updates and has them handled: those of one chat in order, chats in parallel and in
// turn, by as many workers as may be in flight. Workers last as long as the intake: a goroutine for each
// update would grow its stack anew each time, which costs more than all the rest of this file.
type intake struct {
	a   *Adapter
	ctx context.Context // of the handlers: it outlives the stop signal, so it is kept here
	h   Handler

	mu      sync.Mutex
	some    sync.Cond            // there is something in ready, or closed
	lanes   map[bot.ChatID][]job // a chat that is present is in ready or in a worker's hand
	ready   []bot.ChatID         // chats that wait for a worker
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
	n := &intake{a: a, ctx: ctx, h: h, lanes: map[bot.ChatID][]job{}, closing: make(chan struct{})}
	n.some.L = &n.mu
	for range a.cfg.InFlight {
		n.running.Go(n.work)
	}
	return n
}

// decode reads an update. The id is there also with an error, unless there is none to read.
func decode(raw []byte) (*models.Update, error) {
	u := &models.Update{}
	err := json.Unmarshal(raw, u)
	if err != nil && u.ID == 0 {
		var head struct {
			ID int64 `json:"update_id"`
		}
		if json.Unmarshal(raw, &head) == nil {
			u.ID = head.ID
		}
	}
	return u, err
}

// take has a decoded update handled. One that needs no handling is done at once.
func (n *intake) take(u *models.Update, err error, done func(error)) {
	n.a.counts.updates.Add(1)
	if err != nil { // its text may quote what a person wrote
		n.a.counts.skipped.Add(1)
		n.a.log.Warn("update skipped: cannot be decoded", "update", u.ID)
		done(nil)
		return
	}
	var in bot.Incoming
	ok := false
	if n.a.guarded(in, func() error { in, ok = n.a.incoming(u); return nil }) != nil {
		// Our own mistake, but one that would come again with each poll.
		n.a.counts.skipped.Add(1)
		done(nil)
		return
	}
	if !ok || nowhere(in) {
		n.a.counts.ignored.Add(1)
		done(nil)
		return
	}
	n.put(job{in, done})
}

// nowhere tells an update that names no chat, or nobody where there is none: no real one, and 0 must not
// be taken for a chat.
func nowhere(in bot.Incoming) bool {
	if in.Kind == bot.Inline {
		return in.From.ID == 0
	}
	return in.Chat.ID == 0
}

func (n *intake) put(j job) {
	key := j.in.Chat.ID
	n.mu.Lock()
	defer n.mu.Unlock()
	if n.closed {
		j.done(errStopped)
		return
	}
	lane, busy := n.lanes[key]
	n.lanes[key] = append(lane, j)
	if !busy {
		n.ready = append(n.ready, key)
		n.some.Signal()
	}
}

// work handles one update of one chat after another until the intake is closed and empty.
func (n *intake) work() {
	n.mu.Lock()
	defer n.mu.Unlock()
	for {
		for len(n.ready) == 0 {
			if n.closed {
				return
			}
			n.some.Wait()
		}
		key := n.ready[0]
		n.ready = n.ready[1:]
		j, closed := n.lanes[key][0], n.closed
		n.mu.Unlock()
		if closed {
			j.done(errStopped)
		} else {
			j.done(n.handleOrWait(j.in))
		}
		n.mu.Lock()
		if n.lanes[key] = n.lanes[key][1:]; len(n.lanes[key]) == 0 {
			delete(n.lanes, key)
			continue
		}
		n.ready = append(n.ready, key)
		n.some.Signal()
	}
}

// How an update is tried again that can only be handled later, when we poll; house rule. What takes
// longer than that loses the update: the person was told by then.
const (
	firstLater, lastLater = time.Second, 15 * time.Second
	giveUp                = 10 * time.Minute
)

// later says whether an update with this error should come again, and after how long at least: the
// handler wants it, or the platform asked to wait for longer than the call would.
func (n *intake) later(err error) (time.Duration, bool) {
	if busy := (*bot.BusyError)(nil); errors.As(err, &busy) {
		return busy.After, true
	}
	return 0, err != nil && n.a.cfg.Later(err)
}

// handleOrWait handles an update. A webhook's sender tries again by itself; polling has to.
func (n *intake) handleOrWait(in bot.Incoming) error {
	began := time.Now()
	for pause := firstLater; ; pause = min(2*pause, lastLater) {
		err := n.handle(in)
		if err != nil && n.ctx.Err() != nil { // aborted at a stop
			return errStopped
		}
		least, again := n.later(err)
		if !again || n.a.cfg.WebhookURL != "" || time.Since(began)+least > giveUp {
			return err
		}
		t := time.NewTimer(max(pause, least))
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
	if errors.Is(err, bot.ErrGone) { // nobody is there to be answered, which is their good right
		n.a.log.Info("update of a chat that is gone", "chat", in.Chat.ID, "kind", in.Kind)
	} else if err != nil {
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
	n.some.Broadcast()
	n.mu.Unlock()
	late := time.AfterFunc(grace, func() {
		n.a.log.Warn("handlers aborted: the grace is over")
		abort()
	})
	n.running.Wait()
	late.Stop()
}

package bot

import (
	"context"
	"errors"
	"math"
	"slices"
	"time"

	"bagwatch/internal/kitchen"
	"bagwatch/internal/store"
)

// job is one chat that is listed as due.
type job struct {
	chat   ChatID
	state  jobState
	after  time.Time // not before, when it waits
	urgent bool
	looked bool // it is known whether it is urgent
	listed int  // the reading of the list that had it last

	fails int  // sends that went wrong in a row
	lone  int  // of these, while others got through
	again bool // a send's outcome is not known, so the next may be a repeat
}

type jobState uint8

const (
	jobQueued jobState = iota
	jobLooked          // queued, and being looked at
	jobBusy
	jobWaiting // to be tried again
)

// result is how a job, or a look at one, came out.
type result struct {
	job  *job
	look bool

	urgent bool          // of a look
	next   time.Time     // when the chat is next due, if that is soon
	retry  time.Duration // try again after this; 0: it is done with
	failed bool          // the platform did not take it
	busy   bool          // the platform asked to wait
	sent   bool
	fatal  error
}

// dispatch is the loop's own state, used by one goroutine.
type dispatch struct {
	*Alerts
	jobs    map[ChatID]*job
	later   map[ChatID]*job // those that wait
	pressed []*job          // urgent ones that are queued, oldest first
	queue   []*job          // the others; entries whose job moved on are skipped
	waiting int             // of queue, still queued
	results chan result
	hands   int // jobs busy
	usuals  int // of these, not urgent
	looking int

	readAt  time.Time // when the list was read
	reading int
	next    time.Time // when something falls due, as far as the list told
	more    bool      // the list went on, and what was read of it was new
	nudged  bool
	down    time.Duration // pause after the store did not answer

	sick  int       // chats in a row whose first send went wrong
	until time.Time // nothing is sent before, if the platform is unwell
	wellN int       // sends that went through
}

// Pauses. House rules: quick at first, and never a hot loop.
const (
	downFirst, downLast   = 500 * time.Millisecond, 5 * time.Second
	retryFirst, retryLast = time.Second, time.Minute
	sickFrom              = 3 // as many first failures in a row say that it is not the chat
	sickFirst, sickLast   = 500 * time.Millisecond, 15 * time.Second
	// deadAfter is how often a message must fail, each time after others got through, to be given up.
	deadAfter = 10
)

// run begins what is due until ctx ends. working is the context of what is begun.
func (d *dispatch) run(ctx, working context.Context) error {
	for {
		if d.timeToRead() {
			d.read(ctx)
		}
		d.start(working)
		d.lookAround(working)
		timer := time.NewTimer(d.pause())
		select {
		case r := <-d.results:
			timer.Stop()
			d.finish(r)
			if r.fatal != nil {
				return r.fatal
			}
		case <-d.wake:
			d.nudged = true
		case <-timer.C:
		case <-ctx.Done():
			timer.Stop()
			return nil
		}
		timer.Stop()
	}
}

// drain waits for what is in hand.
func (d *dispatch) drain() {
	for d.hands+d.looking > 0 {
		d.finish(<-d.results)
	}
}

// timeToRead tells whether the due list should be read again.
func (d *dispatch) timeToRead() bool {
	now := d.cfg.Now()
	gone := d.real(now.Sub(d.readAt))
	switch {
	case d.readAt.IsZero(), gone < 0:
		return true
	case d.down > 0:
		return gone >= d.down
	case d.waiting+len(d.pressed) >= listLow:
		return gone >= listBusy
	case d.nudged, d.more, gone >= listEvery:
		return true
	}
	return !d.next.IsZero() && !d.next.After(now)
}

// pause is how long nothing is to be done.
func (d *dispatch) pause() time.Duration {
	now := d.cfg.Now()
	wait := listEvery - d.real(now.Sub(d.readAt))
	if d.down > 0 {
		wait = d.down - d.real(now.Sub(d.readAt))
	} else if d.waiting+len(d.pressed) >= listLow {
		wait = listBusy - d.real(now.Sub(d.readAt))
	} else if !d.next.IsZero() {
		wait = min(wait, d.real(d.next.Sub(now)))
	}
	if d.down == 0 {
		for _, j := range d.later {
			wait = min(wait, d.real(j.after.Sub(now)))
		}
	}
	if d.waiting+len(d.pressed) > 0 && d.until.After(now) {
		wait = min(wait, d.real(d.until.Sub(now)))
	}
	return max(wait, time.Millisecond)
}

// read takes what is due into the list.
func (d *dispatch) read(ctx context.Context) {
	d.nudged = false
	open := d.leases.open()
	now := d.cfg.Now()
	d.readAt, d.next, d.more = now, time.Time{}, false
	if len(open) == 0 {
		d.setLook(now)
		return
	}
	d.look.Store(math.MaxInt64) // what is committed meanwhile may be missed by the reading
	// What is known is at the front of the list, so ask for that much more.
	limit := len(d.jobs) + listBatch
	if len(d.jobs) >= listCap {
		limit = listCap
	}
	entries, next, err := d.store.Due(ctx, open, now, limit)
	if err != nil {
		if ctx.Err() == nil {
			d.down = min(max(2*d.down, downFirst), downLast)
			d.log.Debug("due list not read", "error", err, "pause", d.down)
		}
		return
	}
	d.down = 0
	d.reading++
	fresh := false
	for _, e := range entries {
		if d.add(ChatID(e.Chat), now) {
			fresh = true
		}
	}
	for chat, j := range d.later { // what was to be tried again and is not due any more
		if j.listed != d.reading && !j.after.After(now) {
			delete(d.later, chat)
			delete(d.jobs, chat)
		}
	}
	if next.After(now) {
		d.next = next
	} else {
		d.more = !next.IsZero() && fresh
	}
	d.setLook(now)
}

// setLook says by when the list is read again, for commits to compare with.
func (d *dispatch) setLook(now time.Time) {
	at := now.Add(d.shown(listEvery))
	if !d.next.IsZero() && d.next.Before(at) {
		at = d.next
	}
	d.look.Store(at.UnixMilli())
}

// add queues a chat unless it is known; it tells whether it did.
func (d *dispatch) add(chat ChatID, now time.Time) bool {
	j := d.jobs[chat]
	switch {
	case j == nil:
		j = &job{chat: chat}
		d.jobs[chat] = j
	case j.state != jobWaiting || j.after.After(now):
		j.listed = d.reading
		return false
	}
	delete(d.later, chat)
	j.listed, j.state = d.reading, jobQueued
	d.queue = append(d.queue, j)
	d.waiting++
	return true
}

// start takes as many jobs in hand as there is room for, urgent ones first.
func (d *dispatch) start(ctx context.Context) {
	if d.until.After(d.cfg.Now()) {
		return
	}
	most := ahead * d.cfg.InFlight
	if d.sick >= sickFrom {
		most = 1 // try whether the platform is well again
	}
	usualMost := most
	if d.usual != nil && most > 1 {
		usualMost = most - ahead*reserved
	}
	for d.hands < most {
		var j *job
		switch {
		case len(d.pressed) > 0:
			j, d.pressed = d.pressed[0], d.pressed[1:]
		case d.usuals < usualMost:
			j = d.pop()
		}
		if j == nil {
			return
		}
		fence, gained, ok := d.leases.begin(store.Partition(store.ChatID(j.chat)))
		if !ok { // the partition is somebody else's by now
			delete(d.jobs, j.chat)
			continue
		}
		j.state = jobBusy
		d.hands++
		if !j.urgent {
			d.usuals++
		}
		given := *j // what the worker may read
		go func() {
			r := d.carryOut(ctx, given, fence, gained)
			d.leases.end(fence)
			r.job = j
			d.results <- r
		}()
	}
}

// pop is the oldest that is queued and not urgent.
func (d *dispatch) pop() *job {
	for len(d.queue) > 0 {
		j := d.queue[0]
		d.queue[0] = nil
		d.queue = d.queue[1:]
		if j.urgent || j.state != jobQueued && j.state != jobLooked {
			continue
		}
		d.waiting--
		return j
	}
	return nil
}

// lookAround finds out which of the queued are urgent, when there are more than are in hand at once.
func (d *dispatch) lookAround(ctx context.Context) {
	if d.usual == nil || d.down > 0 || d.waiting <= ahead*d.cfg.InFlight {
		return
	}
	for _, j := range d.queue {
		if d.looking >= lookers {
			return
		}
		if j == nil || j.urgent || j.looked || j.state != jobQueued {
			continue
		}
		j.state, j.looked = jobLooked, true
		d.looking++
		go func() { d.results <- result{job: j, look: true, urgent: d.isUrgent(ctx, j.chat)} }()
	}
}

// isUrgent looks at a chat without holding it. If that does not work out, it is as urgent as the others.
func (a *Alerts) isUrgent(ctx context.Context, chat ChatID) bool {
	stored, err := a.store.Load(ctx, store.ChatID(chat))
	if err != nil {
		return false
	}
	doc, err := kitchen.Decode(stored.Data)
	if err != nil {
		return false
	}
	news, _ := kitchen.Due(doc, a.cfg.Now())
	return news.Urgent
}

// finish takes note of how a job came out.
func (d *dispatch) finish(r result) {
	j, now := r.job, d.cfg.Now()
	if r.look {
		d.looking--
		if j.state == jobLooked {
			j.state = jobQueued
			if r.urgent {
				j.urgent = true
				d.waiting--
				d.pressed = append(d.pressed, j)
			}
		}
		return
	}
	d.hands--
	if !j.urgent {
		d.usuals--
	}
	d.health(r, now)
	if r.retry == 0 {
		delete(d.jobs, j.chat)
		if !r.next.IsZero() && (d.next.IsZero() || r.next.Before(d.next)) {
			d.next = r.next
		}
		return
	}
	j.state, j.after = jobWaiting, now.Add(d.shown(r.retry))
	j.looked, j.urgent = false, false
	d.later[j.chat] = j
	if r.failed {
		j.fails++
		j.again = true
	}
}

// health notes whether the platform takes anything at all.
func (d *dispatch) health(r result, now time.Time) {
	switch {
	case r.sent:
		d.sick, d.until = 0, time.Time{}
		d.wellN++
	case r.failed, r.busy:
		if r.failed && d.wellN > 0 {
			r.job.lone++
		}
		d.wellN = 0
		if r.job.fails > 0 && d.sick < sickFrom {
			return // this chat's own trouble, as far as we know
		}
		if d.sick++; d.sick < sickFrom {
			return
		}
		pause := min(sickFirst<<min(d.sick-sickFrom, 10), sickLast)
		if r.busy {
			pause = min(r.retry, sickLast)
		}
		d.until = now.Add(d.shown(pause))
	}
}

// backoff is the pause after a number of failures.
func backoff(fails int) time.Duration { return min(retryFirst<<min(fails, 10), retryLast) }

// unfinished tells an error that only says that we are ending.
func unfinished(err error) bool { return errors.Is(err, context.Canceled) }

// without gives the items that are not among those sent.
func without(keys []itemKey, items []kitchen.Item) []kitchen.Item {
	return slices.DeleteFunc(slices.Clone(items), func(i kitchen.Item) bool { return slices.Contains(keys, keyOf(i)) })
}

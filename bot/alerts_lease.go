package bot

import (
	"context"
	"log/slog"
	"slices"
	"sync"
	"time"

	"bagwatch/internal/store"
)

// How partitions are held and shared. With [store.LeaseTTL] of 8 s somebody takes over at most 8 s after the
// last renewal of a process that was killed, plus seekEvery, plus the call. House rules.
const (
	renewEvery = store.LeaseTTL / 3
	seekEvery  = 500 * time.Millisecond // while others hold something
	shortEvery = 100 * time.Millisecond // while we have less than our share
	restEvery  = time.Second            // while everything is ours
	leaveEvery = 20 * time.Millisecond  // while something is being given up
	// idleFor is how long a partition is left free before anybody takes it, whatever their share.
	idleFor = 700 * time.Millisecond
)

// tenure is one partition while it is held.
type tenure struct {
	lease  store.Lease
	gained time.Time // what fell due before may have been told by whoever held it before
	until  time.Time // we have it until then, unless it is renewed
	busy   int       // chats in hand
	left   bool      // being given up: nothing new is begun
}

// leases holds this process's share of the partitions. Its methods are safe for concurrent use.
type leases struct {
	store  AlertStore
	holder string
	now    func() time.Time
	shown  func(time.Duration) time.Duration // a real span as now shows it
	log    *slog.Logger
	gained func() // hears that there is something to carry out
	roster *roster

	mu   sync.Mutex
	held map[int]*tenure

	renewed time.Time
	free    map[int]time.Time // since when a partition was seen without a holder
}

// run holds on to the leases until ctx ends. It gives nothing back: see release.
func (l *leases) run(ctx context.Context) {
	for {
		pause := l.beat(ctx)
		t := time.NewTimer(pause)
		select {
		case <-t.C:
		case <-ctx.Done():
			t.Stop()
			return
		}
	}
}

// beat renews what is held, takes and gives up what the share asks for, and tells when to come again.
func (l *leases) beat(ctx context.Context) time.Duration {
	now := l.now()
	if now.Sub(l.renewed) >= l.shown(renewEvery) || now.Before(l.renewed) {
		l.renew(ctx)
	}
	l.roster.refresh(ctx)
	l.giveBack(ctx)
	most := l.roster.share()
	mine, leaving := l.count()
	if leaving > 0 {
		return leaveEvery
	}
	if mine == store.Partitions && most == store.Partitions {
		return restEvery
	}
	holders, err := l.store.Holders(ctx)
	if err != nil { // the store says so itself
		return restEvery
	}
	idle := l.settle(ctx, holders, mine, most)
	if idle { // somebody left, perhaps, and said so
		l.roster.again()
	}
	if idle || mine < most {
		return shortEvery
	}
	return seekEvery
}

func (l *leases) count() (held, leaving int) {
	l.mu.Lock()
	defer l.mu.Unlock()
	for _, t := range l.held {
		if t.left {
			leaving++
		}
	}
	return len(l.held), leaving
}

// renew asks for more time. A lease that is missing from a whole answer is lost.
func (l *leases) renew(ctx context.Context) {
	asked := l.now()
	all := l.list(func(*tenure) bool { return true })
	if len(all) == 0 {
		l.renewed = asked
		return
	}
	kept, err := l.store.Renew(ctx, all, store.LeaseTTL)
	l.mu.Lock()
	defer l.mu.Unlock()
	for _, k := range kept {
		if t := l.held[k.Partition]; t != nil && t.lease.Epoch == k.Epoch {
			t.until = asked.Add(l.shown(store.LeaseTTL))
		}
	}
	if err != nil {
		return // tried again at the next beat
	}
	l.renewed = asked
	for _, old := range all {
		if t := l.held[old.Partition]; t != nil && t.lease == old && !slices.Contains(kept, old) {
			l.log.Warn("partition lost", "partition", old.Partition)
			delete(l.held, old.Partition)
		}
	}
}

// settle takes what is free up to the share, and what stays free whatever the share; when nothing is free
// and we have more than our share, somebody else has less, and we give up the surplus. It tells whether
// something is left that is free.
func (l *leases) settle(ctx context.Context, holders [store.Partitions]string, mine, most int) (idle bool) {
	now := l.now()
	var want []int
	taken := true
	for p, holder := range holders {
		switch {
		case l.has(p):
			delete(l.free, p)
		case holder != "" && holder != l.holder:
			delete(l.free, p)
		default:
			taken = false
			since, seen := l.free[p]
			if !seen {
				since = now
				l.free[p] = since
			}
			if mine+len(want) < most || now.Sub(since) >= l.shown(idleFor) {
				want = append(want, p)
			} else {
				idle = true
			}
		}
	}
	if len(want) > 0 {
		l.acquire(ctx, want)
	} else if taken && mine > most {
		l.giveUp(mine - most)
	}
	return idle
}

func (l *leases) acquire(ctx context.Context, want []int) {
	asked := l.now()
	got, err := l.store.Acquire(ctx, l.holder, want, store.LeaseTTL)
	if err != nil {
		l.log.Debug("partitions not taken", "error", err)
	}
	if len(got) == 0 {
		return
	}
	var names []int
	l.mu.Lock()
	for _, g := range got {
		l.held[g.Partition] = &tenure{lease: g, gained: l.now(), until: asked.Add(l.shown(store.LeaseTTL))}
		delete(l.free, g.Partition)
		names = append(names, g.Partition)
	}
	l.mu.Unlock()
	l.log.Info("partitions taken", "partitions", names)
	l.gained()
}

// giveUp begins nothing new in some partitions, so that they can be given back.
func (l *leases) giveUp(n int) {
	l.mu.Lock()
	defer l.mu.Unlock()
	for p := store.Partitions - 1; p >= 0 && n > 0; p-- {
		if t := l.held[p]; t != nil && !t.left {
			t.left = true
			n--
		}
	}
}

// giveBack returns the partitions that are given up and have nothing in hand any more.
func (l *leases) giveBack(ctx context.Context) {
	all := l.list(func(t *tenure) bool { return t.left && t.busy == 0 })
	if len(all) == 0 {
		return
	}
	if err := l.store.Release(ctx, all); err != nil {
		l.log.Warn("partitions not given back, they run out", "error", err)
	}
	l.drop(all)
}

// release gives everything back.
func (l *leases) release(ctx context.Context) {
	all := l.list(func(*tenure) bool { return true })
	if len(all) > 0 {
		if err := l.store.Release(ctx, all); err != nil {
			l.log.Warn("partitions not given back, they run out", "error", err)
		}
	}
	l.drop(all)
	l.roster.leave(ctx)
}

func (l *leases) drop(all []store.Lease) {
	l.mu.Lock()
	defer l.mu.Unlock()
	for _, old := range all {
		if t := l.held[old.Partition]; t != nil && t.lease == old {
			delete(l.held, old.Partition)
		}
	}
}

func (l *leases) list(which func(*tenure) bool) []store.Lease {
	l.mu.Lock()
	defer l.mu.Unlock()
	var all []store.Lease
	for _, t := range l.held {
		if which(t) {
			all = append(all, t.lease)
		}
	}
	return all
}

func (l *leases) has(p int) bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.held[p] != nil
}

// open lists the partitions in which something may be begun now.
func (l *leases) open() []int {
	now := l.now()
	l.mu.Lock()
	defer l.mu.Unlock()
	var all []int
	for p, t := range l.held {
		if !t.left && now.Before(t.until) {
			all = append(all, p)
		}
	}
	slices.Sort(all)
	return all
}

// begin notes that a chat of the partition is in hand, if it may be; call end when it is not any more.
func (l *leases) begin(p int) (fence store.Fence, gained time.Time, ok bool) {
	now := l.now()
	l.mu.Lock()
	defer l.mu.Unlock()
	t := l.held[p]
	if t == nil || t.left || !now.Before(t.until) {
		return store.Fence{}, time.Time{}, false
	}
	t.busy++
	return t.lease.Fence, t.gained, true
}

func (l *leases) end(f store.Fence) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if t := l.held[f.Partition]; t != nil && t.lease.Fence == f {
		t.busy--
	}
}

// still tells whether what was begun under the fence may be sent.
func (l *leases) still(f store.Fence) bool {
	now := l.now()
	l.mu.Lock()
	defer l.mu.Unlock()
	t := l.held[f.Partition]
	return t != nil && t.lease.Fence == f && now.Before(t.until)
}

// lost notes that somebody else holds the partition.
func (l *leases) lost(f store.Fence) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if t := l.held[f.Partition]; t != nil && t.lease.Fence == f {
		l.log.Warn("partition lost", "partition", f.Partition)
		delete(l.held, f.Partition)
	}
}

package bot

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"slices"
	"time"

	"bagwatch/internal/kitchen"
	"bagwatch/internal/store"
)

// rosterChat is the number of the document in which the processes that share the work sign. No chat has
// it. The document is an ordinary one, so that whoever walks all documents can read it: each key it holds
// as applied is a process, with when it was last seen.
//
// Leases alone cannot tell of a process that holds none, which is what a new one is while others hold all
// partitions; hence the roster. It only decides who gives up what. If it is wrong, for clocks that are
// seconds apart or a store that is away, partitions are shared unevenly and are held all the same.
const rosterChat store.ChatID = 0

const (
	signEvery = 2 * time.Second
	// goneAfter is when a process that does not sign is not counted any more: before its leases run out,
	// so that its share is free to take by then.
	goneAfter = 6 * time.Second
)

// roster is who shares the work, as one process sees it. It is used by one goroutine.
type roster struct {
	store AlertStore
	me    kitchen.Key
	now   func() time.Time
	shown func(time.Duration) time.Duration
	log   *slog.Logger

	signed      time.Time
	rank, alive int
}

func newRoster(s AlertStore, holder string, now func() time.Time, shown func(time.Duration) time.Duration, log *slog.Logger) *roster {
	var d kitchen.Document
	d.MarkApplied(holder, now())
	return &roster{store: s, me: d.Keys[0], now: now, shown: shown, log: log, alive: 1}
}

// share is how many partitions are ours: all processes' shares add up to all partitions.
func (r *roster) share() int {
	n := store.Partitions / r.alive
	if r.rank < store.Partitions%r.alive {
		n++
	}
	return n
}

// again has the next refresh look, whenever the last one was.
func (r *roster) again() { r.signed = time.Time{} }

// refresh signs and looks who else did, every now and then. What goes wrong is made good the next time.
func (r *roster) refresh(ctx context.Context) {
	now := r.now()
	if gap := now.Sub(r.signed); !r.signed.IsZero() && gap >= 0 && gap < r.shown(signEvery) {
		return
	}
	switch err := r.sign(ctx, now, true); {
	case err == nil:
		r.signed = now
	case errors.Is(err, store.ErrConflict): // somebody else signed at the same moment
	case !errors.Is(err, store.ErrUnavailable): // which the store says itself
		r.log.Warn("roster not read", "error", err)
	}
}

// leave takes this process off the roster, so that the others need not wait.
func (r *roster) leave(ctx context.Context) {
	for range tries {
		if err := r.sign(ctx, r.now(), false); !errors.Is(err, store.ErrConflict) {
			return
		}
	}
}

func (r *roster) sign(ctx context.Context, now time.Time, present bool) error {
	var d kitchen.Document
	stored, err := r.store.Load(ctx, rosterChat)
	switch {
	case errors.Is(err, store.ErrNone):
	case err != nil:
		return err
	default:
		if d, err = kitchen.Decode(stored.Data); err != nil {
			return fmt.Errorf("read roster: %w", err)
		}
	}
	alive := slices.DeleteFunc(d.Keys, func(k kitchen.Key) bool {
		return k.Digest == r.me.Digest || now.Sub(k.At).Abs() > r.shown(goneAfter)
	})
	if present {
		r.me.At = now.UTC().Truncate(time.Second)
		alive = append(alive, r.me)
	}
	slices.SortFunc(alive, func(a, b kitchen.Key) int { return bytes.Compare(a.Digest[:], b.Digest[:]) })
	data, err := kitchen.Encode(kitchen.Document{Keys: alive})
	if err != nil {
		return fmt.Errorf("write roster: %w", err)
	}
	_, err = r.store.Save(ctx, rosterChat, store.Document{
		Revision: stored.Revision, Data: data, Expires: now.Add(goneAfter),
	}, store.Fence{})
	if err != nil || !present {
		return err
	}
	r.alive = max(len(alive), 1)
	r.rank = slices.IndexFunc(alive, func(k kitchen.Key) bool { return k.Digest == r.me.Digest })
	return nil
}

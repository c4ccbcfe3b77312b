package store_test

import (
	"context"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/internal/store"
)

// contract is what every store keeps; each test gets an empty one.
var contract = map[string]func(t *testing.T, r rig){
	"document comes back as saved":                       documentComesBackAsSaved,
	"save needs the stored revision":                     saveNeedsTheStoredRevision,
	"delete leaves nothing and old revisions stay dead":  deleteLeavesNothingAndOldRevisionsStayDead,
	"due lists oldest first of the partitions held":      dueListsOldestFirstOfThePartitionsHeld,
	"nothing falls due early":                            nothingFallsDueEarly,
	"expired documents go and never before their events": expiredDocumentsGoAndNeverBeforeTheirEvents,
	"one holder a partition and old ones are fenced":     oneHolderAPartitionAndOldOnesAreFenced,
	"nonsense is refused":                                nonsenseIsRefused,
	"scan visits every chat":                             scanVisitsEveryChat,
	"a cancelled caller gets its own error too":          aCancelledCallerGetsItsOwnErrorToo,
	"concurrent commits lose nothing":                    concurrentCommitsLoseNothing,
	"agrees with memory whatever happens":                agreesWithMemory,
}

func TestContract(t *testing.T) {
	for name, start := range backends() {
		t.Run(name, func(t *testing.T) {
			open := start(t)
			for name, test := range contract {
				t.Run(name, func(t *testing.T) { test(t, open(t)) })
			}
		})
	}
}

func documentComesBackAsSaved(t *testing.T, r rig) {
	ctx := t.Context()
	_, err := r.Load(ctx, 7)
	require.ErrorIs(t, err, store.ErrNone)

	next, expires := r.clock.Now().Add(90*time.Minute), r.clock.Now().Add(240*time.Hour)
	doc := store.Document{Data: []byte{0, 1, 0xff, '\r', '\n', 0x7f}, Next: next, Expires: expires}
	rev, err := r.Save(ctx, 7, doc, store.Fence{})
	require.NoError(t, err)
	require.NotZero(t, rev)

	doc.Revision = rev
	got, err := r.Load(ctx, 7)
	require.NoError(t, err)
	assert.Equal(t, doc, got)

	doc.Data, doc.Next, doc.Expires = nil, time.Time{}, time.Time{}
	rev2, err := r.Save(ctx, 7, doc, store.Fence{})
	require.NoError(t, err)
	assert.NotEqual(t, rev, rev2)
	got, err = r.Load(ctx, 7)
	require.NoError(t, err)
	assert.Empty(t, got.Data)
	assert.Zero(t, got.Next)
	assert.Zero(t, got.Expires)
	entries, later, err := r.Due(ctx, all(), next.Add(time.Hour), 10)
	require.NoError(t, err)
	assert.Empty(t, entries, "the due entry went with the commit")
	assert.Zero(t, later)
}

func saveNeedsTheStoredRevision(t *testing.T, r rig) {
	ctx := t.Context()
	now := r.clock.Now()
	first, err := r.Save(ctx, -100123, store.Document{Data: []byte("a"), Next: now}, store.Fence{})
	require.NoError(t, err)
	second, err := r.Save(ctx, -100123, store.Document{Revision: first, Data: []byte("b"), Next: now}, store.Fence{})
	require.NoError(t, err)
	for name, rev := range map[string]uint64{"new": 0, "outdated": first, "made up": second + 1} {
		_, err := r.Save(ctx, -100123, store.Document{Revision: rev, Data: []byte("x"), Next: now.Add(time.Hour)}, store.Fence{})
		require.ErrorIs(t, err, store.ErrConflict, name)
		require.ErrorIs(t, r.Delete(ctx, -100123, rev, store.Fence{}), store.ErrConflict, name)
	}
	got, err := r.Load(ctx, -100123)
	require.NoError(t, err)
	assert.Equal(t, []byte("b"), got.Data)
	entries, _, err := r.Due(ctx, all(), now, 10)
	require.NoError(t, err)
	assert.Equal(t, []store.DueEntry{{Chat: -100123, At: now}}, entries, "a refused commit leaves the due entry alone")

	_, err = r.Save(ctx, 5, store.Document{Revision: 99, Data: []byte("x")}, store.Fence{})
	require.ErrorIs(t, err, store.ErrConflict, "what does not exist has no revision")
}

func deleteLeavesNothingAndOldRevisionsStayDead(t *testing.T, r rig) {
	ctx := t.Context()
	rev, err := r.Save(ctx, 8, store.Document{Data: []byte("a"), Next: r.clock.Now()}, store.Fence{})
	require.NoError(t, err)
	require.NoError(t, r.Delete(ctx, 8, rev, store.Fence{}))
	require.NoError(t, r.Delete(ctx, 8, rev, store.Fence{}), "gone already is gone")
	_, err = r.Load(ctx, 8)
	require.ErrorIs(t, err, store.ErrNone)
	entries, _, err := r.Due(ctx, all(), r.clock.Now(), 10)
	require.NoError(t, err)
	assert.Empty(t, entries)

	_, err = r.Save(ctx, 8, store.Document{Data: []byte("anew")}, store.Fence{})
	require.NoError(t, err)
	_, err = r.Save(ctx, 8, store.Document{Revision: rev, Data: []byte("late")}, store.Fence{})
	require.ErrorIs(t, err, store.ErrConflict, "a reader from before the deletion")
	require.ErrorIs(t, r.Delete(ctx, 8, rev, store.Fence{}), store.ErrConflict)
	got, err := r.Load(ctx, 8)
	require.NoError(t, err)
	assert.Equal(t, []byte("anew"), got.Data)
}

func dueListsOldestFirstOfThePartitionsHeld(t *testing.T, r rig) {
	ctx, now := t.Context(), r.clock.Now()
	parts := map[int]bool{}
	for i := range 40 {
		chat := store.ChatID(1000 + i)
		parts[store.Partition(chat)] = true
		_, err := r.Save(ctx, chat, store.Document{Next: now.Add(time.Duration(i) * time.Minute)}, store.Fence{})
		require.NoError(t, err)
	}
	require.Greater(t, len(parts), 8, "the chats spread over the partitions")

	entries, next, err := r.Due(ctx, all(), now.Add(9*time.Minute), 100)
	require.NoError(t, err)
	require.Len(t, entries, 10)
	for i, e := range entries {
		assert.Equal(t, store.DueEntry{Chat: store.ChatID(1000 + i), At: now.Add(time.Duration(i) * time.Minute)}, e)
	}
	assert.Equal(t, now.Add(10*time.Minute), next)

	entries, next, err = r.Due(ctx, all(), now.Add(9*time.Minute), 4)
	require.NoError(t, err)
	require.Len(t, entries, 4)
	assert.Equal(t, now.Add(4*time.Minute), next, "more are due: next is not after now")

	entries, next, err = r.Due(ctx, []int{store.Partition(1003)}, now.Add(3*time.Minute), 100)
	require.NoError(t, err)
	assert.Contains(t, entries, store.DueEntry{Chat: 1003, At: now.Add(3 * time.Minute)})
	for _, e := range entries {
		assert.Equal(t, store.Partition(1003), store.Partition(e.Chat))
	}
	if !next.IsZero() {
		assert.True(t, next.After(now.Add(3*time.Minute)))
	}
	entries, next, err = r.Due(ctx, nil, now.Add(time.Hour), 100)
	require.NoError(t, err)
	assert.Empty(t, entries)
	assert.Zero(t, next)
}

func nothingFallsDueEarly(t *testing.T, r rig) {
	ctx := t.Context()
	at := r.clock.Now().Add(1500 * time.Microsecond) // between two milliseconds
	_, err := r.Save(ctx, 3, store.Document{Next: at}, store.Fence{})
	require.NoError(t, err)
	entries, next, err := r.Due(ctx, all(), at.Add(-time.Microsecond), 1)
	require.NoError(t, err)
	assert.Empty(t, entries)
	assert.False(t, next.Before(at), "rounded up")
	entries, _, err = r.Due(ctx, all(), next, 1)
	require.NoError(t, err)
	assert.Len(t, entries, 1)
}

func expiredDocumentsGoAndNeverBeforeTheirEvents(t *testing.T, r rig) {
	ctx, now := t.Context(), r.clock.Now()
	save := func(chat store.ChatID, next, expires time.Time) {
		_, err := r.Save(ctx, chat, store.Document{Data: []byte("d"), Next: next, Expires: expires}, store.Fence{})
		require.NoError(t, err)
	}
	save(1, time.Time{}, now.Add(5*time.Hour))
	save(2, now.Add(10*time.Hour), now.Add(2*time.Hour)) // its event is later
	save(3, time.Time{}, now.Add(-time.Hour))            // the clock had jumped
	save(4, time.Time{}, time.Time{})
	there := func() (chats []store.ChatID) {
		for _, chat := range []store.ChatID{1, 2, 3, 4} {
			if _, err := r.Load(ctx, chat); err == nil {
				chats = append(chats, chat)
			} else {
				require.ErrorIs(t, err, store.ErrNone)
			}
		}
		return chats
	}
	assert.Equal(t, []store.ChatID{1, 2, 3, 4}, there())
	r.pass(t, 90*time.Minute) // MinKeep and 30 min, longer than any test runs
	assert.Equal(t, []store.ChatID{1, 2, 4}, there())
	r.pass(t, 4*time.Hour)
	assert.Equal(t, []store.ChatID{2, 4}, there())
	r.pass(t, 5*time.Hour)
	assert.Equal(t, []store.ChatID{2, 4}, there(), "due since half an hour, still there to be told")
	r.pass(t, time.Hour)
	assert.Equal(t, []store.ChatID{4}, there())

	entries, _, err := r.Due(ctx, all(), r.clock.Now(), 10)
	require.NoError(t, err)
	require.Equal(t, []store.DueEntry{{Chat: 2, At: now.Add(10 * time.Hour)}}, entries, "the list may be stale")
	require.NoError(t, r.Delete(ctx, 2, 0, store.Fence{}), "and is cleared so")
	entries, _, err = r.Due(ctx, all(), r.clock.Now(), 10)
	require.NoError(t, err)
	assert.Empty(t, entries)

	_, err = r.Save(ctx, 1, store.Document{Data: []byte("anew")}, store.Fence{})
	require.NoError(t, err, "expired means absent")
}

func oneHolderAPartitionAndOldOnesAreFenced(t *testing.T, r rig) {
	ctx := t.Context()
	const chat = 4711
	p := store.Partition(chat)
	ttl := time.Hour // long against what a test takes
	a, err := r.Acquire(ctx, "a", all(), ttl)
	require.NoError(t, err)
	require.Len(t, a, store.Partitions)
	b, err := r.Acquire(ctx, "b", all(), ttl)
	require.NoError(t, err)
	require.Empty(t, b)
	rev, err := r.Save(ctx, chat, store.Document{Data: []byte("a")}, a[p].Fence)
	require.NoError(t, err)

	r.pass(t, ttl+ttl/2)
	rev, err = r.Save(ctx, chat, store.Document{Revision: rev, Data: []byte("still a")}, a[p].Fence)
	require.NoError(t, err, "ran out, yet nobody took over")
	kept, err := r.Renew(ctx, a[p:p+1], ttl)
	require.NoError(t, err)
	require.Equal(t, a[p:p+1], kept)
	b, err = r.Acquire(ctx, "b", all(), ttl)
	require.NoError(t, err)
	require.Len(t, b, store.Partitions-1, "all but the renewed one")

	r.pass(t, ttl+ttl/2)
	b, err = r.Acquire(ctx, "b", []int{p}, ttl)
	require.NoError(t, err)
	require.Len(t, b, 1)
	assert.Greater(t, b[0].Epoch, a[p].Epoch)
	_, err = r.Save(ctx, chat, store.Document{Revision: rev, Data: []byte("late")}, a[p].Fence)
	require.ErrorIs(t, err, store.ErrFenced)
	require.ErrorIs(t, r.Delete(ctx, chat, rev, a[p].Fence), store.ErrFenced)
	kept, err = r.Renew(ctx, a[p:p+1], ttl)
	require.NoError(t, err)
	require.Empty(t, kept, "lost")
	require.NoError(t, r.Release(ctx, a[p:p+1]), "not a's any more: no effect")
	names, err := r.Holders(ctx)
	require.NoError(t, err)
	assert.Equal(t, "b", names[p])
	_, err = r.Save(ctx, chat, store.Document{Revision: rev, Data: []byte("anybody")}, store.Fence{})
	require.NoError(t, err, "a message commits without a lease")

	require.NoError(t, r.Release(ctx, b))
	_, err = r.Save(ctx, chat, store.Document{Revision: rev}, b[0].Fence)
	require.ErrorIs(t, err, store.ErrFenced, "released means over")
	again, err := r.Acquire(ctx, "a", []int{p}, ttl)
	require.NoError(t, err)
	require.Len(t, again, 1, "at once after a release")
	twice, err := r.Acquire(ctx, "a", []int{p}, ttl)
	require.NoError(t, err)
	require.Len(t, twice, 1, "the holder itself may ask again, as after a lost answer")
	assert.Greater(t, twice[0].Epoch, again[0].Epoch)
}

func nonsenseIsRefused(t *testing.T, r rig) {
	ctx := t.Context()
	_, err := r.Save(ctx, 1, store.Document{Next: time.Unix(-5, 0)}, store.Fence{})
	assert.ErrorContains(t, err, "before 1970")
	other := store.Fence{Partition: (store.Partition(1) + 1) % store.Partitions, Epoch: 1}
	_, err = r.Save(ctx, 1, store.Document{}, other)
	assert.ErrorContains(t, err, "another partition")
	assert.ErrorContains(t, r.Delete(ctx, 1, 0, other), "another partition")
	_, _, err = r.Due(ctx, []int{16}, r.clock.Now(), 1)
	assert.ErrorContains(t, err, "no such partition")
	_, _, err = r.Due(ctx, all(), r.clock.Now(), 0)
	assert.ErrorContains(t, err, "limit")
	_, err = r.Acquire(ctx, "", all(), time.Second)
	assert.ErrorContains(t, err, "holder")
	_, err = r.Acquire(ctx, "a", []int{-1}, time.Second)
	assert.ErrorContains(t, err, "no such partition")
	_, err = r.Load(ctx, 1)
	assert.ErrorIs(t, err, store.ErrNone, "nothing was written")
}

func scanVisitsEveryChat(t *testing.T, r rig) {
	ctx := t.Context()
	want := map[store.ChatID]bool{}
	for i := range 2500 { // more than two pages
		chat := store.ChatID(i*7919 - 9_000_000)
		want[chat] = true
		_, err := r.Save(ctx, chat, store.Document{Next: r.clock.Now()}, store.Fence{})
		require.NoError(t, err)
	}
	_, err := r.Acquire(ctx, "a", all(), time.Hour) // keys that are no documents
	require.NoError(t, err)
	got := map[store.ChatID]bool{}
	require.NoError(t, r.Scan(ctx, func(chat store.ChatID) error {
		got[chat] = true
		_, err := r.Load(ctx, chat)
		return err
	}))
	assert.Equal(t, want, got)
	assert.ErrorIs(t, r.Scan(ctx, func(store.ChatID) error { return assert.AnError }), assert.AnError)
}

func aCancelledCallerGetsItsOwnErrorToo(t *testing.T, r rig) {
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	_, err := r.Load(ctx, 1)
	require.ErrorIs(t, err, store.ErrUnavailable)
	require.ErrorIs(t, err, context.Canceled)
	_, err = r.Save(ctx, 1, store.Document{}, store.Fence{})
	require.ErrorIs(t, err, store.ErrUnavailable)
}

func concurrentCommitsLoseNothing(t *testing.T, r rig) {
	const workers, each = 8, 25
	var wg sync.WaitGroup
	for range workers {
		wg.Go(func() {
			for done := 0; done < each; {
				doc, err := r.Load(t.Context(), 1)
				if err != nil && !assert.ErrorIs(t, err, store.ErrNone) {
					return
				}
				doc.Data = append(doc.Data, 'x')
				if _, err = r.Save(t.Context(), 1, doc, store.Fence{}); err == nil {
					done++
				} else if !assert.ErrorIs(t, err, store.ErrConflict) {
					return
				}
			}
		})
	}
	wg.Wait()
	doc, err := r.Load(t.Context(), 1)
	require.NoError(t, err)
	assert.Len(t, doc.Data, workers*each)
}

func TestPartitionsAreFixedForEver(t *testing.T) {
	// CRC-32 of the decimal id modulo 16, computed with Python's zlib.crc32.
	for chat, want := range map[store.ChatID]int{1: 7, 123456789: 6, -1001234567890: 5} {
		assert.Equal(t, want, store.Partition(chat), "chat %d", chat)
	}
	var count [store.Partitions]int
	const n = 16000
	for i := range n {
		count[store.Partition(store.ChatID(-1002000000000-3*i))]++
	}
	for p, c := range count {
		// A fair spread has a standard deviation of 31 about 1000; 5 of them.
		assert.InDelta(t, n/store.Partitions, c, 155, "partition %d", p)
	}
}

package store_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"bagwatch/internal/store"
)

// agreesWithMemory does random things to the store and to a Memory beside it, and
// compares every answer. Revisions differ between the two, so the test keeps pairs.
// Chats are few, so that conflicts happen; times are whole minutes with lives that end
// on half minutes, so that the seconds the test itself takes decide nothing.
func agreesWithMemory(t *testing.T, r rig) {
	chats := []store.ChatID{1, 2, 3, -1001, -1002}
	rapid.Check(t, func(rt *rapid.T) {
		m := &machine{
			t: rt, ctx: t.Context(), real: r, chats: chats,
			oracle: store.NewMemory(r.clock.Now), revisions: map[store.ChatID][]pair{}, leases: []leasePair{{}},
		}
		m.clean()
		rt.Repeat(map[string]func(*rapid.T){
			"save": m.save, "delete": m.delete, "time": m.time, "acquire": m.acquire,
			"renew": m.renew, "release": m.release, "due": m.due, "": m.compare,
		})
	})
}

type pair struct{ real, oracle uint64 } // revisions of the same commit

type leasePair struct{ real, oracle store.Lease }

type machine struct {
	t         *rapid.T
	ctx       context.Context
	real      rig
	oracle    *store.Memory
	chats     []store.ChatID
	revisions map[store.ChatID][]pair // all ever seen, newest last
	leases    []leasePair             // all ever held; the first is none
}

// clean empties the store, which earlier rounds used.
func (m *machine) clean() {
	for _, chat := range m.chats {
		doc, err := m.real.Load(m.ctx, chat)
		if !errors.Is(err, store.ErrNone) {
			require.NoError(m.t, err)
		}
		require.NoError(m.t, m.real.Delete(m.ctx, chat, doc.Revision, store.Fence{}))
	}
	m.real.pass(m.t, 1000*time.Hour) // leases run out
}

// kind is the contract's error behind err.
func kind(err error) error {
	for _, k := range []error{store.ErrNone, store.ErrConflict, store.ErrFenced, store.ErrUnavailable} {
		if errors.Is(err, k) {
			return k
		}
	}
	return err
}

func (m *machine) same(what string, real, oracle error) {
	require.Equal(m.t, kind(oracle), kind(real), "%s: memory said %v, the store %v", what, oracle, real)
}

// revision draws the newest, an older or no revision of the chat.
func (m *machine) revision(t *rapid.T, chat store.ChatID) pair {
	known := append([]pair{{}}, m.revisions[chat]...)
	if rapid.IntRange(0, 3).Draw(t, "how old") > 0 {
		return known[len(known)-1]
	}
	return rapid.SampledFrom(known).Draw(t, "revision")
}

// fence draws none or one that was held for the chat's partition, in force or not.
func (m *machine) fence(t *rapid.T, chat store.ChatID) (real, oracle store.Fence) {
	l := rapid.SampledFrom(m.leases).Draw(t, "fence")
	if l.real.Holder == "" || l.real.Partition != store.Partition(chat) {
		return store.Fence{}, store.Fence{}
	}
	return l.real.Fence, l.oracle.Fence
}

func (m *machine) when(t *rapid.T, label string, offset time.Duration) time.Time {
	if rapid.IntRange(0, 2).Draw(t, label+" never") == 0 {
		return time.Time{}
	}
	return m.real.clock.Now().Add(time.Duration(rapid.IntRange(-300, 300).Draw(t, label))*time.Minute + offset)
}

func (m *machine) save(t *rapid.T) {
	chat := rapid.SampledFrom(m.chats).Draw(t, "chat")
	rev := m.revision(t, chat)
	realFence, oracleFence := m.fence(t, chat)
	doc := store.Document{
		Data: rapid.SliceOfN(rapid.Byte(), 0, 40).Draw(t, "data"),
		Next: m.when(t, "next", 30*time.Second), Expires: m.when(t, "expires", 30*time.Second),
	}
	realDoc, oracleDoc := doc, doc
	realDoc.Revision, oracleDoc.Revision = rev.real, rev.oracle
	a, errA := m.real.Save(m.ctx, chat, realDoc, realFence)
	b, errB := m.oracle.Save(m.ctx, chat, oracleDoc, oracleFence)
	m.same("save", errA, errB)
	if errA == nil {
		m.revisions[chat] = append(m.revisions[chat], pair{a, b})
	}
}

func (m *machine) delete(t *rapid.T) {
	chat := rapid.SampledFrom(m.chats).Draw(t, "chat")
	rev := m.revision(t, chat)
	realFence, oracleFence := m.fence(t, chat)
	m.same("delete", m.real.Delete(m.ctx, chat, rev.real, realFence), m.oracle.Delete(m.ctx, chat, rev.oracle, oracleFence))
}

// time lets time pass, for the process and the server alike.
func (m *machine) time(t *rapid.T) {
	d := time.Duration(rapid.IntRange(1, 400).Draw(t, "minutes")) * time.Minute
	m.real.pass(t, d)
}

func (m *machine) acquire(t *rapid.T) {
	holder := rapid.SampledFrom([]string{"a", "b"}).Draw(t, "holder")
	parts := []int{store.Partition(rapid.SampledFrom(m.chats).Draw(t, "partition of"))}
	ttl := time.Duration(rapid.IntRange(1, 200).Draw(t, "ttl"))*time.Minute + 30*time.Second
	a, errA := m.real.Acquire(m.ctx, holder, parts, ttl)
	b, errB := m.oracle.Acquire(m.ctx, holder, parts, ttl)
	m.same("acquire", errA, errB)
	require.Len(t, a, len(b))
	for i := range a {
		require.Equal(t, b[i].Partition, a[i].Partition)
		m.leases = append(m.leases, leasePair{a[i], b[i]})
	}
}

func (m *machine) renew(t *rapid.T) {
	l := rapid.SampledFrom(m.leases).Draw(t, "lease")
	if l.real.Holder == "" {
		return
	}
	ttl := time.Duration(rapid.IntRange(1, 200).Draw(t, "ttl"))*time.Minute + 30*time.Second
	a, errA := m.real.Renew(m.ctx, []store.Lease{l.real}, ttl)
	b, errB := m.oracle.Renew(m.ctx, []store.Lease{l.oracle}, ttl)
	m.same("renew", errA, errB)
	require.Len(t, a, len(b))
}

func (m *machine) release(t *rapid.T) {
	l := rapid.SampledFrom(m.leases).Draw(t, "lease")
	if l.real.Holder == "" {
		return
	}
	m.same("release", m.real.Release(m.ctx, []store.Lease{l.real}), m.oracle.Release(m.ctx, []store.Lease{l.oracle}))
}

func (m *machine) due(t *rapid.T) {
	var parts []int
	for _, chat := range m.chats {
		if p := store.Partition(chat); rapid.Bool().Draw(t, fmt.Sprint("hold ", p)) && !slices.Contains(parts, p) {
			parts = append(parts, p)
		}
	}
	// The asker's clock may be off by hours either way.
	now := m.real.clock.Now().Add(time.Duration(rapid.IntRange(-500, 500).Draw(t, "jump")) * time.Minute)
	limit := rapid.IntRange(1, 6).Draw(t, "limit")
	a, nextA, errA := m.real.Due(m.ctx, parts, now, limit)
	b, nextB, errB := m.oracle.Due(m.ctx, parts, now, limit)
	m.same("due", errA, errB)
	require.Equal(t, b, a)
	require.Equal(t, nextB, nextA)
}

// compare looks at everything after each step.
func (m *machine) compare(t *rapid.T) {
	for _, chat := range m.chats {
		a, errA := m.real.Load(m.ctx, chat)
		b, errB := m.oracle.Load(m.ctx, chat)
		m.same("load", errA, errB)
		if errA != nil {
			continue
		}
		newest := m.revisions[chat][len(m.revisions[chat])-1]
		require.Equal(t, newest, pair{a.Revision, b.Revision})
		require.True(t, bytes.Equal(a.Data, b.Data))
		require.Equal(t, b.Next, a.Next)
		require.Equal(t, b.Expires, a.Expires)
	}
	far := m.real.clock.Now().Add(10000 * time.Hour)
	a, _, errA := m.real.Due(m.ctx, all(), far, 100)
	b, _, errB := m.oracle.Due(m.ctx, all(), far, 100)
	m.same("due", errA, errB)
	require.Equal(t, b, a, "the whole due list")
	namesA, errA := m.real.Holders(m.ctx)
	namesB, errB := m.oracle.Holders(m.ctx)
	m.same("holders", errA, errB)
	require.Equal(t, namesB, namesA)
}

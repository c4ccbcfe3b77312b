package store

import (
	"bytes"
	"context"
	"fmt"
	"sync"
	"time"
)

// Memory is a store inside the process: it forgets everything at exit. It is safe for
// concurrent use and plain on purpose (Due looks at every document), since it serves
// one kitchen at a time and judges [Redis] in the tests.
type Memory struct {
	now func() time.Time

	mu     sync.Mutex
	docs   map[ChatID]memoryDoc
	due    map[ChatID]int64 // unix ms; may outlive its document, as it may in Redis
	leases [Partitions]memoryLease
}

type memoryDoc struct {
	Document
	gone time.Time // dropped from then on; zero: never
}

type memoryLease struct {
	epoch  uint64
	holder string
	until  time.Time
}

// NewMemory makes an empty store that tells the time by now.
func NewMemory(now func() time.Time) *Memory {
	return &Memory{now: now, docs: map[ChatID]memoryDoc{}, due: map[ChatID]int64{}}
}

// Load reads the document of a chat, or [ErrNone].
func (m *Memory) Load(ctx context.Context, chat ChatID) (Document, error) {
	if err := ctx.Err(); err != nil {
		return Document{}, fmt.Errorf("load chat %d: %w: %w", chat, ErrUnavailable, err)
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	d, ok := m.get(chat)
	if !ok {
		return Document{}, fmt.Errorf("load chat %d: %w", chat, ErrNone)
	}
	d.Data = bytes.Clone(d.Data)
	return d, nil
}

// get is the document unless it is past its keeping. The caller holds the lock.
func (m *Memory) get(chat ChatID) (Document, bool) {
	d, ok := m.docs[chat]
	if ok && !d.gone.IsZero() && !m.now().Before(d.gone) {
		delete(m.docs, chat)
		return Document{}, false
	}
	return d.Document, ok
}

// Save commits doc if the stored document is still at doc.Revision (0: does not exist)
// and fence, if any, is of the newest lease. It returns the new revision, or
// [ErrConflict] or [ErrFenced] with nothing written.
func (m *Memory) Save(ctx context.Context, chat ChatID, doc Document, fence Fence) (uint64, error) {
	next, expires, err := stamps(doc)
	if err == nil {
		err = fence.check(chat)
	}
	if err != nil {
		return 0, fmt.Errorf("save chat %d: %w", chat, err)
	}
	if err := ctx.Err(); err != nil {
		return 0, fmt.Errorf("save chat %d: %w: %w", chat, ErrUnavailable, err)
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.fenced(fence) {
		return 0, fmt.Errorf("save chat %d: %w", chat, ErrFenced)
	}
	old, _ := m.get(chat) // the zero Document has revision 0
	if old.Revision != doc.Revision {
		return 0, fmt.Errorf("save chat %d: %w", chat, ErrConflict)
	}
	now := m.now()
	kept := memoryDoc{Document: Document{
		Revision: newRevision(), Data: bytes.Clone(doc.Data), Next: fromMillis(next), Expires: fromMillis(expires),
	}}
	if keep := keepFor(next, expires, now); keep > 0 {
		kept.gone = now.Add(time.Duration(keep) * time.Millisecond)
	}
	m.docs[chat] = kept
	delete(m.due, chat)
	if next != 0 {
		m.due[chat] = next
	}
	return kept.Revision, nil
}

// fenced tells whether the fence is out of date. The caller holds the lock.
func (m *Memory) fenced(f Fence) bool {
	return f != (Fence{}) && m.leases[f.Partition].epoch != f.Epoch
}

// Delete removes the document at the revision named, with its due entry and without a
// trace. A document that is gone already is a success, so revision 0 only clears a due
// entry that outlived its document.
func (m *Memory) Delete(ctx context.Context, chat ChatID, revision uint64, fence Fence) error {
	if err := fence.check(chat); err != nil {
		return fmt.Errorf("delete chat %d: %w", chat, err)
	}
	if err := ctx.Err(); err != nil {
		return fmt.Errorf("delete chat %d: %w: %w", chat, ErrUnavailable, err)
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.fenced(fence) {
		return fmt.Errorf("delete chat %d: %w", chat, ErrFenced)
	}
	if old, ok := m.get(chat); ok && old.Revision != revision {
		return fmt.Errorf("delete chat %d: %w", chat, ErrConflict)
	}
	delete(m.docs, chat)
	delete(m.due, chat)
	return nil
}

// Due lists the chats of the partitions whose next event is at or before now, oldest
// first and at most limit of them, and when the first of the others falls due (the
// zero time: never; not after now: there are more, ask again).
func (m *Memory) Due(ctx context.Context, partitions []int, now time.Time, limit int) ([]DueEntry, time.Time, error) {
	if err := checkDue(partitions, limit); err != nil {
		return nil, time.Time{}, fmt.Errorf("list due: %w", err)
	}
	if err := ctx.Err(); err != nil {
		return nil, time.Time{}, fmt.Errorf("list due: %w: %w", ErrUnavailable, err)
	}
	var held [Partitions]bool
	for _, p := range partitions {
		held[p] = true
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	var entries []DueEntry
	var next time.Time
	for chat, ms := range m.due {
		switch {
		case !held[Partition(chat)]:
		case ms <= now.UnixMilli():
			entries = append(entries, DueEntry{chat, fromMillis(ms)})
		default:
			next = earliest(next, fromMillis(ms))
		}
	}
	entries, next = cut(entries, next, limit)
	return entries, next, nil
}

// Acquire takes the leases of those partitions that are free, or held by this holder
// already, for ttl, and returns the leases gained; the others belong to somebody else.
func (m *Memory) Acquire(ctx context.Context, holder string, partitions []int, ttl time.Duration) ([]Lease, error) {
	if err := checkLease(holder, partitions, ttl); err != nil {
		return nil, fmt.Errorf("acquire leases: %w", err)
	}
	if err := ctx.Err(); err != nil {
		return nil, fmt.Errorf("acquire leases: %w: %w", ErrUnavailable, err)
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	now := m.now()
	var got []Lease
	for _, p := range partitions {
		l := &m.leases[p]
		if l.holder != "" && l.holder != holder && now.Before(l.until) {
			continue
		}
		*l = memoryLease{epoch: l.epoch + 1, holder: holder, until: now.Add(ttl)}
		got = append(got, Lease{Fence{p, l.epoch}, holder})
	}
	return got, nil
}

// Renew extends the leases by ttl from now and returns those still held, even if they
// had run out, as long as nobody else took them. A lease that is missing from the
// answer is lost.
func (m *Memory) Renew(ctx context.Context, leases []Lease, ttl time.Duration) ([]Lease, error) {
	if err := checkHeld(leases, ttl); err != nil {
		return nil, fmt.Errorf("renew leases: %w", err)
	}
	if err := ctx.Err(); err != nil {
		return nil, fmt.Errorf("renew leases: %w: %w", ErrUnavailable, err)
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	var kept []Lease
	for _, lease := range leases {
		if l := &m.leases[lease.Partition]; l.epoch == lease.Epoch {
			l.holder, l.until = lease.Holder, m.now().Add(ttl)
			kept = append(kept, lease)
		}
	}
	return kept, nil
}

// Release gives the leases back, so that another can take them at once, and fences
// whatever was still to be committed under them. Leases lost already are passed over.
func (m *Memory) Release(ctx context.Context, leases []Lease) error {
	if err := checkHeld(leases, time.Second); err != nil {
		return fmt.Errorf("release leases: %w", err)
	}
	if err := ctx.Err(); err != nil {
		return fmt.Errorf("release leases: %w: %w", ErrUnavailable, err)
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	for _, lease := range leases {
		if l := &m.leases[lease.Partition]; l.epoch == lease.Epoch {
			*l = memoryLease{epoch: l.epoch + 1}
		}
	}
	return nil
}

// Holders names who holds each partition, "" for nobody.
func (m *Memory) Holders(ctx context.Context) ([Partitions]string, error) {
	var names [Partitions]string
	if err := ctx.Err(); err != nil {
		return names, fmt.Errorf("list holders: %w: %w", ErrUnavailable, err)
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	for p, l := range m.leases {
		if m.now().Before(l.until) {
			names[p] = l.holder
		}
	}
	return names, nil
}

// Scan calls visit for every chat that has a document, in no order, and stops at its
// first error. Chats that come or go meanwhile may or may not be seen. visit may use
// the store.
func (m *Memory) Scan(ctx context.Context, visit func(ChatID) error) error {
	m.mu.Lock()
	var chats []ChatID
	for chat := range m.docs {
		if _, ok := m.get(chat); ok {
			chats = append(chats, chat)
		}
	}
	m.mu.Unlock()
	for _, chat := range chats {
		if err := ctx.Err(); err != nil {
			return fmt.Errorf("scan chats: %w: %w", ErrUnavailable, err)
		}
		if err := visit(chat); err != nil {
			return err
		}
	}
	return nil
}

// Rotate has nothing to do: nothing is encrypted in memory.
func (m *Memory) Rotate(context.Context) (int, error) { return 0, nil }

// Check says what [ErrVolatile] says: memory does not survive.
func (m *Memory) Check(context.Context) (Health, error) {
	return Health{Problems: []string{"documents are kept in memory only and end with the process"}},
		fmt.Errorf("check memory: %w", ErrVolatile)
}

// Ping always succeeds.
func (m *Memory) Ping(context.Context) error { return nil }

// Close does nothing; the documents stay readable.
func (m *Memory) Close() error { return nil }

// Package store keeps one document per chat and the list of what falls due when.
//
// A document is opaque bytes with three things around it that the store understands:
// a revision (compare-and-set: a save names the revision it was computed from), the
// time of its next event (the due list) and the time after which it may be dropped.
// Chats are spread over [Partitions] partitions, fixed for ever. Whoever carries out
// what falls due in a partition holds its lease; each new lease has a higher epoch,
// and a commit that names an old epoch is refused.
//
// [Memory] keeps everything in the process and is the oracle of the tests; [Redis]
// survives. Both have the same methods and the same contract:
//
//   - A commit is all or nothing: document, due entry and lifetime change together.
//   - Times are kept in whole milliseconds, rounded up, so nothing falls due early.
//   - A document that cannot be read is an error ([ErrKey], [ErrCorrupt]), never absent.
//   - [ErrUnavailable] means the outcome is not known: reload before deciding. The
//     commit was applied whole or not at all.
//
// Start with [Open] or [NewMemory]; keys.go lists every Redis key and save.lua is the
// one script that changes a document.
package store

import (
	"cmp"
	"crypto/rand"
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"slices"
	"strconv"
	"time"
)

// Partitions is the number of partitions. It is part of the stored format: changing
// it would orphan every document.
const Partitions = 16

// LeaseTTL is the suggested life of a lease. A holder that renews every third of it
// and a rival that tries once a second change over within 10 s of a crash: 8 s, plus
// up to a second until the next try, plus the call.
const LeaseTTL = 8 * time.Second

// MinKeep is the least time a document is kept after a save and after its next event,
// whatever its Expires says: a clock that jumped must not delete what was just saved,
// nor what still has to be told.
const MinKeep = time.Hour

// ChatID names a chat as the messenger does; groups are negative on Telegram.
type ChatID int64

// String is the decimal id, the form used in keys and in the due list.
func (c ChatID) String() string { return strconv.FormatInt(int64(c), 10) }

// Document is what is stored for one chat.
type Document struct {
	// Revision names this state of the document. It is an opaque non-zero number:
	// compare it for equality only, it does not count up. Zero means "does not exist".
	Revision uint64
	// Data is the content, opaque to the store.
	Data []byte
	// Next is when the chat must be looked at again; the zero time means never.
	Next time.Time
	// Expires is when the document may be dropped; the zero time means never. It is
	// kept a little longer when [MinKeep] says so.
	Expires time.Time
}

// DueEntry is one line of the due list. The list can be stale by the time it is read:
// load the document and decide by it.
type DueEntry struct {
	Chat ChatID
	At   time.Time
}

// Fence ties a commit to the lease it was decided under. The zero Fence is no fence:
// anybody may commit, and the revision alone decides.
type Fence struct {
	Partition int
	Epoch     uint64
}

// Lease is the right to carry out what falls due in one partition. Its holder has it
// for the ttl counted from before it asked; after that it must stop, renewed or not.
type Lease struct {
	Fence
	// Holder names the process, unique for each start of it. Operators see it.
	Holder string
}

var (
	// ErrNone reports that there is no document for the chat.
	ErrNone = errors.New("store: no document")
	// ErrConflict reports that the document is no longer at the revision named:
	// load it again and recompute. Nothing was written.
	ErrConflict = errors.New("store: document changed meanwhile")
	// ErrFenced reports that the partition's lease has a newer epoch: stop acting for
	// it. Nothing was written.
	ErrFenced = errors.New("store: partition has a newer holder")
	// ErrUnavailable reports that the store did not answer as it should. Whether a
	// commit was applied is not known; it was not applied in part.
	ErrUnavailable = errors.New("store: unavailable")
	// ErrKey reports a document that no configured data key opens.
	ErrKey = errors.New("store: no data key opens this document")
	// ErrCorrupt reports a stored value that is no document of a known format.
	ErrCorrupt = errors.New("store: stored value is not a known format")
	// ErrVolatile reports a store that may lose what it acknowledged; see [Health].
	ErrVolatile = errors.New("store: may lose acknowledged changes")
	// ErrVersion reports a server that is too old.
	ErrVersion = errors.New("store: server is too old")

	errTime      = errors.New("store: time before 1970 or after the year 200000")
	errFence     = errors.New("store: fence of another partition")
	errPartition = errors.New("store: no such partition")
	errHolder    = errors.New("store: a lease needs a holder and a ttl of at least a millisecond")
	errLimit     = errors.New("store: limit not positive")
)

// Partition is the partition of a chat: CRC-32 (IEEE 802.3, the one of zlib and gzip)
// of the decimal id, modulo [Partitions]. With Python: zlib.crc32(b"-100123") % 16.
// It is part of the stored format.
func Partition(chat ChatID) int {
	return int(crc32.ChecksumIEEE(strconv.AppendInt(nil, int64(chat), 10)) % Partitions)
}

// check tells whether the fence may be used for the chat at all.
func (f Fence) check(chat ChatID) error {
	if f != (Fence{}) && f.Partition != Partition(chat) {
		return errFence
	}
	return nil
}

// newRevision draws a revision. Revisions are random rather than counted for three
// reasons: a commit whose answer was lost can be sent again and recognises itself, a
// document that was deleted and made anew never carries a revision that an old reader
// still holds, and 64 of the 96 bits of the cipher's nonce come for nothing.
func newRevision() uint64 {
	var b [8]byte
	for {
		rand.Read(b[:]) // documented never to fail
		if r := binary.BigEndian.Uint64(b[:]); r != 0 {
			return r
		}
	}
}

// maxMillis keeps scores exact in a float64 (2^53).
const maxMillis = 1 << 53

// millis is t in Unix milliseconds rounded up, and 0 for the zero time.
func millis(t time.Time) (int64, error) {
	if t.IsZero() {
		return 0, nil
	}
	ms := t.UnixMilli()
	if t.After(time.UnixMilli(ms)) {
		ms++
	}
	if ms <= 0 || ms >= maxMillis {
		return 0, errTime
	}
	return ms, nil
}

// fromMillis undoes millis, in UTC.
func fromMillis(ms int64) time.Time {
	if ms == 0 {
		return time.Time{}
	}
	return time.UnixMilli(ms).UTC()
}

// keepFor is how long a document saved now is kept, in milliseconds; 0 means for ever.
func keepFor(next, expires int64, now time.Time) int64 {
	if expires == 0 {
		return 0
	}
	keep := max(expires-now.UnixMilli(), MinKeep.Milliseconds())
	if next != 0 {
		keep = max(keep, next-now.UnixMilli()+MinKeep.Milliseconds())
	}
	return keep
}

// stamps are the two times of a document in milliseconds.
func stamps(doc Document) (next, expires int64, err error) {
	if next, err = millis(doc.Next); err != nil {
		return 0, 0, err
	}
	expires, err = millis(doc.Expires)
	return next, expires, err
}

func checkDue(partitions []int, limit int) error {
	if limit < 1 {
		return errLimit
	}
	return checkPartitions(partitions)
}

func checkLease(holder string, partitions []int, ttl time.Duration) error {
	if holder == "" || ttl < time.Millisecond {
		return errHolder
	}
	return checkPartitions(partitions)
}

func checkHeld(leases []Lease, ttl time.Duration) error {
	for _, l := range leases {
		if err := checkLease(l.Holder, []int{l.Partition}, ttl); err != nil {
			return err
		}
	}
	return nil
}

func checkPartitions(partitions []int) error {
	for _, p := range partitions {
		if p < 0 || p >= Partitions {
			return fmt.Errorf("partition %d: %w", p, errPartition)
		}
	}
	return nil
}

// cut sorts entries by time, then chat, and keeps the first limit of them. When some
// were cut off, next is the first of those instead: the caller asks again at once.
func cut(entries []DueEntry, next time.Time, limit int) ([]DueEntry, time.Time) {
	slices.SortFunc(entries, func(a, b DueEntry) int {
		return cmp.Or(a.At.Compare(b.At), cmp.Compare(a.Chat, b.Chat))
	})
	if len(entries) > limit {
		next = entries[limit].At
		entries = entries[:limit]
	}
	return entries, next
}

// earliest is the earlier of two times of which the zero time means never.
func earliest(a, b time.Time) time.Time {
	if a.IsZero() || !b.IsZero() && b.Before(a) {
		return b
	}
	return a
}

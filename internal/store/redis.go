package store

import (
	"context"
	_ "embed"
	"encoding/binary"
	"errors"
	"fmt"
	"log/slog"
	"strconv"
	"sync/atomic"
	"time"

	"github.com/redis/go-redis/v9"
	"github.com/redis/go-redis/v9/maintnotifications"
)

// Config says where the documents are.
type Config struct {
	// URL is the address, required; parseURL lists the forms. It may hold a password.
	URL string
	// Keys seal the documents; zero stores them plain.
	Keys Keyring
	// Prefix begins the hash tag of every key; "" means bw. Two bots on one Redis need
	// two prefixes.
	Prefix string
	// Timeout is the deadline of each call, retries included; 0 means 2 s.
	Timeout time.Duration
	// PoolSize is the number of connections a node; 0 means 16.
	PoolSize int
}

// Format keeps the password and the keys out of every printed form.
func (c Config) Format(f fmt.State, _ rune) { fmt.Fprintf(f, "store(prefix %q, %v)", c.Prefix, c.Keys) }

// LogValue is the printed form.
func (c Config) LogValue() slog.Value { return slog.StringValue(fmt.Sprint(c)) }

// Redis is a store in Redis 7.0 or later: one server, sentinels or a cluster. It is
// safe for concurrent use.
//
// A call whose answer is lost is sent again within its deadline, at most twice. A commit
// sent twice counts once, save for one case: if somebody deletes a new document between
// the two, the second creates it again. Order changes of one chat within the process.
//
// After an outage the client tries to reach the server once a second, so calls may
// report [ErrUnavailable] for up to a second after it is back.
//
// Across a failover nothing is promised beyond what replication gives: a commit that
// the lost server had acknowledged and not passed on is gone.
type Redis struct {
	client  redis.UniversalClient
	now     func() time.Time
	log     *slog.Logger
	data    Keyring
	keys    keys
	timeout time.Duration
	down    atomic.Bool // the last call found it unavailable; to log changes only
}

//go:embed save.lua
var saveSource string

//go:embed lease.lua
var leaseSource string

// saveScript is compiled once and never changes.
var saveScript = redis.NewScript(saveSource)

var errPrefix = errors.New("store: prefix must not contain blanks or any of {}*?[]\\")

// Open prepares a client and connects to nothing yet: see [Redis.Check].
func Open(cfg Config, now func() time.Time, log *slog.Logger) (*Redis, error) {
	opt, err := parseURL(cfg.URL)
	if err != nil {
		return nil, fmt.Errorf("open store: %w", err)
	}
	if !validPrefix(cfg.Prefix) {
		return nil, fmt.Errorf("open store: %w", errPrefix)
	}
	r := &Redis{now: now, log: log, data: cfg.Keys, keys: keys{cfg.Prefix}, timeout: cfg.Timeout}
	if r.keys.prefix == "" {
		r.keys.prefix = "bw"
	}
	if r.timeout == 0 {
		r.timeout = 2 * time.Second
	}
	if opt.PoolSize = cfg.PoolSize; opt.PoolSize == 0 {
		opt.PoolSize = 16
	}
	opt.Protocol = 2
	opt.DisableIdentity = true
	opt.MaintNotificationsConfig = &maintnotifications.Config{Mode: maintnotifications.ModeDisabled}
	// One attempt may take half the deadline, so that a second one fits. Sending a
	// commit again is safe: save.lua recognises its own revision.
	opt.ContextTimeoutEnabled = true
	opt.DialTimeout, opt.ReadTimeout, opt.WriteTimeout = r.timeout/2, r.timeout/2, r.timeout/2
	opt.MaxRetries = 2
	opt.MinRetryBackoff, opt.MaxRetryBackoff = 10*time.Millisecond, 100*time.Millisecond
	opt.DialerRetries, opt.DialerRetryTimeout = 1, 10*time.Millisecond
	r.client = redis.NewUniversalClient(opt)
	return r, nil
}

// LogClient sends what the Redis client itself has to say, which otherwise goes to
// stderr for the whole process, to log at debug level. Call it once, before [Open].
func LogClient(log *slog.Logger) { redis.SetLogger(clientLog{log}) }

type clientLog struct{ log *slog.Logger }

// Printf satisfies the client.
func (c clientLog) Printf(ctx context.Context, format string, args ...any) {
	c.log.DebugContext(ctx, "redis client", "message", fmt.Sprintf(format, args...))
}

// Load reads the document of a chat, or [ErrNone]. On [ErrKey] and [ErrCorrupt] the
// document has its revision only.
func (r *Redis) Load(ctx context.Context, chat ChatID) (Document, error) {
	value, err := r.value(ctx, chat)
	if err != nil {
		return Document{}, fmt.Errorf("load chat %d: %w", chat, err)
	}
	rec, err := decode(r.data, chat, value)
	if err != nil {
		return Document{Revision: rec.revision}, fmt.Errorf("load chat %d: %w", chat, err)
	}
	return rec.document(), nil
}

func (r *Redis) value(ctx context.Context, chat ChatID) ([]byte, error) {
	call, cancel := context.WithTimeout(ctx, r.timeout)
	defer cancel()
	value, err := r.client.Get(call, r.keys.doc(chat)).Bytes()
	if errors.Is(err, redis.Nil) {
		return nil, ErrNone
	}
	return value, r.outcome(ctx, err)
}

// Save commits doc if the stored document is still at doc.Revision (0: does not exist)
// and fence, if any, is of the newest lease. It returns the new revision, or
// [ErrConflict] or [ErrFenced] with nothing written, or [ErrUnavailable] when it is not
// known whether the whole commit was applied.
func (r *Redis) Save(ctx context.Context, chat ChatID, doc Document, fence Fence) (uint64, error) {
	rec, value, keep, err := encodeDocument(r.data, chat, doc, r.now())
	if err == nil {
		err = r.commit(ctx, chat, doc.Revision, value, optional(rec.next), optional(keep), fence)
	}
	if err != nil {
		return 0, fmt.Errorf("save chat %d: %w", chat, err)
	}
	return rec.revision, nil
}

// Delete removes the document at the revision named, with its due entry and without a
// trace. A document that is gone already is a success, so revision 0 only clears a due
// entry that outlived its document.
func (r *Redis) Delete(ctx context.Context, chat ChatID, revision uint64, fence Fence) error {
	if err := r.commit(ctx, chat, revision, nil, "", "", fence); err != nil {
		return fmt.Errorf("delete chat %d: %w", chat, err)
	}
	return nil
}

// optional is the decimal n, and "" for 0.
func optional(n int64) string {
	if n == 0 {
		return ""
	}
	return strconv.FormatInt(n, 10)
}

// commit runs save.lua.
func (r *Redis) commit(ctx context.Context, chat ChatID, revision uint64, value []byte, next, keep string, fence Fence) error {
	if err := fence.check(chat); err != nil {
		return err
	}
	var from []byte
	if revision != 0 {
		from = binary.BigEndian.AppendUint64(nil, revision)
	}
	epoch := ""
	if fence != (Fence{}) {
		epoch = strconv.FormatUint(fence.Epoch, 10)
	}
	p := Partition(chat)
	call, cancel := context.WithTimeout(ctx, r.timeout)
	defer cancel()
	done, err := saveScript.Run(call, r.client, []string{r.keys.doc(chat), r.keys.due(p), r.keys.epoch(p)},
		from, value, chat.String(), next, keep, epoch).Int()
	if err := r.outcome(ctx, err); err != nil {
		return err
	}
	switch done {
	case 1:
		return nil
	case -1:
		return ErrFenced
	default:
		return ErrConflict
	}
}

// outcome turns what the client reports into [ErrUnavailable], and logs when the store
// goes down and comes back. ctx is the caller's: its own end says nothing about Redis.
func (r *Redis) outcome(ctx context.Context, err error) error {
	switch {
	case err == nil:
		if r.down.CompareAndSwap(true, false) {
			r.log.Info("store available again")
		}
		return nil
	case ctx.Err() == nil && !r.down.Swap(true):
		r.log.Warn("store unavailable", "error", err)
	}
	return fmt.Errorf("%w: %w", ErrUnavailable, err)
}

// Ping asks the server for a sign of life.
func (r *Redis) Ping(ctx context.Context) error {
	call, cancel := context.WithTimeout(ctx, r.timeout)
	defer cancel()
	if err := r.outcome(ctx, r.client.Ping(call).Err()); err != nil {
		return fmt.Errorf("ping store: %w", err)
	}
	return nil
}

// Close gives the connections back. Calls after it report [ErrUnavailable].
func (r *Redis) Close() error {
	if err := r.client.Close(); err != nil {
		return fmt.Errorf("close store: %w", err)
	}
	return nil
}

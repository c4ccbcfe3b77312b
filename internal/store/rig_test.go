package store_test

import (
	"context"
	"fmt"
	"log/slog"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/alicebob/miniredis/v2"
	"github.com/redis/go-redis/v9"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"

	"bagwatch/internal/store"
	"bagwatch/internal/store/storetest"
)

// Store is the whole contract; consumers declare the few methods they need.
type Store interface {
	Load(context.Context, store.ChatID) (store.Document, error)
	Save(context.Context, store.ChatID, store.Document, store.Fence) (uint64, error)
	Delete(context.Context, store.ChatID, uint64, store.Fence) error
	Due(context.Context, []int, time.Time, int) ([]store.DueEntry, time.Time, error)
	Acquire(context.Context, string, []int, time.Duration) ([]store.Lease, error)
	Renew(context.Context, []store.Lease, time.Duration) ([]store.Lease, error)
	Release(context.Context, []store.Lease) error
	Holders(context.Context) ([store.Partitions]string, error)
	Scan(context.Context, func(store.ChatID) error) error
	Rotate(context.Context) (int, error)
	Check(context.Context) (store.Health, error)
	Ping(context.Context) error
	Close() error
}

var (
	_ Store = (*store.Memory)(nil)
	_ Store = (*store.Redis)(nil)
)

// clock is a clock that stands until it is moved.
type clock struct{ ms atomic.Int64 }

func newClock() *clock {
	c := &clock{}
	c.ms.Store(time.Date(2031, 5, 1, 18, 0, 0, 0, time.UTC).UnixMilli())
	return c
}

func (c *clock) Now() time.Time          { return time.UnixMilli(c.ms.Load()).UTC() }
func (c *clock) advance(d time.Duration) { c.ms.Add(d.Milliseconds()) }

// rig is a store under test with a way to let time pass.
type rig struct {
	Store
	clock *clock
	// age lets the server's own clock run on, too: what lives shorter is gone.
	age func(t require.TestingT, d time.Duration)
}

// pass moves both clocks.
func (r rig) pass(t require.TestingT, d time.Duration) {
	r.clock.advance(d)
	if r.age != nil {
		r.age(t, d)
	}
}

// prefixes gives every rig on a shared server its own key prefix.
var prefixes atomic.Int64

func quiet() *slog.Logger { return slog.New(slog.DiscardHandler) }

func openAt(t testing.TB, url string, cfg store.Config, now func() time.Time) *store.Redis {
	t.Helper()
	cfg.URL = url
	r, err := store.Open(cfg, now, quiet())
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, r.Close()) })
	return r
}

func rawClient(t testing.TB, url string) redis.UniversalClient {
	t.Helper()
	_, hosts, _ := strings.Cut(url, "://")
	addrs := strings.Split(hosts, ",")
	raw := redis.NewUniversalClient(&redis.UniversalOptions{Addrs: addrs, IsClusterMode: len(addrs) > 1, Protocol: 2})
	t.Cleanup(func() { assert.NoError(t, raw.Close()) })
	return raw
}

// ring seals what the tests store.
func ring(t testing.TB, hexByte ...string) store.Keyring {
	t.Helper()
	var keys []string
	for _, b := range hexByte {
		keys = append(keys, strings.Repeat(b, 32))
	}
	r, err := store.ParseKeyring(strings.Join(keys, ","))
	require.NoError(t, err)
	return r
}

// backends starts what a store runs on, once, and then makes empty stores on it.
func backends() map[string]func(t testing.TB) (open func(testing.TB) rig) {
	served := func(url string, fast func(time.Duration)) func(testing.TB) rig {
		return func(t testing.TB) rig {
			c := newClock()
			cfg := store.Config{Prefix: fmt.Sprintf("t%d", prefixes.Add(1)), Keys: ring(t, "5a")}
			raw := rawClient(t, url)
			r := rig{Store: openAt(t, url, cfg, c.Now), clock: c}
			r.age = func(t require.TestingT, d time.Duration) { ageKeys(t, raw, cfg.Prefix, d) }
			if fast != nil {
				r.age = func(_ require.TestingT, d time.Duration) { fast(d) }
			}
			return r
		}
	}
	return map[string]func(testing.TB) func(testing.TB) rig{
		"memory": func(testing.TB) func(testing.TB) rig {
			return func(testing.TB) rig {
				c := newClock()
				return rig{Store: store.NewMemory(c.Now), clock: c}
			}
		},
		"miniredis": func(t testing.TB) func(testing.TB) rig {
			mini := miniredis.RunT(t)
			return served("redis://"+mini.Addr(), mini.FastForward)
		},
		"redis":   func(t testing.TB) func(testing.TB) rig { return served(storetest.StartRedis(t).URL, nil) },
		"cluster": func(t testing.TB) func(testing.TB) rig { return served(storetest.StartCluster(t).URL, nil) },
	}
}

// ageKeys takes d off the life of every key, as if the server's clock had run on.
func ageKeys(t require.TestingT, raw redis.UniversalClient, prefix string, d time.Duration) {
	ctx := context.Background()
	age := func(ctx context.Context, node redis.Cmdable) error {
		names, err := node.Keys(ctx, "{"+prefix+":*").Result()
		if err != nil {
			return err
		}
		for _, name := range names {
			left, err := node.PTTL(ctx, name).Result()
			if err != nil {
				return err
			}
			if left > 0 {
				if err := node.PExpire(ctx, name, left-d).Err(); err != nil { // not positive: gone at once
					return err
				}
			}
		}
		return nil
	}
	if cluster, ok := raw.(*redis.ClusterClient); ok {
		require.NoError(t, cluster.ForEachMaster(ctx, func(ctx context.Context, node *redis.Client) error { return age(ctx, node) }))
		return
	}
	require.NoError(t, age(ctx, raw))
}

func TestMain(m *testing.M) {
	store.LogClient(quiet())
	goleak.VerifyTestMain(m)
}

func all() []int {
	ps := make([]int, store.Partitions)
	for i := range ps {
		ps[i] = i
	}
	return ps
}

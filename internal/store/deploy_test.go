package store_test

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/internal/store"
	"bagwatch/internal/store/storetest"
)

// exercise calls everything once.
func exercise(t *testing.T, s *store.Redis, c *clock) {
	t.Helper()
	ctx := t.Context()
	leases, err := s.Acquire(ctx, "a", all(), time.Hour)
	require.NoError(t, err)
	require.Len(t, leases, store.Partitions)
	rev, err := s.Save(ctx, 1, store.Document{Data: []byte("x"), Next: c.Now(), Expires: c.Now().Add(time.Hour)}, leases[7].Fence)
	require.NoError(t, err)
	rev, err = s.Save(ctx, 1, store.Document{Revision: rev, Data: []byte("y")}, store.Fence{})
	require.NoError(t, err)
	got, err := s.Load(ctx, 1)
	require.NoError(t, err)
	require.Equal(t, store.Document{Revision: rev, Data: []byte("y")}, got)
	_, _, err = s.Due(ctx, all(), c.Now(), 10)
	require.NoError(t, err)
	n := 0
	require.NoError(t, s.Scan(ctx, func(store.ChatID) error { n++; return nil }))
	require.Equal(t, 1, n)
	_, err = s.Rotate(ctx)
	require.NoError(t, err)
	kept, err := s.Renew(ctx, leases, time.Hour)
	require.NoError(t, err)
	require.Len(t, kept, store.Partitions)
	names, err := s.Holders(ctx)
	require.NoError(t, err)
	require.Equal(t, "a", names[15])
	require.NoError(t, s.Release(ctx, leases))
	require.NoError(t, s.Delete(ctx, 1, rev, store.Fence{}))
	require.NoError(t, s.Ping(ctx))
	h, err := s.Check(ctx)
	require.NoError(t, err)
	require.True(t, h.AppendOnly)
}

func TestTheLeastRightsDocumentedAreEnough(t *testing.T) {
	server := storetest.StartRedis(t)
	// As keys.go lists them.
	reply, err := server.Do("ACL SETUSER cook on >oyster ~{bw:* -@all +" +
		strings.Join(strings.Fields("evalsha eval get getrange set del zadd zrem zscore zrangebyscore incr scan ping hello info select"), " +"))
	require.NoError(t, err)
	require.Equal(t, "OK", reply)
	c := newClock()
	with := "redis://cook:oyster@" + server.Addr
	exercise(t, openAt(t, with+"/2", store.Config{}, c.Now), c)
	h, err := openAt(t, with, store.Config{}, c.Now).Check(t.Context())
	require.NoError(t, err)
	assert.Empty(t, h.AppendFsync, "CONFIG is not among them")

	_, err = openAt(t, with, store.Config{Prefix: "other"}, c.Now).Load(t.Context(), 1)
	require.ErrorIs(t, err, store.ErrUnavailable, "no right to other keys")
	_, err = openAt(t, "redis://cook:wrong@"+server.Addr, store.Config{}, c.Now).Load(t.Context(), 1)
	require.ErrorIs(t, err, store.ErrUnavailable)
	assert.NotContains(t, err.Error(), "wrong@")
}

func TestSentinelsLeadToTheMaster(t *testing.T) {
	c := newClock()
	exercise(t, openAt(t, storetest.StartSentinel(t).URL, store.Config{}, c.Now), c)
}

func TestTheRestOfAClusterGoesOnWhenANodeIsAway(t *testing.T) {
	cluster := storetest.StartCluster(t)
	c := newClock()
	s := openAt(t, cluster.URL, store.Config{Timeout: 500 * time.Millisecond}, c.Now)
	exercise(t, s, c)
	for i := range 100 {
		_, err := s.Save(t.Context(), store.ChatID(i), store.Document{Next: c.Now()}, store.Fence{})
		require.NoError(t, err)
	}
	for _, n := range cluster.Nodes {
		_, err := n.Do("CONFIG SET cluster-require-full-coverage no")
		require.NoError(t, err)
	}
	cluster.Nodes[2].Kill()
	entries, _, err := s.Due(t.Context(), all(), c.Now(), 1000)
	require.ErrorIs(t, err, store.ErrUnavailable)
	assert.Greater(t, len(entries), 40, "about two thirds of 100")
	assert.Less(t, len(entries), 90)
	for _, e := range entries[:3] {
		doc, err := s.Load(t.Context(), e.Chat)
		require.NoError(t, err)
		_, err = s.Save(t.Context(), e.Chat, store.Document{Revision: doc.Revision}, store.Fence{})
		require.NoError(t, err, "chats of the others work")
	}
}

// The server's own clock, nothing moved by the test.
func TestACrashedHolderIsReplacedOnceItsLeaseRanOut(t *testing.T) {
	for name, start := range map[string]func(*testing.T) string{
		"redis":   func(t *testing.T) string { return storetest.StartRedis(t).URL },
		"cluster": func(t *testing.T) string { return storetest.StartCluster(t).URL },
	} {
		t.Run(name, func(t *testing.T) {
			url, ctx := start(t), t.Context()
			a := openAt(t, url, store.Config{}, newClock().Now)
			b := openAt(t, url, store.Config{}, newClock().Now) // another process
			_, err := b.Holders(ctx)                            // so that it is connected
			require.NoError(t, err)
			const ttl = 400 * time.Millisecond
			asked := time.Now()
			held, err := a.Acquire(ctx, "a", all(), ttl)
			require.NoError(t, err)
			require.Len(t, held, store.Partitions)
			for taken := 0; taken < store.Partitions; time.Sleep(5 * time.Millisecond) {
				got, err := b.Acquire(ctx, "b", all(), time.Minute)
				require.NoError(t, err)
				if since := time.Since(asked); len(got) > 0 {
					require.GreaterOrEqual(t, since, ttl-2*time.Millisecond, "not while a may believe in it; the server counts whole milliseconds")
				} else {
					require.Less(t, since, ttl+2*time.Second, "a busy machine")
				}
				taken = max(taken, len(got))
			}
			kept, err := a.Renew(ctx, held, ttl)
			require.NoError(t, err)
			assert.Empty(t, kept)
		})
	}
}

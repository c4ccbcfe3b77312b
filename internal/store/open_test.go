package store_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/internal/store"
	"bagwatch/internal/store/storetest"
)

func TestAddresses(t *testing.T) {
	type want struct {
		addrs          []string
		user, password string
		db             int
		tls, cluster   bool
		master         string
	}
	for text, w := range map[string]want{
		"redis://localhost":                  {addrs: []string{"localhost:6379"}},
		"redis://:p%40ss@h:1/3":              {addrs: []string{"h:1"}, password: "p@ss", db: 3},
		"rediss://cook:a@b@[::1]:7/":         {addrs: []string{"[::1]:7"}, user: "cook", password: "a@b", tls: true},
		"unix:///run/redis.sock?db=2":        {addrs: []string{"/run/redis.sock"}, db: 2},
		"redis://a,b:2":                      {addrs: []string{"a:6379", "b:2"}, cluster: true},
		"redis+cluster://a":                  {addrs: []string{"a:6379"}, cluster: true},
		"rediss+cluster://u:p@a:1,b:2":       {addrs: []string{"a:1", "b:2"}, user: "u", password: "p", tls: true, cluster: true},
		"redis+sentinel://a,b:9/quay/4":      {addrs: []string{"a:26379", "b:9"}, master: "quay", db: 4},
		"redis+sentinel://:x@a/quay":         {addrs: []string{"a:26379"}, master: "quay", password: "x"},
		"redis+sentinel://[fe80::1%25e]/one": {addrs: []string{"[fe80::1%25e]:26379"}, master: "one"},
	} {
		got, err := store.ParseURL(text)
		require.NoError(t, err, text)
		assert.Equal(t, w, want{got.Addrs, got.Username, got.Password, got.DB, got.TLSConfig != nil, got.IsClusterMode, got.MasterName}, text)
	}
	got, err := store.ParseURL("redis+sentinel://a/m?sentinel_user=s&sentinel_password=w%2F")
	require.NoError(t, err)
	assert.Equal(t, []string{"s", "w/"}, []string{got.SentinelUsername, got.SentinelPassword})

	for _, text := range []string{
		"", "localhost:6379", "http://secret@h", "redis://", "redis://secret@:0", "redis://secret@h/x", "redis+pool://secret@h",
		"redis://secret@h?tls=1", "redis+cluster://secret@h/2", "redis+sentinel://secret@h", "unix://secret", "redis://a:%zzsecret@h", "redis://h:99999",
	} {
		_, err := store.ParseURL(text)
		require.Error(t, err, text)
		assert.NotContains(t, err.Error(), "secret", "a password does not reach the log")
		_, err = store.Open(store.Config{URL: text}, newClock().Now, quiet())
		require.Error(t, err)
	}
	_, err = store.Open(store.Config{URL: "redis://h", Prefix: "a{b"}, newClock().Now, quiet())
	assert.ErrorContains(t, err, "prefix")
}

func TestCheckAcceptsOnlyWhatKeepsItsPromises(t *testing.T) {
	for name, tt := range map[string]struct {
		args   []string
		is     error
		advice []string
	}{
		"all as it should be":    {},
		"log synced each second": {args: []string{"--appendfsync", "everysec"}, advice: []string{"appendfsync always"}},
		"no log":                 {args: []string{"--appendonly", "no"}, is: store.ErrVolatile, advice: []string{"appendonly yes", "appendfsync always"}},
		"evicting":               {args: []string{"--maxmemory-policy", "allkeys-lru"}, is: store.ErrVolatile, advice: []string{"maxmemory-policy noeviction"}},
		"CONFIG forbidden":       {args: []string{"--rename-command", "CONFIG", ""}},
	} {
		t.Run(name, func(t *testing.T) {
			s := openAt(t, storetest.StartRedis(t, tt.args...).URL, store.Config{}, newClock().Now)
			h, err := s.Check(t.Context())
			require.ErrorIs(t, err, tt.is)
			assert.Equal(t, tt.advice, h.Advice)
			assert.Len(t, h.Problems, min(len(tt.advice), 1))
			assert.Regexp(t, `^[7-9]|^\d\d`, h.Version)
			for _, line := range tt.advice {
				if tt.is != nil {
					assert.ErrorContains(t, err, line)
				}
			}
			require.NoError(t, s.Ping(t.Context()))
		})
	}
	t.Run("one node of a cluster evicting", func(t *testing.T) {
		c := storetest.StartCluster(t)
		s := openAt(t, c.URL, store.Config{}, newClock().Now)
		h, err := s.Check(t.Context())
		require.NoError(t, err)
		require.Empty(t, h.Problems)
		_, err = c.Nodes[2].Do("CONFIG SET maxmemory-policy volatile-ttl")
		require.NoError(t, err)
		h, err = s.Check(t.Context())
		require.ErrorIs(t, err, store.ErrVolatile)
		assert.Equal(t, "volatile-ttl", h.Eviction)
	})
	t.Run("memory", func(t *testing.T) {
		h, err := store.NewMemory(newClock().Now).Check(t.Context())
		require.ErrorIs(t, err, store.ErrVolatile)
		assert.NotEmpty(t, h.Problems)
	})
}

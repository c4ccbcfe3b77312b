package store_test

import (
	"encoding/binary"
	"encoding/hex"
	"fmt"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/alicebob/miniredis/v2"
	"github.com/redis/go-redis/v9"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/internal/store"
	"bagwatch/internal/store/storetest"
)

// servers are the two kinds of server the stored state is read from.
var servers = map[string]func(t testing.TB) (url string){
	"miniredis": func(t testing.TB) string { return "redis://" + miniredis.RunT(t).Addr() },
	"redis":     func(t testing.TB) string { return storetest.StartRedis(t).URL },
}

// state is all that is stored, key by key, as text.
func state(t testing.TB, raw redis.UniversalClient) map[string]string {
	t.Helper()
	ctx := t.Context()
	names, err := raw.Keys(ctx, "*").Result()
	require.NoError(t, err)
	all := map[string]string{}
	for _, name := range names {
		kind, err := raw.Type(ctx, name).Result()
		require.NoError(t, err)
		if kind == "zset" {
			members, err := raw.ZRangeWithScores(ctx, name, 0, -1).Result()
			require.NoError(t, err)
			for _, m := range members {
				all[name] += fmt.Sprintf("%s@%.0f ", m.Member, m.Score)
			}
			continue
		}
		all[name], err = raw.Get(ctx, name).Result()
		require.NoError(t, err)
	}
	return all
}

func TestSaveScriptStoresDocumentDueAndLifetimeTogether(t *testing.T) {
	for name, start := range servers {
		t.Run(name, func(t *testing.T) {
			ctx, url, c := t.Context(), start(t), newClock()
			raw := rawClient(t, url)
			s := openAt(t, url, store.Config{}, c.Now) // plain, so that the bytes can be read
			require.Equal(t, 7, store.Partition(1))
			next := c.Now().Add(time.Hour)

			rev, err := s.Save(ctx, 1, store.Document{Data: []byte("soup"), Next: next, Expires: next.Add(48 * time.Hour)}, store.Fence{})
			require.NoError(t, err)
			body := binary.AppendUvarint(binary.AppendUvarint(nil, uint64(next.UnixMilli())), uint64(next.Add(48*time.Hour).UnixMilli()))
			value := string(binary.BigEndian.AppendUint64(nil, rev)) + "\x01" + string(body) + "soup"
			due := fmt.Sprintf("1@%d ", next.UnixMilli())
			assert.Equal(t, map[string]string{"{bw:7}:1": value, "{bw:7}due": due}, state(t, raw))
			left, err := raw.PTTL(ctx, "{bw:7}:1").Result()
			require.NoError(t, err)
			assert.InDelta(t, (49 * time.Hour).Seconds(), left.Seconds(), 20, "what the test itself takes")

			before := state(t, raw)
			_, err = s.Save(ctx, 1, store.Document{Data: []byte("x")}, store.Fence{})
			require.ErrorIs(t, err, store.ErrConflict)
			_, err = s.Save(ctx, 1, store.Document{Revision: rev, Data: []byte("x")}, store.Fence{Partition: 7, Epoch: 1})
			require.ErrorIs(t, err, store.ErrFenced)
			assert.Equal(t, before, state(t, raw), "refused means untouched")

			leases, err := s.Acquire(ctx, "quay-1", []int{7}, time.Hour)
			require.NoError(t, err)
			rev, err = s.Save(ctx, 1, store.Document{Revision: rev}, leases[0].Fence)
			require.NoError(t, err)
			assert.Equal(t, map[string]string{
				"{bw:7}:1": string(binary.BigEndian.AppendUint64(nil, rev)) + "\x01\x00\x00", "{bw:7}lease": "quay-1", "{bw:7}epoch": "1",
			}, state(t, raw), "no event left: no due list either")
			left, err = raw.PTTL(ctx, "{bw:7}:1").Result()
			require.NoError(t, err)
			assert.Equal(t, time.Duration(-1), left, "kept for ever")

			require.NoError(t, s.Delete(ctx, 1, rev, leases[0].Fence))
			require.NoError(t, s.Release(ctx, leases))
			assert.Equal(t, map[string]string{"{bw:7}epoch": "2"}, state(t, raw))
		})
	}
}

func TestSaveScriptKnowsItsOwnCommitAgain(t *testing.T) {
	source, err := os.ReadFile("save.lua")
	require.NoError(t, err)
	script := redis.NewScript(string(source))
	for name, start := range servers {
		t.Run(name, func(t *testing.T) {
			ctx, raw := t.Context(), rawClient(t, start(t))
			run := func(from, value, next, keep string) int {
				n, err := script.Run(ctx, raw, []string{"{x}d", "{x}due", "{x}epoch"}, from, value, "1", next, keep, "").Int()
				require.NoError(t, err)
				return n
			}
			// The largest score that is exact; no digit may be lost on the way.
			const far = "9007199254740991"
			require.Equal(t, 1, run("", "revision-1", far, ""))
			require.Equal(t, 1, run("", "revision-1", far, ""), "sent again")
			assert.Equal(t, map[string]string{"{x}d": "revision-1", "{x}due": "1@" + far + " "}, state(t, raw))
			require.Equal(t, 1, run("revision", "revisioN-2", "", "60000"))
			require.Equal(t, 0, run("", "revision-1", far, ""), "superseded: nothing is undone")
			assert.Equal(t, map[string]string{"{x}d": "revisioN-2"}, state(t, raw))
		})
	}
}

func TestSaveScriptWritesNothingWhenItFails(t *testing.T) {
	for name, start := range servers {
		t.Run(name, func(t *testing.T) {
			ctx, url, c := t.Context(), start(t), newClock()
			raw := rawClient(t, url)
			s := openAt(t, url, store.Config{}, c.Now)
			for _, broken := range []string{"{bw:7}:1", "{bw:7}due", "{bw:7}epoch"} {
				require.NoError(t, raw.FlushAll(ctx).Err())
				require.NoError(t, raw.RPush(ctx, broken, "a list").Err())
				_, err := s.Save(ctx, 1, store.Document{Data: []byte("x"), Next: c.Now()}, store.Fence{Partition: 7, Epoch: 1})
				require.ErrorIs(t, err, store.ErrUnavailable, broken)
				assert.ErrorContains(t, err, "WRONGTYPE")
				n, err := raw.DBSize(ctx).Result()
				require.NoError(t, err)
				assert.EqualValues(t, 1, n, "only the broken key %s", broken)
			}
		})
	}
}

func TestAFullServerTakesAllOrNothing(t *testing.T) {
	server := storetest.StartRedis(t)
	ctx, c := t.Context(), newClock()
	s := openAt(t, server.URL, store.Config{}, c.Now)
	rev, err := s.Save(ctx, 1, store.Document{Data: []byte("kept")}, store.Fence{})
	require.NoError(t, err)
	raw := rawClient(t, server.URL)
	before := state(t, raw)
	require.NoError(t, raw.ConfigSet(ctx, "maxmemory", "1").Err())
	_, err = s.Save(ctx, 1, store.Document{Revision: rev, Data: []byte("new"), Next: c.Now()}, store.Fence{})
	require.ErrorIs(t, err, store.ErrUnavailable)
	assert.ErrorContains(t, err, "OOM")
	assert.Equal(t, before, state(t, raw))
	require.NoError(t, s.Delete(ctx, 1, rev, store.Fence{}), "deleting works when full")
}

// samples are values of every format ever written, for chat 1 with the key 5a5a….
func TestEveryStoredFormatStaysReadable(t *testing.T) {
	text, err := os.ReadFile("testdata/values.txt")
	require.NoError(t, err)
	url, c := servers["miniredis"](t), newClock()
	raw := rawClient(t, url)
	s := openAt(t, url, store.Config{Keys: ring(t, "5a")}, c.Now)
	seen := 0
	for line := range strings.Lines(string(text)) {
		name, digits, ok := strings.Cut(strings.TrimSpace(line), ": ")
		if !ok || strings.HasPrefix(line, "#") {
			continue
		}
		value, err := hex.DecodeString(digits)
		require.NoError(t, err, name)
		require.NoError(t, raw.Set(t.Context(), "{bw:7}:1", value, 0).Err())
		got, err := s.Load(t.Context(), 1)
		require.NoError(t, err, name)
		assert.Equal(t, store.Document{
			Revision: binary.BigEndian.Uint64(value), Data: []byte("two bags"),
			Next: time.Date(2031, 5, 1, 18, 0, 0, 0, time.UTC), Expires: time.Date(2031, 6, 1, 18, 0, 0, 0, time.UTC),
		}, got, name)
		seen++
	}
	assert.Equal(t, 2, seen, "one sample a format")
}

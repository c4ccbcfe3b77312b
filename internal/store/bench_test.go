package store_test

import (
	"os"
	"strconv"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/internal/store"
	"bagwatch/internal/store/storetest"
)

// fill saves the chats from..to-1, of size bytes with an event each, the first at the clock's now, a
// second apart, through many connections.
func fill(t testing.TB, s *store.Redis, c *clock, from, to, size int) {
	t.Helper()
	data := make([]byte, size)
	const workers = 16
	var wg sync.WaitGroup
	for w := range workers {
		wg.Go(func() {
			for i := from + w; i < to; i += workers {
				at := c.Now().Add(time.Duration(i) * time.Second)
				_, err := s.Save(t.Context(), chatNumber(i), store.Document{Data: data, Next: at, Expires: at.Add(720 * time.Hour)}, store.Fence{})
				if !assert.NoError(t, err) {
					return
				}
			}
		})
	}
	wg.Wait()
}

// chatNumber makes ids as long as the messenger's longest.
func chatNumber(i int) store.ChatID { return store.ChatID(-1002000000000 - i) }

func TestBytesAChat(t *testing.T) {
	// Limits: 950 bytes for a bag alone, 1400 for two in one chat, everything counted.
	// A document takes about 300 bytes with one bag and 500 with two.
	for name, tt := range map[string]struct{ size, limit int }{
		"one bag": {300, 950}, "two bags": {500, 1400},
	} {
		t.Run(name, func(t *testing.T) {
			server := storetest.StartRedis(t, "--appendfsync", "no")
			c := newClock()
			s := openAt(t, server.URL, store.Config{Keys: ring(t, "5a")}, c.Now)
			fill(t, s, c, 0, 1, tt.size) // connections and the script
			before, err := server.UsedMemory()
			require.NoError(t, err)
			const n = 17_000 // just past a power of two, where the hash tables are emptiest
			start := time.Now()
			fill(t, s, c, 1, n+1, tt.size)
			after, err := server.UsedMemory()
			require.NoError(t, err)
			bytes := int(after-before) / n
			t.Logf("%d bytes a chat with a document of %d; %.0f commits/s without syncing", bytes, tt.size, n/time.Since(start).Seconds())
			assert.Less(t, bytes, tt.limit)
			assert.Greater(t, bytes, tt.size, "it was measured")
		})
	}
}

// pending is how many chats wait in the benchmarks; BAGWATCH_BENCH_CHATS sets it.
func pending(b *testing.B) int {
	text := os.Getenv("BAGWATCH_BENCH_CHATS")
	if text == "" {
		return 100_000
	}
	n, err := strconv.Atoi(text)
	require.NoError(b, err)
	return n
}

func BenchmarkRedis(b *testing.B) {
	server := storetest.StartRedis(b, "--appendfsync", "no")
	c := newClock()
	s := openAt(b, server.URL, store.Config{Keys: ring(b, "5a"), Timeout: 10 * time.Second}, c.Now)
	n := pending(b)
	const size = 250
	before, err := server.UsedMemory()
	require.NoError(b, err)
	fill(b, s, c, 0, n, size)
	after, err := server.UsedMemory()
	require.NoError(b, err)
	_, err = server.Do("CONFIG SET appendfsync always")
	require.NoError(b, err)
	perChat := float64(after-before) / float64(n)

	b.Run("load", func(b *testing.B) {
		b.ReportAllocs()
		for i := 0; b.Loop(); i++ {
			_, err := s.Load(b.Context(), chatNumber(i%n))
			require.NoError(b, err)
		}
		b.ReportMetric(perChat, "redis-B/chat")
	})
	b.Run("save", func(b *testing.B) {
		b.ReportAllocs()
		doc, err := s.Load(b.Context(), chatNumber(n/2))
		require.NoError(b, err)
		for b.Loop() {
			doc.Revision, err = s.Save(b.Context(), chatNumber(n/2), doc, store.Fence{})
			require.NoError(b, err)
		}
	})
	b.Run("load and save by 16", func(b *testing.B) {
		b.ReportAllocs()
		b.SetParallelism(8) // on the two processors this is meant for
		var mu sync.Mutex
		at := 0
		b.RunParallel(func(pb *testing.PB) {
			for pb.Next() {
				mu.Lock()
				at++
				chat := chatNumber(at % n)
				mu.Unlock()
				doc, err := s.Load(b.Context(), chat)
				if assert.NoError(b, err) {
					_, err = s.Save(b.Context(), chat, doc, store.Fence{})
					assert.NoError(b, err)
				}
			}
		})
	})
	b.Run("due, nothing", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			_, _, err := s.Due(b.Context(), all(), c.Now().Add(-time.Second), 128)
			require.NoError(b, err)
		}
	})
	b.Run("due, 128 of many", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			entries, _, err := s.Due(b.Context(), all(), c.Now().Add(1000*time.Second), 128)
			require.NoError(b, err)
			require.Len(b, entries, 128)
		}
	})
	b.Run("renew 16 leases", func(b *testing.B) {
		b.ReportAllocs()
		leases, err := s.Acquire(b.Context(), "bench", all(), time.Minute)
		require.NoError(b, err)
		for b.Loop() {
			_, err := s.Renew(b.Context(), leases, time.Minute)
			require.NoError(b, err)
		}
	})
}

func BenchmarkMemory(b *testing.B) {
	c := newClock()
	m := store.NewMemory(c.Now)
	for i := range 10_000 {
		_, err := m.Save(b.Context(), chatNumber(i), store.Document{Next: c.Now().Add(time.Duration(i) * time.Second)}, store.Fence{})
		require.NoError(b, err)
	}
	b.Run("due of 10000", func(b *testing.B) {
		for b.Loop() {
			_, _, err := m.Due(b.Context(), all(), c.Now(), 128)
			require.NoError(b, err)
		}
	})
}

package bot_test

import (
	"context"
	"log/slog"
	"slices"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"bagwatch/bot"
	"bagwatch/internal/kitchen"
	"bagwatch/internal/store"
	"bagwatch/internal/store/storetest"
)

// counter is a Messenger that takes everything at once and notes when.
type counter struct {
	postbox
	n    atomic.Int64
	want atomic.Int64
	done chan struct{}

	late sync.Mutex
	due  map[bot.ChatID]time.Time
	all  []time.Duration
}

func (c *counter) Send(_ context.Context, to bot.Chat, _ bot.Message) (bot.MessageID, error) {
	now := time.Now()
	c.late.Lock()
	if at, ok := c.due[to.ID]; ok {
		c.all = append(c.all, now.Sub(at))
	}
	c.late.Unlock()
	n := c.n.Add(1)
	if n == c.want.Load() {
		close(c.done)
	}
	return bot.MessageID(n), nil
}

// expect begins a round of n messages.
func (c *counter) expect(n int, due map[bot.ChatID]time.Time) {
	c.late.Lock()
	defer c.late.Unlock()
	c.n.Store(0)
	c.want.Store(int64(n))
	c.done, c.due, c.all = make(chan struct{}), due, nil
}

// seed writes chats in parallel.
func seed(b testing.TB, s bot.Store, from bot.ChatID, n int, doc func(i int) kitchen.Document) {
	var next atomic.Int64
	var side sync.WaitGroup
	for range 16 {
		side.Go(func() {
			for i := int(next.Add(1)) - 1; i < n; i = int(next.Add(1)) - 1 {
				saveChat(b, s, from+bot.ChatID(i), doc(i))
			}
		})
	}
	side.Wait()
}

// cpu is what this process and the server used, in seconds.
func cpu(b testing.TB, server *storetest.Server) (ours, theirs float64) {
	var u syscall.Rusage
	require.NoError(b, syscall.Getrusage(syscall.RUSAGE_SELF, &u))
	ours = time.Duration(u.Utime.Nano() + u.Stime.Nano()).Seconds()
	info, err := server.Do("INFO cpu")
	require.NoError(b, err)
	for line := range strings.Lines(info) {
		name, value, _ := strings.Cut(strings.TrimSpace(line), ":")
		if name == "used_cpu_sys" || name == "used_cpu_user" {
			x, err := strconv.ParseFloat(value, 64)
			require.NoError(b, err)
			theirs += x
		}
	}
	return ours, theirs
}

// BenchmarkAlertsWithManyPending measures the loop with a Redis that syncs every write, documents
// encrypted, messages taken at once. Half of the pending chats have two bags, half have one. The full run:
//
//	BAGWATCH_TEST_CHATS=1000000 go test -run - -bench AlertsWithManyPending -timeout 60m ./bot
//
// A -benchtime given as a count makes sense for carried-out alone: the others take ten seconds each time.
func BenchmarkAlertsWithManyPending(b *testing.B) {
	chats := testNumber(b, "BAGWATCH_TEST_CHATS", 4000)
	server := storetest.StartRedis(b)
	keys, err := store.ParseKeyring(strings.Repeat("5a", 32))
	require.NoError(b, err)
	s, err := store.Open(store.Config{URL: server.URL, Keys: keys, PoolSize: 32}, time.Now, slog.New(slog.DiscardHandler))
	require.NoError(b, err)
	defer s.Close()
	start := time.Now().UTC().Truncate(time.Second)
	fill := func(bags int) func(int) kitchen.Document {
		return func(i int) kitchen.Document {
			d := kitchen.New(kitchen.Private, "")
			d.Settings.Zone, d.Settings.Language = "Europe/Berlin", "en"
			for j := range bags {
				ready := start.Add(100*time.Hour + time.Duration(i+j)*time.Second)
				ribeyeAt(b, &d, start, ready, ready.Add(time.Hour), ready.Add(2*time.Hour))
				d.MarkApplied("m"+strconv.Itoa(i+j), start)
			}
			return d
		}
	}
	toolsForAlerts(b)
	const base bot.ChatID = 5_000_000_000 // as long as the platform's
	var memory [3]int64
	for i := range memory {
		if i > 0 {
			seed(b, s, base+bot.ChatID(i)*1_000_000_000, chats/2, fill(3-i))
		}
		memory[i], err = server.UsedMemory()
		require.NoError(b, err)
	}
	twoBags := float64(memory[1]-memory[0]) / float64(2*(chats/2))
	oneBagOnly := float64(memory[2]-memory[1]) / float64(chats/2)

	out := &counter{done: make(chan struct{})}
	_, a := newAlertBot(b, s, out, bot.AlertConfig{})
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- a.Run(ctx) }()
	defer func() { cancel(); require.NoError(b, <-ended) }()
	require.Eventually(b, func() bool { return a.Counts().Partitions == store.Partitions }, 10*time.Second, time.Millisecond)

	fresh := base - 1
	due := func(in func(i int) time.Duration) func(i int) kitchen.Document {
		return func(i int) kitchen.Document {
			d := kitchen.New(kitchen.Private, "")
			now := time.Now().UTC().Truncate(time.Second)
			ready := start.Add(in(i)).Truncate(time.Second)
			ribeyeAt(b, &d, now, ready, now.Add(100*time.Hour), now.Add(101*time.Hour))
			return d
		}
	}
	b.Run("carried-out", func(b *testing.B) {
		cancel() // the pile is made while nobody looks
		require.NoError(b, <-ended)
		fresh -= bot.ChatID(b.N)
		seed(b, s, fresh, b.N, due(func(int) time.Duration { return -time.Second }))
		out.expect(b.N, nil)
		_, a = newAlertBot(b, s, out, bot.AlertConfig{})
		ctx, cancel = context.WithCancel(context.Background())
		ended = make(chan error, 1)
		b.ReportAllocs()
		b.ResetTimer()
		go func() { ended <- a.Run(ctx) }()
		<-out.done
		b.StopTimer()
		b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "alerts/s")
		b.ReportMetric(twoBags, "bytes/bag-of-two")
		b.ReportMetric(oneBagOnly, "bytes/bag-alone")
	})
	b.Run("lateness", func(b *testing.B) {
		for b.Loop() {
			const n, over = 2000, 10 * time.Second
			fresh -= n
			// Bags are ready at whole seconds, so the list is written with finer times here: what the loop
			// sleeps by. The document is due by then.
			at := map[bot.ChatID]time.Time{}
			begin := time.Now().Add(6 * time.Second)
			var mu sync.Mutex
			out.expect(n, at)
			var next atomic.Int64
			var side sync.WaitGroup
			for range 16 {
				side.Go(func() {
					for i := int(next.Add(1)) - 1; i < n; i = int(next.Add(1)) - 1 {
						chat, when := fresh+bot.ChatID(i), begin.Add(time.Duration(i)*over/n)
						data, err := kitchen.Encode(due(func(int) time.Duration { return -time.Second })(i))
						require.NoError(b, err)
						_, err = s.Save(context.Background(), store.ChatID(chat), store.Document{Data: data, Next: when}, store.Fence{})
						require.NoError(b, err)
						out.late.Lock()
						mu.Lock()
						at[chat] = when
						mu.Unlock()
						out.late.Unlock()
					}
				})
			}
			side.Wait()
			require.True(b, time.Now().Before(begin), "written in time")
			<-out.done
			slices.Sort(out.all)
			require.GreaterOrEqual(b, out.all[0], time.Duration(0), "early")
			ms := func(d time.Duration) float64 { return float64(d) / float64(time.Millisecond) }
			b.ReportMetric(ms(out.all[n/2]), "p50-ms")
			b.ReportMetric(ms(out.all[n*99/100]), "p99-ms")
			b.ReportMetric(ms(out.all[n-1]), "max-ms")
		}
	})
	b.Run("idle", func(b *testing.B) {
		for b.Loop() {
			const span = 10 * time.Second
			time.Sleep(time.Second) // what came before settles
			ours, theirs := cpu(b, server)
			time.Sleep(span)
			ours2, theirs2 := cpu(b, server)
			b.ReportMetric(100*(ours2-ours)/span.Seconds(), "%core-bot")
			b.ReportMetric(100*(theirs2-theirs)/span.Seconds(), "%core-redis")
		}
	})
}

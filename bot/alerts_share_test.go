package bot_test

import (
	"errors"
	"log/slog"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"

	"bagwatch/bot"
	"bagwatch/internal/store"
	"bagwatch/internal/store/storetest"
)

// process is one of several that share a store.
type process struct {
	*bot.Alerts
	store *outage
	out   *postbox
	stop  func()
	dead  bool
}

// kill cuts the process off from everything, as a crash does.
func (p *process) kill() {
	p.out.mu.Lock()
	p.dead = true
	p.out.mu.Unlock()
	p.store.down.Store(true)
}

func startProcess(t *testing.T, s bot.AlertStore, name string, log *slog.Logger) *process {
	t.Helper()
	p := &process{store: &outage{AlertStore: s}, out: &postbox{}}
	p.out.refuse = func(bot.ChatID, int) error {
		p.out.mu.Lock()
		defer p.out.mu.Unlock()
		if p.dead {
			return errors.New("killed")
		}
		return nil
	}
	_, p.Alerts = newAlertBot(t, p.store, p.out, bot.AlertConfig{Holder: name, Log: log})
	p.stop = runAlerts(t, p.Alerts)
	return p
}

// heldBy counts the partitions of each process.
func heldBy(t *testing.T, s bot.AlertStore) map[string]int {
	t.Helper()
	holders, err := s.Holders(t.Context())
	require.NoError(t, err)
	n := map[string]int{}
	for _, h := range holders {
		n[h]++
	}
	return n
}

func TestProcessesShareThePartitionsFairly(t *testing.T) {
	inBubble(t, func(t *testing.T, s *store.Memory) {
		one := startProcess(t, s, "one", nil)
		pass(time.Second)
		assert.Equal(t, map[string]int{"one": 16}, heldBy(t, s))
		two := startProcess(t, s, "two", nil)
		pass(6 * time.Second)
		assert.Equal(t, map[string]int{"one": 8, "two": 8}, heldBy(t, s))
		three := startProcess(t, s, "three", nil)
		pass(6 * time.Second)
		held := heldBy(t, s)
		for _, name := range []string{"one", "two", "three"} {
			assert.GreaterOrEqual(t, held[name], 5, "16 by three")
			assert.LessOrEqual(t, held[name], 6, "16 by three")
		}
		before := heldBy(t, s)
		pass(time.Minute)
		assert.Equal(t, before, heldBy(t, s), "nobody gives anything up any more")

		two.stop()
		pass(time.Second)
		assert.Empty(t, heldBy(t, s)[""], "taken over at once after a stop in order")
		one.kill()
		pass(10 * time.Second)
		assert.Equal(t, map[string]int{"three": 16}, heldBy(t, s), "taken over within 10 s of a kill")
		_ = three
	})
}

func TestNothingIsLostOrEarlyWhenAProcessIsKilled(t *testing.T) {
	inBubble(t, func(t *testing.T, s *store.Memory) {
		one := startProcess(t, s, "one", nil)
		two := startProcess(t, s, "two", nil)
		start := time.Now()
		const chats = 400
		for i := range chats {
			saveChat(t, s, bot.ChatID(100+i), oneBag(t, start, 10*time.Second+time.Duration(i)*50*time.Millisecond))
		}
		pass(20 * time.Second)
		one.kill()
		pass(time.Minute)
		told := map[bot.ChatID][]posted{}
		for _, p := range append(one.out.got(), two.out.got()...) {
			told[p.to.ID] = append(told[p.to.ID], p)
		}
		require.Len(t, told, chats, "nobody is forgotten")
		repeats := 0
		for chat, list := range told {
			due := loadChat(t, s, chat).Bags[0].Times.Ready
			for i, p := range list {
				assert.False(t, p.at.Before(due), "early")
				assert.LessOrEqual(t, p.at.Sub(due), 10*time.Second, "takeover within 10 s")
				if i > 0 {
					repeats++
				}
			}
		}
		assert.LessOrEqual(t, repeats, 8)
		assert.NotEmpty(t, one.out.got())
		assert.NotEmpty(t, two.out.got())
	})
}

// A process that was cut off from the store and comes back finds its partitions taken, and what it sends
// then is refused at the commit: it stops.
func TestAProcessThatLostItsPartitionsStops(t *testing.T) {
	inBubble(t, func(t *testing.T, s *store.Memory) {
		one := startProcess(t, s, "one", nil)
		pass(time.Second)
		one.store.down.Store(true)
		two := startProcess(t, s, "two", nil)
		pass(15 * time.Second)
		assert.Equal(t, map[string]int{"two": 16}, heldBy(t, s))
		one.store.down.Store(false)
		saveChat(t, s, 7, oneBag(t, time.Now(), time.Second))
		pass(30 * time.Second)
		assert.Len(t, append(one.out.got(), two.out.got()...), 1, "told once")
		assert.Equal(t, map[string]int{"one": 8, "two": 8}, heldBy(t, s), "and the work is shared again")
	})
}

// The same with real servers and real time, for what a bubble cannot show.
func TestTwoProcessesOnOneRedis(t *testing.T) {
	if testing.Short() {
		t.Skip("takes half a minute")
	}
	before := goleak.IgnoreCurrent()
	t.Cleanup(func() { goleak.VerifyNone(t, before) })
	server := storetest.StartRedis(t)
	open := func() *store.Redis {
		r, err := store.Open(store.Config{URL: server.URL}, time.Now, slog.New(slog.DiscardHandler))
		require.NoError(t, err)
		t.Cleanup(func() { assert.NoError(t, r.Close()) })
		return r
	}
	s := open()
	one, two := startProcess(t, open(), "one", nil), startProcess(t, open(), "two", nil)
	require.Eventually(t, func() bool {
		held := heldBy(t, s)
		return held["one"] == 8 && held["two"] == 8
	}, 10*time.Second, 50*time.Millisecond, "shared")

	start := time.Now()
	const chats = 300
	due := map[bot.ChatID]time.Time{}
	for i := range chats { // over 20 s, from 2 s on
		chat := bot.ChatID(100 + i)
		d := oneBag(t, start, 3*time.Second+time.Duration(i)*20*time.Second/chats)
		due[chat] = d.Bags[0].Times.Ready
		saveChat(t, s, chat, d)
	}
	time.Sleep(time.Until(start.Add(8 * time.Second)))
	one.kill()
	killed := time.Now()
	require.Eventually(t, func() bool { return heldBy(t, s)["two"] == 16 }, 12*time.Second, 20*time.Millisecond)
	took := time.Since(killed)
	assert.LessOrEqual(t, took, 10*time.Second, "takeover")
	time.Sleep(time.Until(start.Add(25 * time.Second)))
	told := map[bot.ChatID]int{}
	var worst time.Duration
	for _, p := range append(one.out.got(), two.out.got()...) {
		told[p.to.ID]++
		late := p.at.Sub(due[p.to.ID])
		assert.GreaterOrEqual(t, late, time.Duration(0), "early")
		worst = max(worst, late)
	}
	assert.Len(t, told, chats, "nobody is forgotten")
	repeats := 0
	for _, n := range told {
		repeats += n - 1
	}
	assert.LessOrEqual(t, repeats, 8, "what was in flight")
	assert.LessOrEqual(t, worst, 11*time.Second, "takeover, and what fell due meanwhile")
	t.Logf("takeover after %v, repeats %d, longest late %v", took.Round(time.Millisecond), repeats, worst.Round(time.Millisecond))

	began := time.Now()
	two.stop()
	assert.LessOrEqual(t, time.Since(began), time.Second, "nothing in hand")
	assert.Equal(t, map[string]int{"": 16}, heldBy(t, s), "given back")
}

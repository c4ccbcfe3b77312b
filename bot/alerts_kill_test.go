package bot_test

import (
	"context"
	"fmt"
	"log/slog"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/bot"
	"bagwatch/bot/telegram/standin"
	"bagwatch/internal/kitchen"
	"bagwatch/internal/store"
	"bagwatch/internal/store/storetest"
)

// testNumber reads a count from the environment, so that the full run and the short one are one test.
func testNumber(t testing.TB, name string, def int) int {
	t.Helper()
	text := os.Getenv(name)
	if text == "" {
		return def
	}
	n, err := strconv.Atoi(text)
	require.NoError(t, err, name)
	return n
}

// fleet is some bots, as programs of their own, that share a Redis and a platform.
type fleet struct {
	t      *testing.T
	binary string
	env    []string
	logs   string
	bots   []*exec.Cmd
	starts int
}

func (f *fleet) start(i int) {
	f.t.Helper()
	f.starts++
	log, err := os.Create(filepath.Join(f.logs, fmt.Sprintf("%04d-bot%d.log", f.starts, i)))
	require.NoError(f.t, err)
	defer log.Close() // the program has its own copy
	cmd := exec.Command(f.binary, "serve")
	cmd.Env, cmd.Stderr = f.env, log
	require.NoError(f.t, cmd.Start())
	f.bots[i] = cmd
}

// kill ends a bot as a crash does.
func (f *fleet) kill(i int) {
	f.t.Helper()
	require.NoError(f.t, f.bots[i].Process.Kill(), "it had ended by itself")
	_ = f.bots[i].Wait() // reports the kill
}

// steps are what a bag is told of, by the words of each.
var steps = []string{"ready — pull it", "last call — pull it", "pull it now — past"}

// again is how a repeat is marked.
const again = "you may have had this before"

// Bots and the Redis server are killed (SIGKILL) at random moments while bags fall due all the time, and
// each answer of the platform takes a while, so that something is in flight at most kills: sent, and not
// yet committed. Nothing may be lost, nothing told early, and at most 8 messages repeated for each kill of
// a bot, each of them marked. The full run:
//
//	BAGWATCH_TEST_KILLS=200 go test -run TestKills -timeout 30m -v ./bot
func TestKillsLoseNothingAndRepeatLittle(t *testing.T) {
	if testing.Short() {
		t.Skip("takes a minute")
	}
	server := storetest.StartRedis(t)
	kills := testNumber(t, "BAGWATCH_TEST_KILLS", 20)
	seed := uint64(testNumber(t, "BAGWATCH_TEST_SEED", 1))
	rng := rand.New(rand.NewPCG(seed, 2))

	dir := t.TempDir()
	f := &fleet{t: t, binary: filepath.Join(dir, "bagwatch"), logs: dir, bots: make([]*exec.Cmd, 3)}
	build := exec.Command("go", "build", "-o", f.binary, "bagwatch/cmd/bagwatch")
	out, err := build.CombinedOutput()
	require.NoError(t, err, "%s", out)

	const answerTakes = 400 * time.Millisecond
	fake := standin.New(t, func(c *standin.Config) {
		c.KeepCalls = 1 << 20
		c.OnCall = func(call standin.Call) { // the message is there, its sender does not know yet
			if call.Method == "sendMessage" {
				time.Sleep(answerTakes)
			}
		}
	})
	keyText := strings.Repeat("5a", 32)
	f.env = []string{
		"TELEGRAM_TOKEN=" + fake.Token(), "TELEGRAM_API_URL=" + fake.URL(), "REDIS_URL=" + server.URL,
		"BAGWATCH_RATE=0", "BAGWATCH_LOG_LEVEL=warn", "BAGWATCH_DATA_KEY=" + keyText,
	}
	keys, err := store.ParseKeyring(keyText)
	require.NoError(t, err)
	s, err := store.Open(store.Config{URL: server.URL, Keys: keys}, time.Now, slog.New(slog.DiscardHandler))
	require.NoError(t, err)
	defer func() { assert.NoError(t, s.Close()) }()

	// Three messages a bag, some 25 a second.
	const gap = 1500 * time.Millisecond // between kills, on average
	span := time.Duration(kills)*gap + 5*time.Second
	chats := int(span.Seconds() * 8)
	begin := time.Now()
	bags := map[bot.ChatID]kitchen.Bag{}
	for i := range chats {
		u := fake.AddUser(standin.User{FirstName: "Guest"})
		fake.Open(u)
		ready := begin.Add(3*time.Second + time.Duration(rng.Int64N(int64(span)))).UTC().Truncate(time.Second)
		d := kitchen.New(kitchen.Private, "")
		bag := ribeyeAt(t, &d, begin.UTC().Truncate(time.Second), ready, ready.Add(time.Duration(2+i%3)*time.Second), ready.Add(time.Duration(6+i%5)*time.Second))
		bags[bot.ChatID(u.ID)] = bag
		saveChat(t, s, bot.ChatID(u.ID), d)
	}
	for i := range f.bots {
		f.start(i)
	}
	defer func() {
		for i := range f.bots {
			f.kill(i)
		}
	}()

	ofBots := 0
	for range kills {
		time.Sleep(gap/3 + time.Duration(rng.Int64N(int64(gap*4/3))))
		down := time.Duration(rng.Int64N(int64(400 * time.Millisecond)))
		if rng.IntN(5) == 0 {
			server.Kill()
			time.Sleep(down)
			server.Start()
			continue
		}
		i := rng.IntN(len(f.bots))
		f.kill(i)
		ofBots++
		time.Sleep(down)
		f.start(i)
	}
	require.Eventually(t, func() bool { return allTold(s, bags) }, span+time.Minute, 250*time.Millisecond, "news is lost: bags are never told to the end")

	repeats, unmarked, marked, worst := 0, 0, 0, time.Duration(0)
	seen := map[bot.ChatID][3]int{}
	calls := fake.Calls("sendMessage")
	for _, c := range calls {
		text, _ := c.Params["text"].(string)
		chat := bot.ChatID(c.ChatID)
		bag, ok := bags[chat]
		require.True(t, ok && c.Code == 200, "a message nobody was to get: %d %s", c.Code, c.Error)
		step, at := stepOf(text, bag)
		require.GreaterOrEqual(t, step, 0, "not news: %s", text)
		assert.False(t, c.Real.Before(at), "early by %v: %s", at.Sub(c.Real), text)
		worst = max(worst, c.Real.Sub(at))
		n := seen[chat]
		if strings.Contains(text, again) {
			marked++
		}
		if n[step] > 0 {
			repeats++
			if !strings.Contains(text, again) {
				unmarked++
			}
		}
		n[step]++
		seen[chat] = n
	}
	for chat := range bags {
		assert.Equal(t, 1, min(seen[chat][2], 1), "chat %d was not told that its bag is past", chat)
	}
	assert.LessOrEqual(t, repeats, 8*ofBots, "more repeated than was in flight")
	assert.Zero(t, unmarked, "repeats that do not say so")
	if kills >= 20 { // fewer may well hit nothing
		assert.NotZero(t, repeats, "no kill hit anything in flight, so this run shows nothing")
	}
	t.Logf("%d kills (%d of bots, %d of Redis), %d bags, %d messages: %d repeated (%.2f for each kill of a bot), %d marked, longest late %v",
		kills, ofBots, kills-ofBots, len(bags), len(calls), repeats, float64(repeats)/float64(max(ofBots, 1)), marked, worst.Round(time.Millisecond))
	assertNoPanics(t, f.logs)
}

// stepOf is which step of a bag's life a message tells, and when that begins; -1 if none.
func stepOf(text string, b kitchen.Bag) (int, time.Time) {
	for i, at := range []time.Time{b.Times.Ready, b.Times.LastCall, b.Times.BestBefore} {
		if strings.Contains(text, steps[i]) {
			return i, at
		}
	}
	return -1, time.Time{}
}

func allTold(s *store.Redis, bags map[bot.ChatID]kitchen.Bag) bool {
	for chat := range bags {
		stored, err := s.Load(context.Background(), store.ChatID(chat))
		if err != nil {
			return false
		}
		d, err := kitchen.Decode(stored.Data)
		if err != nil || len(d.Bags) != 1 || d.Bags[0].Told != kitchen.Past {
			return false
		}
	}
	return true
}

func assertNoPanics(t *testing.T, logs string) {
	t.Helper()
	names, err := filepath.Glob(filepath.Join(logs, "*.log"))
	require.NoError(t, err)
	for _, name := range names {
		data, err := os.ReadFile(name)
		require.NoError(t, err)
		for _, word := range []string{"panic", "DATA RACE", "level=ERROR"} {
			assert.NotContains(t, string(data), word, name)
		}
	}
}

package telegram_test

import (
	"context"
	"fmt"
	"math/rand/v2"
	"net"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/bot/telegram"
	"bagwatch/bot/telegram/standin"
)

// The bot that is killed is this test binary, started again. The variable holds the stand-in's address,
// and for a webhook the address to listen on.
const killedBot = "BAGWATCH_TEST_KILLED_BOT"

// runKilledBot echoes until it is killed.
func runKilledBot(where string) error {
	api, listen, _ := strings.Cut(where, " ")
	cfg := telegram.Config{APIURL: api}
	if listen != "" {
		l, err := net.Listen("tcp", listen)
		if err != nil {
			return err
		}
		cfg.Listener, cfg.WebhookURL, cfg.WebhookSecret = l, "http://"+listen+"/hook", secret
	}
	a, err := telegram.New(standin.DefaultToken, cfg)
	if err != nil {
		return err
	}
	return a.Run(context.Background(), echo(a))
}

// number reads a count from the environment, so that the full run and the short one are one test.
func number(t *testing.T, name string, def int) int {
	t.Helper()
	text := os.Getenv(name)
	if text == "" {
		return def
	}
	n, err := strconv.Atoi(text)
	require.NoError(t, err, name)
	return n
}

// The full run:
//
//	BAGWATCH_TEST_KILLS=100 BAGWATCH_TEST_MESSAGES=5000 go test -run Killed -v ./bot/telegram
func TestKilledBotsLoseNothing(t *testing.T) {
	kills, messages := number(t, "BAGWATCH_TEST_KILLS", 10), number(t, "BAGWATCH_TEST_MESSAGES", 500)
	for _, mode := range []string{"polling", "webhook"} {
		t.Run(mode, func(t *testing.T) {
			s := standin.New(t, quickRetry, func(c *standin.Config) { c.SkipSchema = true })
			where := s.URL()
			if mode == "webhook" {
				l, err := net.Listen("tcp", "127.0.0.1:0") // a free port, for all that follow
				require.NoError(t, err)
				require.NoError(t, l.Close())
				where += " " + l.Addr().String()
			}
			people := make([]*standin.User, 40)
			for i := range people {
				people[i] = s.AddUser(standin.User{FirstName: fmt.Sprint("Cook", i)})
				s.Open(people[i])
			}
			rng := rand.New(rand.NewPCG(3, 4)) // the moments of the kills; the machine adds its own
			sent, worst, before := 0, 0, 0
			for kill := range kills + 1 {
				cmd := exec.Command(os.Args[0])
				cmd.Env = append(os.Environ(), killedBot+"="+where)
				cmd.Stderr = os.Stderr
				require.NoError(t, cmd.Start())
				for upTo := messages * min(kill+1, kills) / kills; sent < upTo; sent++ {
					u := people[sent%len(people)]
					s.SendText(u, s.Private(u), fmt.Sprint("message ", sent))
				}
				answered := s.Count("sendMessage")
				if kill == kills {
					require.Eventually(t, func() bool { return s.Pending() == 0 }, 30*time.Second, 5*time.Millisecond, "it does not catch up")
				} else {
					require.Eventually(t, func() bool { return s.Count("sendMessage") > answered }, 30*time.Second, time.Millisecond, "nothing is answered")
					time.Sleep(time.Duration(rng.IntN(10_000)) * time.Microsecond)
				}
				require.NoError(t, cmd.Process.Kill())
				_ = cmd.Wait()                   // it was killed, and says so
				time.Sleep(5 * time.Millisecond) // what it had written arrives, and counts before the next kill
				_, repeats := answers(s, people)
				worst, before = max(worst, repeats-before), repeats
				assert.LessOrEqual(t, repeats, 8*(kill+1), "kills repeated more than what was in flight")
			}
			distinct, repeats := answers(s, people)
			assert.Equal(t, messages, distinct, "messages without an answer")
			if mode == "polling" { // a webhook's sender pauses, so that repeats may come after the next kill only
				assert.LessOrEqual(t, worst, 8, "one kill repeated more than what was in flight")
			}
			assert.Empty(t, s.Violations())
			t.Logf("%d messages, %d kills, %d answered twice, at most %d between two kills", messages, kills, repeats, worst)
		})
	}
}

// answers counts what was answered, and how often again.
func answers(s *standin.Server, people []*standin.User) (distinct, repeats int) {
	seen := map[string]bool{}
	for _, u := range people {
		for _, m := range s.Messages(s.Private(u)) {
			switch {
			case !m.ByBot:
			case seen[m.Text]:
				repeats++
			default:
				seen[m.Text] = true
			}
		}
	}
	return len(seen), repeats
}

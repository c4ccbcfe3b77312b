package telegram_test

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"os/exec"
	"syscall"
	"testing"
	"time"

	tg "github.com/go-telegram/bot"
	"github.com/go-telegram/bot/models"

	"bagwatch/bot"
	"bagwatch/bot/telegram"
	"bagwatch/bot/telegram/standin"
	"bagwatch/internal/cook"
	"bagwatch/internal/food"
	"bagwatch/internal/phrase"
	"bagwatch/internal/reply"
	"bagwatch/internal/store"
	"bagwatch/locales"
)

// The load server is this test binary, started again as a process of its own, so that the processor
// time of the bot can be told from that of the stand-in.
const loadServer = "BAGWATCH_TEST_LOAD_SERVER"

func TestMain(m *testing.M) {
	if os.Getenv(loadServer) != "" {
		if err := serveLoad(os.Stdin, os.Stdout); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		os.Exit(0)
	}
	if where := os.Getenv(killedBot); where != "" {
		fmt.Fprintln(os.Stderr, runKilledBot(where)) // it should be killed, not end
		os.Exit(1)
	}
	os.Exit(m.Run())
}

// loadHello is the server's first line, loadDone its answer to each command, loadGo the command.
type (
	loadHello struct{ URL, Token string }
	loadGo    struct{ Messages int }
	loadDone  struct {
		Seconds    float64
		Violations int
	}
)

// loadPeople is how many people write in turn.
const loadPeople = 200

// serveLoad lets people write and says how long the bot took to answer all of them.
func serveLoad(in io.Reader, out io.Writer) error {
	s, err := standin.Start(standin.Config{SkipSchema: true, KeepMessages: 4, KeepCalls: -1})
	if err != nil {
		return err
	}
	defer s.Close()
	people := make([]*standin.User, loadPeople)
	for i := range people {
		people[i] = s.AddUser(standin.User{FirstName: fmt.Sprint("Cook", i), LanguageCode: "en"})
		s.Open(people[i])
	}
	enc, dec := json.NewEncoder(out), json.NewDecoder(bufio.NewReader(in))
	if err := enc.Encode(loadHello{s.URL(), s.Token()}); err != nil {
		return err
	}
	for {
		var c loadGo
		if err := dec.Decode(&c); err != nil {
			return nil // the bench is over
		}
		sent, at := s.Count("sendMessage"), time.Now()
		for i := range c.Messages {
			u := people[i%len(people)]
			s.SendText(u, s.Private(u), "ribeye 450 g 3 cm medium rare")
		}
		for s.Count("sendMessage")-sent < c.Messages {
			time.Sleep(time.Millisecond)
		}
		if err := enc.Encode(loadDone{time.Since(at).Seconds(), len(s.Violations())}); err != nil {
			return err
		}
	}
}

// load is a running server process.
type load struct {
	loadHello
	enc *json.Encoder
	dec *json.Decoder
}

func startLoad(b *testing.B) *load {
	b.Helper()
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), loadServer+"=1")
	cmd.Stderr = os.Stderr
	in, err := cmd.StdinPipe()
	if err != nil {
		b.Fatal(err)
	}
	out, err := cmd.StdoutPipe()
	if err != nil {
		b.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() {
		_ = in.Close()
		if err := cmd.Wait(); err != nil {
			b.Error(err)
		}
	})
	l := &load{enc: json.NewEncoder(in), dec: json.NewDecoder(out)}
	if err := l.dec.Decode(&l.loadHello); err != nil {
		b.Fatal(err)
	}
	return l
}

// cost is what a message took the bot.
type cost struct{ cpu, wall time.Duration }

// measure has n messages answered and measures this process.
func (l *load) measure(b *testing.B, n int) cost {
	b.Helper()
	before := processorTime(b)
	if err := l.enc.Encode(loadGo{n}); err != nil {
		b.Fatal(err)
	}
	var done loadDone
	if err := l.dec.Decode(&done); err != nil {
		b.Fatal(err)
	}
	used := processorTime(b) - before
	if done.Violations > 0 {
		b.Fatalf("%d violations", done.Violations)
	}
	return cost{used / time.Duration(n), time.Duration(done.Seconds * float64(time.Second) / float64(n))}
}

func processorTime(b *testing.B) time.Duration {
	b.Helper()
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		b.Fatal(err)
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// answer is a full answer as the bot gives it: styles, a clock, a row of buttons.
func answer(in bot.Incoming) bot.Message {
	at := in.At.Add(75 * time.Minute)
	return bot.Message{ReplyTo: in.Message, Text: reply.Text{
		{{Text: "Ribeye, medium rare: water at 55.5 °C (132 °F)", Style: reply.Strong}},
		{{Text: "In "}, {Text: "18:20", Style: reply.Clock, At: in.At}, {Text: " → ready "}, {Text: "19:35", Style: reply.Clock, At: at}, {Text: ", best until "}, {Text: "22:20", Style: reply.Clock, At: at.Add(time.Hour)}},
		{},
		{{Text: "Pasteurised only after 5 h 05 min."}},
		{{Text: "Taken as: 450 g in one piece, 32 mm thick, from the fridge at 5 °C."}},
		{{Text: "Then: 5 min in ice water, dry well, sear 45–60 s a side, edges too."}},
		{},
		{{Text: "So eat it as rare meat: fine for most people if it is one uncut piece, not pinned or tenderised; not for pregnant, very young, old or ill guests."}},
	}, Buttons: [][]bot.Button{
		{{Label: "Start the clock", Data: "s:AbCdEfGhIjKlMnOpQrStUvWxYz0123456789"}, {Label: "Thinner", Data: "a:-"}, {Label: "Thicker", Data: "a:+"}},
		{{Label: "Doneness", Data: "d"}, {Label: "Frozen", Data: "f"}, {Label: "Share", Share: "ribeye 450 g"}},
	}}
}

// BenchmarkAnswer compares, in one run against one stand-in, four bots: the library's own echo bot, our
// adapter with an echo, our adapter with a full answer that stands ready, and the whole bot, which reads,
// plans and words each answer. An iteration is a message. Reported are
// processor time and time per message, and how ours compare with the library's: cpu-ratio is ours to
// theirs (lower is better), rate-ratio ours to theirs (higher is better).
//
//	go test -run '^$' -bench Answer -benchtime 6000x ./bot/telegram
func BenchmarkAnswer(b *testing.B) {
	l := startLoad(b)
	const rounds = 3 // interleaved, so that a busy machine hits all alike; the best of each counts
	bots := []struct {
		name  string
		start func(*testing.B, *load) (stop func())
	}{{"library", startLibrary}, {"echo", startOurs(echoMessage)}, {"full", startOurs(answer)}, {"whole", startWhole}}
	best := map[string]cost{}
	n := max(b.N/rounds, 1)
	for range rounds {
		for _, one := range bots {
			stop := one.start(b, l)
			l.measure(b, min(n, 200)) // warm connections
			c := l.measure(b, n)
			stop()
			if old, ok := best[one.name]; !ok || c.cpu < old.cpu {
				best[one.name] = cost{c.cpu, min(c.wall, orElse(old.wall, c.wall))}
			} else {
				best[one.name] = cost{old.cpu, min(c.wall, old.wall)}
			}
		}
	}
	for name, c := range best {
		b.ReportMetric(float64(c.cpu.Microseconds()), name+"-cpu-µs/msg")
		b.ReportMetric(float64(time.Second)/float64(c.wall), name+"-msg/s")
		if name != "library" {
			b.ReportMetric(float64(c.cpu)/float64(best["library"].cpu), name+"-cpu-ratio")
			b.ReportMetric(float64(best["library"].wall)/float64(c.wall), name+"-rate-ratio")
		}
	}
}

func orElse(d, other time.Duration) time.Duration {
	if d == 0 {
		return other
	}
	return d
}

func echoMessage(in bot.Incoming) bot.Message { return bot.Message{Text: lines(in.Text)} }

// startLibrary runs the echo bot of the library's own documentation.
func startLibrary(b *testing.B, l *load) func() {
	lib, err := tg.New(l.Token, tg.WithServerURL(l.URL), tg.WithDefaultHandler(func(ctx context.Context, lib *tg.Bot, u *models.Update) {
		if _, err := lib.SendMessage(ctx, &tg.SendMessageParams{ChatID: u.Message.Chat.ID, Text: u.Message.Text}); err != nil && ctx.Err() == nil {
			b.Error(err)
		}
	}), tg.WithErrorsHandler(func(error) {}))
	if err != nil {
		b.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan struct{})
	go func() { defer close(done); lib.Start(ctx) }()
	return func() { cancel(); <-done }
}

// startWhole runs the bot as serve does, on a store in memory.
func startWhole(b *testing.B, l *load) func() {
	foods, err := food.Load()
	if err != nil {
		b.Fatal(err)
	}
	book, err := phrase.Load(locales.FS, foods)
	if err != nil {
		b.Fatal(err)
	}
	texts, err := reply.Load(locales.FS, nil)
	if err != nil {
		b.Fatal(err)
	}
	a, err := telegram.New(l.Token, telegram.Config{APIURL: l.URL})
	if err != nil {
		b.Fatal(err)
	}
	whole := bot.New(cook.New(foods), book, texts, store.NewMemory(time.Now), a, bot.Config{Burst: -1})
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error)
	go func() { done <- a.Run(ctx, whole) }()
	return func() {
		cancel()
		if err := <-done; err != nil {
			b.Error(err)
		}
	}
}

func startOurs(say func(bot.Incoming) bot.Message) func(*testing.B, *load) func() {
	return func(b *testing.B, l *load) func() {
		a, err := telegram.New(l.Token, telegram.Config{APIURL: l.URL})
		if err != nil {
			b.Fatal(err)
		}
		ctx, cancel := context.WithCancel(context.Background())
		done := make(chan error)
		go func() {
			done <- a.Run(ctx, handlerFunc(func(ctx context.Context, in bot.Incoming) error {
				_, err := a.Send(ctx, in.Chat, say(in))
				return err
			}))
		}()
		return func() {
			cancel()
			if err := <-done; err != nil {
				b.Error(err)
			}
		}
	}
}

package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"os"
	"path/filepath"
	"sync"
	"time"

	"golang.org/x/term"

	"bagwatch/bot"
	"bagwatch/bot/terminal"
	"bagwatch/internal/curve"
	"bagwatch/internal/reply"
	"bagwatch/internal/store"
	"bagwatch/locales"
)

// chatCommand is the bot in a terminal, with everything kept in memory.
type chatCommand struct {
	As    string  `help:"Who types." placeholder:"NAME"`
	In    string  `help:"The shared kitchen they are in; without it they are alone with the bot." placeholder:"KITCHEN"`
	Lang  string  `help:"Language of the people's apps, such as en or de." placeholder:"TAG"`
	Speed float64 `name:"clock-speed" env:"BAGWATCH_CLOCK_SPEED" default:"1" help:"A demo clock that runs this many times as fast; 600 makes ten minutes a second."`
}

// errSpeed reports a clock speed that is no clock.
var errSpeed = errors.New("--clock-speed must be from 1 to 100000")

// fastest bounds the demo clock: a day in a second.
const fastest = 100_000

// Run talks until the input ends.
func (c *chatCommand) Run(ctx context.Context, env environment) error {
	if !(c.Speed >= 1 && c.Speed <= fastest) {
		return errSpeed
	}
	tools, err := newTools(locales.FS, func(tag, id string) { // a terminal is where texts are worked on
		fmt.Fprintf(env.err, "%s.toml has no text %s\n", tag, id)
	})
	if err != nil {
		return err
	}
	lang := c.Lang
	if lang == "" {
		lang = locale(env)
	}
	clock := newDemoClock(time.Now, c.Speed)
	texts := tools.texts.Language(lang)
	console, restore, err := newConsole(env)
	if err != nil {
		return err
	}
	defer restore()
	_, noColor := env.lookup("NO_COLOR")
	screen := terminal.New(terminal.Config{
		Out: console, Color: console.term != nil && !noColor, Now: clock.now, Wait: clock.wait,
		Person: c.As, Kitchen: c.In, Language: lang, Texts: texts,
		Save:   saveNew,
		Failed: func(err error) { fmt.Fprintln(env.err, "bagwatch:", err) },
	})
	painter, err := curve.New()
	if err != nil {
		return err
	}
	log := slog.New(slog.NewTextHandler(env.err, &slog.HandlerOptions{Level: slog.LevelError}))
	memory := store.NewMemory(clock.now)
	b := bot.New(tools.model, tools.book, tools.texts, memory, screen, bot.Config{Log: log, Link: terminal.Link, Painter: painter})
	if console.term != nil {
		fmt.Fprintln(console, texts.Say(reply.TerminalWelcome, nil))
	}
	alerts := bot.NewAlerts(b, memory, bot.AlertConfig{Now: clock.now, Speed: c.Speed, Log: log, Cards: screen})
	ringing, stop := context.WithCancel(ctx)
	rung := make(chan error, 1)
	go func() { rung <- alerts.Run(ringing) }()
	err = screen.Run(ctx, b, func() (string, error) { return console.line(screen.Prompt()) })
	stop()
	return errors.Join(err, <-rung)
}

// saveNew writes a file that is not there yet into the working directory.
func saveNew(name string, data []byte) (string, error) {
	f, err := os.OpenFile(filepath.Base(name), os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return "", fmt.Errorf("save file: %w", err)
	}
	_, err = f.Write(data)
	return f.Name(), errors.Join(err, f.Close())
}

// demoClock runs speed times as fast as the clock it is made of.
type demoClock struct {
	real  func() time.Time
	start time.Time
	speed float64
}

func newDemoClock(real func() time.Time, speed float64) demoClock {
	return demoClock{real: real, start: real(), speed: speed}
}

func (c demoClock) now() time.Time {
	gone := c.real().Sub(c.start)
	return c.start.Add(time.Duration(float64(gone) * c.speed))
}

// wait returns after d on this clock.
func (c demoClock) wait(ctx context.Context, d time.Duration) error {
	timer := time.NewTimer(time.Duration(float64(d) / c.speed))
	defer timer.Stop()
	select {
	case <-timer.C:
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}

// console reads lines: with editing and history when both ends are a terminal, plainly otherwise.
type console struct {
	term *term.Terminal // nil when piped
	in   *bufio.Reader

	mu  sync.Mutex
	out io.Writer
}

func newConsole(env environment) (*console, func(), error) {
	c := &console{in: bufio.NewReader(env.in), out: env.out}
	file, ok := env.in.(*os.File)
	if !ok || !termIsTerminal(int(file.Fd())) || !isTerminal(env.out) {
		return c, func() {}, nil
	}
	fd := int(file.Fd())
	before, err := term.MakeRaw(fd)
	if err != nil {
		return nil, nil, fmt.Errorf("set up the terminal: %w", err)
	}
	c.term = term.NewTerminal(struct {
		io.Reader
		io.Writer
	}{env.in, env.out}, "")
	return c, func() { _ = term.Restore(fd, before) }, nil
}

// Write prints above the line that is being typed.
func (c *console) Write(p []byte) (int, error) {
	if c.term != nil {
		return c.term.Write(p)
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.out.Write(p)
}

// line reads one line without its end.
func (c *console) line(prompt string) (string, error) {
	if c.term != nil {
		c.term.SetPrompt(prompt)
		return c.term.ReadLine()
	}
	s, err := c.in.ReadString('\n')
	if n := len(s); n > 0 && s[n-1] == '\n' {
		s = s[:n-1]
	}
	return s, err
}

package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"os"
	"runtime/debug"
	"sync"
	"syscall"
	"time"

	"bagwatch/bot"
	"bagwatch/bot/telegram"
	"bagwatch/internal/config"
	"bagwatch/internal/curve"
	"bagwatch/internal/reply"
	"bagwatch/locales"
)

// serveCommand runs the bot on Telegram. Each setting is a flag or a variable of the environment.
type serveCommand struct {
	config.Flags
}

// misused is an error that only the operator can mend: exit code 2, one line for each problem.
type misused struct{ error }

// Unwrap gives what is wrong.
func (m misused) Unwrap() error { return m.error }

// problem says what is wrong with a setting, and what to do.
func problem(name, format string, args ...any) error {
	return misused{&config.Problem{Name: name, Why: fmt.Sprintf(format, args...)}}
}

// problems lists the problems of some errors, the first of each setting: one that cannot be read is not
// missing as well.
func problems(joined ...error) (all []error) {
	seen := map[string]bool{}
	for _, err := range joined {
		list := []error{err}
		if j, ok := err.(interface{ Unwrap() []error }); ok {
			list = j.Unwrap()
		}
		for _, err := range list {
			var p *config.Problem
			if errors.As(err, &p) {
				if seen[p.Name] {
					continue
				}
				seen[p.Name] = true
			}
			all = append(all, err)
		}
	}
	return all
}

// Bounds of the stop; all of it stays within 10 s. House rules.
const (
	stopGrace  = 8 * time.Second // what is in hand, of messages and of alerts
	closeGrace = time.Second     // connections to our own listener
)

// Bounds of our own HTTP server: slow senders hold no connection. House rules.
const (
	httpTimeout = 20 * time.Second
	httpIdle    = 2 * time.Minute
	httpHeader  = 16 << 10
)

// Run serves until ctx ends.
func (c *serveCommand) Run(ctx context.Context, env environment) error {
	cfg, err := config.Read(c.Over(env.lookup), os.ReadFile)
	if err := errors.Join(problems(err, cfg.CheckServe())...); err != nil {
		return misused{err}
	}
	tools, err := newTools(locales.FS, nil)
	if err != nil {
		return err
	}
	log := slog.New(slog.NewTextHandler(env.err, &slog.HandlerOptions{Level: cfg.LogLevel}))
	return (&server{cfg: cfg, tools: tools, log: log}).run(ctx)
}

// server is the bot on Telegram, being put together.
type server struct {
	tools
	cfg   config.Config
	log   *slog.Logger
	clock demoClock
	store *guardedStore
	stats *metrics // nil without BAGWATCH_METRICS
}

func (s *server) run(ctx context.Context) error {
	s.log.Info("starting", "version", version(), "config", s.cfg)
	s.clock = newDemoClock(time.Now, s.cfg.ClockSpeed)
	if s.fast() {
		s.log.Warn("the clock is not the real one: for demonstrations and tests only", "clock_speed", s.cfg.ClockSpeed)
	}
	if s.cfg.Metrics != "" {
		s.stats = newMetrics()
	}
	ctx, cancel := context.WithCancelCause(ctx)
	defer cancel(nil)
	if err := s.openStore(cancel); err != nil {
		return err
	}
	defer func() {
		if err := s.store.Close(); err != nil {
			s.log.Warn("store not closed", "error", err)
		}
	}()
	transport := http.DefaultTransport.(*http.Transport).Clone() // it is one, by net/http's documentation
	transport.MaxIdleConnsPerHost = maxIdle
	defer transport.CloseIdleConnections()
	adapter, err := s.adapter(transport)
	if err != nil {
		return err
	}
	stop, err := s.listen("BAGWATCH_LISTEN", s.cfg.Listen, adapter.Handler())
	if err != nil {
		return err
	}
	defer stop()
	if s.stats != nil { // on a port of its own, never where the webhook is
		s.store.keeper = measured{s.store.keeper, s.stats}
		stop, err := s.listen("BAGWATCH_METRICS", s.cfg.Metrics, s.stats.handler())
		if err != nil {
			return err
		}
		defer stop()
	}
	if err := s.awaitStore(ctx); err != nil {
		return ended(ctx, err)
	}
	if err := adapter.Connect(ctx); err != nil {
		return ended(ctx, told(err))
	}
	return s.serve(ctx, cancel, adapter)
}

// serve runs the conversation and the alerts side by side; the end of one is the end of both.
func (s *server) serve(ctx context.Context, cancel context.CancelCauseFunc, adapter *telegram.Adapter) error {
	painter, err := curve.New()
	if err != nil {
		return err
	}
	b := bot.New(s.model, s.book, s.texts, s.store, adapter, bot.Config{
		Log: s.log, Painter: painter,
		Link: func(payload string) string {
			if adapter.Username() == "" {
				return ""
			}
			return "https://t.me/" + adapter.Username() + "?start=" + payload
		},
	})
	alerting := bot.AlertConfig{Now: s.now(), Speed: s.cfg.ClockSpeed, Grace: stopGrace, Log: s.log}
	if s.cfg.Rate >= 0 { // without rates there is no order to keep
		alerting.Usual, alerting.Urgent = adapter.Paced(telegram.News), adapter.Paced(telegram.Safety)
	}
	alerting.Cards = adapter.Paced(telegram.Cards)
	if s.stats != nil {
		alerting.Told = s.stats.told
	}
	alerts := bot.NewAlerts(b, s.store, alerting)
	if s.stats != nil {
		s.stats.watch(b, adapter, alerts, s.store, s.now())
	}
	var side sync.WaitGroup
	side.Go(func() { cancel(told(adapter.Run(ctx, s.door(b, adapter)))) })
	side.Go(func() { cancel(alerts.Run(ctx)) })
	debug.FreeOSMemory() // what reading the languages and the catalogue left behind, once
	s.log.Info("serving")
	<-ctx.Done()
	s.log.Info("stopping")
	side.Wait()
	s.log.Info("stopped", "alerts", alerts.Counts().Sent, "repeats", alerts.Counts().Again, "dead", alerts.Counts().Dead)
	return ended(ctx, nil)
}

// ended is why ctx ended: nothing if it was told to, else what went wrong.
func ended(ctx context.Context, err error) error {
	cause := context.Cause(ctx)
	switch {
	case ctx.Err() == nil:
		return err
	case cause == nil, errors.Is(cause, context.Canceled), errors.Is(cause, context.DeadlineExceeded):
		return nil
	}
	return cause
}

// told turns the adapter's errors into what the operator has to do.
func told(err error) error {
	switch {
	case errors.Is(err, telegram.ErrToken):
		return problem("TELEGRAM_TOKEN", "refused by the platform: copy the token again from @BotFather, or have a new one made there")
	case errors.Is(err, telegram.ErrConfig):
		return misused{err}
	}
	return err
}

func (s *server) fast() bool { return s.cfg.ClockSpeed != 1 }

func (s *server) now() func() time.Time {
	if s.fast() {
		return s.clock.now
	}
	return time.Now
}

// maxIdle keeps a connection to the platform for each answer and alert that may be on its way. House rule.
const maxIdle = 24

func (s *server) adapter(transport http.RoundTripper) (*telegram.Adapter, error) {
	rates := telegram.Rates{Overall: s.cfg.Rate}
	if s.cfg.Rate < 0 {
		rates = telegram.Rates{Overall: -1, Chat: -1, Group: -1}
	}
	a, err := telegram.New(s.cfg.Token.Reveal(), telegram.Config{
		APIURL: s.cfg.APIURL, WebhookURL: s.cfg.WebhookURL, WebhookSecret: s.cfg.WebhookSecret.Reveal(),
		Profiles: s.profiles(), Ready: s.store.Ping, Grace: stopGrace, Rates: rates, Now: s.now(), Log: s.log,
		Transport: transport,
	})
	return a, told(err)
}

// profiles is what the bot says of itself: English for everybody, and each language for its own.
func (s *server) profiles() []telegram.Profile {
	var all []telegram.Profile
	for _, tag := range s.texts.Tags() {
		l := s.texts.Language(tag)
		p := telegram.Profile{Language: tag}
		if tag == reply.Fallback {
			p.Language = ""
		}
		if l.Has(reply.ProfileDescription) {
			p.Description, p.Short = l.Say(reply.ProfileDescription, nil), l.Say(reply.ProfileShort, nil)
		}
		for _, name := range bot.Commands() {
			if id := reply.ID("command." + name); l.Has(id) {
				p.Commands = append(p.Commands, telegram.Command{Name: name, Description: l.Say(id, nil)})
			}
		}
		all = append(all, p)
	}
	return all
}

// listen serves h at the address of a setting, if there is one; the function returned ends it.
func (s *server) listen(setting, address string, h http.Handler) (stop func(), err error) {
	if address == "" {
		return func() {}, nil
	}
	l, err := net.Listen("tcp", address)
	switch {
	case errors.Is(err, syscall.EADDRINUSE):
		return nil, problem(setting, "%s is taken by another program: stop that or choose another port", address)
	case err != nil:
		return nil, problem(setting, "cannot listen on %s: %v", address, errors.Unwrap(err))
	}
	srv := &http.Server{
		Handler: h, ReadHeaderTimeout: httpTimeout, ReadTimeout: httpTimeout, IdleTimeout: httpIdle, MaxHeaderBytes: httpHeader,
	}
	s.log.Info("listening", "for", setting, "address", l.Addr().String())
	var side sync.WaitGroup
	side.Go(func() {
		if err := srv.Serve(l); !errors.Is(err, http.ErrServerClosed) {
			s.log.Error("HTTP server ended", "error", err)
		}
	})
	return func() {
		ctx, cancel := context.WithTimeout(context.Background(), closeGrace)
		defer cancel()
		if err := srv.Shutdown(ctx); err != nil {
			_ = srv.Close() // what is left has had its time
		}
		side.Wait()
	}, nil
}

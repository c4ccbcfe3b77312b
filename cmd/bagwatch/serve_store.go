package main

import (
	"context"
	"errors"
	"strings"
	"time"

	"bagwatch/bot"
	"bagwatch/internal/store"
)

// keeper is what serving needs of storage; store.Memory and store.Redis satisfy it.
type keeper interface {
	bot.AlertStore
	Scan(ctx context.Context, visit func(store.ChatID) error) error
	Check(ctx context.Context) (store.Health, error)
	Ping(ctx context.Context) error
	Close() error
}

// guardedStore stops the program when a document turns up that no key opens: it must never be taken for an
// empty one.
type guardedStore struct {
	keeper
	stop context.CancelCauseFunc
}

// Load reads a document.
func (g *guardedStore) Load(ctx context.Context, chat store.ChatID) (store.Document, error) {
	d, err := g.keeper.Load(ctx, chat)
	if errors.Is(err, store.ErrKey) {
		g.stop(errWrongKey)
	}
	return d, err
}

// errWrongKey says what to do about a document that no key opens.
var errWrongKey = problem("BAGWATCH_DATA_KEY", "does not open what is stored: give the key it was stored with; to change keys, give the new one first and the old one after a comma")

// openStore prepares the store; it does not connect yet.
func (s *server) openStore(stop context.CancelCauseFunc) error {
	s.store = &guardedStore{stop: stop}
	keys, err := store.ParseKeyring(s.cfg.DataKey.Reveal())
	if err != nil {
		return problem("BAGWATCH_DATA_KEY", "not 32 bytes in hexadecimal or base64: make one with openssl rand -hex 32")
	}
	if s.cfg.Embedded {
		s.log.Warn("embedded: running bags and settings are lost when this process ends")
		s.store.keeper = store.NewMemory(s.now())
		return nil
	}
	if keys.Len() == 0 {
		s.log.Warn("no BAGWATCH_DATA_KEY: what is stored is not encrypted")
	}
	store.LogClient(s.log)
	r, err := store.Open(store.Config{URL: s.cfg.RedisURL.Reveal(), Keys: keys}, time.Now, s.log)
	if err != nil {
		return problem("REDIS_URL", "%v; write it as redis://host:6379/0, or rediss:// for TLS", errors.Unwrap(err))
	}
	s.store.keeper = r
	return nil
}

// Pauses between looks at a store that does not answer at the start. House rules.
const firstWait, lastWait = time.Second, 30 * time.Second

// awaitStore waits until the store answers, and refuses one that cannot be trusted.
func (s *server) awaitStore(ctx context.Context) error {
	for pause := firstWait; ; pause = min(2*pause, lastWait) {
		health, err := s.store.Check(ctx)
		switch {
		case err == nil:
			for _, p := range health.Problems {
				s.log.Warn("store could be safer", "problem", p, "set", strings.Join(health.Advice, "; "))
			}
			return s.tryKey(ctx)
		case errors.Is(err, store.ErrVolatile) && s.cfg.Embedded: // which was said
			return nil
		case errors.Is(err, store.ErrVolatile) && s.cfg.AllowVolatile:
			s.log.Warn("store may lose running bags, as allowed", "problems", strings.Join(health.Problems, "; "))
			return s.tryKey(ctx)
		case errors.Is(err, store.ErrVolatile):
			return problem("REDIS_URL", "this Redis may lose running bags: %s. Put this into its configuration, or accept it with --allow-volatile:\n  %s",
				strings.Join(health.Problems, ", "), strings.Join(health.Advice, "\n  "))
		case errors.Is(err, store.ErrVersion):
			return problem("REDIS_URL", "this Redis is of version %s: 7.0 or later is needed", health.Version)
		case denied(err):
			return problem("REDIS_URL", "Redis refuses the user or the password, or the user may not do what is needed")
		case ctx.Err() != nil:
			return ctx.Err()
		}
		s.log.Warn("Redis does not answer, trying again", "error", err, "pause", pause)
		if err := wait(ctx, pause); err != nil {
			return err
		}
	}
}

// denied tells an answer that waiting does not change. These words begin such answers in every Redis since
// 6.0 ("Redis ACL", official documentation).
func denied(err error) bool {
	text := err.Error()
	for _, word := range []string{"WRONGPASS", "NOAUTH", "NOPERM"} {
		if strings.Contains(text, word) {
			return true
		}
	}
	return false
}

// tried is how many documents are opened at the start to see whether the key fits.
const tried = 8

// tryKey opens some documents.
func (s *server) tryKey(ctx context.Context) error {
	enough := errors.New("enough")
	n := 0
	err := s.store.Scan(ctx, func(chat store.ChatID) error {
		_, err := s.store.Load(ctx, chat)
		switch {
		case errors.Is(err, store.ErrKey):
			return errWrongKey
		case errors.Is(err, store.ErrCorrupt):
			return problem("REDIS_URL", "this Redis holds values under the bot's names that are not the bot's: chat %d", chat)
		}
		if n++; n == tried {
			return enough
		}
		return nil // what else may be wrong is dealt with while serving
	})
	if errors.Is(err, enough) {
		return nil
	}
	return err
}

// wait waits, or gives the context's error.
func wait(ctx context.Context, d time.Duration) error {
	t := time.NewTimer(d)
	defer t.Stop()
	select {
	case <-t.C:
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}

package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"time"

	"bagwatch/internal/config"
	"bagwatch/internal/store"
)

// rotateCommand seals all that is stored with the first data key. It can run beside serve, and again.
type rotateCommand struct {
	RedisURLFile string `name:"redis-url-file" placeholder:"FILE" help:"File with the Redis address (REDIS_URL_FILE)."`
	DataKeyFile  string `name:"data-key-file" placeholder:"FILE" help:"File with the keys, the new one first (BAGWATCH_DATA_KEY_FILE)."`
}

// Run seals what is plain or sealed with another of the keys.
func (c *rotateCommand) Run(ctx context.Context, env environment) error {
	flags := config.Flags{RedisURLFile: c.RedisURLFile, DataKeyFile: c.DataKeyFile}
	cfg, err := config.Read(flags.Over(env.lookup), os.ReadFile)
	if err != nil {
		return misused{err}
	}
	if !cfg.RedisURL.Set() {
		return problem("REDIS_URL", "not set: give the address of the Redis whose values are to be sealed anew")
	}
	keys, err := store.ParseKeyring(cfg.DataKey.Reveal())
	switch {
	case err != nil:
		return problem("BAGWATCH_DATA_KEY", "not 32 bytes in hexadecimal or base64: make one with openssl rand -hex 32")
	case keys.Len() == 0:
		return problem("BAGWATCH_DATA_KEY", "not set: give the new key and, after a comma, the old one")
	}
	log := slog.New(slog.NewTextHandler(env.err, &slog.HandlerOptions{Level: cfg.LogLevel}))
	store.LogClient(log)
	r, err := store.Open(store.Config{URL: cfg.RedisURL.Reveal(), Keys: keys}, time.Now, log)
	if err != nil {
		return problem("REDIS_URL", "%v; write it as redis://host:6379/0, or rediss:// for TLS", errors.Unwrap(err))
	}
	defer r.Close() // nothing is pending
	n, err := r.Rotate(ctx)
	switch {
	case errors.Is(err, store.ErrKey):
		return problem("BAGWATCH_DATA_KEY", "does not open all that is stored: give the old key after the new one and a comma (%d documents were sealed so far)", n)
	case err != nil:
		return fmt.Errorf("after %d documents, run it again: %w", n, err)
	}
	fmt.Fprintf(env.out, "%d documents sealed anew; all now need the first key only\n", n)
	return nil
}

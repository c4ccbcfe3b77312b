package main

import (
	"context"
	"fmt"
	"net/http"
	"time"
)

// readyCommand asks a running serve whether it is ready: for containers, whose image has nothing else in it
// that could ask.
type readyCommand struct {
	Listen string `help:"Address that serve listens on (BAGWATCH_LISTEN)." default:"127.0.0.1:8080" env:"BAGWATCH_LISTEN" placeholder:"HOST:PORT"`
}

// readyWait bounds the question. A health check that takes longer is an answer too.
const readyWait = 4 * time.Second

// Run asks /readyz.
func (c *readyCommand) Run(ctx context.Context, env environment) error {
	ctx, cancel := context.WithTimeout(ctx, readyWait)
	defer cancel()
	request, err := http.NewRequestWithContext(ctx, http.MethodGet, "http://"+c.Listen+"/readyz", nil)
	if err != nil {
		return fmt.Errorf("ask %s: %w", c.Listen, err)
	}
	answer, err := http.DefaultClient.Do(request)
	if err != nil {
		return fmt.Errorf("not reached: %w", err)
	}
	answer.Body.Close()
	if answer.StatusCode != http.StatusOK {
		return fmt.Errorf("not ready: %s", answer.Status)
	}
	fmt.Fprintln(env.out, "ready")
	return nil
}

// Command bagwatch answers what to set a water bath to, when a bag is ready and how long it holds.
package main

import (
	"context"
	"os"
	"os/signal"
	"syscall"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	code := run(ctx, os.Args[1:], environment{
		lookup: os.LookupEnv, in: os.Stdin, out: os.Stdout, err: os.Stderr,
	})
	stop()
	os.Exit(code)
}

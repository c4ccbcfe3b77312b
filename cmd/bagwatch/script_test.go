package main

import (
	"context"
	"os"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
	"github.com/stretchr/testify/assert"
)

// TestMain lets the scripts run the program as "bagwatch".
func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){
		"bagwatch": func() {
			os.Exit(run(context.Background(), os.Args[1:], environment{lookup: os.LookupEnv, in: os.Stdin, out: os.Stdout, err: os.Stderr}))
		},
	})
}

func TestCommandLine(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir: "testdata",
		Setup: func(env *testscript.Env) error {
			env.Setenv("LONG", strings.Repeat("steak ", 1667)) // 10,000 characters
			return nil
		},
	})
}

// TestExitCodes: 0 answered, 2 not understood or refused or misused.
func TestExitCodes(t *testing.T) {
	for name, tt := range map[string]struct {
		args []string
		want int
	}{
		"a plan":             {[]string{"ask", "ribeye 3 cm"}, exitOK},
		"a refusal":          {[]string{"ask", "chicken 3 cm 55C"}, exitMisused},
		"a refusal as JSON":  {[]string{"ask", "--json", "chicken 3 cm 55C"}, exitMisused},
		"not understood":     {[]string{"ask", "asdf"}, exitMisused},
		"an empty message":   {[]string{"ask", ""}, exitMisused},
		"no message":         {[]string{"ask"}, exitMisused},
		"an unknown command": {[]string{"sing"}, exitMisused},
		"help":               {[]string{"--help"}, exitOK},
		"the list":           {[]string{"foods"}, exitOK},
	} {
		t.Run(name, func(t *testing.T) {
			var out, errs strings.Builder
			none := func(string) (string, bool) { return "", false }
			code := run(t.Context(), tt.args, environment{lookup: none, in: strings.NewReader(""), out: &out, err: &errs})
			assert.Equal(t, tt.want, code, "stderr: %s", errs.String())
			assert.NotContains(t, errs.String(), "goroutine", "no stack trace")
		})
	}
}

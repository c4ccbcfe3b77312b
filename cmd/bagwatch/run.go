package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"strings"

	"github.com/alecthomas/kong"

	"bagwatch/internal/cook"
	"bagwatch/internal/food"
	"bagwatch/internal/phrase"
	"bagwatch/internal/reply"
)

// Exit codes.
const (
	exitOK      = 0
	exitFailed  = 1
	exitMisused = 2 // not understood, refused by a rule, or wrong use
)

// environment is all that the program touches of the world around it.
type environment struct {
	lookup   func(string) (string, bool)
	in       io.Reader
	out, err io.Writer
}

// commands is the command line.
type commands struct {
	Ask     askCommand     `cmd:"" help:"Answer one message on standard output, or a message a line with --json -."`
	Chat    chatCommand    `cmd:"" help:"Talk to the bot in this terminal; everything is forgotten at the end."`
	Serve   serveCommand   `cmd:"" help:"Run the bot on Telegram until it is told to stop."`
	Ready   readyCommand   `cmd:"" help:"Ask a running serve whether it is ready; for health checks."`
	Rotate  rotateCommand  `cmd:"" help:"Seal all that is stored with a new data key."`
	Foods   foodsCommand   `cmd:"" help:"List the foods there are plans for."`
	Version versionCommand `cmd:"" help:"Print the version."`
}

// errAnswered ends a command whose message has been dealt with on the right stream.
var errAnswered = errors.New("answered")

// run is the program; it returns its exit code.
func run(ctx context.Context, args []string, env environment) (code int) {
	var cli commands
	parser, err := kong.New(&cli, kong.Name("bagwatch"),
		kong.Description("What to set a water bath to, when a bag is ready and how long it holds.\n\nTry: bagwatch ask \"ribeye 450 g 3 cm medium rare\""),
		kong.Writers(env.out, env.err), kong.UsageOnError(),
		kong.Exit(func(c int) { panic(exited(c)) }),
		kong.BindTo(ctx, (*context.Context)(nil)), kong.Bind(env))
	if err != nil {
		fmt.Fprintln(env.err, "bagwatch:", err)
		return exitFailed
	}
	defer func() { // kong ends --help by its exit function
		if r := recover(); r != nil {
			c, ok := r.(exited)
			if !ok {
				panic(r)
			}
			code = int(c)
		}
	}()
	parsed, err := parser.Parse(args)
	if err != nil {
		fmt.Fprintf(env.err, "bagwatch: %v\nTry: bagwatch ask \"ribeye 450 g 3 cm medium rare\", or bagwatch --help\n", err)
		return exitMisused
	}
	switch err := parsed.Run(); {
	case err == nil:
		return exitOK
	case errors.Is(err, errAnswered):
		return exitMisused
	case errors.As(err, new(misused)):
		for line := range strings.Lines(err.Error()) {
			fmt.Fprintln(env.err, "bagwatch:", strings.TrimSuffix(line, "\n"))
		}
		return exitMisused
	default:
		fmt.Fprintln(env.err, "bagwatch:", err)
		return exitFailed
	}
}

// exited carries kong's exit code out of the parser.
type exited int

// tools are what every answering command needs.
type tools struct {
	model *cook.Model
	book  *phrase.Book
	texts *reply.Library
}

// newTools reads the catalogue and the languages of fsys. onMissing, when not nil, hears of each text that
// English stood in for.
func newTools(fsys fs.FS, onMissing func(tag, id string)) (tools, error) {
	foods, err := food.Load()
	if err != nil {
		return tools{}, err
	}
	book, err := phrase.Load(fsys, foods)
	if err != nil {
		return tools{}, err
	}
	texts, err := reply.Load(fsys, onMissing)
	if err != nil {
		return tools{}, err
	}
	return tools{model: cook.New(foods), book: book, texts: texts}, nil
}

// isTerminal reports whether w is a terminal a person reads.
func isTerminal(w io.Writer) bool {
	f, ok := w.(*os.File)
	if !ok {
		return false
	}
	return termIsTerminal(int(f.Fd()))
}

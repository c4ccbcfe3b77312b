package main

import (
	"bufio"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"sync"

	"golang.org/x/term"

	"bagwatch/internal/cook"
	"bagwatch/internal/phrase"
	"bagwatch/internal/reply"
	"bagwatch/locales"
)

var termIsTerminal = term.IsTerminal

// askCommand answers one message.
type askCommand struct {
	JSON   bool     `name:"json" help:"Print one JSON object; with - as the message, one for each line of standard input."`
	Lang   string   `help:"Language of the answer, such as en or de." placeholder:"TAG"`
	Units  string   `help:"Units of the answer: metric, or imperial for °F, inches and ounces." enum:"metric,imperial" default:"metric"`
	AtRisk bool     `help:"Somebody at higher risk will eat it: pregnant, very young, old or ill."`
	Curve  bool     `help:"Draw the core temperature as text."`
	PNG    string   `name:"png" help:"Write a picture of the cook to a new file." placeholder:"FILE"`
	Words  []string `arg:"" name:"message" help:"What you would say: \"ribeye 450 g 3 cm medium rare\"."`
}

// longestLine bounds one line of standard input in bytes. The parser reads 500 runes; longer lines get
// its kind error as long as they fit here.
const longestLine = 1 << 20

// Run answers.
func (c *askCommand) Run(env environment) error {
	t, err := newTools(locales.Only(c.Lang, locale(env)), nil)
	if err != nil {
		return err
	}
	a := asker{tools: t, command: c, env: env, language: t.texts.Language(c.Lang, locale(env))}
	a.parser = t.book.Parser(a.language.Tag)
	a.every = sync.OnceValues(func() (*phrase.Parser, error) {
		book, err := phrase.Load(locales.FS, t.model.Foods())
		if err != nil {
			return nil, err
		}
		return book.Parser(a.language.Tag), nil
	})
	a.options = reply.Options{Units: reply.Units(c.Units)}
	message := strings.Join(c.Words, " ")
	if c.JSON && message == "-" {
		return a.lines()
	}
	return a.one(message)
}

// locale is the language of the person's shell.
func locale(env environment) string {
	for _, name := range []string{"LC_ALL", "LC_MESSAGES", "LANG"} {
		if v, ok := env.lookup(name); ok && v != "" {
			tag, _, _ := strings.Cut(v, ".")
			return tag
		}
	}
	return ""
}

type asker struct {
	tools
	command  *askCommand
	env      environment
	language *reply.Language
	parser   *phrase.Parser                 // the person's language and English
	every    func() (*phrase.Parser, error) // all languages, read when those two are not enough
	options  reply.Options
}

// outcome is one message dealt with.
type outcome struct {
	answer  reply.Answer
	text    reply.Text
	plan    *cook.Plan
	refused bool // or not understood
}

// one answers a single message on standard output, or says on standard error why not.
func (a asker) one(message string) error {
	o, err := a.answer(message)
	if err != nil {
		return err
	}
	if a.command.JSON {
		if err := json.NewEncoder(a.env.out).Encode(o.answer); err != nil {
			return err
		}
	} else {
		w := a.env.out
		if o.refused {
			w = a.env.err
		}
		a.print(w, o)
	}
	if o.refused {
		return errAnswered
	}
	caption, err := a.picture(o)
	if err != nil || a.command.JSON || len(caption) == 0 {
		return err
	}
	_, err = fmt.Fprintf(a.env.out, "\n%s\n", caption)
	return err
}

// lines answers each line of standard input with one JSON object.
func (a asker) lines() error {
	out := bufio.NewWriter(a.env.out)
	encoder := json.NewEncoder(out)
	scanner := bufio.NewScanner(a.env.in)
	scanner.Buffer(make([]byte, 0, 64<<10), longestLine)
	refused := false
	for scanner.Scan() {
		o, err := a.answer(scanner.Text())
		if err != nil {
			return err
		}
		refused = refused || o.refused
		if err := encoder.Encode(o.answer); err != nil {
			return err
		}
		if err := out.Flush(); err != nil {
			return err
		}
	}
	if err := scanner.Err(); err != nil {
		return fmt.Errorf("read standard input: %w", err)
	}
	if refused {
		return errAnswered
	}
	return nil
}

// understand reads a message; words that are in neither language are looked up in all of them.
func (a asker) understand(message string) (phrase.Understood, error) {
	u := a.parser.Parse(message)
	strange := func(t phrase.Token) bool { return t.Why == phrase.WhyWord }
	if !slices.ContainsFunc(u.Unplaced, strange) && (u.Problem == nil || u.Problem.ID != phrase.ProblemNoFood) {
		return u, nil
	}
	every, err := a.every()
	if err != nil {
		return u, err
	}
	return every.Parse(message), nil
}

// answer deals with one message.
func (a asker) answer(message string) (outcome, error) {
	l := a.language
	u, err := a.understand(message)
	if err != nil {
		return outcome{}, err
	}
	if u.RefusedFood != "" {
		if r, ok := a.model.Foods().Refused(foodID(u.RefusedFood)); ok {
			text := l.RefusedFood(r)
			answer := l.ErrorAnswer("refused-food", lines(text), nil)
			answer.Name = l.RefusedName(u.RefusedFood)
			return outcome{answer: answer, text: text, refused: true}, nil
		}
	}
	if u.Problem != nil {
		text := l.Problem(*u.Problem)
		var near []string
		for _, id := range u.Problem.Suggestions {
			near = append(near, string(id))
		}
		return outcome{answer: l.ErrorAnswer(string(u.Problem.ID), lines(text), near), text: text, refused: true}, nil
	}
	if u.Request.Food == "" { // a word that steers a chat, not a dish
		if u.Intent == phrase.IntentFoods {
			text := foodList(a.model.Foods(), l, a.options)
			return outcome{answer: reply.Answer{Lang: l.Tag, Text: text.String(), Lethality: []reply.Lethality{}, Cautions: []string{}, Assumptions: []string{}}, text: text}, nil
		}
		text := l.Problem(phrase.Problem{ID: phrase.ProblemNoFood})
		return outcome{answer: l.ErrorAnswer(string(phrase.ProblemNoFood), lines(text), nil), text: text, refused: true}, nil
	}
	r := u.Request
	r.AtRisk = r.AtRisk || a.command.AtRisk
	plan, err := a.model.Plan(r)
	options := a.options
	options.Heard = l.Heard(u)
	var refusal *cook.Refusal
	switch {
	case errors.As(err, &refusal):
		return outcome{answer: l.RefusalAnswer(r, refusal, options), text: l.Refusal(refusal, options), refused: true}, nil
	case err != nil:
		return outcome{}, err
	}
	return outcome{answer: l.PlanAnswer(plan, options), text: l.Plan(plan, options), plan: plan}, nil
}

func lines(t reply.Text) []string { return strings.Split(t.String(), "\n") }

// print shows an answer to a person; the first line stands out on a terminal.
func (a asker) print(w io.Writer, o outcome) {
	strong, plain := "", ""
	if _, off := a.env.lookup("NO_COLOR"); isTerminal(w) && !off {
		strong, plain = "\x1b[1;33m", "\x1b[0m"
	}
	for _, line := range o.text {
		if len(line) > 0 && line[0].Style == reply.Strong {
			fmt.Fprintln(w, strong+line.String()+plain)
			continue
		}
		fmt.Fprintln(w, line.String())
	}
	if a.command.Curve && o.plan != nil {
		fmt.Fprintln(w)
		for _, line := range a.language.Curve(o.plan, a.options) {
			fmt.Fprintln(w, line)
		}
	}
}

package phrase_test

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/BurntSushi/toml"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/internal/cook"
	"bagwatch/internal/food"
	"bagwatch/internal/phrase"
	"bagwatch/locales"
)

type named struct {
	Name   string   `toml:"name"`
	Plural string   `toml:"plural"`
	Words  []string `toml:"words"`
}

type words struct {
	Food, Doneness, Refused, Vague map[string]named
}

// entries reads the names of a locale file on its own, apart from the code under test.
func entries(t testing.TB, tag string) words {
	t.Helper()
	var w words
	_, err := toml.DecodeFS(locales.FS, tag+".toml", &w)
	require.NoError(t, err)
	return w
}

// printed writes a request as an English message that says the same.
func printed(names words, r cook.Request) string {
	var parts []string
	add := func(format string, args ...any) { parts = append(parts, fmt.Sprintf(format, args...)) }
	if r.Pieces > 0 {
		add("%d pieces", r.Pieces)
	}
	add("%s", names.Food[string(r.Food)].Name)
	if r.Mass > 0 {
		add("%.9f kg", float64(r.Mass))
		if r.MassEach {
			add("each")
		}
	}
	if r.Thickness > 0 {
		about := ""
		if r.ThicknessVague {
			about = "about "
		}
		add("%s%.9f mm", about, r.Thickness.Millimetres())
	}
	switch r.Start {
	case cook.StartFridge:
		add("from the fridge")
	case cook.StartRoom:
		add("room temperature")
	case cook.StartFrozen:
		add("frozen")
	case cook.StartGiven:
		add("from %.9f C", float64(r.StartAt))
	}
	if r.Doneness != "" {
		add("%s", names.Doneness[string(r.Doneness)].Name)
	}
	if r.HasSetpoint {
		add("at %.9f C", float64(r.Setpoint))
	}
	for word, said := range map[string]bool{"pregnant": r.AtRisk, "minced": r.NonIntact, "brined": r.Cured, "pasteurised": r.Pasteurised} {
		if said {
			add("%s", word)
		}
	}
	if r.Shape != cook.ShapeOwn {
		add("%s", r.Shape)
	}
	switch r.Bath {
	case cook.BathStill:
		add("still pot")
	case cook.BathCirculating:
		add("circulating")
	}
	if r.Span > 0 {
		add("for %.9f min", r.Span.Minutes())
	}
	return strings.Join(parts, ", ")
}

// settled rounds to what nine decimals print.
func settled(r cook.Request) cook.Request {
	r = rounded(r)
	r.Span = r.Span.Round(time.Microsecond)
	return r
}

func FuzzParse(f *testing.F) {
	for _, m := range english {
		f.Add(m.typed)
	}
	for _, m := range german {
		f.Add(m.typed)
	}
	for _, s := range []string{
		"", "asdf", "safe? chicken breast 30 mm 60C in since 17:10", "steak 5000 C", "steak -3 cm", "0 eggs",
		"40 kg of shrimp", "steak at 40C for 3 days", "1/0 in", "24/7", "9999999999999 kg", "1.2.3.4", "5:99",
		"\xff\xfe ribeye", "½½½½", "x x x x 2 x", "a hundred hundred hundred", "in in in in", "not not not frozen",
	} {
		f.Add(s)
	}
	b := book(f)
	en, de := b.Parser("en"), b.Parser("de")
	names := entries(f, "en")
	f.Fuzz(func(t *testing.T, text string) {
		de.Parse(text)
		u := en.Parse(text)
		if u.Problem != nil || u.Request.Food == "" {
			return
		}
		again := printed(names, u.Request)
		v := en.Parse(again)
		require.Nil(t, v.Problem, "%q printed as %q", text, again)
		require.Empty(t, v.Unplaced, "%q printed as %q", text, again)
		require.Equal(t, settled(u.Request), settled(v.Request), "%q printed as %q", text, again)
	})
}

// soup makes a message of up to n runes out of the pieces.
func soup(rnd *rand.Rand, pieces []string, n int) string {
	var s strings.Builder
	for left := n; left > 0; {
		piece := pieces[rnd.IntN(len(pieces))]
		if left -= utf8.RuneCountInString(piece); left < 0 {
			break
		}
		s.WriteString(piece)
	}
	return s.String()
}

// hostile are pieces that make the parser look far: ranges, cues, misspelt words, beginnings
// of long phrases.
var hostile = []string{
	" ", " ", " ", ",", "-", " - ", "x", " x ", "2", "3 ", "1/2", "½", ".", "°", "\"", "in ", " a ", " and ", " hundred ",
	" half ", " to ", " or ", "between ", "not ", "from ", "at ", "cm ", "kg ", "h ", "17:10 ", "medium ", "rare ",
	"blade ", "corned ", "silverside ", "chicken ", "brest ", "asdfghjk ", "qwertzui ", "tenderlion ", "butterflyed ",
	"ä", "ß", "\u200b", "🥩", "﷽", "İ", "\xff",
}

func TestNoSoupIsTooHot(t *testing.T) {
	rnd := rand.New(rand.NewPCG(20, 26)) // a fixed seed: the run can be repeated
	b := book(t)
	for _, tag := range b.Tags() {
		p := b.Parser(tag)
		for range 500 {
			text := soup(rnd, hostile, phrase.MaxRunes)
			u := p.Parse(text)
			r := u.Request
			assert.False(t, r.HasSetpoint && !(r.Setpoint > 0 && r.Setpoint <= 100), "%q: setpoint %v", text, r.Setpoint)
			assert.True(t, r.Thickness >= 0 && r.Thickness <= 1 && r.Mass >= 0 && r.Mass <= 1000 && r.Pieces >= 0 && r.Pieces <= 1000, "%q: %+v", text, r)
			assert.True(t, r.StartAt.Valid() && r.StartAt <= 40, "%q: start %v", text, r.StartAt)
			assert.GreaterOrEqual(t, r.Span, time.Duration(0), "%q", text)
			for _, tok := range u.Unplaced {
				assert.Contains(t, text, tok.Text, "what is said was typed")
				assert.NotEmpty(t, tok.Why)
			}
		}
	}
}

// The work for a message is bounded: the steps counted grow no faster than its length allows.
func TestStepsAreBounded(t *testing.T) {
	rnd := rand.New(rand.NewPCG(4, 2))
	b := book(t)
	p := b.Parser("en")
	worst := 0
	look := func(text string) {
		steps := p.Steps(text)
		assert.LessOrEqual(t, steps, p.MaxSteps(), "%q", text)
		worst = max(worst, steps)
	}
	for range 1000 {
		look(soup(rnd, hostile, phrase.MaxRunes))
	}
	for _, text := range worstInputs() {
		look(text)
	}
	t.Logf("worst: %d steps of %d", worst, p.MaxSteps())
}

// worstInputs are 500-rune messages that stress one part each.
func worstInputs() map[string]string {
	fill := func(piece string) string {
		return strings.Repeat(piece, phrase.MaxRunes/utf8.RuneCountInString(piece))
	}
	return map[string]string{
		"misspelt words":    fill("tendrlion "),
		"short unknown":     fill("qwer "),
		"long unknown":      fill("abcdefghijklmnopqr "),
		"half phrases":      fill("blade corned "),
		"numbers":           fill("1 "),
		"fractions":         fill("1/2 "),
		"hundreds":          fill("hundred and "),
		"ranges":            fill("2-"),
		"range words":       fill("2 to "),
		"times":             fill("2x"),
		"compounds":         fill("1 lb 4 oz "),
		"hours and a half":  fill("hour and a "),
		"articles":          fill("a "),
		"foods":             fill("ribeye "),
		"adjectives":        fill("2 frozen big "),
		"filler":            fill("the of my "),
		"cues":              fill("in at for "),
		"combining":         "ribeye " + fill("\u0301")[:400],
		"fraction sign":     fill("½"),
		"clock times":       fill("17:10 "),
		"every sort at all": fill("2 x 200 g ribeey 3 cm medum rare in since 17:10, "),
	}
}

func BenchmarkParse(b *testing.B) {
	p := book(b).Parser("en")
	for name, text := range map[string]string{
		"usual":    "ribeye 450 g 3 cm medium rare",
		"question": "safe? chicken breast 30 mm 60C in since 17:10",
		"misspelt": "2 chiken brests 3 cm from frozn",
		"long":     "hi, could you please cook two ribeyes, 450 g each, about an inch and a half thick, to medium rare for dinner at 19:30",
	} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				p.Parse(text)
			}
		})
	}
}

func BenchmarkWorst(b *testing.B) {
	p := book(b).Parser("en")
	for name, text := range worstInputs() {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				p.Parse(text)
			}
		})
	}
}

func BenchmarkLoad(b *testing.B) {
	foods, err := food.Load()
	require.NoError(b, err)
	b.ReportAllocs()
	for b.Loop() {
		_, err := phrase.Load(locales.FS, foods)
		require.NoError(b, err)
	}
}

func ExampleParser_Parse() {
	foods, err := food.Load()
	if err != nil {
		fmt.Println(err)
		return
	}
	book, err := phrase.Load(locales.FS, foods)
	if err != nil {
		fmt.Println(err)
		return
	}
	u := book.Parser("en").Parse("2 ribeyes 8 oz each, 1 1/2 inch, medium rare, 7")
	fmt.Println(u.Request.Food, u.Request.Pieces, u.Request.Doneness)
	fmt.Printf("%.0f g each, %.0f mm\n", u.Request.Mass.Grams(), u.Request.Thickness.Millimetres())
	fmt.Println("unplaced:", u.Unplaced)
	// Output:
	// beef-ribeye 2 medium-rare
	// 227 g each, 38 mm
	// unplaced: [{7 number}]
}

package reply_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"
	"unicode/utf16"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/internal/cook"
	"bagwatch/internal/food"
	"bagwatch/internal/quantity"
	"bagwatch/internal/reply"
	"bagwatch/locales"
)

func english(t testing.TB) *reply.Language {
	t.Helper()
	lib, err := reply.Load(locales.FS, nil)
	require.NoError(t, err)
	return lib.Language("en")
}

func model(t testing.TB) *cook.Model {
	t.Helper()
	foods, err := food.Load()
	require.NoError(t, err)
	return cook.New(foods)
}

// constants gives the values of all string constants of a type in a package's source.
func constants(t *testing.T, dir, typeName string) (values []string) {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(dir, "*.go"))
	require.NoError(t, err)
	for _, name := range files {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		file, err := parser.ParseFile(token.NewFileSet(), name, nil, 0)
		require.NoError(t, err)
		ast.Inspect(file, func(n ast.Node) bool {
			spec, ok := n.(*ast.ValueSpec)
			if !ok {
				return true
			}
			if id, ok := spec.Type.(*ast.Ident); !ok || id.Name != typeName {
				return true
			}
			for _, v := range spec.Values {
				if lit, ok := v.(*ast.BasicLit); ok && lit.Kind == token.STRING {
					s, err := strconv.Unquote(lit.Value)
					require.NoError(t, err)
					values = append(values, s)
				}
			}
			return true
		})
	}
	require.NotEmpty(t, values, "no constants of type %s in %s", typeName, dir)
	return values
}

// TestEveryIdHasItsText: typed constants, cautions, refusals, groups and reasons all have an English text.
func TestEveryIdHasItsText(t *testing.T) {
	l := english(t)
	ids := constants(t, ".", "ID")
	for _, rule := range constants(t, "../cook", "RuleID") {
		ids = append(ids, "refusal."+rule)
	}
	for _, reason := range constants(t, "../food", "Reason") {
		ids = append(ids, "refused."+reason)
	}
	for _, group := range constants(t, "../food", "Group") {
		ids = append(ids, "group."+group)
	}
	for _, problem := range constants(t, "../phrase", "ProblemID") {
		ids = append(ids, "problem."+problem)
	}
	for _, region := range constants(t, "../lethality", "Region") {
		ids = append(ids, "country."+region)
	}
	for _, id := range ids {
		assert.True(t, l.Has(reply.ID(id)), "no English text for %s", id)
	}
}

// whole checks that an answer has no hole and fits a chat message of 4096 UTF-16 units.
func whole(t *testing.T, text, what string) {
	t.Helper()
	assert.NotContains(t, text, "<no value>", what)
	assert.NotContains(t, text, "{{", what)
	assert.NotRegexp(t, `\[[a-z]+\.[a-z.-]+\]`, text, "%s: a missing text", what)
	assert.LessOrEqual(t, len(utf16.Encode([]rune(text))), 4096, what)
}

// TestEveryPlanReads: every food at every doneness, plain, for guests at risk, from frozen, guessed and in
// both unit systems; in every language that is there.
func TestEveryPlanReads(t *testing.T) {
	lib, err := reply.Load(locales.FS, nil)
	require.NoError(t, err)
	m := model(t)
	in := time.Date(2026, 11, 25, 18, 20, 0, 0, time.UTC)
	for f := range m.Foods().All() {
		for _, step := range f.Steps {
			for i, r := range []cook.Request{
				{Food: f.ID, Doneness: step.ID},
				{Food: f.ID, Doneness: step.ID, AtRisk: true},
				{Food: f.ID, Doneness: step.ID, Pieces: 2, NonIntact: true, Cured: true},
				{Food: f.ID, Doneness: step.ID, Pieces: 1, Thickness: f.Limits.ThicknessMax * 2},
			} {
				o := reply.Options{}
				if i%2 == 1 {
					o = reply.Options{Units: reply.Imperial, In: in}
				}
				p, err := m.Plan(r)
				var refusal *cook.Refusal
				if err != nil {
					require.ErrorAs(t, err, &refusal)
				}
				for _, tag := range lib.Tags() {
					if l := lib.Language(tag); refusal != nil {
						whole(t, l.Refusal(refusal, o).String(), tag+" "+string(f.ID))
					} else {
						whole(t, l.Plan(p, o).String(), tag+" "+string(f.ID))
					}
				}
			}
		}
	}
}

// TestEveryCautionReads: each caution and refusal on its own has no hole.
func TestEveryCautionReads(t *testing.T) {
	l := english(t)
	n := cook.Note{Temperature: 54.4, Length: 0.03, LengthMax: 0.035, Mass: 0.5, Span: 100 * time.Minute, Allowed: time.Hour, Count: 2, Ref: "beef-ribeye"}
	for _, rule := range constants(t, "../cook", "RuleID") {
		whole(t, l.Refusal(&cook.Refusal{Rule: cook.RuleID(rule), Note: n}, reply.Options{}).String(), rule)
	}
	for _, id := range constants(t, "../cook", "NoteID") {
		if !l.Has(reply.ID("caution." + id)) {
			continue // an assumption: shown as part of the "taken as" line
		}
		n.ID = cook.NoteID(id)
		if n.ID != cook.CautionNational { // put together from its list
			whole(t, l.Caution(n, reply.Options{}), id)
		}
	}
}

// TestPrintedTimesErrToTheSafeSide: what is printed as ready is never before the model's time, what is
// printed as best-before never after, and the window is never inside out.
func TestPrintedTimesErrToTheSafeSide(t *testing.T) {
	m := model(t)
	for f := range m.Foods().All() {
		for mm := 8.0; mm < 120; mm += 7.3 {
			p, err := m.Plan(cook.Request{Food: f.ID, Thickness: quantity.Millimetres(mm)})
			if err != nil {
				continue
			}
			w := p.Printed()
			ready, early, best := w.Ready, w.Early, w.BestBefore
			assert.GreaterOrEqual(t, ready, p.ReadyLate, "%s %.0f mm", f.ID, mm)
			assert.GreaterOrEqual(t, early, p.Ready)
			assert.LessOrEqual(t, best, max(p.BestBefore, ready))
			assert.LessOrEqual(t, ready, best)
		}
	}
}

// TestWaterRoundsUp: both printed water temperatures are at least what the times were computed for.
func TestWaterRoundsUp(t *testing.T) {
	l := english(t)
	for c, want := range map[quantity.Temperature]string{
		60: "60 °C (140 °F)", 55.5: "55.5 °C (132 °F)", 63.5: "63.5 °C (147 °F)",
		quantity.FromFahrenheit(131): "55 °C (131 °F)", quantity.FromFahrenheit(133): "56.2 °C (133 °F)", 54.44: "54.5 °C (130 °F)",
	} {
		assert.Equal(t, want, l.Water(c, reply.Metric))
	}
}

func TestSpans(t *testing.T) {
	l := english(t)
	for d, want := range map[time.Duration]string{
		0: "0 min", 45 * time.Minute: "45 min", time.Hour: "1 h", 65 * time.Minute: "1 h 05 min",
		33 * time.Hour: "33 h", 48 * time.Hour: "2 days", 73*time.Hour + 20*time.Minute: "3 days 1 h",
	} {
		assert.Equal(t, want, l.Span(d))
	}
}

// TestMissingTextIsVisible: a text that is nowhere comes back as its id, and the fallback is heard of.
func TestMissingTextIsVisible(t *testing.T) {
	assert.Equal(t, "[no.such]", english(t).Say("no.such", nil))
	var heard []string
	lib, err := reply.Load(locales.FS, func(tag, id string) { heard = append(heard, tag+" "+id) })
	require.NoError(t, err)
	lib.Language("en").Say("no.such", nil)
	assert.Equal(t, []string{"en no.such"}, heard)
}

func TestLanguageIsTheNearestKnown(t *testing.T) {
	lib, err := reply.Load(locales.FS, nil)
	require.NoError(t, err)
	assert.Equal(t, "en", lib.Language("", "xx", "en_GB").Tag)
	assert.Equal(t, "de", lib.Language("de-AT").Tag)
	assert.Equal(t, "en", lib.Language("ja").Tag)
	assert.Equal(t, "en", lib.Tags()[0], "English first: it is what everything falls back to")
}

// TestDaysLoseNoMinutes: a time printed in days and hours is still on the safe side of the model's.
func TestDaysLoseNoMinutes(t *testing.T) {
	p, err := model(t).Plan(cook.Request{Food: "beef-short-rib", HasSetpoint: true, Setpoint: 55, Thickness: quantity.Millimetres(45)})
	require.NoError(t, err)
	w := p.Printed()
	ready, best := w.Ready, w.BestBefore
	require.Greater(t, ready, 48*time.Hour, "or this checks nothing")
	assert.Zero(t, ready%time.Hour)
	assert.Zero(t, best%time.Hour)
	assert.GreaterOrEqual(t, ready, p.Ready)
}

func BenchmarkPlanInWords(b *testing.B) {
	l := english(b)
	p, err := model(b).Plan(cook.Request{Food: "beef-ribeye", Thickness: quantity.Millimetres(30)})
	require.NoError(b, err)
	b.ReportAllocs()
	for b.Loop() {
		l.Plan(p, reply.Options{})
	}
}

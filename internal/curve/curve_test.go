package curve_test

import (
	"bytes"
	"errors"
	"flag"
	"image"
	"image/color"
	"image/png"
	"io"
	"math"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"testing"
	"time"
	"unicode/utf16"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/internal/cook"
	"bagwatch/internal/curve"
	"bagwatch/internal/food"
	"bagwatch/internal/heat"
	"bagwatch/internal/lethality"
	"bagwatch/internal/phrase"
	"bagwatch/internal/reply"
	"bagwatch/locales"
)

var update = flag.Bool("update", false, "write the pictures in testdata")

// kitchen is what the tests plan and speak with.
type kitchen struct {
	model   *cook.Model
	book    *phrase.Book
	texts   *reply.Library
	painter *curve.Painter
}

func newKitchen(t testing.TB) kitchen {
	t.Helper()
	foods, err := food.Load()
	require.NoError(t, err)
	book, err := phrase.Load(locales.FS, foods)
	require.NoError(t, err)
	texts, err := reply.Load(locales.FS, nil)
	require.NoError(t, err)
	painter, err := curve.New()
	require.NoError(t, err)
	return kitchen{cook.New(foods), book, texts, painter}
}

// plan plans what a person would type.
func (k kitchen) plan(t testing.TB, message string) *cook.Plan {
	t.Helper()
	u := k.book.Parser("en").Parse(message)
	require.Nil(t, u.Problem, message)
	p, err := k.model.Plan(u.Request)
	require.NoError(t, err, message)
	return p
}

// sagged is a steak whose bath lost its power for half an hour: every moment comes later by what the two
// estimates of the core say.
func (k kitchen) sagged(t testing.TB, now time.Duration) reply.Course {
	t.Helper()
	p := k.plan(t, "ribeye 450 g 3 cm medium rare")
	c := reply.PlanCourse(p)
	c.Running, c.Now = true, now
	bath := func(g cook.Geometry) heat.History {
		return heat.History{
			heat.Hold(0, g.Bath, g.Film),
			heat.Ramp(25*time.Minute, g.Bath, 44, g.Film),
			heat.Ramp(55*time.Minute, 44, g.Bath, g.Film),
			heat.Hold(70*time.Minute, g.Bath, g.Film),
		}
	}
	c.Bath = bath(p.Likely)
	piece := heat.Piece{Shape: p.Likely.Shape, Material: p.Food.Material.Material, Start: p.StartAt}
	likely, err := heat.Solve(piece, c.Bath, 24*time.Hour)
	require.NoError(t, err)
	piece.Shape, piece.Diffusivity = p.Careful.Shape, 1.2e-7
	careful, err := heat.Solve(piece, bath(p.Careful), 24*time.Hour)
	require.NoError(t, err)
	c.Likely, c.Careful = likely, careful

	there, ok := likely.Settle(p.Setpoint, 1)
	require.True(t, ok)
	late := there - c.CoreReached
	c.CoreReached, c.Ready, c.ReadyLate = there, c.Ready+late, c.ReadyLate+late
	c.Pasteurised = cook.Moment{}
	for _, kill := range p.Kills {
		r := lethality.Scan(nil, careful, 24*time.Hour, []lethality.Rule{kill.Rule})[0]
		require.True(t, r.Reached)
		c.Pasteurised.After = max(c.Pasteurised.After, r.At)
	}
	require.Greater(t, c.Pasteurised.After, p.Pasteurised.After, "the sag costs time")
	return c
}

// sample is one picture of testdata.
type sample struct {
	name    string
	picture reply.Picture
}

func (k kitchen) samples(t testing.TB) []sample {
	t.Helper()
	metric, imperial := reply.Options{Units: reply.Metric}, reply.Options{Units: reply.Imperial}
	clock := metric
	clock.In = time.Date(2026, 11, 25, 18, 20, 0, 0, time.UTC)
	en := k.texts.Language("en")
	planned := func(message string) reply.Course { return reply.PlanCourse(k.plan(t, message)) }
	running := planned("chicken breast 35 mm")
	running.Running, running.Now = true, 25*time.Minute
	return []sample{
		{"steak_not_pasteurised", en.Picture(planned("ribeye 450 g 3 cm medium rare"), metric)},
		{"chicken_running_clock", en.Picture(running, clock)},
		{"chuck_long", en.Picture(planned("chuck roast 70 mm 57C"), metric)},
		{"egg", en.Picture(planned("egg 64C"), metric)},
		{"salmon_fahrenheit", en.Picture(planned("salmon 25 mm"), imperial)},
		{"steak_bath_sagged", en.Picture(k.sagged(t, 62*time.Minute), metric)},
	}
}

func (k kitchen) draw(t testing.TB, p reply.Picture) []byte {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, k.painter.Draw(&b, p))
	return b.Bytes()
}

// Two pictures are the same if their greys, averaged over cells of 8 by 8 pixels, nowhere differ by more than
// sameCell and on average by no more than sameMean of 255. Processors round the smooth edges differently in
// the last bit, which is less than 1 in a cell; a letter that changes is more than 20 in one.
const (
	sameCell = 8.0
	sameMean = 0.2
	cell     = 8
)

// greys averages a picture's brightness over cells.
func greys(t testing.TB, file []byte) []float64 {
	t.Helper()
	img, err := png.Decode(bytes.NewReader(file))
	require.NoError(t, err)
	require.Equal(t, image.Rect(0, 0, curve.Width, curve.Height), img.Bounds())
	out := make([]float64, curve.Width/cell*(curve.Height/cell))
	for y := range curve.Height {
		for x := range curve.Width {
			g := color.GrayModel.Convert(img.At(x, y)).(color.Gray)
			out[y/cell*(curve.Width/cell)+x/cell] += float64(g.Y) / (cell * cell)
		}
	}
	return out
}

// differ gives the mean and the greatest difference of two pictures.
func differ(t testing.TB, a, b []byte) (mean, most float64) {
	t.Helper()
	have, want := greys(t, a), greys(t, b)
	for i := range have {
		d := math.Abs(have[i] - want[i])
		mean += d / float64(len(have))
		most = max(most, d)
	}
	return mean, most
}

// TestPictures compares with the pictures in testdata, which were looked at, at full size and at 390 pixels.
func TestPictures(t *testing.T) {
	k := newKitchen(t)
	for _, s := range k.samples(t) {
		t.Run(s.name, func(t *testing.T) {
			file := filepath.Join("testdata", s.name+".png")
			have := k.draw(t, s.picture)
			assert.Less(t, len(have), 60<<10, "bytes: pictures are fetched with a patchy signal")
			if *update {
				require.NoError(t, os.WriteFile(file, have, 0o644))
			}
			want, err := os.ReadFile(file)
			require.NoError(t, err)
			mean, most := differ(t, have, want)
			assert.LessOrEqual(t, mean, sameMean, "mean difference")
			assert.LessOrEqual(t, most, sameCell, "greatest difference of a cell")
		})
	}
}

// TestComparisonSeesAChange: the tolerance above lets no digit, moment or line slip through.
func TestComparisonSeesAChange(t *testing.T) {
	k := newKitchen(t)
	p := k.samples(t)[0].picture
	want := k.draw(t, p)
	digit, moment, line := p, p, p
	digit.Words.Ready = "ready 1 h 16 min"
	moment.PrintedReady += 5 * time.Minute
	line.Likely = p.Careful
	for name, changed := range map[string]reply.Picture{"a digit": digit, "a moment": moment, "a line": line} {
		t.Run(name, func(t *testing.T) {
			require.Equal(t, "ready 1 h 10 min", p.Words.Ready, "the digit that is changed")
			mean, most := differ(t, k.draw(t, changed), want)
			assert.True(t, mean > sameMean || most > sameCell, "mean %.3f, most %.1f pass as the same", mean, most)
		})
	}
}

// TestSameInputSameBytes, also from many goroutines that share a painter.
func TestSameInputSameBytes(t *testing.T) {
	k := newKitchen(t)
	p := k.samples(t)[5].picture
	want := k.draw(t, p)
	var wait sync.WaitGroup
	files := make([][]byte, 4)
	for i := range files {
		wait.Go(func() {
			var b bytes.Buffer
			if k.painter.Draw(&b, p) == nil {
				files[i] = b.Bytes()
			}
		})
	}
	wait.Wait()
	for _, have := range files {
		assert.True(t, bytes.Equal(want, have))
	}
}

// TestEveryFoodFits: in every language, both units, planned and running, by spans and by the clock, each
// word of a picture has its glyphs and room, and the caption may stand under a photo.
func TestEveryFoodFits(t *testing.T) {
	k := newKitchen(t)
	in := time.Date(2026, 11, 25, 18, 20, 0, 0, time.UTC)
	for _, tag := range k.texts.Tags() {
		l := k.texts.Language(tag)
		for f := range k.model.Foods().All() {
			for _, step := range f.Steps {
				plan, err := k.model.Plan(cook.Request{Food: f.ID, Doneness: step.ID, Pieces: 2})
				var refused *cook.Refusal
				if errors.As(err, &refused) {
					continue
				}
				require.NoError(t, err)
				course := reply.PlanCourse(plan)
				course.Running, course.Now = true, plan.Ready/2
				for _, o := range []reply.Options{{Units: reply.Metric}, {Units: reply.Imperial, In: in}} {
					k.fits(t, tag+" "+string(f.ID)+" "+string(step.ID), l.Picture(course, o))
				}
			}
		}
	}
}

func (k kitchen) fits(t *testing.T, what string, p reply.Picture) {
	t.Helper()
	w := p.Words
	for _, words := range []string{w.Water, w.Core, w.Slow, w.Ready, w.Best, w.Pasteurised, w.Now} {
		label, _, _ := k.painter.Widths(words)
		assert.LessOrEqual(t, label, curve.PlotWidth-80, "%s: %q is wider than the plot", what, words)
		assert.Empty(t, string(k.painter.Lacks(words)), "%s: %q lacks glyphs", what, words)
	}
	_, title, _ := k.painter.Widths(w.Title)
	assert.LessOrEqual(t, title, curve.Width-72.0, "%s: the title %q would be cut", what, w.Title)
	assert.Empty(t, string(k.painter.Lacks(w.Title+w.Degrees+"0123456789:−…")), "%s: %q lacks glyphs", what, w.Title)
	for axis, words := range w.Squeezed {
		_, _, width := k.painter.Widths(words)
		assert.LessOrEqual(t, width, curve.PlotWidth, "%s: %q would be cut", what, words)
		assert.Empty(t, string(k.painter.Lacks(words+w.Axis[axis])), "%s: %q lacks glyphs", what, words)
	}
	caption := p.Caption.String()
	assert.LessOrEqual(t, len(utf16.Encode([]rune(caption))), 1024, "%s: caption", what)
	assert.NotContains(t, caption, "<no value>", what)
	assert.NotRegexp(t, `\[[a-z]+\.[a-z.-]+\]`, caption+w.Title+w.Pasteurised+w.Now, "%s: a missing text", what)
}

// TestGlyphs: letters of the languages a locale may come in have their glyphs; what has none is told.
func TestGlyphs(t *testing.T) {
	k := newKitchen(t)
	assert.Empty(t, k.painter.Lacks("°–−…éüñìßçøåőžłěıșțàœæ½×“”„»¿¡αжёї"))
	assert.Equal(t, []rune("✓漢"), k.painter.Lacks("a✓b漢"))
}

// TestEveryFoodDraws, at its usual plan, and with the odd courses a diary may make of it.
func TestEveryFoodDraws(t *testing.T) {
	k := newKitchen(t)
	l := k.texts.Language("en")
	for n, f := range slices.Collect(k.model.Foods().All()) {
		if testing.Short() && n%6 != 0 {
			continue // the race detector makes each ten times slower and looks for other faults
		}
		plan, err := k.model.Plan(cook.Request{Food: f.ID})
		require.NoError(t, err, f.ID)
		k.draw(t, l.Picture(reply.PlanCourse(plan), reply.Options{}))
	}
	steak := reply.PlanCourse(k.plan(t, "ribeye 3 cm"))
	for name, change := range map[string]func(*reply.Course){
		"long past":            func(c *reply.Course) { c.Running, c.Now = true, 40*time.Hour },
		"just gone in":         func(c *reply.Course) { c.Running = true },
		"a window of a minute": func(c *reply.Course) { c.BestBefore = c.Ready + time.Minute },
		"an empty window":      func(c *reply.Course) { c.BestBefore = 0 },
		"a boiling bath":       func(c *reply.Course) { c.Bath = append(c.Bath, heat.Hold(time.Hour, 99, 95)) },
		"a cold bath":          func(c *reply.Course) { c.Bath = append(c.Bath, heat.Hold(time.Hour, 1, 95)) },
		"no target":            func(c *reply.Course) { c.Pasteurised = cook.Moment{Never: true} },
	} {
		t.Run(name, func(t *testing.T) {
			c := steak
			c.Bath = slices.Clone(c.Bath)
			change(&c)
			k.draw(t, l.Picture(c, reply.Options{}))
		})
	}
}

// TestWhatIsNoCourse is refused.
func TestWhatIsNoCourse(t *testing.T) {
	k := newKitchen(t)
	assert.ErrorIs(t, k.painter.Draw(io.Discard, reply.Picture{}), curve.ErrCourse)
	p := k.samples(t)[0].picture
	p.Bath = nil
	assert.ErrorIs(t, k.painter.Draw(io.Discard, p), curve.ErrCourse)
	assert.ErrorIs(t, k.painter.Draw(broken{}, k.samples(t)[0].picture), errBroken)
}

var errBroken = errors.New("broken")

type broken struct{}

func (broken) Write([]byte) (int, error) { return 0, errBroken }

// TestContrast: words stand out from the paper by 4.5 or more (WCAG 2.1, 1.4.3, with its formula of relative
// luminance), also for who sees no colour.
func TestContrast(t *testing.T) {
	linear := func(v uint8) float64 {
		x := float64(v) / 255
		if x <= 0.04045 {
			return x / 12.92
		}
		return math.Pow((x+0.055)/1.055, 2.4)
	}
	luminance := func(c color.RGBA) float64 {
		return 0.2126*linear(c.R) + 0.7152*linear(c.G) + 0.0722*linear(c.B)
	}
	for name, ink := range curve.Inks {
		assert.GreaterOrEqual(t, (luminance(curve.Paper)+0.05)/(luminance(ink)+0.05), 4.5, name)
	}
}

func BenchmarkDraw(b *testing.B) {
	k := newKitchen(b)
	p := k.samples(b)[0].picture
	b.ReportAllocs()
	for b.Loop() {
		if err := k.painter.Draw(io.Discard, p); err != nil {
			b.Fatal(err)
		}
	}
}

package heat_test

import (
	"testing"
	"time"

	"pgregory.net/rapid"

	"bagwatch/internal/heat"
	"bagwatch/internal/quantity"
)

// drawPiece makes any unfrozen piece a kitchen has.
func drawPiece(t *rapid.T) heat.Piece {
	size := func(name string) quantity.Length {
		return quantity.Millimetres(rapid.Float64Range(4, 150).Draw(t, name))
	}
	p := heat.Piece{
		Material: heat.Material{
			Diffusivity:  heat.Diffusivity(rapid.Float64Range(0.9e-7, 1.7e-7).Draw(t, "diffusivity")),
			Conductivity: heat.Conductivity(rapid.Float64Range(0.3, 0.6).Draw(t, "conductivity")),
		},
		Start: quantity.Temperature(rapid.Float64Range(0, 30).Draw(t, "start")),
	}
	switch heat.Kind(rapid.IntRange(0, 4).Draw(t, "kind")) {
	case heat.Slab:
		p.Shape = heat.NewSlab(size("x"))
	case heat.Cylinder:
		p.Shape = heat.NewCylinder(size("x"))
	case heat.Sphere:
		p.Shape = heat.NewSphere(size("x"))
	case heat.Brick:
		p.Shape = heat.NewBrick(size("x"), size("y"), size("z"))
	case heat.FiniteCylinder:
		p.Shape = heat.NewFiniteCylinder(size("x"), size("z"))
	}
	return p
}

func drawFilm(t *rapid.T) heat.Film {
	return heat.Film(rapid.Float64Range(10, 1000).Draw(t, "film"))
}

func reach(t *rapid.T, p heat.Piece, bath quantity.Temperature, film heat.Film, target quantity.Temperature) time.Duration {
	s, err := heat.NewSeries(p, bath, film)
	if err != nil {
		t.Fatal(err)
	}
	at, ok := s.Reach(target)
	if !ok {
		t.Fatal("not reached")
	}
	return at
}

// A change for the slower never makes the core sooner. Slack: a microsecond in the solution of the
// series, and 1e-5 of the way, which the short-time form may lose at the very beginning, worth 1e-4 of the time.
func TestSlowerIsNeverSooner(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, film := drawPiece(t), drawFilm(t)
		bath := quantity.Temperature(rapid.Float64Range(45, 90).Draw(t, "bath"))
		target := p.Start + (bath-p.Start)*quantity.Temperature(rapid.Float64Range(0.02, 0.995).Draw(t, "part"))
		base := reach(t, p, bath, film, target)
		never := func(what string, other time.Duration) {
			if float64(other) < float64(base)*(1-1e-4) {
				t.Fatalf("%s: %v instead of %v", what, other, base)
			}
		}
		more := rapid.Float64Range(1, 1.5).Draw(t, "more")
		thick := p
		thick.X *= quantity.Length(more)
		if p.Kind == heat.Brick {
			thick.Shape = heat.NewBrick(thick.X, p.Y, p.Z)
		}
		never("thicker", reach(t, thick, bath, film, target))
		if p.Kind == heat.Brick || p.Kind == heat.FiniteCylinder {
			long := p
			long.Z *= quantity.Length(more)
			never("longer", reach(t, long, bath, film, target))
		}
		never("less film", reach(t, p, bath, film/heat.Film(more), target))
		slow := p
		slow.Diffusivity /= heat.Diffusivity(more)
		slow.Conductivity /= heat.Conductivity(more) // the same heat capacity
		never("less conducting", reach(t, slow, bath, film, target))
		cooler := bath - (bath-target)*quantity.Temperature(more-1)
		if cooler > target+0.01 {
			never("cooler bath", reach(t, p, cooler, film, target))
		}
		cold := p
		cold.Start = p.Start * quantity.Temperature(2-more)
		never("colder start", reach(t, cold, bath, film, target))
	})
}

// Every temperature stays between the start and the bath, the surface leads, and all rise.
func TestSeriesIsBoundedAndOrdered(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, film := drawPiece(t), drawFilm(t)
		bath := quantity.Temperature(rapid.Float64Range(45, 90).Draw(t, "bath"))
		s, err := heat.NewSeries(p, bath, film)
		if err != nil {
			t.Fatal(err)
		}
		last := p.Start
		const slack = 0.003 // K: the documented accuracy where modes take over from short-time forms
		for at := time.Duration(1); at < 48*time.Hour; at = at*5/4 + 1 {
			core, mean, surface := s.Core(at), s.Mean(at), s.Surface(at)
			if !(core >= p.Start && surface <= bath && core <= mean+slack && mean <= surface+slack && core >= last-slack) {
				t.Fatalf("at %v: core %v, mean %v, surface %v after %v", at, core, mean, surface, last)
			}
			last = core
		}
	})
}

func drawHistory(t *rapid.T) heat.History {
	var h heat.History
	at := time.Duration(0)
	for range rapid.IntRange(0, 5).Draw(t, "changes") {
		from := quantity.Temperature(rapid.Float64Range(0, 95).Draw(t, "bath"))
		until := from
		if rapid.Bool().Draw(t, "ramp") {
			until = quantity.Temperature(rapid.Float64Range(0, 95).Draw(t, "until"))
		}
		h = append(h, heat.Ramp(at, from, until, drawFilm(t)))
		at += time.Duration(rapid.Int64Range(int64(time.Second), int64(3*time.Hour)).Draw(t, "span"))
	}
	return append(h, heat.Hold(at, quantity.Temperature(rapid.Float64Range(0, 95).Draw(t, "bath")), drawFilm(t)))
}

// checkSolution follows a piece through a history: nothing may be colder or hotter than start and
// baths, the record is in order and ends where asked.
func checkSolution(t *rapid.T) {
	p, h := drawPiece(t), drawHistory(t)
	const slack = 1e-9 // K: the end of a ramp is computed, to rounding
	if rapid.Bool().Draw(t, "frozen") {
		p.Composition = &heat.Composition{Water: 0.72, Protein: 0.2, Fat: 0.07, Ash: 0.01, FreezingPoint: -1.7}
		p.Start = quantity.Temperature(rapid.Float64Range(-30, -2).Draw(t, "frozen start"))
	}
	until := time.Duration(rapid.Int64Range(int64(time.Second), int64(24*time.Hour)).Draw(t, "until"))
	s, err := heat.Solve(p, h, until)
	if err != nil {
		t.Fatal(err)
	}
	low, high := p.Start, p.Start
	for _, segment := range h {
		low, high = min(low, segment.Bath, segment.Until), max(high, segment.Bath, segment.Until)
	}
	times := s.Times()
	if times[0] != 0 || times[len(times)-1] != until {
		t.Fatalf("times from %v to %v, not to %v", times[0], times[len(times)-1], until)
	}
	for i, at := range times {
		if i > 0 && at <= times[i-1] {
			t.Fatalf("time %v after %v", at, times[i-1])
		}
		for name, v := range map[string]quantity.Temperature{"core": s.Core(at), "surface": s.Surface(at), "mean": s.Mean(at)} {
			if !(v >= low-slack && v <= high+slack) {
				t.Fatalf("%s %v at %v, outside %v … %v", name, v, at, low, high)
			}
		}
	}
}

func TestSolutionIsBounded(t *testing.T) { rapid.Check(t, checkSolution) }

func FuzzSolve(f *testing.F) { f.Fuzz(rapid.MakeFuzz(checkSolution)) }

// The core of a warmer history is never colder. Slack: the accuracy of the volumes, since the steps differ.
func TestWarmerHistoryIsNeverColder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, h := drawPiece(t), drawHistory(t)
		warmer := append(heat.History(nil), h...)
		i := rapid.IntRange(0, len(h)-1).Draw(t, "segment")
		by := quantity.Temperature(rapid.Float64Range(0, 10).Draw(t, "by"))
		warmer[i].Bath += by
		warmer[i].Until += by
		const until = 8 * time.Hour
		a, err := heat.Solve(p, h, until)
		if err != nil {
			t.Fatal(err)
		}
		b, err := heat.Solve(p, warmer, until)
		if err != nil {
			t.Fatal(err)
		}
		for _, at := range a.Times() {
			if b.Core(at) < a.Core(at)-0.1 {
				t.Fatalf("%v colder at %v", a.Core(at)-b.Core(at), at)
			}
		}
	})
}

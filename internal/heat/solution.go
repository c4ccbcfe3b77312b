package heat

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"time"

	"bagwatch/internal/quantity"
)

// Solution is the temperature of a piece in a bath with a history, from immersion to the end
// of the span solved. Between its [Solution.Times] it interpolates linearly; before the first
// it is the start and after the last the last value. It is safe for concurrent use.
type Solution struct {
	times               []time.Duration
	core, surface, mean []float64
}

// Grid refines the solver; zero fields take the default.
type Grid struct {
	// Cells is the number of finite volumes from core to surface; zero means 40, or 64 for a
	// frozen start. Unfrozen bricks and finite cylinders are solved in modes and ignore it.
	Cells int
	// Step is a time step kept throughout. Zero means min(10 s, R²/(100 α)) after each change of
	// the bath, growing to a fortieth of the time since then (while there is ice, a two-hundredth)
	// as long as no step moves the piece by 0.1 K.
	Step time.Duration
}

const (
	defaultCells = 40
	frozenCells  = 64    // the core rises at 0.2 K/s when its ice goes: 40 cells are 3 s late there, 64 one
	longestStep  = 600.0 // s; nothing in a kitchen is read off a curve more coarsely than ten minutes
	// stepGrowth and stepShare let the step follow the age of the last change: what still moves
	// then has rates of about 1/age, so the step stays near a fortieth of its time constant.
	stepGrowth = 1.25
	stepShare  = 1.0 / 40
	iceShare   = 1.0 / 200
	// calmChange keeps the trapezoid of a lethality with z = 5 K within (0.1·ln10/5)²/12 = 2e-4.
	calmChange = 0.1 // K in a step
)

// Solve follows a piece through a bath history for the span until. The default grid keeps the
// core within 0.03 K and log reductions within 0.3 % of the exact solution for one-dimensional
// shapes, sizes and films of a kitchen; bricks and finite cylinders are exact to 0.01 K. From a frozen
// start the time to the bath keeps within 0.1 % of the model in one dimension; bricks and finite
// cylinders are then stood for by one radial body, within 1.5 % of it and 5 % on the way.
//
// It fails with [ErrShape], [ErrMaterial], [ErrTemperature], [ErrFilm], [ErrHistory],
// [ErrDuration] or [ErrComposition].
func Solve(p Piece, h History, until time.Duration) (*Solution, error) {
	return SolveOn(Grid{}, p, h, until)
}

// SolveOn is [Solve] on a chosen grid.
func SolveOn(g Grid, p Piece, h History, until time.Duration) (*Solution, error) {
	if err := p.check(); err != nil {
		return nil, fmt.Errorf("solve: %w", err)
	}
	if err := h.check(); err != nil {
		return nil, fmt.Errorf("solve: %w", err)
	}
	if until <= 0 || until > untilMax {
		return nil, fmt.Errorf("solve: %w: %v", ErrDuration, until)
	}
	if g.Cells < 0 || g.Cells > 4096 || g.Step < 0 || (g.Step > 0 && until/g.Step > 4e6) {
		panic("heat: grid out of range")
	}
	if g.Cells == 0 {
		g.Cells = defaultCells
		if p.Frozen() {
			g.Cells = frozenCells
		}
	}
	f, err := newField(g, p, h)
	if err != nil {
		return nil, fmt.Errorf("solve: %w", err)
	}
	return march(f, g, p, h, until), nil
}

// field is a temperature field that can be stepped through time.
type field interface {
	// enter begins a segment: the bath is now at bath, with the given film.
	enter(bath float64, film Film)
	// step advances by dt seconds while the bath moves from bath at slope K/s. It reports
	// false, with nothing changed, if the step has to be shorter.
	step(dt, bath, slope float64) bool
	// share is the part of the time since the last change that a step may take.
	share() float64
	// read gives the temperatures of core, surface and mean.
	read() (core, surface, mean float64)
}

func newField(g Grid, p Piece, h History) (field, error) {
	_, dims := p.factors()
	switch {
	case p.Frozen():
		return newThawing(g, p, h)
	case dims == 1:
		return newVolumes(g.Cells, p), nil
	default:
		return newTensor(p), nil
	}
}

// march steps the field through the history, landing on every change of segment, and records it.
func march(f field, g Grid, p Piece, h History, until time.Duration) *Solution {
	half := p.radius()
	first := min(10, half*half/(100*float64(p.Diffusivity)))
	fixed := g.Step > 0
	if fixed {
		first = seconds(g.Step)
	}
	s := &Solution{}
	start := float64(p.Start)
	s.record(0, start, start, start)
	// No point can be hotter or colder than start and bath have been (maximum principle). The scheme
	// may overshoot by 0.5 % of a step of the bath in the step after it, in a film of thousands.
	lo, hi := start, start
	read := func() (core, surface, mean float64) {
		core, surface, mean = f.read()
		return min(max(core, lo), hi), min(max(surface, lo), hi), min(max(mean, lo), hi)
	}
	for i, segment := range h {
		if segment.From >= until {
			break
		}
		end, slope := until, 0.0
		if i+1 < len(h) {
			slope = float64(segment.Until-segment.Bath) / seconds(h[i+1].From-segment.From)
			end = min(until, h[i+1].From)
		}
		f.enter(float64(segment.Bath), segment.Film)
		length := seconds(end - segment.From)
		lo, hi = min(lo, float64(segment.Bath)), max(hi, float64(segment.Bath))
		core, surface, _ := read()
		for age, dt := 0.0, first; age < length; {
			step := dt
			switch left := length - age; {
			case left <= dt*(1+1e-9):
				step = left
			case left < 2*dt:
				step = left / 2
			}
			for !f.step(step, float64(segment.Bath)+slope*age, slope) {
				step /= 2
				if step < 1e-6 {
					panic("heat: step does not converge")
				}
			}
			age += step
			at := segment.From + duration(age)
			if age >= length*(1-1e-12) {
				age, at = length, end
			}
			bath := float64(segment.Bath) + slope*age
			lo, hi = min(lo, bath), max(hi, bath)
			newCore, newSurface, newMean := read()
			s.record(at, newCore, newSurface, newMean)
			moved := max(math.Abs(newCore-core), math.Abs(newSurface-surface))
			core, surface = newCore, newSurface
			if fixed {
				continue
			}
			switch {
			case moved > 2*calmChange:
				dt = max(first, dt/stepGrowth)
			case moved < calmChange:
				dt = max(first, min(dt*stepGrowth, age*f.share(), longestStep))
			}
		}
	}
	return s
}

// record keeps one instant. A field that has lost its numbers must not be read by anyone.
func (s *Solution) record(at time.Duration, core, surface, mean float64) {
	if sum := core + surface + mean; math.IsNaN(sum) || math.IsInf(sum, 0) {
		panic("heat: solution is not finite")
	}
	s.times = append(s.times, at)
	s.core = append(s.core, core)
	s.surface = append(s.surface, surface)
	s.mean = append(s.mean, mean)
}

// Times gives the instants the solution was computed at, in order: the natural nodes of an
// integral over it. Every change of the bath is among them.
func (s *Solution) Times() []time.Duration { return slices.Clone(s.times) }

// Core is the temperature of the middle.
func (s *Solution) Core(t time.Duration) quantity.Temperature { return s.value(s.core, t) }

// Surface is the temperature of the point that follows the bath first: the face of a slab,
// cylinder or sphere, the corner of a brick, the rim of a finite cylinder (the face, in a frozen
// start). Every other point is between Surface and Core while the bath is steady.
func (s *Solution) Surface(t time.Duration) quantity.Temperature { return s.value(s.surface, t) }

// Mean is the volume mean temperature.
func (s *Solution) Mean(t time.Duration) quantity.Temperature { return s.value(s.mean, t) }

func (s *Solution) value(of []float64, t time.Duration) quantity.Temperature {
	i := sort.Search(len(s.times), func(i int) bool { return s.times[i] >= t })
	switch {
	case i == 0:
		return quantity.Temperature(of[0])
	case i == len(s.times):
		return quantity.Temperature(of[i-1])
	}
	part := float64(t-s.times[i-1]) / float64(s.times[i]-s.times[i-1])
	return quantity.Temperature(of[i-1] + part*(of[i]-of[i-1]))
}

// Reach gives the first time the core is at target, from whichever side it started, and false
// if it is not within the span solved.
func (s *Solution) Reach(target quantity.Temperature) (time.Duration, bool) {
	goal := float64(target)
	side := s.core[0] < goal
	if s.core[0] == goal {
		return 0, true
	}
	for i := 1; i < len(s.core); i++ {
		if s.core[i] == goal || (s.core[i] < goal) != side {
			return s.crossing(i, goal), true
		}
	}
	return 0, false
}

// Settle gives the last time the core enters the band target ± within, to stay there until the
// end of the span solved; false if it is outside at the end. It is zero if it never was outside.
func (s *Solution) Settle(target quantity.Temperature, within quantity.Difference) (time.Duration, bool) {
	last := len(s.core) - 1
	out := func(i int) bool { return !(math.Abs(s.core[i]-float64(target)) <= float64(within)) }
	if out(last) {
		return 0, false
	}
	for i := last; i > 0; i-- {
		if out(i - 1) {
			edge := float64(target) + math.Copysign(float64(within), s.core[i-1]-float64(target))
			return s.crossing(i, edge), true
		}
	}
	return 0, true
}

// crossing interpolates the time in step i at which the core is at goal, rounded up.
func (s *Solution) crossing(i int, goal float64) time.Duration {
	part := (goal - s.core[i-1]) / (s.core[i] - s.core[i-1])
	return s.times[i-1] + time.Duration(math.Ceil(part*float64(s.times[i]-s.times[i-1])))
}

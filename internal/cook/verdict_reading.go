package cook

import (
	"cmp"
	"slices"
	"time"

	"bagwatch/internal/heat"
	"bagwatch/internal/quantity"
)

// corrected is a careful course with what a probe said. A reading below it makes the whole course cooler,
// before the reading too; one above it counts only from the reading on.
type corrected struct {
	base Curve
	lag  Curve // the same piece, thicker, so that it meets the low readings; nil when there are none
	// short is what a low reading that no thicker piece explains is below the course: the water must have
	// been cooler, then and since.
	short   quantity.Temperature
	credits []credit
}

// credit is a course from a reading on, of a piece as warm throughout as its core was read.
type credit struct {
	from  time.Duration
	curve Curve
}

// creditAfter is how long after a reading its credit begins: an integral that meets the jump half a second
// early stays on the safe side.
const creditAfter = time.Second

// below is the course without credits.
func (c *corrected) below(t time.Duration) quantity.Temperature {
	v := c.base.Core(t)
	if c.lag != nil {
		v = min(v, c.lag.Core(t))
	}
	return v - c.short
}

// Core is the corrected course of the middle.
func (c *corrected) Core(t time.Duration) quantity.Temperature {
	v := c.below(t)
	for _, k := range c.credits {
		if t >= k.from+creditAfter {
			v = max(v, k.curve.Core(t-k.from))
		}
	}
	return v
}

// Surface is the cooler of the surfaces; a reading of the core says nothing good of it.
func (c *corrected) Surface(t time.Duration) quantity.Temperature {
	v := c.base.Surface(t)
	if c.lag != nil {
		v = min(v, c.lag.Surface(t))
	}
	return v - c.short
}

// Mean is the cooler of the means.
func (c *corrected) Mean(t time.Duration) quantity.Temperature {
	v := c.base.Mean(t)
	if c.lag != nil {
		v = min(v, c.lag.Mean(t))
	}
	return v - c.short
}

// lookEvery is the distance of looks at a corrected course.
const lookEvery = 20 * time.Second

// Reach is the first look at which the core is at target.
func (c *corrected) Reach(target quantity.Temperature) (time.Duration, bool) {
	for t := time.Duration(0); t <= Horizon; t += lookEvery {
		if c.Core(t) >= target {
			return t, true
		}
		if t > 12*time.Hour {
			t += 9 * lookEvery // nothing moves fast by then
		}
	}
	return 0, false
}

// Bounds of the thicker piece that a low reading is explained by. House rule: a piece is not two and a half
// times as thick as it was said to be.
const (
	thickest   = 2.5
	thickSteps = 24
)

// correct takes the readings into a course. Every reading is believed to be as much too high as its probe
// may be off.
func (c *course) correct(readings []Reading) ([]Note, error) {
	if len(readings) == 0 {
		return nil, nil
	}
	readings = slices.Clone(readings)
	slices.SortStableFunc(readings, func(a, b Reading) int { return cmp.Compare(a.At, b.At) })
	fixed := &corrected{base: c.plan.CarefulCurve}
	var notes []Note

	thick := 1.0
	for _, r := range readings {
		sure := r.sure()
		if sure >= fixed.below(r.At) {
			continue
		}
		notes = append(notes, Note{ID: ReadingLow, Temperature: r.Core})
		more, curve, err := c.thicker(thick, sure, r.At)
		if err != nil {
			return nil, err
		}
		if curve != nil {
			thick, fixed.lag = more, curve
		}
		fixed.short += max(0, fixed.below(r.At)-sure)
	}
	for i, r := range readings {
		sure := r.sure()
		if sure <= fixed.Core(r.At) {
			continue
		}
		if !c.warming(r.At) || sure < growthStarts {
			notes = append(notes, Note{ID: ReadingIgnored, Temperature: r.Core})
			continue
		}
		curve, err := c.from(r.At, sure, fixed.short, thick)
		if err != nil {
			return nil, err
		}
		contradicted := slices.ContainsFunc(readings[i+1:], func(later Reading) bool {
			return later.sure() < curve.Core(later.At-r.At)
		})
		if contradicted {
			notes = append(notes, Note{ID: ReadingIgnored, Temperature: r.Core})
			continue
		}
		fixed.credits = append(fixed.credits, credit{r.At, curve})
		notes = append(notes, Note{ID: ReadingHigh, Temperature: r.Core})
	}
	c.curve, c.growth.curve, c.plan.CarefulCurve = fixed, fixed, fixed
	c.plan.CoreCareful = reach(fixed, c.plan.Careful.Bath-carefulClose)
	c.plan.Pasteurised = Moment{}
	return notes, c.plan.kill()
}

// sure is what the core was at the least.
func (r Reading) sure() quantity.Temperature {
	if r.Error == 0 {
		return r.Core - quantity.Temperature(probeError)
	}
	return r.Core - quantity.Temperature(r.Error)
}

// thicker finds how much thicker than said the piece must be to be no warmer than a reading, from a factor
// on; without a curve when no such piece explains it.
func (c *course) thicker(from float64, core quantity.Temperature, at time.Duration) (float64, Curve, error) {
	try := func(factor float64) (Curve, error) { return c.careful(scaled(c.plan.Careful.Shape, factor)) }
	if from >= thickest {
		return from, nil, nil
	}
	curve, err := try(thickest)
	if err != nil {
		return 0, nil, err
	}
	if curve.Core(at) > core {
		return from, nil, nil
	}
	low, high := from, thickest
	for range thickSteps {
		middle := (low + high) / 2
		next, err := try(middle)
		if err != nil {
			return 0, nil, err
		}
		if next.Core(at) > core {
			low = middle
		} else {
			high, curve = middle, next
		}
	}
	return high, curve, nil
}

// careful follows another shape through the same water, by the careful estimate.
func (c *course) careful(shape heat.Shape) (Curve, error) {
	p := *c.plan
	p.Careful.Shape = shape
	return c.water.careful(&p, p.slow, p.quick)
}

// scaled is a shape of so many times the size, within what can be solved.
func scaled(s heat.Shape, by float64) heat.Shape {
	grow := func(x quantity.Length) quantity.Length { return min(quantity.Length(by)*x, 1) }
	s.X, s.Y, s.Z = grow(s.X), grow(s.Y), grow(s.Z)
	return s
}

// warming reports whether the careful water never fell up to t: then no point of the piece was cooler than
// its core, and a piece that starts as warm throughout as the core is a lower bound from there on.
func (c *course) warming(t time.Duration) bool {
	if c.water == nil {
		return true
	}
	last := quantity.AbsoluteZero
	for _, s := range c.water.carefulPool.out {
		if s.from >= t {
			break
		}
		if s.at < last || s.end < s.at {
			return false
		}
		last = s.end
	}
	return true
}

// from follows a piece that is as warm throughout as its core was at t, in the water since then.
func (c *course) from(t time.Duration, core, short quantity.Temperature, thick float64) (Curve, error) {
	p := c.plan
	shape := scaled(p.Careful.Shape, thick)
	if c.water == nil {
		bath := p.Careful.Bath - short
		return follow(Geometry{Shape: shape, Film: p.Careful.Film, Bath: bath}, p.slow, min(core, bath))
	}
	w := c.water
	slowly := w.carefulPool.history(w.margin+short, w.slowFilm, w.slowStill).Since(t)
	core = min(core, slowly[0].Bath)
	a, err := solve(shape, p.slow, core, slowly)
	if err != nil {
		return nil, err
	}
	b, err := solve(p.Likely.Shape, p.quick, core, w.carefulPool.history(w.margin+short, w.likelyFilm, w.likelyFilm).Since(t))
	if err != nil {
		return nil, err
	}
	last := slowly[len(slowly)-1]
	return &lower{slow: a, quick: b, from: last.From, bath: last.Bath}, nil
}

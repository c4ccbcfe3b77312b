package curve

import (
	"math"
	"time"

	"bagwatch/internal/quantity"
)

// timeScale maps times to the paper. A long hold is squeezed: what happens early gets half of the width,
// and from bend on the same length is more time.
type timeScale struct {
	left, right float64
	end         time.Duration
	bend        time.Duration // zero: one scale throughout
}

// A cook whose busy part is less than a fifth of it is squeezed after that part.
const (
	squeezeFrom = 5
	busyShare   = 0.5
)

func newTimeScale(left, right float64, busy, end time.Duration) timeScale {
	s := timeScale{left: left, right: right, end: end}
	if end > squeezeFrom*busy {
		s.bend = quantity.CeilTo(busy, niceStep(busy, 6))
	}
	return s
}

// x is where a time stands.
func (s timeScale) x(t time.Duration) float64 {
	width := s.right - s.left
	switch {
	case s.bend == 0:
		return s.left + width*float64(t)/float64(s.end)
	case t <= s.bend:
		return s.left + width*busyShare*float64(t)/float64(s.bend)
	}
	return s.left + width*(busyShare+(1-busyShare)*float64(t-s.bend)/float64(s.end-s.bend))
}

// at is the time that stands at x.
func (s timeScale) at(x float64) time.Duration {
	f := (x - s.left) / (s.right - s.left)
	switch {
	case s.bend == 0:
		return time.Duration(f * float64(s.end))
	case f <= busyShare:
		return time.Duration(f / busyShare * float64(s.bend))
	}
	return s.bend + time.Duration((f-busyShare)/(1-busyShare)*float64(s.end-s.bend))
}

// timeSteps are the distances between marks of the time axis that people count in.
var timeSteps = [...]time.Duration{
	time.Minute, 2 * time.Minute, 5 * time.Minute, 10 * time.Minute, 15 * time.Minute, 30 * time.Minute,
	time.Hour, 2 * time.Hour, 3 * time.Hour, 4 * time.Hour, 6 * time.Hour, 12 * time.Hour, 24 * time.Hour, 48 * time.Hour,
}

// niceStep is the smallest step that makes at most so many parts of a span.
func niceStep(span time.Duration, parts int) time.Duration {
	for _, step := range timeSteps {
		if span <= time.Duration(parts)*step {
			return step
		}
	}
	return timeSteps[len(timeSteps)-1]
}

// ticks are the marks of the time axis, no closer than a label is wide; shift is how long before the start
// the clock showed a full step.
func (s timeScale) ticks(widest float64, shift func(step time.Duration) time.Duration) []time.Duration {
	var ticks []time.Duration
	stretch := func(from, to time.Duration) {
		parts := max(1, int((s.x(to)-s.x(from))/widest))
		step := niceStep(to-from, parts)
		first := from - (from+shift(step))%step
		for t := first; t <= to; t += step {
			if t < from || len(ticks) > 0 && s.x(t)-s.x(ticks[len(ticks)-1]) < widest*0.8 {
				continue
			}
			ticks = append(ticks, t)
		}
	}
	if s.bend == 0 {
		stretch(0, s.end)
		return ticks
	}
	stretch(0, s.bend)
	stretch(s.bend, s.end)
	return ticks
}

// degreeSteps are the distances between marks of the temperature axis, in either unit.
var degreeSteps = [...]float64{5, 10, 20, 25, 50, 100}

// degreeScale maps degrees of the reader's unit to the paper.
type degreeScale struct {
	bottom, perDegree float64
	low, step         float64
}

// newDegreeScale puts low to high between the bottom and the line top.
func newDegreeScale(low, high, bottom, top float64) degreeScale {
	s := degreeScale{bottom: bottom, step: degreeSteps[len(degreeSteps)-1]}
	for _, step := range degreeSteps {
		if (high-low)/step <= 5 {
			s.step = step
			break
		}
	}
	s.low = math.Floor(low/s.step) * s.step
	if low-s.low > s.step/2 { // less empty paper under the start
		s.low += s.step / 2
	}
	s.perDegree = (bottom - top) / (high - s.low)
	return s
}

func (s degreeScale) y(degrees float64) float64 { return s.bottom - (degrees-s.low)*s.perDegree }

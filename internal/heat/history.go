package heat

import (
	"fmt"
	"time"

	"bagwatch/internal/quantity"
)

// Segment is a stretch of time in which the bath is steady or changes linearly, with one film.
// Make one with [Hold] or [Ramp]; a literal must set Until, since its zero means a ramp to 0 °C.
type Segment struct {
	From  time.Duration        // when it begins, counted from immersion
	Bath  quantity.Temperature // the bath at From
	Until quantity.Temperature // the bath at the end, which is the next segment's From; equal to Bath for a steady bath
	Film  Film
}

// Hold is a steady bath from the given time on.
func Hold(from time.Duration, bath quantity.Temperature, film Film) Segment {
	return Segment{From: from, Bath: bath, Until: bath, Film: film}
}

// Ramp is a bath that moves linearly from bath to until, from the given time to the start of the next segment.
func Ramp(from time.Duration, bath, until quantity.Temperature, film Film) Segment {
	return Segment{From: from, Bath: bath, Until: until, Film: film}
}

// History is what the bath did: segments in order of time, the first from zero, the last a
// steady bath without end. Where one segment ends at another temperature than the next begins,
// the bath steps.
type History []Segment

// Constant is the history of a bath that never changes.
func Constant(bath quantity.Temperature, film Film) History {
	return History{Hold(0, bath, film)}
}

func (h History) check() error {
	if len(h) == 0 {
		return fmt.Errorf("%w: empty", ErrHistory)
	}
	if h[0].From != 0 {
		return fmt.Errorf("%w: begins at %v", ErrHistory, h[0].From)
	}
	for i, s := range h {
		if i > 0 && s.From <= h[i-1].From {
			return fmt.Errorf("%w: segment %d at %v is not after %v", ErrHistory, i, s.From, h[i-1].From)
		}
		if err := checkBath(s.Bath, s.Film); err != nil {
			return fmt.Errorf("segment %d: %w", i, err)
		}
		if err := checkBath(s.Until, s.Film); err != nil {
			return fmt.Errorf("segment %d: %w", i, err)
		}
	}
	if last := h[len(h)-1]; last.Until != last.Bath {
		return fmt.Errorf("%w: the last segment is a ramp without end", ErrHistory)
	}
	return nil
}

// Bath is the bath temperature and film at t; at a step, what comes after it. The history must not be empty.
func (h History) Bath(t time.Duration) (quantity.Temperature, Film) {
	i := h.index(t)
	s := h[i]
	if i+1 == len(h) || s.Until == s.Bath || t <= s.From {
		return s.Bath, s.Film
	}
	done := float64(t-s.From) / float64(h[i+1].From-s.From)
	return s.Bath + quantity.Temperature(done)*(s.Until-s.Bath), s.Film
}

// index finds the segment that holds at t.
func (h History) index(t time.Duration) int {
	i := len(h) - 1
	for i > 0 && h[i].From > t {
		i--
	}
	return i
}

// Since is the history as a piece sees it that goes in at the given time: what came before is
// dropped and the clock restarts at zero.
func (h History) Since(at time.Duration) History {
	if len(h) == 0 {
		return nil
	}
	first := h.index(at)
	later := append(History(nil), h[first:]...)
	later[0].Bath, _ = h.Bath(at)
	for i := range later {
		later[i].From -= at
	}
	later[0].From = 0
	return later
}

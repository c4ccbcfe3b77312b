package dinner

import (
	"errors"
	"time"

	"bagwatch/internal/lethality"
)

// Event is a step that has happened, at its own time.
type Event struct {
	Key Key
	At  time.Time
}

// Change is what has come up. At most one field is set; the zero Change only takes in what has happened.
type Change struct {
	Late   time.Duration // the cook is late by so much: "late 15 min"
	Guests time.Duration // the guests are late by so much: "guests late 1 h"
	Serve  time.Time     // dinner is at another time: "dinner at 20:00"
}

// Before lists the steps that should have happened by a time, at their planned times, for those who tick
// nothing off.
func (s Schedule) Before(now time.Time) []Event {
	var out []Event
	for _, st := range s.Steps {
		if !st.Done && !st.At.After(now) {
			out = append(out, Event{st.Key, st.At})
		}
	}
	return out
}

// Standing limits for food out of the water, before it is eaten: the first limit of the 2 hour/4 hour rule.
const longestStanding = lethality.SagCarryOn

// holdRange is the water in which food is held for late guests, on the grid. House rule: above the growth
// zone and below what cooks it on.
const (
	holdLow  = holdOther
	holdHigh = holdPlant
)

// Replan plans again what has not happened. What has, in the schedule or in happened, stays as it is: bags in
// the water keep their bath and their time, and a bath with bags in it keeps its setpoint until its water is
// dropped to hold them. The error is an *[Impossible] with the nearest serving time that can be met.
func (p *Planner) Replan(now time.Time, s Schedule, happened []Event, change Change) (Schedule, error) {
	serve := s.Serve.Add(change.Late).Add(change.Guests)
	if !change.Serve.IsZero() {
		serve = change.Serve
	}
	serve = serve.Truncate(time.Minute)
	if err := check(now, serve, s.Dishes, s.Kit); err != nil {
		return Schedule{}, err
	}
	past, err := newPast(s, happened, now)
	if err != nil {
		return Schedule{}, err
	}
	d := p.desk()
	out, err := d.again(now, serve, s, past)
	if err == nil {
		return out, nil
	}
	var no *Impossible
	if errors.As(err, &no) && no.Why != WhyRefused {
		no.Serve = d.near(now, serve, s, past)
	}
	return Schedule{}, err
}

// nearSearch is how far around the asked time another is looked for, and in which steps.
const (
	nearSearch = 4 * time.Hour
	nearStep   = 5 * time.Minute
)

// near is the serving time nearest to the asked one that can be met, the later of two; zero when there is none.
func (p *desk) near(now, serve time.Time, s Schedule, past *past) time.Time {
	for off := nearStep; off <= nearSearch; off += nearStep {
		for _, t := range [2]time.Time{serve.Add(off), serve.Add(-off)} {
			t = t.Truncate(nearStep)
			if t.Before(now) {
				continue
			}
			if _, err := p.again(now, t, s, past); err == nil {
				return t
			}
		}
	}
	return time.Time{}
}

func (p *desk) again(now, serve time.Time, s Schedule, past *past) (Schedule, error) {
	q, err := p.requery(now, serve, s, past)
	if err != nil {
		return Schedule{}, err
	}
	if q.now > 0 {
		no := impossible(WhyLate)
		no.Now = now
		return Schedule{}, no
	}
	if q.active == 0 {
		return q.schedule(plan{}), nil
	}
	best, ok := q.solve(onTime)
	if !ok {
		out := impossible(WhyPast)
		out.Now, out.Dish = now, q.tightest()
		if out.Dish < 0 {
			out.Why = WhyLate
		}
		return Schedule{}, out
	}
	return q.schedule(best), nil
}

// tightest is the bag in the water whose window or safe hold ends first, if it ends before its pull.
func (q *query) tightest() int {
	best, until := -1, never
	for i, d := range q.each(q.active) {
		if d.fixed == nil {
			continue
		}
		if k := q.fixedUntil(d, d.fixed.opt); k < until && k < -d.fixed.opt.off {
			best, until = i, k
		}
	}
	return best
}

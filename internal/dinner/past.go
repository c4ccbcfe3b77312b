package dinner

import (
	"fmt"
	"slices"
	"time"

	"bagwatch/internal/quantity"
)

// past is what has happened.
type past struct {
	steps   []Step
	courses []Course
	owners  map[Key]Owner
	baths   []bathPast
}

// bathPast is what has happened to a bath.
type bathPast struct {
	steps []Step // done to its water, in order
}

// newPast takes the events into the steps and sorts them by bath.
func newPast(s Schedule, happened []Event, now time.Time) (*past, error) {
	p := &past{courses: s.Courses, owners: make(map[Key]Owner), baths: make([]bathPast, len(s.Kit.Baths))}
	when := make(map[Key]time.Time, len(happened))
	for _, e := range happened {
		if _, ok := s.Step(e.Key); !ok {
			return nil, fmt.Errorf("%w: no step %v", ErrKitchen, e.Key)
		}
		if e.At.After(now) {
			return nil, fmt.Errorf("%w: %v has not happened yet", ErrKitchen, e.Key)
		}
		when[e.Key] = e.At
	}
	for _, st := range s.Steps {
		p.owners[st.Key] = st.Owner
		at, ok := when[st.Key]
		if !st.Done && !ok {
			continue
		}
		if !st.Done {
			st.Done, st.Until, st.At = true, at.Add(st.Until.Sub(st.At)), at
		}
		p.steps = append(p.steps, st)
	}
	slices.SortStableFunc(p.steps, func(a, b Step) int { return a.At.Compare(b.At) })
	for _, st := range p.steps {
		if st.Water >= 0 {
			p.baths[st.Water].steps = append(p.baths[st.Water].steps, st)
		}
	}
	return p, nil
}

// done finds a step of a dish that has happened.
func (p *past) done(kind Kind, dish int) (Step, bool) {
	for _, st := range p.steps {
		if st.Kind == kind && st.Dish == dish {
			return st, true
		}
	}
	return Step{}, false
}

// counted is how often something was done to the water of a bath. A nil past has nothing in it.
func (p *past) counted(bath int) int {
	if p == nil {
		return 0
	}
	return len(p.baths[bath].steps)
}

// heading tells whether a bath has been set to a temperature already.
func (p *past) heading(bath int, to quantity.Temperature) bool {
	if p == nil || len(p.baths[bath].steps) == 0 {
		return false
	}
	steps := p.baths[bath].steps
	return steps[len(steps)-1].Temperature == to
}

// water is the temperature of a bath, which is on its way in a straight line: cooler than it is when it
// heats. Soon is when it will be at its setpoint.
func (b bathPast) water(from quantity.Temperature, now time.Time) (t quantity.Temperature, soon time.Time) {
	t = from
	for i, st := range b.steps {
		end := st.Until
		if i+1 < len(b.steps) && b.steps[i+1].At.Before(end) {
			end = b.steps[i+1].At
		}
		if now.Before(end) && st.Until.After(st.At) {
			end = now
		}
		soon = st.Until
		if !end.Before(st.Until) {
			t = st.Temperature
			continue
		}
		t += (st.Temperature - t) * quantity.Temperature(float64(max(0, end.Sub(st.At)))/float64(st.Until.Sub(st.At)))
	}
	return t, soon
}

// target is the setpoint of a bath at a time.
func (b bathPast) target(at time.Time) (st Step, ok bool) {
	for _, s := range b.steps {
		if !s.At.After(at) {
			st, ok = s, true
		}
	}
	return st, ok
}

// reheated copies what happened to a dish that was cooked ahead.
func (p *past) reheated(dish int, c *Course) {
	old := p.courses[dish]
	c.Request, c.Setpoint, c.In, c.Ready, c.Out, c.Again, c.Pasteurised = old.Request, old.Setpoint, old.In, old.Ready, old.Out, old.Again, old.Pasteurised
	if st, ok := p.done(StepIn, dish); ok {
		c.In = st.At
	}
	if st, ok := p.done(StepOut, dish); ok {
		c.Out = st.At
	}
	if st, ok := p.done(StepReheat, dish); ok {
		c.Again = st.At
	}
}

// into puts what has happened before what is planned, and gives steps back to who had taken them.
func (p *past) into(s *Schedule) {
	for i := range s.Steps {
		s.Steps[i].Owner = p.owners[s.Steps[i].Key]
	}
	have := make(map[Key]bool, len(p.steps))
	for _, st := range p.steps {
		have[st.Key] = true
	}
	s.Steps = slices.DeleteFunc(s.Steps, func(st Step) bool { return have[st.Key] })
	s.Steps = append(slices.Clone(p.steps), s.Steps...)
}

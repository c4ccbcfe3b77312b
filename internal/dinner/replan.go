package dinner

import (
	"errors"
	"fmt"
	"slices"
	"time"

	"bagwatch/internal/cook"
	"bagwatch/internal/lethality"
	"bagwatch/internal/quantity"
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

// requery is the query of what is left to do.
func (p *desk) requery(now, serve time.Time, s Schedule, past *past) (*query, error) {
	q := &query{made: now, serve: serve, menu: s.Dishes, kit: s.Kit, past: past}
	q.now = ceil(now.Sub(serve))
	q.kit.Baths = slices.Clone(s.Kit.Baths)
	soon := make([]int, len(q.kit.Baths))
	for i := range q.kit.Baths {
		b := &q.kit.Baths[i]
		if b.Now == 0 {
			b.Now = usualTap
		}
		var at time.Time
		b.Now, at = past.baths[i].water(b.Now, now)
		soon[i] = max(0, ceil(at.Sub(now)))
		if at.IsZero() {
			soon[i] = 0
		}
	}
	pans := make([]slot, len(s.Dishes))
	slots := make([]*slot, len(s.Dishes))
	plans := make([][]*cook.Plan, len(s.Dishes))
	asked := make([]*cook.Plan, len(s.Dishes))
	for i, d := range s.Dishes {
		var err error
		if asked[i], plans[i], err = p.options(d); err != nil {
			return nil, refused(i, err)
		}
		pans[i] = newSlot(asked[i], s.Kit.Pans)
		_, pans[i].done = past.done(StepSear, i)
		slots[i] = &pans[i]
	}
	settlePan(slots)
	used := make([]quantity.Temperature, 0, len(s.Dishes))
	for i := range s.Dishes {
		d := &dish{index: i, asked: asked[i], mass: massOf(asked[i]), floor: floorOf(asked[i]), pan: pans[i], earliest: -never}
		q.dishes = append(q.dishes, d)
		state, err := p.state(q, i, d, plans[i])
		if err != nil {
			return nil, err
		}
		if state == out {
			if err := q.standing(i, d); err != nil {
				return nil, err
			}
			continue
		}
		q.active |= one(i)
		if d.fixed != nil {
			used = append(used, d.fixed.opt.s)
		}
	}
	for _, b := range past.baths {
		if st, ok := b.target(now); ok {
			used = append(used, st.Temperature)
		}
	}
	if err := q.handsFree(); err != nil {
		return nil, err
	}
	for t := holdLow; t <= holdHigh; t += gridStep {
		used = append(used, t)
	}
	if err := q.tabulate(p, used...); err != nil {
		return nil, err
	}
	for i, b := range past.baths {
		if st, ok := b.target(now); ok {
			g, _ := q.gridIndex(st.Temperature)
			q.baths[i].first[g] = soon[i] // it is on its way there already
		}
	}
	for i, d := range q.dishes {
		if d.fixed == nil {
			continue
		}
		w := &q.baths[d.fixed.bath]
		w.fixed |= one(i)
		w.at, _ = q.gridIndex(d.fixed.opt.s)
		w.soon = soon[d.fixed.bath]
		q.can[w.at] |= one(i)
		d.opts[w.at], d.fixed.opt.g = d.fixed.opt, w.at
		q.most[i] = d.fixed.opt.off
		q.fixKeep(i, d)
	}
	return q, nil
}

// handsFree refuses sears that would have to begin while the cook is still at the pan with another.
func (q *query) handsFree() error {
	busy := q.now
	for _, st := range q.past.steps {
		if st.Kind == StepSear {
			busy = max(busy, ceil(st.Until.Sub(q.serve)))
		}
	}
	for i, d := range q.dishes {
		if d.pan.sears && !d.pan.done && -d.pan.before < busy {
			no := impossible(WhyLate)
			no.Dish, no.Now, no.Needed = i, q.made, q.serve.Add(-span(d.pan.before))
			return no
		}
	}
	return nil
}

// standing refuses what has been out of the water too long by the time it is served.
func (q *query) standing(i int, d *dish) error {
	c := q.past.courses[i]
	pulled, _ := q.past.done(StepPull, i)
	in, _ := q.past.done(StepIn, i)
	no := impossible(WhyStanding)
	no.Dish, no.Now = i, q.made
	if q.serve.Sub(pulled.At) > longestStanding {
		return no
	}
	plan := *d.asked
	plan.Setpoint = c.Setpoint
	if limit, limited := holdLimit(&plan); limited && q.serve.Sub(in.At) > limit {
		return no
	}
	no.Why = WhyLate
	if seared, ok := q.past.done(StepSear, i); ok && seared.Until.Add(span(d.pan.rest)).After(q.serve) {
		return no
	}
	return nil
}

// where a dish is.
type where uint8

const (
	waiting where = iota
	inside
	chilled
	out
)

// state finds out where a dish is and gives it its options.
func (p *desk) state(q *query, i int, d *dish, plans []*cook.Plan) (where, error) {
	minute := func(t time.Time) int { return ceil(t.Sub(q.serve)) }
	in, started := q.past.done(StepIn, i)
	if _, pulled := q.past.done(StepPull, i); pulled {
		return out, nil
	}
	if !started {
		for _, plan := range plans {
			if o := newOption(plan, d.asked, d.pan); o != nil {
				d.values = append(d.values, o)
			}
		}
		return waiting, nil
	}
	c := q.past.courses[i]
	plan, err := p.plan(c.Request)
	if err != nil {
		return waiting, refused(i, err)
	}
	o := newOption(plan, d.asked, d.pan)
	if o == nil {
		no := impossible(WhyPast)
		no.Dish, no.Now = i, q.made
		return waiting, no
	}
	cold, wasOut := q.past.done(StepOut, i)
	if !wasOut {
		d.fixed = &fixed{bath: in.Bath, in: minute(in.At), ready: minute(in.At) + o.ready, opt: o}
		d.fixed.since = d.fixed.ready
		return inside, nil
	}
	d.reheated, d.from = true, o
	warm := func(to quantity.Temperature) *option {
		if to > o.plan.Setpoint || to < d.floor {
			return nil
		}
		minutes := reheatTime(o.plan, to)
		if minutes == never {
			return nil
		}
		return &option{s: to, plan: o.plan, ready: minutes, whole: never, off: o.off, loss: aheadLoss}
	}
	if again, back := q.past.done(StepReheat, i); back {
		w := warm(again.Temperature)
		if w == nil {
			// No table has this setpoint: it takes as long as it was planned to.
			w = &option{s: again.Temperature, plan: o.plan, ready: max(1, ceil(again.Until.Sub(again.At))), whole: never, off: o.off, loss: aheadLoss}
		}
		d.fixed = &fixed{bath: again.Bath, in: minute(again.At), ready: minute(again.At) + w.ready, opt: w}
		d.fixed.since = d.fixed.ready
		return inside, nil
	}
	d.earliest = max(q.now, minute(cold.At)+o.colder())
	for t := d.floor; t <= o.plan.Setpoint; t += gridStep {
		if w := warm(t); w != nil {
			d.values = append(d.values, w)
		}
	}
	return chilled, nil
}

// fixKeep says until when a bag keeps in the water of now, and what of its window is used up when that is
// cooler than it was cooked at.
func (q *query) fixKeep(i int, d *dish) {
	f := d.fixed
	o := f.opt
	f.keep = f.in + int(o.plan.BestBefore/time.Minute)
	if limit, limited := holdLimit(o.plan); limited {
		f.keep = min(f.keep, f.in+int(limit/time.Minute)-o.off)
	}
	if d.reheated {
		f.keep = never
		return
	}
	in, _ := q.past.done(StepIn, i)
	step, ok := q.past.baths[f.bath].target(q.made)
	if !ok || step.Temperature == o.plan.Setpoint || step.At.Before(in.At) {
		return
	}
	// The water has been dropped since: only downwards and to a safe hold does a plan do that.
	end, change := ceil(step.At.Sub(q.serve)), ceil(step.Until.Sub(step.At))
	f.kept, f.keep, f.fell = true, never, end
	cooler := *o
	cooler.s = step.Temperature
	g, _ := q.gridIndex(step.Temperature)
	if followed(o) {
		f.keep = end + q.keepUncached(o, step.Temperature, max(o.ready, end-f.in), change)
	} else {
		f.used = float64(max(0, end+change-f.ready)) / q.length(d, o, o.s)
		f.since = end + change
	}
	d.opts[o.g] = nil
	q.can[o.g] &^= one(i)
	cooler.g = g
	f.opt, d.opts[g] = &cooler, &cooler
	q.can[g] |= one(i)
	q.baths[f.bath].at = g
}

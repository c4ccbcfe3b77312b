package dinner

import (
	"slices"
	"time"

	"bagwatch/internal/cook"
	"bagwatch/internal/quantity"
)

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

package dinner

import (
	"math"
	"time"

	"bagwatch/internal/cook"
	"bagwatch/internal/food"
	"bagwatch/internal/heat"
	"bagwatch/internal/quantity"
)

// schedule turns a plan into courses, steps and reasons.
func (q *query) schedule(p plan) Schedule {
	s := Schedule{
		Made: q.made, Serve: q.serve, Dishes: q.menu, Kit: q.kit,
		Courses: make([]Course, len(q.dishes)), Changes: p.cost.changes, Loss: p.cost.loss,
	}
	b := builder{q: q, s: &s}
	for i := range p.runs {
		b.bath(i, &p.runs[i])
	}
	for i, d := range q.dishes {
		if !q.active.has(i) {
			b.up(i)
		}
		b.pan(i, d)
	}
	b.step(Step{Key: Key{StepServe, -1, -1, 0}, Bath: -1, At: s.Serve, Until: s.Serve})
	for _, c := range s.Courses {
		s.Waiting += c.Waiting
	}
	if q.past != nil {
		q.past.into(&s)
	}
	s.Steps = sorted(s.Steps)
	return s
}

// builder writes a schedule.
type builder struct {
	q     *query
	s     *Schedule
	water int // counts what is done to the water of the bath in hand
}

func (b *builder) at(minute int) time.Time { return b.s.Serve.Add(span(minute)) }

func (b *builder) step(st Step)    { b.s.Steps = append(b.s.Steps, st) }
func (b *builder) reason(r Reason) { b.s.Reasons = append(b.s.Reasons, r) }

// bath writes what happens to one bath and the bags in it.
func (b *builder) bath(i int, r *run) {
	q := b.q
	if r.n == 0 {
		return
	}
	w := &q.baths[i]
	var t times
	if _, _, ok := q.price(i, r, earliest, &t); !ok {
		panic("dinner: a plan that cannot be priced")
	}
	b.water = q.past.counted(i)
	first := r.phases[0].g
	if w.fixed == 0 && !q.past.heading(i, q.grid[first]) {
		b.fill(i, t.start[0], q.grid[first])
	}
	if w.covered {
		b.reason(Reason{ID: ReasonCovered, Dish: -1, Bath: i, Temperature: q.grid[len(q.grid)-1]})
	}
	var before mask
	for k := range r.n {
		ph := r.phases[k]
		for j, d := range q.each(ph.set) {
			b.course(i, j, d, r, k, &t)
		}
		inside := before | ph.set
		if k+1 == r.n {
			inside |= r.ahead
		}
		b.shared(i, ph, inside)
		before |= ph.set &^ r.ahead
		if k+1 < r.n && !r.still(k) {
			b.change(i, k, ph, r.phases[k+1], before, &t)
		}
		b.heavy(i, ph)
	}
}

// fill heats or cools the empty bath to its first setpoint.
func (b *builder) fill(i, start int, to quantity.Temperature) {
	w := &b.q.baths[i]
	g, _ := b.q.gridIndex(to)
	st := Step{Key: Key{StepHeat, -1, i, b.water}, Bath: i, At: b.at(start - w.first[g]), Until: b.at(start), Temperature: to}
	if to < w.Now {
		st.Kind = StepCool
		if w.ice {
			st.Kind, st.Ice = StepIce, w.iceFor(0, w.Now, to)
		}
	}
	b.water++
	b.step(st)
}

// change heats or cools the bath between two phases.
func (b *builder) change(i, k int, from, to phase, stay mask, t *times) {
	q, w := b.q, &b.q.baths[i]
	here, there := q.grid[from.g], q.grid[to.g]
	st := Step{
		Key: Key{StepChange, -1, i, b.water}, Bath: i, At: b.at(t.end[k]),
		Until: b.at(t.end[k] + w.change(q.grid, from.g, to.g)), Temperature: there, Reason: ReasonHotFirst,
	}
	if there < here {
		st.Kind = StepCool
		if w.ice {
			st.Kind, st.Ice = StepIce, w.iceFor(q.weight[stay], here, there)
		}
	}
	if to.set == 0 {
		st.Reason = ReasonLowered
	} else if there < here {
		b.reason(Reason{ID: ReasonHotFirst, Dish: firstOf(from.set), Bath: i, With: list(to.set), Temperature: there})
	}
	b.water++
	b.step(st)
}

func firstOf(m mask) int { return list(m)[0] }

func list(m mask) (out []int) {
	for i := range MostDishes {
		if m.has(i) {
			out = append(out, i)
		}
	}
	return out
}

// course writes one dish of a phase.
func (b *builder) course(bath, j int, d *dish, r *run, k int, t *times) {
	q := b.q
	o := d.opts[r.phases[k].g]
	pull := -o.off
	c := Course{
		Dish: j, Request: decided(o.plan), Setpoint: o.plan.Setpoint, Asked: d.asked.Setpoint, Bath: bath, Mode: Direct,
		In: b.at(t.in[j]), Ready: b.at(t.in[j] + o.ready), Pull: b.at(pull), Sear: o.plan.Sear,
		Best: b.at(t.in[j]).Add(o.plan.BestBefore),
	}
	// Only the time at its own setpoint counts: in cooler water the clock of the claim stands still.
	hot := pull
	switch f := d.fixed; {
	case f != nil && f.kept:
		hot = f.fell
	case k+1 < r.n && (!r.still(k) || r.ahead.has(j)):
		hot = t.end[k]
	}
	c.Pasteurised = o.plan.Pasteurised.By(span(hot-t.in[j])) && o.plan.Safety != food.Plant
	last := q.grid[r.phases[r.n-1].g]
	reason := ReasonID("")
	switch f := d.fixed; {
	case k+1 < r.n && r.ahead.has(j):
		b.ahead(bath, j, d, o, t.end[k], t.again[j], last, &c)
	case k+1 < r.n && !r.still(k):
		c.Mode, c.Waiting, reason = KeptWarm, span(pull-t.end[k]), ReasonKept
		c.Best = b.at(q.keptUntil(d, o, r.phases[k+1].g, t.end[k], q.baths[bath].change(q.grid, r.phases[k].g, r.phases[k+1].g)))
		id := ReasonKept
		if r.phases[k+1].set == 0 {
			id = ReasonLowered
		}
		b.reason(Reason{ID: id, Dish: j, Bath: bath, Temperature: last, Span: c.Waiting, Until: c.Best})
	case f != nil && f.kept:
		c.Mode, c.Waiting = KeptWarm, span(pull-f.ready)
	case f != nil && pull > f.ready:
		c.Mode, c.Waiting, reason = Held, span(pull-f.ready), ReasonHeld
		b.reason(Reason{ID: ReasonHeld, Dish: j, Bath: bath, Temperature: o.s, Span: c.Waiting, Until: c.Best})
	}
	if f := d.fixed; f != nil {
		c.Ready = b.at(f.ready)
		c.Waiting = span(pull - f.ready)
		if (f.kept || d.reheated) && !r.ahead.has(j) {
			c.Best = b.at(q.fixedUntil(d, o))
		}
	}
	c.Serve = o.plan.Serve
	if d.reheated {
		q.past.reheated(j, &c)
		c.AgainAt, c.Bath, c.Pull, c.Mode = o.s, bath, b.at(pull), Ahead
		if d.fixed == nil {
			c.Again = b.at(t.in[j])
			c.Best = b.at(t.in[j] + o.ready + whole(q.length(d, o, o.s)))
			b.step(Step{Key: Key{StepReheat, j, -1, 0}, Bath: bath, At: c.Again, Until: b.at(t.in[j] + o.ready), Temperature: o.s, Reason: ReasonAhead})
		}
	} else if d.fixed == nil {
		until := c.Ready
		if c.Mode == Ahead {
			until = c.Out
		}
		if o.plan.Setpoint != d.asked.Setpoint {
			reason = ReasonShared
		}
		b.step(Step{Key: Key{StepIn, j, -1, 0}, Bath: bath, At: c.In, Until: until, Temperature: c.Setpoint, Reason: reason})
	}
	b.step(Step{Key: Key{StepPull, j, -1, 0}, Bath: bath, At: c.Pull, Until: c.Pull, Reason: reason})
	if c.Pasteurised {
		c.Serve = cook.ServePasteurised
	}
	b.s.Courses[j] = c
}

// ahead writes the ice water and the second bath of a dish that is cooked ahead.
func (b *builder) ahead(bath, j int, d *dish, o *option, out, again int, to quantity.Temperature, c *Course) {
	c.Mode, c.Out, c.Again, c.AgainAt = Ahead, b.at(out), b.at(again), to
	c.Waiting = c.Pull.Sub(c.Out)
	c.Best = c.Pull.Add(quantity.Minutes(b.q.length(d, o, o.s)))
	c.Pasteurised = o.plan.Safety != food.Plant
	ice, err := heat.Chilling{Food: d.mass, From: o.plan.Setpoint, To: cold, Bath: iceWater}.Ice()
	if err != nil {
		ice = d.mass
	}
	b.step(Step{Key: Key{StepOut, j, -1, 0}, Bath: bath, At: c.Out, Until: b.at(out + o.colder()), Ice: ice, Reason: ReasonAhead})
	g, _ := b.q.gridIndex(to)
	b.step(Step{Key: Key{StepReheat, j, -1, 0}, Bath: bath, At: c.Again, Until: b.at(again + b.q.reheat(d, o, g)), Temperature: to, Reason: ReasonAhead})
	b.reason(Reason{ID: ReasonAhead, Dish: j, Bath: bath, Temperature: to, Span: c.Waiting})
}

// keptUntil is the minute until which a dish keeps once its water falls at end.
func (q *query) keptUntil(d *dish, o *option, next, end, change int) int {
	if f := d.fixed; f != nil && f.kept {
		return q.fixedUntil(d, o)
	}
	if followed(o) && !d.reheated {
		after := o.ready
		if d.fixed != nil {
			after = end - d.fixed.in
		}
		return end + q.keep(d, o, next, after, change)
	}
	used := float64(change) / q.length(d, o, o.s)
	if d.fixed != nil {
		used += q.usedBy(d, o, end)
	}
	return end + change + whole((1-used)*q.length(d, o, q.grid[next]))
}

// fixedUntil is the minute until which a bag keeps where it is now.
func (q *query) fixedUntil(d *dish, o *option) int {
	f := d.fixed
	if f.kept && followed(o) {
		return f.keep
	}
	return min(f.keep, f.since+whole((1-f.used)*q.length(d, o, o.s)))
}

// whole gives minutes rounded down; a window may be longer than a Duration tells.
func whole(minutes float64) int {
	return int(math.Floor(max(0, min(minutes, farthest.Minutes()))))
}

// shared says which dishes of a phase gave up their own setpoint for it, and for whom: what is in the same
// water, or what waits until the water is free.
func (b *builder) shared(bath int, ph phase, inside mask) {
	for j, d := range b.q.each(ph.set) {
		o := d.opts[ph.g]
		if d.fixed != nil || d.reheated || o.plan.Setpoint == d.asked.Setpoint {
			continue
		}
		r := Reason{ID: ReasonShared, Dish: j, Bath: bath, With: list(inside &^ one(j)), Temperature: o.plan.Setpoint, Asked: d.asked.Setpoint}
		if len(r.With) == 0 {
			r.ID = ReasonSooner
		}
		b.reason(r)
	}
}

// heavy says when the heater does not keep up with the bags of a phase, with the lowest that the water could
// fall to. The faces of a bag are those of a slab of its mass and thickness.
func (b *builder) heavy(bath int, ph phase) {
	q, w := b.q, &b.q.baths[bath]
	to := q.grid[ph.g]
	var start quantity.Temperature
	var mass quantity.Mass
	var draw quantity.Power
	for _, d := range q.each(ph.set) {
		if d.fixed != nil || d.reheated {
			continue
		}
		start += d.asked.StartAt * quantity.Temperature(d.mass)
		mass += d.mass
		faces := heat.Area(2 * float64(d.mass) / (flesh * float64(d.asked.Thickness)))
		if p, err := heat.Draw(d.asked.Likely.Film, faces, to, d.asked.StartAt); err == nil {
			draw += p
		}
	}
	if mass == 0 {
		return
	}
	holds, err := w.vessel.Holds(to, draw)
	low, err2 := heat.Mixing(w.Litres, to, mass, max(-20, start/quantity.Temperature(mass)))
	if err == nil && err2 == nil && !holds && low < to-deepDip {
		b.reason(Reason{ID: ReasonHeavy, Dish: -1, Bath: bath, With: list(ph.set), Temperature: low})
	}
}

// flesh is the density of meat, kg/m³; 1030 … 1080 in the tables that the catalogue rests on.
const flesh = 1050

// pan writes the chill, sear and rest of a dish that are not done.
func (b *builder) pan(j int, d *dish) {
	if !d.pan.sears {
		return
	}
	c := &b.s.Courses[j]
	at := b.at(-d.pan.before)
	end := at.Add(span(d.pan.work))
	if d.pan.done {
		seared, _ := b.q.past.done(StepSear, j)
		if end = seared.Until; end.Before(b.at(b.q.now)) {
			end = b.at(b.q.now) // it rests already
		}
	} else {
		if c.Sear.ChillMax > 0 {
			b.step(Step{Key: Key{StepChill, j, -1, 0}, Bath: -1, At: at.Add(-span(ceil(c.Sear.ChillMax))), Until: at, Sear: c.Sear})
		}
		b.step(Step{Key: Key{StepSear, j, -1, 0}, Bath: -1, At: at, Until: end, Sear: c.Sear})
	}
	if d.pan.rest > 0 && !end.After(b.s.Serve) {
		b.step(Step{Key: Key{StepRest, j, -1, 0}, Bath: -1, At: end, Until: b.s.Serve})
	}
	if d.pan.extra > 0 && !d.pan.done && c.Mode != AlreadyUp {
		c.Waiting += span(d.pan.extra)
		b.reason(Reason{ID: ReasonPan, Dish: j, Bath: -1, Span: span(d.pan.extra)})
	}
}

// up writes a dish that is out of the water already.
func (b *builder) up(j int) {
	c := b.q.past.courses[j]
	c.Mode = AlreadyUp
	needed := ceil(b.s.Serve.Sub(c.Pull))
	c.Waiting = 0
	if c.Sear != nil {
		needed -= ceil(c.Sear.ChillMax) + b.q.dishes[j].pan.work + b.q.dishes[j].pan.rest
	} else {
		needed -= plateTime
	}
	if needed > 0 {
		c.Waiting = span(needed)
		b.reason(Reason{ID: ReasonUp, Dish: j, Bath: -1, Span: c.Waiting})
	}
	b.s.Courses[j] = c
}

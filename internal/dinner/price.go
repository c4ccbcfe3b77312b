package dinner

// phase is a stretch of one setpoint, and who is cooked in it.
type phase struct {
	g   int
	set mask
}

// run is the schedule of one bath.
type run struct {
	phases [mostPhases]phase
	n      int
	ahead  mask // of those in early phases, who is chilled; the others are kept warm
	cost   cost
}

// still tells that a phase is left only because bags in it are taken out to be chilled: the water stays as it is,
// and they are warmed up in it again. Only of bags that are in the water already.
func (r *run) still(k int) bool {
	return k+1 < r.n && r.phases[k].g == r.phases[k+1].g && r.phases[k+1].set == 0
}

// times are the minutes of a run.
type times struct {
	start, end [mostPhases]int // first bag in; water begins to change
	least      int             // waiting that nobody can be spared by being chilled
	in, again  [MostDishes]int
}

// price gives the cost of a run and fills its minutes. It fails when the run breaks a rule; unkept are then
// those who cannot stay warm and may be chilled instead, if that is what it broke.
func (q *query) price(b int, r *run, want goal, t *times) (c cost, unkept mask, ok bool) {
	w := &q.baths[b]
	last := r.n - 1
	if w.fixed != 0 && (r.phases[0].g != w.at || r.phases[0].set&w.fixed != w.fixed) {
		return c, 0, false
	}
	c.changes, t.least = last, 0
	if r.still(0) {
		c.changes--
	}
	g := r.phases[last].g
	t.start[last] = never
	for i, d := range q.each(r.phases[last].set) {
		o := d.opts[g]
		if o == nil {
			return c, 0, false
		}
		pull := -o.off
		if f := d.fixed; f != nil {
			if pull < max(f.ready, q.now) || pull > f.keep || !(q.usedBy(d, o, pull) <= 1) {
				return c, 0, false
			}
			c.wait += pull - f.ready
			t.in[i] = f.in
		} else {
			t.in[i] = pull - o.ready
			if t.in[i] < d.earliest {
				return c, 0, false
			}
			t.start[last] = min(t.start[last], t.in[i])
		}
		c.loss += o.loss
	}
	for k := range last {
		for i, d := range q.each(r.phases[k].set & r.ahead) {
			o := d.opts[r.phases[k].g]
			if o == nil || o.whole == never || d.reheated || !q.kit.Ice {
				return c, 0, false
			}
			if f := d.fixed; f != nil && f.kept && f.in+o.whole > f.fell {
				return c, 0, false // in cooler water the clock of the claim stands still
			}
			warm := q.reheat(d, o, g)
			if warm == never || o.colder() == never {
				return c, 0, false
			}
			t.again[i] = -o.off - warm
			t.start[last] = min(t.start[last], t.again[i])
			c.loss += aheadLoss
		}
	}
	for k := last - 1; k >= 0; k-- {
		lost, unkeptHere, ok := q.early(b, r, k, t, &c)
		unkept |= unkeptHere
		if !ok {
			return c, unkept, false
		}
		c.loss += lost
	}
	if unkept != 0 {
		return c, unkept, false
	}
	if t.start[0] != never {
		from := w.first[r.phases[0].g]
		if w.fixed != 0 {
			from = w.soon
		}
		if from == never {
			return c, 0, false
		}
		c.late = max(0, q.now+from-t.start[0])
	}
	return c, 0, want == earliest || c.late == 0
}

// early prices one early phase, backwards from the start of the next.
func (q *query) early(b int, r *run, k int, t *times, c *cost) (lost float64, unkept mask, ok bool) {
	w, ph, next := &q.baths[b], r.phases[k], r.phases[k+1].g
	same := r.still(k)
	change := 0
	if !same {
		change = w.change(q.grid, ph.g, next)
	}
	if change == never {
		return 0, 0, false
	}
	end := t.start[k+1]
	if end != never {
		end -= change
	}
	open := false
	done := q.now
	for i, d := range q.each(ph.set) {
		o := d.opts[ph.g]
		if o == nil {
			return 0, 0, false
		}
		if r.ahead.has(i) {
			end = min(end, t.again[i]-o.colder())
		}
		if d.fixed == nil {
			open = true
		} else {
			done = max(done, d.fixed.ready)
			if r.ahead.has(i) {
				done = max(done, d.fixed.in+o.whole)
			}
		}
	}
	if w.fixed != 0 && k == 0 {
		if done > end {
			return 0, 0, false
		}
		if !open {
			end = done // nothing is gained by waiting in hotter water
		}
	}
	if end == never {
		return 0, 0, false // nothing comes after it
	}
	t.end[k], t.start[k] = end, never
	falling := q.grid[next] < q.grid[ph.g] && (k+2 >= r.n || q.grid[r.phases[k+2].g] < q.grid[next])
	lowest := q.grid[r.phases[r.n-1].g]
	for i, d := range q.each(ph.set) {
		o := d.opts[ph.g]
		pull, stays := -o.off, !r.ahead.has(i)
		if pull < end {
			return 0, 0, false
		}
		if f := d.fixed; f != nil {
			t.in[i] = f.in
			c.wait += weighed(stays, pull-f.ready)
			t.least += min(longestWarm, pull-f.ready)
		} else {
			stay := o.ready
			if !stays {
				stay = o.whole
			}
			t.in[i] = end - stay
			t.start[k] = min(t.start[k], t.in[i])
			c.wait += weighed(stays, pull-end)
			t.least += min(longestWarm, pull-end)
			if t.in[i] < d.earliest {
				return 0, 0, false
			}
		}
		c.loss += o.loss
	}
	if t.least > q.bar {
		return 0, 0, false
	}
	for i, d := range q.each(ph.set &^ r.ahead) {
		share, keeps := 0.0, falling && lowest >= d.floor
		switch o := d.opts[ph.g]; {
		case same:
			share = q.usedBy(d, o, -o.off)
			keeps = share <= 1 && -o.off <= d.fixed.keep
		case keeps:
			share, keeps = q.warm(d, o, next, end, change)
		}
		if !keeps {
			unkept |= one(i)
		}
		lost += share
	}
	return lost, unkept, true
}

// weighed is what waiting for so many minutes counts: in ice water always as much as the longest warm hold.
func weighed(stays bool, minutes int) int {
	if !stays {
		return longestWarm
	}
	return minutes
}

// warm is the share of its window that a dish uses up by staying while the water falls, and whether that is
// less than all of it.
func (q *query) warm(d *dish, o *option, next, end, change int) (share float64, keeps bool) {
	pull := -o.off
	if pull-end > longestWarm {
		return 1, false
	}
	after, used := o.ready, 0.0
	if f := d.fixed; f != nil {
		if f.kept {
			// Already in cooler water: what holds there holds in still cooler water too.
			share = q.usedBy(d, o, pull)
			return share, share <= 1 && pull <= f.keep
		}
		after, used = end-f.in, q.usedBy(d, o, end)
		if end > f.keep {
			return 1, false
		}
	}
	if followed(o) && !d.reheated {
		if pull-end > dullAfter {
			return 1, false
		}
		most := q.keep(d, o, next, after, change)
		if most <= 0 {
			return 1, false
		}
		share = float64(pull-end) / float64(most)
		return share, share <= 1
	}
	here, there := q.length(d, o, o.s), q.length(d, o, q.grid[next])
	share = used + float64(min(change, pull-end))/here + float64(max(0, pull-end-change))/there
	return share, share <= 1
}

// usedBy is the share of its window that a bag in the water now has used by a minute, if it stays where it is.
func (q *query) usedBy(d *dish, o *option, at int) float64 {
	f := d.fixed
	if at <= f.since || f.kept && followed(o) {
		return f.used
	}
	return f.used + float64(at-f.since)/q.length(d, o, o.s)
}

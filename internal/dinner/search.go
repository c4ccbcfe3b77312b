package dinner

import (
	"cmp"
	"math/bits"
	"slices"

	"bagwatch/internal/quantity"
)

// goal is what a search minimises.
type goal uint8

const (
	onTime   goal = iota // waiting, changes, loss; nothing before now
	earliest             // how late the serving would have to be
)

// cost of a plan; lexicographic in the order of its fields, late only when it is what is asked for.
type cost struct {
	late, wait, changes int
	loss                float64
}

// slack hides the rounding of sums of losses: two plans this close are the same.
const slack = 1e-9

func (c cost) less(o cost) bool {
	switch {
	case c.late != o.late:
		return c.late < o.late
	case c.wait != o.wait:
		return c.wait < o.wait
	case c.changes != o.changes:
		return c.changes < o.changes
	}
	return c.loss < o.loss-slack
}

// and adds the cost of another bath.
func (c cost) and(o cost) cost {
	return cost{max(c.late, o.late), c.wait + o.wait, c.changes + o.changes, c.loss + o.loss}
}

var worst = cost{late: never}

// most is the waiting that another run may have at the most to be better.
func (r *run) most() int {
	if r.cost.late == never {
		return never
	}
	return r.cost.wait
}

// bestRun is the best run of a bath for a set of dishes: over all ordered splits into at most three phases,
// over all setpoints. Splits whose last phase alone makes the others wait too long are not looked into.
func (q *query) bestRun(b int, set mask, want goal) (best run, ok bool) {
	best.cost = worst
	w := &q.baths[b]
	if !q.fits(b, set) {
		return best, false
	}
	if set == 0 {
		best.cost = cost{}
		return best, true
	}
	var r run
	try := func() {
		r.ahead = 0
		var t times
		for {
			q.bar = never
			if want == onTime {
				q.bar = min(q.limit, best.most())
			}
			c, unkept, fine := q.price(b, &r, want, &t)
			q.bar = never
			if fine {
				if want == earliest {
					c = cost{late: c.late}
				}
				if c.wait <= q.limit && c.less(best.cost) {
					best, ok = r, true
					best.cost = c
				}
				return
			}
			if unkept&^r.ahead == 0 {
				return
			}
			r.ahead |= unkept
			if want == onTime && longestWarm*bits.OnesCount16(uint16(r.ahead)) > min(q.limit, best.most()) {
				return
			}
		}
	}
	r.n = 1
	for _, g := range q.at(set) {
		r.phases[0] = phase{g, set}
		try()
	}
	if q.past != nil && w.fixed == set { // hold by dropping the water or by chilling, with nothing new in it
		r.n, r.phases[0] = 2, phase{w.at, set}
		for g := range w.at + 1 {
			r.phases[1] = phase{g, 0}
			try()
		}
	}
	for last := (set - 1) & set; last != 0; last = (last - 1) & set {
		rest := set &^ last
		if w.fixed&^rest != 0 {
			continue
		}
		for _, g := range q.at(last) {
			start := q.starts(last, g)
			if q.hopeless(want, rest, start, 0, &best) {
				continue
			}
			for _, g1 := range q.at(rest) {
				if g1 != g {
					r.n, r.phases[0], r.phases[1] = 2, phase{g1, rest}, phase{g, last}
					try()
				}
			}
			for mid := (rest - 1) & rest; mid != 0; mid = (mid - 1) & rest {
				if first := rest &^ mid; w.fixed&^first == 0 && len(q.at(first)) > 0 {
					q.three(w, &r, first, mid, phase{g, last}, start, want, &best, try)
				}
			}
		}
	}
	return best, ok
}

// at lists the grid indices at which all of a set can be cooked.
func (q *query) at(set mask) []int {
	if q.shared[set] == nil {
		q.shared[set] = []int{}
		for g, can := range q.can {
			if can&set == set {
				q.shared[set] = append(q.shared[set], g)
			}
		}
	}
	return q.shared[set]
}

// three tries all setpoints of two early phases before the last, which begins no later than start.
func (q *query) three(w *water, r *run, first, mid mask, last phase, start int, want goal, best *run, try func()) {
	for _, g := range q.at(mid) {
		change := w.change(q.grid, g, last.g)
		if g == last.g || change == never || start == never {
			continue
		}
		end := start - change
		longest := 0
		for _, d := range q.each(mid) {
			longest = max(longest, d.opts[g].ready)
		}
		wait := 0
		for i := range q.each(mid) {
			wait += min(longestWarm, max(0, -q.most[i]-end))
		}
		if q.hopeless(want, first, end-longest-1, wait, best) {
			continue
		}
		for _, g0 := range q.at(first) {
			if g0 != g {
				r.n, r.phases[0], r.phases[1], r.phases[2] = 3, phase{g0, first}, phase{g, mid}, last
				try()
			}
		}
	}
}

// starts is a minute before which a phase surely begins, never when all its bags are in already.
func (q *query) starts(set mask, g int) int {
	start := never
	for _, d := range q.each(set) {
		if o := d.opts[g]; d.fixed == nil {
			start = min(start, -o.off-o.ready)
		}
	}
	return start
}

// hopeless tells that early dishes would wait longer than the best run known does, when the next phase begins
// at start; wait is that of others. Bags that are in the water already wait whatever is decided, and are left out.
func (q *query) hopeless(want goal, early mask, start, wait int, best *run) bool {
	if start == never {
		return false
	}
	if want == earliest {
		return q.now-start > best.cost.late
	}
	if start <= q.now {
		return true // nothing can come before it
	}
	for i, d := range q.each(early) {
		if d.fixed == nil {
			wait += min(longestWarm, max(0, -q.most[i]-start))
		}
	}
	return wait > min(q.limit, best.most())
}

// rough is what is left for one busy bath when every other one keeps to one setpoint.
type rough struct {
	busy int
	left mask
	wait int
}

// bound looks for the waiting of some plan in which all baths but one keep to one setpoint, so that the
// search of all plans can pass over what waits longer.
func (q *query) bound() {
	var tries []rough
	for busy := range q.baths {
		var choose func(b int, left mask, wait int)
		choose = func(b int, left mask, wait int) {
			switch {
			case b == len(q.baths):
				tries = append(tries, rough{busy, left, wait})
			case b == busy:
				choose(b+1, left, wait)
			default:
				before := len(tries)
				for g := range q.grid {
					r := run{n: 1, phases: [mostPhases]phase{{g, q.can[g] & left}}}
					if r.phases[0].set == 0 {
						continue
					}
					var t times
					if c, _, ok := q.price(b, &r, onTime, &t); ok && q.fits(b, r.phases[0].set) {
						choose(b+1, left&^r.phases[0].set, wait+c.wait)
					}
				}
				if len(tries) == before {
					choose(b+1, left, wait)
				}
			}
		}
		choose(0, q.active, 0)
	}
	slices.SortFunc(tries, func(a, b rough) int {
		return cmp.Or(bits.OnesCount16(uint16(a.left))-bits.OnesCount16(uint16(b.left)), int(a.left)-int(b.left), a.busy-b.busy)
	})
	var fine []mask
	for _, try := range tries {
		if slices.ContainsFunc(fine, func(m mask) bool { return m&^try.left == 0 }) {
			continue // more food in the busy bath never waits less
		}
		if r, ok := q.bestRun(try.busy, try.left, onTime); ok {
			fine = append(fine, try.left)
			q.limit = min(q.limit, try.wait+r.cost.wait)
		}
	}
}

// fits tells whether a set of dishes finds room in a bath; what is in it already does.
func (q *query) fits(b int, set mask) bool {
	w := &q.baths[b]
	return w.fixed&^set == 0 && (q.weight[set] <= quantity.Mass(crowd*float64(w.Litres)) || w.fixed == set)
}

// plan is a run for each bath.
type plan struct {
	runs []run
	cost cost
}

// solve finds the best plan: the best run of every bath for every set of dishes, then the best way to split
// the menu, bath by bath over subsets. Identical empty baths share their runs.
func (q *query) solve(want goal) (plan, bool) {
	n := int(q.active) + 1
	if len(q.baths) == 1 {
		r, ok := q.bestRun(0, q.active, want)
		return plan{[]run{r}, r.cost}, ok
	}
	q.limit = never
	if want == onTime {
		q.bound()
	}
	runs := make([][]run, len(q.baths))
	done := make([][]int8, len(q.baths)) // 0 not asked, 1 found, −1 none
	same := make([]int, len(q.baths))
	for b := range q.baths {
		runs[b], done[b], same[b] = make([]run, n), make([]int8, n), b
		for a := range b {
			if q.baths[a].Bath == q.baths[b].Bath && q.baths[a].fixed|q.baths[b].fixed == 0 {
				same[b] = a
				break
			}
		}
	}
	of := func(b int, set mask) (*run, bool) {
		b = same[b]
		if done[b][set] == 0 {
			r, ok := q.bestRun(b, set, want)
			runs[b][set], done[b][set] = r, map[bool]int8{true: 1, false: -1}[ok]
		}
		return &runs[b][set], done[b][set] > 0
	}
	best := make([]cost, n)
	cut := make([][]mask, len(q.baths))
	for b := range q.baths {
		cut[b] = make([]mask, n)
		next := make([]cost, n)
		for m := range next {
			next[m] = worst
			set := mask(m)
			if set&^q.active != 0 {
				continue
			}
			if b == 0 {
				if r, ok := of(b, set); ok {
					next[m], cut[b][m] = r.cost, set
				}
				continue
			}
			if b == len(q.baths)-1 && set != q.active {
				continue // nothing comes after the last bath
			}
			for part := set; ; part = (part - 1) & set {
				if before := best[set&^part]; before.late != never && before.less(next[m]) {
					if r, ok := of(b, part); ok {
						if c := before.and(r.cost); c.less(next[m]) {
							next[m], cut[b][m] = c, part
						}
					}
				}
				if part == 0 {
					break
				}
			}
		}
		best = next
	}
	if best[q.active].late == never {
		return plan{}, false
	}
	out := plan{make([]run, len(q.baths)), best[q.active]}
	left := q.active
	for b := len(q.baths) - 1; b >= 0; b-- {
		part := cut[b][left]
		r, _ := of(b, part)
		out.runs[b] = *r
		left &^= part
	}
	return out, true
}

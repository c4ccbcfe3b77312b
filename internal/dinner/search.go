package dinner

import (
	"cmp"
	"math/bits"
	"slices"
	"time"

	"bagwatch/internal/cook"
	"bagwatch/internal/quantity"
)

// mask is a set of dishes.
type mask uint16

func (m mask) has(i int) bool { return m>>i&1 == 1 }
func one(i int) mask          { return 1 << i }

// query is one dinner to be planned. Minutes count from serving, so what comes before is negative.
type query struct {
	made   time.Time
	serve  time.Time
	menu   []Dish
	kit    Kit
	now    int
	grid   []quantity.Temperature
	can    []mask // by grid index: who can be cooked there
	dishes []*dish
	baths  []water
	active mask // dishes that need a bath
	weight []quantity.Mass
	shared [][]int // by set: the grid indices at which all of it can be cooked
	most   []int   // by dish: the largest off of its options
	limit  int     // minutes of waiting that a known plan does with
	bar    int     // what waits longer than this need not be priced to its end
	past   *past   // what has happened, in a replan
}

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

// query plans every dish and tabulates the baths.
func (p *desk) query(now, serve time.Time, menu []Dish, kit Kit) (*query, error) {
	q := &query{made: now, serve: serve.Truncate(time.Minute), menu: menu, kit: kit}
	q.now = ceil(now.Sub(q.serve))
	asked := make([]*cook.Plan, len(menu))
	plans := make([][]*cook.Plan, len(menu))
	pans := make([]slot, len(menu))
	slots := make([]*slot, len(menu))
	for i, d := range menu {
		var err error
		if asked[i], plans[i], err = p.options(d); err != nil {
			return nil, refused(i, err)
		}
		pans[i] = newSlot(asked[i], kit.Pans)
		slots[i] = &pans[i]
	}
	settlePan(slots)
	for i := range menu {
		d := &dish{index: i, asked: asked[i], mass: massOf(asked[i]), floor: floorOf(asked[i]), pan: pans[i], earliest: -never}
		for _, plan := range plans[i] {
			if o := newOption(plan, asked[i], pans[i]); o != nil {
				d.values = append(d.values, o)
			}
		}
		if len(d.values) == 0 {
			return nil, p.slow(i, d, pans[i], menu[i])
		}
		q.dishes = append(q.dishes, d)
		q.active |= one(i)
	}
	return q, q.tabulate(p)
}

// tabulate makes the grid of all setpoints in question and the tables over it.
func (q *query) tabulate(desk *desk, more ...quantity.Temperature) error {
	q.limit, q.bar = never, never
	q.grid = append([]quantity.Temperature(nil), more...)
	for _, d := range q.dishes {
		for _, o := range d.values {
			q.grid = append(q.grid, o.s)
		}
	}
	slices.Sort(q.grid)
	q.grid = slices.Compact(q.grid)
	n := len(q.dishes)
	q.can, q.weight, q.most = make([]mask, len(q.grid)), make([]quantity.Mass, 1<<n), make([]int, n)
	for i, d := range q.dishes {
		d.opts = make([]*option, len(q.grid))
		d.reheats, d.lengths, d.keeps = make([]int, len(q.grid)), make([]float64, len(q.grid)), make(map[keepKey]int)
		for _, o := range d.values {
			o.g, _ = q.gridIndex(o.s)
			d.opts[o.g] = o
			q.can[o.g] |= one(i)
			q.most[i] = max(q.most[i], o.off)
		}
	}
	for m := range q.weight {
		for i, d := range q.dishes {
			if mask(m).has(i) {
				q.weight[m] += d.mass
			}
		}
	}
	q.shared = make([][]int, 1<<n)
	for _, b := range q.kit.Baths {
		w, err := desk.tubOf(b, q.kit, q.grid)
		if err != nil {
			return err
		}
		q.baths = append(q.baths, w)
	}
	return nil
}

func (q *query) gridIndex(t quantity.Temperature) (int, bool) { return slices.BinarySearch(q.grid, t) }

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

// each yields the dishes of a set.
func (q *query) each(set mask) func(func(int, *dish) bool) {
	return func(yield func(int, *dish) bool) {
		for ; set != 0; set &= set - 1 {
			i := bits.TrailingZeros16(uint16(set))
			if !yield(i, q.dishes[i]) {
				return
			}
		}
	}
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

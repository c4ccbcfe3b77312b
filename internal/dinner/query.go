package dinner

import (
	"math/bits"
	"slices"
	"time"

	"bagwatch/internal/cook"
	"bagwatch/internal/quantity"
)

// mask is a set of dishes.
type mask uint16

func (m mask) has(i int) bool { return m>>i&1 == 1 }

func one(i int) mask { return 1 << i }

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

package dinner

import (
	"time"

	"bagwatch/internal/quantity"
)

// Case is a query laid open, for comparing the search with a brute force.
type Case struct{ q *query }

// Cost is a plan's cost in the order of its fields.
type Cost struct {
	Late, Wait, Changes int
	Loss                float64
}

// Phase is a setpoint and the dishes cooked at it.
type Phase struct {
	Grid   int
	Dishes []int
}

// NewCase opens a query.
func NewCase(p *Planner, now, serve time.Time, menu []Dish, kit Kit) (Case, error) {
	q, err := p.desk().query(now, serve, menu, kit)
	return Case{q}, err
}

// Grid is the setpoints in question.
func (c Case) Grid() []quantity.Temperature { return c.q.grid }

// Search is what the planner finds.
func (c Case) Search(late bool) (Cost, bool) {
	p, ok := c.q.solve(map[bool]goal{true: earliest}[late])
	return Cost{p.cost.late, p.cost.wait, p.cost.changes, p.cost.loss}, ok
}

// Price is the cost of a fully decided run of one bath.
func (c Case) Price(bath int, phases []Phase, ahead []int, late bool) (Cost, bool) {
	r := run{n: len(phases)}
	for k, ph := range phases {
		r.phases[k].g = ph.Grid
		for _, i := range ph.Dishes {
			r.phases[k].set |= one(i)
		}
	}
	for _, i := range ahead {
		r.ahead |= one(i)
	}
	var t times
	cost, _, ok := c.q.price(bath, &r, map[bool]goal{true: earliest}[late], &t)
	return Cost{cost.late, cost.wait, cost.changes, cost.loss}, ok
}

// Turn is a dish's turn at the pan.
type Turn struct{ Work, Rest int }

// SettlePan gives for each turn the minutes before serving at which it begins, and all the needless rest.
func SettlePan(turns []Turn) (before []int, extra int) {
	slots := make([]*slot, len(turns))
	for i, t := range turns {
		slots[i] = &slot{sears: true, work: t.Work, rest: t.Rest}
	}
	settlePan(slots)
	for _, s := range slots {
		before = append(before, s.before)
		extra += s.extra
	}
	return before, extra
}

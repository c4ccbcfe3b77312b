package dinner

import (
	"errors"
	"fmt"
	"math"
	"time"

	"bagwatch/internal/cook"
	"bagwatch/internal/food"
	"bagwatch/internal/quantity"
)

// Why names what stands against a dinner.
type Why string

// What can stand against a dinner.
const (
	// WhyLate: Dish would have to go in at Needed, or the water of Bath be put on then, and that is past.
	WhyLate Why = "late"
	// WhyRefused: the shared model refuses Dish; see Refusal.
	WhyRefused Why = "refused"
	// WhyWater: no order of setpoints serves all of it with these baths, at whatever time.
	WhyWater Why = "water"
	// WhyCrowded: the food is more than the baths hold.
	WhyCrowded Why = "crowded"
	// WhyPast: of what is cooking, Dish would be past its window or its safe hold by then.
	WhyPast Why = "past"
	// WhyStanding: Dish has been out of the water too long by then.
	WhyStanding Why = "standing"
)

// Impossible is a dinner that cannot be, with what stands against it and the nearest that can. Of the
// nearest only what was found is set: zero fields were not.
type Impossible struct {
	Why     Why
	Dish    int // −1 when it is no single one
	Bath    int
	Needed  time.Time // when it would have to begin
	In      time.Time // when Dish would have to go in
	Now     time.Time
	Refusal *cook.Refusal

	// Serve is the serving time nearest to the one that was asked for.
	Serve time.Time
	// Thinner is a thickness of dish Cut with which it can be served in time.
	Thinner quantity.Length
	Cut     int
	// Doneness of dish Other makes the waters fit.
	Doneness food.Doneness
	Other    int
	// Without is a dish that would have to be cooked another way.
	Without int
	// Ice: with ice it can be done.
	Ice bool
	// Baths is how many baths like the first would do.
	Baths int
}

// Error names what stands against it, for logs; people get the translated text.
func (i *Impossible) Error() string { return "dinner: impossible: " + string(i.Why) }

// Unwrap gives the refusal of the shared model, if there is one.
func (i *Impossible) Unwrap() error {
	if i.Refusal == nil {
		return nil
	}
	return i.Refusal
}

func impossible(why Why) *Impossible {
	return &Impossible{Why: why, Dish: -1, Bath: -1, Cut: -1, Other: -1, Without: -1}
}

// refused turns what the shared model says of a dish into an answer.
func refused(dish int, err error) error {
	var refusal *cook.Refusal
	if !errors.As(err, &refusal) {
		return fmt.Errorf("dinner: dish %d: %w", dish, err)
	}
	out := impossible(WhyRefused)
	out.Dish, out.Refusal = dish, refusal
	return out
}

// roundServe is what an offered serving time is rounded up to.
const roundServe = 5 * time.Minute

// nearest says why a new dinner cannot be, and what can. A plan may be shifted as a whole, so the earliest
// serving time is the asked one and the least lateness of any plan.
func (p *desk) nearest(q *query) error {
	best, ok := q.solve(earliest)
	if !ok {
		return p.reshape(q)
	}
	out := impossible(WhyLate)
	out.Now = q.made
	out.Serve = serveCeil(q.serve.Add(span(best.cost.late)))
	s := q.schedule(best)
	// What has to begin first is what is late.
	for i, st := range s.Steps {
		if i == 0 || st.At.Before(out.Needed) {
			out.Needed, out.Bath = st.At, st.Bath
		}
	}
	for _, c := range s.Courses {
		if c.Bath == out.Bath && (out.Dish < 0 || c.In.Before(s.Courses[out.Dish].In)) {
			out.Dish, out.In = c.Dish, c.In
		}
	}
	out.Cut, out.Thinner = p.thinner(q, out.Dish)
	return out
}

// slow says that a dish would be past its safe time in cool water once it has been seared, and which cut is not.
func (p *desk) slow(i int, d *dish, pan slot, menu Dish) error {
	out := impossible(WhyPast)
	out.Dish = i
	r := menu.Request
	r.ThicknessVague = false
	for mm := below(d.asked.Thickness); mm >= thinnest; mm -= cutStep {
		r.Thickness = quantity.Millimetres(mm)
		if plan, err := p.plan(r); err == nil && newOption(plan, plan, pan) != nil {
			out.Cut, out.Thinner = i, r.Thickness
			break
		}
	}
	return out
}

// below is the next thickness in whole steps, mm.
func below(x quantity.Length) float64 { return (math.Ceil(x.Millimetres()/cutStep) - 1) * cutStep }

// serveCeil rounds a serving time up.
func serveCeil(t time.Time) time.Time {
	if down := t.Truncate(roundServe); down.Before(t) {
		return down.Add(roundServe)
	}
	return t
}

// A piece is cut to whole cutStep, and not thinner than thinnest, mm: house rule.
const (
	cutStep  = 5.0
	thinnest = 10.0
)

// thinner looks for a cut of the dish that has to begin first, with which all can be served in time.
func (p *desk) thinner(q *query, i int) (int, quantity.Length) {
	if i < 0 {
		return -1, 0
	}
	d := q.dishes[i].asked
	if d.Food.Proportions.Shape == food.EggShape {
		return -1, 0
	}
	menu := append([]Dish(nil), q.menu...)
	for mm := below(d.Thickness); mm >= thinnest; mm -= cutStep {
		r := q.menu[i].Request
		r.Thickness, r.ThicknessVague = quantity.Millimetres(mm), false
		menu[i].Request = r
		if p.can(q, menu, q.kit) {
			return i, r.Thickness
		}
	}
	return -1, 0
}

// can tells whether another menu or kit can be served at the time.
func (p *desk) can(q *query, menu []Dish, kit Kit) bool {
	other, err := p.query(q.made, q.serve, menu, kit)
	if err != nil {
		return false
	}
	_, ok := other.solve(onTime)
	return ok
}

// possible tells whether another menu or kit can be served at any time.
func (p *desk) possible(q *query, menu []Dish, kit Kit) bool {
	other, err := p.query(q.made, q.serve, menu, kit)
	if err != nil {
		return false
	}
	_, ok := other.solve(earliest)
	return ok
}

// reshape says what would make an impossible set of waters possible: another doneness of one dish, another
// bath, or leaving one dish to the stove.
func (p *desk) reshape(q *query) error {
	out := impossible(WhyWater)
	out.Now = q.made
	room := quantity.Mass(0)
	for i := range q.baths {
		room += quantity.Mass(crowd * float64(q.baths[i].Litres))
	}
	if q.weight[q.active] > room {
		out.Why = WhyCrowded
	}
	menu := append([]Dish(nil), q.menu...)
	for i, d := range q.dishes {
		for _, step := range d.asked.Food.Steps {
			if out.Other >= 0 || step.ID == d.asked.Doneness {
				continue
			}
			r := q.menu[i].Request
			r.HasSetpoint, r.Setpoint, r.Doneness = false, 0, step.ID
			menu[i].Request = r
			if p.possible(q, menu, q.kit) {
				out.Doneness, out.Other = step.ID, i
			}
		}
		menu[i] = q.menu[i]
	}
	kit := q.kit
	if !kit.Ice {
		kit.Ice = true
		out.Ice = p.possible(q, q.menu, kit)
		kit.Ice = false
	}
	for n := len(kit.Baths) + 1; n <= MostBaths && out.Baths == 0; n++ {
		kit.Baths = append(append([]Bath(nil), kit.Baths...), kit.Baths[0])
		if p.possible(q, q.menu, kit) {
			out.Baths = n
		}
	}
	if out.Other < 0 && !out.Ice && len(q.menu) > 1 {
		for i := range q.menu {
			rest := append(append([]Dish(nil), q.menu[:i]...), q.menu[i+1:]...)
			if p.possible(q, rest, q.kit) {
				out.Without = i
				break
			}
		}
	}
	return out
}

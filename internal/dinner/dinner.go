// Package dinner plans backwards from the time of serving: several foods, one to three baths, one cook.
//
// Times are whole minutes, temperatures °C on the grid of half a kelvin that a bath can be set to. Every
// cooking time, window and safety rule comes from the shared model in package cook; nothing here makes food
// ready earlier or keeps it longer than the model allows.
//
// The decisions are: which bath a bag goes to, at which setpoint within the doneness that was asked for, and
// in which of at most three phases of that bath. A phase is a stretch of one setpoint. What is cooked in an
// early phase either stays in its bath while that cools ("kept warm", only down to its safe hold and inside
// its window) or is chilled in ice water and warmed up in the last phase ("cooked ahead", only what is
// pasteurised by then). The pan is settled first, by exact search over the order of the sears; the baths
// are then searched exactly for those pulls. The best plan serves everything at the time, then waits least
// (minutes between done and needed, summed over foods; food in
// ice water counts as the longest warm hold, however long it lies there), then changes the water least often, then loses least
// texture. Two things shrink the search without losing the best: a bath's schedule depends only on what is
// in that bath, so the baths are combined by a sum over subsets; and staying warm is never worse than being
// cooked ahead, so the fewest bags that must be chilled are.
//
// Start with [New] and [Planner.Plan]; [Planner.Replan] moves what has not happened.
package dinner

import (
	"errors"
	"fmt"
	"time"

	"bagwatch/internal/cook"
	"bagwatch/internal/quantity"
)

// The sizes a household has, which the search is exact for.
const (
	MostDishes = 8
	MostBaths  = 3
	mostPhases = 3 // two changes of the water are what a cook puts up with: house rule
)

// ErrKitchen reports a menu or kit that cannot be meant: no dish or more than MostDishes, more than
// MostBaths, figures that no bath has, or a serving time that is not within the next ten days.
var ErrKitchen = errors.New("dinner: menu or kit out of range")

// farthest is how far ahead a dinner can be planned: twice the longest cook.
const farthest = 2 * cook.Horizon

// Planner plans dinners from the shared model. It is safe for concurrent use.
type Planner struct{ model *cook.Model }

// New makes a planner on the shared model.
func New(model *cook.Model) *Planner { return &Planner{model: model} }

// Dish is one food of the menu, in one bag.
type Dish struct {
	Request cook.Request
	Name    string // what people call it; empty for the food's own name
}

// Bath is one tub with a heater. Zero fields take a middling tub: 12 L, 1000 W, filled at 20 °C.
type Bath struct {
	Litres quantity.Volume
	Watts  quantity.Power
	Now    quantity.Temperature // the water now
}

// Kit is what the kitchen has.
type Kit struct {
	Baths []Bath
	Pans  int                  // 0 means one; each takes two pieces at a time
	Room  quantity.Temperature // 0 means 20 °C
	Ice   bool                 // there is ice: water is cooled in minutes, and food can be cooked ahead
}

// Mode is how a dish gets to the table.
type Mode string

// The modes.
const (
	Direct    Mode = "direct"     // pulled when it is ready, and served
	KeptWarm  Mode = "kept-warm"  // stays in its bath while the water is cooled for another food
	Ahead     Mode = "ahead"      // cooked, chilled in ice water, warmed up again
	Held      Mode = "held"       // stays at its setpoint past ready, within its window
	AlreadyUp Mode = "already-up" // out of the water before the plan was changed
)

// Course is what was decided for a dish.
type Course struct {
	Dish int // index into Schedule.Dishes
	// Request has the setpoint decided: the shared model's plan of it is the one the times come from.
	Request  cook.Request
	Setpoint quantity.Temperature
	Asked    quantity.Temperature // the setpoint it would have on its own
	Bath     int
	Mode     Mode

	In    time.Time // into the water at Setpoint
	Ready time.Time // by the shared model, the safe end of a guess
	Pull  time.Time // out of the water for the last time
	// Out is when food cooked ahead goes into the ice water, Again when it goes back into the bath.
	Out, Again time.Time
	// AgainAt is the setpoint it is warmed up at.
	AgainAt quantity.Temperature
	// Serve says how it may be eaten when it is served; Pasteurised is the strictest of that.
	Serve       cook.Serve
	Pasteurised bool
	// Best is until when it could be pulled, the window of every bath it has been in counted.
	Best time.Time
	Sear *cook.Sear
	// Waiting is the time between done and needed.
	Waiting time.Duration
}

// Schedule is a planned dinner. It holds plain values and can be stored.
type Schedule struct {
	Made    time.Time // when it was planned
	Serve   time.Time
	Dishes  []Dish
	Kit     Kit
	Courses []Course // one a dish, in the order of Dishes
	Steps   []Step   // in the order of their times; what has happened first
	Reasons []Reason // why it is not simply every food on its own
	Waiting time.Duration
	Changes int     // of bath temperatures
	Loss    float64 // texture, see loss
}

// ReasonID names why the plan is as it is; its words live in the locales.
type ReasonID string

// The reasons. The comment names the figures that are set.
const (
	// ReasonShared: cooked at Temperature instead of Asked, so as to share the water with With.
	ReasonShared ReasonID = "shared"
	// ReasonSooner: cooked at Temperature instead of Asked, so that its water is free sooner.
	ReasonSooner ReasonID = "sooner"
	// ReasonHotFirst: Dish is cooked before With, since water cools quicker than it heats and food keeps in it.
	ReasonHotFirst ReasonID = "hot-first"
	// ReasonKept: stays in the water as it is cooled to Temperature, for Span.
	ReasonKept ReasonID = "kept"
	// ReasonAhead: cooked ahead, chilled, and warmed up at Temperature.
	ReasonAhead ReasonID = "ahead"
	// ReasonHeld: stays in the water for Span past ready, within its window.
	ReasonHeld ReasonID = "held"
	// ReasonLowered: the water is dropped to Temperature so that it holds longer; Until is the new window.
	ReasonLowered ReasonID = "lowered"
	// ReasonPan: there is one pan, so it rests for Span longer than it needs.
	ReasonPan ReasonID = "pan"
	// ReasonUp: it was out of the water already and waits for Span.
	ReasonUp ReasonID = "up"
	// ReasonHeavy: a lot of cold food for this bath: it may drop to Temperature at first.
	ReasonHeavy ReasonID = "heavy"
	// ReasonCovered: the heater only gets there with a lid on.
	ReasonCovered ReasonID = "covered"
)

// Reason is a reason with its figures. Unused fields are zero; Dish and Bath are −1 when there is none.
type Reason struct {
	ID          ReasonID
	Dish, Bath  int
	With        []int // other dishes
	Temperature quantity.Temperature
	Asked       quantity.Temperature
	Span        time.Duration
	Until       time.Time
}

// Plan plans the menu. The error is an *[Impossible] when it cannot be done, with the nearest that can.
func (p *Planner) Plan(now, serve time.Time, dishes []Dish, kit Kit) (Schedule, error) {
	if err := check(now, serve, dishes, kit); err != nil {
		return Schedule{}, err
	}
	d := p.desk()
	q, err := d.query(now, serve, dishes, kit)
	if err != nil {
		return Schedule{}, err
	}
	best, ok := q.solve(onTime)
	if !ok {
		return Schedule{}, d.nearest(q)
	}
	return q.schedule(best), nil
}

func check(now, serve time.Time, dishes []Dish, kit Kit) error {
	switch {
	case len(dishes) == 0 || len(dishes) > MostDishes:
		return fmt.Errorf("%w: %d dishes", ErrKitchen, len(dishes))
	case len(kit.Baths) == 0 || len(kit.Baths) > MostBaths:
		return fmt.Errorf("%w: %d baths", ErrKitchen, len(kit.Baths))
	case kit.Pans < 0 || kit.Pans > 8:
		return fmt.Errorf("%w: %d pans", ErrKitchen, kit.Pans)
	case serve.Sub(now) > farthest || now.Sub(serve) > farthest:
		return fmt.Errorf("%w: serving at %v", ErrKitchen, serve)
	}
	return nil
}

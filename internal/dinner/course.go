package dinner

import (
	"errors"
	"math"
	"time"

	"bagwatch/internal/cook"
	"bagwatch/internal/food"
	"bagwatch/internal/heat"
	"bagwatch/internal/lethality"
	"bagwatch/internal/quantity"
)

// Safe holds: the coolest water in which food that is done may stay. Vegetables are ruled by hot holding
// (FDA Food Code 3-501.16(A)(1), 57 °C), eggs by the lowest process for egg white (56.7 °C, 9 CFR 590.570)
// on the grid, guests at risk by the lowest setpoint they are served from (house rule), all else by the
// first row of USDA FSIS 2021 Appendix A (54.4 °C), on the grid.
const (
	holdPlant  quantity.Temperature = 57
	holdEgg    quantity.Temperature = 57
	holdAtRisk quantity.Temperature = 60
	holdOther  quantity.Temperature = 54.5
)

// longestWarm is how long anything is kept warm in cooler water, minutes: house rule, after the four hours of
// the 2 hour/4 hour rule. Cooked ahead counts as much, however long the food lies cold: so it is a last resort,
// and no dish is cooked hotter only to spare another an hour in the ice.
const longestWarm = 240

// dullAfter is how long vegetables and eggs are kept warm at the most, minutes: common practice, no source.
const dullAfter = 120

// gridStep is what a bath can be set to, K.
const gridStep quantity.Temperature = 0.5

// Cooking ahead. Ice water is at 1 °C, its film that of an imperfectly held bag (as in package cook); a bag
// is cold at 5 °C in the middle, and must then meet FDA Food Code 3-501.14(A). Warmed up, its careful middle
// must be through the growth zone within reheatMost (FDA Food Code 3-403.11, from memory).
const (
	iceWater   quantity.Temperature = 1
	cold       quantity.Temperature = 5
	reheatMost                      = 2 * time.Hour
	bathMargin quantity.Temperature = 0.5 // the careful bath, as in package cook
)

// Careful properties of meat and fish, as in package cook: the low end of measured diffusivities
// (Dickerson 1969) with the conductivity that makes the slower piece.
const (
	carefulAlpha        heat.Diffusivity  = 1.20e-7
	carefulConductivity heat.Conductivity = 0.48
	likelyClose                           = 1 // K: the likely core has arrived, as in package cook
)

// aheadLoss is the texture that cooking ahead costs, in units of a whole window: house rule, so that a bag
// which may stay warm is never chilled instead. perKelvin is what a kelvin off the asked setpoint costs.
const (
	aheadLoss = 1.0
	perKelvin = 0.1
)

// plateTime is minutes from pulling a bag that is not seared to the plate: house rule.
const plateTime = 2

// dish is a menu entry with everything the search asks of it.
type dish struct {
	index  int
	asked  *cook.Plan
	mass   quantity.Mass
	floor  quantity.Temperature
	opts   []*option // by grid index; nil where it cannot be cooked
	values []*option // the same without the nils, rising
	pan    slot

	fixed    *fixed
	earliest int // no bag in before this minute
	reheated bool
	from     *option // reheated: how it was cooked
	keeps    map[keepKey]int
	reheats  []int // by grid index; 0 not yet known
	lengths  []float64
}

// option is a dish cooked at one setpoint.
type option struct {
	g     int
	s     quantity.Temperature // of the water: that of the plan, or less when it is only warmed up
	plan  *cook.Plan
	ready int // minutes in the water until it is ready, the safe end of a guess
	whole int // until it is ready and pasteurised, never when that is past its best
	off   int // minutes from the pull to serving
	loss  float64
	chill int // minutes in ice water until it is cold, 0 not yet known
	step  *heat.Series
}

// fixed is a bag that is in the water now.
type fixed struct {
	bath      int
	in, ready int     // minutes
	since     int     // from when the window is counted at the setpoint of now
	used      float64 // share of its window used up before that
	keep      int     // the minute until which it keeps where it is, never when only its window counts
	kept      bool    // in water cooler than it was cooked at
	fell      int     // kept: when the water began to fall
	opt       *option
}

// reachOf gives the setpoints a request may be cooked at: the one that was given, or the grid over the range
// of its doneness.
func reachOf(plan *cook.Plan) (low, high quantity.Temperature) {
	s := plan.Setpoint
	if plan.Request.HasSetpoint {
		return s, s
	}
	step, ok := plan.Food.Step(plan.Doneness)
	if !ok {
		return s, s
	}
	low, high = step.Min, step.Max
	if plan.Request.AtRisk {
		low = max(low, holdAtRisk)
	}
	return min(low, s), max(high, s)
}

// desk remembers what the shared model said, while one dinner is planned: looking for the nearest that can be
// done asks for the same dishes many times over.
type desk struct {
	model *cook.Model
	memo  map[cook.Request]answer
	tubs  []tub
}

type answer struct {
	plan *cook.Plan
	err  error
}

func (p *Planner) desk() *desk { return &desk{model: p.model, memo: make(map[cook.Request]answer)} }

// plan asks the shared model, once.
func (p *desk) plan(r cook.Request) (*cook.Plan, error) {
	a, ok := p.memo[r]
	if !ok {
		a.plan, a.err = p.model.Plan(r)
		p.memo[r] = a
	}
	return a.plan, a.err
}

// options plans a dish over its range, outwards from the setpoint it would have on its own. Beyond the first
// refusal in a direction nothing is tried: what a rule forbids at one setpoint, cooler water or a harder cook
// does not mend.
func (p *desk) options(d Dish) (asked *cook.Plan, plans []*cook.Plan, err error) {
	if asked, err = p.plan(d.Request); err != nil {
		return nil, nil, err
	}
	low, high := reachOf(asked)
	plans = []*cook.Plan{asked}
	r := d.Request
	r.HasSetpoint, r.Doneness = true, asked.Doneness
	for _, way := range [2]quantity.Temperature{-gridStep, gridStep} {
		r.Setpoint = gridStep * quantity.Temperature(math.Floor(float64(asked.Setpoint/gridStep)))
		if way < 0 && r.Setpoint < asked.Setpoint {
			r.Setpoint -= way
		}
		for r.Setpoint += way; low <= r.Setpoint && r.Setpoint <= high; r.Setpoint += way {
			plan, err := p.plan(r)
			var refusal *cook.Refusal
			if errors.As(err, &refusal) {
				break
			}
			if err != nil {
				return nil, nil, err
			}
			plans = append(plans, plan)
		}
	}
	return asked, plans, nil
}

// decided is the request of a plan with its setpoint said.
func decided(plan *cook.Plan) cook.Request {
	r := plan.Request
	if !r.HasSetpoint && r.Doneness == "" {
		r.Doneness = plan.Doneness
	}
	r.HasSetpoint, r.Setpoint = true, plan.Setpoint
	return r
}

// newOption turns a plan into minutes; nil when it cannot be served inside its limits.
func newOption(plan, asked *cook.Plan, pan slot) *option {
	safe := plan.ReadyLate
	if safe > plan.BestBefore {
		safe = plan.Ready // a window narrower than the guess: the likely time, pasteurised where it must be
	}
	o := &option{s: plan.Setpoint, plan: plan, ready: ceil(safe), whole: never, off: plateTime}
	if plan.Sear != nil {
		o.off = pan.before + ceil(plan.Sear.ChillMax)
	}
	if !plan.Pasteurised.Never {
		if whole := max(o.ready, ceil(plan.Pasteurised.After)); span(whole) <= plan.BestBefore {
			o.whole = whole
		}
	}
	if span(o.ready) > plan.BestBefore {
		return nil // a window shorter than a minute
	}
	if limit, limited := holdLimit(plan); limited && span(o.ready+o.off) > limit {
		return nil
	}
	o.loss = perKelvin * math.Abs(float64(plan.Setpoint-asked.Setpoint))
	return o
}

// holdLimit is the longest time from immersion to the plate in water below 54.4 °C.
func holdLimit(plan *cook.Plan) (time.Duration, bool) {
	if plan.Safety == food.Plant {
		return 0, false
	}
	limit, limited := lethality.HoldLimit(plan.Setpoint, plan.Safety == food.SafetyFish, plan.Request.AtRisk)
	return limit - plan.Spent, limited
}

// floorOf is the safe hold of a food.
func floorOf(plan *cook.Plan) quantity.Temperature {
	floor := holdOther
	switch {
	case plan.Safety == food.Plant:
		floor = holdPlant
	case plan.Food.Texture == food.TextureEgg || plan.Food.Texture == food.TextureCustard:
		floor = holdEgg
	}
	if plan.Request.AtRisk {
		floor = max(floor, holdAtRisk)
	}
	return floor
}

// massOf is the mass in the bag, the usual portion when it was not said.
func massOf(plan *cook.Plan) quantity.Mass {
	if plan.Mass > 0 {
		return plan.Mass
	}
	return plan.Food.Portion.Mass * quantity.Mass(max(1, plan.Pieces))
}

// colder is how many minutes food cooked at o stays in ice water until it is cold through, and never when it
// does not cool as fast as it must.
func (o *option) colder() int {
	if o.chill != 0 {
		return o.chill
	}
	o.chill = never
	s, err := heat.NewSeries(carefulPiece(o.plan, o.plan.Setpoint), iceWater, o.plan.Careful.Film)
	if err != nil {
		return o.chill
	}
	at, ok := s.Reach(cold)
	if !ok || !lethality.FoodCodeCooling().Met(s.Core) {
		return o.chill
	}
	o.chill = ceil(at)
	return o.chill
}

// carefulPiece is the piece as the careful estimate sees it, thawed, starting at a temperature.
func carefulPiece(plan *cook.Plan, start quantity.Temperature) heat.Piece {
	m := plan.Food.Material.Material
	m.Diffusivity = min(carefulAlpha, m.Diffusivity)
	m.Conductivity = max(carefulConductivity, m.Conductivity)
	return heat.Piece{Shape: plan.Careful.Shape, Material: m, Start: start}
}

// reheat is how many minutes food from the ice water takes to warm up at a grid value, and never where that
// is not allowed: hotter than it was cooked, below its safe hold, or too long in the growth zone.
func (q *query) reheat(d *dish, o *option, g int) int {
	to := q.grid[g]
	if to > o.plan.Setpoint || to < d.floor {
		return never
	}
	if d.reheats[g] == 0 {
		d.reheats[g] = reheatTime(o.plan, to)
	}
	return d.reheats[g]
}

func reheatTime(plan *cook.Plan, to quantity.Temperature) int {
	careful, err := heat.NewSeries(carefulPiece(plan, cold), to-bathMargin, plan.Careful.Film)
	if err != nil {
		return never
	}
	through, ok := careful.Reach(min(lethality.GrowthHigh-bathMargin, to-bathMargin-0.5))
	if !ok || through > reheatMost {
		return never
	}
	shape := plan.Likely.Shape
	scale := plan.LateThickness() / plan.Thickness
	shape.X, shape.Y, shape.Z = shape.X*scale, shape.Y*scale, shape.Z*scale
	likely, err := heat.NewSeries(heat.Piece{Shape: shape, Material: plan.Food.Material.Material, Start: cold}, to, plan.Likely.Film)
	if err != nil {
		return never
	}
	warm, ok := likely.Reach(to - likelyClose)
	if !ok {
		return never
	}
	return ceil(max(warm, through))
}

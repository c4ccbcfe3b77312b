package cook

import (
	"fmt"
	"math"
	"time"

	"bagwatch/internal/food"
	"bagwatch/internal/heat"
	"bagwatch/internal/lethality"
	"bagwatch/internal/quantity"
)

// The ice bath. Films: ice water moved by hand 100 W/(m² K), slush that nobody touches 60, house rules
// after a flat plate in 1 °C water (138 at 0.5 cm/s, computed); the careful bath is a little warmer, for
// water among ice is not all at 0 °C.
const (
	movedIceFilm heat.Film            = 100
	stillIceFilm heat.Film            = 60
	iceWater     quantity.Temperature = 1
	slowIceWater quantity.Temperature = 2
	usualTap     quantity.Temperature = 20
	waterPerFood                      = 2.0 // litres of tap water a kilogram of food: house rule
	iceReserve                        = 1.5 // the balance leaves out the room, see heat.Chilling
)

// The marks of chilling at the core. Source: FDA Food Code 3-501.14(A).
const (
	chillMiddle quantity.Temperature = 21
	chillEnd    quantity.Temperature = 5
)

// flattest is the thinnest a bag is laid out. House rule.
const flattest quantity.Length = 0.008

// ChillSetup is the ice bath; zero fields are not known.
type ChillSetup struct {
	Water quantity.Volume      // tap water in it; 0 means two litres a kilogram of food
	Tap   quantity.Temperature // 0 means 20 °C
}

// Cooling is one published limit and whether it holds.
type Cooling struct {
	Rule lethality.CoolingRule
	Held bool
}

// Chill is how a piece is chilled from where it is now, and how long it keeps then. Spans count from when
// it goes into the ice water.
type Chill struct {
	Verdict *Verdict // of what happened before
	From    quantity.Temperature

	Middle, End             Moment // likely: core at 21 and 5 °C, in ice water moved by hand
	MiddleCareful, EndLater Moment // careful: in slush that stands
	Coolings                []Cooling
	Held                    bool // every limit holds on the careful course
	// Thin is how thin it must be for the limits to hold, split or flattened; 0 when they do hold or when
	// no thickness helps.
	Thin quantity.Length
	// Late says that time out of the water has used up the limits, whatever the thickness.
	Late bool

	Mass        quantity.Mass
	MassGuessed bool
	Water       quantity.Volume
	Ice         quantity.Mass // what melts and half as much again

	// Keep is how long it keeps at home; Days is 0 for food that is eaten the same day.
	Keep     lethality.Keep
	Keepable bool
	// KeepFor counts from now.
	KeepFor time.Duration
	// FreezeFor is how long it keeps frozen for quality; 0 when it does not keep.
	FreezeFor time.Duration
}

// freezeFor is how long frozen leftovers keep their quality. Source: USDA FSIS leftovers advice, 3 to 4
// months; the lower end.
const freezeFor = 90 * 24 * time.Hour

// Chill works out an ice-water bath for a piece from where it is now. Likely: its own shape and material;
// careful: the slow shape and material, as hot throughout as the water was, in slush that stands. It fails
// as [Model.Verdict] does.
func (m *Model) Chill(h Happened, s ChillSetup) (*Chill, error) {
	if !(s.Water >= 0 && s.Water <= mostLitres) || !(s.Tap >= 0 && s.Tap <= warmestRoom) {
		return nil, fmt.Errorf("%w: ice bath of %g L at %g °C", ErrHappened, float64(s.Water), float64(s.Tap))
	}
	v, err := m.Verdict(h)
	if err != nil {
		return nil, err
	}
	p := v.Plan
	c := &Chill{Verdict: v}
	waited := time.Duration(0)
	if h.Pulled {
		waited = h.Elapsed - h.PulledAt
	}
	c.From = max(p.Setpoint, p.raised, p.StartAt) // no point of it can be hotter
	for _, e := range h.Diary.Events {
		if e.Kind == WaterMeasured {
			c.From = max(c.From, e.Temperature)
		}
	}
	if err := c.likely(h, p); err != nil {
		return nil, err
	}
	careful, err := c.careful(p, p.Careful.Shape)
	if err != nil {
		return nil, err
	}
	c.MiddleCareful, c.EndLater = reachDown(careful, chillMiddle), reachDown(careful, chillEnd)
	c.Coolings, c.Held = coolings(careful, waited)
	if !c.Held {
		if err := c.thin(p, waited); err != nil {
			return nil, err
		}
	}
	if err := c.ice(p, s); err != nil {
		return nil, err
	}
	c.keep(v)
	return c, nil
}

// likely follows the bath as it was and the ice water since.
func (c *Chill) likely(h Happened, p *Plan) error {
	w, err := h.Diary.water(p)
	if err != nil {
		return err
	}
	at := min(h.Elapsed, h.out())
	history := heat.Constant(p.Likely.Bath, p.Likely.Film)
	if w != nil {
		history = w.likelyPool.history(0, w.likelyFilm, w.stillFilm)
	}
	s, err := solve(p.Likely.Shape, p.quick, p.StartAt, cut(history, at, heat.Hold(at, iceWater, movedIceFilm)))
	if err != nil {
		return err
	}
	c.Middle, c.End = lastAbove(s, at, chillMiddle), lastAbove(s, at, chillEnd)
	return nil
}

// cut is a history up to a time, and then another steady bath.
func cut(h heat.History, at time.Duration, then heat.Segment) heat.History {
	var out heat.History
	for i, s := range h {
		if s.From >= at {
			break
		}
		if end := at; s.Until != s.Bath && i+1 < len(h) && h[i+1].From > end {
			s.Until, _ = h.Bath(end)
		}
		out = append(out, s)
	}
	return append(out, then)
}

// careful is the slowest course of the core from now on.
func (c *Chill) careful(p *Plan, shape heat.Shape) (Curve, error) {
	return follow(Geometry{Shape: shape, Film: stillIceFilm, Bath: slowIceWater}, p.slow, c.From)
}

// reachDown is when the core is down at a mark.
func reachDown(c Curve, target quantity.Temperature) Moment {
	if c.Core(0) <= target {
		return Moment{}
	}
	return reach(c, target)
}

// lastAbove is when the core is down at a mark for good, counted from a time on. A piece that was still
// warming up gets warmer at the core for a while in ice water.
func lastAbove(s *heat.Solution, from time.Duration, target quantity.Temperature) Moment {
	last := Moment{}
	for _, at := range s.Times() {
		if at >= from && s.Core(at) > target {
			last = Moment{After: at - from + time.Second}
		}
	}
	return last
}

// coolings applies the published limits to a course, whose clock started so long before.
func coolings(c Curve, waited time.Duration) ([]Cooling, bool) {
	all, held := []Cooling(nil), true
	for _, rule := range []lethality.CoolingRule{lethality.FoodCodeCooling(), lethality.AppendixBCooling()} {
		hottest := c.Core
		if waited > 0 { // nobody knows when it fell below the first mark: it counts from when it came out
			from := rule.Stages[0].From
			hottest = func(t time.Duration) quantity.Temperature { return min(from, c.Core(max(0, t-waited))) }
		}
		met := rule.Met(hottest)
		all, held = append(all, Cooling{rule, met}), held && met
	}
	return all, held
}

// thin looks for the thickness at which the limits hold, to the millimetre below.
func (c *Chill) thin(p *Plan, waited time.Duration) error {
	ok := func(x quantity.Length) (bool, error) {
		curve, err := c.careful(p, heat.NewSlab(x))
		if err != nil {
			return false, err
		}
		_, held := coolings(curve, waited)
		return held, nil
	}
	low, high := flattest, max(flattest, p.Careful.Shape.X)
	held, err := ok(low)
	if err != nil {
		return err
	}
	if !held {
		c.Late = true
		return nil
	}
	for high-low > quantity.Millimetres(0.25) {
		middle := (low + high) / 2
		held, err := ok(middle)
		if err != nil {
			return err
		}
		if held {
			low = middle
		} else {
			high = middle
		}
	}
	c.Thin = quantity.Millimetres(math.Floor(low.Millimetres()))
	return nil
}

// ice weighs the ice.
func (c *Chill) ice(p *Plan, s ChillSetup) error {
	c.Mass = p.Mass
	if c.Mass <= 0 {
		c.Mass, c.MassGuessed = portionMass(p), true
	}
	c.Water = s.Water
	if c.Water == 0 {
		c.Water = quantity.Volume(waterPerFood * float64(c.Mass))
	}
	tap := s.Tap
	if tap == 0 {
		tap = usualTap
	}
	ice, err := heat.Chilling{Food: c.Mass, From: max(c.From, chillEnd), To: slowIceWater, Water: c.Water, Tap: max(tap, iceWater), Bath: iceWater}.Ice()
	if err != nil {
		return fmt.Errorf("%w: %w", errModel, err)
	}
	c.Ice = iceReserve * ice
	return nil
}

// portionMass is what pieces of this thickness weigh when the usual portion is of the usual thickness.
func portionMass(p *Plan) quantity.Mass {
	usual := p.Food.Portion
	ratio := float64(p.Thickness / usual.Thickness)
	switch {
	case p.Food.Proportions.Face > 0: // a slice of the same face
	case p.Food.Proportions.FixedLength > 0:
		ratio *= ratio
	default:
		ratio = ratio * ratio * ratio
	}
	return min(mostMass, quantity.Mass(float64(p.Pieces)*ratio)*usual.Mass)
}

// keep says how long it keeps: only food that was pasteurised, that has not been warm since for two hours,
// and that can be chilled within the limits.
func (c *Chill) keep(v *Verdict) {
	p := v.Plan
	in := min(v.Now, v.Happened.out())
	good := v.Answer == Yes && v.Pasteurised.By(in) && lethality.Sag(v.Sagged) == lethality.CarryOn &&
		c.Held && !p.Request.Cured
	c.Keep = lethality.Keeping(good, p.Safety == food.SafetyFish)
	c.Keepable = good
	if good {
		c.KeepFor = time.Duration(c.Keep.Days) * 24 * time.Hour
		c.FreezeFor = freezeFor
	}
}

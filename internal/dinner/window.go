package dinner

import (
	"math"
	"time"

	"bagwatch/internal/cook"
	"bagwatch/internal/food"
	"bagwatch/internal/heat"
	"bagwatch/internal/quantity"
	"bagwatch/internal/texture"
)

// length is the window in minutes that the food has at a setpoint once it is done: what is left of its own
// from the safe end of a guess on, longer in cooler water by as much as the texture model says. Tough cuts,
// whose window goes with a cook that cooler water would never finish, and fish, whose proteases are quicker
// there, keep the window of the setpoint they were cooked at.
func (q *query) length(d *dish, o *option, s quantity.Temperature) float64 {
	left := o.plan.BestBefore.Minutes() - float64(d.readyOf(o))
	class := texture.Class(o.plan.Food.Texture)
	switch class {
	case texture.ClassTough, texture.ClassPlant, texture.ClassEgg, texture.ClassCustard, texture.ClassFish:
		return left
	}
	if s >= o.plan.Setpoint {
		return left
	}
	g, known := q.gridIndex(s)
	if !known {
		return left
	}
	if d.lengths[g] == 0 {
		d.lengths[g] = 1
		cooler, err := texture.Of(texture.Input{Class: class, Setpoint: s, HasPasteurised: true})
		here, err2 := texture.Of(texture.Input{Class: class, Setpoint: o.plan.Setpoint, HasPasteurised: true})
		if err == nil && err2 == nil {
			d.lengths[g] = max(1, float64(cooler.BestBefore-cooler.Ready)/float64(here.BestBefore-here.Ready))
		}
	}
	return left * d.lengths[g]
}

// readyOf is how many minutes the dish takes to be ready at its own setpoint, for what is only warmed up too.
func (d *dish) readyOf(o *option) int {
	if d.from != nil {
		return d.from.ready
	}
	return o.ready
}

// followed tells whether the texture of a food is an integral over its curve, which cooler water slows by
// orders of magnitude, and not a closed window.
func followed(o *option) bool {
	switch o.plan.Food.Texture {
	case food.TexturePlant:
		return true
	case food.TextureEgg:
		return o.plan.Setpoint < 70 // from there the white rules, by a closed window
	}
	return false
}

// dropped is the likely core of food whose bath falls at a time: the constant bath's curve less the piece's
// answer to a step, which is exact for a linear body. The whole fall is put at its end, so it errs hot.
type dropped struct {
	before cook.Curve
	step   *heat.Series // from 0 to 1 °C
	at     time.Duration
	by     quantity.Temperature
	dull   time.Duration // nobody keeps it beyond, so from here on it is as hot as before and the integral ends soon
}

// Core is the temperature of the middle.
func (c dropped) Core(t time.Duration) quantity.Temperature {
	core := c.before.Core(t)
	if t > c.at && t <= c.dull {
		core -= c.by * c.step.Core(t-c.at)
	}
	return core
}

type keepKey struct {
	from          int
	to            quantity.Temperature
	after, change int
}

// keepStep is what the water that a followed food is kept in is rounded up to, K: warmer, so it errs early,
// and the curve is followed a fifth as often.
const keepStep quantity.Temperature = 2.5

// keep is how many minutes after the water begins to fall a followed food keeps, when that begins so many
// minutes after it went in.
func (q *query) keep(d *dish, o *option, to, after, change int) int {
	water := q.grid[to]
	if up := keepStep * quantity.Temperature(math.Ceil(float64(water/keepStep))); up < o.plan.Setpoint {
		water = up
	}
	key := keepKey{o.g, water, after, change}
	k, ok := d.keeps[key]
	if !ok {
		k = q.keepUncached(o, water, after, change)
		d.keeps[key] = k
	}
	return k
}

func (q *query) keepUncached(o *option, to quantity.Temperature, after, change int) int {
	plan := o.plan
	if o.step == nil {
		step, err := heat.NewSeries(heat.Piece{Shape: plan.Likely.Shape, Material: plan.Food.Material.Material}, 1, plan.Likely.Film)
		if err != nil {
			return 0
		}
		o.step = &step
	}
	fall := span(after + change)
	curve := dropped{plan.LikelyCurve, o.step, fall, plan.Setpoint - to, fall + span(dullAfter)}
	softness := texture.Softened
	if s, ok := plan.Food.Step(plan.Doneness); ok && s.Softened > 0 {
		softness = s.Softened
	}
	w, err := texture.Of(texture.Input{
		Class: texture.Class(plan.Food.Texture), Setpoint: plan.Setpoint, CoreReached: plan.CoreReached, Curve: curve,
		SofteningFactor: plan.Food.Softening, Softness: softness,
	})
	if err != nil {
		return int((plan.BestBefore - span(after)) / time.Minute)
	}
	return min(dullAfter, int(w.BestBefore/time.Minute)-after)
}

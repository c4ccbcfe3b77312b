package cook

import (
	"math"
	"time"

	"bagwatch/internal/food"
	"bagwatch/internal/lethality"
	"bagwatch/internal/quantity"
)

// growth counts the time in which bacteria can grow: at the surface, which cools first when the water does,
// and at the core, which warms last. Time is counted from when the piece left the cold, and a spell below
// 10 °C afterwards counts like a warm one.
type growth struct {
	plan   *Plan
	curve  Curve
	steady bool                 // the bath never changed
	line   quantity.Temperature // from here up nothing grows, on the careful history
	start  time.Duration        // before immersion
	delay  time.Duration        // the part of it that was said
	comeUp time.Duration        // what the surface needs below the line in a steady bath
	left   time.Duration        // when the core passes growthStarts
	pulled time.Duration        // when it left the water; longestSpan if it did not
}

// comeUpWatch is how long a steady bath is watched for the come-up of the surface: what takes longer breaks
// the six hours by far.
const comeUpWatch = 24 * time.Hour

const longestSpan = time.Duration(math.MaxInt64)

// cool reports whether the water may be below 54.4 °C by more than the half kelvin that every bath may be off.
func (p *Plan) cool() bool {
	_, limited := lethality.HoldLimit(p.Careful.Bath+quantity.Temperature(bathMargin), false, false)
	return limited
}

// newGrowth prepares the count. A setpoint below 54.4 °C has no time that does not count.
func newGrowth(p *Plan, w *water, curve Curve, delay time.Duration) (growth, error) {
	g := growth{
		plan: p, curve: curve, steady: w == nil, line: killFloor, delay: delay,
		start: max(delay, p.Spent), pulled: longestSpan,
	}
	if p.StartAt < growthStarts {
		source := curve
		if !g.steady {
			source = p.LikelyCurve // the earlier
		}
		if left := reach(source, growthStarts); !left.Never {
			g.left = left.After
		}
	}
	if p.cool() {
		return g, nil
	}
	g.line = min(killFloor, p.Careful.Bath-carefulClose)
	if !g.steady {
		plain, err := follow(p.Careful, p.slow, p.StartAt)
		if err != nil {
			return g, err
		}
		g.comeUp = g.below(plain.Surface, comeUpWatch)
	}
	return g, nil
}

// below is how long a node lies below the line up to a time.
func (g growth) below(node func(time.Duration) quantity.Temperature, until time.Duration) time.Duration {
	return lethality.TimeBetween(node, until, quantity.Temperature(math.Inf(-1)), g.line)
}

// sag is how long the food has been below the line by t, other than while it came up as planned; in water
// below 54.4 °C that is all the time since it left the cold.
func (g growth) sag(t time.Duration) time.Duration {
	in := min(t, g.pulled)
	out := t - in
	switch {
	case g.plan.cool() && g.steady:
		return g.start + in + out
	case g.plan.cool():
		return g.start + g.below(g.curve.Surface, in) + out
	case g.steady:
		return out
	}
	return max(0, g.below(g.curve.Surface, in)-g.comeUp) + out
}

// heating is how long surface and core have been below the line by t while in the water.
func (g growth) heating(t time.Duration) (surface, core time.Duration) {
	in := min(t, g.pulled)
	return g.start + g.below(g.curve.Surface, in), max(0, g.start+g.below(g.curve.Core, in)-g.left)
}

// Sources of the growth limits.
const (
	sourceComeUp  = "USDA FSIS 2021, Revised Appendix A, pp. 23–24"
	sourceClock   = "FDA Food Code 3-501.19(B)"
	sourceFish    = "FDA Fish and Fishery Products Hazards and Controls Guidance, Appendix 4"
	sourceAtRisk  = "house rule, half of FDA Food Code 3-501.19(B)"
	sourceSag     = "2 hour/4 hour rule, Food Standards Code practice"
	sourceReheat  = "FDA Food Code 3-403.10 and 3-403.11"
	sourceKeeping = "USDA FSIS leftovers advice"
)

// rawLimit is the longest time below the line for food that is not pasteurised.
func (p *Plan) rawLimit() (time.Duration, string) {
	switch {
	case p.Safety == food.SafetyFish:
		return lethality.ShortUnpasteurisedHold, sourceFish
	case p.Request.AtRisk:
		return lethality.ShortUnpasteurisedHold, sourceAtRisk
	}
	return lethality.UnpasteurisedHold, sourceClock
}

// cookedLimit is the longest time below the line at all. Histamine that forms in two hours stays.
func (p *Plan) cookedLimit() (time.Duration, string) {
	if p.Food.Histamine {
		return lethality.ShortUnpasteurisedHold, sourceFish
	}
	return lethality.SagDiscard, sourceSag
}

// problem is what makes food unsafe beyond repair by t.
type problem struct {
	reason ReasonID
	rule   RuleID
	note   Note
}

// problem finds what is wrong at t, given when it was pasteurised. Once wrong, it stays wrong.
func (g growth) problem(t time.Duration, pasteurised Moment) (problem, bool) {
	raw, rawSource := g.plan.rawLimit()
	if g.delay >= raw {
		return problem{ReasonDelay, RefuseWarmHold, Note{Span: g.delay, Allowed: raw, Temperature: lethality.GrowthHigh, Source: rawSource}}, true
	}
	unpasteurised := t
	if pasteurised.By(t) {
		unpasteurised = pasteurised.After
	}
	if spent := g.sag(unpasteurised); spent > 0 && spent >= raw {
		reason := ReasonSag
		if g.plan.cool() {
			reason = ReasonClock
		}
		return problem{reason, RefuseWarmHold, Note{Span: spent, Allowed: raw, Temperature: lethality.GrowthHigh, Source: rawSource}}, true
	}
	cooked, cookedSource := g.plan.cookedLimit()
	if spent := g.sag(t) - g.rawStart(); spent >= cooked {
		return problem{ReasonSagCooked, RefuseSagged, Note{Span: spent, Allowed: cooked, Temperature: lethality.GrowthHigh, Source: cookedSource}}, true
	}
	if g.plan.cool() || g.plan.Safety == food.Plant {
		return problem{}, false
	}
	spent, core := g.heating(t)
	if g.plan.Safety != food.IntactRedMeat {
		spent = max(spent, core)
	}
	limit, source := lethality.ComeUpLimit, sourceComeUp
	if g.plan.Safety == food.SafetyFish {
		limit, source = lethality.FishExposureLong, sourceFish
	}
	if spent > limit {
		return problem{ReasonComeUp, RefuseComeUp, Note{Span: spent, Allowed: limit, Temperature: lethality.GrowthHigh, Source: source}}, true
	}
	return problem{}, false
}

// rawStart is the part of a sag that was spent before immersion.
func (g growth) rawStart() time.Duration {
	if g.plan.cool() {
		return g.start
	}
	return 0
}

// firstLook is how far a problem is first looked for; then twice as far, and so on.
const firstLook = 4 * time.Hour

// unsafeFrom is the first time by the horizon from which there is a problem, to the second and early.
func (g growth) unsafeFrom(horizon time.Duration, pasteurised Moment) (time.Duration, problem, bool) {
	low, high := time.Duration(0), min(horizon, firstLook)
	last, found := g.problem(high, pasteurised)
	for !found && high < horizon {
		low, high = high, min(horizon, 2*high)
		last, found = g.problem(high, pasteurised)
	}
	if !found {
		return 0, problem{}, false
	}
	for high-low > time.Second {
		middle := (low + high) / 2
		if pr, wrong := g.problem(middle, pasteurised); wrong {
			high, last = middle, pr
		} else {
			low = middle
		}
	}
	return low, last, true
}

package cook

import (
	"time"

	"bagwatch/internal/food"
	"bagwatch/internal/lethality"
	"bagwatch/internal/quantity"
)

// Stored is a chilled bag that is to be warmed up again.
type Stored struct {
	Request Request // as it was cooked; its setpoint is the old one
	// Setpoint is the water to reheat in; 0 means the old setpoint.
	Setpoint quantity.Temperature
	// Kept is how long ago it was chilled.
	Kept   time.Duration
	Frozen bool // kept frozen; it goes in as it is
	// Pasteurised says that it was pasteurised and chilled within the limits, so that it keeps.
	Pasteurised bool
}

// The rules of reheating.
const (
	RefuseStale      RuleID = "stale"       // kept for longer than it keeps
	RefuseUnkept     RuleID = "unkept"      // never pasteurised: it was not for keeping
	RefuseHotter     RuleID = "hotter"      // warmer than it was cooked in: it would cook on
	RefuseReheatRisk RuleID = "reheat-risk" // leftovers for higher-risk guests go to 74 °C
)

// Reheat is how a chilled bag is brought to serving temperature. Spans count from immersion.
type Reheat struct {
	Stored   Stored
	Plan     *Plan // the geometry and both courses; its window is not set
	Setpoint quantity.Temperature
	Core     quantity.Temperature // what the core is served at
	Ready    time.Duration        // likely: core within 1 K of the water; careful, and at 74 °C, for higher-risk guests
	Best     time.Duration        // for quality
	Until    Moment               // eaten by then, for safety; Never when the water is hot enough to hold it
	Rule     ReheatRule
	Source   string
	Keep     lethality.Keep
}

// ReheatRule names the rule that a reheating rests on.
type ReheatRule string

// The rules.
const (
	// ReheatAny: food that was fully cooked, cooled and kept may be served at any temperature at once.
	ReheatAny ReheatRule = "any-temperature"
	// ReheatLeftovers: leftovers for higher-risk guests go to 73.9 °C.
	ReheatLeftovers ReheatRule = "leftovers"
)

// Windows of reheating. House rules: the first cook has used up most of the window.
const (
	reheatBest     = time.Hour
	reheatBestFish = 20 * time.Minute
)

// Reheat plans the warming of a chilled bag at its old setpoint or less. The error is a *Refusal when a
// rule forbids it.
func (m *Model) Reheat(s Stored) (*Reheat, error) {
	r := s.Request
	keep := lethality.Keeping(s.Pasteurised, m.fish(r))
	switch {
	case !s.Pasteurised:
		return nil, refuse(RefuseUnkept, Note{Ref: string(r.Food), Source: keep.Source})
	case !s.Frozen && s.Kept > time.Duration(keep.Days)*24*time.Hour:
		return nil, refuse(RefuseStale, Note{Span: s.Kept, Allowed: time.Duration(keep.Days) * 24 * time.Hour, Count: keep.Days, Temperature: keep.Below, Source: keep.Source})
	}
	cooked, err := m.course(r, Diary{}, 0)
	if err != nil {
		return nil, err
	}
	old := cooked.plan.Setpoint
	set := s.Setpoint
	if set == 0 {
		set = old
	}
	hottest := old
	if r.AtRisk { // safety comes before texture
		hottest = max(old, atRiskReheat)
		if s.Setpoint == 0 {
			set = hottest
		}
		if set < atRiskReheat {
			return nil, refuse(RefuseReheatRisk, Note{Temperature: atRiskReheat, Source: "USDA FSIS / FoodSafety.gov 2019 chart, leftovers"})
		}
	}
	if set > hottest {
		return nil, refuse(RefuseHotter, Note{Temperature: hottest})
	}
	r.HasSetpoint, r.Setpoint, r.Span, r.Doneness = true, set, 0, ""
	r.Start = StartFridge
	if s.Frozen {
		r.Start = StartFrozen
	}
	c, err := m.course(r, Diary{}, 0)
	if err != nil {
		return nil, err
	}
	if c.plan.CoreReached >= Horizon {
		return nil, refuse(RefuseNeverReaches, Note{Span: Horizon})
	}
	out := &Reheat{
		Stored: s, Plan: c.plan, Setpoint: set, Core: set - likelyClose, Keep: keep,
		Ready: c.plan.CoreReached, Rule: ReheatAny, Source: sourceReheat, Until: Moment{Never: true},
	}
	if c.plan.Guessed {
		out.Ready = max(out.Ready, c.plan.lateCore.After)
	}
	if r.AtRisk {
		hot := reach(c.curve, lethality.LeftoversReheat)
		if hot.Never {
			return nil, refuse(RefuseReheatRisk, Note{Temperature: atRiskReheat, Source: "USDA FSIS / FoodSafety.gov 2019 chart, leftovers"})
		}
		out.Rule, out.Source = ReheatLeftovers, "USDA FSIS / FoodSafety.gov 2019 chart, leftovers"
		out.Ready, out.Core = max(out.Ready, hot.After), lethality.LeftoversReheat
	}
	out.Best = out.Ready + reheatBest
	if c.plan.Safety == food.SafetyFish {
		out.Best = out.Ready + reheatBestFish
	}
	// Time below 54.4 °C counts as for any cooked food that is warm: four hours of it at the most.
	if from, _, found := c.growth.reheated(); found {
		out.Until = Moment{After: from}
		if out.Ready >= from {
			return nil, refuse(RefuseSagged, Note{Span: out.Ready, Allowed: lethality.SagDiscard, Temperature: lethality.GrowthHigh, Source: sourceSag})
		}
		out.Best = min(out.Best, from)
	}
	return out, nil
}

// atRiskReheat is the water that brings a core to 73.9 °C: margin and closeness on top.
const atRiskReheat quantity.Temperature = 75

// fish reports whether a request is for fish.
func (m *Model) fish(r Request) bool {
	f, ok := m.foods.Food(r.Food)
	return ok && f.Safety == food.SafetyFish
}

// reheated is when cooked food has been below the line for as long as it may: in water below 54.4 °C
// from immersion, in hotter water only if the core takes that long.
func (g growth) reheated() (time.Duration, time.Duration, bool) {
	limit, _ := g.plan.cookedLimit()
	if g.plan.cool() {
		return limit, limit, true
	}
	if _, core := g.heating(Horizon); core-g.start >= limit {
		return limit, limit, true
	}
	return 0, limit, false
}

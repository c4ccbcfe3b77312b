package cook

import (
	"time"

	"bagwatch/internal/food"
	"bagwatch/internal/lethality"
	"bagwatch/internal/quantity"
	"bagwatch/internal/texture"
)

// atRiskSetpoint is the lowest setpoint for at-risk guests. House rule: with six decimal reductions of
// Listeria on top; 60 °C is also where Anisakis dies within a minute (EFSA 2010).
const atRiskSetpoint quantity.Temperature = 60

// eggSet is the lowest setpoint at which white and yolk set within the usual time.
// Source: white half-way out (Di Lorenzo et al. 2025) after 50 min at 71 °C, computed.
const eggSet quantity.Temperature = 71

// atRiskFloor is the lowest setpoint that serves at-risk guests with f.
func atRiskFloor(f food.Food) quantity.Temperature {
	if f.Texture == food.TextureEgg {
		return eggSet
	}
	return atRiskSetpoint
}

// servedBefore reports whether the food may be eaten before it is pasteurised: only what the catalogue
// allows, and only while it is intact.
func (p *Plan) servedBefore() bool {
	return p.Food.ServeBeforePasteurised && p.Safety == p.Food.Safety && !p.Request.NonIntact
}

// required is the moment that ready must wait for, and whether there is one. Eggs wait for the
// Salmonella rule of the shell egg; the Listeria rule is what their word "pasteurised" adds to it.
func (p *Plan) required() (Moment, bool) {
	switch {
	case p.Safety == food.Plant:
		return Moment{}, false
	case p.Request.AtRisk || p.Request.Pasteurised:
		return p.Pasteurised, true
	case p.Food.Texture == food.TextureEgg:
		return p.Kills[0].Reached, true
	case p.servedBefore() && (p.Food.Texture != food.TexturePork || p.Pasteurised.Never):
		return Moment{}, false // veal waits like pork where it can be pasteurised at all
	}
	return p.Pasteurised, true
}

// window decides when it is ready and how long that lasts.
func (p *Plan) window() error {
	if p.Request.AtRisk && p.Safety != food.Plant {
		switch {
		case p.Food.Texture == food.TextureEgg && p.Setpoint < eggSet:
			return refuse(RefuseAtRiskEgg, Note{Temperature: eggSet})
		case p.Setpoint < atRiskSetpoint:
			return refuse(RefuseAtRiskCool, Note{Temperature: atRiskSetpoint})
		}
	}
	need, needed := p.required()
	if needed && need.Never {
		return p.cannot()
	}
	w, err := p.texture(p.CoreReached, p.LikelyCurve, need, needed)
	if err != nil {
		return err
	}
	if !needed && p.Safety != food.Plant && w.Ready > lethality.UnpasteurisedHold {
		// Warm for over four hours: it is then served pasteurised or not at all.
		need, needed = p.Pasteurised, true
		if need.Never {
			return p.cannot()
		}
		if w, err = p.texture(p.CoreReached, p.LikelyCurve, need, needed); err != nil {
			return err
		}
	}
	p.Ready, p.LastCall, p.BestBefore, p.Limit = w.Ready, w.LastCall, w.BestBefore, w.Limit
	p.ReadyLate, p.drier = w.Ready, w.Drier
	if p.Guessed {
		late, err := p.texture(p.lateCore.After, p.lateCurve, need, needed)
		if err != nil {
			return err
		}
		p.ReadyLate = max(p.Ready, late.Ready)
	}
	for i, k := range p.Kills {
		p.Kills[i].LogAtReady = k.Rule.Log(p.CarefulCurve, p.Ready)
	}
	p.lateCurve = nil
	return nil
}

// cannot says why the food cannot be pasteurised at this setpoint.
func (p *Plan) cannot() *Refusal {
	floor := lethality.ClaimFloor(lethality.Class(p.Safety))
	switch {
	case p.Request.Cured:
		return refuse(RefuseCured, Note{Ref: string(p.Food.ID)})
	case p.Setpoint < floor:
		return refuse(RefuseNoFloor, Note{Temperature: floor, Ref: string(p.Food.ID)})
	case p.Request.AtRisk:
		return refuse(RefuseAtRiskShort, Note{})
	}
	return refuse(RefuseUnpasteurised, Note{Temperature: floor, Ref: string(p.Food.ID)})
}

// texture asks for the window, given when the core arrives.
func (p *Plan) texture(core time.Duration, curve Curve, need Moment, needed bool) (texture.Window, error) {
	var white texture.Curve
	if s, ok := curve.(steady); ok && p.Food.Texture == food.TextureEgg {
		white = texture.WhiteOf(*s.Series)
	}
	class := texture.Class(p.Food.Texture)
	if class == texture.ClassPork && !needed {
		class = texture.ClassTender
	}
	w, err := texture.Of(texture.Input{
		Class: class, Setpoint: p.Setpoint,
		CoreReached: core, Curve: curve, White: white,
		Pasteurised: need.After, HasPasteurised: needed,
		T60: p.Food.T60, SofteningFactor: p.Food.Softening, Softness: p.softened,
	})
	if err != nil {
		return w, p.textureRefusal(err)
	}
	if w.Ready > Horizon {
		return w, refuse(RefuseNeverReaches, Note{Span: Horizon})
	}
	return w, nil
}

// killFloor is the core temperature from which the careful history counts as past the growth zone:
// 54.4 °C less the bath's own margin.
const killFloor = lethality.GrowthHigh - quantity.Temperature(bathMargin)

// judge applies the rules that can still forbid a computed plan.
func (p *Plan) judge() *Refusal {
	if p.Safety == food.Plant {
		return nil
	}
	if limit, limited := lethality.HoldLimit(p.Careful.Bath+quantity.Temperature(bathMargin), p.Safety == food.SafetyFish, p.Request.AtRisk); limited {
		return p.judgeCool(max(0, limit-p.Spent))
	}
	p.ComeUp = reach(p.CarefulCurve, min(killFloor, p.Careful.Bath-carefulClose))
	if !p.ComeUp.Never {
		if left := reach(p.CarefulCurve, lethality.GrowthLow); p.StartAt < lethality.GrowthLow && !left.Never {
			p.ComeUp.After -= left.After
		}
		p.ComeUp.After += p.Spent
	}
	exposed := p.ComeUp.After
	if p.ComeUp.Never {
		exposed = Horizon
	}
	if p.Safety == food.SafetyFish && exposed > lethality.FishExposureLong {
		return refuse(RefuseComeUp, Note{Span: lethality.FishExposureLong})
	}
	switch lethality.ComeUp(exposed, p.Safety == food.IntactRedMeat) {
	case lethality.ComeUpRefuse:
		return refuse(RefuseComeUp, Note{Span: lethality.ComeUpLimit})
	case lethality.ComeUpWarn:
		p.caution(Note{ID: CautionComeUp, Span: exposed, Source: "USDA FSIS 2021, Revised Appendix A, pp. 23–24"})
	}
	return nil
}

// judgeCool holds a plan below the lowest table temperature to the time that may be spent there. The
// careful core must be warm within the four hours of the time-control limit; the whole stay, two hours
// for fish, is what bounds growth, and the likely ready time must lie inside it.
func (p *Plan) judgeCool(limit time.Duration) *Refusal {
	switch {
	case p.CoreCareful.Never || p.CoreCareful.After > lethality.UnpasteurisedHold-p.Spent:
		return refuse(RefuseSlowCore, Note{Span: p.CoreCareful.After, Temperature: lethality.GrowthHigh, Allowed: lethality.UnpasteurisedHold - p.Spent})
	case p.Request.Span > limit || p.Ready > limit || p.ReadyLate > limit:
		return refuse(RefuseLongCool, Note{Span: limit, Temperature: lethality.GrowthHigh})
	}
	if p.BestBefore > limit {
		p.BestBefore = limit
		p.LastCall = min(p.LastCall, texture.LastCall(p.Ready, p.BestBefore))
	}
	p.Limit = min(p.Limit, limit)
	p.caution(Note{ID: CautionShortHold, Span: limit, Source: "FDA Food Code 3-501.19(B); FDA Fish Guide Appendix 4"})
	return nil
}

func (p *Plan) caution(n Note) { p.Cautions = append(p.Cautions, n) }

package cook

import (
	"errors"
	"math"

	"bagwatch/internal/food"
	"bagwatch/internal/lethality"
	"bagwatch/internal/quantity"
	"bagwatch/internal/texture"
)

// textureRefusal turns what the texture model says into a rule.
func (p *Plan) textureRefusal(err error) error {
	switch {
	case errors.Is(err, texture.ErrTooCool):
		return refuse(RefuseTooFirm, Note{Temperature: texture.TenderFrom})
	case errors.Is(err, texture.ErrTooLong) && p.Setpoint < lethality.GrowthHigh:
		limit, _ := lethality.HoldLimit(p.Setpoint, p.Safety == food.SafetyFish, p.Request.AtRisk)
		return refuse(RefuseLongCool, Note{Span: limit, Temperature: lethality.GrowthHigh})
	case errors.Is(err, texture.ErrNever):
		return refuse(RefuseNeverReaches, Note{Span: Horizon})
	case errors.Is(err, texture.ErrNoWindow):
		return refuse(RefusePastTexture, Note{Temperature: p.Setpoint})
	case errors.Is(err, texture.ErrUnpasteurised):
		return p.cannot()
	}
	return errors.Join(errModel, err)
}

// Bounds of the search for the nearest request that passes. House rules: half a kelvin is what a bath
// can be set to, a piece is cut to whole 5 mm, and the usual setpoint of the next doneness is offered
// instead of a bare half step when it is at most nearestNamed warmer.
const (
	nearestStep                  = 0.5
	nearestReach                 = 30.0
	nearestNamed                 = 3.0
	nearestCut   quantity.Length = 0.005
	nearestTries                 = 90
)

// search looks for requests that pass, within a bound.
type search struct {
	model *Model
	tries int
}

// pass plans a changed request; nil when a rule forbids it too.
func (s *search) pass(r Request) *Plan {
	if s.tries++; s.tries > nearestTries {
		return nil
	}
	plan, err := s.model.plan(r)
	if err != nil {
		return nil
	}
	return plan
}

// nearest looks for the smallest change that passes: what was impossible put right, else a warmer bath,
// else a thinner piece.
func (m *Model) nearest(r Request, refusal *Refusal) {
	s := &search{model: m}
	f, ok := m.foods.Food(r.Food)
	if !ok {
		return
	}
	var plan *Plan
	change := r
	switch refusal.Rule {
	case RefuseUnknownFood, RefuseTooHeavy, RefuseTooMany, RefuseNotFood, RefuseTooThin:
		return
	case RefuseStart:
		change.Start = StartFridge
		plan = s.pass(change)
	case RefuseBoiling:
		change.HasSetpoint, change.Setpoint = false, 0
		plan = s.pass(change)
	case RefuseTooThick:
		change.Thickness, change.ThicknessVague = refusal.Note.Length, false
		if plan = s.pass(change); plan == nil {
			plan = s.thinner(change)
		}
	case RefuseTooCool:
		change.HasSetpoint, change.Setpoint, change.Doneness, change.Span = false, 0, f.Steps[0].ID, 0
		if plan = s.pass(change); plan == nil {
			plan = s.warmer(f, r, refusal)
		}
	case RefuseLongCool:
		change.Span = 0
		if r.Span > 0 {
			plan = s.pass(change)
		}
		if plan == nil {
			plan = s.warmer(f, r, refusal)
		}
	default:
		plan = s.warmer(f, r, refusal)
	}
	if plan == nil {
		plan = s.thinner(r)
	}
	if plan != nil {
		refusal.Nearest, refusal.NearestPlan = &plan.Request, plan
	}
}

// warmer tries warmer water in half steps, and the next named doneness when that is near.
func (s *search) warmer(f food.Food, r Request, refusal *Refusal) *Plan {
	setpoint := r.Setpoint
	if !r.HasSetpoint {
		setpoint = f.DefaultStep().Default
		if step, found := f.Step(r.Doneness); found {
			setpoint = step.Default
		}
	}
	r.Doneness, r.Span = "", 0
	first := max(setpoint+nearestStep, refusal.Note.Temperature)
	first = quantity.Temperature(math.Ceil(float64(first)/nearestStep) * nearestStep)
	var bare *Plan
	for t := first; t < setpoint+nearestReach && bare == nil; t += nearestStep {
		r.HasSetpoint, r.Setpoint = true, t
		bare = s.pass(r)
	}
	if bare == nil {
		return nil
	}
	for _, step := range f.Steps {
		if step.Default >= bare.Setpoint && step.Default <= bare.Setpoint+nearestNamed {
			r.HasSetpoint, r.Setpoint, r.Doneness = false, 0, step.ID
			if named := s.pass(r); named != nil {
				return named
			}
		}
	}
	return bare
}

// thinner tries thinner cuts of the same piece.
func (s *search) thinner(r Request) *Plan {
	f, ok := s.model.foods.Food(r.Food)
	if !ok || !(r.Thickness > 0) {
		return nil
	}
	thickness := min(r.Thickness, f.Limits.ThicknessMax+nearestCut)
	r.ThicknessVague = false
	for thickness -= nearestCut; thickness >= nearestCut && s.tries <= nearestTries; thickness -= nearestCut {
		r.Thickness = thickness
		if plan := s.pass(r); plan != nil {
			return plan
		}
	}
	return nil
}

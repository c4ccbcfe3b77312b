package cook

import (
	"errors"

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
// can be set to, and a piece is cut to whole 5 mm.
const (
	nearestStep                  = 0.5
	nearestReach                 = 30.0
	nearestCut   quantity.Length = 0.005
	nearestTries                 = 64
)

// nearest looks for the smallest change that passes: the other way of serving first, then a warmer
// bath, then a cooler one, then a thinner piece.
func (m *Model) nearest(r Request, refusal *Refusal) {
	tries := 0
	try := func(change Request) bool {
		if tries++; tries > nearestTries {
			return false
		}
		plan, err := m.plan(change)
		if err != nil {
			return false
		}
		refusal.Nearest, refusal.NearestPlan = &change, plan
		return true
	}
	switch refusal.Rule {
	case RefuseUnknownFood, RefuseTooHeavy, RefuseTooMany, RefuseNotFood, RefuseTooThin:
		return
	case RefuseStart:
		r.Start = StartFridge
		try(r)
		return
	case RefuseTooThick:
		r.Thickness, r.ThicknessVague = refusal.Note.Length, false
		if !try(r) {
			m.thinner(r, try)
		}
		return
	case RefuseCured, RefuseTooFirm, RefuseAtRiskCool, RefuseAtRiskEgg, RefuseNoFloor, RefuseTooCool, RefuseBoiling:
	}
	if r.Span > 0 && refusal.Rule == RefuseLongCool {
		short := r
		short.Span = 0
		if try(short) {
			return
		}
	}
	setpoint := r.Setpoint
	f, ok := m.foods.Food(r.Food)
	if !ok {
		return
	}
	if !r.HasSetpoint {
		setpoint = f.DefaultStep().Default
		if step, found := f.Step(r.Doneness); found {
			setpoint = step.Default
		}
	}
	if refusal.Rule == RefuseBoiling {
		r.HasSetpoint, r.Setpoint = false, 0
		try(r)
		return
	}
	// The usual setpoint of the next doneness that passes reads better than a bare half step.
	for _, step := range f.Steps {
		if step.Default > setpoint {
			change := r
			change.HasSetpoint, change.Doneness, change.Span = false, step.ID, 0
			if try(change) {
				break
			}
		}
	}
	first := setpoint + nearestStep
	if refusal.Note.Temperature > first {
		first = refusal.Note.Temperature
	}
	for s := first; s < setpoint+nearestReach; s += nearestStep {
		if refusal.Nearest != nil && s >= refusal.NearestPlan.Setpoint {
			break
		}
		change := r
		change.HasSetpoint, change.Setpoint, change.Doneness, change.Span = true, s, "", 0
		if try(change) {
			return
		}
	}
	if refusal.Nearest == nil {
		m.thinner(r, try)
	}
}

// thinner tries thinner cuts of the same piece.
func (m *Model) thinner(r Request, try func(Request) bool) {
	thickness := r.Thickness
	if thickness == 0 {
		return
	}
	for thickness -= nearestCut; thickness >= nearestCut; thickness -= nearestCut {
		r.Thickness, r.ThicknessVague = thickness, false
		if try(r) {
			return
		}
	}
}

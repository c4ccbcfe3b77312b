package phrase

import "bagwatch/internal/cook"

// Amend reads a message that changes an earlier request: "3 cm", "rare", "from frozen",
// "4 pieces", "for grandma", "not frozen". What is said replaces what was; the rest stays.
// It reports false, with the message read for itself, when the message names a food or a
// refused one, when it has another problem than naming none, and when it changes nothing.
func (p *Parser) Amend(base cook.Request, text string) (Understood, bool) {
	u := p.read(text, base.Food)
	if u.Food.ID != "" || u.RefusedFood != "" {
		return u, false
	}
	if u.Problem != nil && u.Problem.ID != ProblemNoFood {
		return u, false
	}
	said, changed := u.Request, base
	if said.Pieces != 0 {
		changed.Pieces = said.Pieces
	}
	switch {
	case said.Mass != 0:
		changed.Mass, changed.MassEach = said.Mass, said.MassEach
	case said.MassEach:
		changed.MassEach = true
	}
	if said.Thickness != 0 {
		changed.Thickness, changed.ThicknessVague = said.Thickness, said.ThicknessVague
	}
	if said.Shape != cook.ShapeOwn {
		changed.Shape = said.Shape
	}
	if said.Start != "" || u.Denied.Start {
		changed.Start, changed.StartAt = said.Start, said.StartAt
	}
	// A doneness and a setpoint are two ways to say one thing: the new one ends the old one.
	if said.Doneness != "" || said.HasSetpoint {
		changed.Doneness = said.Doneness
		changed.Setpoint, changed.HasSetpoint = said.Setpoint, said.HasSetpoint
	} else if u.Denied.Doneness {
		changed.Doneness = ""
	}
	changed.Pasteurised = (base.Pasteurised || said.Pasteurised) && !(u.Denied.Pasteurised && !said.Pasteurised)
	changed.AtRisk = (base.AtRisk || said.AtRisk) && !(u.Denied.AtRisk && !said.AtRisk)
	changed.NonIntact = (base.NonIntact || said.NonIntact) && !(u.Denied.NonIntact && !said.NonIntact)
	changed.Cured = (base.Cured || said.Cured) && !(u.Denied.Cured && !said.Cured)
	if said.Span != 0 {
		changed.Span = said.Span
	}
	if said.Bath != "" {
		changed.Bath = said.Bath
	}
	if changed == base {
		return u, false
	}
	u.Request, u.Food.ID, u.Problem = changed, changed.Food, nil
	return u, true
}

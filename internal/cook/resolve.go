package cook

import (
	"math"
	"time"

	"bagwatch/internal/food"
	"bagwatch/internal/heat"
	"bagwatch/internal/quantity"
)

// The temperatures meant by "fridge", "room" and "frozen". Fridge: the usual start of the published
// time tables (Baldwin 2012); frozen: the freezer temperature of USDA storage advice; room: house rule.
const (
	fridgeTemperature quantity.Temperature = 5
	roomTemperature   quantity.Temperature = 20
	frozenTemperature quantity.Temperature = -18
)

// The coldest and warmest start that is taken seriously.
const (
	coldestStart quantity.Temperature = -35
	warmestStart quantity.Temperature = 45
)

// growthStarts is where time out of the cold begins to count.
// Source: USDA FSIS 2021, Revised Appendix A, pp. 23–24 (50 °F).
const growthStarts quantity.Temperature = 10

// warmSpent is charged to a piece that starts above growthStarts, for the time it took to get there.
// House rule: the two hours that USDA advice allows perishable food outside the fridge.
const warmSpent = 2 * time.Hour

// guess is the factor on a guessed thickness for everything about safety. House rule: a ±20 % error in
// thickness is usual when only the mass is known, and the piece is then still covered at the ready times printed.
const guess = 1.15

// Amounts beyond which a message is a slip of the finger. House rules.
const (
	mostPieces               = 200
	mostMass   quantity.Mass = 20
)

// piece is a request with everything decided that does not depend on the setpoint.
type piece struct {
	food      food.Food
	pieces    int
	mass      quantity.Mass
	thickness quantity.Length
	from      ThicknessFrom
	guessed   bool
	start     StartKind
	startAt   quantity.Temperature
	spent     time.Duration
	safety    food.Safety
	notes     []Note
}

func (p *piece) assume(n Note) { p.notes = append(p.notes, n) }

// resolve decides pieces, thickness and start, or refuses.
func (m *Model) resolve(r Request) (piece, *Refusal) {
	f, ok := m.foods.Food(r.Food)
	if !ok {
		return piece{}, refuse(RefuseUnknownFood, Note{Ref: string(r.Food)})
	}
	p := piece{food: f, safety: f.Safety}
	if r.NonIntact && f.Safety == food.IntactRedMeat {
		p.safety = food.NonIntactRedMeat
	}
	if refusal := p.sizes(r); refusal != nil {
		return piece{}, refusal
	}
	return p, p.starts(r)
}

func (p *piece) sizes(r Request) *Refusal {
	f := p.food
	if r.Pieces < 0 || r.Mass < 0 || r.Thickness < 0 || !finite(float64(r.Mass)) || !finite(float64(r.Thickness)) {
		return refuse(RefuseNotFood, Note{})
	}
	if r.Pieces > mostPieces {
		return refuse(RefuseTooMany, Note{Count: mostPieces})
	}
	p.pieces = r.Pieces
	if p.pieces == 0 {
		p.pieces = usualPieces(f, r.Mass, r.MassEach)
		p.assume(Note{ID: AssumePieces, Count: p.pieces, Source: f.Source(food.FieldPortion)})
	}
	each := r.Mass
	p.mass = r.Mass
	switch {
	case r.MassEach:
		p.mass = r.Mass * quantity.Mass(p.pieces)
	case r.Mass > 0 && p.pieces > 1:
		each = r.Mass / quantity.Mass(p.pieces)
		if r.Pieces > 1 {
			p.assume(Note{ID: AssumeMassTotal, Mass: r.Mass, Count: p.pieces})
		}
	}
	if p.mass > mostMass || each > f.Limits.MassMax {
		return refuse(RefuseTooHeavy, Note{Mass: min(f.Limits.MassMax, mostMass), Ref: string(f.ID)})
	}
	switch {
	case r.Thickness > 0:
		p.thickness, p.from, p.guessed = r.Thickness, ThicknessGiven, r.ThicknessVague
		if p.guessed {
			p.assume(Note{ID: AssumeThicknessAbout, Length: p.thickness, LengthMax: p.thickness * guess})
		}
	case each > 0:
		p.thickness, p.from, p.guessed = f.Thickness(each), ThicknessMass, true
		p.assume(Note{ID: AssumeThicknessMass, Length: p.thickness, LengthMax: p.thickness * guess, Mass: each, Source: f.Source(food.FieldProportions)})
	default:
		p.thickness, p.from, p.guessed = f.Portion.Thickness, ThicknessTypical, f.Proportions.Shape != food.EggShape
		p.mass = f.Portion.Mass * quantity.Mass(p.pieces)
		p.assume(Note{ID: AssumeThicknessUsual, Length: p.thickness, LengthMax: p.thickness * guess, Source: f.Source(food.FieldPortion)})
	}
	if p.from == ThicknessMass && f.Proportions.Shape == food.EggShape {
		p.guessed = false // an egg's mass does fix its size
	}
	switch {
	case p.thickness > f.Limits.ThicknessMax:
		if p.from == ThicknessMass {
			return refuse(RefuseTooHeavy, Note{Mass: f.Limits.MassMax, Ref: string(f.ID)})
		}
		return refuse(RefuseTooThick, Note{Length: f.Limits.ThicknessMax, Ref: string(f.ID)})
	case p.thickness < f.Limits.ThicknessMin:
		return refuse(RefuseTooThin, Note{Length: f.Limits.ThicknessMin, Ref: string(f.ID)})
	}
	return nil
}

// usualPieces is how many pieces a message without a count means.
func usualPieces(f food.Food, mass quantity.Mass, each bool) int {
	switch {
	case mass <= 0 || each:
		return max(1, f.Portion.Pieces)
	case f.Portion.Pieces > 1:
		return min(mostPieces, max(1, int(math.Round(float64(mass/f.Portion.Mass)))))
	case mass > f.Limits.MassMax:
		return min(mostPieces, int(math.Ceil(float64(mass/f.Portion.Mass))))
	}
	return 1
}

func (p *piece) starts(r Request) *Refusal {
	p.start = r.Start
	switch r.Start {
	case "", StartFridge:
		p.startAt = fridgeTemperature
		if r.Start == "" {
			p.assume(Note{ID: AssumeFridge, Temperature: fridgeTemperature})
		}
		p.start = StartFridge
	case StartRoom:
		p.startAt = roomTemperature
	case StartFrozen:
		p.startAt = frozenTemperature
	case StartGiven:
		p.startAt = r.StartAt
	default:
		return refuse(RefuseStart, Note{Temperature: fridgeTemperature})
	}
	if !(p.startAt >= coldestStart && p.startAt <= warmestStart) {
		return refuse(RefuseStart, Note{Temperature: warmestStart})
	}
	if p.startAt > growthStarts && p.safety != food.Plant {
		p.spent = warmSpent
		p.assume(Note{ID: AssumeWarmSpent, Span: warmSpent, Source: "USDA: perishable food at most 2 h out of the fridge"})
	}
	return nil
}

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }

// likelyShape is what the piece really looks like.
func (p *piece) likelyShape(r Request, x quantity.Length) heat.Shape {
	pr := p.food.Proportions
	switch r.Shape {
	case ShapeSlab:
		return heat.NewSlab(x)
	case ShapeBlock:
		return heat.NewBrick(x, food.BlockWidth*x, food.BlockLength*x)
	case ShapeCylinder:
		return heat.NewCylinder(x)
	case ShapeSphere:
		return heat.NewSphere(x)
	}
	switch pr.Shape {
	case food.Block:
		return heat.NewBrick(x, food.BlockWidth*x, food.BlockLength*x)
	case food.Cylinder:
		return heat.NewCylinder(x)
	case food.Sphere, food.EggShape:
		return heat.NewSphere(x)
	}
	if pr.Width > 0 {
		return heat.NewBrick(x, quantity.Length(pr.Width)*x, quantity.Length(pr.Length)*x)
	}
	return heat.NewSlab(x)
}

// carefulShape is a slab unless the piece truly is something else: a joint is a 1:2:3 block, a single
// round piece keeps its shape, and several round ones in a bag are a slab. An egg keeps its shell.
// A shape that the cook insists on is believed only where it is slower than the food's own.
func (p *piece) carefulShape(r Request, x quantity.Length) heat.Shape {
	pr := p.food.Proportions
	if r.Shape == ShapeSlab {
		return heat.NewSlab(x)
	}
	switch {
	case pr.Shape == food.Block:
		return heat.NewBrick(x, food.BlockWidth*x, food.BlockLength*x)
	case pr.Shape == food.EggShape:
		return heat.NewSphere(x)
	case pr.Shape == food.Cylinder && pr.Round && p.pieces == 1:
		return heat.NewCylinder(x)
	case pr.Shape == food.Sphere && pr.Round && p.pieces == 1:
		return heat.NewSphere(x)
	}
	return heat.NewSlab(x)
}

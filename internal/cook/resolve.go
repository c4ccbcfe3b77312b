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
	warmestStart quantity.Temperature = 25
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

// eggGuess covers an egg of 75 g, the largest usual class, where 60 g is taken: the cube root of the ratio.
const eggGuess = 1.08

// thinJoint is the thickness up to which a joint is a slab to the careful estimate: that thin it is not 1:2:3,
// and the published tables treat it as a slab too (Baldwin 2012, from memory). From fullJoint on it is 1:2:3; in
// between what it loses through its sides, which goes with one over their square, grows evenly, so that a thicker
// joint is never sooner done. House rule.
const (
	thinJoint quantity.Length = 0.030
	fullJoint quantity.Length = 0.060
)

// wideJoint is how much heavier than a 1:2:3 block of its thickness a joint may be before it is a slab. House rule.
const wideJoint = 1.5

// The sides of an oval in units of its thickness, for a single round piece in the careful estimate: it takes
// about as long as the cylinder-like column of the published heating table, which is slower than a true
// cylinder, and real tenderloins and sausages are oval. House rule.
const (
	ovalWidth  = 1.25
	ovalLength = 5
)

// longestSide bounds a side that only proportions give, inside the solver's domain of 1 m.
const longestSide quantity.Length = 0.9

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
	slack     quantity.Length // factor on the thickness for everything about safety
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
	p.slack = 1
	switch egg := f.Proportions.Shape == food.EggShape; {
	case egg && p.from == ThicknessMass:
		p.guessed = false // an egg's mass does fix its size
	case egg && p.from == ThicknessTypical:
		p.slack = eggGuess
	case p.guessed:
		p.slack = guess
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
	if p.startAt < freezingHighest && p.food.Material.Composition == nil {
		return refuse(RefuseStart, Note{Temperature: fridgeTemperature}) // nothing is known of how it thaws
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
		return brick(x, food.BlockWidth, food.BlockLength)
	case ShapeCylinder:
		return heat.NewCylinder(x)
	case ShapeSphere:
		return heat.NewSphere(x)
	}
	switch pr.Shape {
	case food.Block:
		return brick(x, food.BlockWidth, food.BlockLength)
	case food.Cylinder:
		return heat.NewCylinder(x)
	case food.Sphere, food.EggShape:
		return heat.NewSphere(x)
	}
	if pr.Width > 0 {
		return brick(x, pr.Width, pr.Length)
	}
	return heat.NewSlab(x)
}

// brick is a block with sides in units of its thickness, none longer than the solver takes.
func brick(x quantity.Length, width, length float64) heat.Shape {
	side := func(ratio float64) quantity.Length { return max(x, min(longestSide, quantity.Length(ratio)*x)) }
	return heat.NewBrick(x, side(width), side(length))
}

// carefulShape is a slab unless the piece truly is something else: a joint is a 1:2:3 block, a single
// round piece an oval, and several in a bag are a slab. An egg keeps its shell.
// A shape that the cook insists on is believed only where it is slower than the food's own.
func (p *piece) carefulShape(r Request, x quantity.Length) heat.Shape {
	pr := p.food.Proportions
	var own heat.Shape
	switch {
	case r.Shape == ShapeSlab:
		return heat.NewSlab(x)
	case pr.Shape == food.Block && p.joint(x):
		flat := 1 / math.Sqrt(min(1, float64((x-thinJoint)/(fullJoint-thinJoint))))
		own = brick(x, food.BlockWidth*flat, food.BlockLength*flat)
	case pr.Shape == food.EggShape:
		own = heat.NewSphere(x)
	case (pr.Shape == food.Cylinder || pr.Shape == food.Sphere) && pr.Round && p.pieces == 1:
		own = brick(x, ovalWidth, ovalLength)
	default:
		return heat.NewSlab(x)
	}
	if r.Shape == ShapeBlock && own.Kind == heat.Sphere || r.Shape == ShapeBlock && pr.Shape != food.Block {
		own = brick(x, food.BlockWidth, food.BlockLength)
	}
	if r.Shape == ShapeCylinder && own.Kind == heat.Sphere {
		own = brick(x, ovalWidth, ovalLength)
	}
	return own
}

// joint reports whether a block-shaped food really is a block at thickness x: one piece, thick enough, and not
// so heavy for its thickness that it must be wide.
func (p *piece) joint(x quantity.Length) bool {
	block := float64(p.food.Proportions.Density) * food.BlockWidth * food.BlockLength * float64(x) * float64(x) * float64(x)
	return p.pieces == 1 && x > thinJoint && float64(p.mass) <= wideJoint*block
}

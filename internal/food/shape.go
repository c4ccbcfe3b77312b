package food

import (
	"math"

	"bagwatch/internal/quantity"
)

// Shape is what a piece looks like to the heat.
type Shape string

// The shapes.
const (
	Slab     Shape = "slab"     // thickness is the shortest side
	Block    Shape = "block"    // a joint; thickness is the shortest side
	Cylinder Shape = "cylinder" // thickness is the diameter
	Sphere   Shape = "sphere"   // thickness is the diameter
	EggShape Shape = "egg"      // a sphere of the same volume, in its shell; thickness is the diameter
)

// The sides of a joint in units of its thickness for conduction. House rule: 1:2:3 loses
// less heat through its ends than the 2:3:5 box used for mass, so it errs to the slow side.
const (
	BlockWidth  = 2.0
	BlockLength = 3.0
)

// Area is an area in square metres.
type Area float64

// SquareCentimetres converts a number of square centimetres.
func SquareCentimetres(cm2 float64) Area { return Area(cm2 / 1e4) }

// SquareCentimetres gives the area in square centimetres.
func (a Area) SquareCentimetres() float64 { return float64(a) * 1e4 }

// Density is a density in kg/m³.
type Density float64

// Proportions turn the mass of one piece into its thickness. Which fields are set depends
// on the shape; the rest are zero.
type Proportions struct {
	Shape Shape
	// Round says the piece keeps its round section so well that even the careful estimate
	// may treat a single one as a cylinder or sphere. Several in one bag are a slab.
	Round bool

	// Face is the area of the cut face of a slab of even thickness (a steak). When it is
	// set, Width and Length are not.
	Face Area
	// Width and Length are the other sides of a slab or block in units of the thickness.
	Width, Length float64
	// LengthToDiameter is for cylinders that grow in all directions with their mass.
	LengthToDiameter float64
	// FixedLength is for cylinders that have the same length whatever they weigh (asparagus).
	FixedLength quantity.Length
	// Fill is the share of the bounding box, cylinder or sphere that is food, above 0, at most 1.
	Fill float64
	// Density is that of the food itself.
	Density Density
}

// Thickness gives the thickness of a slab or block, or the diameter of a round piece, that
// has mass m: the solution for t of
//
//	slab with a face      m = ρ A t
//	slab, block           m = ρ f t (a t)(b t)
//	cylinder              m = ρ f (π/4) t² (r t), or ρ f (π/4) t² L with fixed length
//	sphere, egg           m = ρ f (π/6) t³
//
// m must be positive and finite, otherwise the answer is 0. The proportions are typical
// ones: a ±20 % error in t is usual and is ±35 % in time. Measured thickness always wins.
func (p Proportions) Thickness(m quantity.Mass) quantity.Length {
	mass := float64(m)
	if !(mass > 0) || math.IsInf(mass, 0) {
		return 0
	}
	solid := mass / (float64(p.Density) * p.Fill) // m³ of the bounding shape
	switch {
	case p.Face > 0:
		return quantity.Length(solid / float64(p.Face))
	case p.Shape == Slab || p.Shape == Block:
		return quantity.Length(math.Cbrt(solid / (p.Width * p.Length)))
	case p.Shape == Cylinder && p.FixedLength > 0:
		return quantity.Length(math.Sqrt(4 * solid / (math.Pi * float64(p.FixedLength))))
	case p.Shape == Cylinder:
		return quantity.Length(math.Cbrt(4 * solid / (math.Pi * p.LengthToDiameter)))
	default:
		return quantity.Length(math.Cbrt(6 * solid / math.Pi))
	}
}

// valid reports whether p determines a thickness.
func (p Proportions) valid() bool {
	if !(p.Density > 500 && p.Density < 1500) || !(p.Fill > 0 && p.Fill <= 1) {
		return false
	}
	sides := p.Width >= 1 && p.Length >= p.Width
	ways := 0
	for _, set := range []bool{p.Face > 0, p.Width > 0 || p.Length > 0, p.LengthToDiameter > 0, p.FixedLength > 0} {
		if set {
			ways++
		}
	}
	switch p.Shape {
	case Slab:
		return ways == 1 && (p.Face > 0 || sides) && !p.Round
	case Block:
		return ways == 1 && sides && !p.Round
	case Cylinder:
		return ways == 1 && (p.LengthToDiameter >= 1 || p.FixedLength > 0)
	case Sphere, EggShape:
		return ways == 0
	default:
		return false
	}
}

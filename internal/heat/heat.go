// Package heat computes how a piece of food warms, thaws and cools in a water bath.
//
// The model is transient conduction in a slab, long cylinder, sphere, brick or finite
// cylinder, all faces washed by one bath through one film:
//
//	ρc ∂T/∂t = ∇·(k ∇T),   −k ∂T/∂n = h (T − T_bath(t)) on every face.
//
// Temperatures are °C, lengths metres, times [time.Duration] counted from immersion,
// everything else SI. Bi = hR/k and Fo = αt/R², R the half thickness or radius.
//
// Three methods share the work:
//
//   - [NewSeries]: constant bath, film and properties. Exact eigenfunction series, and
//     their products for finite bodies (Carslaw & Jaeger, Conduction of Heat in Solids,
//     2nd ed. 1959, ch. 3, 7, 9 and §1.15 for products). A few microseconds; start here.
//   - [Solve] with a [History]: steps and ramps of the bath and changes of the film.
//     Finite volumes in one dimension, exact modes for bricks and finite cylinders.
//   - [Solve] of a piece that starts frozen: finite volumes in enthalpy, properties
//     after Choi & Okos (1986), ice after the ASHRAE Handbook.
//
// The accuracy each one keeps is stated where it is declared, and its tests compare it
// with independent solutions. What no method here knows: bags that float, pieces that
// touch, bones, evaporation from the food, and properties that change with cooking.
package heat

import (
	"errors"
	"fmt"
	"math"
	"time"

	"bagwatch/internal/quantity"
)

// Diffusivity is a thermal diffusivity in m²/s.
type Diffusivity float64

// Conductivity is a thermal conductivity in W/(m K).
type Conductivity float64

// Film is a heat transfer coefficient between bath and food in W/(m² K).
type Film float64

// Errors that user data can cause. They come wrapped with what was wrong.
var (
	// ErrShape reports a size that is not a number or outside 0.5 mm … 1 m.
	ErrShape = errors.New("heat: impossible size")
	// ErrMaterial reports properties outside those of food: α 0.5e-7 … 3e-7 m²/s, k 0.1 … 1 W/(m K).
	ErrMaterial = errors.New("heat: implausible material")
	// ErrTemperature reports a start outside −40 … 120 °C or a bath outside 0 … 120 °C.
	ErrTemperature = errors.New("heat: temperature out of range")
	// ErrFilm reports a film outside 1 … 20,000 W/(m² K).
	ErrFilm = errors.New("heat: implausible film")
	// ErrHistory reports a history that is empty, unordered, does not begin at zero or does not end in a hold.
	ErrHistory = errors.New("heat: bad bath history")
	// ErrDuration reports a span to solve that is not positive or longer than thirty days.
	ErrDuration = errors.New("heat: span out of range")
	// ErrFrozen reports a frozen start given to [NewSeries], which knows no ice: use [Solve].
	ErrFrozen = errors.New("heat: the series cannot start frozen")
	// ErrComposition reports a frozen start without a usable composition.
	ErrComposition = errors.New("heat: a frozen start needs the composition")
)

// Domains. Each is wider than any food or bath in the published tables, and narrow enough
// to catch a unit mistake (mm for m, mm²/s for m²/s).
const (
	sizeMin, sizeMax                 = 0.5e-3, 1.0  // m
	diffusivityMin, diffusivityMax   = 0.5e-7, 3e-7 // m²/s; foods 0.9e-7 (fat) … 1.7e-7 (potato), Choi & Okos (1986)
	conductivityMin, conductivityMax = 0.1, 1.0     // W/(m K); unfrozen foods 0.17 (fat) … 0.6 (water), Choi & Okos (1986)
	startMin, startMax               = -40.0, 120.0 // °C; the range of the Choi & Okos polynomials is −40 … 150
	bathMin, bathMax                 = 0.0, 120.0   // °C; a bath of water, at most under pressure
	filmMin, filmMax                 = 1.0, 20000.0 // W/(m² K); still air to boiling water
	untilMax                         = 30 * 24 * time.Hour
	// freezingUnknown is the start below which a piece without composition counts as frozen, °C.
	// It is the highest freezing point of the ASHRAE Handbook—Refrigeration table (egg, potato: −0.6),
	// rounded to the warm side.
	freezingUnknown = -0.5
)

// Kind is the geometry of a piece.
type Kind uint8

// The shapes that can be solved.
const (
	Slab           Kind = iota // flat piece, heated on its two large faces only
	Cylinder                   // long round piece, heated all round
	Sphere                     // ball
	Brick                      // block, heated on six faces
	FiniteCylinder             // disc or short round piece, heated all round and on both ends
)

// String names the kind in lower case.
func (k Kind) String() string {
	switch k {
	case Slab:
		return "slab"
	case Cylinder:
		return "cylinder"
	case Sphere:
		return "sphere"
	case Brick:
		return "brick"
	case FiniteCylinder:
		return "finite cylinder"
	}
	return fmt.Sprintf("kind %d", uint8(k))
}

// Shape is a geometry with its full sizes.
type Shape struct {
	Kind Kind
	X    quantity.Length // full thickness or diameter; a brick's smallest edge
	Y    quantity.Length // a brick's middle edge
	Z    quantity.Length // a brick's longest edge; a finite cylinder's length
}

// NewSlab is a flat piece of full thickness x.
func NewSlab(x quantity.Length) Shape { return Shape{Kind: Slab, X: x} }

// NewCylinder is a long round piece of diameter d.
func NewCylinder(d quantity.Length) Shape { return Shape{Kind: Cylinder, X: d} }

// NewSphere is a ball of diameter d.
func NewSphere(d quantity.Length) Shape { return Shape{Kind: Sphere, X: d} }

// NewBrick is a block with three edges in any order; they are kept sorted.
func NewBrick(x, y, z quantity.Length) Shape {
	if y < x {
		x, y = y, x
	}
	if z < y {
		y, z = z, y
	}
	if y < x {
		x, y = y, x
	}
	return Shape{Kind: Brick, X: x, Y: y, Z: z}
}

// NewFiniteCylinder is a round piece of diameter d and length l, either the larger.
func NewFiniteCylinder(d, l quantity.Length) Shape {
	return Shape{Kind: FiniteCylinder, X: d, Z: l}
}

// Material is what conduction needs to know of a food.
type Material struct {
	Diffusivity  Diffusivity
	Conductivity Conductivity
	// Composition is needed only for a start below freezing; nil otherwise. The unfrozen food
	// always has the two properties above; the composition says how ice changes them.
	Composition *Composition
}

// heatCapacity is ρc = k/α in J/(m³ K).
func (m Material) heatCapacity() float64 { return float64(m.Conductivity) / float64(m.Diffusivity) }

// Piece is one piece of food at one temperature throughout.
type Piece struct {
	Shape
	Material
	Start quantity.Temperature
}

// Frozen reports whether the piece starts below its freezing point, so that only [Solve]
// can follow it. Without a composition that is any start below −0.5 °C.
func (p Piece) Frozen() bool {
	if p.Composition != nil {
		return !(p.Start >= p.Composition.FreezingPoint) // an unknown freezing point must not pass for unfrozen
	}
	return p.Start < freezingUnknown
}

// inside reports lo <= v <= hi, false for NaN.
func inside(v, lo, hi float64) bool { return v >= lo && v <= hi }

// check returns what is wrong with the piece, if anything.
func (p Piece) check() error {
	sizes := [3]quantity.Length{p.X, p.X, p.X}
	switch p.Kind {
	case Slab, Cylinder, Sphere:
	case Brick:
		sizes[1], sizes[2] = p.Y, p.Z
		if p.Y < p.X || p.Z < p.Y {
			return fmt.Errorf("%w: edges of a brick not in order", ErrShape)
		}
	case FiniteCylinder:
		sizes[1] = p.Z
	default:
		return fmt.Errorf("%w: unknown %v", ErrShape, p.Kind)
	}
	for _, size := range sizes {
		if !inside(float64(size), sizeMin, sizeMax) {
			return fmt.Errorf("%w: %v of %g mm", ErrShape, p.Kind, size.Millimetres())
		}
	}
	if !inside(float64(p.Diffusivity), diffusivityMin, diffusivityMax) {
		return fmt.Errorf("%w: diffusivity %g m²/s", ErrMaterial, float64(p.Diffusivity))
	}
	if !inside(float64(p.Conductivity), conductivityMin, conductivityMax) {
		return fmt.Errorf("%w: conductivity %g W/(m K)", ErrMaterial, float64(p.Conductivity))
	}
	if !inside(float64(p.Start), startMin, startMax) {
		return fmt.Errorf("%w: start at %g °C", ErrTemperature, float64(p.Start))
	}
	return nil
}

func checkBath(bath quantity.Temperature, film Film) error {
	if !inside(float64(bath), bathMin, bathMax) {
		return fmt.Errorf("%w: bath at %g °C", ErrTemperature, float64(bath))
	}
	if !inside(float64(film), filmMin, filmMax) {
		return fmt.Errorf("%w: %g W/(m² K)", ErrFilm, float64(film))
	}
	return nil
}

// factor is one of the one-dimensional bodies whose product is the piece:
// its exponent n (0 slab, 1 cylinder, 2 sphere) and half size in metres.
type factor struct {
	n    int
	half float64
}

// factors splits the shape; the first has the smallest size of a brick.
func (s Shape) factors() (f [3]factor, dims int) {
	x, y, z := float64(s.X)/2, float64(s.Y)/2, float64(s.Z)/2
	switch s.Kind {
	case Slab:
		return [3]factor{{0, x}}, 1
	case Cylinder:
		return [3]factor{{1, x}}, 1
	case Sphere:
		return [3]factor{{2, x}}, 1
	case Brick:
		return [3]factor{{0, x}, {0, y}, {0, z}}, 3
	case FiniteCylinder:
		return [3]factor{{1, x}, {0, z}}, 2
	}
	panic("heat: shape not checked")
}

// radius is half the smallest size, m.
func (s Shape) radius() float64 {
	f, dims := s.factors()
	half := f[0].half
	for _, other := range f[1:dims] {
		half = min(half, other.half)
	}
	return half
}

// seconds converts a span to seconds.
func seconds(t time.Duration) float64 { return float64(t) * 1e-9 }

// duration converts seconds to a span, rounded to the nearest nanosecond; it saturates.
func duration(s float64) time.Duration {
	ns := math.Round(s * 1e9)
	if ns >= math.MaxInt64 {
		return math.MaxInt64
	}
	return time.Duration(ns)
}

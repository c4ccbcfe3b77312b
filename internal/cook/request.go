package cook

import (
	"time"

	"bagwatch/internal/food"
	"bagwatch/internal/quantity"
)

// StartKind says how cold the piece was when its bag went into the water.
type StartKind string

// The start states a cook can name. An empty kind means "not said": a fridge start is assumed and shown.
const (
	StartFridge StartKind = "fridge" // 5 °C
	StartRoom   StartKind = "room"   // 20 °C
	StartFrozen StartKind = "frozen" // −18 °C
	StartGiven  StartKind = "given"  // Request.StartAt
)

// BathKind says how the water moves.
type BathKind string

// Circulating water is the default; a still pot transfers heat more slowly (see films).
const (
	BathCirculating BathKind = "circulating"
	BathStill       BathKind = "still"
)

// ShapeOverride is the shape a cook insists on.
type ShapeOverride string

// The shapes a cook can name. Empty means the food's own.
const (
	ShapeOwn      ShapeOverride = ""
	ShapeSlab     ShapeOverride = "slab"
	ShapeBlock    ShapeOverride = "block"
	ShapeCylinder ShapeOverride = "cylinder"
	ShapeSphere   ShapeOverride = "sphere"
)

// Request is what a cook asked, in quantities. The zero value of every field means "not said".
type Request struct {
	Food food.ID
	// Pieces is the number of pieces; 0 means not said.
	Pieces int
	// Mass is the total of all pieces when MassEach is false, of one piece when it is true.
	Mass     quantity.Mass
	MassEach bool
	// Thickness is the full thickness or diameter of the fattest point.
	Thickness quantity.Length
	// ThicknessVague is set when the cook said "about": it widens the careful estimate.
	ThicknessVague bool
	Shape          ShapeOverride
	Start          StartKind
	StartAt        quantity.Temperature
	Doneness       food.Doneness
	// Setpoint is the water temperature asked for; valid when HasSetpoint.
	Setpoint    quantity.Temperature
	HasSetpoint bool
	// Pasteurised asks for a plan that is pasteurised before it is ready, whatever the food.
	Pasteurised bool
	// AtRisk says that somebody at higher risk will eat it (safety.go).
	AtRisk bool
	// NonIntact says that the meat was minced, pinned, tenderised, injected, rolled or stuffed.
	NonIntact bool
	// Cured says that it was brined, cured, sugared or salted ahead: no claim is made then.
	Cured bool
	// Span is how long the cook means to leave it in; 0 means not said.
	Span time.Duration
	// Country is the two-letter code whose minimum temperatures are printed for at-risk guests; empty prints all known.
	Country string

	// The bath, from settings.
	Bath     BathKind
	Altitude quantity.Length
	// ThermometerError is how far the bath's thermometer may be off; 0 means the default of 0.5 K.
	ThermometerError quantity.Difference
}

package cook

import (
	"time"

	"bagwatch/internal/food"
	"bagwatch/internal/heat"
	"bagwatch/internal/lethality"
	"bagwatch/internal/quantity"
)

// ThicknessFrom says where a plan's thickness came from.
type ThicknessFrom string

// The sources of a thickness, best first.
const (
	ThicknessGiven   ThicknessFrom = "given"
	ThicknessMass    ThicknessFrom = "mass"
	ThicknessTypical ThicknessFrom = "typical"
)

// SetpointFrom says where a plan's setpoint came from.
type SetpointFrom string

// The sources of a setpoint.
const (
	SetpointGiven    SetpointFrom = "given"
	SetpointDoneness SetpointFrom = "doneness"
	SetpointDefault  SetpointFrom = "default"
)

// Moment is a time after the bag goes in that may never come.
type Moment struct {
	After time.Duration
	// Never is true when it does not happen within Horizon.
	Never bool
}

// By reports whether the moment has come at t.
func (m Moment) By(t time.Duration) bool { return !m.Never && m.After <= t }

// Curve is a core history as a plan carries it.
type Curve interface {
	Core(time.Duration) quantity.Temperature
	Surface(time.Duration) quantity.Temperature
	Mean(time.Duration) quantity.Temperature
}

// Geometry is the piece as one estimate sees it.
type Geometry struct {
	Shape heat.Shape
	Film  heat.Film
	// Bath is the water temperature of the estimate: the setpoint, or less for the careful one.
	Bath quantity.Temperature
}

// Kill is what one published rule says of the careful history.
type Kill struct {
	Rule    lethality.Rule
	Reached Moment
	// LogAtReady is the log10 reduction when the plan says ready.
	LogAtReady float64
}

// Sear is how long each face meets the pan after the bath. Times of the trade: common practice, no source.
type Sear struct {
	PerSideMin, PerSideMax time.Duration
	ChillMin, ChillMax     time.Duration
	Rest                   time.Duration
}

// Serve says how the food may be eaten at its ready time.
type Serve string

// The ways a ready plan may be served.
const (
	// ServePasteurised: every rule was reached by the ready time.
	ServePasteurised Serve = "pasteurised"
	// ServeRare: an intact piece, eaten before it is pasteurised; its surface needs the sear.
	ServeRare Serve = "rare"
	// ServeLightly: fish, shellfish, duck or soft egg, lightly cooked.
	ServeLightly Serve = "lightly-cooked"
	// ServePlant: vegetables and fruit, which have no target to reach.
	ServePlant Serve = "plant"
)

// Plan is the whole answer of the shared model for one request.
type Plan struct {
	Request Request // as understood, with defaults still unset
	Food    food.Food

	Pieces        int
	Mass          quantity.Mass // total; 0 when unknown
	Thickness     quantity.Length
	ThicknessFrom ThicknessFrom
	Guessed       bool // the thickness was not measured
	Start         StartKind
	StartAt       quantity.Temperature
	Spent         time.Duration // charged before immersion, for a warm start
	Safety        food.Safety   // the food's own class, or the non-intact one
	Doneness      food.Doneness // empty when only a setpoint was given and it falls in no range
	Setpoint      quantity.Temperature
	SetpointFrom  SetpointFrom

	Likely, Careful           Geometry
	LikelyCurve, CarefulCurve Curve

	CoreReached time.Duration // likely: core within 1 K of the bath
	CoreCareful Moment        // careful: core within 0.5 K of the careful bath
	ComeUp      Moment        // careful: core through the growth zone
	Pasteurised Moment        // careful: the last of Kills
	Kills       []Kill

	Ready      time.Duration
	ReadyLate  time.Duration // Ready if a guessed thickness is 15 % more; equals Ready otherwise
	LastCall   time.Duration
	BestBefore time.Duration
	Limit      time.Duration
	Serve      Serve
	Sear       *Sear

	Cautions    []Note
	Assumptions []Note

	softened  float64
	raised    quantity.Temperature // the bath was set higher than Setpoint on the way
	slow      heat.Material        // of the careful estimate
	quick     heat.Material        // of the likely one
	lateCore  Moment
	lateCurve Curve
	drier     bool
}

// LateThickness is the thickness that the late end of a guess stands for.
func (p *Plan) LateThickness() quantity.Length {
	if p.Guessed {
		return p.Thickness * guess
	}
	return p.Thickness
}

// NoteID names a caution or an assumption; its words live in the locales.
type NoteID string

// Note is a caution or an assumption with its figures. Unused fields are zero.
type Note struct {
	ID          NoteID
	Temperature quantity.Temperature
	Length      quantity.Length
	LengthMax   quantity.Length
	Mass        quantity.Mass
	Span        time.Duration
	Allowed     time.Duration // a limit beside Span
	Count       int
	Ref         string // a food, doneness or country id
	Source      string // where the figure comes from
}

package kitchen

import (
	"math"
	"time"

	"bagwatch/internal/cook"
	"bagwatch/internal/quantity"
)

// BagID names a bag within its chat. Ids are small and not given out again until 65,535 others were.
type BagID uint16

// State is where a bag is on its way.
type State uint8

// The states. Warming to Past follow from the clock, see [Bag.StateAt].
const (
	Warming  State = iota
	Ready          // from Times.Ready
	LastCall       // from Times.LastCall
	Past           // from Times.BestBefore
	Doubtful       // a rule refuses it now: see Bag.Trouble
	Pulled
	Dropped
)

// Times are what the shared model said of a bag, rounded as they are printed: what must have happened
// up, what must not have happened down. Ready ≤ LastCall ≤ BestBefore.
type Times struct {
	// Early is when it may be ready at the earliest; it differs from Ready when the thickness was guessed.
	Early      time.Time
	Ready      time.Time
	LastCall   time.Time
	BestBefore time.Time
	// Limit is when it is well past its best, or may no longer be eaten unpasteurised.
	Limit time.Time
	// Pasteurised is when every rule is reached; zero when that never happens at this setpoint.
	Pasteurised time.Time
	Serve       cook.Serve
}

// Bag is one bag in the bath, or one that was.
type Bag struct {
	ID BagID
	// Request is what is in it, with everything decided: planning it again gives the same times.
	Request cook.Request
	Name    string // what people call it; empty for the food's own name
	Starter Who
	Started time.Time
	Times   Times

	// Closed is when it was pulled or dropped, by whom; zero while it is in the bath.
	Closed   time.Time
	ClosedBy Who
	Thrown   bool // dropped, not pulled

	// Trouble is the rule that refuses the bag as things are now; empty while none does. From Unsafe on
	// the bag is doubtful.
	Trouble cook.RuleID
	Unsafe  time.Time

	// Told is the newest state that people were told of: Warming to Past.
	Told State
	// ToldTrouble says that people were told of the trouble.
	ToldTrouble bool
}

// TroubleUnknown stands for a bag whose times could not be computed again.
const TroubleUnknown cook.RuleID = "unknown"

// Undo is how long a pull can be taken back.
const Undo = 2 * time.Minute

// Running tells whether the bag is in the bath.
func (b Bag) Running() bool { return b.Closed.IsZero() }

// StateAt is the bag's state at a moment.
func (b Bag) StateAt(now time.Time) State {
	switch {
	case !b.Running() && b.Thrown:
		return Dropped
	case !b.Running():
		return Pulled
	case b.Trouble != "" && !now.Before(b.Unsafe):
		return Doubtful
	}
	return b.Times.stateAt(now)
}

func (t Times) stateAt(now time.Time) State {
	switch {
	case now.Before(t.Ready):
		return Warming
	case now.Before(t.LastCall):
		return Ready
	case now.Before(t.BestBefore):
		return LastCall
	}
	return Past
}

// at is when a state begins.
func (t Times) at(s State) time.Time {
	switch s {
	case Ready:
		return t.Ready
	case LastCall:
		return t.LastCall
	}
	return t.BestBefore
}

// PasteurisedBy tells whether a published rule counts the bag as pasteurised at a moment.
func (b Bag) PasteurisedBy(now time.Time) bool {
	return !b.Times.Pasteurised.IsZero() && !now.Before(b.Times.Pasteurised) && b.Trouble == ""
}

// risky tells whether the bag must not be left: it goes past its best before it is pasteurised.
func (b Bag) risky() bool {
	return b.Times.Serve != cook.ServePlant && !b.PasteurisedBy(b.Times.BestBefore)
}

// MayManage tells whether somebody may drop, move, rename or change the bag. Anybody may pull it.
func (b Bag) MayManage(by Actor) bool {
	return by.Admin || (by.ID != 0 && by.ID == b.Starter.ID)
}

// UndoUntil is until when a pull can be taken back; zero for a bag that was not pulled.
func (b Bag) UndoUntil() time.Time {
	if b.Running() || b.Thrown {
		return time.Time{}
	}
	return b.Closed.Add(Undo)
}

// NewBag is a bag as planned, in the water since started.
func NewBag(plan *cook.Plan, started time.Time, starter Who, name string) (Bag, error) {
	r, err := resolved(plan)
	if err != nil {
		return Bag{}, err
	}
	b := Bag{Request: r, Name: clip(name, MaxName), Starter: starter.clip(), Started: up(started)}
	b.Times = timesOf(plan, b.Started)
	return b, nil
}

// resolved is the plan's request with everything decided, so that later defaults do not change a bag.
func resolved(p *cook.Plan) (cook.Request, error) {
	r := p.Request
	r.Pieces, r.Mass, r.MassEach = p.Pieces, p.Mass, false
	r.Thickness, r.ThicknessVague = p.Thickness, p.Guessed
	r.Start = p.Start
	r.Setpoint, r.HasSetpoint, r.Doneness = p.Setpoint, true, p.Doneness
	r.Span = 0 // how long the cook meant to leave it is answered by now
	return settle(r)
}

// timesOf lays a plan's printed times on the clock, so that no news comes before the time a cook was told.
func timesOf(p *cook.Plan, started time.Time) Times {
	w := p.Printed()
	t := Times{
		Early: started.Add(w.Early), Ready: started.Add(w.Ready),
		LastCall: started.Add(w.LastCall), BestBefore: started.Add(w.BestBefore),
		Limit: started.Add(max(w.BestBefore, cook.Sooner(p.Limit, true))), Serve: p.Serve,
	}
	if !p.Pasteurised.Never && p.Pasteurised.After > 0 {
		t.Pasteurised = started.Add(cook.Later(p.Pasteurised.After, true))
	}
	return t
}

// shift moves all times by as much as the start moved.
func (t Times) shift(by time.Duration) Times {
	for _, at := range []*time.Time{&t.Early, &t.Ready, &t.LastCall, &t.BestBefore, &t.Limit, &t.Pasteurised} {
		if !at.IsZero() {
			*at = at.Add(by)
		}
	}
	return t
}

// Steps that figures are stored in: 0.01 K and 0.01 mm, 0.1 g, 0.1 l.
const (
	centi = 100
	deci  = 10

	perMillimetre = 100 // steps
	perGram       = 10
)

// exact forgives the rounding of binary fractions when a figure is brought to a step.
const exact = 1e-6

// Adding zero turns a negative zero into the usual one.
func floorTo(x float64, perUnit float64) float64 { return math.Floor(x*perUnit+exact)/perUnit + 0 }
func ceilTo(x float64, perUnit float64) float64  { return math.Ceil(x*perUnit-exact)/perUnit + 0 }

// Bounds of a request that is kept. The model's own are narrower; these bound the stored form.
const (
	maxPieces                         = 10_000
	maxMass      quantity.Mass        = 1000
	maxThickness quantity.Length      = 10
	maxHeat      quantity.Temperature = 300
	maxSpan                           = 60 * 24 * time.Hour
	maxFood                           = 40 // bytes of an id
)

// settle checks a request and brings its figures to the steps they are stored in, each to the safe side:
// thicker, cooler water, a cooler start, a worse thermometer.
func settle(r cook.Request) (cook.Request, error) {
	switch {
	case !word(string(r.Food), maxFood), !word(string(r.Doneness), maxFood), !word(r.Country, maxCode),
		r.Pieces < 0, r.Pieces > maxPieces,
		!(r.Mass >= 0 && r.Mass <= maxMass), !(r.Thickness >= 0 && r.Thickness <= maxThickness),
		!(math.Abs(float64(r.StartAt)) <= float64(maxHeat)), !(math.Abs(float64(r.Setpoint)) <= float64(maxHeat)),
		r.Span < 0, r.Span > maxSpan,
		!(r.Altitude >= minAltitude && r.Altitude <= maxAltitude),
		!(r.ThermometerError >= 0 && r.ThermometerError <= maxError),
		code(starts, r.Start) < 0, code(baths, r.Bath) < 0, code(shapes, r.Shape) < 0:
		return r, ErrValue
	}
	if !r.HasSetpoint {
		r.Setpoint = 0
	}
	if r.Start != cook.StartGiven {
		r.StartAt = 0
	}
	r.Mass = quantity.Grams(ceilTo(r.Mass.Grams(), perGram))
	r.Thickness = quantity.Millimetres(ceilTo(r.Thickness.Millimetres(), perMillimetre))
	r.StartAt = quantity.Temperature(floorTo(float64(r.StartAt), centi))
	r.Setpoint = quantity.Temperature(floorTo(float64(r.Setpoint), centi))
	r.Altitude = quantity.Length(ceilTo(float64(r.Altitude), 1))
	r.ThermometerError = quantity.Difference(ceilTo(float64(r.ThermometerError), centi))
	r.Span = quantity.CeilTo(r.Span, time.Second)
	return r, nil
}

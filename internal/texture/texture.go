// Package texture tells when food in a water bath is done, how long it stays at its best
// and when it is past it.
//
// Temperatures are °C, spans are time.Duration counted from immersion. A window has four
// marks in order: ready, last call, best before and the quality limit. They say nothing
// about safety except that ready can be made to wait for the pasteurised time and that
// nothing in a bath below 54.4 °C is held beyond the time-control limit.
//
// The method differs by [Class]: most are closed formulas in the nominal setpoint and the
// time the core was reached; vegetables and eggs integrate a first-order rate over the
// core curve. Anchors are published measurements; most slopes and all spans of the windows
// are fits to them or common practice, and each [Window] names which ([Basis]).
//
// Start with [Of]; for an egg at a given moment, [StateOf].
package texture

import (
	"errors"
	"fmt"
	"time"

	"bagwatch/internal/quantity"
)

// Class is a class of food with one texture rule.
type Class string

// The classes.
const (
	ClassTender  Class = "tender"  // beef, lamb, venison; veal that may be served rare
	ClassPork    Class = "pork"    // loin, chop, tenderloin; veal
	ClassMinced  Class = "minced"  // patty, sausage: keeps as pork does
	ClassGrained Class = "grained" // flank, skirt, hanger, tri-tip, lamb leg and shoulder
	ClassBreast  Class = "breast"  // poultry; duck breast too
	ClassDark    Class = "dark"    // chicken thigh, leg, wing
	ClassFish    Class = "fish"    // scallop, shrimp, lobster too
	ClassTough   Class = "tough"   // what wants many hours; octopus and squid too
	ClassPlant   Class = "plant"   // vegetables and fruit
	ClassEgg     Class = "egg"     // in the shell
	ClassCustard Class = "custard" // a base of eggs and milk in a bag or jar
)

// Softness asked of vegetables: the share of firmness that is gone at the core.
const (
	Firm     = 0.75 // al dente
	Softened = 0.90 // tender
)

// Curve is the likely temperature history at one point of the food, from immersion on.
type Curve interface {
	Core(t time.Duration) quantity.Temperature
}

// Input is what a window is computed from.
type Input struct {
	Class       Class
	Setpoint    quantity.Temperature // nominal, 30 to 100 °C
	CoreReached time.Duration        // likely time until the core is within 1 K of the bath

	// Pasteurised is the careful pasteurised time; if HasPasteurised, ready waits for it.
	// ClassPork, ClassMinced and ClassDark may never be served before it and are refused without it.
	Pasteurised    time.Duration
	HasPasteurised bool

	Curve Curve // plants, eggs: the core
	White Curve // eggs from 70 °C: the white half way out, see [WhiteOf]; nil takes Curve, which is later

	T60             time.Duration // tough cuts: slow step at 60 °C, > 0
	SofteningFactor float64       // plants: softening rate in units of carrot, > 0
	Softness        float64       // plants: Firm or Softened
}

// Window is when food is good. Ready ≤ LastCall ≤ BestBefore ≤ Limit always holds.
type Window struct {
	Ready      time.Duration
	LastCall   time.Duration
	BestBefore time.Duration
	Limit      time.Duration // quality limit: well past its best from here
	Basis      Basis
	Drier      bool // pasteurised fish: drier than its best
}

// Errors of [Of]; test with errors.Is.
var (
	// ErrInput reports an input out of its domain.
	ErrInput = errors.New("texture: input out of range")
	// ErrUnpasteurised reports food that may not be served before it is pasteurised, with no
	// pasteurised time given.
	ErrUnpasteurised = errors.New("texture: needs a pasteurised time")
	// ErrTooCool reports vegetables that will not turn tender in water this cool: see [TenderFrom].
	ErrTooCool = errors.New("texture: not tender below 80 °C")
	// ErrNoWindow reports that no moment is right: pasteurised only when past its best, or
	// one of the two below.
	ErrNoWindow = errors.New("texture: no window")
	// ErrNever reports a texture that is not reached within [Horizon]. It is an ErrNoWindow.
	ErrNever = fmt.Errorf("%w: not reached in time", ErrNoWindow)
	// ErrTooLong reports food that is not ready before the longest time allowed in water
	// below 54.4 °C. It is an ErrNoWindow.
	ErrTooLong = fmt.Errorf("%w: ready only after the longest time allowed", ErrNoWindow)
)

// Horizon is how far vegetables and eggs are followed.
const Horizon = 72 * time.Hour

// Below 54.4 °C (130 °F, first row of USDA FSIS 2021 Appendix A) food is held at most 4 h
// from immersion (FDA Food Code 3-501.19(B)), fish at most 2 h (FDA Fish Guide App. 4).
const (
	coolWater    quantity.Temperature = 54.4
	coolHold                          = 4 * time.Hour
	coolFishHold                      = 2 * time.Hour
)

// TenderFrom is the coolest water in which vegetables are promised tender: 90 % softened
// takes 89 min for carrot at 80 °C and hours below. House rule.
const TenderFrom quantity.Temperature = 80

// Of computes the window. It never returns a window whose marks are out of order: the
// error then says why.
func Of(in Input) (Window, error) {
	if !(in.Setpoint >= 30 && in.Setpoint <= 100) || in.CoreReached < 0 || in.CoreReached > Horizon ||
		in.HasPasteurised && in.Pasteurised < 0 {
		return Window{}, fmt.Errorf("%w: setpoint %.1f °C, core reached %v, pasteurised %v",
			ErrInput, float64(in.Setpoint), in.CoreReached, in.Pasteurised)
	}
	if !in.HasPasteurised {
		switch in.Class {
		case ClassPork, ClassMinced, ClassDark:
			return Window{}, fmt.Errorf("%w: %s", ErrUnpasteurised, in.Class)
		}
	}
	w, err := marks(in)
	if err != nil {
		return Window{}, err
	}
	return finish(in, w)
}

// marks finds ready, best before and limit by class.
func marks(in Input) (Window, error) {
	switch in.Class {
	case ClassTender, ClassPork, ClassMinced:
		return tender(in), nil
	case ClassGrained:
		return grained(in), nil
	case ClassBreast:
		return breast(in), nil
	case ClassDark:
		return dark(in), nil
	case ClassFish:
		return fish(in), nil
	case ClassTough:
		return tough(in)
	case ClassPlant:
		return plant(in)
	case ClassEgg:
		return egg(in)
	case ClassCustard:
		return custard(in), nil
	}
	return Window{}, fmt.Errorf("%w: class %q", ErrInput, in.Class)
}

// Last call comes 15 % of the window before its end, at least 5 and at most 45 min. House
// rule: time to reach the kitchen, and no earlier than it helps.
const (
	callShare = 0.15
	callLeast = 5 * time.Minute
	callMost  = 45 * time.Minute
)

// finish caps the marks in cool water, sets the last call and checks the order.
func finish(in Input, w Window) (Window, error) {
	if in.Setpoint < coolWater {
		longest := coolHold
		if in.Class == ClassFish {
			longest = coolFishHold
		}
		if w.Ready > longest {
			return Window{}, fmt.Errorf("%w: ready after %v, %v allowed at %.1f °C",
				ErrTooLong, w.Ready.Round(time.Minute), longest, float64(in.Setpoint))
		}
		w.BestBefore, w.Limit = min(w.BestBefore, longest), min(w.Limit, longest)
	}
	if w.BestBefore < w.Ready || w.Limit < w.BestBefore {
		return Window{}, fmt.Errorf("%w: %s ready %v, best before %v, limit %v",
			ErrNoWindow, in.Class, w.Ready, w.BestBefore, w.Limit)
	}
	w.LastCall = LastCall(w.Ready, w.BestBefore)
	return w, nil
}

// LastCall is when to call the food in, given the ends of its window: ready ≤ bestBefore.
func LastCall(ready, bestBefore time.Duration) time.Duration {
	ahead := time.Duration(callShare * float64(bestBefore-ready))
	return max(ready, bestBefore-min(callMost, max(callLeast, ahead)))
}

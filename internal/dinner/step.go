package dinner

import (
	"slices"
	"time"

	"bagwatch/internal/cook"
	"bagwatch/internal/quantity"
)

// Kind is what a step asks of the cook.
type Kind string

// The kinds of step, in the order in which they stand at one moment.
const (
	StepChange Kind = "change" // heat the water of Bath on to Temperature
	StepIce    Kind = "ice"    // cool the water of Bath to Temperature with Ice
	StepCool   Kind = "cool"   // let the water of Bath cool to Temperature: there is no ice
	StepHeat   Kind = "heat"   // heat the water of Bath to Temperature, from cold
	StepOut    Kind = "out"    // out of the bath into ice water, until it is cold through
	StepPull   Kind = "pull"   // out of the bath, for good
	StepChill  Kind = "chill"  // into ice water, before the sear
	StepIn     Kind = "in"     // into the bath
	StepReheat Kind = "reheat" // back into the bath, cold
	StepSear   Kind = "sear"
	StepRest   Kind = "rest"
	StepServe  Kind = "serve"
)

var kindOrder = []Kind{StepChange, StepIce, StepCool, StepHeat, StepOut, StepPull, StepChill, StepIn, StepReheat, StepSear, StepRest, StepServe}

// Key names a step within its dinner and stays the same when the dinner is replanned.
type Key struct {
	Kind  Kind
	Dish  int // −1 when it is about water or about all
	Water int // the bath whose water it is about, −1 when it is about a dish or about all
	N     int // counts what is done to one bath's water
}

// Owner is who has taken a step: an id and a name of the kitchen. The zero Owner is nobody.
type Owner struct {
	ID   int64
	Name string
}

// Step is one thing to do at a time.
type Step struct {
	Key
	Bath        int // −1 when it is at no bath
	At          time.Time
	Until       time.Time // when it is over: the water is hot, the sear is done; At for a moment
	Temperature quantity.Temperature
	Ice         quantity.Mass // at least; half as much again is wise
	Sear        *cook.Sear
	Reason      ReasonID // why, when it is not plain
	Owner       Owner
	Done        bool // has happened, at At
}

// sorted orders steps by time, then by kind, dish and bath.
func sorted(steps []Step) []Step {
	slices.SortStableFunc(steps, func(a, b Step) int {
		if c := a.At.Compare(b.At); c != 0 {
			return c
		}
		if c := slices.Index(kindOrder, a.Kind) - slices.Index(kindOrder, b.Kind); c != 0 {
			return c
		}
		if a.Dish != b.Dish {
			return a.Dish - b.Dish
		}
		return a.Bath - b.Bath
	})
	return steps
}

// Take gives a step to a person, or back with the zero Owner; false when there is no such step or it is
// done. The schedule that is passed is not changed.
func Take(s Schedule, key Key, who Owner) (Schedule, bool) {
	i := slices.IndexFunc(s.Steps, func(st Step) bool { return st.Key == key })
	if i < 0 || s.Steps[i].Done {
		return s, false
	}
	s.Steps = slices.Clone(s.Steps)
	s.Steps[i].Owner = who
	return s, true
}

// Next lists the steps that are not done, first the earliest.
func (s Schedule) Next() []Step {
	var left []Step
	for _, st := range s.Steps {
		if !st.Done {
			left = append(left, st)
		}
	}
	return left
}

// Step finds a step by its key.
func (s Schedule) Step(key Key) (Step, bool) {
	i := slices.IndexFunc(s.Steps, func(st Step) bool { return st.Key == key })
	if i < 0 {
		return Step{}, false
	}
	return s.Steps[i], true
}

package lethality

import (
	"time"

	"bagwatch/internal/quantity"
)

// CoolingStage is one leg of a cooling limit: from when the hottest point falls through
// From until it is at To, at most Within.
type CoolingStage struct {
	From, To quantity.Temperature
	Within   time.Duration
}

// CoolingRule is a published cooling limit; all its stages must hold.
type CoolingRule struct {
	ID     string
	Stages [2]CoolingStage
	Source string
}

// FoodCodeCooling is 57 → 21 °C in 2 h and 57 → 5 °C in 6 h altogether.
func FoodCodeCooling() CoolingRule {
	return CoolingRule{ID: "food-code", Source: "FDA Food Code 3-501.14(A)", Stages: [2]CoolingStage{
		{57, 21, 2 * time.Hour}, {57, 5, 6 * time.Hour}}}
}

// AppendixBCooling is option 1 of Appendix B for any cooked product: 130 → 80 °F in 1.5 h
// and 80 → 40 °F in 5 h more, for at most 1 log10 growth of C. perfringens.
func AppendixBCooling() CoolingRule {
	return CoolingRule{ID: "fsis-appendix-b-1", Source: "USDA FSIS 1999 Appendix B guideline 1", Stages: [2]CoolingStage{
		{54.4, 26.7, 90 * time.Minute}, {26.7, 4.4, 5 * time.Hour}}}
}

// coolingStep is the distance of looks at a cooling curve; passing a mark is dated a step
// early for the start and a step late for the end.
const coolingStep = time.Minute

// Met reports whether the hottest point of the food, over time since chilling began, meets
// every stage; food already below From starts its clock at zero. It errs by up to two
// minutes on the safe side. What is not a temperature counts as hot.
func (r CoolingRule) Met(hottest func(time.Duration) quantity.Temperature) bool {
	for _, s := range r.Stages {
		var start, end time.Duration
		for t := time.Duration(0); ; t += coolingStep {
			v := hottest(t)
			if !(v <= s.From) {
				start = t // still above From
			}
			if v <= s.To && v.Valid() {
				end = t
				break
			}
			if t-start > s.Within || t > coolingGiveUp {
				return false
			}
		}
		if end-start > s.Within {
			return false
		}
	}
	return true
}

// coolingGiveUp bounds the search for a mark that is never passed.
const coolingGiveUp = 48 * time.Hour

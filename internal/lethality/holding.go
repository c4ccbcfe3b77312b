package lethality

import (
	"time"

	"bagwatch/internal/quantity"
)

// Longest times from immersion to the last bite for food in a bath below 54.4 °C, where no
// kill is counted.
const (
	// UnpasteurisedHold is the time-control limit of FDA Food Code 3-501.19(B): 4 h.
	UnpasteurisedHold = 4 * time.Hour
	// ShortUnpasteurisedHold is for fish, thawing in the bag included, after FDA Fish Guide
	// App. 4 (2 h between 10 and 57.2 °C), and by house rule for at-risk eaters.
	ShortUnpasteurisedHold = 2 * time.Hour
)

// HoldLimit is the longest time from immersion for a bath at the nominal setpoint.
// Unlimited (false) from 54.4 °C up, where other rules speak.
func HoldLimit(setpoint quantity.Temperature, fish, atRisk bool) (time.Duration, bool) {
	switch {
	case setpoint >= GrowthHigh:
		return 0, false
	case fish || atRisk || !setpoint.Valid():
		return ShortUnpasteurisedHold, true
	default:
		return UnpasteurisedHold, true
	}
}

// SagVerdict is what to do with pasteurised food that has been below 54.4 °C for a while.
type SagVerdict string

// The verdicts on a sag.
const (
	CarryOn SagVerdict = "carry-on" // warm it up again, or chill it
	EatNow  SagVerdict = "eat-now"
	Discard SagVerdict = "discard" // spores may have grown out; reheating does not help
)

// Limits of a sag: the 2 hour/4 hour rule. Source: Food Standards Code practice (NSW Food
// Authority guideline summary), stated there for 5 to 60 °C; the split is from memory.
const (
	SagCarryOn = 2 * time.Hour
	SagDiscard = 4 * time.Hour
)

// Sag judges the total time below 54.4 °C of food that had been pasteurised. The limits
// themselves count as passed, which is the safe side.
func Sag(below time.Duration) SagVerdict {
	switch {
	case below < SagCarryOn:
		return CarryOn
	case below < SagDiscard:
		return EatNow
	default:
		return Discard
	}
}

// Keep says how food may be kept cold at home.
type Keep struct {
	Days   int // whole days at or below Below; 0 means eat the same day
	Below  quantity.Temperature
	Source string
}

// Keeping is the home limit. Only pasteurised, quickly chilled, unopened bags keep; the 10
// or 30 days of supervised plants are never given, because they rest on temperature records
// (FDA Food Code 3-502.12) a home refrigerator does not make.
func Keeping(pasteurised, fish bool) Keep {
	switch {
	case !pasteurised:
		return Keep{Days: 0, Below: 4.4, Source: "house rule: eat the same day"}
	case fish:
		return Keep{Days: 2, Below: 3, Source: "house rule, after non-proteolytic C. botulinum growing from 3.3 °C (Hauschild 1989) and USDA FSIS 2 days for raw fish; else freeze"}
	default:
		return Keep{Days: 4, Below: 4.4, Source: "USDA FSIS / NAL leftovers advice: 3 to 4 days"}
	}
}

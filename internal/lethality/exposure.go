package lethality

import (
	"math"
	"time"

	"bagwatch/internal/quantity"
)

// The band in which heating food feeds bacteria: 50 to 130 °F, aimed at the toxin of
// Staphylococcus aureus and, above 120 °F, at Bacillus cereus. Source: USDA FSIS 2021,
// FSIS-GD-2021-14 p. 14, 23-24.
const (
	GrowthLow  quantity.Temperature = 10
	GrowthHigh quantity.Temperature = 54.4
)

// ComeUpLimit is the longest total time in that band while heating, which keeps growth of
// S. aureus to about 2 log10. Same source. Its toxin survives cooking, so a longer cook
// does not mend it. For a provably intact piece the surface may be taken instead (p. 24).
const ComeUpLimit = 6 * time.Hour

// Constants of [TimeBetween].
const (
	bandEdge     = 0.1  // K by which the band is widened on both sides; covers the chord error
	chordMiss    = 0.05 // K, largest miss of a straight line at the middle of a step
	longestStep  = 240.0
	shortestStep = 2.0 // s
)

// TimeBetween is how long temp lies from low to high, both included, up to until. The node
// is the caller's: growth is judged at the worst one, which in a cooling bath is the
// surface. Infinite bounds are allowed.
//
// The history is followed by straight lines that miss it by at most 0.05 K, with a look
// every two minutes or oftener, and the band is widened by 0.1 K on either side: the answer
// is never short, and long by what the node takes to cross that tenth. What is not a
// temperature counts as inside.
func TimeBetween(temp func(time.Duration) quantity.Temperature, until time.Duration, low, high quantity.Temperature) time.Duration {
	lo, hi := float64(low)-bandEdge, float64(high)+bandEdge
	read := func(s float64) float64 {
		if t := temp(time.Duration(s * 1e9)); t.Valid() {
			return float64(t)
		}
		if math.IsInf(lo, -1) {
			return hi
		}
		return lo
	}
	end, inside := until.Seconds(), 0.0
	a, h, ta := 0.0, 60.0, read(0)
	for a < end {
		h = min(h, longestStep, end-a)
		tb, tm := read(a+h), read(a+h/2)
		miss := math.Abs(tm - (ta+tb)/2)
		for miss > chordMiss && h > shortestStep {
			h, tb = h/2, tm
			tm = read(a + h/2)
			miss = math.Abs(tm - (ta+tb)/2)
		}
		part := (share(ta, tm, lo, hi) + share(tm, tb, lo, hi)) / 2
		if miss > chordMiss && part > 0 { // a jump: all of the shortest step counts
			part = 1
		}
		inside += h * part
		a, ta = a+h, tb
		h *= min(2, max(0.7, 0.8*math.Sqrt(chordMiss/max(miss, 1e-9))))
	}
	return min(max(until, 0), seconds(inside))
}

// share is the part of the straight line from t0 to t1 that lies from lo to hi.
func share(t0, t1, lo, hi float64) float64 {
	if t0 > t1 {
		t0, t1 = t1, t0
	}
	if t1 < lo || t0 > hi {
		return 0
	}
	if t0 >= lo && t1 <= hi { // also a level line, which has no slope to divide by
		return 1
	}
	return (min(t1, hi) - max(t0, lo)) / (t1 - t0)
}

// Exposure is the time temp spends in the growth band up to until. The clock runs from
// when the piece left the cold: shift temp to begin there.
func Exposure(temp func(time.Duration) quantity.Temperature, until time.Duration) time.Duration {
	return TimeBetween(temp, until, GrowthLow, GrowthHigh)
}

// ComeUpVerdict judges a time in the growth band.
type ComeUpVerdict string

// The verdicts on a come-up.
const (
	ComeUpFine   ComeUpVerdict = "fine"
	ComeUpWarn   ComeUpVerdict = "warn"   // over the limit at the core of an intact joint
	ComeUpRefuse ComeUpVerdict = "refuse" // over the limit in anything else
)

// ComeUp judges the time spent in the growth band while heating.
func ComeUp(exposed time.Duration, intact bool) ComeUpVerdict {
	switch {
	case exposed <= ComeUpLimit:
		return ComeUpFine
	case intact:
		return ComeUpWarn
	default:
		return ComeUpRefuse
	}
}

// Exposure limits for raw fish held warm. Source: FDA Fish and Fishery Products Hazards
// and Controls Guidance, Appendix 4 (summary read): 2 h between 10 and 57.2 °C, or 4 h of
// which at most 2 h above 21.1 °C.
const (
	FishExposureHigh  quantity.Temperature = 57.2
	FishExposureMild  quantity.Temperature = 21.1
	FishExposureShort                      = 2 * time.Hour
	FishExposureLong                       = 4 * time.Hour
)

// FishExposed reports whether raw fish on this history stays within those limits.
func FishExposed(temp func(time.Duration) quantity.Temperature, until time.Duration) (within bool) {
	all := TimeBetween(temp, until, GrowthLow, FishExposureHigh)
	if all <= FishExposureShort {
		return true
	}
	return all <= FishExposureLong && TimeBetween(temp, until, FishExposureMild, FishExposureHigh) <= FishExposureShort
}

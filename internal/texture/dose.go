package texture

import (
	"math"
	"time"

	"bagwatch/internal/quantity"
)

// rate is a first-order rate at a temperature in °C, per minute.
type rate func(t float64) float64

// Constants of the quadrature: Simpson panels on which the fastest rate here (Ea 470
// kJ/mol) changes at most e-fold, good to 5e-4, except while next to nothing has happened.
const (
	halfPanelRise = 1.0  // K, largest change over half a panel
	longestPanel  = 10.0 // min: a bath that sags is looked at every five
	shortestPanel = 0.02 // min
	nothing       = 1e-5 // share of the first goal a coarse panel may add
)

// follow integrates r over c from immersion and writes into at the minutes at which the
// integral meets each of the ascending goals; it stops at the last goal or at end minutes
// and returns the integral there and how many goals were met.
func follow(c Curve, r rate, end float64, goals, at []float64) (sum float64, met int) {
	scale := 1.0
	if len(goals) > 0 {
		scale = goals[0]
	}
	t0, h := 0.0, 1.0
	v0 := temperature(c, 0)
	r0 := r(v0)
	for t0 < end {
		h = min(h, longestPanel, end-t0)
		v1, v2 := temperature(c, t0+h/2), temperature(c, t0+h)
		r1, r2 := r(v1), r(v2)
		for h > shortestPanel && max(math.Abs(v1-v0), math.Abs(v2-v1)) > halfPanelRise && max(r0, r1, r2)*h > nothing*scale {
			h, v2, r2 = h/2, v1, r1
			v1 = temperature(c, t0+h/2)
			r1 = r(v1)
		}
		add := h / 6 * (r0 + 4*r1 + r2)
		for met < len(goals) && sum+add >= goals[met] {
			at[met] = t0 + h*within(r0*h, r1*h, r2*h, goals[met]-sum)
			met++
		}
		sum += add
		if len(goals) > 0 && met == len(goals) {
			return sum, met
		}
		rise := max(math.Abs(v1-v0), math.Abs(v2-v1))
		t0, v0, r0 = t0+h, v2, r2
		h *= min(2, max(0.8, 0.8*halfPanelRise/max(rise, 1e-6)))
	}
	return sum, met
}

// within solves ∫₀ˢ of the parabola through f0, f1, f2 = need for s in [0, 1] by bisection
// to 1e-9; the parabola is positive but for rounding, so the integral grows.
func within(f0, f1, f2, need float64) float64 {
	b, q := -3*f0+4*f1-f2, 2*f0-4*f1+2*f2
	lo, hi := 0.0, 1.0
	for range 30 {
		s := (lo + hi) / 2
		if s*(f0+s*(b/2+s*q/3)) < need {
			lo = s
		} else {
			hi = s
		}
	}
	return hi
}

// temperature reads a curve; what is not a temperature counts as cold.
func temperature(c Curve, minutes float64) float64 {
	if t := c.Core(time.Duration(minutes * float64(time.Minute))); t.Valid() {
		return float64(t)
	}
	return 0
}

// arrhenius is exp(−(Ea/R)(1/T − 1/Tref)), Ea in kJ/mol, T in °C, Tref in K.
func arrhenius(t, ea, ref float64) float64 {
	return math.Exp(-ea / gas * (1/quantity.Temperature(t).Kelvin() - 1/ref))
}

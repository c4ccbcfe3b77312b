package texture

import (
	"fmt"
	"math"

	"bagwatch/internal/quantity"
)

// The marks of vegetables after ready, as shares of firmness lost at the core: common
// practice, no source.
const (
	plantBest  = 0.97
	plantLimit = 0.99
)

// softening is the first-order rate of carrot per minute. Source: Vu et al. 2004 in Lee
// S.H. 2017, Food Eng. Progress 21(4):303, table 1: k at 100 °C 0.222 /min, Ea 117.56
// kJ/mol, 80–110 °C; used down to 55 °C by extrapolation. Rupture-stress data are up to four
// times slower.
func softening(t float64) float64 { return 0.222 * arrhenius(t, 117.56, 373.15) }

// plant: the core has lost the share of its firmness that was asked for.
func plant(in Input) (Window, error) {
	if !(in.SofteningFactor > 0) || in.SofteningFactor > 100 || in.Curve == nil || in.Softness != Firm && in.Softness != Softened {
		return Window{}, fmt.Errorf("%w: vegetable with softening factor %g, softness %g", ErrInput, in.SofteningFactor, in.Softness)
	}
	if in.Softness == Softened && in.Setpoint < TenderFrom {
		return Window{}, fmt.Errorf("%w: %.1f °C", ErrTooCool, float64(in.Setpoint))
	}
	var goals, at [3]float64
	for i, s := range [3]float64{in.Softness, plantBest, plantLimit} {
		goals[i] = -math.Log(1-s) / in.SofteningFactor
	}
	if _, met := follow(in.Curve, softening, Horizon.Minutes(), goals[:], at[:]); met < len(goals) {
		return Window{}, fmt.Errorf("%w: vegetable at %.1f °C", ErrNever, float64(in.Setpoint))
	}
	return late(in, Window{Ready: quantity.Minutes(at[0]), BestBefore: quantity.Minutes(at[1]),
		Limit: quantity.Minutes(at[2]), Basis: PlantBasis}), nil
}

// late moves ready to the pasteurised time if that is waited for; the texture does not wait,
// so the window may close before it opens, which [Of] refuses.
func late(in Input, w Window) Window {
	if in.HasPasteurised {
		w.Ready = max(w.Ready, in.Pasteurised)
	}
	return w
}

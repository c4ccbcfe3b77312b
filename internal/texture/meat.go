package texture

import (
	"fmt"
	"math"
	"time"

	"bagwatch/internal/quantity"
)

// decades is 10^(−(S−at)/perDecade): how much slower a texture goes at S than at the
// reference.
func decades(s, at quantity.Temperature, perDecade quantity.Difference) float64 {
	return math.Pow(10, -float64(s-at)/float64(perDecade))
}

// after gives ready + m minutes.
func after(ready time.Duration, m float64) time.Duration { return ready + quantity.Minutes(m) }

// reached is the later of the core and the pasteurised time, if that is to be waited for.
func reached(in Input) time.Duration {
	if in.HasPasteurised {
		return max(in.CoreReached, in.Pasteurised)
	}
	return in.CoreReached
}

// gas is the gas constant in kJ/(mol K) to the digits the rates below were fitted with.
const gas = 8.314e-3

// shrink is how many times slower than at 58 °C (331.15 K) collagen shrinks at S. Source:
// Bertola et al. 1994 in Lee S.H. 2017, Food Eng. Progress 21(4):303, Ea 604.6 kJ/mol,
// 50–65 °C.
func shrink(s quantity.Temperature) float64 {
	return math.Exp(604.6 / gas * (1/s.Kelvin() - 1/331.15))
}

// tender: best for max(30, 180·10^(−(S−55)/20)) min, limit 480 times the same.
func tender(in Input) Window {
	ready, q := reached(in), decades(in.Setpoint, 55, 20)
	best := after(ready, max(30, 180*q))
	// From 79 °C up the least of 30 min outlasts the limit's own decay.
	return Window{Ready: ready, BestBefore: best, Limit: max(best, after(ready, 480*q)), Basis: TenderBasis}
}

// grained: three half-lives of the collagen shrink after the core, at most 4 h.
func grained(in Input) Window {
	q := decades(in.Setpoint, 55, 20)
	ready := after(in.CoreReached, min(240, 33*shrink(in.Setpoint)))
	if in.HasPasteurised {
		ready = max(ready, in.Pasteurised)
	}
	return Window{Ready: ready, BestBefore: after(ready, 480*q), Limit: after(ready, 960*q), Basis: GrainedBasis}
}

// breast: best for 150·10^(−(S−60)/20) min, limit twice that.
func breast(in Input) Window {
	ready, q := reached(in), decades(in.Setpoint, 60, 20)
	return Window{Ready: ready, BestBefore: after(ready, 150*q), Limit: after(ready, 300*q), Basis: BreastBasis}
}

// dark: q = 10^(−(S−70)/30); tender 45·q min after the core, best for 180·q, limit 300·q.
func dark(in Input) Window {
	q := decades(in.Setpoint, 70, 30)
	ready := max(in.Pasteurised, after(in.CoreReached, 45*q))
	return Window{Ready: ready, BestBefore: after(ready, 180*q), Limit: after(ready, 300*q), Basis: DarkBasis}
}

// fish: best until a tenth of the actin is lost after the core is reached, with a cap that
// stands for proteases in cool water.
func fish(in Input) Window {
	margin := fishMargin(in.Setpoint)
	if !in.HasPasteurised {
		t := in.CoreReached
		return Window{Ready: t, BestBefore: after(t, margin), Limit: after(t, 2*margin), Basis: FishBasis}
	}
	ready := reached(in)
	margin = max(15, margin)
	return Window{Ready: ready, BestBefore: after(ready, margin), Limit: after(ready, 2*margin), Basis: FishBasis, Drier: true}
}

// fishMargin is min(cap, −log10(0.9)·D) minutes with D = 130.1 min at 62 °C and z = 5.74 °C.
// Source: Skipnes et al. 2008, actin in cod. Caps: common practice, no source.
func fishMargin(s quantity.Temperature) float64 {
	longest := 60.0
	switch {
	case s < 48:
		longest = 30
	case s < coolWater:
		longest = 45
	}
	return min(longest, 0.0458*130.1*decades(s, 62, 5.74))
}

// tough: the core, five half-lives of the collagen shrink (11 min at 58 °C), and the slow
// step t60·10^(−(S−60)/42). Best until 1.6, limit 2.2 times ready.
func tough(in Input) (Window, error) {
	if in.T60 <= 0 {
		return Window{}, fmt.Errorf("%w: slow step at 60 °C is %v", ErrInput, in.T60)
	}
	slow := in.T60.Minutes() * decades(in.Setpoint, 60, 42)
	done := in.CoreReached + quantity.Minutes(55*shrink(in.Setpoint)+slow)
	if done > toughMost {
		return Window{}, fmt.Errorf("%w: tough cut at %.1f °C", ErrNever, float64(in.Setpoint))
	}
	ready := done
	if in.HasPasteurised {
		ready = max(done, in.Pasteurised)
	}
	return Window{Ready: ready, Basis: ToughBasis,
		BestBefore: time.Duration(1.6 * float64(ready)), Limit: time.Duration(2.2 * float64(ready))}, nil
}

// toughMost is the longest cook offered: a week. Below about 52 °C connective tissue does
// not soften in useful time.
const toughMost = 7 * 24 * time.Hour

// custard: a base of eggs and milk has thickened when its core is reached.
func custard(in Input) Window {
	ready := reached(in)
	return Window{Ready: ready, BestBefore: after(ready, setBest), Limit: after(ready, setLimit), Basis: CustardBasis}
}

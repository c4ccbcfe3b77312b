package lethality

import (
	"math"
	"time"

	"bagwatch/internal/quantity"
)

// Curve is a temperature history at the slowest-heating point, from immersion on.
type Curve interface {
	Core(t time.Duration) quantity.Temperature
}

// Steady is a Curve that knows when its bath stops changing: from that time on the bath
// stays at the temperature named and the core runs towards it. Such a curve is read in
// ever longer strides and its tail is summed analytically, which is what makes a plan
// fast. A curve that is not Steady is looked at every two minutes or oftener.
type Steady interface {
	Curve
	Steady() (from time.Duration, bath quantity.Temperature)
}

// Result is what a pass found for one rule.
type Result struct {
	At      time.Duration // first time the target is met, if Reached
	Reached bool
	Log     float64 // log10 reductions at At, or at the horizon when not Reached
}

// Constants of the quadrature.
const (
	// kept is the share of each kill that is credited. The quadrature is good to 5e-4 (see
	// tolerance); the rest is held back so that its error never makes a time early.
	kept = 0.999
	// tolerance is the largest miss in kelvin of the parabola through three samples at the
	// two samples between; the two half-panel parabolas that are used miss by an eighth of
	// it, 2.5e-4 K or 1.6e-4 of a rate at z = 3.54.
	tolerance = 0.002
	// stride is the longest panel in seconds, four looks, of a curve not known to be steady.
	stride        = 480.0
	firstPanel    = 60.0 // s
	shortestPanel = 0.5  // s; a step in the curve is located to a quarter of it
	// steep is the largest change in kelvin over a panel: 2.8 decades at the smallest z, where
	// four Gauss points on each half are good to 1e-5.
	steep = 10.0
	// hair is how close in kelvin a whole panel must lie to a steady bath before the rest is
	// summed at the lower of the two temperatures: at most 7e-4 late at z = 3.54, 3e-4 at 7.5.
	hair = 0.001
	// rounding in kelvin below a floor is noise of the arithmetic at the floor itself.
	rounding = 1e-9
	// clear is how far in kelvin below every floor all looks must lie to skip a panel.
	clear = 1.0
)

// Reached is the first time within the horizon at which the integral of the rule over c
// meets its target: never early, at most 0.2 % late for curves that are smooth or whose
// corners lie two minutes apart or more. A dip or peak shorter than two minutes between
// two looks may go unseen unless c is finer than a core can be. Temperatures that are not
// finite count as no kill.
func (r Rule) Reached(c Curve, horizon time.Duration) (time.Duration, bool) {
	var out [1]Result
	rules := [1]Rule{r}
	pass(c, horizon, rules[:], out[:])
	return out[0].At, out[0].Reached
}

// Log is the log10 reduction that may be credited at until, rounded nowhere; up to 0.3 %
// low and never high, under the conditions of [Rule.Reached].
func (r Rule) Log(c Curve, until time.Duration) float64 {
	var out [1]Result
	rules := [1]Rule{r}
	rules[0].Target = math.Inf(1)
	pass(c, until, rules[:], out[:])
	return out[0].Log
}

// Scan finds all rules in one pass over c and appends one result each to dst, in order.
func Scan(dst []Result, c Curve, horizon time.Duration, rules []Rule) []Result {
	n := len(dst)
	for range rules {
		dst = append(dst, Result{})
	}
	pass(c, horizon, rules, dst[n:])
	return dst
}

// Pasteurised is the time at which the last of the rules is reached. Without a rule
// nothing is pasteurised.
func Pasteurised(c Curve, horizon time.Duration, rules []Rule) (time.Duration, bool) {
	var few [4]Result
	var latest time.Duration
	for _, r := range Scan(few[:0], c, horizon, rules) {
		if !r.Reached {
			return 0, false
		}
		latest = max(latest, r.At)
	}
	return latest, len(rules) > 0
}

// pass walks c from immersion to the horizon in panels of four quarters, adapts their
// length to the curve and adds each half to every rule. out has one zeroed Result a rule.
func pass(c Curve, horizon time.Duration, rules []Rule, out []Result) {
	floor := math.Inf(1)
	for i := range rules {
		floor = min(floor, float64(rules[i].Floor))
	}
	steady, bath := math.Inf(1), 0.0
	if s, ok := c.(Steady); ok {
		from, b := s.Steady()
		steady, bath = from.Seconds(), float64(b)
	}

	end, open := horizon.Seconds(), len(rules)
	a, h, ta := 0.0, firstPanel, look(c, 0)
	for a < end && open > 0 {
		switch {
		case a >= steady:
		case a+h > steady && steady-a > shortestPanel:
			h = min(stride, steady-a)
		default:
			h = min(stride, h)
		}
		h = min(h, end-a)

		tm, tb := look(c, a+h/2), look(c, a+h)
		var t1, t3, miss float64
		for {
			t1, t3 = look(c, a+h/4), look(c, a+h*3/4)
			if max(ta, t1, tm, t3, tb) < floor-clear {
				miss = 0
				break
			}
			miss = max(math.Abs(t1-(3*ta+6*tm-tb)/8), math.Abs(t3-(3*tb+6*tm-ta)/8))
			if miss <= tolerance && math.Abs(tb-ta) <= steep || h <= shortestPanel {
				break
			}
			h /= 2
			tm, tb = t1, tm
		}

		if max(ta, t1, tm, t3, tb) >= floor-clear {
			for i := range rules {
				if out[i].Reached {
					continue
				}
				add(&rules[i], &out[i], a, h/2, ta, t1, tm)
				if !out[i].Reached {
					add(&rules[i], &out[i], a+h/2, h/2, tm, t3, tb)
				}
				if out[i].Reached {
					open--
				}
			}
		}
		if a >= steady && near(bath, ta) && near(bath, t1) && near(bath, tm) && near(bath, t3) && near(bath, tb) {
			for i := range rules {
				if !out[i].Reached {
					finish(&rules[i], &out[i], a+h, end, min(bath, tb))
				}
			}
			return
		}
		a, ta = a+h, tb
		h *= min(3, max(0.6, 0.85*math.Cbrt(tolerance/max(miss, 1e-9))))
	}
}

// look reads the curve; what is not a temperature counts as cold.
func look(c Curve, s float64) float64 {
	if t := c.Core(time.Duration(s * 1e9)); t.Valid() {
		return float64(t)
	}
	return float64(quantity.AbsoluteZero)
}

func near(bath, t float64) bool { return math.Abs(t-bath) <= hair }

// add credits a rule with the kill from start on over width seconds, where the temperature
// is the parabola through f0, f1 and f2 at the beginning, middle and end. Only the parts at
// or above the floor count.
func add(r *Rule, out *Result, start, width, f0, f1, f2 float64) {
	floor := float64(r.Floor) - rounding
	// f(s) = f0 + b·s + q·s², 0 ≤ s ≤ 1
	b, q := -3*f0+4*f1-f2, 2*f0-4*f1+2*f2
	cuts := [4]float64{0, 1, 1, 1}
	n := 1
	if min(f0, f1, f2) < floor+1 { // a parabola this flat cannot dip lower unseen
		if disc := b*b - 4*q*(f0-floor); disc >= 0 {
			w := -(b + math.Copysign(math.Sqrt(disc), b)) / 2
			lo, hi := w/q, (f0-floor)/w // one of them may be infinite or NaN: then it is no cut
			if lo > hi {
				lo, hi = hi, lo
			}
			for _, s := range [2]float64{lo, hi} {
				if s > 0 && s < 1 {
					cuts[n] = s
					n++
				}
			}
		}
	}
	cuts[n] = 1
	for i := range n {
		lo, hi := cuts[i], cuts[i+1]
		if m := (lo + hi) / 2; f0+m*(b+m*q) < floor || hi <= lo {
			continue
		}
		kill := kept * width * gauss(&r.Pair, f0, b, q, lo, hi)
		need := r.Target - out.Log
		if kill < need {
			out.Log += kill
			continue
		}
		// Newton on the smooth, increasing integral; it starts within the segment and gains
		// digits quadratically, so five rounds end in rounding noise.
		s := lo + (hi-lo)*need/kill
		for range 5 {
			got := kept * width * gauss(&r.Pair, f0, b, q, lo, s)
			s = min(hi, max(lo, s+(need-got)/(kept*width*r.Pair.rate(f0+s*(b+s*q)))))
		}
		out.At, out.Reached, out.Log = seconds(start+width*s), true, r.Target
		return
	}
}

// gauss integrates 1/D over the parabola from lo to hi, four-point Gauss–Legendre.
// Abscissas and weights: Abramowitz & Stegun (1964), table 25.4.
func gauss(p *Pair, f0, b, q, lo, hi float64) float64 {
	const (
		x1, w1 = 0.339981043584856, 0.652145154862546
		x2, w2 = 0.861136311594053, 0.347854845137454
	)
	m, r := (lo+hi)/2, (hi-lo)/2
	at := func(x float64) float64 {
		s := m + r*x
		return p.rate(f0 + s*(b+s*q))
	}
	return r * (w1*(at(-x1)+at(x1)) + w2*(at(-x2)+at(x2)))
}

// finish sums the rest of a pass at one constant temperature.
func finish(r *Rule, out *Result, from, end, t float64) {
	if t < float64(r.Floor) {
		return
	}
	rate := kept * r.Pair.rate(t)
	if at := from + (r.Target-out.Log)/rate; at <= end {
		out.At, out.Reached, out.Log = seconds(at), true, r.Target
		return
	}
	out.Log += max(0, end-from) * rate
}

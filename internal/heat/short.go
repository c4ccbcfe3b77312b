package heat

import "math"

// shortFo is the Fourier number below which a [Series] uses short-time forms instead of modes.
const shortFo = 0.018

// shortTime gives the dimensionless surface and mean excess of a body that started at 1, while
// the cooling has not met in the middle (the core is then 1 within 8e-6 for every shape).
//
// With the Laplace variable s = q² (time in R²/α), the surface of all three bodies obeys
//
//	1 − θ_s = Bi / (s (q + b − n(2−n)/(8q) − …)),   b = Bi − n/2,
//
// exactly for slab and sphere (up to e^{−2q}), asymptotically for the cylinder, so that
// 1 − θ_s = Bi √Fo φ(b √Fo) with φ(x) = (1 − erfcx x)/x, and the mean follows from the
// heat that went in: θ_m = 1 − (n+1) Bi ∫ θ_s dFo. The 1/(8q) of the cylinder is put into b as
// −0.12 √Fo, between its limits 1/(8 Γ(5/2)) = 0.094 (b small) and 1/(4√π) = 0.141 (b large).
// Carslaw & Jaeger (1959), §2.7 (slab), §12.5 (the method).
// Domain: 0 <= Fo <= shortFo, Bi > 0. Accuracy: slab, sphere 1e-5; cylinder 3e-4 of the span.
func shortTime(n int, bi, fo float64) (surface, mean float64) {
	root := math.Sqrt(fo)
	b := bi - float64(n)/2
	if n == 1 {
		b -= 0.12 * root
	}
	phi, psi := filmFunctions(b * root)
	surface = 1 - bi*root*phi
	mean = 1 - float64(n+1)*bi*(fo-bi*fo*root*psi)
	return math.Min(math.Max(surface, 0), 1), math.Min(math.Max(mean, 0), 1)
}

// filmFunctions gives φ(x) = (1 − erfcx x)/x and ψ(x) = (x² + 1 − erfcx x − 2x/√π)/x³, the first
// such that ∫0^t √s φ(b√s) ds = t^{3/2} ψ(b√t). Domain: x > −1. Accuracy: 1e-9 relative or better.
func filmFunctions(x float64) (phi, psi float64) {
	if x < 0.5 {
		// erfcx x = Σ (−x)^k / Γ(k/2 + 1) (Abramowitz & Stegun 7.1.8 rearranged).
		// The ratio of terms two apart is x²/(k/2+1).
		even, odd := 1.0, -2/math.SqrtPi // coefficients of x^0, x^1
		power := 1.0                     // x^(k−1)
		power3 := 0.0                    // x^(k−3)
		for k := 1; k < 40; k++ {
			var coefficient float64
			if k%2 == 0 {
				even /= float64(k) / 2
				coefficient = even
			} else {
				if k > 1 {
					odd /= float64(k) / 2
				}
				coefficient = odd
			}
			phi -= coefficient * power
			if k == 3 {
				power3 = 1
			}
			psi -= coefficient * power3
			power *= x
			power3 *= x
			if math.Abs(power3) < 1e-17 && k > 4 {
				break
			}
		}
		return phi, psi
	}
	e := erfcx(x)
	return (1 - e) / x, (x*x + 1 - e - 2*x/math.SqrtPi) / (x * x * x)
}

// erfcx is exp(x²) erfc(x). Domain: x >= 0. Accuracy: 1e-12 relative.
// Above 5 the asymptotic series (Abramowitz & Stegun 7.1.23) replaces the product that would overflow.
func erfcx(x float64) float64 {
	if x < 5 {
		return math.Exp(x*x) * math.Erfc(x)
	}
	u := 1 / (2 * x * x)
	sum, term := 1.0, 1.0
	for k := 1; k < 24; k++ {
		next := -term * float64(2*k-1) * u
		if math.Abs(next) >= math.Abs(term) || math.Abs(next) < 1e-17 {
			break
		}
		term = next
		sum += term
	}
	return sum / (x * math.SqrtPi)
}

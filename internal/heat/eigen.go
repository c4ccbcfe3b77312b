package heat

import "math"

// modes is how many eigenvalues a dimension of a [Series] keeps. With eight, the first one
// left out has ζ > 8π, and by Fo = shortFo its factor exp(−ζ²Fo) is below 1.2e-5.
const modes = 8

// mode is one eigenfunction φ(ξ) of a one-dimensional body with surface Bi = −φ'(1)/φ(1),
// scaled to φ(0) = 1: cos ζξ (slab), J0(ζξ) (long cylinder), sin(ζξ)/ζξ (sphere).
type mode struct {
	zeta    float64 // eigenvalue ζ
	c       float64 // coefficient C of φ in the expansion of 1
	surface float64 // φ(1)
	mean    float64 // volume mean of φ
	norm    float64 // volume mean of φ²
}

// besselZeros0 are the first zeros of J0, besselZeros1 those of J1 (zero included): they
// bracket the eigenvalues of the cylinder. Source: Abramowitz & Stegun, Handbook of
// Mathematical Functions (1964), table 9.5. Beyond the table McMahon's expansion (9.5.12) serves.
var (
	besselZeros0 = [...]float64{2.4048255577, 5.5200781103, 8.6537279129, 11.7915344391, 14.9309177086, 18.0710639679, 21.2116366299, 24.3524715308}
	besselZeros1 = [...]float64{0, 3.8317059702, 7.0155866698, 10.1734681351, 13.3236919363, 16.4706300509, 19.6158585105, 22.7600843806}
)

// besselZero gives the i-th zero (from 0) of J0, or of J1 counting the one at zero.
func besselZero(order, i int) float64 {
	if order == 0 {
		if i < len(besselZeros0) {
			return besselZeros0[i]
		}
		b := (float64(i) + 0.75) * math.Pi
		return b + 1/(8*b) - 31.0/(384*b*b*b)
	}
	if i < len(besselZeros1) {
		return besselZeros1[i]
	}
	b := (float64(i) + 0.25) * math.Pi
	return b - 3/(8*b) + 9.0/(128*b*b*b)
}

// bracket holds the i-th eigenvalue: it moves from the zero of φ' (Bi = 0) to the zero of φ (Bi = ∞).
func bracket(n, i int) (lo, hi float64) {
	switch n {
	case 0:
		return float64(i) * math.Pi, (float64(i) + 0.5) * math.Pi
	case 1:
		return besselZero(1, i), besselZero(0, i)
	default:
		// tan ζ = ζ lies between (i+¼)π and (i+½)π for i > 0, so the lower end is safe though not tight.
		lo = 0
		if i > 0 {
			lo = (float64(i) + 0.25) * math.Pi
		}
		return lo, float64(i+1) * math.Pi
	}
}

// characteristic is f with f(ζ) = 0 at the eigenvalues, and its derivative:
// ζ sin ζ − Bi cos ζ, ζ J1 − Bi J0, (1−Bi) sin ζ − ζ cos ζ; all rise through the root
// of the first mode. Source: Carslaw & Jaeger (1959), §3.11, §7.7, §9.4.
func characteristic(n int, bi, z float64) (f, df float64) {
	switch n {
	case 0:
		s, c := math.Sincos(z)
		return z*s - bi*c, s + z*c + bi*s
	case 1:
		j0, j1 := math.J0(z), math.J1(z)
		return z*j1 - bi*j0, z*j0 + bi*j1
	default:
		s, c := math.Sincos(z)
		return (1-bi)*s - z*c, z*s - bi*c
	}
}

// eigenvalue finds the i-th root by Newton steps kept inside a shrinking bracket.
// Domain: Bi > 0. Accuracy: a few units in the last place of ζ for Bi ≥ 1e-3.
func eigenvalue(n int, bi float64, i int) float64 {
	lo, hi := bracket(n, i)
	// The guess interpolates between the ends as the slab's arctangent does; for the first root
	// the one-lump limit ζ² = (n+1) Bi joins Bi → ∞ smoothly.
	var z float64
	if i == 0 {
		z = 1 / math.Sqrt(1/(float64(n+1)*bi)+1/(hi*hi))
	} else {
		z = lo + (hi-lo)*2/math.Pi*math.Atan2(bi, lo)
	}
	sign := 1.0 // the roots alternate in the direction f crosses zero
	if i%2 == 1 {
		sign = -1
	}
	for range 60 {
		f, df := characteristic(n, bi, z)
		if f*sign > 0 {
			hi = z
		} else {
			lo = z
		}
		next := z - f/df
		if !(next > lo && next < hi) {
			next = (lo + hi) / 2
		}
		if math.Abs(next-z) <= 1e-14*z {
			return next
		}
		z = next
	}
	return z
}

// eigenmode computes the i-th mode of the body with exponent n.
// Coefficients after Carslaw & Jaeger (1959), §3.11, §7.7, §9.4: slab 4 sin ζ/(2ζ + sin 2ζ),
// cylinder 2 J1/(ζ(J0² + J1²)), sphere 4(sin ζ − ζ cos ζ)/(2ζ − sin 2ζ); in every case
// C = mean(φ)/mean(φ²).
func eigenmode(n int, bi float64, i int) mode {
	z := eigenvalue(n, bi, i)
	m := mode{zeta: z}
	switch n {
	case 0:
		s, c := math.Sincos(z)
		m.surface, m.mean, m.norm = c, s/z, 0.5+s*c/(2*z)
	case 1:
		j0, j1 := math.J0(z), math.J1(z)
		m.surface, m.mean, m.norm = j0, 2*j1/z, j0*j0+j1*j1
	default:
		s, c := math.Sincos(z)
		m.surface, m.mean, m.norm = s/z, 3*(s-z*c)/(z*z*z), 3*(0.5-s*c/(2*z))/(z*z)
	}
	m.c = m.mean / m.norm
	return m
}

package heat

import (
	"math"

	"bagwatch/internal/quantity"
)

// Where the radial body that stands for a block is made to agree with the exact product: the
// remaining part of the core's way when it has clearly begun, and at the end of the heat-up (0.5 K of 50 K).
const (
	earlyRest = 0.6
	lateRest  = 0.01
)

// equivalent finds the radial body (area ∝ r^β, β real) that stands for a brick or finite cylinder
// while it thaws, when the exact product does not hold.
//
// Three things are matched: surface per volume, by a factor on the film, so that a body without
// inner resistance takes up heat at the right rate; and, with the unfrozen piece in the given film,
// the two times at which the core has 60 % and 1 % of its way to go, by β and the radius.
// A cube becomes nearly a ball (β 2.0) with a radius of 1.2 half edges.
//
// Accuracy against three-dimensional solutions of the same enthalpy equation (blocks 2:3:5, 1:1:1,
// 1:3:5, films 95 and 300): time to the bath − 0.5 K within 1.5 %, times on the way within 5 % or
// a minute (up to 4 % early around 30 °C in flat blocks), while there is ice 8 %.
// Unfrozen, the two matched times agree to 1 % and those between to 5 % or a minute. A body whose match
// does not converge, a sheet or thin disc, is taken as a slab of the smallest size, which is slower.
func equivalent(p Piece, film Film) radial {
	half := p.radius()
	target := matchTarget{material: p.Material, film: film, half: half, ratio: p.surfacePerVolume()}
	exact := Series{start: 0, bath: 1}
	exact.expand(p, film)
	for i, rest := range [2]float64{earlyRest, lateRest} {
		at, ok := exact.Reach(quantity.Temperature(1 - rest))
		if !ok {
			panic("heat: product does not reach its bath")
		}
		target.at[i] = seconds(at)
	}

	const (
		rounds = 20
		shift  = 1e-3 // for the slopes
		stride = 0.3  // largest change of a logarithm in a round
	)
	x := [2]float64{math.Log(1 + betaOffset), 0.2}
	best, bestMiss := radial{0, half, 1}, 0.02
	for range rounds {
		m := target.miss(x)
		if size := math.Hypot(m[0], m[1]/2); size < bestMiss {
			best, bestMiss = target.body(x), size
		}
		if bestMiss < 1e-3 {
			break
		}
		var slope [2][2]float64
		for k := range 2 {
			moved := x
			moved[k] += shift
			n := target.miss(moved)
			for i := range 2 {
				slope[i][k] = (n[i] - m[i]) / shift
			}
		}
		det := slope[0][0]*slope[1][1] - slope[0][1]*slope[1][0]
		change := [2]float64{
			(m[1]*slope[0][1] - m[0]*slope[1][1]) / det,
			(m[0]*slope[1][0] - m[1]*slope[0][0]) / det,
		}
		if size := math.Hypot(change[0], change[1]); size > stride {
			change[0] *= stride / size
			change[1] *= stride / size
		} else if math.IsNaN(size) {
			break
		}
		// Inside the domain of the mesh: β −0.05 … 6, radius 0.5 … 4 half sizes.
		x[0] = min(max(x[0]+change[0], math.Log(betaOffset-0.05)), math.Log(6))
		x[1] = min(max(x[1]+change[1], math.Log(0.5)), math.Log(4))
	}
	return best
}

// betaOffset lets the logarithm that is varied pass β = 0.
const betaOffset = 0.25

// matchTarget is what an equivalent body is fitted to.
type matchTarget struct {
	material    Material
	film        Film
	half, ratio float64    // m, 1/m
	at          [2]float64 // s
}

// body is the radial body of the logarithms of β + betaOffset and radius/half.
func (g *matchTarget) body(x [2]float64) radial {
	beta, radius := math.Exp(x[0])-betaOffset, g.half*math.Exp(x[1])
	return radial{beta, radius, g.ratio * radius / (beta + 1)}
}

// miss is by how much ln θ of the core is off at the two times.
func (g *matchTarget) miss(x [2]float64) (m [2]float64) {
	const cells, steps = 20, 60 // ln θ within 0.3 %, a tenth of what the equivalence itself is worth
	v := newBetaVolumes(cells, g.material, g.body(x), 0)
	v.enter(1, g.film)
	done := 0.0
	for i, rest := range [2]float64{earlyRest, lateRest} {
		for range steps {
			v.step((g.at[i]-done)/steps, 1, 0)
		}
		done = g.at[i]
		m[i] = math.Log(max(1-middle(v.t), 1e-12) / rest)
	}
	return m
}

// surfacePerVolume is the heated surface over the volume, 1/m.
func (s Shape) surfacePerVolume() float64 {
	f, dims := s.factors()
	sum := 0.0
	for _, d := range f[:dims] {
		sum += float64(d.n+1) / d.half
	}
	return sum
}

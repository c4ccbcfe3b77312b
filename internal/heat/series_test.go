package heat_test

import (
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/internal/heat"
	"bagwatch/internal/quantity"
)

// Carslaw & Jaeger's equations solved by an independent root finder; printed to six decimals,
// so half a unit of the last one plus rounding of that: 6e-7.
func TestEigenvaluesAndCoefficientsAgreeWithTheTable(t *testing.T) {
	exponent := map[string]int{"slab": 0, "cylinder": 1, "sphere": 2}
	for _, r := range table(t, "conduction_eigen") {
		bi := 1e9 // for the rows of a perfect film; the table's sixth decimal differs from ∞ by 1/Bi
		if r["Bi"] != "inf" {
			bi = r.number(t, "Bi")
		}
		for i := range 4 {
			zeta, c, mean, _ := heat.Eigenmode(exponent[r["shape"]], bi, i)
			name := fmt.Sprintf("%s Bi %s mode %d", r["shape"], r["Bi"], i+1)
			assert.InDelta(t, r.number(t, fmt.Sprintf("zeta%d", i+1)), zeta, 6e-7, name)
			assert.InDelta(t, r.number(t, fmt.Sprintf("C%d", i+1)), c, 6e-7, name)
			if i == 0 {
				assert.InDelta(t, r.number(t, "mean_factor_1"), mean, 6e-7, name)
			}
		}
	}
}

// body is what Series and Solution have in common.
type body interface {
	Core(time.Duration) quantity.Temperature
	Surface(time.Duration) quantity.Temperature
	Mean(time.Duration) quantity.Temperature
}

// logReduction is the trapezoid of 10^((T−60)/z)/D60 over the given times, D60 in minutes.
func logReduction(b body, times []time.Duration, until time.Duration, d60, z float64) float64 {
	rate := func(at time.Duration) float64 { return math.Pow(10, (float64(b.Core(at))-60)/z) / d60 }
	total := 0.0
	for i := 1; i < len(times); i++ {
		from, to := times[i-1], min(times[i], until)
		if from >= until {
			break
		}
		total += (rate(from) + rate(to)) / 2 * (to - from).Minutes()
	}
	return total
}

// evenly gives n+1 times from zero to until.
func evenly(until time.Duration, n int) []time.Duration {
	times := make([]time.Duration, n+1)
	for i := range times {
		times[i] = time.Duration(float64(until) * float64(i) / float64(n))
	}
	return times
}

// The references carry four decimals and come from 60 or more terms, so the eight of the
// series and its short-time forms must show less than 0.005 K, twenty times below the 0.1 K asked for.
func TestSeriesAgreesWithReferenceSolutions(t *testing.T) {
	for _, r := range references(t) {
		if len(r.history) > 1 {
			continue
		}
		t.Run(r.row["id"], func(t *testing.T) {
			bath, film := r.history.Bath(0)
			s, err := heat.NewSeries(r.piece, bath, film)
			require.NoError(t, err)
			assertReference(t, r, s, 0.005)
			reach, ok := s.Reach(bath - halfKelvin(r))
			require.True(t, ok)
			assert.InDelta(t, r.number(t, "t_reach_s"), reach.Seconds(), 0.1, "printed to 0.1 s")
			times := evenly(secondsSpan(r.number(t, "t5_s")), 4000)
			lr := func(until time.Duration) float64 {
				return logReduction(s, times, until, r.number(t, "D60_min"), r.number(t, "z_K"))
			}
			// The references print five digits; the trapezoid over 4000 steps adds less.
			assert.InEpsilon(t, r.number(t, "LR_core_at_t_reach"), lr(reach), 5e-4)
			assert.InEpsilon(t, r.number(t, "LR_core_at_t5"), lr(times[len(times)-1]), 5e-4)
		})
	}
}

// halfKelvin is the band of t_reach with the sign of the approach.
func halfKelvin(r reference) quantity.Temperature {
	if bath, _ := r.history.Bath(0); r.piece.Start > bath {
		return -0.5
	}
	return 0.5
}

// assertReference compares every temperature the row lists.
func assertReference(t *testing.T, r reference, b body, tolerance float64) {
	t.Helper()
	for i := 1; i <= 5; i++ {
		at := secondsSpan(r.number(t, fmt.Sprintf("t%d_s", i)))
		assert.InDelta(t, r.number(t, fmt.Sprintf("T%d_core_C", i)), float64(b.Core(at)), tolerance, "core at t%d", i)
	}
	at := secondsSpan(r.number(t, "t3_s"))
	assert.InDelta(t, r.number(t, "T3_mean_C"), float64(b.Mean(at)), tolerance, "mean at t3")
	if r.has("T3_surface_C") {
		assert.InDelta(t, r.number(t, "T3_surface_C"), float64(b.Surface(at)), tolerance, "surface at t3")
	}
}

// The documented accuracy at all times: eight modes and short-time forms against 400 modes, in K for a
// span of 60 K. 400 modes are worth 1e-4 K from Fo = 1e-5 on (ζ²Fo > 15).
func TestSeriesKeepsItsAccuracyAtAllTimes(t *testing.T) {
	shapes := []func(quantity.Length) heat.Shape{heat.NewSlab, heat.NewCylinder, heat.NewSphere}
	const half, alpha, k, span = 0.02, 1.4e-7, 0.49, 60
	for n, shape := range shapes {
		for _, film := range []heat.Film{2, 20, 95, 300, 2000, 20000} {
			p := heat.Piece{Shape: shape(2 * half), Material: heat.Material{Diffusivity: alpha, Conductivity: k}, Start: 0}
			s, err := heat.NewSeries(p, span, film)
			require.NoError(t, err)
			var zeta, c, mean, surface [400]float64
			for i := range zeta {
				zeta[i], c[i], mean[i], surface[i] = heat.Eigenmode(n, float64(film)*half/k, i)
			}
			for fo := 1e-5; fo < 3; fo *= 1.03 {
				at := secondsSpan(fo * half * half / alpha)
				var core, whole, face float64
				for i := range zeta {
					term := c[i] * math.Exp(-zeta[i]*zeta[i]*fo)
					core += term
					whole += term * mean[i]
					face += term * surface[i]
				}
				name := fmt.Sprintf("%v, film %g, Fo %.2g", p.Kind, float64(film), fo)
				if fo > 1e-3 { // the core's sum alternates without decay below
					require.InDelta(t, span*(1-core), float64(s.Core(at)), 0.005, name)
				}
				require.InDelta(t, span*(1-whole), float64(s.Mean(at)), 0.005, name)
				require.InDelta(t, span*(1-face), float64(s.Surface(at)), 0.01, name)
			}
		}
	}
}

func TestReachCoversEveryTarget(t *testing.T) {
	s, err := heat.NewSeries(roast(), 60, 95)
	require.NoError(t, err)
	for name, tt := range map[string]struct {
		target quantity.Temperature
		at     time.Duration
		ok     bool
	}{
		"already there":  {5, 0, true},
		"behind":         {-3, 0, true},
		"the bath":       {60, 0, false},
		"above the bath": {61, 0, false},
		"not a number":   {quantity.Temperature(math.NaN()), 0, false},
		"below all":      {quantity.Temperature(math.Inf(-1)), 0, true},
		"above all":      {quantity.Temperature(math.Inf(1)), 0, false},
	} {
		t.Run(name, func(t *testing.T) {
			at, ok := s.Reach(tt.target)
			assert.Equal(t, tt.ok, ok)
			assert.Equal(t, tt.at, at)
		})
	}
	for target := quantity.Temperature(5.001); target < 60; target += 0.5 {
		at, ok := s.Reach(target)
		require.True(t, ok)
		// Below 5.002 °C the core is taken as not yet moved: 8e-6 of the span.
		assert.InDelta(t, float64(target), float64(s.Core(at)), 0.001)
	}
	still, err := heat.NewSeries(heat.Piece{Shape: heat.NewSlab(0.02), Material: meat, Start: 60}, 60, 95)
	require.NoError(t, err)
	at, ok := still.Reach(60)
	assert.True(t, ok, "a piece that starts at the bath is there")
	assert.Zero(t, at)
	_, ok = still.Reach(60.5)
	assert.False(t, ok)
}

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

package heat_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"bagwatch/internal/heat"
	"bagwatch/internal/quantity"
)

// Anything inside the documented domains is solved, frozen or not, and stays within what start and
// bath allow; only a composition without water to freeze is refused. Sizes, films and spans are
// spread evenly over their orders of magnitude.
func TestTheWholeDomainIsSolved(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 11))
	spread := func(lo, hi float64) float64 { return lo * math.Pow(hi/lo, r.Float64()) }
	size := func() quantity.Length { return quantity.Length(spread(0.5e-3, 1)) }
	bath := func() quantity.Temperature { return quantity.Temperature(r.Float64() * 120) }
	film := func() heat.Film { return heat.Film(spread(1, 20000)) }
	span := func(most time.Duration) time.Duration {
		return time.Duration(spread(float64(time.Second), float64(most)))
	}
	solved := 0
	for range 300 {
		shape := []heat.Shape{
			heat.NewSlab(size()), heat.NewCylinder(size()), heat.NewSphere(size()),
			heat.NewBrick(size(), size(), size()), heat.NewFiniteCylinder(size(), size()),
		}[r.IntN(5)]
		water := r.Float64()
		protein := (1 - water) * r.Float64()
		p := heat.Piece{
			Shape: shape,
			Material: heat.Material{
				Diffusivity:  heat.Diffusivity(spread(0.5e-7, 3e-7)),
				Conductivity: heat.Conductivity(spread(0.1, 1)),
				Composition: &heat.Composition{
					Water: water, Protein: protein, Fat: 1 - water - protein,
					FreezingPoint: quantity.Temperature(-0.1 - 9.9*r.Float64()),
				},
			},
			Start: quantity.Temperature(-40 + 160*r.Float64()),
		}
		h := heat.History{heat.Ramp(0, bath(), bath(), film())}
		last := bath()
		h = append(h, heat.Hold(span(24*time.Hour), last, film()))
		s, err := heat.Solve(p, h, span(30*24*time.Hour))
		if errors.Is(err, heat.ErrComposition) && water < 0.4*protein {
			continue
		}
		require.NoError(t, err)
		solved++
		lo, hi := min(p.Start, h[0].Bath, h[0].Until, last), max(p.Start, h[0].Bath, h[0].Until, last)
		for _, at := range s.Times() {
			for _, v := range []quantity.Temperature{s.Core(at), s.Mean(at), s.Surface(at)} {
				if !(v >= lo-1e-9 && v <= hi+1e-9) { // the ramp's end is computed, to rounding
					t.Fatalf("%v at %v outside %v … %v: %+v %+v", v, at, lo, hi, p, h)
				}
			}
		}
	}
	require.Greater(t, solved, 250)
}

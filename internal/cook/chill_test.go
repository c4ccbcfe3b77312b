package cook_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"bagwatch/internal/cook"
	"bagwatch/internal/heat"
	"bagwatch/internal/lethality"
	"bagwatch/internal/quantity"
)

func chilled(t testing.TB, m *cook.Model, h cook.Happened, s cook.ChillSetup) *cook.Chill {
	t.Helper()
	c, err := m.Chill(h, s)
	require.NoError(t, err)
	return c
}

// TestKeeping: what keeps and for how long. Sources: USDA FSIS leftovers advice, 3 to 4 days at 4.4 °C; fish 2
// days at 3 °C, below the growth of non-proteolytic C. botulinum from 3.3 °C (Hauschild 1989); never the 10 or
// 30 days of supervised plants (UK FSA 2020; FDA Food Code 3-502.12).
func TestKeeping(t *testing.T) {
	m := model(t)
	for name, tt := range map[string]struct {
		h     cook.Happened
		days  int
		below quantity.Temperature
	}{
		"pasteurised chicken keeps four days": {cook.Happened{Request: at("chicken-breast", 30, 61), Elapsed: 3 * hour}, 4, 4.4},
		"chicken that is not pasteurised does not": {
			cook.Happened{Request: at("chicken-breast", 30, 61), Elapsed: hour}, 0, 4.4},
		"pasteurised salmon keeps two days": {
			cook.Happened{Request: with(at("salmon", 25, 63), pasteurised), Elapsed: 2 * hour}, 2, 3},
		"salmon for tomorrow, lightly cooked, does not": {cook.Happened{Request: at("salmon", 25, 50.5), Elapsed: hour}, 0, 4.4},
		"rare steak does not":                           {cook.Happened{Request: at("beef-strip-steak", 25, 55.5), Elapsed: hour}, 0, 4.4},
		"the same steak once pasteurised does":          {cook.Happened{Request: at("beef-strip-steak", 25, 55.5), Elapsed: 6 * hour}, 4, 4.4},
		"chicken left out for over two hours does not": {
			cook.Happened{Request: at("chicken-breast", 30, 61), Elapsed: 5 * hour, Pulled: true, PulledAt: 150 * minute}, 0, 4.4},
		"brined pork does not": {cook.Happened{Request: with(at("pork-chop", 25, 60), cured), Elapsed: 6 * hour}, 0, 4.4},
		"a soft egg does not":  {cook.Happened{Request: at("egg", 43, 64), Elapsed: 45 * minute}, 0, 4.4},
		"a joint too thick to chill in time does not": {
			cook.Happened{Request: at("turkey-breast", 100, 62), Elapsed: 20 * hour}, 0, 4.4},
	} {
		t.Run(name, func(t *testing.T) {
			c := chilled(t, m, tt.h, cook.ChillSetup{})
			assert.Equal(t, tt.days, c.Keep.Days)
			assert.Equal(t, tt.below, c.Keep.Below)
			assert.Equal(t, tt.days > 0, c.Keepable)
			assert.Equal(t, time.Duration(tt.days)*24*hour, c.KeepFor)
			assert.NotEmpty(t, c.Keep.Source)
			assert.LessOrEqual(t, c.Keep.Days, 4, "never the days of a supervised plant")
		})
	}
}

// TestStockPotOfShortRibs: 45 mm of beef at 57 °C in ice water. The times follow from the slab series
// (Carslaw & Jaeger 1959) for α 1.2e-7, k 0.48, h 60 from 57 into 2 °C, one term: Bi = 60·0.0225/0.48 = 2.81, ζ tan ζ =
// Bi gives ζ = 1.172, C = 1.213. θ = (5−2)/55 = 0.0545 at Fo = ln(1.213/0.0545)/ζ² = 2.258, or 2.258·0.0225²/1.2e-7 s = 159 min for
// a slab; a 1:2:3 block loses some through its other faces, so it takes less, and more than a cube.
func TestStockPotOfShortRibs(t *testing.T) {
	c := chilled(t, model(t), cook.Happened{Request: at("beef-short-rib", 45, 57), Elapsed: 46 * hour}, cook.ChillSetup{})
	assert.Equal(t, quantity.Temperature(57), c.From)
	assert.Less(t, c.EndLater.After.Minutes(), 159.0)
	assert.Greater(t, c.EndLater.After.Minutes(), 159.0/3)
	assert.Less(t, c.MiddleCareful.After, c.EndLater.After)
	assert.Less(t, c.Middle.After, c.MiddleCareful.After)
	assert.Less(t, c.End.After, c.EndLater.After)
	assert.True(t, c.Held)
	assert.Zero(t, c.Thin)
}

// TestSlabChillsByTheSeries: the worked figure above, for a slab that is one.
func TestSlabChillsByTheSeries(t *testing.T) {
	r := with(at("beef-strip-steak", 45, 57), pasteurised)
	c := chilled(t, model(t), cook.Happened{Request: r, Elapsed: 12 * hour}, cook.ChillSetup{})
	assert.InDelta(t, 159, c.EndLater.After.Minutes(), 1.5, "three figures in the hand calculation")
}

// TestIceByTheBalance: 0.5 kg of chicken from 61 to 2 °C in 1 L of water from 20 to 1 °C:
// (0.5·3500·59 + 1·4180·19)/(334,000 + 4180·1) = 0.540 kg of ice, and half as much again 0.81. Latent heat 333.6 … 334 kJ/kg.
func TestIceByTheBalance(t *testing.T) {
	r := at("chicken-breast", 30, 61)
	r.Mass = 0.5
	c := chilled(t, model(t), cook.Happened{Request: r, Elapsed: 3 * hour}, cook.ChillSetup{Water: 1, Tap: 20})
	assert.InDelta(t, 0.81, float64(c.Ice), 0.002)
	assert.False(t, c.MassGuessed)
	assert.Equal(t, quantity.Volume(1), c.Water)
}

// TestTheCoolingLimits: FDA Food Code 3-501.14(A), 57 to 21 °C in 2 h and to 5 °C in 6 h, and USDA FSIS 1999
// Appendix B, 54.4 to 26.7 °C in 1.5 h and to 4.4 °C in 5 h more. The advice is to the point: as thin as it
// says the limits hold, 2 mm thicker they do not.
func TestTheCoolingLimits(t *testing.T) {
	m := model(t)
	thick := chilled(t, m, cook.Happened{Request: at("turkey-breast", 100, 62), Elapsed: 20 * hour}, cook.ChillSetup{})
	require.False(t, thick.Held)
	require.Positive(t, thick.Thin)
	slab := func(x quantity.Length) bool {
		s, err := heat.NewSeries(heat.Piece{Shape: heat.NewSlab(x), Start: 62, Material: heat.Material{Diffusivity: 1.2e-7, Conductivity: thick.Verdict.Plan.Food.Material.Conductivity}}, 2, 60)
		require.NoError(t, err)
		return lethality.FoodCodeCooling().Met(s.Core) && lethality.AppendixBCooling().Met(s.Core)
	}
	assert.True(t, slab(thick.Thin))
	assert.False(t, slab(thick.Thin+quantity.Millimetres(4)), "and not by far too thin")

	late := chilled(t, m, cook.Happened{Request: at("chicken-breast", 30, 61), Elapsed: 4 * hour, Pulled: true, PulledAt: 135 * minute}, cook.ChillSetup{})
	assert.False(t, late.Held, "an hour and three quarters out of the water are part of the limits")
	assert.False(t, late.Keepable)
	soon := chilled(t, m, cook.Happened{Request: at("chicken-breast", 30, 61), Elapsed: 150 * minute, Pulled: true, PulledAt: 140 * minute}, cook.ChillSetup{})
	assert.True(t, soon.Held)
	assert.True(t, soon.Keepable)
}

// TestChillProperties: careful is never quicker than likely, and what is kept was pasteurised and chilled in time.
func TestChillProperties(t *testing.T) {
	verdicts(t, func(t *rapid.T, m *cook.Model, h cook.Happened) {
		c, err := m.Chill(h, cook.ChillSetup{})
		require.NoError(t, err)
		require.GreaterOrEqual(t, c.MiddleCareful.After+time.Minute, c.Middle.After)
		require.GreaterOrEqual(t, c.EndLater.After+time.Minute, c.End.After)
		require.Positive(t, float64(c.Ice))
		if c.Keepable {
			require.True(t, c.Held)
			require.Equal(t, cook.Yes, c.Verdict.Answer)
			require.Contains(t, []cook.ReasonID{cook.ReasonPasteurised, cook.ReasonPlant}, c.Verdict.Reason)
		}
	})
}

// TestReheat: FDA Food Code 3-403.10: food that was cooked, cooled and kept may be served at any temperature;
// USDA FSIS: leftovers for guests at risk to 73.9 °C.
func TestReheat(t *testing.T) {
	m := model(t)
	stored := cook.Stored{Request: at("chicken-breast", 30, 61), Pasteurised: true, Kept: 48 * hour}
	reheat := func(s cook.Stored) *cook.Reheat {
		t.Helper()
		r, err := m.Reheat(s)
		require.NoError(t, err)
		return r
	}
	refusedBy := func(s cook.Stored) cook.RuleID {
		t.Helper()
		_, err := m.Reheat(s)
		var refusal *cook.Refusal
		require.ErrorAs(t, err, &refusal)
		return refusal.Rule
	}
	plain := reheat(stored)
	assert.Equal(t, cook.ReheatAny, plain.Rule)
	assert.Equal(t, quantity.Temperature(61), plain.Setpoint)
	assert.Equal(t, planned(t, m, stored.Request).CoreReached, plain.Ready, "as long as the core took the first time")
	assert.True(t, plain.Until.Never)

	cooler := stored
	cooler.Setpoint = 52
	assert.InDelta(t, 240, reheat(cooler).Until.After.Minutes(), 0.1, "below 54.4 °C four hours: 2 hour/4 hour rule")
	assert.LessOrEqual(t, reheat(cooler).Best, reheat(cooler).Until.After)

	risk := stored
	risk.Request.AtRisk = true
	r := reheat(risk)
	assert.Equal(t, cook.ReheatLeftovers, r.Rule)
	assert.Equal(t, quantity.Temperature(75), r.Setpoint)
	assert.GreaterOrEqual(t, float64(r.Plan.CarefulCurve.Core(r.Ready)), 73.9-1e-6)

	hotter, stale, raw, riskCool := stored, stored, stored, risk
	hotter.Setpoint, stale.Kept, raw.Pasteurised, riskCool.Setpoint = 62, 5*24*hour, false, 61
	assert.Equal(t, cook.RefuseHotter, refusedBy(hotter))
	assert.Equal(t, cook.RefuseStale, refusedBy(stale))
	assert.Equal(t, cook.RefuseUnkept, refusedBy(raw))
	assert.Equal(t, cook.RefuseReheatRisk, refusedBy(riskCool))

	fish := cook.Stored{Request: with(at("salmon", 25, 63), pasteurised), Pasteurised: true, Kept: 2*24*hour + time.Hour}
	assert.Equal(t, cook.RefuseStale, refusedBy(fish))
	fish.Kept = 2 * 24 * hour
	reheat(fish)
	fish.Kept, fish.Frozen = 60*24*hour, true
	assert.Greater(t, reheat(fish).Ready, planned(t, m, fish.Request).CoreReached, "from frozen it takes longer")
}

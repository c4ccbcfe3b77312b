package heat_test

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/internal/heat"
	"bagwatch/internal/quantity"
)

// ICAO pressure and Antoine, computed by an independent script and printed to 0.1 K.
func TestBoilingPointFallsWithAltitude(t *testing.T) {
	for metres, want := range map[quantity.Length]float64{
		0: 100.0, 500: 98.3, 1000: 96.7, 1500: 95.0, 2000: 93.4, 2500: 91.7, 3000: 90.0, 4000: 86.7,
	} {
		assert.InDelta(t, want, float64(heat.BoilingPoint(metres)), 0.06, "%g m", float64(metres))
	}
	lowest := heat.BoilingPoint(9000)
	assert.Equal(t, lowest, heat.BoilingPoint(20000), "beyond the domain the end of it")
	assert.Equal(t, lowest, heat.BoilingPoint(quantity.Length(math.NaN())), "an unknown altitude boils soonest")
	assert.Equal(t, heat.BoilingPoint(-500), heat.BoilingPoint(-5000))
}

// The pool equation and the dry loss, computed independently with steam-table pressures; the Antoine
// equation adds up to 2 %, the rounding of the figures 1 %.
func TestOpenWaterLosesHeat(t *testing.T) {
	for bath, want := range map[quantity.Temperature]struct{ wet, dry float64 }{
		55: {1290, 375}, 60: {1670, 447}, 65: {2120, 522}, 75: {3350, 682}, 85: {5120, 854},
	} {
		wet, _, err := heat.Evaporation(1, bath, 22, 0)
		require.NoError(t, err)
		assert.InEpsilon(t, want.wet, float64(wet), 0.025)
		all, err := heat.Vessel{Water: 10, Open: 1, Room: 22}.Loss(bath)
		require.NoError(t, err)
		assert.InEpsilon(t, want.dry, float64(all-wet), 0.02)
	}
	// 1290 W/m² over 2370 kJ/kg (steam tables, 55 °C) is 1.96 kg in an hour.
	_, lost, err := heat.Evaporation(1, 55, 22, time.Hour)
	require.NoError(t, err)
	assert.InEpsilon(t, 1290*3600/2370e3, float64(lost), 0.025)
	// 0.3 m² of walls at 8 W/(m² K): 84 W at 57 °C and 151 W at 85 °C in a room of 22 °C.
	for bath, want := range map[quantity.Temperature]float64{57: 84, 85: 151.2} {
		walls, err := heat.Vessel{Water: 10, Walls: 0.3, WallFilm: 8, Room: 22}.Loss(bath)
		require.NoError(t, err)
		assert.InDelta(t, want, float64(walls), 0.01, "exact arithmetic")
	}
}

// Worked numbers, printed to the minute.
func TestHeatUpTakesMassTimesHeatOverNetPower(t *testing.T) {
	for heater, want := range map[quantity.Power]float64{1000: 36, 800: 48} {
		got, err := heat.HeatUp(12, heater, 150, 20, 57)
		require.NoError(t, err)
		assert.InDelta(t, want, got.Minutes(), 0.6)
	}
	_, err := heat.HeatUp(12, 100, 150, 20, 57)
	require.ErrorIs(t, err, heat.ErrVessel, "the loss wins")

	v := heat.Vessel{Water: 12, Heater: 1000, Open: 0.06, Walls: 0.3, WallFilm: 8, Room: 20}
	got, ok, err := v.HeatUp(20, 57)
	require.NoError(t, err)
	require.True(t, ok)
	full, err := v.Loss(57)
	require.NoError(t, err)
	least, err := heat.HeatUp(12, 1000, 0, 20, 57)
	require.NoError(t, err)
	most, err := heat.HeatUp(12, 1000, full, 20, 57)
	require.NoError(t, err)
	assert.Greater(t, got, least, "a growing loss is more than none")
	assert.Less(t, got, most, "and less than its final value throughout")
	v.Heater = 100
	_, ok, err = v.HeatUp(20, 57)
	require.NoError(t, err)
	assert.False(t, ok, "it settles below")
}

// Worked numbers of the mixing rule, printed to 0.1 K.
func TestMixingIsTheWeightedMean(t *testing.T) {
	for name, tt := range map[string]struct {
		water       quantity.Volume
		bath        quantity.Temperature
		food        quantity.Mass
		start, want quantity.Temperature
	}{
		"a kilogram into ten litres":        {10, 57, 1, 5, 53.0},
		"one and a half into five":          {5, 60, 1.5, 4, 48.8},
		"half a kilogram into eight litres": {8, 60, 0.5, 5, 57.3},
		"two kilograms into twenty litres":  {20, 57, 2, 5, 53.0},
		"nothing":                           {20, 57, 0, 5, 57},
	} {
		t.Run(name, func(t *testing.T) {
			got, err := heat.Mixing(tt.water, tt.bath, tt.food, tt.start)
			require.NoError(t, err)
			assert.InDelta(t, float64(tt.want), float64(got), 0.06)
		})
	}
}

// A kilogram of 25 mm slabs has 2/(1050·0.025) = 0.076 m²; at h 95 from 5 into 57 °C it draws 378 W at first.
func TestHeaterMustCarryLossAndHalfTheDraw(t *testing.T) {
	draw, err := heat.Draw(95, 2/(1050*0.025), 57, 5)
	require.NoError(t, err)
	assert.InDelta(t, 378, float64(draw), 2, "printed with a rounded area")
	v := heat.Vessel{Water: 10, Heater: 800, Open: 0.06, Walls: 0.3, WallFilm: 8, Room: 22}
	ok, err := v.Holds(57, draw)
	require.NoError(t, err)
	assert.True(t, ok)
	v.Heater = 400
	ok, err = v.Holds(57, draw)
	require.NoError(t, err)
	assert.False(t, ok)
}

// With walls only, Newton's law of cooling holds exactly: ΔT ∝ exp(−UA t/(M c)).
func TestCoveredBathCoolsExponentially(t *testing.T) {
	v := heat.Vessel{Water: 10, Heater: 1500, Walls: 0.3, WallFilm: 8, Room: 22}
	for _, after := range []time.Duration{0, time.Second, time.Hour, 10 * time.Hour} {
		want := 22 + 38*math.Exp(-0.3*8*after.Seconds()/(10*4180))
		got, err := v.Cool(60, after)
		require.NoError(t, err)
		assert.InDelta(t, want, float64(got), 1e-6, "fourth order in steps of a minute")
		back, ok, err := v.CoolTo(60, got)
		require.NoError(t, err)
		require.True(t, ok)
		assert.InDelta(t, after.Seconds(), back.Seconds(), 0.1, "Simpson's rule on the inverse")
	}
	_, ok, err := v.CoolTo(60, 21)
	require.NoError(t, err)
	assert.False(t, ok, "never below the room")
}

func TestCoolingHistoryFollowsTheCurve(t *testing.T) {
	v := heat.Vessel{Water: 10, Open: 0.06, Walls: 0.3, WallFilm: 8, Room: 22}
	tail, err := v.Cooling(time.Hour, 60, 70, 95*time.Minute)
	require.NoError(t, err)
	h := append(heat.History{heat.Hold(0, 60, 95)}, tail...)
	for _, after := range []time.Duration{0, 10 * time.Minute, 33 * time.Minute, 95 * time.Minute, 5 * time.Hour} {
		want, err := v.Cool(60, min(after, 95*time.Minute))
		require.NoError(t, err)
		got, _ := h.Bath(time.Hour + after)
		assert.InDelta(t, float64(want), float64(got), 0.01, "chords of five minutes on a time constant of hours")
	}
	_, err = heat.Solve(steak(), h, 4*time.Hour)
	require.NoError(t, err)
}

// Worked numbers of the ice balance, printed to two decimals.
func TestIceBalance(t *testing.T) {
	for name, tt := range map[string]struct {
		load heat.Chilling
		want float64
	}{
		"a kilogram of meat from 60 to 5": {heat.Chilling{Food: 1, From: 60, To: 5, Bath: 1}, 0.57},
		"with two litres of tap water":    {heat.Chilling{Food: 1, From: 60, To: 5, Water: 2, Tap: 20, Bath: 1}, 1.04},
		"a litre of water alone":          {heat.Chilling{Water: 1, Tap: 20}, 0.25},
	} {
		t.Run(name, func(t *testing.T) {
			got, err := tt.load.Ice()
			require.NoError(t, err)
			assert.InDelta(t, tt.want, float64(got), 0.006)
		})
	}
}

func TestVesselRefusesNonsense(t *testing.T) {
	nan := math.NaN()
	good := heat.Vessel{Water: 10, Heater: 1000, Open: 0.06, Walls: 0.3, WallFilm: 8, Room: 22}
	for name, spoil := range map[string]func(*heat.Vessel){
		"no water":         func(v *heat.Vessel) { v.Water = 0 },
		"water NaN":        func(v *heat.Vessel) { v.Water = quantity.Volume(nan) },
		"negative heater":  func(v *heat.Vessel) { v.Heater = -1 },
		"room NaN":         func(v *heat.Vessel) { v.Room = quantity.Temperature(nan) },
		"wall film NaN":    func(v *heat.Vessel) { v.WallFilm = heat.Film(nan) },
		"open surface Inf": func(v *heat.Vessel) { v.Open = heat.Area(math.Inf(1)) },
	} {
		t.Run(name, func(t *testing.T) {
			v := good
			spoil(&v)
			_, err := v.Loss(60)
			require.ErrorIs(t, err, heat.ErrVessel)
			_, _, err = v.HeatUp(20, 60)
			require.ErrorIs(t, err, heat.ErrVessel)
			_, _, err = v.CoolTo(60, 50)
			require.ErrorIs(t, err, heat.ErrVessel)
			_, err = v.Cool(60, time.Hour)
			require.ErrorIs(t, err, heat.ErrVessel)
			_, err = v.Cooling(0, 60, 95, time.Hour)
			require.ErrorIs(t, err, heat.ErrVessel)
		})
	}
	_, err := good.Cool(60, -time.Second)
	require.ErrorIs(t, err, heat.ErrVessel)
	_, err = heat.Mixing(10, 60, quantity.Mass(nan), 5)
	require.ErrorIs(t, err, heat.ErrVessel)
	_, err = heat.Draw(heat.Film(nan), 0.1, 60, 5)
	require.ErrorIs(t, err, heat.ErrVessel)
	_, err = good.Holds(60, quantity.Power(nan))
	require.ErrorIs(t, err, heat.ErrVessel)
	_, _, err = heat.Evaporation(heat.Area(nan), 60, 22, time.Hour)
	require.ErrorIs(t, err, heat.ErrVessel)
	_, err = heat.Chilling{Food: 1, From: 5, To: 60, Bath: 1}.Ice()
	require.ErrorIs(t, err, heat.ErrVessel, "chilling does not warm")
	_, err = heat.HeatUp(10, 1000, quantity.Power(nan), 20, 60)
	require.ErrorIs(t, err, heat.ErrVessel)
}

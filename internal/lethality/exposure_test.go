package lethality_test

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"bagwatch/internal/lethality"
	"bagwatch/internal/quantity"
)

// TestTimeBetween compares with times known exactly. The band is widened by 0.1 K on both
// sides, so the answer is long by what the curve takes to cross that, and never short.
func TestTimeBetween(t *testing.T) {
	ramp := func(perMinute float64) curve { return func(m float64) float64 { return 5 + perMinute*m } }
	for name, tt := range map[string]struct {
		core        curve
		until       time.Duration
		want, extra float64 // minutes
	}{
		"ramp of a tenth of a kelvin a minute": {ramp(0.1), 24 * time.Hour, 444, 2.1},
		"ramp cut off in the band":             {ramp(0.1), 150 * time.Minute, 100, 1.1},
		"quick ramp":                           {ramp(10), 8 * time.Hour, 4.44, 0.1},
		"always below":                         {func(float64) float64 { return 3 }, time.Hour, 0, 0},
		"always inside":                        {func(float64) float64 { return 30 }, time.Hour, 60, 0},
		"always above":                         {func(float64) float64 { return 57 }, time.Hour, 0, 0},
		"in and out again": {func(m float64) float64 {
			return 57 - 12*math.Exp(-math.Pow((m-200)/40, 2))
		}, 8 * time.Hour, 2 * 40 * math.Sqrt(math.Log(12/2.6)), 4},
		"steps": {func(m float64) float64 {
			if m > 33 && m < 57 {
				return 20
			}
			return 60
		}, 8 * time.Hour, 24, 0.1},
		"not a number counts as inside": {func(float64) float64 { return math.NaN() }, time.Hour, 60, 0},
		"no time":                       {ramp(1), 0, 0, 0},
	} {
		t.Run(name, func(t *testing.T) {
			got := lethality.Exposure(tt.core.Core, tt.until).Minutes()
			assert.GreaterOrEqual(t, got, tt.want-1e-6)
			assert.LessOrEqual(t, got, tt.want+tt.extra+1e-6)
		})
	}
}

func TestExposureOfALag(t *testing.T) {
	core := lag(5, 60, 30)
	var want float64
	for m := 0.0; m < 600; m += 0.01 {
		if v := core(m); v >= 10 && v <= 54.4 {
			want += 0.01
		}
	}
	got := lethality.Exposure(core.Core, 10*time.Hour).Minutes()
	assert.GreaterOrEqual(t, got, want)
	assert.LessOrEqual(t, got, want+1.5, "0.1 K at 54.4 °C takes 0.6 min here, at 10 °C 0.1")
}

func TestComeUp(t *testing.T) {
	assert.Equal(t, lethality.ComeUpFine, lethality.ComeUp(6*time.Hour, false))
	assert.Equal(t, lethality.ComeUpWarn, lethality.ComeUp(6*time.Hour+1, true))
	assert.Equal(t, lethality.ComeUpRefuse, lethality.ComeUp(6*time.Hour+1, false))
}

func TestFishExposed(t *testing.T) {
	level := func(v float64) func(time.Duration) quantity.Temperature {
		return curve(func(float64) float64 { return v }).Core
	}
	assert.True(t, lethality.FishExposed(level(45), 2*time.Hour))
	assert.False(t, lethality.FishExposed(level(45), 2*time.Hour+time.Minute))
	assert.True(t, lethality.FishExposed(level(15), 4*time.Hour))
	assert.False(t, lethality.FishExposed(level(15), 4*time.Hour+time.Minute))
	assert.True(t, lethality.FishExposed(level(5), 40*time.Hour))
}

func TestHoldLimit(t *testing.T) {
	for name, tt := range map[string]struct {
		setpoint     quantity.Temperature
		fish, atRisk bool
		want         time.Duration
		limited      bool
	}{
		"130 °F is not limited":           {quantity.FromFahrenheit(130), true, true, 0, false},
		"54.4 °C is not limited":          {54.4, false, false, 0, false},
		"steak just below":                {54.39, false, false, 4 * time.Hour, true},
		"fish":                            {50, true, false, 2 * time.Hour, true},
		"at-risk guests":                  {54, false, true, 2 * time.Hour, true},
		"not a number takes the shortest": {quantity.Temperature(math.NaN()), false, false, 2 * time.Hour, true},
	} {
		t.Run(name, func(t *testing.T) {
			got, limited := lethality.HoldLimit(tt.setpoint, tt.fish, tt.atRisk)
			assert.Equal(t, tt.limited, limited)
			assert.Equal(t, tt.want, got)
		})
	}
}

func TestSag(t *testing.T) {
	for name, tt := range map[string]struct {
		below time.Duration
		want  lethality.SagVerdict
	}{
		"no sag":                 {0, lethality.CarryOn},
		"just under two hours":   {2*time.Hour - 1, lethality.CarryOn},
		"two hours count as two": {2 * time.Hour, lethality.EatNow},
		"just under four":        {4*time.Hour - 1, lethality.EatNow},
		"four hours are over":    {4 * time.Hour, lethality.Discard},
	} {
		t.Run(name, func(t *testing.T) { assert.Equal(t, tt.want, lethality.Sag(tt.below)) })
	}
}

func TestKeeping(t *testing.T) {
	assert.Zero(t, lethality.Keeping(false, false).Days, "not pasteurised: the same day")
	assert.Zero(t, lethality.Keeping(false, true).Days)
	meat, fish := lethality.Keeping(true, false), lethality.Keeping(true, true)
	assert.Equal(t, 4, meat.Days)
	assert.Equal(t, quantity.Temperature(4.4), meat.Below)
	assert.Equal(t, 2, fish.Days)
	assert.Equal(t, quantity.Temperature(3), fish.Below)
	for _, k := range []lethality.Keep{meat, fish, lethality.Keeping(false, true)} {
		assert.NotEmpty(t, k.Source)
	}
}

func TestCooling(t *testing.T) {
	decay := func(start, to, tau float64) func(time.Duration) quantity.Temperature {
		return curve(func(m float64) float64 { return to + (start-to)*math.Exp(-m/tau) }).Core
	}
	// From 60 °C in 0.5 °C water, time constant tau: 57 → 21 °C takes tau·ln(56.5/20.5) =
	// 1.014 tau and 57 → 5 °C takes 2.530 tau, so the first leg allows tau = 118 min and the
	// whole 142; 54.4 → 26.7 takes 0.722 tau (124 min) and on to 4.4 °C 1.905 tau (157 min).
	for name, tt := range map[string]struct {
		tau             float64
		foodCode, appxB bool
	}{
		"ice bath":                              {40, true, true},
		"a little inside both legs of the code": {115, true, true},
		"outside the code's first leg":          {121, false, true},
		"outside everything":                    {160, false, false},
	} {
		t.Run(name, func(t *testing.T) {
			assert.Equal(t, tt.foodCode, lethality.FoodCodeCooling().Met(decay(60, 0.5, tt.tau)))
			assert.Equal(t, tt.appxB, lethality.AppendixBCooling().Met(decay(60, 0.5, tt.tau)))
		})
	}
	assert.False(t, lethality.FoodCodeCooling().Met(decay(60, 22, 10)), "never gets cold")
	assert.False(t, lethality.FoodCodeCooling().Met(curve(func(float64) float64 { return math.NaN() }).Core))
	assert.True(t, lethality.FoodCodeCooling().Met(decay(40, 0.5, 60)), "starts below the first mark")
}

func TestParasitesCooked(t *testing.T) {
	hot := func(v float64) curve { return func(float64) float64 { return v } }
	assert.False(t, lethality.ParasitesCooked(hot(59.9), time.Hour))
	assert.False(t, lethality.ParasitesCooked(hot(60), time.Hour), "at the limit itself nothing is credited")
	assert.True(t, lethality.ParasitesCooked(hot(60.2), time.Minute))
	assert.False(t, lethality.ParasitesCooked(hot(60.2), 59*time.Second))
	assert.False(t, lethality.ParasitesCooked(hot(math.NaN()), time.Hour))
	assert.False(t, lethality.ParasitesCooked(hot(math.Inf(1)), time.Hour))
	warming := lag(5, 62, 15)
	at := 0.0
	for warming(at) < 60 {
		at += 0.01
	}
	assert.False(t, lethality.ParasitesCooked(warming, quantity.Minutes(at+0.99)))
	assert.True(t, lethality.ParasitesCooked(warming, quantity.Minutes(at+4)))
}

func TestFreezing(t *testing.T) {
	day := 24 * time.Hour
	assert.True(t, lethality.FrozenLongEnough(-20, 7*day))
	assert.False(t, lethality.FrozenLongEnough(-20, 7*day-1))
	assert.False(t, lethality.FrozenLongEnough(-18, 365*day), "a home freezer is not -20 °C")
	assert.True(t, lethality.FrozenLongEnough(-35, 15*time.Hour))
	assert.False(t, lethality.FrozenLongEnough(-34.9, 15*time.Hour))
	assert.False(t, lethality.FrozenLongEnough(quantity.Temperature(math.Inf(-1)), 7*day))
}

package lethality_test

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/internal/heat"
	"bagwatch/internal/lethality"
	"bagwatch/internal/quantity"
)

// curve is any function of minutes, looked at step by step.
type curve func(minutes float64) float64

func (c curve) Core(t time.Duration) quantity.Temperature {
	return quantity.Temperature(c(t.Minutes()))
}

// steady is a curve that says when its bath is constant.
type steady struct {
	curve
	from time.Duration
	bath quantity.Temperature
}

func (s steady) Steady() (time.Duration, quantity.Temperature) { return s.from, s.bath }

// lag warms like the core of a piece: late at first, then exponentially with time constant
// tau minutes. It is the exact answer of two equal first-order stages in a row.
func lag(start, bath, tau float64) curve {
	return func(m float64) float64 { return bath + (start-bath)*(1+m/tau)*math.Exp(-m/tau) }
}

// brute sums the rule over c with the trapezoid rule on fixed steps, edges of the floor
// included by the step: the independent answer, good to a step in time.
func brute(r lethality.Rule, c curve, until, stepMinutes float64) (logs, reached float64) {
	rate := func(m float64) float64 {
		v := c(m)
		if v < float64(r.Floor) {
			return 0
		}
		z := float64(r.Pair.Z)
		if v < float64(r.Pair.TRef) && r.Pair.ZBelow > 0 {
			z = float64(r.Pair.ZBelow)
		}
		return math.Pow(10, (v-float64(r.Pair.TRef))/z) / r.Pair.DRef.Minutes()
	}
	reached = math.Inf(1)
	before := rate(0)
	for i := 1; float64(i)*stepMinutes <= until; i++ {
		m := float64(i) * stepMinutes
		now := rate(m)
		logs += (before + now) / 2 * stepMinutes
		before = now
		if logs >= r.Target && math.IsInf(reached, 1) {
			reached = m
		}
	}
	return logs, reached
}

var everyRule = append(append(append(append(append([]lethality.Rule(nil),
	lethality.Rules(lethality.IntactRedMeat, -1)...),
	lethality.Rules(lethality.NonIntactRedMeat, -1)...),
	lethality.Rules(lethality.Poultry, 1)...),
	lethality.Rules(lethality.Poultry, -1)...),
	lethality.Rules(lethality.Egg, -1)...)

// histories are the shapes a core can take, each with a bath that may sag, stop or jump.
var histories = map[string]struct {
	core curve
	bath func() (time.Duration, quantity.Temperature) // nil when never steady
}{
	"thin piece in a hot bath":           {lag(5, 75, 4), constant(75)},
	"middling piece":                     {lag(5, 61, 25), constant(61)},
	"thick joint":                        {lag(5, 58.4, 90), constant(58.4)},
	"bath a tenth above the floor":       {lag(5, 54.0, 20), constant(54.0)},
	"bath a hundredth above the floor":   {lag(5, 53.91, 20), constant(53.91)},
	"bath below every floor":             {lag(5, 52, 20), constant(52)},
	"already hot":                        {func(float64) float64 { return 60 }, constant(60)},
	"hot and cooling through the floors": {lag(66, 40, 30), constant(40)},
	"hot and cooling to a warm bath":     {lag(66, 58, 30), constant(58)},
	"slow swing about the floor": {func(m float64) float64 {
		return 54 + 3*math.Sin(m/25)
	}, nil},
	"quick swing of a bad controller": {func(m float64) float64 {
		return 59 + 1.5*math.Sin(m/3)
	}, nil},
	"bath off for an hour": {func(m float64) float64 {
		sag := 9 * math.Exp(-math.Pow((m-120)/30, 2))
		return lag(5, 60, 20)(m) - sag
	}, nil},
	"surface under a bath that steps": {func(m float64) float64 {
		switch {
		case m < 40:
			return 50
		case m < 75:
			return 60
		case m < 130:
			return 52
		}
		return 57.9
	}, nil},
}

func constant(bath quantity.Temperature) func() (time.Duration, quantity.Temperature) {
	return func() (time.Duration, quantity.Temperature) { return 0, bath }
}

// TestReachedAgainstBruteForce: never early, at most 0.2 % late. The brute answer moves in
// steps of 0.02 min and is itself off by up to one at every crossing of the floor, hence
// the allowance of 0.05 min.
func TestReachedAgainstBruteForce(t *testing.T) {
	const horizon, step, slack = 1500.0, 0.02, 0.05
	for name, h := range histories {
		t.Run(name, func(t *testing.T) {
			curves := map[string]lethality.Curve{"looked at": h.core}
			if h.bath != nil {
				from, bath := h.bath()
				curves["steady"] = steady{h.core, from, bath}
			}
			for how, c := range curves {
				results := lethality.Scan(nil, c, quantity.Minutes(horizon), everyRule)
				require.Len(t, results, len(everyRule))
				for i, rule := range everyRule {
					logs, want := brute(rule, h.core, horizon, step)
					at, ok := rule.Reached(c, quantity.Minutes(horizon))
					assert.Equal(t, results[i].Reached, ok, "%s, %s: one pass or alone", how, rule.ID)
					assert.InDelta(t, results[i].At.Minutes(), at.Minutes(), 1e-3*want+slack, "%s, %s: one pass or alone", how, rule.ID)
					switch {
					case math.IsInf(want, 1):
						assert.False(t, ok, "%s, %s", how, rule.ID)
						assert.LessOrEqual(t, results[i].Log, logs*1.0001+1e-9, "%s, %s: credit is never high", how, rule.ID)
					case want < horizon*0.997:
						require.True(t, ok, "%s, %s wants %.2f min", how, rule.ID, want)
						assert.GreaterOrEqual(t, at.Minutes(), want-slack, "%s, %s: early", how, rule.ID)
						assert.LessOrEqual(t, at.Minutes(), want*1.002+slack, "%s, %s: late", how, rule.ID)
					}
					got := rule.Log(c, quantity.Minutes(horizon))
					assert.LessOrEqual(t, got, logs*1.0002+1e-9, "%s, %s", how, rule.ID)
					assert.GreaterOrEqual(t, got, logs*0.997-1e-4, "%s, %s", how, rule.ID)
				}
			}
		})
	}
}

func TestIsothermalReachedIsTheHoldTime(t *testing.T) {
	for _, rule := range everyRule {
		for at := rule.Floor; at < 80; at += 1.7 {
			c := curve(func(float64) float64 { return float64(at) })
			hold := rule.HoldTime(at)
			if hold > 1000*time.Hour {
				continue
			}
			got, ok := rule.Reached(steady{c, 0, at}, 2*hold)
			require.True(t, ok, "%s at %v °C", rule.ID, at)
			assert.GreaterOrEqual(t, got, hold, "%s at %v °C", rule.ID, at)
			assert.LessOrEqual(t, got.Seconds(), hold.Seconds()*1.0011, "%s at %v °C: one thousandth is kept back", rule.ID, at)
		}
	}
}

func TestNothingCountsBelowTheFloor(t *testing.T) {
	for _, rule := range everyRule {
		c := curve(func(float64) float64 { return float64(rule.Floor) - 1e-6 })
		_, ok := rule.Reached(c, 100*time.Hour)
		assert.False(t, ok, "%s", rule.ID)
		assert.Zero(t, rule.Log(c, 100*time.Hour), "%s", rule.ID)
		assert.Equal(t, time.Duration(math.MaxInt64), rule.HoldTime(rule.Floor-1e-6), "%s", rule.ID)
		assert.Equal(t, time.Duration(math.MaxInt64), rule.HoldTime(quantity.Temperature(math.NaN())), "%s", rule.ID)
	}
}

func TestWhatIsNoTemperatureIsNoKill(t *testing.T) {
	rule := only(t, lethality.ListeriaSixLog, lethality.Rules(lethality.Fish, -1))
	for name, v := range map[string]float64{"not a number": math.NaN(), "infinite": math.Inf(1), "below zero kelvin": -300} {
		t.Run(name, func(t *testing.T) {
			c := curve(func(float64) float64 { return v })
			_, ok := rule.Reached(c, 10*time.Hour)
			assert.False(t, ok)
			assert.Zero(t, rule.Log(c, 10*time.Hour))
		})
	}
}

func TestNoRuleIsNeverPasteurised(t *testing.T) {
	_, ok := lethality.Pasteurised(curve(func(float64) float64 { return 90 }), time.Hour, nil)
	assert.False(t, ok)
}

func TestPasteurisedIsTheLatestRule(t *testing.T) {
	rules := lethality.Rules(lethality.IntactRedMeat, -1)
	c := steady{lag(5, 60, 20), 0, 60}
	got, ok := lethality.Pasteurised(c, 10*time.Hour, rules)
	require.True(t, ok)
	listeria, ok := only(t, lethality.ListeriaSixLog, rules).Reached(c, 10*time.Hour)
	require.True(t, ok)
	salmonella, ok := only(t, lethality.RedMeatSalmonella, rules).Reached(c, 10*time.Hour)
	require.True(t, ok)
	assert.InEpsilon(t, max(listeria, salmonella).Seconds(), got.Seconds(), 1e-3, "shared panels differ by quadrature only")
	assert.Greater(t, listeria, salmonella, "Listeria is the longer at 60 °C")
}

// TestProperties on seeded random pieces: hotter is never later, longer never has fewer
// logs, and a sag never adds any. The thousandth is the quadrature's.
func TestProperties(t *testing.T) {
	rng := rand.New(rand.NewPCG(20, 26))
	for range 300 {
		rule := everyRule[rng.IntN(len(everyRule))]
		bath := float64(rule.Floor) + 0.2 + 20*rng.Float64()
		tau := 3 + 60*rng.Float64()
		start := 20 * rng.Float64()
		c := lag(start, bath, tau)
		hotter := lag(start, bath+0.1+3*rng.Float64(), tau)

		at, ok := rule.Reached(c, 72*time.Hour)
		require.True(t, ok)
		sooner, ok := rule.Reached(hotter, 72*time.Hour)
		require.True(t, ok)
		assert.LessOrEqual(t, sooner.Seconds(), at.Seconds()*1.001, "hotter")

		until := time.Duration(rng.Float64() * float64(6*time.Hour))
		longer := until + time.Minute + time.Duration(rng.Float64()*float64(time.Hour))
		assert.LessOrEqual(t, rule.Log(c, until), rule.Log(c, longer)*1.001+1e-9, "longer")

		middle, width, depth := 300*rng.Float64(), 5+40*rng.Float64(), 10*rng.Float64()
		sagging := curve(func(m float64) float64 { return c(m) - depth*math.Exp(-math.Pow((m-middle)/width, 2)) })
		assert.LessOrEqual(t, rule.Log(sagging, longer), rule.Log(c, longer)*1.001+1e-9, "sag")
	}
}

// careful is the estimate that safety rests on: diffusivity 1.20e-7 m²/s, film 95 W/(m² K),
// a slab from 5 °C, the bath half a kelvin low.
func careful(t testing.TB, mm float64, setpoint quantity.Temperature) lethality.Curve {
	t.Helper()
	s, err := heat.NewSeries(heat.Piece{
		Shape:    heat.NewSlab(quantity.Millimetres(mm)),
		Material: heat.Material{Diffusivity: 1.20e-7, Conductivity: 0.48}, Start: 5,
	}, setpoint-0.5, 95)
	require.NoError(t, err)
	return seriesCurve{s, setpoint - 0.5}
}

type seriesCurve struct {
	heat.Series
	bath quantity.Temperature
}

func (s seriesCurve) Steady() (time.Duration, quantity.Temperature) { return 0, s.bath }

// TestKitchenRows are pasteurised times computed with an independent script for requests a
// kitchen makes, in minutes. Within 12 %, and never lower than by the rounding to a minute
// and the 0.5 % that the script and the series differ by.
func TestKitchenRows(t *testing.T) {
	for name, tt := range map[string]struct {
		class    lethality.Class
		fat      float64
		mm       float64
		setpoint quantity.Temperature
		want     float64
	}{
		"ribeye 32 mm at 54.5":         {lethality.IntactRedMeat, -1, 32, 54.5, 428},
		"strip 25 mm at 55.5":          {lethality.IntactRedMeat, -1, 25, 55.5, 272},
		"strip 25 mm at 60":            {lethality.IntactRedMeat, -1, 25, 60, 111},
		"chicken breast 25 mm at 63.5": {lethality.Poultry, 1, 25, 63.5, 74},
		"chicken breast 30 mm at 63.5": {lethality.Poultry, 1, 30, 63.5, 91},
		"chicken breast 35 mm at 63.5": {lethality.Poultry, 1, 35, 63.5, 109},
		"chicken breast 30 mm at 60":   {lethality.Poultry, 1, 30, 60, 130},
		"chicken breast 30 mm at 61":   {lethality.Poultry, 1, 30, 61, 115},
		"turkey breast 65 mm at 61":    {lethality.Poultry, 1, 65, 61, 291},
		"pork chop 30 mm at 60":        {lethality.IntactRedMeat, -1, 30, 60, 130},
		"pork chop 30 mm at 62":        {lethality.IntactRedMeat, -1, 30, 62, 104},
		"patty 25 mm at 62":            {lethality.NonIntactRedMeat, -1, 25, 62, 116},
		"duck breast 30 mm at 58.5":    {lethality.Poultry, -1, 30, 58.5, 205},
		"salmon 25 mm at 63":           {lethality.Fish, -1, 25, 63, 78},
	} {
		t.Run(name, func(t *testing.T) {
			got, ok := lethality.Pasteurised(careful(t, tt.mm, tt.setpoint), 24*time.Hour, lethality.Rules(tt.class, tt.fat))
			require.True(t, ok)
			t.Logf("%.1f min, row %.0f", got.Minutes(), tt.want)
			assert.GreaterOrEqual(t, got.Minutes(), tt.want*0.995-0.5)
			assert.LessOrEqual(t, got.Minutes(), tt.want*1.12)
		})
	}
}

// TestASoftEggIsNotPasteurised: a 60 g egg at 64 °C, ready as custard after 45 min, has met
// its Salmonella rule (about 36 min) but not six log of Listeria (about 51).
func TestASoftEggIsNotPasteurised(t *testing.T) {
	s, err := heat.NewSeries(heat.Piece{Shape: heat.NewSphere(quantity.Millimetres(47.3)),
		Material: heat.Material{Diffusivity: 1.20e-7, Conductivity: 0.52}, Start: 5}, 63.5, 300)
	require.NoError(t, err)
	rules := lethality.Rules(lethality.Egg, -1)
	c := seriesCurve{s, 63.5}
	salmonella, ok := only(t, lethality.EggSalmonella, rules).Reached(c, 3*time.Hour)
	require.True(t, ok)
	listeria, ok := only(t, lethality.ListeriaSixLog, rules).Reached(c, 3*time.Hour)
	require.True(t, ok)
	t.Logf("%.1f and %.1f min", salmonella.Minutes(), listeria.Minutes())
	assert.InDelta(t, 36, salmonella.Minutes(), 1.5, "printed to the minute; the egg of the script may differ in film and k")
	assert.InDelta(t, 51, listeria.Minutes(), 1.5, "printed to the minute; the egg of the script may differ in film and k")
}

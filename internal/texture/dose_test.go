package texture_test

import (
	"math"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/internal/heat"
	"bagwatch/internal/quantity"
	"bagwatch/internal/texture"
)

func carrot(setpoint float64, core texture.Curve, softness, factor float64) texture.Input {
	return texture.Input{Class: texture.ClassPlant, Setpoint: quantity.Temperature(setpoint), Curve: core, Softness: softness, SofteningFactor: factor}
}

// TestCarrotIsothermal: 90 % softened after these minutes with the rates of Vu et al. 2004.
// Below 80 °C "tender" is refused, so there the 75 % mark stands in: ln 4/ln 10 of it.
func TestCarrotIsothermal(t *testing.T) {
	for at, t90 := range map[float64]float64{60: 981.27, 70: 284.85, 75: 157.62, 80: 88.69, 82: 70.79, 85: 50.71, 88: 36.53, 90: 29.45} {
		softness, want := texture.Softened, t90
		if at < 80 {
			softness, want = texture.Firm, t90*math.Log(4)/math.Log(10)
		}
		w, err := texture.Of(carrot(at, level(at), softness, 1))
		require.NoError(t, err)
		assert.InEpsilon(t, want, w.Ready.Minutes(), 2e-4, "%v °C, the digits of the script", at)
	}
}

// TestDosesAgainstQuadrature compares with adaptive quadrature and root finding by an
// independent script on the same warming curves.
func TestDosesAgainstQuadrature(t *testing.T) {
	core := lag(5, 85, 6)
	for _, tt := range []struct {
		factor, softness   float64
		ready, best, limit float64
	}{
		{1, texture.Firm, 57.0903, 103.8318, 128.0278},
		{1, texture.Softened, 77.3135, 103.8318, 128.0278},
		{0.6, texture.Softened, 111.1237, 155.3176, 195.6440},
		{5, texture.Firm, 30.5837, 41.5954, 46.6733},
		{5, texture.Softened, 35.6885, 41.5954, 46.6733},
	} {
		w, err := texture.Of(carrot(85, core, tt.softness, tt.factor))
		require.NoError(t, err)
		assert.InEpsilon(t, tt.ready, w.Ready.Minutes(), 1e-3, "quadrature")
		assert.InEpsilon(t, tt.best, w.BestBefore.Minutes(), 1e-3, "quadrature")
		assert.InEpsilon(t, tt.limit, w.Limit.Minutes(), 1e-3, "quadrature")
	}
	yolk, err := texture.Of(texture.Input{Class: texture.ClassEgg, Setpoint: 64, Curve: lag(5, 64, 8)})
	require.NoError(t, err)
	assert.InEpsilon(t, 57.5277, yolk.Ready.Minutes(), 1e-3, "quadrature")
	assert.InEpsilon(t, 93.6698, yolk.BestBefore.Minutes(), 1e-3, "quadrature")
	assert.InEpsilon(t, 121.0216, yolk.Limit.Minutes(), 1e-3, "quadrature")
	set, err := texture.Of(texture.Input{Class: texture.ClassEgg, Setpoint: 75, Curve: lag(5, 75, 9), White: lag(5, 75, 5)})
	require.NoError(t, err)
	assert.InEpsilon(t, 32.4587, set.Ready.Minutes(), 1e-3, "quadrature")
}

func TestHotterWaterIsNeverLater(t *testing.T) {
	before := map[string]time.Duration{}
	for at := 80.0; at <= 99; at += 0.5 {
		for _, tau := range []float64{2, 8, 30} {
			w, err := texture.Of(carrot(at, lag(5, at, tau), texture.Softened, 1))
			require.NoError(t, err)
			key := "carrot " + strconv.FormatFloat(tau, 'g', -1, 64)
			if last, ok := before[key]; ok {
				assert.LessOrEqual(t, w.Ready, last, "%s at %v", key, at)
			}
			before[key] = w.Ready
		}
	}
	last := 100 * time.Hour
	for at := 60.0; at < 69.5; at += 0.5 {
		w, err := texture.Of(texture.Input{Class: texture.ClassEgg, Setpoint: quantity.Temperature(at), Curve: lag(5, at, 8)})
		require.NoError(t, err)
		assert.Less(t, w.Ready, last, "egg at %v", at)
		last = w.Ready
	}
}

// sphere is the exact series for a sphere from 5 °C at any node: the equivalent sphere of a
// 60 g egg is 47.3 mm, diffusivity 1.53e-7 m²/s, k 0.52 W/(m K), film 300 W/(m² K).
type sphere struct {
	bath, fo float64 // fo is 1/min
	zeta, c  []float64
	node     float64
}

func egg60(bath, node float64) sphere {
	const radius, alpha, k, film = 0.0473 / 2, 1.53e-7, 0.52, 300.0
	bi := film * radius / k
	s := sphere{bath: bath, fo: 60 * alpha / (radius * radius), node: node}
	for i := range 40 {
		lo, hi := float64(i)*math.Pi+1e-9, float64(i+1)*math.Pi-1e-9
		f := func(z float64) float64 { return (1-bi)*math.Sin(z) - z*math.Cos(z) }
		sign := f(lo)
		for range 100 {
			m := (lo + hi) / 2
			if f(m)*sign > 0 {
				lo = m
			} else {
				hi = m
			}
		}
		s.zeta = append(s.zeta, lo)
		s.c = append(s.c, 4*(math.Sin(lo)-lo*math.Cos(lo))/(2*lo-math.Sin(2*lo)))
	}
	return s
}

func (s sphere) Core(t time.Duration) quantity.Temperature {
	if t <= 0 {
		return 5
	}
	theta := 0.0
	for i, z := range s.zeta {
		shape := 1.0
		if s.node > 0 {
			shape = math.Sin(z*s.node) / (z * s.node)
		}
		theta += s.c[i] * shape * math.Exp(-z*z*s.fo*t.Minutes())
	}
	return quantity.Temperature(s.bath + (5-s.bath)*theta)
}

// TestCustardEggs: a 60 g egg from 5 °C, minutes in the water.
func TestCustardEggs(t *testing.T) {
	for at, want := range map[float64][2]float64{62.5: {59, 132}, 63: {53, 110}, 64: {45, 80}, 65: {39, 62}} {
		w, err := texture.Of(texture.Input{Class: texture.ClassEgg, Setpoint: quantity.Temperature(at), Curve: egg60(at, 0)})
		require.NoError(t, err)
		assert.InDelta(t, want[0], w.Ready.Minutes(), 0.6, "%v °C, printed to the minute", at)
		assert.InDelta(t, want[1], w.BestBefore.Minutes(), 0.6, "%v °C, printed to the minute", at)
		assert.Equal(t, texture.YolkBasis, w.Basis)
	}
}

// TestYolkDoses: immersion minutes until the yolk has had 20, 40, 60, 75, 110 and 155 min at
// 63 °C, 60 g egg, computed with an independent script and printed to the minute.
func TestYolkDoses(t *testing.T) {
	doses := [6]float64{20, 40, 60, 75, 110, 155}
	for at, minutes := range map[float64][6]float64{
		60: {124, 215, 306, 374, 533, 738}, 62: {66, 99, 132, 157, 215, 289}, 63: {53, 73, 93, 108, 143, 188},
		64: {45, 57, 70, 79, 100, 127}, 65: {39, 48, 55, 61, 74, 91}, 66: {35, 41, 46, 50, 58, 68}, 68: {30, 33, 36, 38, 42, 46},
	} {
		yolk := egg60(at, 0)
		for i, m := range minutes {
			early := texture.StateOf(yolk, yolk, quantity.Minutes(m-0.6)).Dose.Minutes()
			late := texture.StateOf(yolk, yolk, quantity.Minutes(m+0.6)).Dose.Minutes()
			assert.LessOrEqual(t, early, doses[i], "%v °C, %v min", at, m)
			assert.GreaterOrEqual(t, late, doses[i], "%v °C, %v min", at, m)
		}
	}
}

// TestSetEggs: the white half way out is set at 71 °C from 50 min and at 75 °C from 26.
func TestSetEggs(t *testing.T) {
	for at, want := range map[float64]float64{71: 50, 75: 26} {
		in := texture.Input{Class: texture.ClassEgg, Setpoint: quantity.Temperature(at), Curve: egg60(at, 0), White: egg60(at, 0.836)}
		w, err := texture.Of(in)
		require.NoError(t, err)
		assert.InDelta(t, want, w.Ready.Minutes(), 0.6, "%v °C, printed to the minute", at)
		assert.Equal(t, texture.SetEggBasis, w.Basis)

		s, err := heat.NewSeries(heat.Piece{Shape: heat.NewSphere(quantity.Millimetres(47.3)),
			Material: heat.Material{Diffusivity: 1.53e-7, Conductivity: 0.52}, Start: 5}, in.Setpoint, 300)
		require.NoError(t, err)
		in.White = texture.WhiteOf(s)
		between, err := texture.Of(in)
		require.NoError(t, err)
		assert.InDelta(t, w.Ready.Minutes(), between.Ready.Minutes(), 0.5, "from mean and surface, %v °C: the share has two digits", at)

		in.White = nil
		core, err := texture.Of(in)
		require.NoError(t, err)
		assert.Greater(t, core.Ready, w.Ready, "judged at the core it takes longer")
	}
}

func TestEggStates(t *testing.T) {
	yolk, white := egg60(64, 0), egg60(64, 0.836)
	for name, tt := range map[string]struct {
		minutes float64
		yolk    texture.Yolk
		white   texture.White
	}{
		"just in":         {10, texture.YolkLiquid, texture.WhiteLoose},
		"hot through":     {36, texture.YolkCondensed, texture.WhiteLoose},
		"three quarters":  {46, texture.YolkCondensed, texture.WhiteLoose},
		"an hour":         {58, texture.YolkMayonnaise, texture.WhiteSoft},
		"over an hour":    {65, texture.YolkHoney, texture.WhiteSoft},
		"an hour and 25":  {85, texture.YolkIcing, texture.WhiteSoft},
		"two hours":       {120, texture.YolkPaste, texture.WhiteSoft},
		"most of the day": {500, texture.YolkPaste, texture.WhiteTrembly},
		"ten hours":       {600, texture.YolkPaste, texture.WhiteSet},
	} {
		t.Run(name, func(t *testing.T) {
			s := texture.StateOf(yolk, white, quantity.Minutes(tt.minutes))
			assert.Equal(t, tt.yolk, s.Yolk, "dose %v", s.Dose)
			assert.Equal(t, tt.white, s.White, "share %v", s.WhiteSet)
			assert.GreaterOrEqual(t, s.WhiteSet, 0.0)
			assert.LessOrEqual(t, s.WhiteSet, 1.0)
		})
	}
	assert.Zero(t, texture.StateOf(yolk, white, -time.Minute).Dose)
}

// TestYolkKinetics compares isothermal states with the published rates at each temperature.
func TestYolkKinetics(t *testing.T) {
	for _, tt := range []struct{ at, factor, albumen float64 }{ // relative to 63 °C; 1/min
		{60, 0.2200, 0.0007055}, {62, 0.6055, 0.001738}, {65, 2.704, 0.006587}, {70, 30.89, 0.05763},
	} {
		s := texture.StateOf(level(tt.at), level(tt.at), 100*time.Minute)
		assert.InEpsilon(t, 100*tt.factor, s.Dose.Minutes(), 1e-3, "%v °C, four digits printed", tt.at)
		assert.InEpsilon(t, 1-math.Exp(-100*tt.albumen), s.WhiteSet, 0.009, "%v °C: the table took more digits of the gas constant", tt.at)
		assert.LessOrEqual(t, s.WhiteSet, 1-math.Exp(-100.1*tt.albumen), "%v °C: and that is the later side", tt.at)
	}
}

// TestCustardBase writes down what the simple rule gives for the two customary times. A 65
// mm jar at 80 °C from 20 °C, 127 min, is the core of a long cylinder within 1 K of the
// bath. A 55 mm bag at 82 °C, 65 min, lies between a sphere and a cylinder of that size:
// bags are neither, and no one rule gives both times.
func TestCustardBase(t *testing.T) {
	reach := func(shape heat.Shape, start, bath quantity.Temperature) float64 {
		s, err := heat.NewSeries(heat.Piece{Shape: shape, Material: heat.Material{Diffusivity: 1.40e-7, Conductivity: 0.50}, Start: start}, bath, 150)
		require.NoError(t, err)
		at, ok := s.Reach(bath - 1)
		require.True(t, ok)
		w, err := texture.Of(texture.Input{Class: texture.ClassCustard, Setpoint: bath, CoreReached: at})
		require.NoError(t, err)
		return w.Ready.Minutes()
	}
	assert.InEpsilon(t, 127, reach(heat.NewCylinder(quantity.Millimetres(65)), 20, 80), 0.06)
	assert.Less(t, reach(heat.NewSphere(quantity.Millimetres(55)), 5, 82), 65.0)
	assert.Greater(t, reach(heat.NewCylinder(quantity.Millimetres(55)), 5, 82), 65.0)
}

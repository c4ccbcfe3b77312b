package texture_test

import (
	"errors"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/internal/quantity"
	"bagwatch/internal/texture"
)

// curve is any function of minutes.
type curve func(minutes float64) float64

func (c curve) Core(t time.Duration) quantity.Temperature {
	return quantity.Temperature(c(t.Minutes()))
}

// lag warms like a core: two equal first-order stages, time constant tau minutes.
func lag(start, bath, tau float64) curve {
	return func(m float64) float64 { return bath + (start-bath)*(1+m/tau)*math.Exp(-m/tau) }
}

func level(t float64) curve { return func(float64) float64 { return t } }

// input fills in what the formulas of meat and fish need; pasteurised 0 means none.
func input(class texture.Class, setpoint, core, pasteurised float64) texture.Input {
	return texture.Input{Class: class, Setpoint: quantity.Temperature(setpoint), CoreReached: quantity.Minutes(core),
		Pasteurised: quantity.Minutes(pasteurised), HasPasteurised: pasteurised > 0}
}

func tough(setpoint, core, t60 float64) texture.Input {
	in := input(texture.ClassTough, setpoint, core, 0)
	in.T60 = quantity.Minutes(t60)
	return in
}

// TestFormulas compares with the same formulas evaluated by an independent script, minutes
// to three decimals, the first digits that could differ being the script's print.
func TestFormulas(t *testing.T) {
	for name, tt := range map[string]struct {
		in                 texture.Input
		ready, best, limit float64
	}{
		"tender, medium rare":                     {input(texture.ClassTender, 54.5, 70, 0), 70, 260.666, 578.442},
		"tender, strip":                           {input(texture.ClassTender, 55.5, 47, 0), 47, 216.931, 500.149},
		"tender, medium":                          {input(texture.ClassTender, 60, 47, 0), 47, 148.221, 316.924},
		"tender, at least half an hour":           {input(texture.ClassTender, 75, 40, 0), 40, 70, 88},
		"tender waits if asked to":                {input(texture.ClassTender, 60, 47, 111), 111, 212.221, 380.924},
		"pork waits":                              {input(texture.ClassPork, 62, 80, 104), 104, 184.403, 318.408},
		"minced keeps as pork does":               {input(texture.ClassMinced, 60, 80, 130), 130, 231.221, 399.924},
		"grained":                                 {input(texture.ClassGrained, 55.5, 40, 0), 215.385, 668.534, 1121.683},
		"grained, shrink nearly instant":          {input(texture.ClassGrained, 60, 40, 0), 48.830, 318.754, 588.678},
		"breast waits":                            {input(texture.ClassBreast, 63.5, 60, 91), 91, 191.252, 291.503},
		"duck breast does not":                    {input(texture.ClassBreast, 60, 60, 0), 60, 210, 360},
		"thigh, tender after the core":            {input(texture.ClassDark, 65, 34, 66), 100.051, 364.255, 540.391},
		"leg, hot":                                {input(texture.ClassDark, 74, 35, 40), 68.104, 200.520, 288.797},
		"leg, thick":                              {input(texture.ClassDark, 74, 97, 100), 130.104, 262.520, 350.797},
		"leg, pasteurised last":                   {input(texture.ClassDark, 74, 35, 90), 90, 222.416, 310.693},
		"fish, glassy, cap 30":                    {input(texture.ClassFish, 45, 39, 0), 39, 69, 99},
		"fish, just set, cap 45, 2 h at most":     {input(texture.ClassFish, 50.5, 39, 0), 39, 84, 120},
		"fish, thick, 2 h at most":                {input(texture.ClassFish, 52, 105, 0), 105, 120, 120},
		"fish, cap 60":                            {input(texture.ClassFish, 55, 50, 0), 50, 110, 170},
		"fish, actin":                             {input(texture.ClassFish, 57, 50, 0), 50, 94.282, 138.563},
		"fish, hot":                               {input(texture.ClassFish, 63, 40, 0), 40, 43.990, 47.979},
		"fish, pasteurised, a quarter hour":       {input(texture.ClassFish, 63, 40, 78), 78, 93, 108},
		"fish, pasteurised, actin":                {input(texture.ClassFish, 57, 50, 140), 140, 184.282, 228.563},
		"fish, pasteurised, cap 60":               {input(texture.ClassFish, 55, 50, 300), 300, 360, 420},
		"chuck for two days":                      {tough(57, 150, 1440), 1954.390, 3127.024, 4299.659},
		"chuck overnight":                         {tough(80, 150, 1440), 631.030, 1009.648, 1388.266},
		"brisket":                                 {tough(68, 120, 2160), 1513.173, 2421.077, 3328.980},
		"short rib":                               {tough(57, 100, 2160), 2753.104, 4404.966, 6056.828},
		"pork shoulder":                           {tough(74, 200, 2160), 1202.585, 1924.137, 2645.688},
		"duck leg":                                {tough(75, 80, 1440), 712.733, 1140.373, 1568.013},
		"octopus":                                 {tough(77, 40, 900), 394.390, 631.023, 867.657},
		"custard base when its core is there":     {input(texture.ClassCustard, 82, 65, 0), 65, 95, 125},
		"tender below the tables, 4 h at most":    {input(texture.ClassTender, 54, 47, 0), 47, 240, 240},
		"tender at the first row has no such end": {input(texture.ClassTender, 54.4, 47, 0), 47, 239.873, 561.329},
	} {
		t.Run(name, func(t *testing.T) {
			w, err := texture.Of(tt.in)
			require.NoError(t, err)
			assert.InDelta(t, tt.ready, w.Ready.Minutes(), 0.001)
			assert.InDelta(t, tt.best, w.BestBefore.Minutes(), 0.001)
			assert.InDelta(t, tt.limit, w.Limit.Minutes(), 0.001)
			assert.NotEmpty(t, w.Basis)
			assert.Equal(t, tt.in.Class == texture.ClassFish && tt.in.HasPasteurised, w.Drier, "only pasteurised fish is marked drier")
		})
	}
}

// TestCollagenHalfLives recomputes the shrink from the grained rule, three half-lives of 11
// min at 58 °C after the core: 82 min at 55, 42 at 56, 21 at 57, 11 at 58, 2.9 at 60.
func TestCollagenHalfLives(t *testing.T) {
	for at, half := range map[float64]float64{56: 41.77, 57: 21.39, 58: 11, 60: 2.943} {
		w, err := texture.Of(input(texture.ClassGrained, at, 30, 0))
		require.NoError(t, err)
		assert.InDelta(t, half, (w.Ready.Minutes()-30)/3, 0.01, "%v °C, two decimals of the script", at)
	}
	w, err := texture.Of(input(texture.ClassGrained, 55, 30, 0))
	require.NoError(t, err)
	assert.InDelta(t, 270, w.Ready.Minutes(), 1e-6, "3 × 82 min is over the cap of 4 h")
}

func TestLastCall(t *testing.T) {
	m := func(v float64) time.Duration { return quantity.Minutes(v) }
	for name, tt := range map[string]struct{ ready, best, want float64 }{
		"15 % of an ordinary window":         {60, 260, 230},
		"at least 5 min":                     {60, 80, 75},
		"at most 45 min":                     {60, 1060, 1015},
		"never before ready":                 {60, 63, 60},
		"a window without length":            {60, 60, 60},
		"33.3 min is where 5 min takes over": {0, 100.0 / 3, 85.0 / 3},
		"300 min is where 45 min does":       {0, 300, 255},
	} {
		t.Run(name, func(t *testing.T) {
			assert.InDelta(t, tt.want, texture.LastCall(m(tt.ready), m(tt.best)).Minutes(), 1e-6)
		})
	}
	w, err := texture.Of(input(texture.ClassTender, 60, 47, 0))
	require.NoError(t, err)
	assert.Equal(t, texture.LastCall(w.Ready, w.BestBefore), w.LastCall)
}

func TestRefusals(t *testing.T) {
	plant := func(setpoint, softness, factor float64) texture.Input {
		return texture.Input{Class: texture.ClassPlant, Setpoint: quantity.Temperature(setpoint), Curve: level(setpoint),
			Softness: softness, SofteningFactor: factor}
	}
	noCurve := plant(85, texture.Softened, 1)
	noCurve.Curve = nil
	eggLate := texture.Input{Class: texture.ClassEgg, Setpoint: 66, Curve: lag(5, 66, 8), Pasteurised: 3 * time.Hour, HasPasteurised: true}
	for name, tt := range map[string]struct {
		in   texture.Input
		want error
	}{
		"pork without a pasteurised time":        {input(texture.ClassPork, 60, 60, 0), texture.ErrUnpasteurised},
		"minced without a pasteurised time":      {input(texture.ClassMinced, 60, 60, 0), texture.ErrUnpasteurised},
		"thigh without a pasteurised time":       {input(texture.ClassDark, 70, 60, 0), texture.ErrUnpasteurised},
		"tender vegetables in cool water":        {plant(79.9, texture.Softened, 1), texture.ErrTooCool},
		"a softness nobody asks for":             {plant(85, 0.8, 1), texture.ErrInput},
		"a factor of nothing":                    {plant(85, texture.Softened, 0), texture.ErrInput},
		"a factor that is no number":             {plant(85, texture.Softened, math.NaN()), texture.ErrInput},
		"vegetables without a curve":             {noCurve, texture.ErrInput},
		"vegetables that never soften":           {texture.Input{Class: texture.ClassPlant, Setpoint: 85, Curve: level(20), Softness: texture.Firm, SofteningFactor: 1}, texture.ErrNever},
		"an egg that never thickens":             {texture.Input{Class: texture.ClassEgg, Setpoint: 57, Curve: level(20)}, texture.ErrNever},
		"an egg that never sets":                 {texture.Input{Class: texture.ClassEgg, Setpoint: 72, Curve: level(20)}, texture.ErrNever},
		"an egg without a curve":                 {texture.Input{Class: texture.ClassEgg, Setpoint: 64}, texture.ErrInput},
		"an egg pasteurised when past its best":  {eggLate, texture.ErrNoWindow},
		"a tough cut without its slow step":      {input(texture.ClassTough, 60, 60, 0), texture.ErrInput},
		"a tough cut in cool water takes weeks":  {tough(50, 60, 1440), texture.ErrNever},
		"a thick steak below the tables":         {input(texture.ClassTender, 53, 241, 0), texture.ErrTooLong},
		"thick fish below the tables":            {input(texture.ClassFish, 50, 121, 0), texture.ErrTooLong},
		"a class nobody defined":                 {input("soup", 60, 60, 0), texture.ErrInput},
		"a setpoint that is no number":           {input(texture.ClassTender, math.NaN(), 60, 0), texture.ErrInput},
		"a setpoint above boiling":               {input(texture.ClassTender, 101, 60, 0), texture.ErrInput},
		"a core reached before immersion":        {input(texture.ClassTender, 60, -1, 0), texture.ErrInput},
		"a core that is never reached":           {input(texture.ClassTender, 60, 1e9, 0), texture.ErrInput},
		"a pasteurised time before immersion":    {texture.Input{Class: texture.ClassPork, Setpoint: 60, Pasteurised: -1, HasPasteurised: true}, texture.ErrInput},
		"temperatures that are not are not kind": {texture.Input{Class: texture.ClassEgg, Setpoint: 64, Curve: level(math.NaN())}, texture.ErrNever},
	} {
		t.Run(name, func(t *testing.T) {
			w, err := texture.Of(tt.in)
			require.ErrorIs(t, err, tt.want)
			assert.Zero(t, w)
		})
	}
	assert.ErrorIs(t, texture.ErrNever, texture.ErrNoWindow)
	assert.ErrorIs(t, texture.ErrTooLong, texture.ErrNoWindow)
	assert.False(t, errors.Is(texture.ErrTooCool, texture.ErrNoWindow))
}

// TestWindowsAreInOrder over every class, setpoint and core time a bath can have; and a
// hotter bath never keeps food longer past its ready time.
func TestWindowsAreInOrder(t *testing.T) {
	seen := 0
	for _, class := range []texture.Class{texture.ClassTender, texture.ClassPork, texture.ClassMinced, texture.ClassGrained,
		texture.ClassBreast, texture.ClassDark, texture.ClassFish, texture.ClassTough, texture.ClassCustard} {
		for core := 5.0; core < 600; core *= 1.7 {
			for _, extra := range []float64{0, 90} {
				kept := time.Duration(math.MaxInt64)
				for setpoint := 54.5; setpoint <= 100; setpoint += 0.5 {
					in := input(class, setpoint, core, core+extra)
					in.T60 = 24 * time.Hour
					w, err := texture.Of(in)
					require.NoError(t, err, "%s at %v", class, setpoint)
					assert.LessOrEqual(t, quantity.Minutes(core+extra), w.Ready)
					assert.LessOrEqual(t, w.Ready, w.LastCall)
					assert.LessOrEqual(t, w.LastCall, w.BestBefore)
					assert.LessOrEqual(t, w.BestBefore, w.Limit)
					if class != texture.ClassTough { // its window is a share of ready
						assert.LessOrEqual(t, w.BestBefore-w.Ready, kept, "%s at %v", class, setpoint)
					}
					kept = w.BestBefore - w.Ready
					seen++
				}
			}
		}
	}
	assert.Greater(t, seen, 10000)
}

func TestCoolWaterIsNeverLong(t *testing.T) {
	for setpoint := 40.0; setpoint < 54.4; setpoint += 0.3 {
		for core := 5.0; core < 300; core += 7 {
			for class, most := range map[texture.Class]time.Duration{texture.ClassTender: 4 * time.Hour, texture.ClassBreast: 4 * time.Hour, texture.ClassFish: 2 * time.Hour} {
				w, err := texture.Of(input(class, setpoint, core, 0))
				if quantity.Minutes(core) > most {
					require.ErrorIs(t, err, texture.ErrTooLong)
					continue
				}
				require.NoError(t, err)
				assert.LessOrEqual(t, w.Limit, most)
				assert.LessOrEqual(t, w.LastCall, w.BestBefore)
				assert.LessOrEqual(t, w.Ready, w.LastCall)
			}
		}
	}
}

func TestEveryBasisIsAccountedFor(t *testing.T) {
	for _, b := range []texture.Basis{texture.TenderBasis, texture.GrainedBasis, texture.BreastBasis, texture.DarkBasis, texture.FishBasis,
		texture.ToughBasis, texture.PlantBasis, texture.YolkBasis, texture.SetEggBasis, texture.CustardBasis} {
		e := b.Evidence()
		assert.Contains(t, e.Practice, "common practice, no source", "%s", b)
		if e.Published == "" {
			assert.Contains(t, []texture.Basis{texture.DarkBasis, texture.CustardBasis}, b, "these two rest on practice alone")
		}
	}
	assert.Zero(t, texture.Basis("soup").Evidence())
}

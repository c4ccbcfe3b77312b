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

func TestBadPiecesAreRefused(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for name, tt := range map[string]struct {
		spoil func(*heat.Piece)
		want  error
	}{
		"no thickness":             {func(p *heat.Piece) { p.X = 0 }, heat.ErrShape},
		"negative thickness":       {func(p *heat.Piece) { p.X = -0.02 }, heat.ErrShape},
		"thickness not a number":   {func(p *heat.Piece) { p.X = quantity.Length(nan) }, heat.ErrShape},
		"thickness in millimetres": {func(p *heat.Piece) { p.X = 25 }, heat.ErrShape},
		"unknown kind":             {func(p *heat.Piece) { p.Kind = 99 }, heat.ErrShape},
		"brick without an edge":    {func(p *heat.Piece) { p.Shape = heat.NewBrick(0.03, 0, 0.05) }, heat.ErrShape},
		"brick edges out of order": {func(p *heat.Piece) { p.Shape = heat.Shape{Kind: heat.Brick, X: 0.05, Y: 0.03, Z: 0.07} }, heat.ErrShape},
		"endless short cylinder":   {func(p *heat.Piece) { p.Shape = heat.NewFiniteCylinder(0.03, quantity.Length(inf)) }, heat.ErrShape},
		"no diffusivity":           {func(p *heat.Piece) { p.Diffusivity = 0 }, heat.ErrMaterial},
		"diffusivity in mm²/s":     {func(p *heat.Piece) { p.Diffusivity = 0.14 }, heat.ErrMaterial},
		"diffusivity not a number": {func(p *heat.Piece) { p.Diffusivity = heat.Diffusivity(nan) }, heat.ErrMaterial},
		"no conductivity":          {func(p *heat.Piece) { p.Conductivity = 0 }, heat.ErrMaterial},
		"conductivity of a metal":  {func(p *heat.Piece) { p.Conductivity = 200 }, heat.ErrMaterial},
		"start not a number":       {func(p *heat.Piece) { p.Start = quantity.Temperature(nan) }, heat.ErrTemperature},
		"start in liquid nitrogen": {func(p *heat.Piece) { p.Start = -196 }, heat.ErrTemperature},
	} {
		t.Run(name, func(t *testing.T) {
			p := steak()
			tt.spoil(&p)
			_, err := heat.NewSeries(p, 60, 95)
			require.ErrorIs(t, err, tt.want)
			_, err = heat.Solve(p, heat.Constant(60, 95), time.Hour)
			require.ErrorIs(t, err, tt.want)
		})
	}
}

func TestBadBathsAreRefused(t *testing.T) {
	nan := math.NaN()
	for name, tt := range map[string]struct {
		bath quantity.Temperature
		film heat.Film
		want error
	}{
		"bath not a number": {quantity.Temperature(nan), 95, heat.ErrTemperature},
		"bath of ice":       {-5, 95, heat.ErrTemperature},
		"bath in °F":        {140, 95, heat.ErrTemperature},
		"no film":           {60, 0, heat.ErrFilm},
		"film not a number": {60, heat.Film(nan), heat.ErrFilm},
		"endless film":      {60, heat.Film(math.Inf(1)), heat.ErrFilm},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := heat.NewSeries(steak(), tt.bath, tt.film)
			require.ErrorIs(t, err, tt.want)
			_, err = heat.Solve(steak(), heat.Constant(tt.bath, tt.film), time.Hour)
			require.ErrorIs(t, err, tt.want)
			late := heat.History{heat.Ramp(0, 60, 50, 95), heat.Hold(time.Hour, tt.bath, tt.film)}
			_, err = heat.Solve(steak(), late, time.Minute)
			require.ErrorIs(t, err, tt.want, "also beyond the span")
		})
	}
}

func TestBadHistoriesAreRefused(t *testing.T) {
	hour := time.Hour
	for name, h := range map[string]heat.History{
		"none":             nil,
		"empty":            {},
		"late beginning":   {heat.Hold(time.Second, 60, 95)},
		"early beginning":  {heat.Hold(-time.Second, 60, 95)},
		"backwards":        {heat.Hold(0, 60, 95), heat.Hold(2*hour, 50, 95), heat.Hold(hour, 60, 95)},
		"twice at once":    {heat.Hold(0, 60, 95), heat.Hold(0, 50, 95)},
		"ramp without end": {heat.Ramp(0, 60, 50, 95)},
		"forgotten Until":  {heat.Segment{Bath: 60, Film: 95}},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := heat.Solve(steak(), h, hour)
			require.ErrorIs(t, err, heat.ErrHistory)
		})
	}
	for _, until := range []time.Duration{0, -hour, 31 * 24 * hour} {
		_, err := heat.Solve(steak(), heat.Constant(60, 95), until)
		require.ErrorIs(t, err, heat.ErrDuration)
	}
}

func TestFrozenStartsNeedToKnowTheIce(t *testing.T) {
	p := steak()
	p.Start = -18
	_, err := heat.NewSeries(p, 60, 95)
	require.ErrorIs(t, err, heat.ErrFrozen)
	_, err = heat.Solve(p, heat.Constant(60, 95), time.Hour)
	require.ErrorIs(t, err, heat.ErrComposition)

	good := heat.Composition{Water: 0.75, Protein: 0.2, Fat: 0.04, Ash: 0.01, FreezingPoint: -1.7}
	p.Composition = &good
	_, err = heat.NewSeries(p, 60, 95)
	require.ErrorIs(t, err, heat.ErrFrozen)
	_, err = heat.Solve(p, heat.Constant(60, 95), time.Hour)
	require.NoError(t, err)
	for name, spoil := range map[string]func(*heat.Composition){
		"fraction not a number": func(c *heat.Composition) { c.Fat = math.NaN() },
		"per cent":              func(c *heat.Composition) { c.Water = 75 },
		"half is missing":       func(c *heat.Composition) { c.Water = 0.2 },
		"dry protein":           func(c *heat.Composition) { c.Water, c.Protein = 0.1, 0.85 },
		"no freezing point":     func(c *heat.Composition) { c.FreezingPoint = 0 },
		"NaN freezing point":    func(c *heat.Composition) { c.FreezingPoint = quantity.Temperature(math.NaN()) },
	} {
		t.Run(name, func(t *testing.T) {
			bad := good
			spoil(&bad)
			p.Composition = &bad
			_, err := heat.Solve(p, heat.Constant(60, 95), time.Hour)
			require.ErrorIs(t, err, heat.ErrComposition)
		})
	}

	p.Composition, p.Start = &good, -1
	_, err = heat.NewSeries(p, 60, 95)
	require.NoError(t, err, "chilled below zero but not frozen")
}

func TestHistoryReadsItsBath(t *testing.T) {
	const minute = time.Minute
	h := heat.History{heat.Hold(0, 60, 95), heat.Ramp(10*minute, 58, 48, 70), heat.Hold(20*minute, 55, 150)}
	for at, want := range map[time.Duration]struct {
		bath quantity.Temperature
		film heat.Film
	}{
		-minute: {60, 95}, 0: {60, 95}, 9 * minute: {60, 95}, 10 * minute: {58, 70}, 15 * minute: {53, 70}, 20 * minute: {55, 150}, 99 * minute: {55, 150},
	} {
		bath, film := h.Bath(at)
		assert.InDelta(t, float64(want.bath), float64(bath), 1e-12, "%v", at)
		assert.Equal(t, want.film, film)
	}
	later := h.Since(15 * minute)
	assert.Equal(t, heat.History{heat.Ramp(0, 53, 48, 70), heat.Hold(5*minute, 55, 150)}, later)
	assert.Equal(t, heat.History{heat.Hold(0, 55, 150)}, h.Since(time.Hour))
	assert.Equal(t, 10*minute, h[1].From, "the original is untouched")
}

func TestSolutionHoldsItsEnds(t *testing.T) {
	s, err := heat.Solve(steak(), heat.Constant(60, 95), time.Hour)
	require.NoError(t, err)
	assert.EqualValues(t, 5, s.Core(-time.Hour))
	assert.EqualValues(t, 5, s.Surface(0))
	assert.Equal(t, s.Core(time.Hour), s.Core(5*time.Hour), "beyond the span the last value")
	times := s.Times()
	assert.Zero(t, times[0])
	assert.Equal(t, time.Hour, times[len(times)-1])
	times[0] = time.Hour
	assert.Zero(t, s.Times()[0], "a copy")
	_, ok := s.Reach(61)
	assert.False(t, ok)
	_, ok = s.Settle(60, 0.5)
	assert.False(t, ok, "not there within the hour")
	at, ok := s.Settle(60, 60)
	assert.True(t, ok)
	assert.Zero(t, at, "never outside so wide a band")
	at, ok = s.Reach(5)
	assert.True(t, ok)
	assert.Zero(t, at)
}

func TestUnknownPropertiesOfOurOwnPanic(t *testing.T) {
	assert.PanicsWithValue(t, "heat: composition out of range", func() { heat.Composition{}.Material(20) })
	c := heat.Composition{Water: 0.75, Protein: 0.2, Fat: 0.04, Ash: 0.01}
	assert.PanicsWithValue(t, "heat: property temperature out of range", func() { c.Material(quantity.Temperature(math.NaN())) })
	assert.PanicsWithValue(t, "heat: property temperature out of range", func() { c.Enthalpy(-273, 20) })
	assert.PanicsWithValue(t, "heat: grid out of range", func() {
		_, _ = heat.SolveOn(heat.Grid{Cells: -1}, steak(), heat.Constant(60, 95), time.Hour)
	})
}

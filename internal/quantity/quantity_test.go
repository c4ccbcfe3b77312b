package quantity_test

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"bagwatch/internal/quantity"
)

// TestExactConversions: the definitions of the inch and the pound (1959) and of the Fahrenheit scale are
// exact, so the tolerance is only that of a float64.
func TestExactConversions(t *testing.T) {
	const exact = 1e-12
	assert.InDelta(t, 140, quantity.Temperature(60).Fahrenheit(), exact)
	assert.InDelta(t, 54.44444444444444, float64(quantity.FromFahrenheit(130)), exact, "first row of the FSIS red meat table, 130 °F")
	assert.InDelta(t, 57.77777777777778, float64(quantity.FromFahrenheit(136)), exact, "first row of the FSIS poultry tables, 136 °F")
	assert.InDelta(t, 273.15, quantity.Temperature(0).Kelvin(), exact)
	assert.InDelta(t, 25.4, quantity.Inches(1).Millimetres(), exact)
	assert.InDelta(t, 1, quantity.Millimetres(25.4).Inches(), exact)
	assert.InDelta(t, 453.59237, quantity.Pounds(1).Grams(), 1e-9)
	assert.InDelta(t, 453.59237, quantity.Ounces(16).Grams(), 1e-9)
	assert.InDelta(t, 16, quantity.Pounds(1).Ounces(), exact)
	assert.InDelta(t, 0.45, float64(quantity.Grams(450)), exact)
}

func TestMinutesSaturate(t *testing.T) {
	assert.Equal(t, 90*time.Second, quantity.Minutes(1.5))
	assert.Equal(t, time.Duration(math.MaxInt64), quantity.Minutes(math.Inf(1)))
	assert.Equal(t, time.Duration(math.MinInt64), quantity.Minutes(math.Inf(-1)))
	assert.Zero(t, quantity.Minutes(math.NaN()))
}

func TestValidTemperatures(t *testing.T) {
	assert.True(t, quantity.Temperature(-18).Valid())
	assert.True(t, quantity.AbsoluteZero.Valid())
	assert.False(t, quantity.Temperature(-300).Valid())
	assert.False(t, quantity.Temperature(math.NaN()).Valid())
	assert.False(t, quantity.Temperature(math.Inf(1)).Valid())
}

// TestRoundingHasADirection: up never gives less, down never more, both land on the step and stay within it.
func TestRoundingHasADirection(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := time.Duration(rapid.Int64Range(0, int64(240*time.Hour)).Draw(t, "span"))
		step := time.Duration(rapid.IntRange(1, 120).Draw(t, "minutes")) * time.Minute
		up, down := quantity.CeilTo(d, step), quantity.FloorTo(d, step)
		if up < d || up-d >= step || up%step != 0 {
			t.Fatalf("%v up to %v gave %v", d, step, up)
		}
		if down > d || d-down >= step || down%step != 0 {
			t.Fatalf("%v down to %v gave %v", d, step, down)
		}
	})
}

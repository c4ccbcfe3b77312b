package curve_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"bagwatch/internal/curve"
)

// TestTimeScale: whatever the cook, time runs to the right over the whole axis, x and its inverse agree,
// there are some marks and none too close, and a long hold leaves half of the width to what happens early.
func TestTimeScale(t *testing.T) {
	for name, tt := range map[string]struct {
		busy, end time.Duration
		squeezed  bool
	}{
		"shrimp":               {10 * time.Minute, 28 * time.Minute, false},
		"a steak":              {90 * time.Minute, 5 * time.Hour, false},
		"just not squeezed":    {time.Hour, 5 * time.Hour, false},
		"a fish left for long": {40 * time.Minute, 9 * time.Hour, true},
		"chuck for 33 h":       {5 * time.Hour, 60 * time.Hour, true},
		"the longest":          {14 * time.Hour, 128 * time.Hour, true},
		"a minute":             {20 * time.Second, time.Minute, false},
	} {
		t.Run(name, func(t *testing.T) {
			x, at, ticks, bend := curve.TimeScale(tt.busy, tt.end)
			assert.Equal(t, tt.squeezed, bend > 0)
			assert.InDelta(t, curve.AxisFrom, x(0), 1e-9, "rounding of a float64")
			assert.InDelta(t, curve.AxisTo, x(tt.end), 1e-9, "rounding of a float64")
			if tt.squeezed {
				assert.GreaterOrEqual(t, bend, tt.busy)
				assert.Greater(t, x(tt.busy), curve.AxisFrom+0.3*(curve.AxisTo-curve.AxisFrom), "the busy part is wide")
			}
			last := x(0)
			for i := 1; i <= 500; i++ {
				d := time.Duration(i) * tt.end / 500
				assert.Greater(t, x(d), last)
				assert.InDelta(t, float64(d), float64(at(x(d))), float64(tt.end)/1e9, "rounding: a billionth of the axis")
				last = x(d)
			}
			assert.GreaterOrEqual(t, len(ticks), 2)
			for i := 1; i < len(ticks); i++ {
				assert.GreaterOrEqual(t, x(ticks[i])-x(ticks[i-1]), 85.0, "room for 12:30 in the axis letters")
			}
		})
	}
}

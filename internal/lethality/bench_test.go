package lethality_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"bagwatch/internal/lethality"
	"bagwatch/internal/quantity"
)

// BenchmarkScan is what one plan asks for: two rules over a smooth core history.
func BenchmarkScan(b *testing.B) {
	for name, c := range map[string]lethality.Curve{
		"series":  careful(b, 30, 60),
		"formula": steady{lag(5, 59.5, 25), 0, 59.5},
		"looked":  lag(5, 59.5, 25),
	} {
		b.Run(name, func(b *testing.B) {
			var rules [3]lethality.Rule
			var found [3]lethality.Result
			b.ReportAllocs()
			for b.Loop() {
				lethality.Scan(found[:0], c, 72*time.Hour, lethality.AppendRules(rules[:0], lethality.IntactRedMeat, -1))
			}
		})
	}
}

// BenchmarkNever is the slowest plan: a bath whose floor is never met.
func BenchmarkNever(b *testing.B) {
	c := careful(b, 30, 54.2)
	rules := lethality.Rules(lethality.IntactRedMeat, -1)
	b.ReportAllocs()
	for b.Loop() {
		lethality.Pasteurised(c, 72*time.Hour, rules)
	}
}

// BenchmarkExposure is the come-up of a large joint.
func BenchmarkExposure(b *testing.B) {
	c := careful(b, 70, 57)
	b.ReportAllocs()
	for b.Loop() {
		lethality.Exposure(c.Core, 8*time.Hour)
	}
}

// TestScanAllocatesNothing keeps plans off the heap.
func TestScanAllocatesNothing(t *testing.T) {
	c := careful(t, 30, 60)
	var rules [3]lethality.Rule
	var found [3]lethality.Result
	looks := counted{Curve: c, n: new(int)}
	lethality.Scan(found[:0], looks, 72*time.Hour, lethality.Rules(lethality.IntactRedMeat, -1))
	require.Less(t, *looks.n, 120, "a steady curve is read in strides")
	require.Zero(t, testing.AllocsPerRun(100, func() {
		lethality.Scan(found[:0], c, 72*time.Hour, lethality.AppendRules(rules[:0], lethality.IntactRedMeat, -1))
	}))
}

// counted counts how often a curve is looked at.
type counted struct {
	lethality.Curve
	n *int
}

func (c counted) Core(t time.Duration) quantity.Temperature {
	*c.n++
	return c.Curve.Core(t)
}

func (c counted) Steady() (time.Duration, quantity.Temperature) {
	return c.Curve.(lethality.Steady).Steady()
}

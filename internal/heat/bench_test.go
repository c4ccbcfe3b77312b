package heat_test

import (
	"testing"
	"time"

	"bagwatch/internal/heat"
	"bagwatch/internal/quantity"
)

// meat is the usual material of the tests.
var meat = heat.Material{Diffusivity: 1.4e-7, Conductivity: 0.49}

func steak() heat.Piece {
	return heat.Piece{Shape: heat.NewSlab(quantity.Millimetres(25)), Material: meat, Start: 5}
}

func roast() heat.Piece {
	mm := quantity.Millimetres
	return heat.Piece{Shape: heat.NewBrick(mm(60), mm(90), mm(150)), Material: meat, Start: 5}
}

func BenchmarkNewSeries(b *testing.B) {
	for name, p := range map[string]heat.Piece{
		"slab":     steak(),
		"brick":    roast(),
		"cylinder": {Shape: heat.NewCylinder(0.05), Material: meat, Start: 5},
		"sphere":   {Shape: heat.NewSphere(0.05), Material: meat, Start: 5},
	} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := heat.NewSeries(p, 60, 95); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkSeries(b *testing.B) {
	for name, p := range map[string]heat.Piece{"slab": steak(), "brick": roast()} {
		s, err := heat.NewSeries(p, 60, 95)
		if err != nil {
			b.Fatal(err)
		}
		b.Run("core of a "+name, func(b *testing.B) {
			b.ReportAllocs()
			at := 10 * time.Minute
			for b.Loop() {
				s.Core(at)
			}
		})
		b.Run("reach of a "+name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				s.Reach(59.5)
			}
		})
	}
}

// BenchmarkSolve follows pieces through histories on the default grid.
func BenchmarkSolve(b *testing.B) {
	const hour = time.Hour
	steady := heat.Constant(60, 95)
	diary := heat.History{
		heat.Hold(0, 60, 95), heat.Ramp(hour, 60, 52, 40), heat.Hold(2*hour, 60, 95), heat.Hold(5*hour, 1, 200),
	}
	mm := quantity.Millimetres
	long := heat.Piece{Shape: heat.NewBrick(mm(120), mm(180), mm(300)), Material: meat, Start: -18}
	long.Composition = &heat.Composition{Water: 0.706, Protein: 0.231, Fat: 0.057, Ash: 0.01, FreezingPoint: -1.7}
	icy := steak()
	icy.Start, icy.Composition = -18, long.Composition
	for name, tt := range map[string]struct {
		piece   heat.Piece
		history heat.History
		until   time.Duration
	}{
		"steak, steady":              {steak(), steady, 4 * hour},
		"steak, sagging and chilled": {steak(), diary, 6 * hour},
		"roast, steady":              {roast(), steady, 12 * hour},
		"roast, sagging and chilled": {roast(), diary, 8 * hour},
		"frozen steak":               {icy, steady, 4 * hour},
		"long frozen roast":          {long, steady, 40 * hour},
	} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := heat.Solve(tt.piece, tt.history, tt.until); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

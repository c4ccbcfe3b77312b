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

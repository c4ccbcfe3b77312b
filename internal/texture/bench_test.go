package texture_test

import (
	"testing"
	"time"

	"bagwatch/internal/texture"
)

func BenchmarkOf(b *testing.B) {
	for name, in := range map[string]texture.Input{
		"tender":       input(texture.ClassTender, 55.5, 47, 0),
		"tough":        tough(57, 150, 1440),
		"carrot at 85": carrot(85, lag(5, 85, 6), texture.Softened, 1),
		"carrot at 60": carrot(60, lag(5, 60, 6), texture.Firm, 1),
		"egg":          {Class: texture.ClassEgg, Setpoint: 64, Curve: lag(5, 64, 8)},
	} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := texture.Of(in); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkStateOf(b *testing.B) {
	yolk, white := lag(5, 64, 8), lag(5, 64, 5)
	b.ReportAllocs()
	for b.Loop() {
		texture.StateOf(yolk, white, time.Hour)
	}
}

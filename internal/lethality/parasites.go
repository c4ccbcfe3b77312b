package lethality

import (
	"math"
	"time"

	"bagwatch/internal/quantity"
)

// Anisakis and kin in finfish die at 60 °C at the core for one minute. Source: EFSA 2010,
// Scientific Opinion on parasites in fishery products.
const (
	AnisakisHeat quantity.Temperature = 60
	AnisakisHold                      = time.Minute
)

// ParasitesCooked reports whether the core history alone kills fish parasites by until.
// Otherwise the fish is raw to them and must have been frozen first.
func ParasitesCooked(c Curve, until time.Duration) bool {
	// TimeBetween errs towards a longer time and takes what is not a temperature as inside;
	// both would be the wrong side here.
	core := func(t time.Duration) quantity.Temperature {
		return quantity.Temperature(look(c, t.Seconds()))
	}
	return TimeBetween(core, until, AnisakisHeat+2*bandEdge, quantity.Temperature(math.Inf(1))) >= AnisakisHold
}

// Freezing is a published freezing treatment against fish parasites.
type Freezing struct {
	SolidAt quantity.Temperature // frozen solid at or below this
	HeldAt  quantity.Temperature // then held at or below this
	Hold    time.Duration
	Source  string
}

// Freezings gives the accepted treatments, mildest temperature first. A home freezer rated
// −18 °C reaches none of them by its label: ask for a measured temperature.
func Freezings() []Freezing {
	return []Freezing{
		{-20, -20, 7 * 24 * time.Hour, "FDA Food Code 3-402.11(A)(1)"},
		{-35, -20, 24 * time.Hour, "FDA Food Code 3-402.11(A)(3)"},
		{-35, -35, 15 * time.Hour, "FDA Food Code 3-402.11(A)(2); EFSA 2010"},
	}
}

// FrozenLongEnough reports whether a freezer measured at this temperature for this long
// kills fish parasites by the Food Code. The EU's 24 h at −20 °C is not credited: it counts
// from when the whole piece is at −20 °C, which a home cook cannot see.
func FrozenLongEnough(measured quantity.Temperature, held time.Duration) bool {
	for _, f := range Freezings() {
		if measured.Valid() && measured <= f.SolidAt && measured <= f.HeldAt && held >= f.Hold {
			return true
		}
	}
	return false
}

// TrichinellaRow is a row of the former heating table for pork.
type TrichinellaRow struct {
	At   quantity.Temperature
	Hold time.Duration
}

// Trichinella gives the rows of 9 CFR 318.10(c)(1) from 54.4 °C up (editions 1998-2010,
// since withdrawn). Any 6.5-log Salmonella cook of red meat exceeds every one of them.
func Trichinella() []TrichinellaRow {
	row := func(fahrenheit float64, hold time.Duration) TrichinellaRow {
		return TrichinellaRow{quantity.FromFahrenheit(fahrenheit), hold}
	}
	return []TrichinellaRow{
		row(130, 30*time.Minute), row(132, 15*time.Minute), row(134, 6*time.Minute),
		row(136, 3*time.Minute), row(138, 2*time.Minute), row(140, time.Minute), row(142, time.Minute),
	}
}

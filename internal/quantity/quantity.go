// Package quantity holds the physical quantities that cross package borders.
//
// Each type is a float64 in the SI-like unit its comment names; spans of time are
// time.Duration. Conversions to what people read and type (°F, inches, pounds) happen
// here and nowhere else. Rounding has a direction, because in this program the safe
// side depends on what is rounded: see [CeilTo] and [FloorTo].
package quantity

import (
	"math"
	"time"
)

// Temperature is a temperature in degrees Celsius.
type Temperature float64

// AbsoluteZero is 0 K in °C, exact by definition. Source: BIPM, The International System of Units, 9th ed. (2019).
const AbsoluteZero Temperature = -273.15

// Kelvin gives the thermodynamic temperature in kelvin.
func (t Temperature) Kelvin() float64 { return float64(t - AbsoluteZero) }

// Fahrenheit gives the temperature in degrees Fahrenheit, exactly T·9/5 + 32.
func (t Temperature) Fahrenheit() float64 { return float64(t)*9/5 + 32 }

// FromFahrenheit converts degrees Fahrenheit exactly.
func FromFahrenheit(f float64) Temperature { return Temperature((f - 32) * 5 / 9) }

// Valid reports whether t is a finite temperature not below absolute zero.
func (t Temperature) Valid() bool {
	return !math.IsNaN(float64(t)) && !math.IsInf(float64(t), 0) && t >= AbsoluteZero
}

// Difference is a temperature difference in kelvin.
type Difference float64

// Length is a length in metres.
type Length float64

// metresPerInch is exact by definition. Source: international yard and pound agreement (1959).
const metresPerInch = 0.0254

// Millimetres converts a number of millimetres.
func Millimetres(mm float64) Length { return Length(mm / 1000) }

// Inches converts a number of inches.
func Inches(in float64) Length { return Length(in * metresPerInch) }

// Millimetres gives the length in millimetres.
func (l Length) Millimetres() float64 { return float64(l) * 1000 }

// Inches gives the length in inches.
func (l Length) Inches() float64 { return float64(l) / metresPerInch }

// Mass is a mass in kilograms.
type Mass float64

// kilogramsPerPound is exact by definition. Source: international yard and pound agreement (1959).
const kilogramsPerPound = 0.45359237

// Grams converts a number of grams.
func Grams(g float64) Mass { return Mass(g / 1000) }

// Pounds converts a number of avoirdupois pounds.
func Pounds(lb float64) Mass { return Mass(lb * kilogramsPerPound) }

// Ounces converts a number of avoirdupois ounces.
func Ounces(oz float64) Mass { return Mass(oz * kilogramsPerPound / 16) }

// Grams gives the mass in grams.
func (m Mass) Grams() float64 { return float64(m) * 1000 }

// Ounces gives the mass in avoirdupois ounces.
func (m Mass) Ounces() float64 { return float64(m) / kilogramsPerPound * 16 }

// Volume is a volume in litres.
type Volume float64

// Power is a power in watts.
type Power float64

// Minutes converts a number of minutes, rounded to the nearest nanosecond.
// It saturates at the ends of time.Duration (±292 years) and maps NaN to zero.
func Minutes(m float64) time.Duration {
	switch ns := m * float64(time.Minute); {
	case math.IsNaN(ns):
		return 0
	case ns >= math.MaxInt64:
		return math.MaxInt64
	case ns <= math.MinInt64:
		return math.MinInt64
	default:
		return time.Duration(math.Round(ns))
	}
}

// CeilTo rounds d up to a multiple of step: the safe side for "ready" and "pasteurised".
func CeilTo(d, step time.Duration) time.Duration {
	rest := d % step
	if rest > 0 {
		return d - rest + step
	}
	return d - rest
}

// FloorTo rounds a non-negative d down to a multiple of step: the safe side for "best before".
func FloorTo(d, step time.Duration) time.Duration { return d - d%step }

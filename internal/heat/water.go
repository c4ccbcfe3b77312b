package heat

import (
	"math"

	"bagwatch/internal/quantity"
)

// Antoine constants of water for mmHg and °C, 1 … 100 °C; the usual handbook set, from memory,
// checked by 760.0 mmHg at 100 °C and 2.34 kPa at 20 °C (steam tables). Accuracy 0.5 %.
const (
	antoineA, antoineB, antoineC = 8.07131, 1730.63, 233.426
	pascalPerMmHg                = 133.322
)

// vapourPressure is the saturation pressure of water in Pa. Domain: 0 … 120 °C.
func vapourPressure(t quantity.Temperature) float64 {
	return pascalPerMmHg * math.Pow(10, antoineA-antoineB/(antoineC+float64(t)))
}

// BoilingPoint is the temperature at which water boils at an altitude in standard air:
// p = 101325 Pa (1 − 0.0065 z/288.15)^5.2559 (ICAO Standard Atmosphere, Doc 7488, 1993), then the
// Antoine equation solved for T.
//
// Domain: −500 … 9000 m; beyond it, and for NaN, the nearer end or the higher altitude, which
// boils sooner. Accuracy 0.1 K in standard air; weather moves it by ±1 K.
func BoilingPoint(altitude quantity.Length) quantity.Temperature {
	const low, high = -500.0, 9000.0
	z := float64(altitude)
	if !(z <= high) {
		z = high
	}
	z = max(z, low)
	pressure := 101325 * math.Pow(1-0.0065*z/288.15, 5.2559)
	return quantity.Temperature(antoineB/(antoineA-math.Log10(pressure/pascalPerMmHg)) - antoineC)
}

package reply

import (
	"math"
	"strings"
	"time"

	"golang.org/x/text/number"

	"bagwatch/internal/cook"
	"bagwatch/internal/quantity"
)

// Units says what a person reads numbers in.
type Units string

// The unit systems.
const (
	Metric   Units = "metric"
	Imperial Units = "imperial" // °F, inches, ounces and pounds
)

// later and sooner round to the steps in which people are told times.
func later(d time.Duration, fine bool) time.Duration  { return cook.Later(d, fine) }
func sooner(d time.Duration, fine bool) time.Duration { return cook.Sooner(d, fine) }

func (l *Language) decimal(x float64, digits int) string {
	return strings.Replace(l.printer.Sprint(number.Decimal(x, number.MaxFractionDigits(digits))), "-", "−", 1)
}

// Span prints whole minutes as hours and minutes, and as days from 48 h on.
func (l *Language) Span(d time.Duration) string {
	minutes := int(d / time.Minute)
	hours, minutes := minutes/60, minutes%60
	switch {
	case hours >= 48:
		days := hours / 24
		if hours%24 == 0 {
			return l.Say(SpanDays, Data{"Count": days, "Days": l.decimal(float64(days), 0)})
		}
		return l.Say(SpanDaysHours, Data{"Count": days, "Days": l.decimal(float64(days), 0), "Hours": hours % 24})
	case hours == 0:
		return l.Say(SpanMinutes, Data{"Minutes": minutes})
	case minutes == 0:
		return l.Say(SpanHours, Data{"Hours": hours})
	}
	return l.Say(SpanHoursMinutes, Data{"Hours": hours, "Minutes": pad(minutes)})
}

func pad(n int) string { return string([]byte{byte('0' + n/10), byte('0' + n%10)}) }

// seconds prints a range of seconds for the pan.
func (l *Language) seconds(from, to time.Duration) string {
	return l.Say(SpanSeconds, Data{"From": int(from / time.Second), "To": int(to / time.Second)})
}

// Water prints a water temperature in the person's unit with the other in brackets. Both round up: the
// times were computed for no cooler water. The slack of 0.05 keeps 60.0 °C at 140 °F.
func (l *Language) Water(t quantity.Temperature, u Units) string {
	c := l.decimal(math.Ceil(float64(t)*10-0.5e-6)/10, 1)
	f := l.decimal(math.Ceil(t.Fahrenheit()-0.05), 0)
	if u == Imperial {
		return l.Say(WaterImperial, Data{"C": c, "F": f})
	}
	return l.Say(WaterMetric, Data{"C": c, "F": f})
}

// Temperature prints a temperature in the person's unit alone, to the nearest half degree Celsius or
// whole degree Fahrenheit.
func (l *Language) Temperature(t quantity.Temperature, u Units) string {
	if u == Imperial {
		return l.Say(DegreesF, Data{"T": l.decimal(math.Round(t.Fahrenheit()), 0)})
	}
	return l.Say(DegreesC, Data{"T": l.decimal(math.Round(float64(t)*10)/10, 1)})
}

// Thickness prints a thickness: whole millimetres, or tenths of an inch.
func (l *Language) Thickness(x quantity.Length, u Units) string {
	if u == Imperial {
		return l.Say(LengthInch, Data{"L": l.decimal(math.Round(x.Inches()*10)/10, 1)})
	}
	return l.Say(LengthMM, Data{"L": l.decimal(math.Round(x.Millimetres()), 0)})
}

// Mass prints a mass.
func (l *Language) Mass(m quantity.Mass, u Units) string {
	switch {
	case u == Imperial && m.Ounces() >= 32:
		return l.Say(MassPound, Data{"M": l.decimal(m.Ounces()/16, 1)})
	case u == Imperial:
		return l.Say(MassOunce, Data{"M": l.decimal(m.Ounces(), 1)})
	case m >= 1:
		return l.Say(MassKilogram, Data{"M": l.decimal(float64(m), 2)})
	}
	return l.Say(MassGram, Data{"M": l.decimal(math.Round(m.Grams()), 0)})
}

package bot

import (
	"strconv"
	"strings"
	"unicode"

	"bagwatch/internal/quantity"
	"bagwatch/internal/reply"
)

// unit is what a figure in a setting or in /water is counted in. What people cook is read by
// internal/phrase; these few figures are about the bath.
type unit uint8

const (
	unitNone unit = iota
	unitLitre
	unitQuart
	unitGallon
	unitWatt
	unitKilowatt
	unitCelsius
	unitFahrenheit
	unitMetre
	unitFoot
	unitGram
	unitKilogram
	unitPound
)

// vocabulary are the unit words and fillers of one language.
type vocabulary struct {
	units  map[string]unit
	filler map[string]bool
}

func newVocabulary(l *reply.Language) vocabulary {
	v := vocabulary{units: map[string]unit{}, filler: map[string]bool{}}
	for id, u := range map[reply.ID]unit{
		reply.TypedLitre: unitLitre, reply.TypedQuart: unitQuart, reply.TypedGallon: unitGallon,
		reply.TypedWatt: unitWatt, reply.TypedKilowatt: unitKilowatt,
		reply.TypedCelsius: unitCelsius, reply.TypedFahrenheit: unitFahrenheit,
		reply.TypedMetre: unitMetre, reply.TypedFoot: unitFoot,
		reply.TypedGram: unitGram, reply.TypedKilogram: unitKilogram, reply.TypedPound: unitPound,
	} {
		for _, w := range l.Words(id) {
			v.units[w] = u
		}
	}
	for _, w := range l.Words(reply.TypedFiller) {
		v.filler[w] = true
	}
	return v
}

// figure is a number with its unit, if one was typed.
type figure struct {
	value float64
	unit  unit
}

// mostFigures bounds what is read of one message.
const mostFigures = 12

// figures reads the numbers of a text with their units, and gives the words that are neither.
func (v vocabulary) figures(text string) (figures []figure, words []string) {
	rest := []rune(strings.ToLower(text))
	for len(rest) > 0 && len(figures)+len(words) < mostFigures {
		switch r := rest[0]; {
		case unicode.IsDigit(r) || (r == '-' || r == '−') && len(rest) > 1 && unicode.IsDigit(rest[1]):
			var f figure
			var ok bool
			if f.value, rest, ok = number(rest); ok {
				figures = append(figures, f)
			}
		case wordRune(r):
			n := 1
			for n < len(rest) && wordRune(rest[n]) {
				n++
			}
			word := string(rest[:n])
			rest = rest[n:]
			u, isUnit := v.units[word]
			switch {
			case isUnit && len(figures) > 0 && figures[len(figures)-1].unit == unitNone && len(words) == 0:
				figures[len(figures)-1].unit = u
			case !v.filler[word]:
				words = append(words, word)
			}
		default:
			rest = rest[1:]
		}
	}
	return figures, words
}

func wordRune(r rune) bool {
	return unicode.IsLetter(r) || unicode.Is(unicode.Mn, r) || strings.ContainsRune("°'’/_", r)
}

// number reads a decimal number with point or comma. Three digits behind either are thousands ("1,200 W",
// "1.200 W"): a bath has no thousandth of anything.
func number(rest []rune) (value float64, after []rune, ok bool) {
	var b strings.Builder
	i := 0
	for ; i < len(rest); i++ {
		r := rest[i]
		switch {
		case r >= '0' && r <= '9':
			b.WriteRune(r)
			continue
		case i == 0 && (r == '-' || r == '−'):
			b.WriteByte('-')
			continue
		case (r == '.' || r == ',') && i+1 < len(rest) && unicode.IsDigit(rest[i+1]):
			digits := 1
			for i+1+digits < len(rest) && unicode.IsDigit(rest[i+1+digits]) {
				digits++
			}
			if digits != 3 {
				b.WriteByte('.')
			}
			continue
		}
		break
	}
	value, err := strconv.ParseFloat(b.String(), 64)
	if i == 0 {
		i = 1 // a digit of another script
	}
	return value, rest[i:], err == nil
}

// usQuart is the US liquid quart in litres, exact by definition; a gallon is four. Source: NIST Handbook 44,
// Appendix C.
const usQuart = 0.946352946

func (f figure) volume() (quantity.Volume, bool) {
	switch f.unit {
	case unitLitre:
		return quantity.Volume(f.value), true
	case unitQuart:
		return quantity.Volume(f.value * usQuart), true
	case unitGallon:
		return quantity.Volume(f.value * 4 * usQuart), true
	}
	return 0, false
}

func (f figure) power() (quantity.Power, bool) {
	switch f.unit {
	case unitWatt:
		return quantity.Power(f.value), true
	case unitKilowatt:
		return quantity.Power(f.value * 1000), true
	}
	return 0, false
}

func (f figure) mass() (quantity.Mass, bool) {
	switch f.unit {
	case unitGram:
		return quantity.Grams(f.value), true
	case unitKilogram:
		return quantity.Mass(f.value), true
	case unitPound:
		return quantity.Pounds(f.value), true
	}
	return 0, false
}

// temperature reads a water temperature. Without a unit it is °F for those who read °F and above 100, else
// °C, house rule.
func (f figure) temperature(u reply.Units) (quantity.Temperature, bool) {
	switch {
	case f.unit == unitFahrenheit, f.unit == unitNone && (f.value > 100 || u == reply.Imperial):
		return quantity.FromFahrenheit(f.value), true
	case f.unit == unitCelsius, f.unit == unitNone:
		return quantity.Temperature(f.value), true
	}
	return 0, false
}

// difference reads how far a thermometer is off.
func (f figure) difference() (quantity.Difference, bool) {
	switch f.unit {
	case unitCelsius:
		return quantity.Difference(f.value), true
	case unitFahrenheit:
		return quantity.Difference(f.value * 5 / 9), true
	}
	return 0, false
}

// height reads an altitude.
func (f figure) height() (quantity.Length, bool) {
	switch f.unit {
	case unitMetre:
		return quantity.Length(f.value), true
	case unitFoot:
		return quantity.Length(f.value * 0.3048), true // exact, international yard and pound agreement (1959)
	}
	return 0, false
}

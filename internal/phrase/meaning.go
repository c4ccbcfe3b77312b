package phrase

import (
	"fmt"
	"strconv"
	"strings"

	"bagwatch/internal/cook"
	"bagwatch/internal/quantity"
)

// kind is a sort of concept; each is a section of the locale files.
type kind uint8

const (
	kindNone     kind = iota
	kindNumber        // [words.number]: value → words
	kindMultiple      // [words.multiple]: dozen, hundred
	kindFraction      // [words.fraction]: half
	kindUnit          // [words.unit]
	kindStart         // [words.start]
	kindFlag          // [words.flag]
	kindShape         // [words.shape]
	kindBath          // [words.bath]
	kindIntent        // [words.intent]
	kindCue           // [words.cue]: small words that steer what is beside them
	kindClock         // [words.clock]: noon
	kindFiller        // [words.filler]
	kindFood          // [food.*]
	kindVague         // [vague.*]
	kindDoneness      // [doneness.*]
	kindRefused       // [refused.*]
	kindUnlisted      // [words.unlisted]: foods that are not in the catalogue
)

// meaning is what a phrase stands for.
type meaning struct {
	kind  kind
	unit  unit
	cue   cue
	value float64 // of numbers; hours of a clock word
	id    string  // everything else
}

// sections names the kinds as the locale files do.
var sections = [...]string{
	kindNone: "nothing", kindNumber: "words.number", kindMultiple: "words.multiple", kindFraction: "words.fraction",
	kindUnit: "words.unit", kindStart: "words.start", kindFlag: "words.flag", kindShape: "words.shape",
	kindBath: "words.bath", kindIntent: "words.intent", kindCue: "words.cue", kindClock: "words.clock",
	kindFiller: "words.filler", kindFood: "food", kindVague: "vague", kindDoneness: "doneness", kindRefused: "refused",
	kindUnlisted: "words.unlisted",
}

// String names the section and id, for messages about a vocabulary.
func (m meaning) String() string {
	id := m.id
	switch m.kind {
	case kindNumber, kindMultiple, kindFraction, kindClock:
		id = strconv.FormatFloat(m.value, 'g', -1, 64)
	case kindUnit:
		id = keyOf(units, m.unit)
	case kindCue:
		id = keyOf(cues, m.cue)
	}
	return fmt.Sprintf("[%s] %s", sections[m.kind], id)
}

func keyOf[V comparable](in map[string]V, want V) string {
	for id, v := range in {
		if v == want {
			return id
		}
	}
	return ""
}

// named reports meanings with a name of their own, which people also write in one word.
func (m meaning) named() bool { return m.kind >= kindFood }

// cue is a bit for each small word.
type cue uint32

const (
	cueArticle cue = 1 << iota
	cueAnd
	cueOr
	cueTo
	cueBetween
	cueEach
	cueAbout
	cueThick // 2 cm thick
	cueLong  // 20 cm long: not the thickness
	cueAt
	cueFrom // from 12 °C
	cueFor
	cueIn
	cueSince
	cueServe
	cueBy
	cueAgo
	cueNot
	cueMinus
	cueTimes
	cueAM
	cuePM
	cueColdStart // 8 °C at the start
	cueSear      // what follows is not the bath
	cueOf        // shoulder of goat
)

var cues = map[string]cue{
	"article": cueArticle, "and": cueAnd, "or": cueOr, "to": cueTo, "between": cueBetween, "each": cueEach,
	"about": cueAbout, "thick": cueThick, "long": cueLong, "at": cueAt, "from": cueFrom, "for": cueFor, "in": cueIn,
	"since": cueSince, "serve": cueServe, "by": cueBy, "ago": cueAgo, "not": cueNot, "minus": cueMinus,
	"times": cueTimes, "am": cueAM, "pm": cuePM, "cold-start": cueColdStart, "sear": cueSear, "of": cueOf,
}

// unit is a unit of measure or a word that is counted.
type unit uint8

const (
	unitNone unit = iota
	unitGram
	unitKilogram
	unitOunce
	unitPound
	unitMetricPound // half a kilogram
	unitMillimetre
	unitCentimetre
	unitInch
	unitCelsius
	unitFahrenheit
	unitDegree // which one is decided by the size
	unitSecond
	unitMinute
	unitMinuteShort // "m", only behind hours
	unitHour
	unitDay
	unitWeek
	unitPiece
	unitGuest
	unitOClock
)

var units = map[string]unit{
	"gram": unitGram, "kilogram": unitKilogram, "ounce": unitOunce, "pound": unitPound, "metric-pound": unitMetricPound,
	"millimetre": unitMillimetre, "centimetre": unitCentimetre, "inch": unitInch,
	"celsius": unitCelsius, "fahrenheit": unitFahrenheit, "degree": unitDegree,
	"second": unitSecond, "minute": unitMinute, "minute-short": unitMinuteShort, "hour": unitHour, "day": unitDay, "week": unitWeek,
	"piece": unitPiece, "guest": unitGuest, "oclock": unitOClock,
}

// class is what a unit measures.
type class uint8

const (
	classNone class = iota
	classMass
	classLength
	classHeat
	classTime
	classPiece
	classGuest
)

// class says what u measures.
func (u unit) class() class {
	switch u {
	case unitGram, unitKilogram, unitOunce, unitPound, unitMetricPound:
		return classMass
	case unitMillimetre, unitCentimetre, unitInch:
		return classLength
	case unitCelsius, unitFahrenheit, unitDegree:
		return classHeat
	case unitSecond, unitMinute, unitMinuteShort, unitHour, unitDay, unitWeek:
		return classTime
	case unitPiece:
		return classPiece
	case unitGuest:
		return classGuest
	default:
		return classNone
	}
}

// hottestCelsius is where a bare temperature stops being °C: above it, it is °F.
const hottestCelsius = 100

// base converts v to kilograms, metres, °C, seconds or a count.
func (u unit) base(v float64) float64 {
	switch u {
	case unitGram:
		return float64(quantity.Grams(v))
	case unitOunce:
		return float64(quantity.Ounces(v))
	case unitPound:
		return float64(quantity.Pounds(v))
	case unitMetricPound:
		return float64(quantity.Grams(500 * v))
	case unitMillimetre:
		return float64(quantity.Millimetres(v))
	case unitCentimetre:
		return float64(quantity.Millimetres(v * 10))
	case unitInch:
		return float64(quantity.Inches(v))
	case unitFahrenheit:
		return float64(quantity.FromFahrenheit(v))
	case unitDegree:
		if v > hottestCelsius {
			return float64(quantity.FromFahrenheit(v))
		}
		return v
	case unitMinute, unitMinuteShort:
		return v * 60
	case unitHour:
		return v * 3600
	case unitDay:
		return v * 24 * 3600
	case unitWeek:
		return v * 7 * 24 * 3600
	default:
		return v
	}
}

// finer reports whether "1 u 4 v" is one amount in two units.
func (u unit) finer(v unit) bool {
	switch u {
	case unitPound:
		return v == unitOunce
	case unitKilogram:
		return v == unitGram
	case unitCentimetre:
		return v == unitMillimetre
	case unitWeek:
		return v == unitDay
	case unitDay:
		return v == unitHour || v == unitMinute
	case unitHour:
		return v == unitMinute || v == unitMinuteShort
	case unitMinute:
		return v == unitSecond
	default:
		return false
	}
}

// coarse reports units in which 1.250 can only be a decimal; in the others it may as well
// be a thousand and a quarter, so it is not read at all.
func (u unit) coarse() bool {
	switch u {
	case unitKilogram, unitPound, unitMetricPound, unitCentimetre, unitInch, unitHour, unitDay, unitWeek:
		return true
	}
	return false
}

// The flags a message can raise, ids of [words.flag].
const (
	flagAtRisk       = "at-risk"
	flagAtRiskBefore = "at-risk-unless-before-food" // "baby": a guest, but not in "baby carrots"
	flagNonIntact    = "non-intact"
	flagCured        = "cured"
	flagPasteurised  = "pasteurised"
)

// meaningOf finds what an id of a [words.*] section stands for.
func meaningOf(section, id string) (meaning, bool) {
	switch section {
	case "number", "multiple", "fraction":
		v, ok := number(id)
		k := map[string]kind{"number": kindNumber, "multiple": kindMultiple, "fraction": kindFraction}[section]
		return meaning{kind: k, value: v}, ok && (k != kindFraction || v < 1)
	case "unit":
		u, ok := units[id]
		return meaning{kind: kindUnit, unit: u}, ok
	case "cue":
		c, ok := cues[id]
		return meaning{kind: kindCue, cue: c}, ok
	case "clock":
		h, ok := strings.CutSuffix(id, ":00")
		v, isNumber := number(h)
		return meaning{kind: kindClock, value: v}, ok && isNumber && v <= 24
	case "start":
		s := cook.StartKind(id)
		return meaning{kind: kindStart, id: id}, s == cook.StartFridge || s == cook.StartRoom || s == cook.StartFrozen
	case "shape":
		switch cook.ShapeOverride(id) {
		case cook.ShapeSlab, cook.ShapeBlock, cook.ShapeCylinder, cook.ShapeSphere:
			return meaning{kind: kindShape, id: id}, true
		}
	case "bath":
		k := cook.BathKind(id)
		return meaning{kind: kindBath, id: id}, k == cook.BathCirculating || k == cook.BathStill
	case "flag":
		switch id {
		case flagAtRisk, flagAtRiskBefore, flagNonIntact, flagCured, flagPasteurised:
			return meaning{kind: kindFlag, id: id}, true
		}
	case "intent":
		return meaning{kind: kindIntent, id: id}, Intent(id).known()
	case "filler":
		return meaning{kind: kindFiller}, id == "any"
	case "unlisted":
		return meaning{kind: kindUnlisted}, id == "any"
	}
	return meaning{}, false
}

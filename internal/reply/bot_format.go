package reply

import (
	"math"
	"strings"
	"time"

	"bagwatch/internal/cook"
	"bagwatch/internal/quantity"
)

// Lines gives a message as lines, an empty one between paragraphs.
func (l *Language) Lines(id ID, data Data) Text {
	var text Text
	for line := range strings.SplitSeq(l.Say(id, data), "\n") {
		if line == "" {
			text = append(text, nil)
			continue
		}
		text = append(text, parts(line))
	}
	return text
}

// Titled gives a message as lines of which the first stands out.
func (l *Language) Titled(id ID, data Data) Text {
	text := l.Lines(id, data)
	if len(text[0]) == 1 && text[0][0].Style == Plain {
		text[0][0].Style = Strong
	}
	return text
}

// Echo cleans and shortens what a person typed, to be said back: no direction marks, no controls, single
// blanks, at most 40 runes.
func Echo(s string) string { return quoted(strings.Join(strings.Fields(clean(s)), " ")) }

// Brief gives the first two lines of a plan: what to set, and when it is ready.
func (l *Language) Brief(p *cook.Plan, o Options) (head, window string) {
	return l.head(p, o), parts(l.windowLine(p, o)).String()
}

// Step names a doneness with its usual setpoint, for a button.
func (l *Language) Step(name string, t quantity.Temperature, u Units) string {
	return l.Say(ButtonStep, Data{"Doneness": capital(name), "T": l.Temperature(t, u)})
}

// Capital turns the first letter of a sentence or a label upper case.
func Capital(s string) string { return capital(s) }

// litresPerQuart is exact by definition. Source: NIST Handbook 44, Appendix C (US liquid quart, 57.75 in³).
const litresPerQuart = 0.946352946

// feetPerMetre is exact by definition. Source: international yard and pound agreement (1959).
const feetPerMetre = 1 / 0.3048

// Volume prints a volume of water: litres or US quarts.
func (l *Language) Volume(v quantity.Volume, u Units) string {
	if u == Imperial {
		return l.Say(UnitQuart, Data{"V": l.decimal(math.Round(float64(v)/litresPerQuart*10)/10, 1)})
	}
	return l.Say(UnitLitre, Data{"V": l.decimal(math.Round(float64(v)*10)/10, 1)})
}

// Power prints a heater's power in whole watts.
func (l *Language) Power(p quantity.Power) string {
	return l.Say(UnitWatt, Data{"P": l.decimal(math.Round(float64(p)), 0)})
}

// Height prints an altitude in whole metres or feet.
func (l *Language) Height(h quantity.Length, u Units) string {
	if u == Imperial {
		return l.Say(UnitFoot, Data{"H": l.decimal(math.Round(float64(h)*feetPerMetre), 0)})
	}
	return l.Say(UnitMetre, Data{"H": l.decimal(math.Round(float64(h)), 0)})
}

// Difference prints a temperature difference, rounded up: what may be off is never made smaller.
func (l *Language) Difference(d quantity.Difference, u Units) string {
	if u == Imperial {
		return l.Say(DegreesF, Data{"T": l.decimal(math.Ceil(float64(d)*18-1e-6)/10, 1)})
	}
	return l.Say(DegreesC, Data{"T": l.decimal(math.Ceil(float64(d)*100-1e-6)/100, 2)})
}

// Dip prints a temperature that something may fall to, rounded down to half a degree.
func (l *Language) Dip(t quantity.Temperature, u Units) string {
	if u == Imperial {
		return l.Say(DegreesF, Data{"T": l.decimal(math.Floor(t.Fahrenheit()), 0)})
	}
	return l.Say(DegreesC, Data{"T": l.decimal(math.Floor(float64(t)*2)/2, 1)})
}

// Later prints a span rounded up as ready times are.
func (l *Language) Later(d time.Duration) string { return l.Span(later(d, false)) }

// Words gives the words of a comma-separated list of the locale, in lower case.
func (l *Language) Words(id ID) []string {
	var out []string
	for w := range strings.SplitSeq(l.Say(id, nil), ",") {
		if w = strings.ToLower(strings.TrimSpace(w)); w != "" {
			out = append(out, w)
		}
	}
	return out
}

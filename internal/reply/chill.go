package reply

import (
	"math"
	"strings"
	"time"

	"bagwatch/internal/cook"
	"bagwatch/internal/quantity"
)

// dateLayout is that of ISO 8601, which reads the same everywhere.
const dateLayout = "2006-01-02"

// Chill puts a chilling into words: the time, the ice, whether the published limits hold, and how long it
// keeps then. With Options.In keep-until is a date.
func (l *Language) Chill(c *cook.Chill, o Options) Text {
	text := Text{}
	if c.Verdict.Answer == cook.No {
		text = append(text, strongLine(l.Say(verdictID(cook.No, c.Verdict.Reason), nil)), plainLine(l.why(c.Verdict, o)), parts(l.todo(c.Verdict, o)))
		return append(text, plainLine(l.Say(VerdictLimits, nil)))
	}
	likely, careful := later(c.End.After, false), later(c.EndLater.After, false)
	text = append(text, strongLine(l.Say(ChillHead, Data{"Likely": l.Span(likely), "Careful": l.Span(max(likely, careful))})))
	for _, line := range o.Heard {
		text = append(text, plainLine(line))
	}
	text = append(text,
		plainLine(l.Say(ChillMiddle, Data{"Likely": l.Span(later(c.Middle.After, false)), "Careful": l.Span(later(max(c.Middle.After, c.MiddleCareful.After), false))})),
		plainLine(l.Say(ChillIce, Data{"Ice": l.upMass(c.Ice, o), "Water": l.litres(c.Water, o)})),
		nil)
	text = append(text, l.cooling(c, o)...)
	text = append(text, l.keeping(c, o)...)
	return append(text, plainLine(l.Say(ChillLimits, nil)))
}

// cooling says whether the limits hold and what makes them.
func (l *Language) cooling(c *cook.Chill, o Options) Text {
	var held, failed []string
	for _, k := range c.Coolings {
		rule := l.Say(ID("chill.rule."+k.Rule.ID), nil)
		if k.Held {
			held = append(held, rule)
		} else {
			failed = append(failed, rule)
		}
	}
	if len(failed) == 0 {
		return Text{plainLine(l.Say(ChillHeld, Data{"Rules": strings.Join(held, "; ")}))}
	}
	text := Text{plainLine(l.Say(ChillSlow, Data{"Rules": strings.Join(failed, "; ")}))}
	if c.Late || c.Thin <= 0 {
		return append(text, plainLine(l.Say(ChillThick, nil)))
	}
	thin := c.Thin
	if o.Units == Imperial { // tenths of an inch, down
		thin = quantity.Inches(math.Floor(c.Thin.Inches()*10) / 10)
	}
	return append(text, plainLine(l.Say(ChillThin, Data{"L": l.Thickness(thin, o.Units)})))
}

// keeping says how long it keeps.
func (l *Language) keeping(c *cook.Chill, o Options) Text {
	if !c.Keepable {
		switch {
		case c.Verdict.Answer == cook.NotYet:
			return Text{plainLine(l.Say(ChillNotKeepYet, nil))}
		case !c.Held && !c.Late:
			return nil // first it must be made thinner
		}
		return Text{plainLine(l.Say(ChillNotKeep, nil))}
	}
	data := Data{"Count": c.Keep.Days, "T": l.downTemperature(c.Keep.Below, o.Units)}
	id := ChillKeepSpan
	if !o.In.IsZero() {
		id, data["Until"] = ChillKeep, l.keepUntil(c, o).Format(dateLayout)
	}
	return Text{plainLine(l.Say(id, data)), plainLine(l.Say(ChillKeepSource, Data{"Source": c.Keep.Source}))}
}

// keepUntil is the last day that it keeps.
func (l *Language) keepUntil(c *cook.Chill, o Options) time.Time {
	return o.In.Add(c.Verdict.Now + c.KeepFor)
}

// Label is what to write on a bag that is kept; nil for one that is not. It needs Options.In for its dates.
func (l *Language) Label(c *cook.Chill, o Options) Text {
	if !c.Keepable || o.In.IsZero() {
		return nil
	}
	p := c.Verdict.Plan
	lines := []string{
		capital(l.Say(LabelFood, Data{"Food": l.FoodName(p.Food.ID, p.Pieces), "Count": p.Pieces})),
		l.Say(LabelCooked, Data{"Date": o.In.Add(c.Verdict.Now).Format(dateLayout), "Water": l.Water(p.Setpoint, o.Units)}),
		l.Say(LabelUntil, Data{"Date": l.keepUntil(c, o).Format(dateLayout), "T": l.downTemperature(c.Keep.Below, o.Units)}),
		l.Say(LabelFrozen, Data{"Date": o.In.Add(c.Verdict.Now + c.FreezeFor).Format(dateLayout)}),
	}
	var text Text
	for _, line := range lines {
		text = append(text, Line{{Text: line, Style: Code}})
	}
	return text
}

// Reheat puts the warming of a chilled bag into words.
func (l *Language) Reheat(r *cook.Reheat, o Options) Text {
	ready, best := later(r.Ready, false), sooner(r.Best, false)
	if best < ready {
		ready, best = later(r.Ready, true), max(later(r.Ready, true), sooner(r.Best, true))
	}
	text := Text{strongLine(l.Say(ReheatHead, Data{"Water": l.Water(r.Setpoint, o.Units), "T": l.Temperature(halfDown(r.Core), o.Units), "Ready": l.Span(ready)}))}
	for _, line := range o.Heard {
		text = append(text, plainLine(line))
	}
	text = append(text, plainLine(l.Say(ReheatBest, Data{"Best": l.Span(best)})))
	if !r.Until.Never {
		text = append(text, plainLine(l.Say(ReheatUntil, Data{"Until": l.Span(sooner(r.Until.After, false))})))
	}
	return append(text, nil,
		plainLine(l.Say(ID("reheat.rule."+string(r.Rule)), Data{"T": l.Temperature(r.Core, o.Units), "Source": r.Source})),
		plainLine(l.Say(ReheatKeep, Data{"Count": r.Keep.Days, "T": l.downTemperature(r.Keep.Below, o.Units)})),
		plainLine(l.Say(VerdictLimits, nil)))
}

// downTemperature prints a temperature that must not be passed: tenths of a degree, or whole ones in °F, down.
func (l *Language) downTemperature(t quantity.Temperature, u Units) string {
	if u == Imperial {
		return l.Say(DegreesF, Data{"T": l.decimal(math.Floor(t.Fahrenheit()+1e-6), 0)})
	}
	return l.Say(DegreesC, Data{"T": l.decimal(math.Floor(float64(t)*10+1e-6)/10, 1)})
}

// iceStep is what ice is weighed to.
const iceStep = 100.0 // g

// upMass prints a mass of ice, rounded up.
func (l *Language) upMass(m quantity.Mass, o Options) string {
	return l.Mass(quantity.Grams(math.Ceil(m.Grams()/iceStep)*iceStep), o.Units)
}

// litres prints a volume of water: half litres, or quarts, up.
func (l *Language) litres(v quantity.Volume, o Options) string {
	const litresPerQuart = 0.946352946 // US liquid quart, exact
	if o.Units == Imperial {
		return l.Say(UnitQuart, Data{"V": l.decimal(math.Ceil(float64(v)/litresPerQuart*2)/2, 1)})
	}
	return l.Say(UnitLitre, Data{"V": l.decimal(math.Ceil(float64(v)*2)/2, 1)})
}

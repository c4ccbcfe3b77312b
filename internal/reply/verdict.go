package reply

import (
	"math"
	"slices"
	"strings"
	"time"

	"bagwatch/internal/cook"
	"bagwatch/internal/lethality"
	"bagwatch/internal/quantity"
)

// mostLog is beyond what a log reduction means anything: shown as "over". House rule.
const mostLog = 12.0

// Verdict puts a verdict into words: the verdict first, then why in figures, then what to do and until
// when, then what it rests on. With Options.In, when the bag went in, moments are clock times.
func (l *Language) Verdict(v *cook.Verdict, o Options) Text {
	text := Text{{{Text: ""}}}
	at := Data{"At": l.when(v.At, v.Now, o)}
	id := verdictID(v.Answer, v.Reason)
	if id == VerdictYesPasteurised && v.Do == cook.DoEatNow {
		id = VerdictYesCooled
	}
	if v.Do == cook.DoOthers {
		id = VerdictNoAtRisk
	}
	text[0] = strongLine(l.Say(id, at))
	for _, line := range o.Heard {
		text = append(text, plainLine(line))
	}
	text = append(text, plainLine(l.why(v, o)), parts(l.todo(v, o)))
	if v.NotTender {
		text = append(text, plainLine(l.Say(VerdictNotTender, nil)))
	}
	if v.Others != "" {
		text = append(text, parts(l.others(v, o)))
	}
	text = append(text, nil)
	for _, line := range l.warnings(v, o) {
		text = append(text, plainLine(line))
	}
	if line := l.unknown(v, o); line != "" {
		text = append(text, plainLine(line))
	}
	if v.Reason != cook.ReasonPlant && v.Reason != cook.ReasonFirm && len(v.Kills) > 0 {
		text = append(text, plainLine(l.sources(v)))
	}
	return append(text, plainLine(l.Say(VerdictLimits, nil)))
}

// strongLine shows a sentence strongly; clock times in it stay clock times.
func strongLine(s string) Line {
	line := parts(s)
	for i := range line {
		if line[i].Style == Plain {
			line[i].Style = Strong
		}
	}
	return line
}

// clockUp marks a moment rounded up to the minute: what must have happened by then has.
func (l *Language) clockUp(t time.Time) string {
	if whole := t.Truncate(time.Minute); whole.Before(t) {
		t = whole.Add(time.Minute)
	}
	return l.Clock(t)
}

// when names a moment to come, rounded up. now is the time since immersion.
func (l *Language) when(m cook.Moment, now time.Duration, o Options) string {
	switch {
	case m.Never:
		return l.Say(MovedNever, nil)
	case !o.In.IsZero():
		return l.Say(VerdictAtClock, Data{"Clock": l.clockUp(o.In.Add(m.After))})
	}
	return l.Say(VerdictAtMore, Data{"Span": l.Span(later(max(0, m.After-now), false))})
}

// until names the end of a time, rounded down.
func (l *Language) until(after, now time.Duration, o Options) string {
	if !o.In.IsZero() {
		return l.Say(VerdictUntilClock, Data{"Clock": l.Clock(o.In.Add(after).Truncate(time.Minute))})
	}
	return l.Say(VerdictUntilMore, Data{"Span": l.Span(sooner(after-now, false))})
}

// why gives the figures.
func (l *Language) why(v *cook.Verdict, o Options) string {
	n := v.Note
	data := Data{
		"Spent": l.Span(later(n.Span, n.Span < n.Allowed+time.Minute)), "Allowed": l.Span(n.Allowed),
		"T": l.Temperature(n.Temperature, o.Units), "Source": n.Source,
	}
	var reason string
	if v.Answer == cook.No {
		switch v.Reason {
		case cook.ReasonClock, cook.ReasonSag, cook.ReasonSagCooked:
			reason = l.Say(VerdictSpent, data) + " "
		case cook.ReasonDelay:
			return l.Say(VerdictSpentOut, data)
		case cook.ReasonComeUp:
			reason = l.Say(VerdictWarming, data) + " "
		}
	}
	id := VerdictCore
	if v.Happened.Pulled {
		id = VerdictCoreOut
	}
	core := halfDown(v.Core)
	if o.Units == Imperial { // whole degrees Fahrenheit, down
		core = quantity.FromFahrenheit(math.Floor(v.Core.Fahrenheit()))
	}
	out := reason + l.Say(id, Data{"T": l.Temperature(core, o.Units)})
	if v.Reason == cook.ReasonPlant || v.Reason == cook.ReasonFirm || len(v.Kills) == 0 {
		return out
	}
	return out + " " + l.kills(v)
}

// kills lists what every rule may credit, to half a power of ten, rounded down.
func (l *Language) kills(v *cook.Verdict) string {
	var logs []string
	for _, k := range v.Kills {
		data := Data{
			"Name": l.Say(ID("verdict.pathogen."+string(k.Rule.Pair.Pathogen)), nil),
			"Need": l.decimal(k.Rule.Target, 1), "Log": l.decimal(math.Floor(k.Log*2)/2, 1),
		}
		id := VerdictLog
		if k.Log > mostLog {
			id, data["Log"] = VerdictLogOver, l.decimal(mostLog, 0)
		}
		logs = append(logs, l.Say(id, data))
	}
	return l.Say(VerdictLogs, Data{"Logs": strings.Join(logs, ", ")})
}

func (l *Language) sources(v *cook.Verdict) string {
	var all []string
	for _, k := range v.Kills {
		if !slices.Contains(all, k.Rule.Source) {
			all = append(all, k.Rule.Source)
		}
	}
	return l.Say(VerdictRule, Data{"Sources": strings.Join(all, "; ")})
}

// todo says what to do and until when.
func (l *Language) todo(v *cook.Verdict, o Options) string {
	data := Data{"At": l.when(v.At, v.Now, o), "Water": l.Water(v.Setpoint, o.Units)}
	if v.BestUntil > v.Now {
		data["Best"] = l.until(v.BestUntil, v.Now, o)
	}
	if !v.Until.Never {
		data["Until"] = l.until(v.Until.After, v.Now, o)
	}
	switch v.Do {
	case cook.DoServe:
		switch {
		case data["Until"] != nil:
			return l.Say(VerdictDoServeUntil, data)
		case data["Best"] != nil && v.Planned && !v.NotTender:
			return l.Say(VerdictDoServeBest, data)
		}
		return l.Say(VerdictDoServe, data)
	case cook.DoEatNow:
		switch {
		case data["Until"] != nil:
			return l.Say(VerdictDoEatUntil, data)
		case data["Best"] != nil:
			return l.Say(VerdictDoEat, data)
		}
		return l.Say(VerdictDoEatNow, data)
	case cook.DoWait:
		data["Water"] = l.Water(v.Plan.Setpoint, o.Units)
		return l.Say(VerdictDoWait, data)
	case cook.DoRaise:
		return l.Say(VerdictDoRaise, data)
	case cook.DoBackIn:
		return l.Say(VerdictDoBackIn, data)
	case cook.DoOthers:
		return l.Say(VerdictDoOthers, data)
	case cook.DoThermometer:
		return l.Say(VerdictDoThermometer, data)
	}
	return l.Say(VerdictDoDiscard, data)
}

func (l *Language) others(v *cook.Verdict, o Options) string {
	plain := v.OthersReason == cook.ReasonPasteurised
	if v.OthersUntil.Never {
		if plain {
			return l.Say(VerdictOthersPlain, nil)
		}
		return l.Say(VerdictOthers, nil)
	}
	id := VerdictOthersUntil
	if plain {
		id = VerdictOthersPlainUntil
	}
	return l.Say(id, Data{"Until": l.until(v.OthersUntil.After, v.Now, o)})
}

// warnings says for whom a qualified yes is, and the cautions.
func (l *Language) warnings(v *cook.Verdict, o Options) []string {
	var out, nationals []string
	switch v.Reason {
	case cook.ReasonRare:
		out = append(out, l.Say(VerdictWhoRare, nil))
	case cook.ReasonLightly:
		out = append(out, l.Say(VerdictWhoLightly, nil))
	case cook.ReasonSoftEgg:
		out = append(out, l.Say(VerdictWhoSoftEgg, nil))
	}
	for _, n := range v.Cautions {
		switch n.ID {
		case cook.CautionNational:
			nationals = append(nationals, l.national(n, o))
		case cook.CautionEatQuick:
			out = append(out, l.Say(VerdictEatQuick, Data{"Span": l.Span(later(n.Span, false))}))
		default:
			out = append(out, l.Caution(n, o))
		}
	}
	if len(nationals) > 0 {
		out = append(out, l.Say(cautionID(string(cook.CautionNational)), Data{"Minima": strings.Join(nationals, ", ")}))
	}
	return out
}

// unknown lists what was taken on the safe side.
func (l *Language) unknown(v *cook.Verdict, o Options) string {
	var facts []string
	for _, n := range v.Unknowns {
		id := factID(n.ID)
		switch n.ID {
		case cook.AssumeThicknessMass, cook.AssumeThicknessUsual, cook.AssumeThicknessAbout:
			id = VerdictFactThickness
		}
		fact := l.Say(id, Data{
			"T": l.Temperature(n.Temperature, o.Units), "L": l.Thickness(n.LengthMax, o.Units), "Span": l.Span(sooner(n.Span, true)),
		})
		if !slices.Contains(facts, fact) {
			facts = append(facts, fact)
		}
	}
	if len(facts) == 0 {
		return ""
	}
	return l.Say(VerdictTaken, Data{"Facts": strings.Join(facts, ", ")})
}

// Moved says what a bath diary did to a bag: the times that moved, and from when it is not safe. name is
// what the bag is called; empty takes the food's name.
func (l *Language) Moved(r *cook.Replanned, name string, o Options) Text {
	food := ""
	switch {
	case name != "":
		food = quoted(name)
	case r.Plan != nil:
		food = l.FoodName(r.Plan.Food.ID, r.Plan.Pieces)
	case r.Before != nil:
		food = l.FoodName(r.Before.Food.ID, r.Before.Pieces)
	}
	food = capital(food)
	var text Text
	if r.Unsafe != nil {
		id, from := MovedUnsafeSpan, cook.Moment{After: r.Unsafe.From}
		if !o.In.IsZero() {
			id = MovedUnsafe
		}
		line := strongLine(l.Say(id, Data{"Food": food, "Clock": l.bare(from, o, false), "Span": l.bare(from, o, false)}))
		reason := l.Say(VerdictSpent, Data{
			"Spent": l.Span(r.Unsafe.Note.Allowed), "Allowed": l.Span(r.Unsafe.Note.Allowed),
			"T": l.Temperature(lethality.GrowthHigh, o.Units), "Source": r.Unsafe.Note.Source,
		})
		text = append(text, line, plainLine(reason))
	}
	switch {
	case r.Plan == nil:
		if r.Unsafe == nil {
			text = append(text, plainLine(l.Say(MovedRefused, Data{"Food": food})))
		}
	case len(r.Changes) == 0:
		text = append(text, plainLine(l.Say(MovedSame, Data{"Food": food})))
	default:
		var changes []string
		for _, c := range r.Changes {
			up := c.ID == cook.ChangeReady || c.ID == cook.ChangePasteurised
			changes = append(changes, l.Say(movedID(c.ID), Data{"Before": l.bare(c.Before, o, up), "After": l.bare(c.After, o, up)}))
		}
		text = append(text, parts(l.Say(MovedHead, Data{"Food": food, "Changes": strings.Join(changes, ", ")})))
	}
	var facts []string
	for _, n := range r.Assumed {
		facts = append(facts, l.Say(factID(n.ID), Data{"T": l.Temperature(n.Temperature, o.Units)}))
	}
	if len(facts) > 0 {
		text = append(text, plainLine(l.Say(VerdictTaken, Data{"Facts": strings.Join(facts, ", ")})))
	}
	return text
}

// bare is a moment without a word before it.
func (l *Language) bare(m cook.Moment, o Options, up bool) string {
	switch {
	case m.Never:
		return l.Say(MovedNever, nil)
	case !o.In.IsZero() && up:
		return l.clockUp(o.In.Add(m.After))
	case !o.In.IsZero():
		return l.Clock(o.In.Add(m.After).Truncate(time.Minute))
	case up:
		return l.Span(later(m.After, false))
	}
	return l.Span(sooner(m.After, false))
}

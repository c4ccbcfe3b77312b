package reply

import (
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"bagwatch/internal/cook"
	"bagwatch/internal/food"
	"bagwatch/internal/heat"
)

// Options are how a person wants an answer.
type Options struct {
	Units Units
	// In is when the bag went or goes in, in the chat's zone; zero prints spans instead of clock times.
	In time.Time
	// Heard are lines about how the message was taken, from [Language.Heard].
	Heard []string
}

// shownCautions is how many cautions an answer carries besides those that must be said. House rule: a
// list longer than this is not read with wet hands.
const shownCautions = 3

// mustSay are the cautions that are never left out.
var mustSay = map[cook.NoteID]bool{
	cook.CautionRare: true, cook.CautionLightlyCooked: true, cook.CautionSoftEgg: true, cook.CautionParasites: true,
	cook.CautionHistamine: true, cook.CautionShortHold: true, cook.CautionComeUp: true, cook.CautionNoClaim: true,
	cook.CautionTenderised: true, cook.CautionSpanShort: true, cook.CautionSpanLong: true, cook.CautionPlantKeep: true,
}

// Plan puts a plan into words: the needed numbers in its first two lines, then what they rest on, then
// what to do, then the cautions.
func (l *Language) Plan(p *cook.Plan, o Options) Text {
	text := Text{{{Text: l.head(p, o), Style: Strong}}, parts(l.windowLine(p, o)), nil}
	for _, line := range o.Heard {
		text = append(text, plainLine(line))
	}
	text = append(text, plainLine(l.pasteurised(p)), plainLine(l.taken(p, o)))
	if p.Sear != nil {
		text = append(text, plainLine(l.then(p.Sear)))
	}
	text = append(text, nil)
	for _, line := range l.Cautions(p, o) {
		text = append(text, plainLine(line))
	}
	return append(text, plainLine(l.Say(PlanLimits, nil)))
}

// Head is the first line of a plan.
func (l *Language) head(p *cook.Plan, o Options) string {
	name, water := capital(l.FoodName(p.Food.ID, p.Pieces)), l.Water(p.Setpoint, o.Units)
	if p.Doneness == "" {
		return l.Say(PlanHeadBare, Data{"Food": name, "Water": water})
	}
	return l.Say(PlanHead, Data{"Food": name, "Doneness": l.DonenessName(p.Doneness), "Water": water})
}

func (l *Language) windowLine(p *cook.Plan, o Options) string {
	w := p.Printed()
	ready, early, best := w.Ready, w.Early, w.BestBefore
	if !o.In.IsZero() {
		return l.Say(PlanClock, Data{"In": l.Clock(o.In), "Ready": l.Clock(o.In.Add(ready)), "Best": l.Clock(o.In.Add(best))})
	}
	if early < ready {
		return l.Say(PlanWindowRange, Data{"Ready": l.Span(ready), "Early": l.Span(early), "Best": l.Span(best)})
	}
	return l.Say(PlanWindow, Data{"Ready": l.Span(ready), "Best": l.Span(best)})
}

// Clock marks a point in time; it prints in the zone of t.
func (l *Language) Clock(t time.Time) string { return clockMark(t, t.Format("15:04")) }

func (l *Language) pasteurised(p *cook.Plan) string {
	switch {
	case p.Serve == cook.ServePlant:
		return l.Say(PlanPlant, nil)
	case p.Request.Cured:
		return l.Say(PlanNoClaim, nil)
	case p.Pasteurised.Never:
		return l.Say(PlanNever, nil)
	case p.Pasteurised.By(p.Ready):
		return l.Say(PlanBy, nil)
	}
	return l.Say(PlanOnlyAfter, Data{"Span": l.Span(later(p.Pasteurised.After, false))})
}

// taken lists what the plan rests on.
func (l *Language) taken(p *cook.Plan, o Options) string {
	facts := l.bulk(p, o)
	start := map[cook.StartKind]ID{cook.StartFridge: PlanFridge, cook.StartRoom: PlanRoom, cook.StartFrozen: PlanFrozen, cook.StartGiven: PlanStart}
	facts = append(facts, l.Say(start[p.Start], Data{"T": l.Temperature(p.StartAt, o.Units)}))
	if p.Food.Proportions.Shape != food.EggShape {
		facts = append(facts, l.Say(PlanLayer, nil))
	}
	return l.Say(PlanTaken, Data{"Facts": strings.Join(facts, ", ")})
}

// bulk says how much it is and how thick.
func (l *Language) bulk(p *cook.Plan, o Options) []string {
	var facts []string
	if p.Mass > 0 {
		facts = append(facts, l.Say(PlanMass, Data{"Count": p.Pieces, "Mass": l.Mass(p.Mass, o.Units)}))
	} else {
		facts = append(facts, l.Say(PlanPieces, Data{"Count": p.Pieces}))
	}
	round := p.Likely.Shape.Kind == heat.Cylinder || p.Likely.Shape.Kind == heat.Sphere
	size, about := PlanThick, PlanThickAbout
	if round {
		size, about = PlanAcross, PlanAcrossAbout
	}
	if p.Guessed {
		facts = append(facts, l.Say(about, Data{"From": l.Thickness(p.Thickness, o.Units), "To": l.Thickness(p.LateThickness(), o.Units)}))
	} else {
		facts = append(facts, l.Say(size, Data{"L": l.Thickness(p.Thickness, o.Units)}))
	}
	return facts
}

func (l *Language) then(s *cook.Sear) string {
	data := Data{"Seconds": l.seconds(s.PerSideMin, s.PerSideMax)}
	id := PlanThen
	switch {
	case s.ChillMax == 0:
	case s.ChillMin == s.ChillMax:
		id, data["Chill"] = PlanThenChill, l.Span(s.ChillMax)
	default:
		id, data["Chill"] = PlanThenChill, l.Say(SpanMinutes, Data{"Minutes": l.decimal(s.ChillMin.Minutes(), 0) + "–" + l.decimal(s.ChillMax.Minutes(), 0)})
	}
	if s.Rest == 0 {
		return l.Say(id, data)
	}
	return l.Say(id, data) + " " + l.Say(PlanRest, Data{"Span": l.Span(s.Rest)})
}

// Cautions gives a plan's cautions as sentences, most important first, the lesser ones only as far as
// shownCautions allows.
func (l *Language) Cautions(p *cook.Plan, o Options) []string {
	var out, nationals []string
	lesser := 0
	for _, n := range p.Cautions {
		if n.ID == cook.CautionNational {
			nationals = append(nationals, l.national(n, o))
			continue
		}
		if n.ID == cook.CautionNotPasteurised {
			continue // it has its own line
		}
		if !mustSay[n.ID] {
			if lesser == shownCautions {
				continue
			}
			lesser++
		}
		out = append(out, l.Caution(n, o))
	}
	if len(nationals) > 0 {
		out = append(out, l.Say(cautionID(string(cook.CautionNational)), Data{"Minima": strings.Join(nationals, ", ")}))
	}
	return out
}

// national prints one country's consumer minimum.
func (l *Language) national(n cook.Note, o Options) string {
	data := Data{"Country": l.Say(ID("country."+n.Ref), nil), "T": l.Temperature(n.Temperature, o.Units)}
	switch {
	case n.Span > 0 && n.Count > 0:
		data["Span"] = l.Span(n.Span)
		return l.Say(NationalRest, data)
	case n.Span > 0:
		data["Span"] = l.Span(n.Span)
		return l.Say(NationalHold, data)
	}
	return l.Say(NationalPlain, data)
}

// Caution puts one caution into words.
func (l *Language) Caution(n cook.Note, o Options) string {
	span := later(n.Span, false)
	if n.ID == cook.CautionShortHold {
		span = sooner(n.Span, false)
	}
	return l.Say(cautionID(string(n.ID)), Data{"Span": l.Span(span), "T": l.Temperature(n.Temperature, o.Units)})
}

// Refusal says why a request was refused and the nearest that passes.
func (l *Language) Refusal(r *cook.Refusal, o Options) Text {
	n := r.Note
	data := Data{
		"T": l.Temperature(n.Temperature, o.Units), "L": l.Thickness(n.Length, o.Units), "M": l.Mass(n.Mass, o.Units),
		"Count": n.Count, "Span": l.Span(sooner(n.Span, false)), "Food": l.FoodName(food.ID(n.Ref), 1),
	}
	if r.Rule == cook.RefuseSlowCore {
		data["Span"] = l.Span(n.Allowed)
		data["Need"] = l.Span(later(n.Span, false))
		delete(data, "Count")
	}
	text := Text{{{Text: capital(l.Say(refusalID(string(r.Rule)), data)), Style: Strong}}}
	if r.NearestPlan != nil {
		text = append(text, parts(l.Say("refusal.nearest", Data{"Head": l.head(r.NearestPlan, o), "Window": l.windowLine(r.NearestPlan, o)})))
	}
	for _, line := range o.Heard {
		text = append(text, plainLine(line))
	}
	return text
}

// capital turns the first letter of a sentence upper case.
func capital(s string) string {
	r, n := utf8.DecodeRuneInString(s)
	if n == 0 {
		return s
	}
	return string(unicode.ToUpper(r)) + s[n:]
}

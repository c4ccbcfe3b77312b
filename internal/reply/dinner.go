package reply

import (
	"errors"
	"math"
	"strings"
	"time"

	"bagwatch/internal/cook"
	"bagwatch/internal/dinner"
	"bagwatch/internal/food"
	"bagwatch/internal/quantity"
)

// dinnerIceReserve is what is put on the least ice of the balance, and dinnerIceStep what it is rounded up to, kg: house rules.
const (
	dinnerIceReserve               = 1.5
	dinnerIceStep    quantity.Mass = 0.1
)

// Dinner puts a schedule into words: a list of times and actions, then why it is so, then what must be said
// of food that is served before it is pasteurised. Times print in their own zone.
func (l *Language) Dinner(s dinner.Schedule, o Options) Text {
	text := Text{l.strong(l.Say(DinnerTitle, Data{"At": l.Clock(s.Serve)}))}
	for _, st := range s.Steps {
		if DinnerMerged(s, st) {
			continue
		}
		text = append(text, parts(l.dinnerLine(s, st, o)))
	}
	if why := l.DinnerReasons(s, o); len(why) > 0 {
		text = append(text, nil)
		for _, line := range why {
			text = append(text, parts(line))
		}
	}
	if said := l.dinnerCautions(s); len(said) > 0 {
		text = append(text, nil)
		for _, line := range said {
			text = append(text, plainLine(line))
		}
	}
	return text
}

// strong makes the plain parts of a sentence stand out.
func (l *Language) strong(sentence string) Line {
	line := parts(sentence)
	for i := range line {
		if line[i].Style == Plain {
			line[i].Style = Strong
		}
	}
	return line
}

// DinnerMerged tells whether a step is said together with the one before it: the ice water with the pull, the
// rest with the sear.
func DinnerMerged(s dinner.Schedule, st dinner.Step) bool {
	var with dinner.Kind
	switch st.Kind {
	case dinner.StepChill:
		with = dinner.StepPull
	case dinner.StepRest:
		with = dinner.StepSear
	default:
		return false
	}
	other, ok := s.Step(dinner.Key{Kind: with, Dish: st.Dish, Water: -1})
	return ok && other.Done == st.Done
}

func (l *Language) dinnerLine(s dinner.Schedule, st dinner.Step, o Options) string {
	at := l.Clock(st.At)
	if st.Kind == dinner.StepSear && st.Until.After(st.At) {
		at = l.Say(DinnerSpan, Data{"From": at, "To": l.Clock(st.Until)})
	}
	line := l.Say(DinnerLine, Data{"Time": at, "What": l.dinnerStep(s, st, o)})
	switch {
	case st.Done:
		return l.Say(DinnerDone, Data{"Line": line})
	case st.Owner != dinner.Owner{}:
		return l.Say(DinnerBy, Data{"Line": line, "Who": quoted(st.Owner.Name)})
	}
	return line
}

// DinnerAlert says a step when it is due, and to whom if it was taken.
func (l *Language) DinnerAlert(s dinner.Schedule, st dinner.Step, o Options) Text {
	return Text{parts(l.DinnerAlertLine(s, st, o))}
}

// dinnerStep says what is to be done.
func (l *Language) dinnerStep(s dinner.Schedule, st dinner.Step, o Options) string {
	data := Data{"Water": l.Water(st.Temperature, o.Units), "Until": l.Clock(st.Until), "Ice": l.Mass(ice(st.Ice), o.Units)}
	if st.Dish >= 0 {
		data["Food"] = l.dishName(s.Dishes, st.Dish)
	}
	if len(s.Kit.Baths) > 1 && st.Bath >= 0 && (st.Kind == dinner.StepIn || st.Kind == dinner.StepReheat) {
		data["Water"] = l.Say(DinnerInBath, Data{"Bath": st.Bath + 1, "Water": data["Water"]})
	}
	var id ID
	switch st.Kind {
	case dinner.StepHeat:
		id = DinnerHeat
	case dinner.StepChange:
		id = DinnerChange
	case dinner.StepIce:
		id = DinnerIce
	case dinner.StepCool:
		id = DinnerCool
	case dinner.StepIn:
		id = DinnerIn
	case dinner.StepOut:
		id = DinnerOut
	case dinner.StepReheat:
		id = DinnerReheat
	case dinner.StepPull:
		id = DinnerPull
		if chill, ok := s.Step(dinner.Key{Kind: dinner.StepChill, Dish: st.Dish, Water: -1}); ok {
			id, data["Span"] = DinnerPullChill, l.Span(chill.Until.Sub(chill.At))
		}
	case dinner.StepChill:
		id, data["Span"] = DinnerChill, l.Span(st.Until.Sub(st.At))
	case dinner.StepSear:
		id, data["Seconds"] = DinnerSearOnly, ""
		if _, rests := s.Step(dinner.Key{Kind: dinner.StepRest, Dish: st.Dish, Water: -1}); rests {
			id = DinnerSear
		}
		if st.Sear != nil {
			data["Seconds"] = l.seconds(st.Sear.PerSideMin, st.Sear.PerSideMax)
		}
	case dinner.StepRest:
		id = DinnerRest
	default:
		id = DinnerServe
	}
	what := l.Say(id, data)
	if st.Water >= 0 && len(s.Kit.Baths) > 1 {
		return l.Say(DinnerBath, Data{"Bath": st.Water + 1, "What": what})
	}
	return what
}

// ice is the ice that is asked for: the least, and half as much again for what the room gives.
func ice(least quantity.Mass) quantity.Mass {
	return dinnerIceStep * quantity.Mass(math.Ceil(float64(dinnerIceReserve*least/dinnerIceStep)))
}

// dishName is what people call a dish.
func (l *Language) dishName(dishes []dinner.Dish, i int) string {
	if name := quoted(dishes[i].Name); name != "" {
		return name
	}
	pieces := dishes[i].Request.Pieces
	if pieces == 0 {
		pieces = 2 // what was not counted is spoken of in the plural
	}
	return l.FoodName(dishes[i].Request.Food, pieces)
}

func (l *Language) dishNames(dishes []dinner.Dish, all []int) string {
	names := make([]string, len(all))
	for i, d := range all {
		names[i] = l.dishName(dishes, d)
	}
	switch n := len(names); n {
	case 0:
		return ""
	case 1:
		return names[0]
	default:
		return l.Say(ListAnd, Data{"A": strings.Join(names[:n-1], ", "), "B": names[n-1]})
	}
}

// DinnerReasons says why a schedule is as it is, a sentence each.
func (l *Language) DinnerReasons(s dinner.Schedule, o Options) []string {
	var out []string
	for _, r := range s.Reasons {
		data := Data{
			"Water": l.Water(r.Temperature, o.Units), "Asked": l.Temperature(r.Asked, o.Units), "Others": l.dishNames(s.Dishes, r.With),
			"Low": l.Temperature(r.Temperature, o.Units), "Span": l.Span(r.Span.Truncate(time.Minute)), "Bath": r.Bath + 1,
		}
		if !r.Until.IsZero() {
			data["Until"] = l.Clock(r.Until.Truncate(time.Minute))
		}
		if r.Dish >= 0 {
			data["Food"] = l.dishName(s.Dishes, r.Dish)
		}
		out = append(out, capital(l.Say(dinnerReasonID(r.ID), data)))
	}
	return out
}

// dinnerCautions are never left out: what is not pasteurised, and vegetables that must not stand warm.
func (l *Language) dinnerCautions(s dinner.Schedule) []string {
	var raw []int
	plants := false
	for _, c := range s.Courses {
		switch c.Serve {
		case cook.ServeRare, cook.ServeLightly:
			raw = append(raw, c.Dish)
		case cook.ServePlant:
			plants = true
		}
	}
	var out []string
	if len(raw) > 0 {
		out = append(out, capital(l.Say(DinnerRaw, Data{"Foods": l.dishNames(s.Dishes, raw)})))
	}
	if plants {
		out = append(out, l.Say(DinnerPlants, nil))
	}
	return out
}

// DinnerImpossible says what stands against a dinner and the nearest that can be; any other error gives nil.
func (l *Language) DinnerImpossible(err error, dishes []dinner.Dish, o Options) Text {
	var no *dinner.Impossible
	if !errors.As(err, &no) {
		return nil
	}
	if no.Why == dinner.WhyRefused && no.Refusal != nil {
		return l.Refusal(no.Refusal, o)
	}
	data := Data{"Food": ""}
	if no.Dish >= 0 {
		data["Food"] = l.dishName(dishes, no.Dish)
	}
	id := dinnerWhyID(no.Why)
	if no.Why == dinner.WhyLate {
		switch {
		case no.In.IsZero() || no.Dish < 0:
			id = DinnerTooLate
		default:
			data["In"], data["Needed"], data["Now"] = l.Clock(no.In), l.Clock(no.Needed), l.Clock(no.Now)
		}
	}
	text := Text{l.strong(capital(l.Say(id, data)))}
	for _, line := range l.dinnerNearest(no, dishes, o) {
		text = append(text, parts(line))
	}
	return text
}

// dinnerNearest says what can be done instead.
func (l *Language) dinnerNearest(no *dinner.Impossible, dishes []dinner.Dish, o Options) []string {
	var out []string
	if !no.Serve.IsZero() {
		out = append(out, l.Say(DinnerMove, Data{"At": l.Clock(no.Serve)}))
	}
	if no.Cut >= 0 && no.Thinner > 0 {
		out = append(out, l.Say(DinnerCut, Data{"Food": l.dishName(dishes, no.Cut), "L": l.Thickness(no.Thinner, o.Units)}))
	}
	if no.Other >= 0 && no.Doneness != food.Doneness("") {
		out = append(out, l.Say(DinnerDoneness, Data{"Food": l.dishName(dishes, no.Other), "Doneness": l.DonenessName(no.Doneness)}))
	}
	if no.Ice {
		out = append(out, l.Say(DinnerWithIce, nil))
	}
	if no.Baths > 0 {
		out = append(out, l.Say(DinnerBaths, Data{"Count": no.Baths}))
	}
	if no.Without >= 0 {
		out = append(out, l.Say(DinnerWithout, Data{"Food": l.dishName(dishes, no.Without)}))
	}
	for i := range out {
		out[i] = capital(out[i])
	}
	return out
}

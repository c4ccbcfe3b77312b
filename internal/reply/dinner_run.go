package reply

import (
	"strings"

	"bagwatch/internal/cook"
	"bagwatch/internal/dinner"
)

// DinnerAlertLine is [Language.DinnerAlert] as a sentence, its clock times marked.
func (l *Language) DinnerAlertLine(s dinner.Schedule, st dinner.Step, o Options) string {
	what := l.dinnerStep(s, st, o)
	if st.Owner != (dinner.Owner{}) {
		return l.Say(DinnerAlertBy, Data{"Who": quoted(st.Owner.Name), "What": what})
	}
	return capital(l.Say(DinnerAlert, Data{"What": what}))
}

// DinnerStepWords is a step in plain words, for a button or a line about it.
func (l *Language) DinnerStepWords(s dinner.Schedule, st dinner.Step, o Options) string {
	return Strip(l.dinnerStep(s, st, o))
}

// DinnerStepTime is a step in plain words after its time.
func (l *Language) DinnerStepTime(s dinner.Schedule, st dinner.Step, o Options) string {
	return Strip(l.Say(DinnerLine, Data{"Time": l.Clock(st.At), "What": l.dinnerStep(s, st, o)}))
}

// DinnerDish is what people call a dish.
func (l *Language) DinnerDish(dishes []dinner.Dish, i int) string { return l.dishName(dishes, i) }

// DinnerTaken says what each dish was taken for, so that a guess can be seen.
func (l *Language) DinnerTaken(plans []*cook.Plan, o Options) string {
	all := make([]string, len(plans))
	for i, p := range plans {
		facts := l.bulk(p, o)
		if p.Start != cook.StartFridge {
			start := map[cook.StartKind]ID{cook.StartRoom: PlanRoom, cook.StartFrozen: PlanFrozen, cook.StartGiven: PlanStart}
			facts = append(facts, l.Say(start[p.Start], Data{"T": l.Temperature(p.StartAt, o.Units)}))
		}
		all[i] = l.Say(DinnerTakenDish, Data{"Food": l.FoodName(p.Food.ID, max(p.Pieces, 1)), "Facts": strings.Join(facts, ", ")})
	}
	return l.Say(DinnerTakenAs, Data{"Dishes": strings.Join(all, "; ")})
}

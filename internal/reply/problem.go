package reply

import (
	"strings"

	"bagwatch/internal/food"
	"bagwatch/internal/phrase"
)

// shownTyped is how much of what a person typed is quoted back, in runes.
const shownTyped = 40

// quoted cleans and shortens what a person typed.
func quoted(s string) string {
	runes := []rune(strings.TrimSpace(clean(s)))
	if len(runes) > shownTyped {
		return string(runes[:shownTyped-1]) + "…"
	}
	return string(runes)
}

// Problem says in one line why a message has no answer and what to type instead.
func (l *Language) Problem(p phrase.Problem) Text {
	data := Data{"Typed": quoted(p.Typed), "Other": quoted(p.Other), "Count": p.Count}
	if p.ID != phrase.ProblemTooLong {
		delete(data, "Count")
	}
	id := ID("problem." + string(p.ID))
	if p.ID == phrase.ProblemUnlisted && len(p.Suggestions) > 0 {
		id = ProblemUnlistedSuggest
		data["Foods"] = l.either(p.Suggestions)
	}
	if p.ID == phrase.ProblemNoFood {
		switch {
		case len(p.Suggestions) > 0:
			id = ProblemNoFoodSuggest
			data["Foods"] = l.either(p.Suggestions)
		case data["Typed"] == "":
			id = ProblemNoFoodBare
		}
	}
	return Text{plainLine(l.Say(id, data))}
}

// either joins food names with "or".
func (l *Language) either(ids []food.ID) string {
	s := l.FoodName(ids[0], 1)
	for i, id := range ids[1:] {
		if i == len(ids)-2 {
			return l.Say(ProblemOr, Data{"A": s, "B": l.FoodName(id, 1)})
		}
		s += ", " + l.FoodName(id, 1)
	}
	return s
}

// RefusedFood says why a food that is known by name gets no plan.
func (l *Language) RefusedFood(r food.Refusal) Text {
	return Text{plainLine(l.Say(ID("refused."+string(r.Reason)), Data{"Food": l.RefusedName(string(r.ID))}))}
}

// Heard tells how a message was taken where that is not plain: a misspelt or vague word, and every word
// or number that was not used. Nothing is left out silently.
func (l *Language) Heard(u phrase.Understood) []string {
	var lines []string
	if u.Food.Corrected || u.Food.Vague {
		line := l.Say(ProblemTakenFor, Data{"Typed": quoted(u.Food.Typed), "Food": l.FoodName(u.Food.ID, 1)})
		if len(u.Food.Alternatives) > 0 {
			names := make([]string, 0, len(u.Food.Alternatives))
			for _, id := range u.Food.Alternatives {
				names = append(names, l.FoodName(id, 1))
			}
			line += " " + l.Say(ProblemOthers, Data{"Foods": strings.Join(names, ", ")})
		}
		lines = append(lines, line)
	}
	if words := l.leftOut(u.Unplaced); words != "" {
		lines = append(lines, l.Say(ProblemLeftOut, Data{"Words": words}))
	}
	return lines
}

// leftOut quotes the unused words; of a range the other end was used up on purpose and is not named.
func (l *Language) leftOut(tokens []phrase.Token) string {
	const most = 6
	var words []string
	for _, t := range tokens {
		if t.Why == phrase.WhyRange {
			continue
		}
		if len(words) == most {
			words = append(words, "…")
			break
		}
		words = append(words, l.Say(ProblemQuoted, Data{"Word": quoted(t.Text)}))
	}
	return strings.Join(words, ", ")
}

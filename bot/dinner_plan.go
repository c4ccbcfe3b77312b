package bot

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"bagwatch/internal/dinner"
	"bagwatch/internal/kitchen"
	"bagwatch/internal/reply"
)

// markSlack is how long after its time a step counts as done in time: people press a button when their hands
// are free. House rule.
const markSlack = 5 * time.Minute

// lateWindow is how far back a cook who is late can have left something undone: what was told longer ago,
// with no word since, counts as done. House rule.
const lateWindow = 20 * time.Minute

// stepName names a step in the chat's document: "in.0", "ice.b0.1".
func stepName(k dinner.Key) string {
	name := string(k.Kind)
	if k.Dish >= 0 {
		name += "." + strconv.Itoa(k.Dish)
	}
	if k.Water >= 0 {
		name += ".b" + strconv.Itoa(k.Water) + "." + strconv.Itoa(k.N)
	}
	return name
}

// findStep finds a step of a schedule by its name.
func findStep(s dinner.Schedule, name string) (dinner.Step, bool) {
	for _, st := range s.Steps {
		if stepName(st.Key) == name {
			return st, true
		}
	}
	return dinner.Step{}, false
}

// dishesOf and kitOf are what a stored dinner is planned from.
func dishesOf(n kitchen.Dinner) []dinner.Dish {
	out := make([]dinner.Dish, len(n.Dishes))
	for i, r := range n.Dishes {
		out[i] = dinner.Dish{Request: r}
	}
	return out
}

func kitOf(n kitchen.Dinner) dinner.Kit {
	kit := dinner.Kit{Ice: !n.NoIce}
	for range n.Baths {
		kit.Baths = append(kit.Baths, dinner.Bath{Litres: n.Litres, Watts: n.Watts})
	}
	return kit
}

// schedule plans a stored dinner: first as it was proposed, then each change in turn, as it was when it was
// made. Its times are in zone.
func (b *Bot) schedule(n kitchen.Dinner, zone *time.Location) (dinner.Schedule, error) {
	p := dinner.New(b.model)
	s, err := p.Plan(n.Made.In(zone), n.Serve.In(zone), dishesOf(n), kitOf(n))
	if err != nil {
		return dinner.Schedule{}, fmt.Errorf("plan dinner: %w", err)
	}
	for _, sh := range n.Shifts {
		change := dinner.Change{Late: sh.Late, Guests: sh.Guests}
		if !sh.Serve.IsZero() {
			change.Serve = sh.Serve.In(zone)
		}
		if s, err = p.Replan(sh.At.In(zone), s, happened(n, s, sh), change); err != nil {
			return dinner.Schedule{}, fmt.Errorf("plan dinner again: %w", err)
		}
	}
	s.Steps = slices.Clone(s.Steps)
	for i := range s.Steps {
		if by := n.Mark(stepName(s.Steps[i].Key)).By; by != (kitchen.Who{}) {
			s.Steps[i].Owner = dinner.Owner{ID: int64(by.ID), Name: by.Name}
		}
	}
	return s, nil
}

// happened is what has happened when a change is made: what was said to be done, and everything before it
// that nobody said anything about. A cook who is late has not done what was due within that time, up to
// lateWindow.
func happened(n kitchen.Dinner, s dinner.Schedule, sh kitchen.Shift) []dinner.Event {
	var out []dinner.Event
	zone := s.Serve.Location()
	for _, st := range s.Steps {
		if st.Done {
			continue
		}
		done := n.Mark(stepName(st.Key)).Done
		switch {
		case !done.IsZero() && !done.After(sh.At) && done.Sub(st.At) > markSlack:
			out = append(out, dinner.Event{Key: st.Key, At: done.In(zone)})
		case !done.IsZero() && done.Before(st.At) && !done.After(sh.At):
			out = append(out, dinner.Event{Key: st.Key, At: done.In(zone)})
		case !done.IsZero() && !done.After(sh.At), !st.At.After(sh.At.Add(-min(sh.Late, lateWindow))):
			out = append(out, dinner.Event{Key: st.Key, At: st.At})
		}
	}
	return out
}

// stepsOf are the steps that are told, each with the words it is told in should its plan be lost.
func stepsOf(n kitchen.Dinner, s dinner.Schedule, lang *reply.Language, o reply.Options) []kitchen.Step {
	var out []kitchen.Step
	for _, st := range s.Next() {
		name := stepName(st.Key)
		mark := n.Mark(name)
		if reply.DinnerMerged(s, st) || !mark.Done.IsZero() {
			continue
		}
		words := lang.DinnerStepWords(s, st, o)
		if len(words) > kitchen.MaxName {
			words = brief(words)
		}
		out = append(out, kitchen.Step{At: st.At, What: name, Ref: words, By: mark.By})
	}
	return out
}

// brief is the first part of a step's words, for a button.
func brief(words string) string {
	if i := strings.Index(words, ", "); i > 0 {
		return words[:i]
	}
	return words
}

// shown is a schedule as it stands at a moment: what is over is done, and what is said together with it.
func shown(n kitchen.Dinner, plan dinner.Schedule, now time.Time) dinner.Schedule {
	s := plan
	s.Steps = slices.Clone(s.Steps)
	over := func(st dinner.Step) bool {
		return st.Done || !st.At.After(now) || !n.Mark(stepName(st.Key)).Done.IsZero()
	}
	for i := range s.Steps {
		st := &s.Steps[i]
		lead := *st
		if reply.DinnerMerged(plan, *st) {
			kind := dinner.StepPull
			if st.Kind == dinner.StepRest {
				kind = dinner.StepSear
			}
			lead, _ = plan.Step(dinner.Key{Kind: kind, Dish: st.Dish, Water: -1})
		}
		st.Done = over(lead)
	}
	return s
}

// dinnerStamp tells the dinners of a chat apart in buttons.
func dinnerStamp(n kitchen.Dinner) string { return strconv.FormatInt(n.Going.Unix(), minuteBase) }

// tellStep puts a step that is due into words, by the plan as it stands; "" when that cannot be worked out.
func (b *Bot) tellStep(d *kitchen.Document, what string, lang *reply.Language, zone *time.Location) string {
	if zone == nil || d.Dinner.Going.IsZero() {
		return ""
	}
	s, err := b.schedule(d.Dinner, zone)
	if err != nil {
		b.log.Warn("dinner not planned again", "error", err)
		return ""
	}
	st, ok := findStep(s, what)
	if !ok {
		return ""
	}
	o := reply.Options{}
	if d.Settings.Units == kitchen.Imperial {
		o.Units = reply.Imperial
	}
	return lang.DinnerAlertLine(s, st, o)
}

// toldStep notes which step a message told, so that a reply to it can take the step.
func (e *entry) toldStep(id MessageID, items []kitchen.Item) {
	for _, i := range items {
		if i.Kind != kitchen.DinnerStep || id == 0 {
			continue
		}
		if e.steps == nil || len(e.steps) > kitchen.MaxSteps {
			e.steps = map[MessageID]string{}
		}
		e.steps[id] = i.Step.What
		return
	}
}

// stepButtons are the buttons under steps that are due.
func stepButtons(d *kitchen.Document, steps []kitchen.Step, lang *reply.Language) [][]Button {
	var out [][]Button
	if d.Dinner.Going.IsZero() {
		return nil
	}
	for _, s := range steps {
		if strings.HasPrefix(s.What, string(dinner.StepServe)) {
			continue
		}
		take, tick := lang.Say(reply.ButtonDinnerMine, nil), lang.Say(reply.ButtonDinnerTick, nil)
		if len(steps) > 1 {
			take = lang.Say(reply.ButtonDinnerTake, reply.Data{"What": brief(s.Ref)})
			tick = lang.Say(reply.ButtonDinnerTicked, reply.Data{"What": brief(s.Ref)})
		}
		var row []Button
		if s.By == (kitchen.Who{}) && d.Settings.Kind == kitchen.Kitchen {
			row = append(row, Button{Label: take, Data: dinnerData(dinnerTake, dinnerStamp(d.Dinner), s.What)})
		}
		out = append(out, append(row, Button{Label: tick, Data: dinnerData(dinnerTick, dinnerStamp(d.Dinner), s.What)}))
	}
	return out
}

package bot

import (
	"context"
	"errors"
	"slices"
	"time"

	"bagwatch/internal/dinner"
	"bagwatch/internal/kitchen"
	"bagwatch/internal/reply"
)

// setMark notes what became of a step.
func setMark(n kitchen.Dinner, m kitchen.Mark) kitchen.Dinner {
	n.Marks = slices.DeleteFunc(slices.Clone(n.Marks), func(o kitchen.Mark) bool { return o.What == m.What })
	n.Marks = append(n.Marks, m)
	return n
}

// openStep finds a step that is to come, or is due.
func (t *turn) openStep(what string) (dinner.Schedule, dinner.Step, error) {
	s, err := t.schedule(t.entry.doc.Dinner, t.dinnerZone())
	if err != nil {
		return s, dinner.Step{}, err
	}
	st, ok := findStep(s, what)
	if !ok || st.Done || !t.entry.doc.DinnerGoing(t.in.At) {
		return s, st, kitchen.ErrNone
	}
	return s, st, nil
}

// takeStep gives a step to the person.
func (t *turn) takeStep(ctx context.Context, what string) error {
	no := func(id reply.ID, data reply.Data) error {
		return t.tell(ctx, t.lang.Say(id, data), t.lang.Lines(id, data))
	}
	s, st, err := t.openStep(what)
	if err != nil {
		return no(reply.DinnerNostep, nil)
	}
	who := t.whoActs()
	m := t.entry.doc.Dinner.Mark(what)
	if m.By != (kitchen.Who{}) && m.By.ID != who.ID {
		return no(reply.DinnerWas, reply.Data{"Who": t.lang.Who(m.By)})
	}
	m.By = who
	n := setMark(t.entry.doc.Dinner, m)
	_, err = t.change(ctx, func(d *kitchen.Document) error {
		return d.SetDinner(n, stepsOf(n, s, t.lang, t.dinnerOptions()), t.in.At)
	})
	if err != nil {
		return err
	}
	t.member = t.chat.Group
	words := t.lang.DinnerStepWords(s, st, t.dinnerOptions())
	took := reply.DinnerYours
	if t.chat.Group {
		took = reply.DinnerTook
	}
	text := t.lang.Lines(took, reply.Data{"Who": t.lang.Who(who), "What": words})
	if err := t.tell(ctx, t.lang.Say(reply.DinnerYours, reply.Data{"What": words}), text); err != nil {
		return err
	}
	return t.refreshDinner(ctx)
}

// takeTyped gives a step to whoever said "mine": that of the alert which is replied to, the next of the food
// that is named, or what is due or comes next.
func (t *turn) takeTyped(ctx context.Context, rest string) error {
	n := t.entry.doc.Dinner
	if what, ok := t.entry.steps[t.in.ReplyTo]; ok && rest == "" {
		return t.takeStep(ctx, what)
	}
	s, err := t.schedule(n, t.dinnerZone())
	if err != nil {
		return t.say(ctx, t.lang.Lines(reply.DinnerLost, nil))
	}
	u := t.parsers[t.lang.Tag].Parse(rest)
	for _, st := range shown(n, s, t.in.At.Add(-markSlack)).Next() {
		if st.Owner != (dinner.Owner{}) || st.Kind == dinner.StepServe || reply.DinnerMerged(s, st) {
			continue
		}
		if u.Food.ID != "" {
			if st.Dish < 0 {
				continue
			}
			if id := n.Dishes[st.Dish].Food; id != u.Food.ID && !slices.Contains(u.Food.Alternatives, id) {
				continue
			}
		}
		return t.takeStep(ctx, stepName(st.Key))
	}
	return t.say(ctx, t.lang.Lines(reply.DinnerNostep, nil))
}

// tickStep notes that a step is done. When it was done late, the rest is planned again from when it was;
// dinner is moved if it must.
func (t *turn) tickStep(ctx context.Context, what string) error {
	s, st, err := t.openStep(what)
	if err != nil {
		return t.notice(ctx, t.lang.Say(reply.DinnerNostep, nil))
	}
	m := t.entry.doc.Dinner.Mark(what)
	if !m.Done.IsZero() {
		return t.notice(ctx, t.lang.Say(reply.DinnerTicked, nil))
	}
	m.Done = t.in.At.Truncate(time.Second)
	n := setMark(t.entry.doc.Dinner, m)
	var moved, stuck error
	late := m.Done.Sub(st.At) > markSlack
	full := late && len(n.Shifts) >= kitchen.MaxShifts
	if late && !full {
		again, plan, err := t.shifted(n, kitchen.Shift{At: m.Done})
		var no *dinner.Impossible
		if errors.As(err, &no) && !no.Serve.IsZero() {
			moved = err
			again, plan, err = t.shifted(n, kitchen.Shift{At: m.Done, Serve: no.Serve})
		}
		if stuck = err; err == nil {
			n, s = again, plan
		}
	}
	_, err = t.change(ctx, func(d *kitchen.Document) error {
		return d.SetDinner(n, stepsOf(n, s, t.lang, t.dinnerOptions()), t.in.At)
	})
	if err != nil {
		return err
	}
	t.member = t.chat.Group
	if err := t.notice(ctx, t.lang.Say(reply.DinnerTicked, nil)); err != nil {
		return err
	}
	switch {
	case full: // the old times stand, and are too short
		err = t.say(ctx, t.lang.Lines(reply.DinnerOften, nil))
	case stuck != nil:
		err = t.notShifted(ctx, n, stuck)
	case moved != nil:
		err = t.sayNext(ctx, t.lang.Titled(reply.DinnerShifted, reply.Data{"At": t.lang.Clock(s.Serve)}), s)
	}
	if err != nil {
		return err
	}
	return t.refreshDinner(ctx)
}

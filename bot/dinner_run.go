package bot

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"bagwatch/internal/dinner"
	"bagwatch/internal/kitchen"
	"bagwatch/internal/reply"
)

// goDinner starts a dinner: from now on its steps are told. It is planned from this moment; what has become
// impossible meanwhile is said.
func (t *turn) goDinner(ctx context.Context, n kitchen.Dinner) error {
	now := t.in.At.Truncate(time.Second)
	n.Made, n.Going, n.By = now, now, t.whoActs()
	s, err := t.schedule(n, t.dinnerZone())
	if err != nil {
		return t.propose(ctx, n, nil)
	}
	_, err = t.change(ctx, func(d *kitchen.Document) error {
		t.settleIn(d)
		return d.SetDinner(n, stepsOf(n, s, t.lang, t.dinnerOptions()), t.in.At)
	})
	if err != nil {
		return err
	}
	t.member = t.chat.Group
	clear(t.entry.steps)
	if next := t.nextSteps(s, 1); next != "" {
		if err := t.notice(ctx, t.lang.Say(reply.DinnerGoing, reply.Data{"What": next})); err != nil {
			return err
		}
	}
	return t.refreshDinner(ctx)
}

// nextSteps names what comes next, as far as it lies ahead.
func (t *turn) nextSteps(s dinner.Schedule, most int) string {
	var out []string
	for _, st := range shown(t.entry.doc.Dinner, s, t.in.At.Add(-time.Minute)).Next() {
		if len(out) < most && !reply.DinnerMerged(s, st) {
			out = append(out, t.lang.DinnerStepTime(s, st, t.dinnerOptions()))
		}
	}
	return strings.Join(out, "; ")
}

// dinnerCard is the message that shows a dinner which is going.
func (t *turn) dinnerCard(n kitchen.Dinner) (Message, error) {
	plan, err := t.schedule(n, t.dinnerZone())
	if err != nil {
		return Message{}, err
	}
	o := t.dinnerOptions()
	s := shown(n, plan, t.in.At)
	m := Message{Text: t.lang.Dinner(s, o)}
	if !t.entry.doc.DinnerGoing(t.in.At) {
		return m, nil
	}
	hint := reply.DinnerHint
	if t.chat.Group {
		hint = reply.DinnerHintgroup
	}
	m.Text = append(m.Text, nil, reply.Line{{Text: t.lang.Say(hint, nil)}})
	stamp := dinnerStamp(n)
	if st, ok := freeStep(s); ok && t.chat.Group {
		what := brief(t.lang.DinnerStepWords(s, st, o))
		m.Buttons = append(m.Buttons, []Button{{
			Label: t.lang.Say(reply.ButtonDinnerTake, reply.Data{"What": what}), Data: dinnerData(dinnerTake, stamp, stepName(st.Key)),
		}})
	}
	m.Buttons = append(m.Buttons, []Button{
		{Label: t.lang.Say(reply.ButtonDinnerLate, reply.Data{"Span": t.lang.Span(laterBy)}), Data: dinnerData(dinnerLate, stamp, "")},
		{Label: t.lang.Say(reply.ButtonDinnerGuests, reply.Data{"Span": t.lang.Span(guestsBy)}), Data: dinnerData(dinnerGuests, stamp, "")},
		{Label: t.lang.Say(reply.ButtonDinnerEnd, nil), Data: dinnerData(dinnerEnd, stamp, "")},
	})
	return m, nil
}

// freeStep is the next step that nobody has taken.
func freeStep(s dinner.Schedule) (dinner.Step, bool) {
	for _, st := range s.Next() {
		if st.Owner == (dinner.Owner{}) && st.Kind != dinner.StepServe && !reply.DinnerMerged(s, st) {
			return st, true
		}
	}
	return dinner.Step{}, false
}

// refreshDinner edits the message that shows the dinner that is going.
func (t *turn) refreshDinner(ctx context.Context) error {
	n := t.entry.doc.Dinner
	if n.Going.IsZero() || n.Card.Message == 0 {
		return nil
	}
	m, err := t.dinnerCard(n)
	if err != nil {
		t.log.Warn("dinner not shown", "chat", t.chat.ID, "error", err)
		return nil // its steps are told all the same
	}
	if t.entry.dinner == looks(m) {
		return nil
	}
	if err := t.out.Edit(ctx, t.cardChat(n.Card), MessageID(n.Card.Message), m); err != nil && !errors.Is(err, ErrLost) {
		return fmt.Errorf("edit dinner: %w", err)
	}
	t.entry.dinner = looks(m)
	return nil
}

// showDinner posts the dinner again, or says how one is asked for.
func (t *turn) showDinner(ctx context.Context) error {
	n := t.entry.doc.Dinner
	switch {
	case n.Some() && n.Going.IsZero():
		return t.propose(ctx, n, nil)
	case !t.entry.doc.DinnerGoing(t.in.At):
		return t.askDinner(ctx)
	}
	if err := t.notice(ctx, ""); err != nil {
		return err
	}
	m, err := t.dinnerCard(n)
	if err != nil {
		t.log.Warn("dinner not shown", "chat", t.chat.ID, "error", err)
		return t.say(ctx, t.lang.Lines(reply.DinnerLost, nil))
	}
	id, err := t.send(ctx, m)
	if err != nil {
		return err
	}
	old := n.Card
	_, err = t.chats.change(ctx, t.entry, t.chat, "", t.in.At, func(d *kitchen.Document) error {
		d.Dinner.Card = kitchen.Card{Message: kitchen.MessageID(id), Topic: int64(t.chat.Topic)}
		return nil
	})
	if err != nil {
		return err
	}
	t.entry.dinner = looks(m)
	if old.Message == 0 { // the group has moved
		return nil
	}
	return t.replaceCard(ctx, old, reply.DinnerBelow)
}

// pressGoing answers a button of the dinner that is going.
func (t *turn) pressGoing(ctx context.Context, verb dinnerVerb, arg string) error {
	switch verb {
	case dinnerLate:
		return t.shiftDinner(ctx, kitchen.Shift{Late: laterBy})
	case dinnerGuests:
		return t.shiftDinner(ctx, kitchen.Shift{Guests: guestsBy})
	case dinnerServe:
		at, err := minuteTime(arg)
		if err != nil {
			return err
		}
		return t.shiftDinner(ctx, kitchen.Shift{Serve: at})
	case dinnerTake:
		return t.takeStep(ctx, arg)
	case dinnerTick:
		return t.tickStep(ctx, arg)
	case dinnerShow:
		return t.showDinner(ctx)
	case dinnerEnd:
		return t.endDinner(ctx)
	}
	return ErrPacked
}

// shiftDinner plans again what has not happened, and says what is new; or why it cannot be, with the nearest
// that can.
func (t *turn) shiftDinner(ctx context.Context, sh kitchen.Shift) error {
	old := t.entry.doc.Dinner
	sh.At = t.in.At.Truncate(time.Second)
	if len(old.Shifts) >= kitchen.MaxShifts {
		return t.tell(ctx, t.lang.Say(reply.DinnerOften, nil), t.lang.Lines(reply.DinnerOften, nil))
	}
	before, err := t.schedule(old, t.dinnerZone())
	if err != nil {
		t.log.Warn("dinner not planned again", "chat", t.chat.ID, "error", err)
		return t.tell(ctx, t.lang.Say(reply.DinnerLost, nil), t.lang.Lines(reply.DinnerLost, nil))
	}
	if err := t.notice(ctx, ""); err != nil {
		return err
	}
	n, s, err := t.shifted(old, sh)
	if err != nil {
		return t.notShifted(ctx, n, err)
	}
	repeated, err := t.change(ctx, func(d *kitchen.Document) error {
		return d.SetDinner(n, stepsOf(n, s, t.lang, t.dinnerOptions()), t.in.At)
	})
	if err != nil || repeated {
		return err
	}
	t.member = t.chat.Group
	text := t.lang.Titled(reply.DinnerShifted, reply.Data{"At": t.lang.Clock(s.Serve)})
	if sh.Late > 0 {
		var open []string
		for _, st := range before.Steps {
			now, ok := s.Step(st.Key)
			if !st.Done && !st.At.After(sh.At) && !reply.DinnerMerged(before, st) && ok && !now.Done {
				open = append(open, t.lang.DinnerStepWords(before, st, t.dinnerOptions()))
			}
		}
		if len(open) > 0 {
			text = append(text, t.lang.Lines(reply.DinnerNotyet, reply.Data{"Steps": strings.Join(open, "; ")})...)
		}
	}
	if err := t.sayNext(ctx, text, s); err != nil {
		return err
	}
	return t.refreshDinner(ctx)
}

// sayNext says something about a plan that changed, with what comes next in it and why.
func (t *turn) sayNext(ctx context.Context, text reply.Text, s dinner.Schedule) error {
	const most = 2
	if next := t.nextSteps(s, most); next != "" {
		text = append(text, t.lang.Lines(reply.DinnerNew, reply.Data{"Steps": next})...)
	}
	return t.say(ctx, text)
}

// shifted is the dinner with one more change.
func (t *turn) shifted(n kitchen.Dinner, sh kitchen.Shift) (kitchen.Dinner, dinner.Schedule, error) {
	n.Shifts = append(slices.Clone(n.Shifts), sh)
	s, err := t.schedule(n, t.dinnerZone())
	return n, s, err
}

// notShifted says why a dinner cannot be changed so.
func (t *turn) notShifted(ctx context.Context, n kitchen.Dinner, err error) error {
	var no *dinner.Impossible
	switch {
	case errors.As(err, &no):
		_, err := t.send(ctx, Message{
			Text: t.lang.DinnerImpossible(no, dishesOf(n), t.dinnerOptions()), Buttons: t.nearestButtons(n, no, dinnerStamp(n)),
		})
		return err
	case errors.Is(err, dinner.ErrKitchen):
		return t.say(ctx, t.lang.Lines(reply.DinnerFar, nil))
	}
	return err
}

// cancelDinner ends the dinner, if there is one; it reports false if there is none.
func (t *turn) cancelDinner(ctx context.Context) (bool, error) {
	d := &t.entry.doc
	if !d.Dinner.Some() || !d.Dinner.Going.IsZero() && !d.DinnerGoing(t.in.At) {
		return false, nil
	}
	return true, t.endDinner(ctx)
}

// endDinner ends a dinner; in a kitchen one that is going ends by who started it, or an admin.
func (t *turn) endDinner(ctx context.Context) error {
	n := t.entry.doc.Dinner
	by, err := t.actor(ctx)
	if err != nil {
		return err
	}
	if !by.Admin && n.By.ID != by.ID && !n.Going.IsZero() {
		return t.tell(ctx, t.lang.Say(reply.DinnerNotyours, nil), t.lang.Lines(reply.DinnerNotyours, nil))
	}
	repeated, err := t.change(ctx, func(d *kitchen.Document) error { return d.SetDinner(kitchen.Dinner{}, nil, t.in.At) })
	if err != nil || repeated {
		return err
	}
	t.entry.dinner = ""
	clear(t.entry.steps)
	if err := t.notice(ctx, ""); err != nil {
		return err
	}
	if n.Card.Message != 0 {
		if err := t.replaceCard(ctx, n.Card, reply.DinnerCalled); err != nil {
			return err
		}
	}
	id := reply.DinnerOff
	switch {
	case n.Going.IsZero():
		id = reply.BotCancelled
	case t.chat.Group:
		id = reply.DinnerOffby
	}
	return t.say(ctx, t.lang.Lines(id, reply.Data{"Who": t.lang.Who(t.whoActs())}))
}

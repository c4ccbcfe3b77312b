package bot

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math"
	"time"

	"bagwatch/internal/cook"
	"bagwatch/internal/food"
	"bagwatch/internal/quantity"
	"bagwatch/internal/reply"
)

// asked is a request as it was understood, with what has to be said beside its answer.
type asked struct {
	request cook.Request
	heard   []string
	others  []food.ID // what a vague word could also be
	in      time.Time // when the bag went in, if that was said
	needs   bool      // a time of day was typed and the chat has no clock
	menu    bool      // show the donenesses instead of the usual buttons
}

// planned is an answer ready to be sent.
type planned struct {
	message Message
	request cook.Request
	plan    *cook.Plan // nil when it was refused
}

// plan answers a request by the chat's settings.
func (t *turn) plan(a asked) (planned, error) {
	options := reply.Options{Units: t.units, In: a.in, Heard: a.heard}
	if t.unsettled {
		options.Heard = append([]string{t.lang.Say(reply.BotUnsettled, nil)}, options.Heard...)
	}
	filled := t.entry.doc.Settings.Fill(a.request)
	if filled.AtRisk {
		options.Heard = append([]string{t.lang.Say(reply.BotForatrisk, nil)}, options.Heard...)
	}
	plan, err := t.model.Plan(filled)
	var refusal *cook.Refusal
	switch {
	case errors.As(err, &refusal):
		t.counts.refused.Add(1)
		return planned{request: a.request, message: Message{
			Text: t.lang.Refusal(refusal, options), Buttons: t.refusalButtons(a, refusal),
		}}, nil
	case err != nil:
		return planned{}, fmt.Errorf("plan: %w", err)
	}
	t.counts.answers.Add(1)
	remembered, change := t.recall(a.request, plan)
	if remembered != "" {
		options.Heard = append([]string{remembered}, options.Heard...)
	}
	m := Message{Text: t.lang.Plan(plan, options), Buttons: t.planButtons(a, plan)}
	m.Buttons = append(rows(change), m.Buttons...)
	if a.menu {
		m.Buttons = t.donenessButtons(a.request, plan)
	}
	return planned{request: a.request, message: m, plan: plan}, nil
}

// answer plans, remembers the request for follow-ups and shows the answer: in place when a button asked
// for it.
func (t *turn) answer(ctx context.Context, a asked) error {
	p, err := t.plan(a)
	if err != nil {
		return err
	}
	t.remember(a.request)
	t.entry.person(t.in.From.ID, t.in.At).safe = nil
	if t.in.Kind != Text {
		t.entry.sent(t.in.Message, a.request)
		return t.show(ctx, p.message)
	}
	id, err := t.send(ctx, p.message)
	if err != nil {
		return err
	}
	t.entry.sent(id, a.request)
	g := t.entry.person(t.in.From.ID, t.in.At)
	g.asked, g.answered = t.in.Message, id
	return nil
}

// remember keeps the request for "3 cm" and "rare". It is kept in memory, and committed with whatever is
// committed next: a plain question touches no store.
func (t *turn) remember(r cook.Request) {
	if err := t.entry.doc.Remember(t.in.From.ID.kept(), r, t.in.At); err != nil {
		t.log.Debug("request not remembered", "chat", t.chat.ID, "error", err)
	}
}

// Actions of buttons: the first letter of their data. Only append: old buttons stay on screens.
const (
	actPlan     = 'p' // + packed request: plan it, in place
	actNew      = 'n' // + packed request: plan it in a new message
	actDoneness = 'd' // + packed request: show its donenesses
	actSay      = 'y' // + text: as if typed
	actFoods    = 'g' // + group:page: list foods
	actSetting  = 's' // + what, or what=value: settings
	actHelp     = 'h'
	actStart    = 'c' // + packed request, and perhaps .minute: start its clock
	actBags     = 'B' // the list of bags
	actCurve    = 'v' // + packed request: a picture of it
	actForget   = 'F' // forgets the chat this is pressed in
	actLog      = 'l' // + verb/id: past cooks, log.go
	actDinner   = 'D' // what follows is dinner.go's
	actBag      = 'b' // what follows is bagdata.go's
	actSafe     = 'f' // + packed request.minute[.minute]: is it safe, in since then, out since
	actChill    = 'i' // likewise: how to chill it
	actKeep     = 'j' // + packed request.minute.minute and where: it was chilled, and is kept
	actKept     = 'k' // + verb/id: kept food
	actDiary    = 'w' // + kind.second: takes a line of the bath diary back
)

func (t *turn) packed(act rune, r cook.Request) string { return string(act) + t.packer.pack(r) }

// perRow is how many buttons stand side by side.
const perRow = 3

// rows lays buttons out.
func rows(buttons []Button) [][]Button {
	var out [][]Button
	for len(buttons) > perRow {
		out, buttons = append(out, buttons[:perRow:perRow]), buttons[perRow:]
	}
	if len(buttons) > 0 {
		out = append(out, buttons)
	}
	return out
}

// button is a button that plans a changed request.
func (t *turn) button(id reply.ID, r cook.Request) Button {
	return Button{Label: t.lang.Say(id, nil), Data: t.packed(actPlan, r)}
}

// otherFoods are the buttons of a vague word.
func (t *turn) otherFoods(r cook.Request, others []food.ID) []Button {
	var out []Button
	for _, id := range others {
		o := r
		o.Food = id
		if f, ok := t.model.Foods().Food(id); ok {
			if _, ok := f.Step(o.Doneness); !ok {
				o.Doneness = ""
			}
		}
		out = append(out, Button{Label: reply.Capital(t.lang.FoodName(id, 1)), Data: t.packed(actPlan, o)})
	}
	return out
}

func (t *turn) planButtons(a asked, p *cook.Plan) [][]Button {
	r := a.request
	out := rows(t.otherFoods(r, a.others))
	var first []Button
	if t.in.Kind != Inline && t.in.Message >= 0 { // a bag needs a chat that is told of it
		first = append(first, Button{Label: t.lang.Say(reply.ButtonClock, nil), Data: t.startData(r, a.in)})
	}
	out = append(out, rows(append(first, t.sizeButtons(r, p)...))...)
	var state []Button
	if len(p.Food.Steps) > 1 {
		state = append(state, Button{Label: t.lang.Say(reply.ButtonDoneness, nil), Data: t.packed(actDoneness, r)})
	}
	state = append(state, t.toggles(r, p.Food)...)
	out = append(out, rows(state)...)
	var last []Button
	if t.paint != nil {
		last = append(last, Button{Label: t.lang.Say(reply.ButtonCurve, nil), Data: t.packed(actCurve, r)})
	}
	last = append(last, Button{
		Label: t.lang.Say(reply.ButtonShare, nil),
		Share: t.lang.FoodName(r.Food, 1) + " " + sharedMark + t.packer.pack(r),
	})
	if a.needs {
		last = append(last, Button{Label: t.lang.Say(reply.SettingsButtonClock, nil), Data: string(actSetting) + setZone})
	}
	return append(out, last)
}

// sizeButtons change the thickness: to the next round figure, within what the food has.
func (t *turn) sizeButtons(r cook.Request, p *cook.Plan) []Button {
	if p.Food.Proportions.Shape == food.EggShape {
		return nil // an egg is as big as it weighs
	}
	grid := quantity.Millimetres(5)
	if p.Thickness < quantity.Millimetres(15) {
		grid = quantity.Millimetres(2)
	}
	if t.units == reply.Imperial {
		grid = quantity.Inches(0.25)
	}
	const slack = 1e-6 // of a step, for binary fractions
	at := float64(p.Thickness / grid)
	var out []Button
	for _, b := range [...]struct {
		id reply.ID
		to float64
	}{{reply.ButtonThinner, math.Ceil(at-slack) - 1}, {reply.ButtonThicker, math.Floor(at+slack) + 1}} {
		c := r
		c.Thickness, c.ThicknessVague = quantity.Length(b.to)*grid, false
		if c.Thickness >= max(p.Food.Limits.ThicknessMin, grid) && c.Thickness <= p.Food.Limits.ThicknessMax {
			out = append(out, t.button(b.id, c))
		}
	}
	return out
}

// toggles switch frozen and at risk, where that can matter. Guests at risk by the settings are changed
// there.
func (t *turn) toggles(r cook.Request, f food.Food) []Button {
	frozen, risk := r, r
	frozenID, riskID := reply.ButtonFrozen, reply.ButtonAtrisk
	frozen.Start, frozen.StartAt = cook.StartFrozen, 0
	if r.Start == cook.StartFrozen {
		frozenID, frozen.Start = reply.ButtonThawed, ""
	}
	if risk.AtRisk = !r.AtRisk; r.AtRisk {
		riskID = reply.ButtonNotatrisk
	}
	var out []Button
	if f.Proportions.Shape != food.EggShape || r.Start == cook.StartFrozen {
		out = append(out, t.button(frozenID, frozen))
	}
	if !t.entry.doc.Settings.AtRisk && (f.Safety != food.Plant || r.AtRisk) {
		out = append(out, t.button(riskID, risk))
	}
	return out
}

// donenessButtons are the food's donenesses, each with its usual setpoint.
func (t *turn) donenessButtons(r cook.Request, p *cook.Plan) [][]Button {
	var out []Button
	for _, s := range p.Food.Steps {
		c := r
		c.Doneness, c.HasSetpoint, c.Setpoint = s.ID, false, 0
		label := t.lang.Step(t.lang.DonenessName(s.ID), s.Default, t.units)
		if s.ID == p.Doneness && s.Default == p.Setpoint {
			label = t.lang.Say(reply.ButtonChosen, reply.Data{"Label": label})
		}
		out = append(out, Button{Label: label, Data: t.packed(actPlan, c)})
	}
	return append(rows(out), []Button{t.button(reply.ButtonBack, r)})
}

// refusalButtons offer the nearest plan that passes and take back what often stands in the way.
func (t *turn) refusalButtons(a asked, refusal *cook.Refusal) [][]Button {
	r := a.request
	var out []Button
	if refusal.Nearest != nil {
		near := *refusal.Nearest
		// What the settings filled in is the reader's own and is filled in again.
		near.AtRisk, near.Country, near.Bath, near.Altitude, near.ThermometerError = r.AtRisk, r.Country, r.Bath, r.Altitude, r.ThermometerError
		out = append(out, t.button(reply.ButtonNearest, near))
	}
	if r.AtRisk && !t.entry.doc.Settings.AtRisk {
		safe := r
		safe.AtRisk = false
		out = append(out, t.button(reply.ButtonNotatrisk, safe))
	}
	if r.Start == cook.StartFrozen {
		thawed := r
		thawed.Start = ""
		out = append(out, t.button(reply.ButtonThawed, thawed))
	}
	return append(rows(out), rows(t.otherFoods(r, a.others))...)
}

// curve sends a picture of a plan, whose caption says the same in words.
func (t *turn) curve(ctx context.Context, r cook.Request) error {
	if t.paint == nil || t.in.Message < 0 {
		return ErrPacked
	}
	plan, err := t.model.Plan(t.entry.doc.Settings.Fill(r))
	var refusal *cook.Refusal
	if errors.As(err, &refusal) { // what a rule forbids has no picture
		return t.answer(ctx, asked{request: r})
	}
	if err != nil {
		return fmt.Errorf("plan: %w", err)
	}
	if err := t.notice(ctx, ""); err != nil {
		return err
	}
	pic := t.lang.Picture(reply.PlanCourse(plan), reply.Options{Units: t.units})
	var png bytes.Buffer
	if err := t.paint.Draw(&png, pic); err != nil {
		return fmt.Errorf("draw: %w", err)
	}
	_, err = t.send(ctx, Message{Text: pic.Caption, Picture: png.Bytes()})
	return err
}

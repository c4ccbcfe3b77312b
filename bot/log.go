package bot

import (
	"context"
	"math"
	"strconv"
	"strings"

	"bagwatch/internal/cook"
	"bagwatch/internal/food"
	"bagwatch/internal/kitchen"
	"bagwatch/internal/quantity"
	"bagwatch/internal/reply"
)

// Verbs of the buttons about past cooks, between actLog and "/id". A rating stands for itself, as a digit;
// logHere before it says that the button is under the cook's own message, which shows the change. Only
// append: old buttons stay on screens.
const (
	logOpen = "o"
	logNote = "n"
	logHere = "h"

	awaitNote = "note" // what is waited for after logNote
)

// shownCooks is how many past cooks a list shows. House rule: a screen of a phone.
const shownCooks = 8

func logData(verb string, id kitchen.BagID) string {
	return string(actLog) + verb + "/" + strconv.FormatUint(uint64(id), 10)
}

// pastCooks lists the newest past cooks, each with a button.
func (t *turn) pastCooks(ctx context.Context) error {
	all := t.entry.doc.Log
	if len(all) == 0 {
		return t.say(ctx, t.lang.Lines(reply.LogNone, nil))
	}
	m := Message{Text: t.lang.Titled(reply.LogTitle, nil)}
	o := t.bagOptions()
	for i := len(all) - 1; i >= max(0, len(all)-shownCooks); i-- {
		m.Text = append(m.Text, t.lang.PastCook(all[i], o))
		m.Buttons = append(m.Buttons, []Button{{Label: t.lang.PastLabel(all[i], o), Data: logData(logOpen, all[i].Bag)}})
	}
	_, err := t.send(ctx, m)
	return err
}

// pressLog answers a button about a past cook.
func (t *turn) pressLog(ctx context.Context, data string) error {
	verb, number, _ := strings.Cut(data, "/")
	n, err := strconv.ParseUint(number, 10, 16)
	if err != nil {
		return ErrPacked
	}
	c, ok := t.entry.doc.Cook(kitchen.BagID(n))
	if !ok {
		return kitchen.ErrNone
	}
	switch verb {
	case logOpen:
		if err := t.notice(ctx, ""); err != nil {
			return err
		}
		_, err := t.send(ctx, t.cookMessage(c))
		return err
	case logNote:
		return t.askNote(ctx, c)
	}
	digit, here := strings.CutPrefix(verb, logHere)
	for _, r := range ratings {
		if digit == strconv.Itoa(int(r.rating)) {
			return t.rate(ctx, c.Bag, r.rating, here)
		}
	}
	return ErrPacked
}

// ratings are what a cook can be rated as.
var ratings = [...]struct {
	rating uint8
	id     reply.ID
}{{kitchen.TooSoft, reply.ButtonToosoft}, {kitchen.JustRight, reply.ButtonJustright}, {kitchen.TooFirm, reply.ButtonToofirm}}

// ratingButtons rate a cook; before what its buttons' data begin with.
func (t *turn) ratingButtons(before string, id kitchen.BagID) []Button {
	var out []Button
	for _, r := range ratings {
		out = append(out, Button{Label: t.lang.Say(r.id, nil), Data: logData(before+strconv.Itoa(int(r.rating)), id)})
	}
	return out
}

// cookMessage shows one past cook with all that can be done about it.
func (t *turn) cookMessage(c kitchen.Cook) Message {
	again := cook.Request{Food: c.Food, Thickness: c.Thickness, Doneness: c.Doneness, HasSetpoint: true, Setpoint: c.Setpoint}
	return Message{
		Text: reply.Text{t.lang.PastCook(c, t.bagOptions())},
		Buttons: [][]Button{
			t.ratingButtons(logHere, c.Bag),
			{
				{Label: t.lang.Say(reply.ButtonNote, nil), Data: logData(logNote, c.Bag)},
				{Label: t.lang.Say(reply.ButtonAgain, nil), Data: t.packed(actNew, again)},
			},
		},
	}
}

// rate notes how a cook turned out. Anybody may: who eats knows.
func (t *turn) rate(ctx context.Context, id kitchen.BagID, rating uint8, here bool) error {
	_, err := t.change(ctx, func(d *kitchen.Document) error {
		_, err := d.Rate(id, rating, "", t.in.From.ID.kept())
		return err
	})
	if err != nil {
		return err
	}
	t.member = t.chat.Group
	if err := t.notice(ctx, t.lang.Say(reply.LogNoted, reply.Data{"Verdict": t.lang.Rated(rating)})); err != nil {
		return err
	}
	c, ok := t.entry.doc.Cook(id)
	if !here || !ok {
		return nil
	}
	return t.show(ctx, t.cookMessage(c))
}

// askNote asks for a note and waits for it.
func (t *turn) askNote(ctx context.Context, c kitchen.Cook) error {
	if err := t.notice(ctx, ""); err != nil {
		return err
	}
	if _, err := t.send(ctx, Message{Text: t.lang.Lines(reply.LogAsknote, reply.Data{"Bag": t.lang.PastBag(c)}), AskReply: true}); err != nil {
		return err
	}
	t.entry.person(t.in.From.ID, t.in.At).waiting = awaitNote + ":" + strconv.Itoa(int(c.Bag))
	return nil
}

// awaitedNote takes the note that was asked for, whatever it says.
func (t *turn) awaitedNote(ctx context.Context, id, text string) error {
	t.entry.person(t.in.From.ID, t.in.At).waiting = ""
	n, _ := strconv.ParseUint(id, 10, 16) // we wrote it
	_, err := t.change(ctx, func(d *kitchen.Document) error {
		_, err := d.Rate(kitchen.BagID(n), 0, text, t.in.From.ID.kept())
		return err
	})
	if err != nil {
		return err
	}
	t.member = t.chat.Group
	return t.say(ctx, t.lang.Lines(reply.LogNotekept, nil))
}

// recall gives what the chat noted about the food last time, and the button that changes the plan by it.
// Nothing is recalled under a message in somebody else's chat.
func (t *turn) recall(r cook.Request, p *cook.Plan) (line string, change []Button) {
	if t.in.Kind == Inline || t.in.Message < 0 {
		return "", nil
	}
	c, ok := t.entry.doc.Remembered(p.Food.ID)
	if !ok {
		return "", nil
	}
	line = t.lang.Recall(c, t.bagOptions())
	changed, id, label := r, reply.ButtonLasttime, ""
	changed.HasSetpoint, changed.Setpoint = false, 0
	if c.Rating == kitchen.JustRight {
		if sameWater(c.Setpoint, p.Setpoint) {
			return line, nil
		}
		changed.Doneness, changed.HasSetpoint, changed.Setpoint = c.Doneness, true, c.Setpoint
	} else {
		step, ok := nextStep(p, c)
		if !ok {
			return line, nil
		}
		changed.Doneness, label = step.ID, t.lang.Step(t.lang.DonenessName(step.ID), step.Default, t.units)
		if id = reply.ButtonSofter; c.Rating < kitchen.JustRight {
			id = reply.ButtonFirmer
		}
	}
	if _, err := t.model.Plan(t.entry.doc.Settings.Fill(changed)); err != nil { // what a rule forbids is not offered
		return line, nil
	}
	return line, []Button{{Label: t.lang.Say(id, reply.Data{"Step": label}), Data: t.packed(actPlan, changed)}}
}

// nextStep is the doneness beside that of a cook which was too soft or too firm, unless the plan has gone
// that way already. Hotter water firms tender meat, fish and eggs, and softens what is tough or a plant.
func nextStep(p *cook.Plan, c kitchen.Cook) (food.Step, bool) {
	if c.Rating == 0 {
		return food.Step{}, false
	}
	softens := p.Food.Texture == food.TextureTough || p.Food.Texture == food.TexturePlant
	hotter := (c.Rating < kitchen.JustRight) != softens
	if !sameWater(p.Setpoint, c.Setpoint) && (p.Setpoint > c.Setpoint) == hotter {
		return food.Step{}, false
	}
	var best food.Step
	found := false
	for _, s := range p.Food.Steps { // from the coolest up
		switch {
		case sameWater(s.Default, c.Setpoint) || (s.Default > c.Setpoint) != hotter:
		case !hotter || !found:
			best, found = s, true
		}
	}
	return best, found
}

// sameWater forgives what is lost when a setpoint is stored.
func sameWater(a, b quantity.Temperature) bool { return math.Abs(float64(a-b)) < 0.05 }

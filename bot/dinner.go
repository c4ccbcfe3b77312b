package bot

import (
	"context"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"

	"bagwatch/internal/cook"
	"bagwatch/internal/dinner"
	"bagwatch/internal/food"
	"bagwatch/internal/kitchen"
	"bagwatch/internal/quantity"
	"bagwatch/internal/reply"
)

// dinnerVerb is what a dinner's button does.
type dinnerVerb string

// The verbs of dinner buttons. Only append, and never change one: old buttons stay on screens.
const (
	dinnerGo     dinnerVerb = "go"
	dinnerLater  dinnerVerb = "later"  // a proposal, by laterBy
	dinnerServe  dinnerVerb = "serve"  // + minute
	dinnerCut    dinnerVerb = "cut"    // + dish.millimetres
	dinnerDone   dinnerVerb = "done"   // + dish.doneness
	dinnerNear   dinnerVerb = "near"   // + dish: the nearest that the rules pass
	dinnerDrop   dinnerVerb = "drop"   // + dish
	dinnerIce    dinnerVerb = "ice"    // + 1 or 0
	dinnerBaths  dinnerVerb = "baths"  // + how many
	dinnerLate   dinnerVerb = "late"   // the cook, by laterBy
	dinnerGuests dinnerVerb = "guests" // by guestsBy
	dinnerTake   dinnerVerb = "take"   // + step
	dinnerTick   dinnerVerb = "tick"   // + step
	dinnerEnd    dinnerVerb = "end"
	dinnerShow   dinnerVerb = "show"
)

// What a tap moves a dinner by; other spans are typed.
const (
	laterBy  = 15 * time.Minute
	guestsBy = time.Hour
)

// dinnerData is the data of a dinner's button. Those of a proposal have no stamp: they count only under the
// message that shows it.
func dinnerData(v dinnerVerb, stamp, arg string) string {
	return string(actDinner) + "/" + string(v) + "/" + stamp + "/" + arg
}

// dinnerOptions are how the chat reads about its dinner.
func (t *turn) dinnerOptions() reply.Options { return reply.Options{Units: t.units} }

// dinnerZone is the clock a dinner is shown by.
func (t *turn) dinnerZone() *time.Location {
	if zone := t.zone(); zone != nil {
		return zone
	}
	return time.UTC
}

// propose plans a dinner and shows it, or what stands against it: in place when a button asked for it. It is
// kept until it is started, or until another is proposed.
func (t *turn) propose(ctx context.Context, n kitchen.Dinner, heard []string) error {
	old := t.entry.doc.Dinner.Card
	n.Made, n.Going, n.Shifts, n.Marks = t.in.At.Truncate(time.Second), time.Time{}, nil, nil
	m, err := t.proposal(n, heard)
	if err != nil {
		return err
	}
	if t.in.Key != "" && t.entry.doc.Applied(t.in.Key) {
		return nil // delivered twice
	}
	n.Card = old
	if t.in.Kind == Press {
		if err := t.show(ctx, m); err != nil {
			return err
		}
	} else {
		id, err := t.send(ctx, m)
		if err != nil {
			return err
		}
		n.Card = kitchen.Card{Message: kitchen.MessageID(id), Topic: int64(t.chat.Topic)}
	}
	_, err = t.change(ctx, func(d *kitchen.Document) error {
		t.settleIn(d)
		return d.SetDinner(n, nil, t.in.At)
	})
	if err != nil {
		return err
	}
	t.member = t.chat.Group
	if old.Message != 0 && old != n.Card {
		return t.replaceCard(ctx, old, reply.DinnerBelow)
	}
	return nil
}

// replaceCard leaves a line in the place of a plan.
func (t *turn) replaceCard(ctx context.Context, card kitchen.Card, id reply.ID) error {
	err := t.out.Edit(ctx, t.cardChat(card), MessageID(card.Message), Message{Text: t.lang.Lines(id, nil)})
	if err != nil && !errors.Is(err, ErrLost) {
		return fmt.Errorf("edit dinner: %w", err)
	}
	return nil
}

// proposal is the message that shows a dinner which is not going.
func (t *turn) proposal(n kitchen.Dinner, heard []string) (Message, error) {
	o := t.dinnerOptions()
	s, err := t.schedule(n, t.dinnerZone())
	var no *dinner.Impossible
	switch {
	case errors.As(err, &no):
		return Message{Text: t.lang.DinnerImpossible(no, dishesOf(n), o), Buttons: t.nearestButtons(n, no, "")}, nil
	case errors.Is(err, dinner.ErrKitchen):
		return Message{Text: t.lang.Lines(reply.DinnerFar, nil)}, nil
	case err != nil:
		return Message{}, err
	}
	m := Message{Text: t.lang.Dinner(s, o)}
	var plans []*cook.Plan
	for _, c := range s.Courses {
		p, err := t.model.Plan(c.Request)
		if err != nil {
			return Message{}, fmt.Errorf("plan: %w", err)
		}
		plans = append(plans, p)
	}
	m.Text = append(m.Text, reply.Line{{Text: t.lang.DinnerTaken(plans, o)}})
	for _, line := range heard {
		m.Text = append(m.Text, reply.Line{{Text: line}})
	}
	row := []Button{
		{Label: t.lang.Say(reply.ButtonDinnerGo, nil), Data: dinnerData(dinnerGo, "", "")},
		{Label: t.lang.Say(reply.ButtonDinnerLater, reply.Data{"Span": t.lang.Span(laterBy)}), Data: dinnerData(dinnerLater, "", "")},
	}
	for _, st := range s.Steps {
		if !n.NoIce && (st.Kind == dinner.StepIce || st.Kind == dinner.StepOut) {
			row = append(row, Button{Label: t.lang.Say(reply.ButtonDinnerNoice, nil), Data: dinnerData(dinnerIce, "", "0")})
			break
		}
	}
	m.Buttons = [][]Button{row}
	return m, nil
}

// nearestButtons offer the nearest dinners that can be. Of one that is going only the time can be moved.
func (t *turn) nearestButtons(n kitchen.Dinner, no *dinner.Impossible, stamp string) [][]Button {
	var out []Button
	add := func(v dinnerVerb, arg string, id reply.ID, data reply.Data) {
		label := plain(reply.Capital(t.lang.Say(id, data)))
		out = append(out, Button{Label: label, Data: dinnerData(v, stamp, arg)})
	}
	dishes := dishesOf(n)
	if !no.Serve.IsZero() {
		minute := strconv.FormatInt(no.Serve.Unix()/60, minuteBase)
		add(dinnerServe, minute, reply.ButtonDinnerServe, reply.Data{"At": t.lang.Clock(no.Serve)})
	}
	if stamp != "" {
		return rows(out)
	}
	if no.Why == dinner.WhyRefused && no.Refusal != nil && no.Refusal.Nearest != nil && no.Dish >= 0 {
		add(dinnerNear, strconv.Itoa(no.Dish), reply.ButtonNearest, nil)
	}
	if no.Cut >= 0 && no.Thinner > 0 {
		mm := strconv.Itoa(int(no.Thinner.Millimetres() + 0.5))
		data := reply.Data{"Food": t.lang.DinnerDish(dishes, no.Cut), "L": t.lang.Thickness(no.Thinner, t.units)}
		add(dinnerCut, strconv.Itoa(no.Cut)+"."+mm, reply.ButtonDinnerCut, data)
	}
	if no.Other >= 0 && no.Doneness != "" {
		data := reply.Data{"Food": t.lang.DinnerDish(dishes, no.Other), "Doneness": t.lang.DonenessName(no.Doneness)}
		add(dinnerDone, strconv.Itoa(no.Other)+"."+string(no.Doneness), reply.ButtonDinnerDone, data)
	}
	if no.Ice {
		add(dinnerIce, "1", reply.ButtonDinnerIce, nil)
	}
	if no.Baths > 0 {
		add(dinnerBaths, strconv.Itoa(no.Baths), reply.ButtonDinnerBaths, reply.Data{"Count": no.Baths})
	}
	if no.Without >= 0 && len(dishes) > 1 {
		add(dinnerDrop, strconv.Itoa(no.Without), reply.ButtonDinnerDrop, reply.Data{"Food": t.lang.DinnerDish(dishes, no.Without)})
	}
	return rows(out)
}

// pressDinner answers a dinner's button. One of an earlier dinner, or of a plan that was replaced, does
// nothing.
func (t *turn) pressDinner(ctx context.Context, data string) error {
	f := strings.SplitN(data, "/", 4)
	if len(f) != 4 || f[0] != "" {
		return ErrPacked
	}
	verb, stamp, arg, n := dinnerVerb(f[1]), f[2], f[3], t.entry.doc.Dinner
	card := n.Card.Message != 0 && MessageID(n.Card.Message) == t.in.Message
	switch {
	case stamp == "" && verb == dinnerGo && card && !n.Going.IsZero(): // pressed twice
		return t.refreshDinner(ctx)
	case stamp == "" && card && n.Going.IsZero():
		return t.pressProposal(ctx, verb, arg, n)
	case stamp != "" && !n.Going.IsZero() && stamp == dinnerStamp(n):
		return t.pressGoing(ctx, verb, arg)
	}
	return t.notice(ctx, t.lang.Say(reply.DinnerOld, nil))
}

// pressProposal changes a dinner that is not going, or starts it.
func (t *turn) pressProposal(ctx context.Context, verb dinnerVerb, arg string, n kitchen.Dinner) error {
	dish, rest, _ := strings.Cut(arg, ".")
	i, err := strconv.Atoi(dish)
	if verb == dinnerCut || verb == dinnerDone || verb == dinnerNear || verb == dinnerDrop {
		if err != nil || i < 0 || i >= len(n.Dishes) {
			return ErrPacked
		}
		n.Dishes = append([]cook.Request(nil), n.Dishes...)
	}
	switch verb {
	case dinnerGo:
		return t.goDinner(ctx, n)
	case dinnerLater:
		n.Serve = n.Serve.Add(laterBy)
	case dinnerServe:
		if n.Serve, err = minuteTime(arg); err != nil {
			return err
		}
	case dinnerCut:
		mm, err := strconv.Atoi(rest)
		if err != nil || mm < 1 || mm > 1000 {
			return ErrPacked
		}
		r := &n.Dishes[i]
		r.Thickness, r.ThicknessVague = quantity.Millimetres(float64(mm)), false
	case dinnerDone:
		r := &n.Dishes[i]
		r.Doneness, r.HasSetpoint, r.Setpoint = food.Doneness(rest), false, 0
	case dinnerNear:
		var refusal *cook.Refusal
		if _, err := t.model.Plan(n.Dishes[i]); !errors.As(err, &refusal) || refusal.Nearest == nil {
			return ErrPacked
		}
		n.Dishes[i] = *refusal.Nearest
	case dinnerDrop:
		if n.Dishes = append(n.Dishes[:i], n.Dishes[i+1:]...); len(n.Dishes) == 0 {
			return ErrPacked
		}
	case dinnerIce:
		n.NoIce = arg != "1"
	case dinnerBaths:
		if i < 1 || i > dinner.MostBaths {
			return ErrPacked
		}
		n.Baths = i
	default:
		return ErrPacked
	}
	return t.propose(ctx, n, nil)
}

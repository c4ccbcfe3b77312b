package bot

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"bagwatch/internal/cook"
	"bagwatch/internal/food"
	"bagwatch/internal/kitchen"
	"bagwatch/internal/phrase"
	"bagwatch/internal/quantity"
	"bagwatch/internal/reply"
)

// The bag verbs of chilling. Only append.
const (
	bagChill  bagVerb = "chill"
	bagFridge bagVerb = "cold." // + minute: it went into ice water then, and is in the fridge now
	bagFrozen bagVerb = "ice."  // likewise, the freezer
)

// Where a chilled request goes, the last letter of its button's data.
const (
	intoFridge  = "f"
	intoFreezer = "z"
)

// chillData is the data of a button that chills what a question is about.
func (t *turn) chillData(q question) string {
	if q.bag != 0 {
		return bagData(bagChill, q.bag)
	}
	return string(actChill) + t.safeData(question{request: q.request, in: q.in, unsure: q.unsure, out: q.out, atRisk: q.atRisk})[1:]
}

// pressChill chills what a typed question was about.
func (t *turn) pressChill(ctx context.Context, data string) error {
	q, err := t.unpackQuestion(data)
	if err != nil {
		return err
	}
	if err := t.notice(ctx, ""); err != nil {
		return err
	}
	return t.answerChill(ctx, q)
}

// chill answers /chill and words that ask the same: of a bag, of what is typed, or of what was asked last.
func (t *turn) chill(ctx context.Context, text string) error {
	u := t.parsers[t.lang.Tag].Parse(text)
	if u.RefusedFood != "" {
		if r, ok := t.model.Foods().Refused(food.ID(u.RefusedFood)); ok {
			return t.say(ctx, t.lang.RefusedFood(r))
		}
	}
	if u.Problem != nil && u.Problem.ID != phrase.ProblemNoFood && u.Problem.ID != phrase.ProblemEmpty {
		return t.problem(ctx, text, u)
	}
	timed := u.Since != nil || u.Ago > 0 || u.Request.Span > 0
	bags := t.chillable(u.Food.ID, u.Food.Alternatives)
	switch {
	case len(bags) == 1 && !timed && !details(u.Request):
		return t.answerChill(ctx, t.bagQuestion(bags[0]))
	case len(bags) > 1 && !timed && !details(u.Request):
		var buttons []Button
		const most = 8
		for _, b := range bags[:min(most, len(bags))] {
			buttons = append(buttons, Button{Label: reply.Capital(t.lang.Bag(b)), Data: bagData(bagChill, b.ID)})
		}
		_, err := t.send(ctx, Message{Text: t.lang.Lines(reply.BagWhich, nil), Buttons: rows(buttons)})
		return err
	}
	r := u.Request
	if u.Food.ID == "" {
		if q, ok := t.lastQuestion(); ok && !timed && !details(u.Request) {
			return t.answerChill(ctx, q)
		}
		last, ok := t.entry.base(t.in)
		if !ok {
			return t.say(ctx, t.lang.Lines(reply.ChillHow, nil))
		}
		r = last
		if amended, ok := t.parsers[t.lang.Tag].Amend(last, text); ok {
			r = amended.Request
		}
	} else if u.Problem != nil {
		return t.problem(ctx, text, u)
	}
	q := question{request: r, others: u.Food.Alternatives}
	brief := u
	brief.Food.Alternatives = nil
	brief.Unplaced = t.unread(u.Unplaced)
	q.heard = t.lang.Heard(brief)
	u.Request.Span = r.Span
	t.times(&q, text, u)
	if q.unsure {
		return t.chillPlanned(ctx, q)
	}
	return t.answerChill(ctx, q)
}

// chillable are the bags in the bath, and those pulled within a while.
func (t *turn) chillable(id food.ID, others []food.ID) []kitchen.Bag {
	const within = 2 * time.Hour // longer out, it is nothing to keep
	out := t.matching(id, others)
	if len(out) > 0 {
		return out
	}
	for _, b := range t.entry.doc.Bags {
		if b.Running() || b.Thrown || t.in.At.Sub(b.Closed) > within || t.keptOf(b.ID) {
			continue
		}
		fits := id == "" || b.Request.Food == id
		for _, o := range others {
			fits = fits || b.Request.Food == o
		}
		if fits {
			out = append(out, b)
		}
	}
	return out
}

// keptOf tells whether a bag is in the fridge or freezer already.
func (t *turn) keptOf(id kitchen.BagID) bool {
	for _, k := range t.entry.doc.Kept {
		if k.Bag == id && id != 0 {
			return true
		}
	}
	return false
}

// aside is what the minutes of a button may lose of a stay. House rule.
const aside = 2 * time.Minute

// chillPlanned chills something that nobody said the time of: as if it had been in for as long as its plan
// says it takes, which the answer says.
func (t *turn) chillPlanned(ctx context.Context, q question) error {
	p, err := t.model.Plan(t.entry.doc.Settings.Fill(q.request))
	var refusal *cook.Refusal
	if errors.As(err, &refusal) {
		text := t.lang.Refusal(refusal, reply.Options{Units: t.units})
		_, err := t.send(ctx, Message{Text: text, Buttons: t.refusalButtons(asked{request: q.request, others: q.others}, refusal)})
		return err
	}
	if err != nil {
		return fmt.Errorf("plan: %w", err)
	}
	stay := p.Printed().Ready
	if !p.Pasteurised.Never {
		stay = max(stay, cook.Later(p.Pasteurised.After, true))
	}
	stay += aside
	q.in, q.unsure, q.planned = t.in.At.Add(-stay), false, true
	q.heard = append(q.heard, t.lang.Say(reply.ChillRecord, reply.Data{
		"Water": t.lang.Water(p.Setpoint, t.units), "Span": t.lang.Span(quantity.CeilTo(stay-aside, time.Minute)),
	}))
	return t.answerChill(ctx, q)
}

// chilled computes the chilling of what a question is about, at a moment.
func (t *turn) chilled(q question, at time.Time) (*cook.Chill, error) {
	c, err := t.model.Chill(t.happened(q, at), cook.ChillSetup{})
	if err != nil {
		return nil, fmt.Errorf("chill: %w", err)
	}
	return c, nil
}

// answerChill says how to chill it, how long it keeps, and offers to note where it goes.
func (t *turn) answerChill(ctx context.Context, q question) error {
	now := t.in.At
	c, err := t.chilled(q, now)
	var refusal *cook.Refusal
	if errors.As(err, &refusal) {
		text := t.lang.Refusal(refusal, reply.Options{Units: t.units})
		return t.say(ctx, text)
	}
	if err != nil {
		return err
	}
	o := t.verdictOptions(q)
	q.heard = append([]string{reply.Strip(t.takenAs(q, c.Verdict))}, q.heard...)
	o.Heard = q.heard
	m := Message{Text: t.lang.Chill(c, o)}
	if c.Keepable {
		if o.In.IsZero() { // a label has dates, of the day as the world's clock has it
			o.In = q.in.UTC()
		}
		m.Text = append(m.Text, nil)
		m.Text = append(m.Text, t.lang.Lines(reply.ChillLabel, nil)...)
		m.Text = append(m.Text, t.lang.Label(c, o)...)
		if t.in.Message >= 0 {
			m.Buttons = [][]Button{{
				{Label: t.lang.Say(reply.ButtonFridge, nil), Data: t.keepData(q, now, false)},
				{Label: t.lang.Say(reply.ButtonFreezer, nil), Data: t.keepData(q, now, true)},
			}}
		}
	} else if keep := q.request; q.bag == 0 && c.Verdict.Answer != cook.No && c.Verdict.Pasteurised.Never && !keep.Pasteurised && !keep.Cured {
		keep.Pasteurised, keep.Span = true, 0
		if !keep.HasSetpoint {
			keep.Doneness = ""
		}
		keep.HasSetpoint, keep.Setpoint = false, 0
		m.Buttons = [][]Button{{{Label: t.lang.Say(reply.ButtonKeepable, nil), Data: t.packed(actNew, keep)}}}
	}
	m.Buttons = append(t.otherChill(q), m.Buttons...)
	_, err = t.send(ctx, m)
	return err
}

// otherChill are the buttons of a vague word.
func (t *turn) otherChill(q question) [][]Button {
	var out []Button
	for _, id := range q.others {
		o := q
		o.request.Food, o.request.Doneness = id, ""
		out = append(out, Button{Label: reply.Capital(t.lang.FoodName(id, 1)), Data: t.chillData(o)})
	}
	return rows(out)
}

// keepData is the data of a button that notes where chilled food went. It carries when it went into the ice
// water, for it is judged as of then.
func (t *turn) keepData(q question, at time.Time, frozen bool) string {
	if q.bag != 0 {
		verb := bagFridge
		if frozen {
			verb = bagFrozen
		}
		return bagData(verb+bagVerb(minuteData(at)), q.bag)
	}
	into := intoFridge
	if frozen {
		into = intoFreezer
	}
	return t.packed(actKeep, plainRequest(q)) + "." + minuteData(q.in) + "." + minuteData(at) + into
}

// pressKeep notes chilled food that was no bag.
func (t *turn) pressKeep(ctx context.Context, data string) error {
	parts := strings.Split(data, ".")
	if len(parts) != 3 || len(parts[2]) < 2 {
		return ErrPacked
	}
	r, err := t.packer.unpack(parts[0])
	if err != nil {
		return err
	}
	last := len(parts[2]) - 1
	in, err1 := minuteTime(parts[1])
	at, err2 := minuteTime(parts[2][:last])
	into := parts[2][last:]
	if err1 != nil || err2 != nil || into != intoFridge && into != intoFreezer || at.After(t.in.At.Add(time.Minute)) || in.After(at) {
		return ErrPacked
	}
	return t.keep(ctx, question{request: r, in: in}, at, into == intoFreezer)
}

// pressKeepBag notes a chilled bag.
func (t *turn) pressKeepBag(ctx context.Context, b kitchen.Bag, minute string, frozen bool) error {
	at, err := minuteTime(minute)
	if err != nil {
		return err
	}
	if at.Before(b.Started) || at.After(t.in.At.Add(time.Minute)) {
		return ErrPacked
	}
	if b.Thrown {
		return t.wasFirst(ctx, b.ID)
	}
	return t.keep(ctx, t.bagQuestion(b), at, frozen)
}

// errKept reports food that was put away already: a button pressed twice.
var errKept = errors.New("bot: kept already")

// keep notes what was chilled, if by what happened to it when it went into the ice water it keeps. A bag
// that is still listed as in the bath is pulled.
func (t *turn) keep(ctx context.Context, q question, at time.Time, frozen bool) error {
	if t.keptOf(q.bag) {
		return t.tell(ctx, t.lang.Say(reply.KeptRepeat, nil), t.lang.Lines(reply.KeptRepeat, nil))
	}
	now := q
	if !now.out.IsZero() && now.out.After(at) { // pulled when it went into the ice
		now.out = time.Time{}
	}
	c, err := t.chilled(now, at)
	var refusal *cook.Refusal
	if errors.As(err, &refusal) || err == nil && !c.Keepable {
		return t.tell(ctx, t.lang.Say(reply.KeptNot, nil), t.lang.Lines(reply.KeptNot, nil))
	}
	if err != nil {
		return err
	}
	k := kitchen.Kept{
		Bag: q.bag, Food: q.request.Food, Pieces: c.Verdict.Plan.Pieces, Since: at, Until: at.Add(c.KeepFor), Frozen: frozen, By: t.whoActs(),
	}
	if frozen {
		k.Until = at.Add(c.FreezeFor)
	}
	if b, ok := t.entry.doc.Bag(q.bag); ok {
		k.Name = b.Name
	}
	repeated, err := t.change(ctx, func(d *kitchen.Document) error {
		t.settleIn(d)
		if slices.ContainsFunc(d.Kept, func(o kitchen.Kept) bool { return q.bag == 0 && o.Bag == 0 && o.Food == k.Food && o.Since.Equal(at) }) {
			return errKept
		}
		if _, running := t.runningBag(q.bag); running {
			if _, err := d.Pull(q.bag, t.whoActs(), t.in.At); err != nil {
				return err
			}
		}
		var err error
		k, err = d.Keep(k, t.in.At)
		return err
	})
	if errors.Is(err, errKept) {
		return t.tell(ctx, t.lang.Say(reply.KeptRepeat, nil), t.lang.Lines(reply.KeptRepeat, nil))
	}
	if err != nil {
		return err
	}
	if repeated {
		return t.notice(ctx, t.lang.Say(reply.KeptRepeat, nil))
	}
	t.member = t.chat.Group
	if err := t.notice(ctx, ""); err != nil {
		return err
	}
	cooked := plainRequest(q)
	id := reply.KeptNoted
	if t.chat.Group {
		id = reply.KeptNotedby
	}
	text := t.lang.Titled(id, reply.Data{"Line": t.keptLine(k), "Who": t.lang.Who(t.whoActs())})
	if _, err := t.send(ctx, Message{Text: text, Buttons: t.keptButtons(k, &cooked)}); err != nil {
		return err
	}
	return t.refreshCard(ctx, false)
}

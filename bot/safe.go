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
	"bagwatch/internal/quantity"
	"bagwatch/internal/reply"
)

// question is "is this safe to serve?", as it was understood: about a bag, or about what was typed.
type question struct {
	bag     kitchen.BagID // 0: request and the times are as typed
	request cook.Request
	in      time.Time // when it went in, at the latest
	unsure  bool      // it may have been any time before
	out     time.Time // when it came out; zero while it is in
	planned bool      // in and out as its plan has it: nobody said when
	atRisk  bool      // asked for guests at higher risk
	cores   []coreAt
	heard   []string
	others  []food.ID
	needs   bool // a time of day was typed and the chat has no clock
	message MessageID
}

// coreAt is a probe reading.
type coreAt struct {
	at   time.Time
	core quantity.Temperature
}

// mostCores bounds the readings of one question. House rule.
const mostCores = 16

// bagQuestion asks about a bag.
func (t *turn) bagQuestion(b kitchen.Bag) question {
	q := question{bag: b.ID, request: b.Request, in: b.Started}
	if !b.Running() {
		q.out = b.Closed
	}
	return q
}

// happened is what became of the food by now, with the bath diary it lived through.
func (t *turn) happened(q question, now time.Time) cook.Happened {
	h := cook.Happened{Request: t.entry.doc.Settings.Fill(q.request), ElapsedUnknown: q.unsure}
	h.Request.AtRisk = h.Request.AtRisk || q.atRisk
	h.Elapsed = max(0, now.Sub(q.in))
	h.Diary, h.Readings = diaryOf(t.entry.doc, q.bag, q.in, h.Request)
	for _, c := range q.cores {
		if at := c.at.Sub(q.in); at >= 0 && at <= h.Elapsed {
			h.Readings = append(h.Readings, cook.Reading{At: at, Core: c.core})
		}
	}
	if !q.out.IsZero() {
		h.Pulled, h.PulledAt = true, min(h.Elapsed, max(0, q.out.Sub(q.in)))
	}
	return h
}

// verdictOptions are how the answer to a question is read.
func (t *turn) verdictOptions(q question) reply.Options {
	o := reply.Options{Units: t.units}
	if zone := t.zone(); zone != nil && !q.unsure {
		o.In = q.in.In(zone)
	}
	return o
}

// judged is a question with its answer in words.
type judged struct {
	text    reply.Text
	verdict *cook.Verdict // nil when a rule keeps it from being followed at all
	heard   int           // lines between the first and why
}

// judge answers a question.
func (t *turn) judge(q question) (judged, error) {
	h := t.happened(q, t.in.At)
	o := t.verdictOptions(q)
	v, err := t.model.Verdict(h)
	var refusal *cook.Refusal
	switch {
	case errors.As(err, &refusal):
		text := t.lang.Refusal(refusal, o)
		head := t.lang.Say(reply.SafeCannot, reply.Data{"Reason": text[0].String()})
		text[0] = reply.Line{{Text: head, Style: reply.Strong}}
		return judged{text: text}, nil
	case err != nil:
		return judged{}, fmt.Errorf("verdict: %w", err)
	}
	o.Heard = append(o.Heard, reply.Strip(t.takenAs(q, v)))
	if t.unsettled {
		o.Heard = append(o.Heard, t.lang.Say(reply.BotUnsettled, nil))
	}
	if h.Request.AtRisk {
		o.Heard = append(o.Heard, t.lang.Say(reply.SafeAtrisk, nil))
	}
	o.Heard = append(o.Heard, q.heard...)
	if q.needs {
		o.Heard = append(o.Heard, t.lang.Say(reply.SafeNoclock, nil))
	}
	return judged{text: t.lang.Verdict(v, o), verdict: v, heard: len(o.Heard)}, nil
}

// takenAs says what the verdict is about: food, thickness, water and since when.
func (t *turn) takenAs(q question, v *cook.Verdict) string {
	p := v.Plan
	name := t.lang.FoodName(p.Food.ID, p.Pieces)
	if b, ok := t.entry.doc.Bag(q.bag); ok && q.bag != 0 {
		name = t.lang.Bag(b)
	}
	var facts []string
	if !p.Guessed {
		facts = append(facts, t.lang.Say(reply.SafeThick, reply.Data{"L": t.lang.Thickness(p.Thickness, t.units)}))
	}
	facts = append(facts, t.lang.Say(reply.SafeWater, reply.Data{"Water": t.lang.Temperature(p.Setpoint, t.units)}))
	span := t.lang.Span(quantity.FloorTo(v.Now, time.Minute))
	switch zone := t.zone(); {
	case q.unsure, q.planned: // said among what is unknown
	case zone != nil:
		facts = append(facts, t.lang.Say(reply.SafeSince, reply.Data{"Clock": t.lang.Clock(q.in.In(zone)), "Span": span}))
	default:
		facts = append(facts, t.lang.Say(reply.SafeFor, reply.Data{"Span": span}))
	}
	if !q.out.IsZero() {
		gone := quantity.CeilTo(max(0, t.in.At.Sub(q.out)), time.Minute)
		facts = append(facts, t.lang.Say(reply.SafeOut, reply.Data{"Span": t.lang.Span(gone)}))
	}
	return t.lang.Say(reply.SafeTaken, reply.Data{"Food": reply.Capital(name), "Facts": strings.Join(facts, ", ")})
}

// answerSafe answers one question and remembers it for what follows: "core 58C", "3 cm", "pregnant".
func (t *turn) answerSafe(ctx context.Context, q question) error {
	j, err := t.judge(q)
	if err != nil {
		return err
	}
	m := Message{Text: j.text, Buttons: t.safeButtons(q, j.verdict)}
	if t.in.Kind == Press {
		if err := t.notice(ctx, ""); err != nil {
			return err
		}
	}
	id, err := t.send(ctx, m)
	if err != nil {
		return err
	}
	g := t.entry.person(t.in.From.ID, t.in.At)
	q.message, q.heard, q.others, q.needs = id, nil, nil, false
	g.safe, g.asked = &q, 0
	if q.bag == 0 {
		r := q.request
		r.Span = 0
		t.remember(r)
		g.safe = &q // remembering is for plans, this for verdicts
	}
	return nil
}

// runningBag finds a bag that is in the bath.
func (t *turn) runningBag(id kitchen.BagID) (kitchen.Bag, bool) {
	b, ok := t.entry.doc.Bag(id)
	return b, ok && id != 0 && b.Running()
}

// safe answers /safe and words that ask the same.
func (t *turn) safe(ctx context.Context, text string) error {
	if text == "" {
		return t.safeBare(ctx, false)
	}
	if done, err := t.diaryWords(ctx, text); done || err != nil { // "core 58C at 18:40"
		return err
	}
	u := t.parsers[t.lang.Tag].Parse(text)
	if u.RefusedFood != "" {
		if r, ok := t.model.Foods().Refused(food.ID(u.RefusedFood)); ok {
			return t.say(ctx, t.lang.RefusedFood(r))
		}
	}
	return t.safeTyped(ctx, text, u)
}

// safeBare answers "is it safe?" alone: all that is in the bath, else what was asked last.
func (t *turn) safeBare(ctx context.Context, atRisk bool) error {
	if q, ok := t.lastQuestion(); ok && (len(t.entry.doc.Running()) == 0 || t.in.ReplyTo != 0) {
		q.atRisk = q.atRisk || atRisk
		return t.answerSafe(ctx, q)
	}
	if bags := t.entry.doc.Running(); len(bags) > 0 {
		return t.safeBags(ctx, bags, atRisk)
	}
	r, ok := t.entry.base(t.in)
	if !ok {
		return t.say(ctx, t.lang.Lines(reply.SafeHow, nil))
	}
	return t.answerSafe(ctx, question{request: r, in: t.in.At, unsure: true, atRisk: atRisk})
}

// lastQuestion is what the person asked last, unless they have asked for a plan since.
func (t *turn) lastQuestion() (question, bool) {
	g := t.entry.person(t.in.From.ID, t.in.At)
	if g.safe == nil {
		return question{}, false
	}
	for _, a := range t.entry.answers {
		if t.in.ReplyTo != 0 && a.message == t.in.ReplyTo {
			return question{}, false // about that plan
		}
	}
	q := *g.safe
	q.cores = slices.Clone(q.cores)
	if b, ok := t.entry.doc.Bag(q.bag); q.bag != 0 {
		if !ok {
			return question{}, false
		}
		now := t.bagQuestion(b)
		now.atRisk, now.cores = q.atRisk, q.cores
		q = now
	}
	return q, true
}

// safeBags answers for bags: in full for one, with the first line and what to do for several, what may
// hurt first.
func (t *turn) safeBags(ctx context.Context, bags []kitchen.Bag, atRisk bool) error {
	if len(bags) == 1 {
		q := t.bagQuestion(bags[0])
		q.atRisk = atRisk
		return t.answerSafe(ctx, q)
	}
	type one struct {
		rank  int
		lines reply.Text
		b     kitchen.Bag
	}
	var all []one
	for _, b := range bags {
		q := t.bagQuestion(b)
		q.atRisk = atRisk
		h := t.happened(q, t.in.At)
		v, err := t.model.Verdict(h)
		if err != nil {
			return fmt.Errorf("verdict: %w", err)
		}
		text := t.lang.Verdict(v, t.verdictOptions(q))
		head := t.lang.Say(reply.SafeEach, reply.Data{"Verdict": strings.TrimSuffix(text[0].String(), "."), "Bag": t.lang.Bag(b)})
		rank := slices.Index([]cook.Answer{cook.No, cook.NotYet, cook.Yes}, v.Answer)
		all = append(all, one{rank, reply.Text{{{Text: head, Style: reply.Strong}}, text[2]}, b})
	}
	slices.SortStableFunc(all, func(a, b one) int { return a.rank - b.rank })
	var m Message
	var buttons []Button
	const shown = 8
	for i, o := range all {
		m.Text = append(m.Text, o.lines...)
		if i < shown {
			act := bagSafe
			if atRisk {
				act = bagRisk
			}
			buttons = append(buttons, Button{Label: t.lang.Say(reply.ButtonSafebag, reply.Data{"Bag": t.lang.Bag(o.b)}), Data: bagData(act, o.b.ID)})
		}
	}
	if atRisk || t.entry.doc.Settings.AtRisk {
		m.Text = append(m.Text, nil, reply.Line{{Text: t.lang.Say(reply.SafeAtrisk, nil)}})
	}
	m.Text = append(m.Text, nil, reply.Line{{Text: t.lang.Say(reply.VerdictLimits, nil)}})
	m.Buttons = rows(buttons)
	_, err := t.send(ctx, m)
	return err
}

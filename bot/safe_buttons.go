package bot

import (
	"context"
	"strconv"
	"strings"
	"time"

	"bagwatch/internal/cook"
	"bagwatch/internal/food"
	"bagwatch/internal/reply"
)

// safeButtons are what may be done next.
func (t *turn) safeButtons(q question, v *cook.Verdict) [][]Button {
	var out []Button
	if v == nil {
		return nil
	}
	_, running := t.runningBag(q.bag)
	switch {
	case running && v.Answer == cook.Yes:
		b, _ := t.entry.doc.Bag(q.bag)
		out = append(out, t.pullButton(b, true))
	case q.bag == 0 && !q.unsure && q.out.IsZero() && v.Answer == cook.NotYet && t.in.Message >= 0 && len(q.cores) == 0:
		out = append(out, Button{Label: t.lang.Say(reply.ButtonClock, nil), Data: t.startData(plainRequest(q), q.in)})
	}
	if v.Answer == cook.NotYet && (q.bag != 0 || len(q.cores) == 0 && !q.unsure) {
		out = append(out, Button{Label: t.lang.Say(reply.ButtonSafeagain, nil), Data: t.safeData(q)})
	}
	if len(q.cores) == 0 && !v.Happened.Request.AtRisk && v.Plan.Food.Safety != food.Plant {
		risk := q
		risk.atRisk = true
		out = append(out, Button{Label: t.lang.Say(reply.ButtonAtrisk, nil), Data: t.safeData(risk)})
	}
	if v.Answer == cook.Yes && v.Reason == cook.ReasonPasteurised && len(q.cores) == 0 && !q.unsure {
		out = append(out, Button{Label: t.lang.Say(reply.ButtonChill, nil), Data: t.chillData(q)})
	}
	if q.needs {
		out = append(out, Button{Label: t.lang.Say(reply.SettingsButtonClock, nil), Data: string(actSetting) + setZone})
	}
	return append(rows(t.otherSafe(q)), rows(out)...)
}

// plainRequest is the typed request of a question, for buttons.
func plainRequest(q question) cook.Request {
	r := q.request
	r.Span, r.AtRisk = 0, r.AtRisk || q.atRisk
	return r
}

// otherSafe are the buttons of a vague word.
func (t *turn) otherSafe(q question) []Button {
	var out []Button
	for _, id := range q.others {
		o := q
		o.request.Food = id
		if f, ok := t.model.Foods().Food(id); ok {
			if _, ok := f.Step(o.request.Doneness); !ok {
				o.request.Doneness = ""
			}
		}
		out = append(out, Button{Label: reply.Capital(t.lang.FoodName(id, 1)), Data: t.safeData(o)})
	}
	return out
}

// The bag verbs of safety. Only append.
const (
	bagSafe bagVerb = "safe"  // is it safe to serve?
	bagRisk bagVerb = "risk"  // for guests at higher risk?
	bagCore bagVerb = "core." // + minute.hundredths: a probe reading of it
)

// unsureMark stands before the minute of a question when it may have gone in before.
const unsureMark = "-"

// safeData is the data of a button that asks: a bag's, or a packed request with when it went in and came
// out.
func (t *turn) safeData(q question) string {
	if q.bag != 0 {
		if q.atRisk {
			return bagData(bagRisk, q.bag)
		}
		return bagData(bagSafe, q.bag)
	}
	data := t.packed(actSafe, plainRequest(q)) + "."
	if q.unsure {
		data += unsureMark
	}
	data += minuteData(q.in.Add(time.Minute - time.Second)) // up: no longer than it was
	if !q.out.IsZero() {
		data += "." + minuteData(q.out)
	}
	return data
}

func minuteData(at time.Time) string { return strconv.FormatInt(at.Unix()/60, minuteBase) }

// pressSafe answers the button of a typed question.
func (t *turn) pressSafe(ctx context.Context, data string) error {
	q, err := t.unpackQuestion(data)
	if err != nil {
		return err
	}
	return t.answerSafe(ctx, q)
}

// unpackQuestion undoes safeData for typed questions. A forged time is read as any other.
func (t *turn) unpackQuestion(data string) (q question, err error) {
	parts := strings.Split(data, ".")
	if len(parts) < 2 || len(parts) > 3 {
		return q, ErrPacked
	}
	if q.request, err = t.packer.unpack(parts[0]); err != nil {
		return q, err
	}
	minute, unsure := strings.CutPrefix(parts[1], unsureMark)
	q.unsure = unsure
	if q.in, err = minuteTime(minute); err != nil {
		return q, err
	}
	if len(parts) == 3 {
		if q.out, err = minuteTime(parts[2]); err != nil {
			return q, err
		}
	}
	if q.in.After(t.in.At.Add(time.Minute)) || q.out.After(t.in.At.Add(time.Minute)) {
		return q, ErrPacked
	}
	return q, nil
}

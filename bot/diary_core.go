package bot

import (
	"context"
	"strconv"
	"strings"

	"bagwatch/internal/kitchen"
	"bagwatch/internal/quantity"
	"bagwatch/internal/reply"
)

// coreTyped takes a probe reading: of the bag that is meant, or of what was last asked about.
func (t *turn) coreTyped(ctx context.Context, line diaryLine) (done bool, err error) {
	u := t.parsers[t.lang.Tag].Parse(line.text)
	bags := t.matching(u.Food.ID, u.Food.Alternatives)
	if q, ok := t.lastQuestion(); ok && u.Food.ID == "" {
		if b, running := t.runningBag(q.bag); running {
			return true, t.core(ctx, b, line.entry, q.atRisk)
		}
		if q.bag == 0 && len(q.cores) < mostCores {
			q.cores = append(q.cores, coreAt{line.entry.At, line.entry.Temperature})
			return true, t.answerSafe(ctx, q)
		}
	}
	switch len(bags) {
	case 0:
		if last, ok := t.entry.base(t.in); ok && (u.Food.ID == "" || u.Food.ID == last.Food) {
			q := question{request: last, in: line.entry.At, unsure: true, cores: []coreAt{{line.entry.At, line.entry.Temperature}}}
			return true, t.answerSafe(ctx, q)
		}
		return u.Food.ID == "", t.sayUnless(ctx, u.Food.ID != "", reply.SafeHow)
	case 1:
		return true, t.core(ctx, bags[0], line.entry, false)
	}
	var buttons []Button
	const most = 8
	verb := bagCore + bagVerb(minuteData(line.entry.At)+"."+strconv.Itoa(int(line.entry.Temperature*100)))
	for _, b := range bags[:min(most, len(bags))] {
		buttons = append(buttons, Button{Label: reply.Capital(t.lang.Bag(b)), Data: bagData(verb, b.ID)})
	}
	_, err = t.send(ctx, Message{Text: t.lang.Lines(reply.BagWhich, nil), Buttons: rows(buttons)})
	return true, err
}

// sayUnless says a message unless it is not for us to answer.
func (t *turn) sayUnless(ctx context.Context, other bool, id reply.ID) error {
	if other {
		return nil
	}
	return t.say(ctx, t.lang.Lines(id, nil))
}

// pressCore takes a reading whose bag was asked for.
func (t *turn) pressCore(ctx context.Context, b kitchen.Bag, data string) error {
	minute, hundredths, _ := strings.Cut(data, ".")
	at, err := minuteTime(minute)
	n, bad := strconv.Atoi(hundredths)
	if err != nil || bad != nil {
		return ErrPacked
	}
	if !b.Running() {
		return t.wasFirst(ctx, b.ID)
	}
	e := kitchen.Entry{Kind: kitchen.CoreAt, At: at, Temperature: quantity.Temperature(float64(n) / 100)}
	return t.core(ctx, b, e, false)
}

// core notes a probe reading of a bag and answers whether it is safe now.
func (t *turn) core(ctx context.Context, b kitchen.Bag, e kitchen.Entry, atRisk bool) error {
	if e.At.Before(b.Started) {
		e.At = b.Started
	}
	e.Bag, e.By = b.ID, t.whoActs()
	_, err := t.change(ctx, func(d *kitchen.Document) error {
		if err := d.AddDiary(e, t.in.At); err != nil {
			return lineTrouble(err)
		}
		_, err := t.follow(d)
		return err
	})
	if err != nil {
		return err
	}
	t.member = t.chat.Group
	if b, err = t.bagByID(b.ID); err != nil {
		return err
	}
	q := t.bagQuestion(b)
	q.atRisk = atRisk
	if err := t.answerSafe(ctx, q); err != nil {
		return err
	}
	return t.refreshCard(ctx, false)
}

package bot

import (
	"context"
	"errors"
	"slices"
	"strconv"
	"strings"
	"time"

	"bagwatch/internal/cook"
	"bagwatch/internal/kitchen"
	"bagwatch/internal/quantity"
	"bagwatch/internal/reply"
)

// tellDiary says what was written, who wrote it, and what it changed.
func (t *turn) tellDiary(ctx context.Context, own, by reply.ID, e kitchen.Entry, all []moved) error {
	id, data := own, reply.Data{"Line": t.diaryLine(e), "Who": t.lang.Who(t.whoActs())}
	if t.chat.Group {
		id = by
	}
	text := t.lang.Titled(id, data)
	steady := e.Kind == kitchen.WaterAdded && e.Litres == 0
	switch {
	case steady:
		text = append(text, t.lang.Lines(reply.DiaryTopped, nil)...)
		all = nil // nothing moves by it
	case len(all) == 0:
		text = append(text, t.lang.Lines(reply.DiaryNobag, nil)...)
	}
	spans := false
	for _, m := range all {
		lines, counted := t.movedLines(m)
		text = append(text, lines...)
		spans = spans || counted
	}
	if spans && t.zone() == nil {
		text = append(text, t.lang.Lines(reply.DiaryCounted, nil)...)
	}
	if s := t.entry.doc.Settings; len(all) > 0 && e.Kind != kitchen.BathAt && (s.Litres == 0 || s.Watts == 0) {
		text = append(text, t.lang.Lines(reply.DiaryUnset, nil)...)
	}
	undo := Button{Label: t.lang.Say(reply.ButtonDiaryundo, nil), Data: diaryData(e)}
	if _, err := t.send(ctx, Message{Text: text, Buttons: [][]Button{{undo}}}); err != nil {
		return err
	}
	return t.refreshCard(ctx, false)
}

// movedLines says what a line did to one bag, by the times that people were told: counted tells whether
// spans since it went in may stand in it.
func (t *turn) movedLines(m moved) (text reply.Text, counted bool) {
	b := m.after
	if m.before.Trouble != "" && b.Trouble == "" {
		back := t.lang.Say(reply.DiaryBack, reply.Data{"Food": reply.Capital(t.lang.Bag(b)), "State": reply.Strip(t.lang.BagState(b, t.bagOptions()))})
		return reply.Text{{{Text: back}}}, false
	}
	if m.replanned == nil {
		return t.lang.Moved(&cook.Replanned{}, t.lang.Bag(b), reply.Options{Units: t.units}), false
	}
	r := *m.replanned
	r.Changes = changes(m.before, b)
	if u := r.Unsafe; u != nil && r.Plan != nil && b.Started.Add(u.From).Before(b.Times.Ready) {
		r.Plan = nil // times after which nobody may eat it
	}
	o := reply.Options{Units: t.units}
	if zone := t.zone(); zone != nil {
		o.In = b.Started.Truncate(time.Minute).In(zone)
	}
	text = t.lang.Moved(&r, t.lang.Bag(b), o)
	if r.Plan == nil && !t.powerOut() { // what to do about it
		if j, err := t.judge(t.bagQuestion(b)); err == nil && j.verdict != nil {
			text = append(text, j.text[0], t.doing(j))
		}
	}
	return text, r.Plan != nil && len(r.Changes) > 0 || r.Unsafe != nil
}

// powerOut tells whether there is no power to heat the water with now.
func (t *turn) powerOut() bool {
	return slices.ContainsFunc(t.entry.doc.Diary, func(e kitchen.Entry) bool { return e.Kind == kitchen.PowerOut && endless(e) })
}

// doing is the line of a verdict that says what to do.
func (t *turn) doing(j judged) reply.Line { return j.text[2+j.heard] }

// changes are the printed times of a bag that moved, counted from when it went in.
func changes(before, after kitchen.Bag) []cook.Change {
	var out []cook.Change
	add := func(id cook.ChangeID, a, b time.Time) {
		if a.IsZero() == b.IsZero() && a.Sub(b).Abs() < time.Minute { // nothing that anybody would see
			return
		}
		moment := func(at time.Time) cook.Moment {
			if at.IsZero() {
				return cook.Moment{Never: true}
			}
			return cook.Moment{After: at.Sub(after.Started)}
		}
		out = append(out, cook.Change{ID: id, Before: moment(a), After: moment(b)})
	}
	add(cook.ChangeReady, before.Times.Ready, after.Times.Ready)
	add(cook.ChangePasteurised, before.Times.Pasteurised, after.Times.Pasteurised)
	add(cook.ChangeBestBefore, before.Times.BestBefore, after.Times.BestBefore)
	return out
}

// diaryLine is a line of the diary in words.
func (t *turn) diaryLine(e kitchen.Entry) string {
	var what string
	switch e.Kind {
	case kitchen.BathAt:
		what = t.lang.Say(reply.DiaryBath, reply.Data{"T": t.lang.Temperature(e.Temperature, t.units)})
	case kitchen.PowerOut:
		what = t.lang.Say(reply.DiaryPower, nil)
	case kitchen.LidOff:
		what = t.lang.Say(reply.DiaryLid, nil)
	case kitchen.ColdBags:
		what = t.lang.Say(reply.DiaryBags, reply.Data{"Count": max(1, e.Count)})
	case kitchen.WaterAdded:
		what = t.lang.Say(reply.DiaryAdded, nil)
		if e.Litres > 0 {
			what = t.lang.Say(reply.DiaryAddedby, reply.Data{"Volume": t.lang.Volume(e.Litres, t.units)})
		}
	case kitchen.CoreAt:
		bag := ""
		if b, ok := t.entry.doc.Bag(e.Bag); ok {
			bag = t.lang.Bag(b)
		}
		what = t.lang.Say(reply.DiaryCore, reply.Data{"Bag": bag, "T": t.lang.Temperature(e.Temperature, t.units)})
	}
	switch {
	case endless(e) && (t.zone() != nil || t.in.At.Sub(e.At) >= time.Minute):
		return t.lang.Say(reply.DiaryOpen, reply.Data{"What": what, "From": t.moment(e.At)})
	case !e.Until.IsZero():
		return t.lang.Say(reply.DiarySpan, reply.Data{"What": what, "From": t.moment(e.At), "To": t.moment(e.Until)})
	}
	return t.lang.Say(reply.DiaryAt, reply.Data{"What": what, "When": t.moment(e.At)})
}

// moment is a time gone by: on the chat's clock, or how long ago.
func (t *turn) moment(at time.Time) string {
	if zone := t.zone(); zone != nil {
		return t.lang.Clock(at.In(zone))
	}
	if gone := t.in.At.Sub(at); gone >= time.Minute {
		return t.lang.Say(reply.DiaryAgo, reply.Data{"Span": t.lang.Span(quantity.FloorTo(gone, time.Minute))})
	}
	return t.lang.Say(reply.DiaryNow, nil)
}

// diary lists what the water did.
func (t *turn) diary(ctx context.Context) error {
	lines := t.entry.doc.Diary
	if len(lines) == 0 {
		return t.say(ctx, t.lang.Lines(reply.DiaryEmpty, nil))
	}
	const shown = 12
	text := t.lang.Titled(reply.DiaryTitle, nil)
	for _, e := range lines[max(0, len(lines)-shown):] {
		line := t.diaryLine(e)
		if t.chat.Group {
			line = t.lang.Say(reply.DiaryLine, reply.Data{"Line": line, "Who": t.lang.Who(e.By)})
		}
		text = append(text, reply.Line{{Text: reply.Strip(line)}})
	}
	return t.say(ctx, text)
}

// diaryData is the data of the button that takes a line back. Its kind and second tell it from the others.
func diaryData(e kitchen.Entry) string {
	return string(actDiary) + strconv.Itoa(int(e.Kind)) + "." + strconv.FormatInt(e.At.Unix(), minuteBase)
}

// pressDiary takes a line of the diary back; it is for who wrote it, and for admins.
func (t *turn) pressDiary(ctx context.Context, data string) error {
	kind, second, _ := strings.Cut(data, ".")
	k, err1 := strconv.ParseUint(kind, 10, 8)
	at, err2 := strconv.ParseInt(second, minuteBase, 64)
	if err1 != nil || err2 != nil {
		return ErrPacked
	}
	by, err := t.actor(ctx)
	if err != nil {
		return err
	}
	var all []moved
	var gone kitchen.Entry
	_, err = t.change(ctx, func(d *kitchen.Document) error {
		i := slices.IndexFunc(d.Diary, func(e kitchen.Entry) bool { return e.Kind == kitchen.EntryKind(k) && e.At.Unix() == at })
		switch {
		case i < 0:
			return errNoLine
		case !by.Admin && (by.ID == 0 || d.Diary[i].By.ID != by.ID):
			return errNotWriter
		}
		gone = d.Diary[i]
		d.Diary = slices.Delete(d.Diary, i, i+1)
		var err error
		all, err = t.follow(d)
		return err
	})
	if err != nil {
		return err
	}
	if err := t.notice(ctx, ""); err != nil {
		return err
	}
	return t.tellUndone(ctx, gone, all)
}

// errNoLine reports a line of the diary that is not there any more, errNotWriter one that is not for the
// person to take back, errDiaryTime one that cannot have been then.
var (
	errNoLine    = errors.New("bot: no such line in the diary")
	errNotWriter = errors.New("bot: for who wrote the line or an admin")
	errDiaryTime = errors.New("bot: no time for a line of the diary")
)

// lineTrouble tells a time that a line cannot have from one that a bag cannot have.
func lineTrouble(err error) error {
	if errors.Is(err, kitchen.ErrTime) {
		return errDiaryTime
	}
	return err
}

func (t *turn) tellUndone(ctx context.Context, e kitchen.Entry, all []moved) error {
	id, data := reply.DiaryUndone, reply.Data{"Line": reply.Strip(t.diaryLine(e)), "Who": t.lang.Who(t.whoActs())}
	if t.chat.Group {
		id = reply.DiaryUndoneby
	}
	text := t.lang.Titled(id, data)
	for _, m := range all {
		lines, _ := t.movedLines(m)
		text = append(text, lines...)
	}
	if err := t.show(ctx, Message{Text: text}); err != nil {
		return err
	}
	return t.refreshCard(ctx, false)
}

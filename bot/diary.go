package bot

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"bagwatch/internal/cook"
	"bagwatch/internal/kitchen"
	"bagwatch/internal/quantity"
	"bagwatch/internal/reply"
)

// diaryLead is how long before a bag went in the diary still says something about its water. House rule:
// a bath has found its temperature again by then.
const diaryLead = 2 * time.Hour

// eventKinds are the model's kinds of what the diary keeps. Readings of a core are no events of the water.
var eventKinds = map[kitchen.EntryKind]cook.EventKind{
	kitchen.BathAt: cook.WaterMeasured, kitchen.PowerOut: cook.PowerOut, kitchen.LidOff: cook.LidOff,
	kitchen.ColdBags: cook.ColdBags, kitchen.WaterAdded: cook.WaterAdded,
}

// diaryOf is the bath diary as a piece that went in at a moment lived through it, and the readings of its
// own core. Readings of the water from before it went in may be of another setpoint: the bath was set to
// the piece's own when it went in, and goes there from what was read.
func diaryOf(d kitchen.Document, bag kitchen.BagID, in time.Time, r cook.Request) (cook.Diary, []cook.Reading) {
	out := cook.Diary{Litres: d.Settings.Litres, Watts: d.Settings.Watts}
	var cores []cook.Reading
	read := false
	for _, e := range d.Diary {
		at := e.At.Sub(in)
		if e.Kind == kitchen.CoreAt {
			if e.Bag == bag && bag != 0 && at >= 0 {
				cores = append(cores, cook.Reading{At: at, Core: e.Temperature})
			}
			continue
		}
		kind, known := eventKinds[e.Kind]
		open := endless(e)
		if !known || !open && max(at, e.Until.Sub(in)) < -diaryLead || e.Bag != 0 && e.Bag != bag {
			continue
		}
		if e.Kind == kitchen.WaterAdded && e.Litres == 0 {
			continue // topped up as it should be, hot and a little at a time: people are told so
		}
		if e.Kind == kitchen.BathAt && at < 0 {
			if !r.HasSetpoint {
				continue
			}
			read = true
		}
		event := cook.Event{Kind: kind, At: at, Ongoing: open, Temperature: max(0, min(e.Temperature, warmestWater)), Count: e.Count, Litres: e.Litres}
		if !e.Until.IsZero() {
			event.Until = e.Until.Sub(in)
		}
		out.Events = append(out.Events, event)
	}
	if read {
		set := cook.Event{Kind: cook.WaterSet, Temperature: r.Setpoint}
		i := slices.IndexFunc(out.Events, func(e cook.Event) bool { return e.At >= 0 })
		if i < 0 {
			i = len(out.Events)
		}
		out.Events = slices.Insert(out.Events, i, set)
	}
	return out, cores
}

// warmestWater is the warmest that the model takes water to be.
const warmestWater quantity.Temperature = 100

// endless tells whether a diary line says something that still goes on.
func endless(e kitchen.Entry) bool {
	return e.Until.IsZero() && (e.Kind == kitchen.PowerOut || e.Kind == kitchen.LidOff)
}

// moved is what the bath diary did to a bag.
type moved struct {
	before, after kitchen.Bag
	replanned     *cook.Replanned // nil when nothing could be computed
}

// follow plans every bag in the bath again by what the water did, and lays the new times under it, so that
// its news moves along. What a rule refuses is doubtful from the moment the rule says.
func (t *turn) follow(d *kitchen.Document) ([]moved, error) {
	var all []moved
	for _, b := range d.Running() {
		m := moved{before: b}
		diary, cores := diaryOf(*d, b.ID, b.Started, b.Request)
		r, err := t.model.Replan(b.Request, diary)
		var refusal *cook.Refusal
		switch {
		case errors.As(err, &refusal):
			_, err = d.Doubt(b.ID, refusal.Rule, t.in.At)
		case err != nil:
			return nil, fmt.Errorf("replan: %w", err)
		default:
			m.replanned = r
			err = t.retime(d, b, r, cores)
		}
		if err != nil {
			return nil, fmt.Errorf("replan: %w", err)
		}
		m.after, _ = d.Bag(b.ID)
		all = append(all, m)
	}
	return all, nil
}

// retime lays a new plan's times under a bag.
func (t *turn) retime(d *kitchen.Document, b kitchen.Bag, r *cook.Replanned, cores []cook.Reading) error {
	if r.Plan != nil {
		if b.Trouble != "" { // what was doubtful is not any more
			if _, err := d.Replan(b.ID, r.Plan, kitchen.Actor{Admin: true}, t.in.At); err != nil {
				return err
			}
		}
		planned, err := kitchen.NewBag(r.Plan, b.Started, b.Starter, b.Name)
		if err != nil {
			return err
		}
		times, err := t.byProbe(*d, b, planned.Times, cores)
		if err != nil {
			return err
		}
		if _, err := d.SetTimes(b.ID, times, t.in.At); err != nil {
			return err
		}
	}
	switch {
	case r.Unsafe != nil:
		from := b.Started.Add(r.Unsafe.From)
		if r.Plan == nil { // it will not be ready before that
			if err := wait(d, b, latest(from, t.in.At), t.in.At); err != nil {
				return err
			}
		}
		_, err := d.Doubt(b.ID, r.Unsafe.Rule, from)
		return err
	case r.Refusal != nil: // it will not get there, which is told at the latest when it was to be ready
		_, err := d.Doubt(b.ID, r.Refusal.Rule, latest(b.Times.Ready, t.in.At))
		return err
	}
	return nil
}

// wait lays times under a bag by which nothing is told of it before a moment.
func wait(d *kitchen.Document, b kitchen.Bag, until, now time.Time) error {
	_, err := d.SetTimes(b.ID, kitchen.Times{
		Early: until, Ready: until, LastCall: until.Add(time.Second), BestBefore: until.Add(time.Second), Limit: until.Add(time.Second), Serve: b.Times.Serve,
	}, now)
	return err
}

// byProbe moves times back by a core that was found cooler than computed; a warmer one moves nothing.
func (t *turn) byProbe(d kitchen.Document, b kitchen.Bag, times kitchen.Times, cores []cook.Reading) (kitchen.Times, error) {
	if len(cores) == 0 {
		return times, nil
	}
	h := cook.Happened{Request: b.Request, Elapsed: max(0, t.in.At.Sub(b.Started))}
	h.Diary, h.Readings = diaryOf(d, b.ID, b.Started, b.Request)
	h.Readings = slices.DeleteFunc(h.Readings, func(r cook.Reading) bool { return r.At > h.Elapsed })
	v, err := t.model.Verdict(h)
	if err != nil {
		return times, err
	}
	switch {
	case v.Pasteurised.Never:
		times.Pasteurised = time.Time{}
	case times.Pasteurised.IsZero():
	default:
		times.Pasteurised = latest(times.Pasteurised, b.Started.Add(cook.Later(v.Pasteurised.After, true)))
	}
	if times.Serve == cook.ServePasteurised && !times.Pasteurised.IsZero() {
		times.Ready = latest(times.Ready, times.Pasteurised)
		times.LastCall = latest(times.LastCall, times.Ready)
		times.BestBefore = latest(times.BestBefore, times.LastCall)
		times.Limit = latest(times.Limit, times.BestBefore)
	}
	return times, nil
}

func latest(a, b time.Time) time.Time {
	if a.Before(b) {
		return b
	}
	return a
}

// diaryWords takes words about the water, or about a core, into the bath diary. It reports false for
// everything else.
func (t *turn) diaryWords(ctx context.Context, text string) (done bool, err error) {
	line, ok := t.readDiary(text)
	if !ok {
		return false, nil
	}
	if line.entry.Kind == kitchen.BathAt && !line.list && !line.timed && len(t.entry.doc.Running()) == 0 {
		return false, nil // "water 57" changes a plan then
	}
	if line.needs {
		return true, t.askZoneFor(ctx)
	}
	switch {
	case line.list:
		return true, t.diary(ctx)
	case line.entry.Kind == kitchen.CoreAt:
		return t.coreTyped(ctx, line)
	case line.ends:
		return true, t.endDiary(ctx, line.entry)
	}
	return true, t.write(ctx, line.entry)
}

// write writes a line into the diary and says what it changed.
func (t *turn) write(ctx context.Context, e kitchen.Entry) error {
	e.By = t.whoActs()
	var all []moved
	_, err := t.change(ctx, func(d *kitchen.Document) error {
		if err := d.AddDiary(e, t.in.At); err != nil {
			return lineTrouble(err)
		}
		var err error
		all, err = t.follow(d)
		return err
	})
	if err != nil {
		return err
	}
	t.member = t.chat.Group
	return t.tellDiary(ctx, reply.DiaryNoted, reply.DiaryNotedby, e, all)
}

// endDiary notes that the power is back or the lid on.
func (t *turn) endDiary(ctx context.Context, e kitchen.Entry) error {
	var all []moved
	_, err := t.change(ctx, func(d *kitchen.Document) error {
		if err := d.EndDiary(e.Kind, e.At, t.in.At); err != nil {
			return lineTrouble(err)
		}
		for i := len(d.Diary) - 1; i >= 0; i-- {
			if d.Diary[i].Kind == e.Kind {
				e = d.Diary[i]
				break
			}
		}
		var err error
		all, err = t.follow(d)
		return err
	})
	if errors.Is(err, kitchen.ErrNone) {
		return t.say(ctx, t.lang.Lines(reply.DiaryNothing, nil))
	}
	if err != nil {
		return err
	}
	t.member = t.chat.Group
	return t.tellDiary(ctx, reply.DiaryEnded, reply.DiaryEndedby, e, all)
}

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

// newcomers plans bags that were just started by what the diary says of their water.
func (t *turn) newcomers(d *kitchen.Document, started []kitchen.Bag) error {
	if len(d.Diary) == 0 {
		return nil
	}
	if _, err := t.follow(d); err != nil {
		return err
	}
	for i := range started {
		if b, ok := d.Bag(started[i].ID); ok {
			started[i] = b
		}
	}
	return nil
}

// refollow lays the bath diary under the bags again after the settings changed: planning again without it
// would take them as if the water had been steady, and its litres and watts change what it did.
func (t *turn) refollow(d *kitchen.Document, before kitchen.Settings) error {
	now := d.Settings
	same := now.StillPot == before.StillPot && now.Altitude == before.Altitude && now.ThermometerError == before.ThermometerError &&
		now.Litres == before.Litres && now.Watts == before.Watts
	if same || len(d.Diary) == 0 {
		return nil
	}
	t.replanned = nil
	all, err := t.follow(d)
	for _, m := range all {
		if c := (kitchen.Change{Before: m.before, After: m.after}); c.Moved() != 0 || m.before.Trouble != m.after.Trouble {
			t.replanned = append(t.replanned, c)
		}
	}
	return err
}

package bot

import (
	"context"
	"errors"
	"fmt"
	"slices"
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

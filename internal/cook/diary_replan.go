package cook

import (
	"errors"
	"time"

	"bagwatch/internal/quantity"
)

// The notes on how a diary was read.
const (
	AssumeWaterWorst   NoteID = "water-worst"   // litres or watts unknown: the worst case was taken
	AssumeWaterBalance NoteID = "water-balance" // by heat balance; Temperature: the coolest the water got
	AssumeWaterLow     NoteID = "water-low"     // Temperature: a reading below what was expected counts back to when the water was last known
	AssumeWaterHigh    NoteID = "water-high"    // Temperature: a reading above the setpoint is not credited
)

// ChangeID names a time of a plan that a diary moved.
type ChangeID string

// The times that can move.
const (
	ChangeReady       ChangeID = "ready"
	ChangePasteurised ChangeID = "pasteurised"
	ChangeLastCall    ChangeID = "last-call"
	ChangeBestBefore  ChangeID = "best-before"
)

// Change is one time of a plan that is not what it was.
type Change struct {
	ID            ChangeID
	Before, After Moment // after immersion
}

// Unsafe says from when a bag may no longer be eaten, counted from immersion, and by which rule.
type Unsafe struct {
	Rule RuleID
	From time.Duration
	Note Note // the rule's figures: Span spent, Allowed, Source
}

// Replanned is a bag's plan under a bath diary.
type Replanned struct {
	// Plan is the plan now; nil when a rule refuses it, see Refusal.
	Plan    *Plan
	Refusal *Refusal
	// Before is the plan in a steady bath; nil when that was refused already.
	Before *Plan
	// Unsafe is set when the diary makes the food unsafe, now or at a time to come.
	Unsafe  *Unsafe
	Changes []Change
	Assumed []Note
	// Coolest is the coolest the water was taken to be since immersion, by the careful estimate.
	Coolest quantity.Temperature
}

// Replan plans a bag again under a bath diary, whose times count from the bag's immersion. The error is a
// *Refusal only when nothing could be computed of the request; a plan that a rule refuses because of what
// the water did comes back with Plan nil, and Unsafe says from when it must not be eaten. Fails with
// [ErrDiary] for a diary that cannot be.
func (m *Model) Replan(r Request, d Diary) (*Replanned, error) {
	out := &Replanned{}
	if before, err := m.plan(r); err == nil {
		out.Before = before
	}
	c, err := m.course(r, d, 0)
	if err != nil {
		return nil, err
	}
	if c.water == nil {
		out.Coolest = c.plan.Setpoint
		out.Plan, err = m.plan(r)
		if err != nil && !errors.As(err, &out.Refusal) {
			return nil, err
		}
		return out, nil
	}
	out.Assumed, out.Coolest = c.water.notes(d)
	refusal, err := c.finish()
	if err != nil {
		return nil, err
	}
	out.Refusal = refusal
	if out.Refusal == nil {
		out.Plan = c.plan
	}
	if !c.plan.cool() {
		if from, pr, found := c.growth.unsafeFrom(Horizon, c.plan.Pasteurised); found {
			out.Unsafe = &Unsafe{Rule: pr.rule, From: from, Note: pr.note}
		}
	}
	out.changes()
	return out, nil
}

// finish takes a course through the rest of the planning; the refusal is what a rule has against it.
func (c *course) finish() (*Refusal, error) {
	err := error(nil)
	if c.refused != nil {
		return c.refused, nil
	}
	if err = c.plan.window(); err == nil {
		if refusal := c.plan.judge(); refusal != nil {
			return refusal, nil
		}
		c.plan.advise()
		return nil, nil
	}
	var refusal *Refusal
	if errors.As(err, &refusal) {
		return refusal, nil
	}
	return nil, err
}

func (r *Replanned) changes() {
	if r.Before == nil || r.Plan == nil {
		return
	}
	add := func(id ChangeID, before, after Moment) {
		if before != after {
			r.Changes = append(r.Changes, Change{id, before, after})
		}
	}
	a, b := r.Before, r.Plan
	add(ChangeReady, Moment{After: max(a.Ready, a.ReadyLate)}, Moment{After: max(b.Ready, b.ReadyLate)})
	add(ChangePasteurised, a.Pasteurised, b.Pasteurised)
	add(ChangeLastCall, Moment{After: a.LastCall}, Moment{After: b.LastCall})
	add(ChangeBestBefore, Moment{After: a.BestBefore}, Moment{After: b.BestBefore})
}

// notes says how the diary was read, and the coolest the water was since immersion.
func (w *water) notes(d Diary) (notes []Note, coolest quantity.Temperature) {
	p := w.carefulPool
	coolest = p.out[len(p.out)-1].at
	for i, s := range p.out {
		if i+1 < len(p.out) && p.out[i+1].from <= 0 {
			continue // over before the piece went in
		}
		coolest = min(coolest, s.at, s.end)
	}
	modelled := false
	for _, e := range d.Events {
		switch {
		case e.Kind == WaterMeasured && e.Temperature > p.highest+offBy:
			notes = append(notes, Note{ID: AssumeWaterHigh, Temperature: e.Temperature})
		case e.Kind == WaterMeasured && e.At > 0 && e.Temperature < p.set-offBy:
			notes = append(notes, Note{ID: AssumeWaterLow, Temperature: e.Temperature})
		case e.Kind != WaterMeasured:
			modelled = true
		}
	}
	switch {
	case modelled && d.balanced():
		notes = append(notes, Note{ID: AssumeWaterBalance, Temperature: coolest})
	case modelled:
		notes = append(notes, Note{ID: AssumeWaterWorst, Temperature: coolest})
	}
	return notes, coolest
}

// course is what a piece went through: its plan with both curves, before any window or rule.
type course struct {
	plan   *Plan
	water  *water
	curve  Curve // the careful one, corrected by readings
	growth growth
	// refused is why the piece gets no plan at this setpoint, though its course is known.
	refused *Refusal
	piece   piece
}

// course follows a request through a diary. The error is a *Refusal when the request cannot be followed
// at all: an unknown food, an impossible amount, a start warmer than the water.
func (m *Model) course(r Request, d Diary, delay time.Duration) (*course, error) {
	pc, refusal := m.resolve(r)
	if refusal != nil {
		return nil, refusal
	}
	c := &course{plan: pc.plan(r), piece: pc}
	if err := m.choose(c.plan); err != nil {
		if !errors.As(err, &refusal) || refusal.Rule == RefuseBoiling || refusal.Rule == RefuseStart {
			return nil, err
		}
		c.refused = refusal
	}
	w, err := d.water(c.plan)
	if err != nil {
		return nil, err
	}
	c.water = w
	if w != nil {
		c.plan.raised = w.carefulPool.highest
	}
	if err := c.plan.estimate(&c.piece, w); err != nil {
		if !errors.As(err, &refusal) {
			return nil, err
		}
		if c.refused == nil {
			c.refused = refusal
		}
		c.plan.CoreReached, c.plan.lateCore = Horizon, Moment{Never: true}
	}
	if err := c.plan.kill(); err != nil {
		return nil, err
	}
	c.curve = c.plan.CarefulCurve
	c.growth, err = newGrowth(c.plan, w, c.curve, delay)
	return c, err
}

package cook

import (
	"errors"
	"math"
	"slices"
	"time"

	"bagwatch/internal/food"
	"bagwatch/internal/heat"
	"bagwatch/internal/lethality"
	"bagwatch/internal/quantity"
)

// inquiry is what is known when a verdict is given: the course of a piece that went in as late as it can
// have, which kills the least, and of one that went in as early, which has had the most time to spoil.
type inquiry struct {
	model       *Model
	h           Happened
	now         *course
	longest     *course
	most        time.Duration // since the earliest immersion
	pasteurised Moment        // in the water, on the course of now
	kills       []KillNow
	refusal     *Refusal // what forbids the plan as it is, if anything does
	notes       []Note   // of the readings
}

func (m *Model) inquire(h Happened) (*inquiry, error) {
	j := &inquiry{model: m, h: h, most: max(h.Elapsed, h.ElapsedMost)}
	if h.ElapsedUnknown {
		j.most = Horizon
	}
	var err error
	if j.now, j.notes, err = m.lived(h, h.Diary, 0); err != nil {
		return nil, err
	}
	if j.refusal, err = j.now.finish(); err != nil {
		return nil, err
	}
	j.longest = j.now
	if shift := j.most - h.Elapsed; shift > 0 {
		if j.longest, _, err = m.lived(h, h.Diary, shift); err != nil {
			return nil, err
		}
	}
	in := min(h.Elapsed, h.out())
	for _, k := range j.now.plan.Kills {
		now := KillNow{Rule: k.Rule, Log: k.Rule.Log(j.now.curve, in), Reached: k.Reached}
		if !j.now.plan.claims(k.Rule) {
			now.Log = 0
		}
		if h.Pulled && !k.Reached.By(h.PulledAt) {
			now.Reached = Moment{Never: true}
		}
		j.kills = append(j.kills, now)
		j.pasteurised.Never = j.pasteurised.Never || now.Reached.Never
		j.pasteurised.After = max(j.pasteurised.After, now.Reached.After)
	}
	if j.pasteurised.Never {
		j.pasteurised.After = 0
	}
	return j, nil
}

// lived follows what happened through a diary, for a piece that went in earlier by shift.
func (m *Model) lived(h Happened, d Diary, shift time.Duration) (*course, []Note, error) {
	c, err := m.course(h.Request, d.shift(shift), h.Delay)
	if err != nil {
		return nil, nil, err
	}
	var readings []Reading
	var unused []Note
	for _, r := range h.Readings {
		if r.At > h.out() { // the model follows the water, not the air
			unused = append(unused, Note{ID: ReadingIgnored, Temperature: r.Core})
			continue
		}
		r.At += shift
		readings = append(readings, r)
	}
	notes, err := c.correct(readings)
	notes = append(notes, unused...)
	if h.Pulled {
		c.growth.pulled = h.PulledAt + shift
	}
	return c, notes, err
}

// needed is the moment that serving must wait for on a course, and whether there is one.
func (j *inquiry) needed(c *course, pasteurised Moment, kills []Moment) (Moment, bool) {
	p := *c.plan
	p.Pasteurised = pasteurised
	p.Kills = slices.Clone(p.Kills)
	for i := range p.Kills {
		p.Kills[i].Reached = kills[i]
	}
	return p.required()
}

func reached(kills []KillNow) []Moment {
	out := make([]Moment, len(kills))
	for i, k := range kills {
		out[i] = k.Reached
	}
	return out
}

// ready is when the piece is warm through, or soft enough: what the ready alert goes by.
func (j *inquiry) ready() Moment {
	p := j.now.plan
	at := Moment{After: max(p.Ready, p.ReadyLate)}
	if p.Ready == 0 { // no window could be given
		at = Moment{After: p.CoreReached, Never: p.CoreReached >= Horizon}
		if p.Guessed && !at.Never {
			at = p.lateCore
		}
	}
	if j.slow() { // no alert was promised then, so it waits for the careful core
		at.Never = at.Never || p.CoreCareful.Never
		at.After = max(at.After, p.CoreCareful.After)
	}
	for _, r := range j.h.Readings {
		if r.At > j.h.out() {
			continue
		}
		if r.sure() >= p.Setpoint-likelyClose {
			if at.Never || r.At < at.After {
				at = Moment{After: r.At}
			}
			continue
		}
		if high := 2*r.Core - r.sure(); high < p.Setpoint-likelyClose && at.By(r.At) { // surely not there
			at = reach(j.now.curve, p.Careful.Bath-carefulClose)
			if at.By(r.At) {
				at = Moment{Never: true}
			}
		}
	}
	return at
}

// sooner is the moment that comes first.
func sooner(a, b Moment) Moment {
	if a.Never || !b.Never && b.After < a.After {
		return b
	}
	return a
}

// slow reports whether the plan is refused because the piece warms too slowly.
func (j *inquiry) slow() bool {
	return j.refusal != nil && (j.refusal.Rule == RefuseSlowCore || j.refusal.Rule == RefuseLongCool || j.refusal.Rule == RefuseComeUp)
}

// mustKill reports whether the plan was refused because it would be served without being pasteurised where
// it may not: cooler than anything it is served at, or warm for so long that it must be.
func (j *inquiry) mustKill() bool {
	if j.refusal == nil {
		return false
	}
	switch j.refusal.Rule {
	case RefuseTooCool, RefuseCured, RefuseNoFloor, RefuseUnpasteurised, RefuseAtRiskShort:
		return true
	}
	return false
}

// decide gives the answer.
func (j *inquiry) decide(v *Verdict) error {
	p, h := j.now.plan, j.h
	in := min(h.Elapsed, h.out())
	shift := j.most - h.Elapsed
	then := j.pasteurised
	if !then.Never {
		then.After += shift
	}
	if pr, wrong := j.longest.growth.problem(j.most, then); wrong {
		v.Answer, v.Reason, v.Note, v.Do = No, pr.reason, pr.note, DoDiscard
		if h.ElapsedUnknown && p.cool() {
			v.Reason = ReasonNoClock
		}
		return nil
	}
	if from, _, found := j.longest.growth.unsafeFrom(min(2*Horizon, j.most+Horizon), then); found {
		v.Until = Moment{After: max(0, from-shift)}
	}
	ready := j.ready()
	if p.Safety == food.Plant {
		v.Answer, v.Reason, v.Do = Yes, ReasonPlant, DoServe
		if !ready.By(in) {
			v.Answer, v.Reason, v.Do, v.At = NotYet, ReasonFirm, DoWait, ready
		}
		return nil
	}
	need, waits := j.needed(j.now, j.pasteurised, reached(j.kills))
	if j.mustKill() {
		need, waits = j.pasteurised, true
	}
	switch {
	case j.pasteurised.By(in) && !j.warmEnough(j.now, in):
		v.Reason = ReasonAtRisk
	case j.pasteurised.By(in):
		v.Answer, v.Reason, v.Do = Yes, ReasonPasteurised, DoServe
		v.NotTender = p.Food.Texture == food.TextureTough && !ready.By(in)
		if lethality.Sag(v.Sagged) == lethality.EatNow {
			v.Do = DoEatNow
			v.Cautions = append(v.Cautions, Note{ID: CautionEatQuick, Span: v.Sagged, Source: sourceSag})
		}
		return nil
	case waits && need.By(in):
		v.Answer, v.Reason, v.Do = Yes, ReasonSoftEgg, DoEatNow
		return nil
	case !waits && ready.By(in):
		v.Answer, v.Reason, v.Do = Yes, ReasonLightly, DoEatNow
		if p.Safety == food.IntactRedMeat {
			v.Reason = ReasonRare
		}
		return nil
	case waits && h.Request.Cured:
		v.Answer, v.Reason, v.Do, v.Helps = No, ReasonNoClaim, DoThermometer, true
		return nil
	case h.Pulled:
		v.Reason = ReasonTakenOut
	case waits && need.Never:
		v.Reason = ReasonTooCool
		if h.Request.AtRisk && p.Setpoint < atRiskFloor(p.Food) {
			v.Reason = ReasonAtRisk
		}
	case waits && !j.warmEnough(j.now, need.After):
		v.Reason = ReasonAtRisk
	default:
		v.Answer, v.Reason, v.Do, v.At = NotYet, ReasonLog, DoWait, need
		if !waits {
			v.Reason, v.At = ReasonCold, sooner(ready, j.pasteurised)
		}
		if !v.At.Never && (v.Until.Never || v.At.After < v.Until.After) {
			return nil
		}
		v.Reason = ReasonColdClock
	}
	return j.rescue(v)
}

// warmEnough reports whether water for guests at higher risk has been warm enough for them by t.
func (j *inquiry) warmEnough(c *course, t time.Duration) bool {
	floor := atRiskFloor(c.plan.Food)
	if !j.h.Request.AtRisk || c.plan.Setpoint >= floor {
		return true
	}
	if c.plan.raised < floor {
		return false
	}
	return reach(c.curve, floor-j.h.Request.margin()-carefulClose).By(t)
}

// Warmer water that is tried for a piece that does not get there as things are. House rules.
const (
	rescueStep                         = 3
	rescueTries                        = 8
	rescueHottest quantity.Temperature = 85
)

// rescue looks for water that makes a yes of it before it spoils; without any it is a no.
func (j *inquiry) rescue(v *Verdict) error {
	p, r := j.now.plan, j.h.Request
	first := max(p.Food.DefaultStep().Default, p.Setpoint+nearestStep)
	if v.Reason == ReasonTakenOut {
		first = p.Setpoint
	}
	if _, waits := p.required(); waits {
		first = max(first, lethality.ClaimFloor(lethality.Class(p.Safety)))
	}
	if v.Reason == ReasonColdClock || p.cool() {
		first = max(first, lethality.GrowthHigh)
	}
	if r.AtRisk {
		first = max(first, atRiskFloor(p.Food))
	}
	first = quantity.Temperature(math.Ceil(float64(first)/nearestStep) * nearestStep)
	for i := range rescueTries {
		t := first + quantity.Temperature(i*rescueStep)
		if t > rescueHottest || t >= heat.BoilingPoint(r.Altitude) {
			break
		}
		at, ok, err := j.try(t)
		if err != nil {
			return err
		}
		if ok {
			v.Answer, v.Do, v.At, v.Setpoint = NotYet, DoRaise, at, t
			if j.h.Pulled {
				v.Do = DoBackIn
			}
			return nil
		}
	}
	v.Answer, v.Reason, v.Do, v.At = No, ReasonTooLate, DoDiscard, Moment{Never: true}
	return nil
}

// try sees whether the piece gets there if from now on the water is set to t, or it goes back into such
// water, and when.
func (j *inquiry) try(t quantity.Temperature) (Moment, bool, error) {
	h := j.h
	d := h.Diary.restored(h.Elapsed).and(Event{Kind: WaterSet, At: h.Elapsed, Temperature: t})
	if h.Pulled {
		d = h.Diary.restored(h.Elapsed).and(
			Event{Kind: waterMoved, At: h.PulledAt, Temperature: h.Diary.room()},
			Event{Kind: waterMoved, At: h.Elapsed, Temperature: t})
		h.Pulled = false
	}
	c, _, err := j.model.lived(h, d, 0)
	var refusal *Refusal
	if errors.As(err, &refusal) {
		return Moment{}, false, nil
	}
	if err != nil {
		return Moment{}, false, err
	}
	at, waits := c.plan.required()
	if !waits {
		at = c.plan.Pasteurised
		at = sooner(reach(c.curve, c.plan.Careful.Bath-carefulClose), at)
	}
	if at.Never || at.After > Horizon {
		return at, false, nil
	}
	if h.Request.AtRisk && c.plan.Setpoint < atRiskFloor(c.plan.Food) {
		hot := reach(c.curve, atRiskFloor(c.plan.Food)-h.Request.margin()-carefulClose)
		if hot.Never {
			return at, false, nil
		}
		at.After = max(at.After, hot.After)
	}
	at.After = max(at.After, h.Elapsed)
	longest, shift := c, j.most-h.Elapsed
	if shift > 0 {
		if longest, _, err = j.model.lived(h, d, shift); err != nil {
			return Moment{}, false, err
		}
	}
	_, wrong := longest.growth.problem(at.After+shift, Moment{After: at.After + shift})
	return at, !wrong, nil
}

// caution adds what is said with the answer.
func (j *inquiry) caution(v *Verdict) {
	p := *j.now.plan
	p.Cautions = nil
	if v.Answer == Yes {
		if v.Reason == ReasonRare && p.Food.Tenderisable && !p.Request.NonIntact {
			p.caution(Note{ID: CautionTenderised, Source: "FDA Food Code 3-401.11(A)(2)"})
		}
		if p.Food.ParasiteFreezing && !lethality.ParasitesCooked(j.now.curve, min(j.h.Elapsed, j.h.out())) {
			p.caution(Note{ID: CautionParasites, Source: "FDA Food Code 3-402.11; EFSA 2010"})
		}
		if p.Food.Histamine {
			p.caution(Note{ID: CautionHistamine, Source: "FDA Fish and Fishery Products Hazards and Controls Guidance, scombrotoxin"})
		}
		if p.Request.Cured {
			p.caution(Note{ID: CautionNoClaim, Source: "Palumbo et al. 1995 J Food Prot 58:960"})
		}
		if p.Safety == food.IntactRedMeat && !p.cool() {
			if _, core := j.longest.growth.heating(j.most); core > lethality.ComeUpLimit {
				p.caution(Note{ID: CautionComeUp, Span: core, Source: sourceComeUp})
			}
		}
	}
	if p.Safety != food.Plant {
		p.nationals()
	}
	v.Cautions = append(v.Cautions, p.Cautions...)
}

// unknowns lists what was taken on the safe side.
func (j *inquiry) unknowns() []Note {
	var out []Note
	p := j.now.plan
	if j.h.ElapsedUnknown || j.most > j.h.Elapsed {
		out = append(out, Note{ID: UnknownStart, Span: j.h.Elapsed})
	}
	for _, n := range p.Assumptions {
		switch n.ID {
		case AssumeThicknessMass, AssumeThicknessUsual, AssumeThicknessAbout, AssumeFridge, AssumeWarmSpent, AssumeDoneness:
			out = append(out, n)
		}
	}
	if j.h.Diary.Empty() {
		out = append(out, Note{ID: UnknownBath, Temperature: p.Setpoint})
	}
	if j.now.water != nil {
		notes, _ := j.now.water.notes(j.h.Diary)
		out = append(out, notes...)
	}
	if j.h.Delay == 0 {
		out = append(out, Note{ID: UnknownDelay})
	}
	return append(out, j.notes...)
}

package cook

import (
	"errors"
	"fmt"
	"time"

	"bagwatch/internal/lethality"
	"bagwatch/internal/quantity"
)

// ErrHappened reports a history that cannot be: a negative or endless time, a reading from the future, a
// piece taken out before it went in.
var ErrHappened = errors.New("cook: impossible history")

// Reading is a core temperature by a probe.
type Reading struct {
	At   time.Duration // after immersion
	Core quantity.Temperature
	// Error is how far the probe may be off; 0 means 0.5 K.
	Error quantity.Difference
}

// Happened is a request and what became of it. All times count from immersion.
type Happened struct {
	Request Request
	// Elapsed is how long ago it went in, at the least.
	Elapsed time.Duration
	// ElapsedMost is how long ago at the most; 0 means the same.
	ElapsedMost time.Duration
	// ElapsedUnknown says that nobody knows how long at the most.
	ElapsedUnknown bool
	// Diary is the bath's, its times counted as if the piece had gone in Elapsed ago.
	Diary Diary
	// Delay is how long it was out of the cold before it went in.
	Delay time.Duration
	// Readings of its core, in any order.
	Readings []Reading
	// Pulled says that it left the water at PulledAt and was not chilled since.
	Pulled   bool
	PulledAt time.Duration
}

// Answer is the first word of a verdict.
type Answer string

// The answers.
const (
	Yes    Answer = "yes"
	NotYet Answer = "not-yet"
	No     Answer = "no"
)

// ReasonID names why.
type ReasonID string

// The reasons.
const (
	// Yes.
	ReasonPasteurised ReasonID = "pasteurised"
	ReasonRare        ReasonID = "rare"     // not pasteurised: intact meat eaten rare
	ReasonLightly     ReasonID = "lightly"  // not pasteurised: fish, shellfish, duck
	ReasonSoftEgg     ReasonID = "soft-egg" // Salmonella rule reached, Listeria not
	ReasonPlant       ReasonID = "plant"
	// Not yet.
	ReasonLog       ReasonID = "log"        // Kill says which rule is short
	ReasonCold      ReasonID = "cold"       // not warm through
	ReasonFirm      ReasonID = "firm"       // vegetables
	ReasonTooCool   ReasonID = "too-cool"   // this water never gets there: raise it
	ReasonAtRisk    ReasonID = "at-risk"    // higher-risk guests need warmer water
	ReasonTakenOut  ReasonID = "taken-out"  // it left the water too early
	ReasonColdClock ReasonID = "cold-clock" // warm through only when the clock is over: raise the water
	// No.
	ReasonClock     ReasonID = "clock"      // too long in water below 54.4 °C
	ReasonSag       ReasonID = "sag"        // too long below 54.4 °C before it was pasteurised
	ReasonSagCooked ReasonID = "sag-cooked" // too long below 54.4 °C altogether
	ReasonComeUp    ReasonID = "come-up"    // too slow through the growth zone
	ReasonDelay     ReasonID = "delay"      // too long out of the cold before
	ReasonNoClock   ReasonID = "no-clock"   // nobody knows when it went into water below 54.4 °C
	ReasonNoClaim   ReasonID = "no-claim"   // cured: nothing can be said
	ReasonTooLate   ReasonID = "too-late"   // it cannot be pasteurised before its time is over
)

// DoID names what to do.
type DoID string

// What to do.
const (
	DoServe       DoID = "serve"       // serve, keep hot, or chill, until Until
	DoEatNow      DoID = "eat-now"     // until Until
	DoWait        DoID = "wait"        // until At
	DoRaise       DoID = "raise"       // raise the water to Setpoint, then until At
	DoBackIn      DoID = "back-in"     // back into the water, then until At
	DoDiscard     DoID = "discard"     //
	DoOthers      DoID = "others"      // not for guests at higher risk; the others may eat it, see Verdict.Others
	DoThermometer DoID = "thermometer" // cook it to the country's core temperature
)

// KillNow is one published rule now.
type KillNow struct {
	Rule    lethality.Rule
	Log     float64 // log10 reductions that may be credited
	Reached Moment  // after immersion, if the water stays as it is
}

// Verdict answers "is this safe to serve?".
type Verdict struct {
	Happened Happened
	Plan     *Plan // what it went through; its window is set only when Planned
	Planned  bool

	Answer Answer
	Reason ReasonID
	// Note holds the figures of a reason that is a limit: Span spent, Allowed, Temperature, Source.
	Note Note
	Do   DoID

	Now   time.Duration        // after immersion, at the least
	Core  quantity.Temperature // by the careful estimate; when it was pulled, at that moment
	Kills []KillNow
	// Short is the rule that is furthest from its target; nil when all are reached.
	Short       *KillNow
	Pasteurised Moment

	// At is when a NotYet becomes a yes, after immersion, if Do is done now.
	At Moment
	// Until is how long a yes holds, after immersion; Never when nothing bounds it within Horizon.
	Until Moment
	// BestUntil is the end of the window, for quality; zero when unknown.
	BestUntil time.Duration
	// Setpoint is what to set the water to.
	Setpoint quantity.Temperature

	// Sagged is how long it has been below 54.4 °C other than on its way up.
	Sagged time.Duration
	// Helps says whether cooking further helps after a no.
	Helps bool
	// NotTender says that a tough cut is safe and not yet done.
	NotTender bool
	// Others is the answer for guests who are not at higher risk, when it is another; empty otherwise.
	Others       Answer
	OthersReason ReasonID
	OthersUntil  Moment

	Unknowns []Note // what was not known and taken on the safe side
	Cautions []Note
}

// Notes of a verdict.
const (
	UnknownStart    NoteID = "entry-unknown"  // when it went in
	UnknownBath     NoteID = "bath-assumed"   // Temperature: no reading, the bath is taken to have held it
	UnknownDelay    NoteID = "delay-unknown"  // taken straight from the cold
	ReadingLow      NoteID = "reading-low"    // Temperature: cooler than the model, which was corrected
	ReadingHigh     NoteID = "reading-high"   // Temperature: warmer than the model: counts from the reading on
	ReadingIgnored  NoteID = "reading-unused" // warmer than the model, in water that fell: not credited
	CautionEatQuick NoteID = "eat-quick"      // Span: below 54.4 °C for so long, over 2 h: do not keep it
)

// Limits of a history.
const (
	mostReadings                      = 64
	probeError   quantity.Difference  = 0.5
	mostError    quantity.Difference  = 10
	coldestCore  quantity.Temperature = -40
	warmestCore  quantity.Temperature = 100
)

func (h Happened) check() error {
	most := max(h.Elapsed, h.ElapsedMost)
	switch {
	case h.Elapsed < 0, most > Horizon, h.ElapsedMost != 0 && h.ElapsedMost < h.Elapsed:
		return fmt.Errorf("%w: in for %v to %v", ErrHappened, h.Elapsed, h.ElapsedMost)
	case h.Delay < 0 || h.Delay > Horizon:
		return fmt.Errorf("%w: out of the cold for %v", ErrHappened, h.Delay)
	case h.Pulled && (h.PulledAt < 0 || h.PulledAt > h.Elapsed):
		return fmt.Errorf("%w: out after %v of %v", ErrHappened, h.PulledAt, h.Elapsed)
	case len(h.Readings) > mostReadings:
		return fmt.Errorf("%w: %d readings", ErrHappened, len(h.Readings))
	}
	for _, r := range h.Readings {
		if r.At < 0 || r.At > h.Elapsed || !(r.Core >= coldestCore && r.Core <= warmestCore) || !(r.Error >= 0 && r.Error <= mostError) {
			return fmt.Errorf("%w: core %g °C within %g K at %v of %v", ErrHappened, float64(r.Core), float64(r.Error), r.At, h.Elapsed)
		}
	}
	return nil
}

// out is when it left the water, if it did.
func (h Happened) out() time.Duration {
	if h.Pulled {
		return h.PulledAt
	}
	return longestSpan
}

// Verdict judges a piece by what happened to it: lethality on the careful history at the slowest-heating
// point and for the shortest time it can have been in, growth at the worst node and for the longest. The
// error is a *Refusal when the request cannot be followed at all, [ErrDiary] or [ErrHappened].
func (m *Model) Verdict(h Happened) (*Verdict, error) {
	v, err := m.verdict(h)
	if err != nil || !h.Request.AtRisk || v.Answer == Yes {
		return v, err
	}
	h.Request.AtRisk = false
	if others, err := m.verdict(h); err == nil && others.Answer == Yes {
		v.Others, v.OthersReason, v.OthersUntil = Yes, others.Reason, others.Until
		if v.Answer == No {
			v.Do = DoOthers
		}
	}
	return v, nil
}

func (m *Model) verdict(h Happened) (*Verdict, error) {
	if err := h.check(); err != nil {
		return nil, err
	}
	h.Request.Span = 0 // how long the cook meant to leave it is answered by what happened
	if err := h.Diary.check(); err != nil {
		return nil, err
	}
	h.Diary = h.Diary.until(h.Elapsed)
	j, err := m.inquire(h)
	if err != nil {
		return nil, err
	}
	v := &Verdict{
		Happened: h, Plan: j.now.plan, Now: h.Elapsed, Pasteurised: j.pasteurised,
		Kills: j.kills, Unknowns: j.unknowns(), Sagged: j.longest.growth.sag(j.most),
		Core: j.now.curve.Core(min(h.Elapsed, h.out()) + creditAfter), Until: Moment{Never: true}, At: Moment{Never: true},
	}
	v.Planned = j.refusal == nil
	if v.Planned {
		v.BestUntil = j.now.plan.BestBefore
	}
	for i, k := range v.Kills {
		if !k.Reached.By(min(h.Elapsed, h.out())) && (v.Short == nil || k.Log/k.Rule.Target < v.Short.Log/v.Short.Rule.Target) {
			v.Short = &v.Kills[i]
		}
	}
	if err := j.decide(v); err != nil {
		return nil, err
	}
	j.caution(v)
	return v, nil
}

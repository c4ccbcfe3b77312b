package kitchen

import (
	"cmp"
	"math"
	"slices"
	"time"

	"bagwatch/internal/food"
	"bagwatch/internal/quantity"
)

// EntryKind is what happened to the water.
type EntryKind uint8

// The kinds of diary entry.
const (
	BathAt     EntryKind = iota // Temperature of the water, measured at At
	PowerOut                    // from At to Until; until further notice when Until is zero
	LidOff                      // likewise
	ColdBags                    // Count of bags that came in cold
	WaterAdded                  // Litres, 0 if not said: topped up
	CoreAt                      // Temperature measured in Bag
	maxEntry   = CoreAt
)

// Entry is one line of the bath diary.
type Entry struct {
	Kind        EntryKind
	At, Until   time.Time
	Temperature quantity.Temperature
	Count       int
	Litres      quantity.Volume
	Bag         BagID // 0: all that was in the bath
	By          Who   // who wrote it
}

// Bounds of a diary entry. House rules: water in a bath is neither ice nor steam under pressure.
const (
	coldestWater quantity.Temperature = -2
	hottestWater quantity.Temperature = 105
	diaryBack                         = 6 * 24 * time.Hour // longer than the longest cook
)

func (e Entry) settle(now time.Time) (Entry, error) {
	e.At, e.Until = down(e.At), up(e.Until)
	e.Temperature = quantity.Temperature(floorTo(float64(e.Temperature), centi))
	e.Litres = quantity.Volume(floorTo(float64(e.Litres), deci))
	e.By = e.By.clip()
	switch {
	case e.At.After(now.Add(slack)), e.At.Before(now.Add(-diaryBack)),
		!e.Until.IsZero() && (e.Until.Before(e.At) || e.Until.After(now.Add(slack))):
		return e, ErrTime
	case e.Kind > maxEntry, e.Count < 0, e.Count > maxPieces,
		!(e.Litres >= 0 && e.Litres <= maxLitres),
		!(e.Temperature >= coldestWater && e.Temperature <= hottestWater), math.IsNaN(float64(e.Temperature)):
		return e, ErrValue
	}
	return e, nil
}

// AddDiary writes a line into the bath diary. The bags are not recomputed by that: see [Document.Recompute],
// [Document.SetTimes] and [Document.Doubt].
func (d *Document) AddDiary(e Entry, now time.Time) error {
	e, err := e.settle(now)
	if err != nil {
		return err
	}
	if e.Bag != 0 && d.index(e.Bag) < 0 {
		return ErrNoBag
	}
	if len(d.Diary) >= MaxDiary {
		d.expireDiary(now)
	}
	if len(d.Diary) >= MaxDiary {
		return ErrFull
	}
	d.insert(e)
	if e.Kind == WaterAdded {
		d.ToppedUp = later(d.ToppedUp, e.At)
	}
	return nil
}

// insert keeps the diary in the order of its times; lines of one moment stay as they were written.
func (d *Document) insert(e Entry) {
	i := len(d.Diary)
	for i > 0 && d.Diary[i-1].At.After(e.At) {
		i--
	}
	d.Diary = slices.Insert(d.Diary, i, e)
}

// EndDiary closes the open power cut or open lid of a kind: the power is back, the lid is on.
func (d *Document) EndDiary(kind EntryKind, until, now time.Time) error {
	until = up(until)
	for i := len(d.Diary) - 1; i >= 0; i-- {
		e := &d.Diary[i]
		if e.Kind != kind || !e.Until.IsZero() || (kind != PowerOut && kind != LidOff) {
			continue
		}
		if until.Before(e.At) || until.After(now.Add(slack)) {
			return ErrTime
		}
		e.Until = until
		return nil
	}
	return ErrNone
}

// expireDiary lets go of lines over a day old that no bag still here has lived through.
func (d *Document) expireDiary(now time.Time) {
	from := now.Add(-keepDiary)
	for _, b := range d.Bags {
		if b.Started.Before(from) {
			from = b.Started
		}
	}
	d.Diary = slices.DeleteFunc(d.Diary, func(e Entry) bool {
		open := e.Until.IsZero() && (e.Kind == PowerOut || e.Kind == LidOff)
		return !open && later(e.At, e.Until).Before(from) || e.At.Before(now.Add(-keepOpen))
	})
}

// KeptID names kept food within its chat.
type KeptID uint16

// Kept is food that was chilled or frozen after its bath.
type Kept struct {
	ID     KeptID
	Bag    BagID // that it was; may be gone by now
	Food   food.ID
	Name   string
	Pieces int
	Since  time.Time
	Until  time.Time // keep-until
	Frozen bool
	By     Who
	Told   uint8 // keptSoon, keptOver
}

const (
	keptSoon = 1
	keptOver = 2
	soonLead = 24 * time.Hour
)

// soon is when people are reminded that it does not keep much longer; zero when it never kept that long.
func (k Kept) soon() time.Time {
	if at := k.Until.Add(-soonLead); at.After(k.Since) {
		return at
	}
	return time.Time{}
}

// maxKeep bounds how long food may be said to keep. House rule: quality of frozen food.
const maxKeep = 400 * 24 * time.Hour

// Keep notes food that was put away. How long it keeps is not decided here.
func (d *Document) Keep(k Kept, now time.Time) (Kept, error) {
	k.Since, k.Until = down(k.Since), down(k.Until)
	k.Name, k.By, k.Told = clip(k.Name, MaxName), k.By.clip(), 0
	switch {
	case k.Since.After(now.Add(slack)), k.Since.Before(now.Add(-maxKeep)),
		k.Until.Before(k.Since), k.Until.After(k.Since.Add(maxKeep)):
		return Kept{}, ErrTime
	case !word(string(k.Food), maxFood), k.Pieces < 0, k.Pieces > maxPieces:
		return Kept{}, ErrValue
	case len(d.Kept) >= MaxKept:
		return Kept{}, ErrFull
	}
	for d.LastKept++; d.LastKept == 0 || d.keptIndex(d.LastKept) >= 0; d.LastKept++ {
	}
	k.ID = d.LastKept
	d.Kept = append(d.Kept, k)
	return k, nil
}

func (d *Document) keptIndex(id KeptID) int {
	return slices.IndexFunc(d.Kept, func(k Kept) bool { return k.ID == id })
}

// TakeKept takes kept food out: eaten or thrown away. Anybody may.
func (d *Document) TakeKept(id KeptID) (Kept, error) {
	i := d.keptIndex(id)
	if i < 0 {
		return Kept{}, ErrNone
	}
	k := d.Kept[i]
	d.Kept = slices.Delete(d.Kept, i, i+1)
	return k, nil
}

// Step is something to do at a time, of a dinner that was planned.
type Step struct {
	At   time.Time
	What string // an id that the texts know
	Ref  string // what it is about: a food, or a name somebody gave
	By   Who    // who took it
	Told bool
}

// maxAhead is how far ahead a step may lie. House rule.
const maxAhead = 60 * 24 * time.Hour

// SetSteps replaces the steps of the planned dinner.
func (d *Document) SetSteps(steps []Step, now time.Time) error {
	if len(steps) > MaxSteps {
		return ErrFull
	}
	out := make([]Step, len(steps))
	for i, s := range steps {
		s.At, s.Ref, s.By, s.Told = up(s.At), clip(s.Ref, MaxName), s.By.clip(), false
		if !word(s.What, maxFood) {
			return ErrValue
		}
		if s.At.After(now.Add(maxAhead)) || s.At.Before(now.Add(-keepStep)) {
			return ErrTime
		}
		out[i] = s
	}
	slices.SortStableFunc(out, func(a, b Step) int { return cmp.Or(a.At.Compare(b.At)) })
	d.Steps = out
	return nil
}

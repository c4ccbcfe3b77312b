package cook

import (
	"errors"
	"fmt"
	"slices"
	"time"

	"bagwatch/internal/quantity"
)

// ErrDiary reports a bath diary that cannot be: a time or a temperature out of range, an end before its
// beginning.
var ErrDiary = errors.New("cook: impossible bath diary")

// EventKind says what happened to the water.
type EventKind string

// The kinds of event.
const (
	WaterMeasured EventKind = "measured"  // a thermometer showed Temperature
	WaterSet      EventKind = "set"       // the bath was set to Temperature and goes there
	PowerOut      EventKind = "power-out" // from At to Until
	LidOff        EventKind = "lid-off"   // from At to Until
	ColdBags      EventKind = "cold-bags" // Count more bags came in cold
	WaterAdded    EventKind = "added"     // Litres of cold water; 0 means a litre

	waterMoved EventKind = "moved" // the piece is in other water, of Temperature
)

// Event is one line of a bath diary. Times count from the immersion of the piece in question and may lie
// before it.
type Event struct {
	Kind EventKind
	At   time.Duration
	// Until ends a power cut or an open lid, unless Ongoing says that it has no end yet.
	Until       time.Duration
	Ongoing     bool
	Temperature quantity.Temperature
	Count       int
	Frozen      bool // the cold bags were frozen
	Litres      quantity.Volume
}

// Diary is what the water did, as far as anybody wrote it down, and the bath it did it in. Before the
// first line and between the lines the water is at what the bath was last set to.
type Diary struct {
	Events []Event
	// Litres and Watts make power cuts, cold bags and heating up a heat balance; with either zero the
	// worst case is taken.
	Litres quantity.Volume
	Watts  quantity.Power
	// Covered says that the bath has a lid, which is on unless an event says otherwise.
	Covered bool
	// Room is the kitchen's temperature; zero means 20 °C.
	Room quantity.Temperature
}

// Empty reports whether the diary says nothing about the water.
func (d Diary) Empty() bool { return len(d.Events) == 0 }

// balanced reports whether the bath is known well enough for a heat balance.
func (d Diary) balanced() bool { return d.Litres > 0 && d.Watts > 0 }

// shift is the diary as seen by a piece that went in earlier by so much.
func (d Diary) shift(by time.Duration) Diary {
	if by == 0 {
		return d
	}
	d.Events = slices.Clone(d.Events)
	for i := range d.Events {
		d.Events[i].At += by
		d.Events[i].Until += by
	}
	return d
}

// and is the diary with more lines.
func (d Diary) and(more ...Event) Diary {
	d.Events = append(slices.Clone(d.Events), more...)
	return d
}

// until is the diary without lines that are still to come.
func (d Diary) until(now time.Duration) Diary {
	if slices.ContainsFunc(d.Events, func(e Event) bool { return e.At > now }) {
		d.Events = slices.DeleteFunc(slices.Clone(d.Events), func(e Event) bool { return e.At > now })
	}
	return d
}

// restored is the diary with the power back and the lid on from t on.
func (d Diary) restored(t time.Duration) Diary {
	d.Events = slices.Clone(d.Events)
	for i, e := range d.Events {
		if (e.Kind == PowerOut || e.Kind == LidOff) && (e.Ongoing || e.Until > t) {
			d.Events[i].Ongoing, d.Events[i].Until = false, max(e.At, t)
		}
	}
	return d
}

// Bounds of a diary. House rules.
const (
	mostEvents                         = 256
	warmestWater  quantity.Temperature = 100
	coldestRoom   quantity.Temperature = 5
	warmestRoom   quantity.Temperature = 45
	diaryReach                         = 2 * Horizon // how far from immersion a line may lie
	mostColdBags                       = 100
	mostBathWatts quantity.Power       = 20_000
	mostLitres    quantity.Volume      = 1000
)

func (d Diary) check() error {
	if len(d.Events) > mostEvents {
		return fmt.Errorf("%w: %d lines", ErrDiary, len(d.Events))
	}
	if !(d.Litres >= 0 && d.Litres <= mostLitres) || !(d.Watts >= 0 && d.Watts <= mostBathWatts) ||
		d.Room != 0 && !(d.Room >= coldestRoom && d.Room <= warmestRoom) {
		return fmt.Errorf("%w: %g L, %g W, room at %g °C", ErrDiary, float64(d.Litres), float64(d.Watts), float64(d.Room))
	}
	for _, e := range d.Events {
		if e.At.Abs() > diaryReach || e.Until.Abs() > diaryReach {
			return fmt.Errorf("%w: %s at %v until %v", ErrDiary, e.Kind, e.At, e.Until)
		}
		switch e.Kind {
		case WaterMeasured, WaterSet, waterMoved:
			if !(e.Temperature >= 0 && e.Temperature <= warmestWater) {
				return fmt.Errorf("%w: water at %g °C", ErrDiary, float64(e.Temperature))
			}
		case PowerOut, LidOff:
			if !e.Ongoing && e.Until < e.At {
				return fmt.Errorf("%w: %s ends before it begins", ErrDiary, e.Kind)
			}
		case ColdBags:
			if e.Count < 0 || e.Count > mostColdBags {
				return fmt.Errorf("%w: %d cold bags", ErrDiary, e.Count)
			}
		case WaterAdded:
			if !(e.Litres >= 0 && e.Litres <= mostLitres) {
				return fmt.Errorf("%w: %g L added", ErrDiary, float64(e.Litres))
			}
		default:
			return fmt.Errorf("%w: kind %q", ErrDiary, e.Kind)
		}
	}
	return nil
}

package reply

import (
	"strings"
	"time"
	"unicode/utf16"

	"bagwatch/internal/cook"
	"bagwatch/internal/food"
	"bagwatch/internal/heat"
	"bagwatch/internal/quantity"
)

// Course is one cook over time as a picture shows it: a plan, or what the bath diary made of a running
// bag. Make one with [PlanCourse] and change what the diary changed. Times count from going in.
type Course struct {
	Plan *cook.Plan

	// Bath is what the water did and is expected to do.
	Bath            heat.History
	Likely, Careful cook.Curve
	CoreReached     time.Duration // likely
	Pasteurised     cook.Moment   // careful
	// Ready and ReadyLate are as in a plan: the late one is the safe end if the thickness was guessed.
	Ready, ReadyLate time.Duration
	BestBefore       time.Duration

	// Running is true for a bag that is in; Now is how long it has been.
	Running bool
	Now     time.Duration
}

// PlanCourse is the course of a plan in a bath that keeps to its setpoint. For a plan that was made under a
// bath diary, whose curves and times know of it, set Bath to what the water did. What a rule refuses,
// for what the water did or otherwise, has no plan and so no picture: nobody shall see a window there.
func PlanCourse(p *cook.Plan) Course {
	return Course{
		Plan: p, Bath: heat.Constant(p.Setpoint, p.Likely.Film), Likely: p.LikelyCurve, Careful: p.CarefulCurve,
		CoreReached: p.CoreReached, Pasteurised: p.Pasteurised,
		Ready: p.Ready, ReadyLate: p.ReadyLate, BestBefore: p.BestBefore,
	}
}

// Picture is a course with everything that is written in its picture and under it. The printed times are
// rounded to the safe side, and the picture is drawn with them, so that the two agree.
type Picture struct {
	Course
	Units Units
	// In is when the bag went in if the time axis shows the clock; zero if it counts from going in.
	In time.Time

	PrintedReady, PrintedBest, PrintedPasteurised time.Duration

	Words PictureWords
	// Caption says the same in words; photos have no other text for who cannot see them.
	Caption Text
}

// PictureWords are the words that stand in a picture.
type PictureWords struct {
	Title             string
	Water, Core, Slow string // beside the lines
	Ready, Best       string
	Pasteurised       string // empty when there is no target
	Now               string // empty when the bag is not running
	Degrees           string // the unit of the temperature axis
	// From and Until are the temperatures that the segments of Bath begin and end at.
	From, Until []string

	// Axis and Squeezed are the titles of the time axis, plain and for a hold that is squeezed.
	Axis, Squeezed map[TimeAxis]string
}

// TimeAxis is what the marks of a time axis count.
type TimeAxis uint8

// The time axes.
const (
	AxisMinutes TimeAxis = iota
	AxisHoursMinutes
	AxisHours
	AxisClock
)

// clockSpan is how long a picture may be to show clock times: longer ones would show one time twice.
const clockSpan = 20 * time.Hour

// diaryShown is how many lines of a bath diary a caption tells; the last ones are told.
const diaryShown = 6

// captionLength is what may stand under a photo, in UTF-16 units. Source: the Bot API's sendPhoto.
const captionLength = 1024

// Picture puts a course into words.
func (l *Language) Picture(c Course, o Options) Picture {
	plan := *c.Plan // with the course's moments, so that both are said by the same sentences
	plan.Ready, plan.ReadyLate, plan.BestBefore, plan.Pasteurised = c.Ready, c.ReadyLate, c.BestBefore, c.Pasteurised
	if !o.In.IsZero() && max(c.BestBefore, c.Pasteurised.After, c.Now) > clockSpan {
		o.In = time.Time{}
	}
	window := plan.Printed() // the early end stands in the caption
	name := capital(l.FoodName(plan.Food.ID, plan.Pieces))
	p := Picture{
		Course: c, Units: o.Units, In: o.In,
		PrintedReady: window.Ready, PrintedBest: window.BestBefore, PrintedPasteurised: later(c.Pasteurised.After, false),
	}
	w := &p.Words
	*w = PictureWords{
		Title: l.Say(PictureTitleBare, Data{"Food": name}),
		Water: l.Say(PictureWater, Data{"T": l.Temperature(plan.Setpoint, o.Units)}),
		Core:  l.Say(PictureCore, nil), Slow: l.Say(PictureSlow, nil),
		Ready: l.Say(PictureReady, Data{"Time": l.pictureTime(window.Ready, o)}),
		Best:  l.Say(PictureBest, Data{"Time": l.pictureTime(window.BestBefore, o)}), Degrees: "°C",
		Axis: make(map[TimeAxis]string), Squeezed: make(map[TimeAxis]string),
	}
	if o.Units == Imperial {
		w.Degrees = "°F"
	}
	for _, segment := range c.Bath {
		w.From = append(w.From, l.Temperature(segment.Bath, o.Units))
		w.Until = append(w.Until, l.Temperature(segment.Until, o.Units))
	}
	for axis, id := range map[TimeAxis]ID{AxisMinutes: PictureMinutes, AxisHoursMinutes: PictureHoursMin, AxisHours: PictureHours, AxisClock: PictureClock} {
		w.Axis[axis] = l.Say(id, nil)
		w.Squeezed[axis] = l.Say(PictureSqueezed, Data{"Axis": w.Axis[axis]})
	}
	if plan.Doneness != "" {
		w.Title = l.Say(PictureTitle, Data{"Food": name, "Doneness": l.DonenessName(plan.Doneness)})
	}
	switch {
	case plan.Serve == cook.ServePlant || plan.Safety == food.Plant:
	case plan.Request.Cured:
		w.Pasteurised = l.Say(PictureNoClaim, nil)
	case plan.Pasteurised.Never:
		w.Pasteurised = l.Say(PictureNever, nil)
	case plan.Pasteurised.By(plan.Ready):
		w.Pasteurised = l.Say(PicturePasteurised, Data{"Time": l.pictureTime(p.PrintedPasteurised, o)})
	default:
		w.Pasteurised = l.Say(PictureOnlyPasteurised, Data{"Time": l.pictureTime(p.PrintedPasteurised, o)})
	}
	if c.Running {
		w.Now = l.Say(PictureNow, Data{"Time": l.pictureTime(sooner(c.Now, true), o), "T": l.Temperature(halfDown(c.Likely.Core(c.Now)), o.Units)})
	}
	p.Caption = l.pictureCaption(&plan, c, o)
	return p
}

// pictureTime prints a time after going in, or the clock time it falls on.
func (l *Language) pictureTime(d time.Duration, o Options) string {
	if o.In.IsZero() {
		return l.Span(d)
	}
	return o.In.Add(d).Format("15:04")
}

// pictureCaption tells the picture: the plan's first lines, the course of the core, where it is now, the diary.
func (l *Language) pictureCaption(plan *cook.Plan, c Course, o Options) Text {
	half := sooner(c.CoreReached/2, true)
	there := later(c.CoreReached, false)
	core := func(t time.Duration) string { return l.Temperature(halfDown(c.Likely.Core(t)), o.Units) }
	text := Text{
		{{Text: l.head(plan, o), Style: Strong}}, parts(l.windowLine(plan, o)), plainLine(l.pasteurised(plan)),
		plainLine(l.Say(PictureCaption, Data{
			"T0": l.Temperature(plan.StartAt, o.Units), "T1": core(half), "Time1": l.Span(half), "T2": core(there), "Time2": l.Span(there),
		})),
	}
	if c.Running {
		text = append(text, plainLine(l.Say(PictureCaptionNow, Data{"Time": l.Span(sooner(c.Now, true)), "T": core(c.Now)})))
	}
	if diary := l.pictureDiary(c, o); diary != "" {
		if line := plainLine(l.Say(PictureDiary, Data{"Entries": diary})); captionFits(text, line) {
			text = append(text, line)
		}
	}
	if line := plainLine(l.Say(PictureCaptionBand, nil)); captionFits(text, line) {
		text = append(text, line)
	}
	return text
}

// captionFits reports whether a caption has room for one more line.
func captionFits(text Text, line Line) bool {
	return len(utf16.Encode([]rune(text.String())))+1+len(utf16.Encode([]rune(line.String()))) <= captionLength
}

// pictureDiary lists what the water did, if it did anything.
func (l *Language) pictureDiary(c Course, o Options) string {
	if len(c.Bath) < 2 {
		return ""
	}
	var entries []string
	for _, s := range c.Bath[max(0, len(c.Bath)-diaryShown):] {
		data := Data{"T": l.Temperature(s.Bath, o.Units), "Until": l.Temperature(s.Until, o.Units), "Time": l.pictureTime(quantity.FloorTo(s.From, time.Minute), o)}
		id := PictureDiaryEntry
		if s.Until != s.Bath {
			id = PictureDiaryRamp
		}
		entries = append(entries, l.Say(id, data))
	}
	return strings.Join(entries, ", ")
}

package curve

import (
	"cmp"
	"image/color"
	"math"
	"slices"
	"strconv"
	"time"

	"bagwatch/internal/quantity"
	"bagwatch/internal/reply"
)

// frame draws the title, the axes and the grid.
func (s *sheet) frame() {
	// The paper's edge, which a chat of the same shade would hide.
	for _, e := range [][4]float64{{0, 0, Width, edge}, {0, Height - edge, Width, Height}, {0, 0, edge, Height}, {Width - edge, 0, Width, Height}} {
		s.rectangle(e[0], e[1], e[2], e[3], rimGrey)
	}
	s.write(s.title.cut(s.pic.Words.Title, titleRoom), point{36, 66}, fromLeft, s.title, ink)

	d := s.degrees
	highest := math.Inf(-1)
	for at := math.Ceil(d.low/d.step) * d.step; d.y(at) > s.waterAt-30; at += d.step {
		y := d.y(at)
		s.stroke([]point{{plotLeft, y}, {plotRight, y}}, pen{gridGrey, 2, nil})
		s.write(degreeText(at), point{plotLeft - 14, y + 12}, fromRight, s.small, greyInk)
		highest = at
	}
	if d.y(highest) > plotTop+44 {
		s.write(s.pic.Words.Degrees, point{plotLeft - 14, min(d.y(highest)-30, s.waterAt-40)}, fromRight, s.small, greyInk)
	}
	s.stroke([]point{{plotLeft, plotTop}, {plotLeft, plotBottom}}, pen{greyInk, 3, nil})
	s.stroke([]point{{plotLeft, plotBottom}, {plotRight, plotBottom}}, pen{greyInk, 3, nil})
	s.timeAxis()
}

func degreeText(at float64) string {
	if at < 0 {
		return "−" + strconv.FormatFloat(-at, 'f', -1, 64)
	}
	return strconv.FormatFloat(at, 'f', -1, 64)
}

// timeAxis draws the marks of the time axis, its title, and the break where a long hold is squeezed.
func (s *sheet) timeAxis() {
	axis, text, ticks := s.timeMarks()
	for _, t := range ticks {
		x := s.time.x(t)
		s.stroke([]point{{x, plotBottom}, {x, plotBottom + 10}}, pen{greyInk, 3, nil})
		words := text(t)
		half := s.small.width(words) / 2
		s.write(words, point{min(x, Width-14-half), plotBottom + 46}, centred, s.small, greyInk)
	}
	title := s.pic.Words.Axis[axis]
	if s.time.bend > 0 {
		title = s.pic.Words.Squeezed[axis]
		x := s.time.x(s.time.bend)
		s.stroke([]point{{x, plotTop}, {x, plotBottom}}, pen{rimGrey, 3, []float64{3, 12}})
		s.rectangle(x-9, plotBottom-10, x+9, plotBottom+8, paperWhite)
		for _, off := range []float64{-9, 9} {
			s.stroke([]point{{x + off - 7, plotBottom + 14}, {x + off + 7, plotBottom - 14}}, pen{greyInk, 3, nil})
		}
	}
	s.write(s.small.cut(title, plotRight-plotLeft), point{plotRight, plotBottom + 92}, fromRight, s.small, greyInk)
}

// The room that a mark of the time axis needs: two or three digits, or 12:30.
const (
	roomNumber = 76.0
	roomClock  = 112.0
)

// timeMarks chooses what the time axis counts, how its marks read and where they are.
func (s *sheet) timeMarks() (axis reply.TimeAxis, text func(time.Duration) string, ticks []time.Duration) {
	in := s.pic.In
	none := func(time.Duration) time.Duration { return 0 }
	if !in.IsZero() {
		hour, minute, second := in.Clock()
		since := time.Duration(hour)*time.Hour + time.Duration(minute)*time.Minute + time.Duration(second)*time.Second
		ticks = s.time.ticks(roomClock, func(step time.Duration) time.Duration { return since % step })
		return reply.AxisClock, func(t time.Duration) string { return in.Add(t).Format("15:04") }, ticks
	}
	count := func(unit time.Duration) func(time.Duration) string {
		return func(t time.Duration) string { return strconv.Itoa(int(t / unit)) }
	}
	if s.time.end <= 100*time.Minute {
		return reply.AxisMinutes, count(time.Minute), s.time.ticks(roomNumber, none)
	}
	for _, room := range []float64{roomNumber, roomClock} {
		if ticks = s.time.ticks(room, none); wholeHours(ticks) {
			return reply.AxisHours, count(time.Hour), ticks
		}
	}
	return reply.AxisHoursMinutes, func(t time.Duration) string {
		m := int(t / time.Minute)
		return strconv.Itoa(m/60) + ":" + string([]byte{byte('0' + m%60/10), byte('0' + m%10)})
	}, ticks
}

func wholeHours(ticks []time.Duration) bool {
	for _, t := range ticks {
		if t%time.Hour != 0 {
			return false
		}
	}
	return true
}

// window tints and hatches the time from ready to best until.
func (s *sheet) window() {
	x0, x1 := s.time.x(s.pic.PrintedReady), s.time.x(s.pic.PrintedBest)
	x1 = max(x1, x0+6)
	top := s.y(s.pic.Plan.Setpoint)
	s.rectangle(x0, top, x1, plotBottom-2, windowTint)
	s.hatch(x0, top, x1, plotBottom-2, 24, pen{windowLine, 2, nil})
	for _, x := range []float64{x0, x1} {
		s.stroke([]point{{x, top}, {x, plotBottom}}, pen{readyGreen, 3, nil})
	}
}

// lines draws the water, the diary's marks on it, and both estimates of the core.
func (s *sheet) lines() {
	s.stroke(s.trace(s.pic.Careful.Core), slowPen)
	s.stroke(s.trace(s.pic.Likely.Core), corePen)
	s.stroke(s.trace(s.bath), waterPen) // on top: its gaps show the core that has come to it
	for i, part := range s.pic.Bath {
		if i > 0 && part.From <= s.time.end {
			s.mark(cross, point{s.time.x(part.From), s.y(part.Bath)}, 11, waterBlue, paperWhite)
		}
	}
	if s.pic.Running {
		x := s.time.x(s.pic.Now)
		s.stroke([]point{{x, plotTop + 40}, {x, plotBottom}}, pen{ink, 4, nil})
	}
}

// toldFrom is how far in K the water must have been from its setpoint for the picture to print it.
const toldFrom = 1.0

// extreme writes how far the water got from its setpoint, where it did.
func (s *sheet) extreme() {
	setpoint, words, most := s.pic.Plan.Setpoint, "", toldFrom
	var at point
	told := func(t quantity.Temperature, when time.Duration, as string) {
		if off := math.Abs(float64(t - setpoint)); off > most && when <= s.time.end {
			most, words, at = off, as, point{s.time.x(when), s.y(t)}
		}
	}
	for i, part := range s.pic.Bath {
		told(part.Bath, part.From, s.pic.Words.From[i])
		if i+1 < len(s.pic.Bath) {
			told(part.Until, s.pic.Bath[i+1].From, s.pic.Words.Until[i])
		}
	}
	if words == "" {
		return
	}
	if at.y < s.y(setpoint) {
		at.y -= 24
	} else {
		at.y += 52
	}
	width := s.text.width(words)
	at.x = s.clear(min(max(at.x-width/2, plotLeft+8), plotRight-width), width)
	s.box(at.x, at.y, width)
	s.write(words, at, fromLeft, s.text, waterBlue)
}

// flag is a moment with its marker and words.
type flag struct {
	at    point
	shape shape
	words string
	color color.RGBA
}

// moments draws the moments: the ends of the window have their markers at its foot, the pasteurised one on
// the careful core with a stem down to its words. The earliest stands lowest, so that a stem does not
// cross the words of one before it.
func (s *sheet) moments() {
	c := s.pic
	foot := func(t time.Duration) point { return point{s.time.x(t), plotBottom} }
	flags := []flag{
		{at: foot(c.PrintedReady), shape: triangle, words: c.Words.Ready, color: readyGreen},
		{at: foot(c.PrintedBest), shape: square, words: c.Words.Best, color: readyGreen},
	}
	if s.killShown() {
		at := point{s.time.x(c.PrintedPasteurised), s.y(c.Careful.Core(c.PrintedPasteurised))}
		flags = append(flags, flag{at: at, shape: diamond, words: c.Words.Pasteurised, color: killPurple})
	} else if c.Words.Pasteurised != "" { // never, or far outside: words over the plot, away from every line
		width, y := s.text.width(c.Words.Pasteurised), s.waterAt-18-rowHeight
		x := plotRight - width - 12
		s.box(x-50, y, width+50)
		s.mark(diamond, point{x - 30, y - 12}, markSize, paperWhite, killPurple)
		s.write(c.Words.Pasteurised, point{x, y}, fromLeft, s.text, killPurple)
	}
	slices.SortStableFunc(flags, func(a, b flag) int { return cmp.Compare(a.at.x, b.at.x) })
	// two rows at the bottom belong to the words of the core
	base := plotBottom - 3.0*rowHeight
	for i, f := range flags {
		s.stroke([]point{f.at, {f.at.x, base - float64(i)*rowHeight + 8}}, pen{f.color, 3, nil})
	}
	for i, f := range flags {
		s.flag(f, base-float64(i)*rowHeight)
	}
}

// flag draws one moment with its words on the base line y.
func (s *sheet) flag(f flag, y float64) {
	width := s.text.width(f.words)
	x := f.at.x + 16
	if x+width > plotRight {
		x = max(plotLeft+10, f.at.x-16-width)
	}
	s.box(x, y, width)
	s.write(f.words, point{x, y}, fromLeft, s.text, f.color)
	s.mark(f.shape, f.at, markSize, f.color, paperWhite)
}

// box clears the paper under words.
func (s *sheet) box(x, y, width float64) {
	s.rectangle(x-7, y-33, x+width+7, y+12, paperWhite)
}

// labels writes beside the lines what they are, and draws the present moment.
func (s *sheet) labels() {
	c := s.pic
	s.write(c.Words.Water, point{s.clear(plotLeft+16, s.text.width(c.Words.Water)), s.y(c.Plan.Setpoint) - 18}, fromLeft, s.text, waterBlue)
	s.core(c.Words.Core, corePen, c.Careful.Core, plotBottom-1.9*rowHeight)
	s.core(c.Words.Slow, slowPen, c.Careful.Core, plotBottom-0.75*rowHeight)
	s.extreme()
}

// clear moves words to the right of the present moment's line if they would stand across it.
func (s *sheet) clear(x, width float64) float64 {
	if now := s.time.x(s.pic.Now); s.pic.Running && x-14 < now && now < x+width+14 {
		return min(now+20, plotRight-width-8)
	}
	return x
}

// core writes the name of a line of the core, with a piece of that line before it, right of the curve.
func (s *sheet) core(words string, with pen, right func(time.Duration) quantity.Temperature, y float64) {
	const sample = 62.0
	width := sample + 14 + s.text.width(words)
	x := plotLeft
	for x < plotRight && s.y(right(s.time.at(x))) > y-40 {
		x += 3
	}
	x = s.clear(min(x+22, plotRight-width-8), width)
	s.box(x, y, width)
	s.stroke([]point{{x, y - 12}, {x + sample, y - 12}}, with)
	s.write(words, point{x + sample + 14, y}, fromLeft, s.text, coreRed)
}

// now names the present moment, whose line stands behind all words.
func (s *sheet) now() {
	c := s.pic
	if !c.Running {
		return
	}
	x := s.time.x(c.Now)
	width := s.text.width(c.Words.Now)
	left := min(max(x-width/2, plotLeft+14), plotRight-width-10)
	s.rectangle(left-14, plotTop-6, left+width+14, plotTop+44, ink)
	s.write(c.Words.Now, point{left, plotTop + 31}, fromLeft, s.text, paperWhite)
	s.mark(circle, point{x, s.y(c.Likely.Core(c.Now))}, markSize, ink, paperWhite)
}

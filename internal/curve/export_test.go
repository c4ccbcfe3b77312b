package curve

import (
	"image/color"
	"time"
)

// Inks are the colours that words are written in, by what they say; Paper is what they stand on.
var (
	Inks  = map[string]color.RGBA{"ink": ink, "axes": greyInk, "water": waterBlue, "core": coreRed, "window": readyGreen, "pasteurised": killPurple}
	Paper = paperWhite
)

// PlotWidth is how wide words in the plot may be at most.
const PlotWidth = plotRight - plotLeft

// Widths gives the widths that words are set in: as a label, as a title, beside the axes.
func (p *Painter) Widths(words string) (label, title, axis float64) {
	return newLetters(p.fonts.bold, labelSize).width(words), titleLetters(p.fonts, words).width(words), newLetters(p.fonts.regular, axisSize).width(words)
}

// TimeScale is the scale of the time axis and its marks.
func TimeScale(busy, end time.Duration) (x func(time.Duration) float64, at func(float64) time.Duration, ticks []time.Duration, bend time.Duration) {
	s := newTimeScale(plotLeft, plotRight, busy, end)
	return s.x, s.at, s.ticks(roomClock, func(time.Duration) time.Duration { return 0 }), s.bend
}

// Ends are where the time axis begins and ends.
const (
	AxisFrom = plotLeft
	AxisTo   = plotRight
)

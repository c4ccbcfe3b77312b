package reply

import (
	"strings"
	"time"

	"bagwatch/internal/cook"
	"bagwatch/internal/quantity"
)

// The text curve's size: it fits a phone held upright in a fixed-width face.
const (
	curveRows  = 12
	curveWidth = 24
)

// Curve draws the likely core temperature as text: one line per moment, a bar, the temperature, and the
// names of the moments that fall there. It reads aloud line by line.
func (l *Language) Curve(p *cook.Plan, o Options) []string {
	unit := "°C"
	if o.Units == Imperial {
		unit = "°F"
	}
	lines := []string{l.Say(PlanCurve, Data{"Unit": unit})}
	end := p.BestBefore
	if first := 2 * p.CoreReached; end > 3*first { // a long hold is flat: show where something happens
		end = max(first, p.Ready)
	}
	step := end / (curveRows - 1)
	low, span := min(p.StartAt, p.Setpoint), p.Setpoint-min(p.StartAt, p.Setpoint)
	for i := range curveRows {
		at := time.Duration(i) * step
		t := p.LikelyCurve.Core(at)
		bar := int(float64(t-low)/float64(span)*curveWidth + 0.5)
		line := l.stamp(at) + " " + strings.Repeat("█", bar) + strings.Repeat("·", curveWidth-bar) + " " + l.Temperature(halfDown(t), o.Units)
		if i > 0 {
			for _, m := range []struct {
				at time.Duration
				id ID
			}{{p.CoreReached, CurveCore}, {p.Ready, CurveReady}, {p.BestBefore, CurveBest}} {
				if m.at > at-step && m.at <= at {
					line += " " + l.Say(m.id, nil)
				}
			}
			if !p.Pasteurised.Never && p.Pasteurised.After > at-step && p.Pasteurised.After <= at {
				line += " " + l.Say(CurvePasteurised, nil)
			}
		}
		lines = append(lines, line)
	}
	return lines
}

// halfDown floors a core temperature to half a degree: the model knows no more, and less is safer.
func halfDown(t quantity.Temperature) quantity.Temperature {
	return quantity.Temperature(float64(int(float64(t)*2)) / 2)
}

// stamp prints hours and minutes in a fixed width.
func (l *Language) stamp(d time.Duration) string {
	m := int(d / time.Minute)
	s := l.decimal(float64(m/60), 0) + ":" + pad(m%60)
	return strings.Repeat(" ", max(0, 5-len(s))) + s
}

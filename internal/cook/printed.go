package cook

import (
	"time"

	"bagwatch/internal/quantity"
)

// Steps of the times people are told. A model that is good to some 10 % gives no minutes of a long cook:
// house rule.
const (
	fineStep   = time.Minute
	usualStep  = 5 * time.Minute
	longStep   = 30 * time.Minute
	daysStep   = time.Hour // days and hours are printed without minutes
	fineBelow  = 20 * time.Minute
	longAbove  = 10 * time.Hour
	daysAbove  = 47 * time.Hour
	windowFine = time.Hour // a window shorter than this is told to the minute
)

// Later rounds a time up to its step: what must have happened by then has. Fine rounds to the minute.
func Later(d time.Duration, fine bool) time.Duration { return quantity.CeilTo(d, step(d, fine)) }

// Sooner rounds a time down to its step, not below zero: what must not have happened by then has not.
func Sooner(d time.Duration, fine bool) time.Duration {
	d = max(0, d)
	return quantity.FloorTo(d, step(d, fine))
}

func step(d time.Duration, fine bool) time.Duration {
	switch {
	case d < fineBelow || fine:
		return fineStep
	case d > daysAbove:
		return daysStep
	case d > longAbove:
		return longStep
	}
	return usualStep
}

// Printed are the times of a window as people are told them, so that news comes when it was said to.
type Printed struct {
	// Early is the likely ready time, Ready the late end of a guessed thickness; otherwise they are equal.
	Early, Ready time.Duration
	LastCall     time.Duration
	BestBefore   time.Duration
}

// Printed rounds the window to the safe side: ready up, best-before down, and never an end before its
// start: a window that the steps swallow is kept to the minute.
func (p *Plan) Printed() Printed {
	late := max(p.Ready, p.ReadyLate)
	fine := p.BestBefore-late < windowFine
	out := Printed{Early: Later(p.Ready, fine), Ready: Later(late, fine), BestBefore: Sooner(p.BestBefore, fine)}
	if out.BestBefore < out.Ready {
		out.Early, out.Ready = Later(p.Ready, true), Later(late, true)
		out.BestBefore = max(out.Ready, Sooner(p.BestBefore, true))
	}
	out.Early = min(out.Early, out.Ready)
	out.LastCall = min(out.BestBefore, max(out.Ready, Sooner(p.LastCall, true)))
	return out
}

package reply

import (
	"strings"
	"time"

	"bagwatch/internal/cook"
	"bagwatch/internal/kitchen"
	"bagwatch/internal/quantity"
)

// BagOptions are how a chat reads about its bags.
type BagOptions struct {
	Units Units
	Now   time.Time
	// Zone is the chat's clock; nil prints spans from now instead of clock times.
	Zone *time.Location
	// Shared says that several people read it, so that names are said.
	Shared bool
}

// farOff is from when on a clock time alone may be taken for the wrong day. House rule.
const (
	farOff  = 20 * time.Hour
	longAgo = 12 * time.Hour
)

// Who names a person for others; somebody forgotten is "someone".
func (l *Language) Who(w kitchen.Who) string {
	if w.ID == 0 || Echo(w.Name) == "" {
		return l.Say(BagSomeone, nil)
	}
	return Echo(w.Name)
}

// Bag names a bag: by its own name, else by what is in it.
func (l *Language) Bag(b kitchen.Bag) string {
	food := l.FoodName(b.Request.Food, b.Request.Pieces)
	if b.Name != "" {
		return l.Say(BagNamed, Data{"Name": Echo(b.Name), "Food": food})
	}
	if b.Request.Pieces > 1 {
		return l.Say(BagSeveral, Data{"Count": b.Request.Pieces, "Food": food})
	}
	return food
}

// clockOr prints a moment by the clock, or how far it is from now.
func (l *Language) clockOr(t time.Time, up bool, o BagOptions) string {
	gap := t.Sub(o.Now)
	if o.Zone == nil {
		return l.gap(gap, up)
	}
	clock := l.Clock(t.In(o.Zone))
	switch {
	case gap > farOff:
		return l.Say(BagFarclock, Data{"Clock": clock, "Span": l.gap(gap, up)})
	case -gap > longAgo:
		return l.Say(BagAgoclock, Data{"Clock": clock, "Span": l.gap(gap, up)})
	}
	return clock
}

// gap prints a span between now and a moment in whole minutes: up for what has to have come, down for what
// must not be missed.
func (l *Language) gap(d time.Duration, up bool) string {
	d = d.Abs()
	if up { // starts are kept in whole seconds, rounded up: that second is not worth a minute
		return l.Span(quantity.CeilTo(max(0, d-time.Second), time.Minute))
	}
	return l.Span(quantity.FloorTo(d, time.Minute))
}

// BagState says how a bag is.
func (l *Language) BagState(b kitchen.Bag, o BagOptions) string {
	data := Data{"Ready": l.clockOr(b.Times.Ready, true, o), "Best": l.clockOr(b.Times.BestBefore, false, o)}
	pick := func(clock, span ID) string {
		if o.Zone == nil {
			return l.Say(span, data)
		}
		return l.Say(clock, data)
	}
	switch b.StateAt(o.Now) {
	case kitchen.Warming:
		if b.Trouble != "" && !b.Times.Ready.Before(b.Unsafe) {
			return l.Say(BagStateWaiting, nil)
		}
		return pick(BagStateWarmingClock, BagStateWarmingSpan)
	case kitchen.Ready:
		return pick(BagStateReadyClock, BagStateReadySpan)
	case kitchen.LastCall:
		return pick(BagStateLastcallClock, BagStateLastcallSpan)
	case kitchen.Past:
		return pick(BagStatePastClock, BagStatePastSpan)
	case kitchen.Doubtful:
		return l.Say(BagStateDoubtful, nil)
	case kitchen.Pulled:
		return l.Say(BagStatePulled, Data{"Who": l.Who(b.ClosedBy)})
	}
	return l.Say(BagStateDropped, Data{"Who": l.Who(b.ClosedBy)})
}

// Started is the answer to the start of a bag: what went in, and when it is ready.
func (l *Language) Started(b kitchen.Bag, o BagOptions) Text {
	data := Data{"Bag": capital(l.Bag(b)), "Water": l.Water(b.Request.Setpoint, o.Units)}
	id := BagStarted
	const justNow = time.Minute
	if gone := o.Now.Sub(b.Started); gone >= justNow {
		id, data["In"] = BagStartedago, l.gap(gone, false)
		if o.Zone != nil {
			id, data["In"] = BagStartedsince, l.clockOr(b.Started, false, o)
		}
	}
	head := parts(l.Say(id, data))
	for i := range head {
		if head[i].Style == Plain {
			head[i].Style = Strong
		}
	}
	return Text{head, parts(capital(l.BagState(b, o)))}
}

// Card is the list of what is in the bath.
func (l *Language) Card(d kitchen.Document, o BagOptions) Text {
	bags := d.Running()
	if len(bags) == 0 {
		return Text{{{Text: l.Say(BagCardEmpty, nil), Style: Strong}}, plainLine(l.Say(BagCardHint, nil))}
	}
	text := Text{{{Text: l.Say(BagCardTitle, Data{"Count": len(bags)}), Style: Strong}}}
	for _, b := range bags {
		data := Data{"Bag": capital(l.Bag(b)), "Water": l.Temperature(b.Request.Setpoint, o.Units), "State": l.BagState(b, o), "Who": l.Who(b.Starter)}
		id := BagCardLineown
		if o.Shared {
			id = BagCardLine
		}
		text = append(text, parts(l.Say(id, data)))
	}
	if o.Zone == nil {
		text = append(text, plainLine(l.Say(BagCardAsof, nil)))
	}
	if line := l.Conflict(d, o); line != "" {
		text = append(text, nil, plainLine(line))
	}
	return text
}

// Conflict says that the bags in the bath want different water; empty when they agree.
func (l *Language) Conflict(d kitchen.Document, o BagOptions) string {
	var all []string
	for _, s := range kitchen.Conflicts(d) {
		all = append(all, l.Temperature(s.Setpoint, o.Units))
	}
	if len(all) == 0 {
		return ""
	}
	return l.Say(BagConflict, Data{"Setpoints": strings.Join(all, ", ")})
}

// StateLine says how a bag is, as a line of its own.
func (l *Language) StateLine(b kitchen.Bag, o BagOptions) Line {
	return parts(capital(l.BagState(b, o)))
}

// BagLine names a bag and says how it is.
func (l *Language) BagLine(b kitchen.Bag, o BagOptions) Line {
	return parts(l.Say(BagSince, Data{"Bag": capital(l.Bag(b)), "State": l.BagState(b, o)}))
}

// Then says what to do after the bath; empty when there is nothing to do.
func (l *Language) Then(p *cook.Plan) string {
	if p.Sear == nil {
		return ""
	}
	return l.then(p.Sear)
}

// Strip gives a rendered sentence without the marks of its styles.
func Strip(s string) string { return parts(s).String() }

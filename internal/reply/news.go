package reply

import (
	"time"

	"bagwatch/internal/kitchen"
)

// NewsOptions are how a chat wants its news.
type NewsOptions struct {
	// Now is when they are told.
	Now time.Time
	// Zone is the chat's clock; nil prints spans instead of times of day.
	Zone *time.Location
	// Names says who started a bag.
	Names bool
	// Again says that it may have been told before.
	Again bool
	// Step puts a dinner's step into words; "" and nil leave it to what the step says itself.
	Step func(kitchen.Step) string
}

// lateFrom is from how late on it is said. House rule: below it nobody would ask.
const lateFrom = time.Minute

// News puts news into one message: a line for each item that begins with what to do, the first of them
// standing out; then how late it is told, and whether it may be a repeat. Times that something must be
// done by round down.
func (l *Language) News(items []kitchen.Item, o NewsOptions) Text {
	var text Text
	var late time.Duration
	unsafe := false
	for i, item := range items {
		line := parts(l.newsItem(item, o))
		if i == 0 {
			for j := range line {
				if line[j].Style == Plain {
					line[j].Style = Strong
				}
			}
		}
		text = append(text, line)
		late = max(late, item.Late)
		unsafe = unsafe || item.Kind == kitchen.BagUnsafe
	}
	if unsafe {
		text = append(text, plainLine(l.Say(NewsWhy, nil)))
	}
	if late >= lateFrom {
		text = append(text, plainLine(l.Say(NewsLate, Data{"Span": l.Span(sooner(late, false))})))
	}
	if o.Again {
		text = append(text, plainLine(l.Say(NewsAgain, nil)))
	}
	return text
}

// newsItem is one item in one sentence.
func (l *Language) newsItem(i kitchen.Item, o NewsOptions) string {
	t := i.Bag.Times
	data := Data{"Bag": l.newsBag(i.Bag, o)}
	switch i.Kind {
	case kitchen.BagReady:
		data["Until"] = l.timeLeft(t.BestBefore, o, NewsUntil, NewsFor)
		return capital(l.Say(NewsReady, data))
	case kitchen.BagLastCall:
		data["By"] = l.timeLeft(t.BestBefore, o, NewsBy, NewsWithin)
		return capital(l.Say(NewsLastcall, data))
	case kitchen.BagPast:
		data["Since"] = l.timeGone(t.BestBefore, o)
		switch {
		case !i.Unpasteurised:
			return capital(l.Say(NewsPast, data))
		case !o.Now.Before(t.Limit):
			data["Since"] = l.timeGone(t.Limit, o)
			return capital(l.Say(NewsOver, data))
		}
		data["By"] = l.timeLeft(t.Limit, o, NewsBy, NewsWithin)
		return capital(l.Say(NewsRaw, data))
	case kitchen.BagUnsafe:
		return capital(l.Say(NewsUnsafe, data))
	case kitchen.KeepOver, kitchen.KeepSoon:
		return l.keptItem(i, o)
	case kitchen.DinnerStep:
		if o.Step != nil {
			if words := o.Step(i.Step); words != "" {
				return words
			}
		}
		return capital(l.Say(NewsStep, Data{"What": l.step(i.Step)}))
	}
	return l.Say(NewsWater, nil)
}

func (l *Language) keptItem(i kitchen.Item, o NewsOptions) string {
	k := i.Kept
	data := Data{"Food": l.counted(k.Name, l.FoodName(k.Food, max(k.Pieces, 1)), k.Pieces)}
	switch {
	case i.Kind == kitchen.KeepSoon:
		zone := o.Zone
		if zone == nil { // the earliest date that it is anywhere
			zone = time.FixedZone("", -12*60*60)
		}
		data["Date"] = k.Until.In(zone).Format(time.DateOnly)
		return capital(l.Say(NewsSoon, data))
	case k.Frozen:
		return capital(l.Say(NewsFrozen, data))
	}
	return capital(l.Say(NewsChilled, data))
}

// step names a dinner's step: by its own text where there is one, else by what it is about.
func (l *Language) step(s kitchen.Step) string {
	ref := quoted(s.Ref)
	if id := ID("dinner.step." + s.What); s.What != "" && l.Has(id) {
		return l.Say(id, Data{"Ref": ref})
	}
	return ref
}

// counted names food: by its own name, or how many of it.
func (l *Language) counted(own, name string, pieces int) string {
	switch {
	case own != "":
		return quoted(own)
	case pieces > 1:
		return l.Say(NewsBag, Data{"Count": pieces, "Name": name})
	}
	return name
}

// newsBag is a bag's name, with who started it where several cook.
func (l *Language) newsBag(b kitchen.Bag, o NewsOptions) string {
	name := l.Bag(b)
	if !o.Names {
		return name
	}
	return l.Say(NewsStarter, Data{"Bag": name, "Who": l.Who(b.Starter)})
}

// clockWithin is how far a time of day may be away before it could be taken for another day's. House rule.
const clockWithin = 18 * time.Hour

// timeLeft is a time to come, by the clock or as a span rounded down.
func (l *Language) timeLeft(at time.Time, o NewsOptions, clock, span ID) string {
	left := at.Sub(o.Now)
	switch {
	case left < time.Minute:
		return l.Say(NewsAtonce, nil)
	case o.Zone != nil && left < clockWithin:
		return l.Say(clock, Data{"Time": l.Clock(at.In(o.Zone))})
	}
	return l.Say(span, Data{"Span": l.Span(sooner(left, false))})
}

// timeGone is a time gone by, by the clock or as a span.
func (l *Language) timeGone(at time.Time, o NewsOptions) string {
	gone := o.Now.Sub(at)
	switch {
	case gone < time.Minute:
		return l.Say(NewsJust, nil)
	case o.Zone != nil && gone < clockWithin:
		return l.Say(NewsSince, Data{"Time": l.Clock(at.In(o.Zone))})
	}
	return l.Say(NewsAgo, Data{"Span": l.Span(sooner(gone, false))})
}

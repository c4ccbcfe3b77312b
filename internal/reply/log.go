package reply

import (
	"time"

	"bagwatch/internal/cook"
	"bagwatch/internal/kitchen"
	"bagwatch/internal/quantity"
)

// PastCook is a line about a past cook: what it was, how it was cooked and how it turned out.
func (l *Language) PastCook(c kitchen.Cook, o BagOptions) Line {
	return parts(l.noted(l.Say(LogLine, l.cookData(c, o)), c))
}

// Recall is what a plan for the same food says about the last time.
func (l *Language) Recall(c kitchen.Cook, o BagOptions) string {
	return l.noted(l.Say(LogRecall, l.cookData(c, o)), c)
}

// PastLabel names a past cook on a button.
func (l *Language) PastLabel(c kitchen.Cook, o BagOptions) string {
	return Strip(l.Say(ButtonPast, Data{"Bag": capital(l.pastBag(c)), "Ago": l.ago(o.Now.Sub(c.Pulled))}))
}

// PastBag names what was cooked.
func (l *Language) PastBag(c kitchen.Cook) string { return l.pastBag(c) }

func (l *Language) pastBag(c kitchen.Cook) string {
	return l.Bag(kitchen.Bag{Name: c.Name, Request: cook.Request{Food: c.Food, Pieces: 1}})
}

func (l *Language) cookData(c kitchen.Cook, o BagOptions) Data {
	return Data{
		"Bag": capital(l.pastBag(c)), "Water": l.Temperature(c.Setpoint, o.Units), "Thickness": l.Thickness(c.Thickness, o.Units),
		"Time": l.Span(quantity.FloorTo(max(0, c.Pulled.Sub(c.Started)), time.Minute)),
		"Ago":  l.ago(o.Now.Sub(c.Pulled)), "Verdict": l.Rated(c.Rating),
	}
}

// noted adds the note, if there is one.
func (l *Language) noted(line string, c kitchen.Cook) string {
	if c.Note == "" {
		return line
	}
	return l.Say(LogNote, Data{"Line": line, "Note": Echo(c.Note)})
}

// ago prints how long ago something was, no finer than anybody asks: whole days, hours or minutes.
func (l *Language) ago(d time.Duration) string {
	for _, unit := range [...]time.Duration{24 * time.Hour, time.Hour} {
		if d >= unit {
			return l.Span(quantity.FloorTo(d, unit))
		}
	}
	return l.Span(quantity.FloorTo(max(time.Minute, d), time.Minute))
}

// Rated says a rating in a word or two.
func (l *Language) Rated(rating uint8) string {
	switch {
	case rating == 0:
		return l.Say(LogUnrated, nil)
	case rating < kitchen.JustRight:
		return l.Say(LogSoft, nil)
	case rating > kitchen.JustRight:
		return l.Say(LogFirm, nil)
	}
	return l.Say(LogRight, nil)
}

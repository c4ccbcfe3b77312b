package bot

import (
	"cmp"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"

	"bagwatch/internal/kitchen"
	"bagwatch/internal/phrase"
	"bagwatch/internal/reply"
)

// diaryLine is a message about the water, or about a core, as it was understood.
type diaryLine struct {
	entry kitchen.Entry
	ends  bool // the power is back, the lid on: from entry.At
	list  bool // the diary itself is asked for
	needs bool // a time of day was typed and the chat has no clock
	timed bool // a time was said
	text  string
}

// The grammar is the same for all languages; its words are the lists typed.* of the locale:
//
//	line  = what { time | figure | filler }
//	what  = bath | powerout | powerback | lidoff | lidon | bagin … coldbag | topup | core | diary
//	time  = clock | clock until clock | span ago | span
//	clock = 18:40 | 6:40 pm | 6 pm | 18h40
//	span  = 20 min | 1 h
//
// A word that is none of these makes it a message about something else, but for a core, which may name a
// food.
var (
	clockShape = regexp.MustCompile(`\b([01]?\d|2[0-4])[:h]([0-5]\d)(?:\s*(am|pm)\b)?|\b(1[0-2]|[1-9])\s*(am|pm)\b`)
	// hoursShape is from one bare hour to another time, "de 18h à 18h20": two moments, not a span and a moment.
	hoursShape = regexp.MustCompile(`\b([01]?\d|2[0-4])h(\s+\p{L}+\s+|\s*[-–]\s*)([01]?\d|2[0-4])h([0-5]\d)?\b`)
	spanShape  = regexp.MustCompile(`(\d+(?:[.,]\d+)?)\s*([\p{L}]+)`)
)

// readDiary reads a message as a line of the bath diary.
func (t *turn) readDiary(text string) (diaryLine, bool) {
	line := diaryLine{text: text}
	s := strings.ToLower(strings.TrimSpace(strings.ReplaceAll(text, "’", "'")))
	s = " " + strings.Join(strings.Fields(strings.TrimRight(s, ".!")), " ") + " "
	take := func(id reply.ID) bool {
		words := t.lang.Words(id)
		slices.SortStableFunc(words, func(a, b string) int { return len(b) - len(a) })
		for _, w := range words {
			if i := strings.Index(s, " "+w+" "); i >= 0 {
				s = s[:i] + " " + s[i+len(w)+1:]
				return true
			}
		}
		return false
	}
	e := &line.entry
	e.At = t.in.At
	switch {
	case strings.TrimSpace(s) != "" && slices.Contains(t.lang.Words(reply.TypedDiary), strings.TrimSpace(s)):
		line.list = true
		return line, true
	case take(reply.TypedPowerback):
		e.Kind, line.ends = kitchen.PowerOut, true
	case take(reply.TypedPowerout):
		e.Kind = kitchen.PowerOut
	case take(reply.TypedLidon):
		e.Kind, line.ends = kitchen.LidOff, true
	case take(reply.TypedLidoff):
		e.Kind = kitchen.LidOff
	case take(reply.TypedColdbag):
		if !take(reply.TypedBagin) {
			return line, false
		}
		e.Kind = kitchen.ColdBags
	case take(reply.TypedTopup):
		e.Kind = kitchen.WaterAdded
	case take(reply.TypedCore):
		e.Kind = kitchen.CoreAt
	case take(reply.TypedBath):
		e.Kind = kitchen.BathAt
	default:
		return line, false
	}
	return line, t.readDiaryRest(&line, s, take)
}

// readDiaryRest reads times and figures; false when something else stands there.
func (t *turn) readDiaryRest(line *diaryLine, s string, take func(reply.ID) bool) bool {
	var clocks []phrase.ClockTime
	s = hoursShape.ReplaceAllStringFunc(s, func(m string) string {
		parts := hoursShape.FindStringSubmatch(m)
		return parts[1] + ":00" + parts[2] + parts[3] + ":" + cmp.Or(parts[4], "00")
	})
	s = clockShape.ReplaceAllStringFunc(s, func(m string) string {
		clocks = append(clocks, readClock(clockShape.FindStringSubmatch(m)))
		return " "
	})
	var span time.Duration
	s = spanShape.ReplaceAllStringFunc(s, func(m string) string {
		parts := spanShape.FindStringSubmatch(m)
		d, ok := t.span(parts[1], parts[2])
		if !ok {
			return m
		}
		span += d
		return " "
	})
	ago := contains(spaced(s), t.lang.Words(reply.TypedAgo))
	until := contains(spaced(s), t.lang.Words(reply.TypedUntil)) && len(clocks) == 1
	skip := map[string]bool{}
	for _, id := range [...]reply.ID{reply.TypedAgo, reply.TypedUntil, reply.TypedDiaryfill, reply.TypedFiller} {
		for _, w := range t.lang.Words(id) {
			skip[w] = true
		}
	}
	var kept []string
	for w := range strings.FieldsSeq(strings.NewReplacer("-", " ", "–", " ", "?", " ", ", ", " ").Replace(s)) {
		_, unit := t.vocabulary().units[w]
		switch {
		case unicode.IsDigit([]rune(w)[0]), unit && len(kept) > 0:
			kept = append(kept, w)
		case !skip[w] && line.entry.Kind != kitchen.CoreAt:
			return false
		}
	}
	figures, words := t.vocabulary().figures(strings.Join(kept, " "))
	return len(words) == 0 && t.readFigures(line, figures) && t.readTimes(line, clocks, span, ago, until)
}

// span is a figure with a word for minutes or hours.
func (t *turn) span(figure, word string) (time.Duration, bool) {
	v, err := strconv.ParseFloat(strings.Replace(figure, ",", ".", 1), 64)
	unit := time.Duration(0)
	switch {
	case slices.Contains(t.lang.Words(reply.TypedMinute), word):
		unit = time.Minute
	case slices.Contains(t.lang.Words(reply.TypedHour), word):
		unit = time.Hour
	}
	return time.Duration(v * float64(unit)), err == nil && unit > 0 && v <= 1000
}

// readClock reads a time of day that clockShape found.
func readClock(m []string) phrase.ClockTime {
	hour, minute, half := m[1], m[2], m[3]
	if hour == "" {
		hour, minute, half = m[4], "0", m[5]
	}
	h, _ := strconv.Atoi(hour) // the shape holds digits only
	n, _ := strconv.Atoi(minute)
	c := phrase.ClockTime{Hour: h % 24, Minute: n, Either: half == "" && h >= 1 && h <= 12 && len(hour) < 2}
	switch {
	case half == "pm" && h < 12:
		c.Hour += 12
	case half == "am" && h == 12:
		c.Hour = 0
	}
	return c
}

// readFigures gives the figures their place by what the line is about.
func (t *turn) readFigures(line *diaryLine, figures []figure) bool {
	e := &line.entry
	switch e.Kind {
	case kitchen.BathAt, kitchen.CoreAt:
		if len(figures) == 0 || len(figures) > 1 && e.Kind == kitchen.BathAt {
			return false
		}
		degrees, ok := figures[0].temperature(t.units)
		e.Temperature = degrees
		return ok
	case kitchen.ColdBags:
		e.Count = 1
		if len(figures) == 1 && figures[0].unit == unitNone {
			e.Count = int(figures[0].value)
		}
		return len(figures) <= 1 && e.Count > 0
	case kitchen.WaterAdded:
		if len(figures) == 1 {
			v, ok := figures[0].volume()
			e.Litres = v
			return ok && v > 0
		}
	}
	return len(figures) == 0
}

// readTimes lays the line's times on the clock.
func (t *turn) readTimes(line *diaryLine, clocks []phrase.ClockTime, span time.Duration, ago, until bool) bool {
	e, now := &line.entry, t.in.At
	line.timed = len(clocks) > 0 || span > 0
	lasts := (e.Kind == kitchen.PowerOut || e.Kind == kitchen.LidOff) && !line.ends
	zone := t.zone()
	switch {
	case len(clocks) > 2, len(clocks) == 2 && !lasts:
		return false
	case len(clocks) > 0 && zone == nil:
		line.needs = true
		return true
	case len(clocks) == 2:
		e.At = lastAt(clocks[0], now.In(zone))
		if end := clockAfter(clocks[1], e.At); !end.After(now) { // else it still goes on
			e.Until = end
		}
	case len(clocks) == 1 && until && lasts: // it ended then, and began nobody knows when
		return false
	case len(clocks) == 1:
		e.At = lastAt(clocks[0], now.In(zone))
		if lasts && span > 0 && !e.At.Add(span).After(now) {
			e.Until = e.At.Add(span)
		}
	case span > 0 && lasts && !ago: // "power out for 20 min": it is back
		e.At, e.Until = now.Add(-span), now
	case span > 0:
		e.At = now.Add(-span)
	}
	return true
}

// clockAfter is the first time after a moment at which the clock showed c.
func clockAfter(c phrase.ClockTime, after time.Time) time.Time {
	hours := []int{c.Hour}
	if c.Either {
		hours = append(hours, (c.Hour+12)%24)
	}
	var first time.Time
	for _, h := range hours {
		for _, days := range []int{0, 1} {
			at := time.Date(after.Year(), after.Month(), after.Day()+days, h, c.Minute, 0, 0, after.Location())
			if at.After(after) && (first.IsZero() || at.Before(first)) {
				first = at
			}
		}
	}
	return first
}

package phrase

import "math"

// clock reads a time of day at item i and gives the item behind it, or i.
func (r *reader) clock(i int) int {
	before := r.cuesBefore(i)
	c := clockFact{span: span{from: i}, before: before}
	it := r.at(i)
	if m, ok := it.has(kindClock); ok {
		c.Hour, c.span.end = int(m.value)%24, i+1
		return r.keepClock(c)
	}
	if it.sort == sortClock {
		t := r.token(i)
		c.Hour, c.Minute, c.span.end = int(t.value), int(t.minute), i+1
		m, _ := r.at(i + 1).has(kindUnit)
		moment := before&(cueSince|cueBy|cueServe|cueAt) != 0
		if m.unit == unitHour && moment { // a las 20:30 h
			c.span.end++
		} else if m.unit == unitHour { // 1:30 h
			a := amount{num: num{value: float64(c.Hour*60+c.Minute) * 60, end: i + 2}, class: classTime, from: i}
			r.use(i, i+2)
			r.place(a, false)
			return i + 2
		}
		c.Either = c.Hour >= 1 && c.Hour <= 12 && (t.digits == 1 || c.Hour >= 10)
		return r.halfDay(c, true)
	}
	n, ok := r.unsigned(i)
	if !ok || n.bad || n.article || n.value < 0 {
		return i
	}
	c.span.end = n.end
	moment := before&(cueSince|cueBy) != 0 || before&cueServe != 0 && before&cueAt != 0
	hour := math.Floor(n.value)
	switch m, _ := r.at(n.end).has(kindUnit); {
	case m.unit == unitOClock && hour <= 24: // 17 Uhr 10
		c.Hour, c.Minute, c.span.end = int(hour), minutes(n), n.end+1
		if t := r.token(c.span.end); t.sort == sortNumber && t.digits == 2 && t.decimals == 0 && !t.fraction && t.value < 60 && n.whole {
			if u, _ := r.unitAt(c.span.end + 1); u == unitNone {
				c.Minute, c.span.end = int(t.value), c.span.end+1
			}
		}
		c.Either = c.Hour >= 1 && c.Hour <= 12
		return r.halfDay(c, true)
	case m.unit == unitHour && moment && before&cueIn&^cueSince == 0 && n.whole && hour <= 24: // 17h10
		t := r.token(n.end + 1)
		minute := t.sort == sortNumber && !t.spaced && t.digits == 2 && t.value < 60
		if !minute && hour < 13 {
			return i
		}
		c.Hour, c.span.end = int(hour), n.end+1
		if minute {
			c.Minute, c.span.end = int(t.value), n.end+2
		}
		return r.halfDay(c, true)
	case r.is(n.end, cueAM|cuePM) && hour >= 1 && hour <= 12 && (n.whole || n.decimals == 2):
		c.Hour, c.Minute = int(hour), minutes(n)
		return r.halfDay(c, true)
	}
	if u, _ := r.unitAt(n.end); u != unitNone || r.at(i).sort == sortWord && !moment {
		return i
	}
	switch {
	case n.four && (moment || before&cueServe != 0) && hour < 2400 && int(hour)%100 < 60:
		c.Hour, c.Minute = int(hour)/100, int(hour)%100
	case moment && hour <= 24 && n.whole && !r.foodFollows(n.end): // "put in 2 steaks" is no time
		c.Hour = int(hour)
		c.Either = c.Hour >= 1 && c.Hour <= 12
	case moment && hour < 24 && n.decimals == 2 && minutes(n) >= 0:
		c.Hour, c.Minute = int(hour), minutes(n)
		c.Either = c.Hour >= 1 && c.Hour <= 12
	default:
		return i
	}
	return r.halfDay(c, false)
}

// minutes reads the decimals of 17.10 as minutes; -1 when they are none.
func minutes(n num) int {
	m := int(math.Round((n.value - math.Floor(n.value)) * 100))
	if n.decimals != 0 && n.decimals != 2 || m >= 60 {
		return -1
	}
	return m
}

// halfDay takes up am and pm and keeps the clock time. Sure clocks are kept as such even
// when they are out of range: they are unplaced then.
func (r *reader) halfDay(c clockFact, sure bool) int {
	if m, ok := r.at(c.span.end).has(kindUnit); ok && m.unit == unitOClock {
		c.span.end++
	}
	switch at := r.at(c.span.end); {
	case c.Hour > 12:
	case at.cues()&cueAM != 0:
		c.Hour, c.Either = c.Hour%12, false
		c.span.end++
	case at.cues()&cuePM != 0:
		c.Hour, c.Either = c.Hour%12+12, false
		c.span.end++
	}
	if c.Minute < 0 || c.Hour > 24 {
		if !sure {
			return c.from
		}
		r.unplaced(c.from, c.span.end, WhyForm)
		return c.span.end
	}
	if c.Hour == 24 {
		c.Hour = 0
	}
	return r.keepClock(c)
}

func (r *reader) keepClock(c clockFact) int {
	r.use(c.from, c.span.end)
	if !r.clocks.add(c) {
		r.unplaced(c.from, c.span.end, WhyClock)
	}
	return c.span.end
}

// resolveClocks decides what happens at each clock time.
func (r *reader) resolveClocks() {
	running := r.u.Intent == IntentSafe || r.u.Intent == IntentStart || r.u.Intent == IntentReady
	for _, c := range r.clocks.all() {
		to := &r.u.ServeAt
		switch b := c.before; {
		case b&cueSince != 0:
			to = &r.u.Since
		case b&(cueServe|cueBy|cueFor) != 0:
		case b&cueIn != 0 || running:
			to = &r.u.Since
		case b&cueAt != 0:
		default:
			to = nil
		}
		if to == nil {
			r.unplaced(c.from, c.span.end, WhyClock)
			continue
		}
		if *to != nil && **to != c.ClockTime {
			r.unplaced(c.from, c.span.end, WhySecond)
			continue
		}
		t := c.ClockTime
		*to = &t
	}
}

package phrase

// amount is a number with its unit, in the base unit of its class.
type amount struct {
	num
	class class
	unit  unit
	from  int  // first item
	vague bool // about, or the larger end of a range
	other int  // first item of the other end of a range, 0 when there is none
	until int  // item behind that other end
}

// unitAt reads a unit at item i: a word, an inch mark, ° with or without a letter.
func (r *reader) unitAt(i int) (unit, int) {
	it := r.at(i)
	switch {
	case r.isSymbol(i, symHyphen) && !r.token(i).spaced && !r.token(i+1).spaced && i+1 < len(r.items): // 2-inch
		if u, ok := r.at(i + 1).has(kindUnit); ok && u.unit.class() != classNone {
			return u.unit, i + 2
		}
	case r.isSymbol(i, symQuote):
		return unitInch, i + 1
	case r.isSymbol(i, symDegree):
		return r.degree(i + 1)
	}
	m, ok := it.has(kindUnit)
	if !ok {
		return unitNone, i
	}
	if m.unit == unitDegree {
		return r.degree(i + 1)
	}
	return m.unit, i + 1
}

// degree reads the C or F behind a degree sign.
func (r *reader) degree(i int) (unit, int) {
	if m, ok := r.at(i).has(kindUnit); ok && (m.unit == unitCelsius || m.unit == unitFahrenheit) {
		return m.unit, i + 1
	}
	return unitDegree, i
}

// amount reads a number with a unit at item i. A bare "inch" or "hour" is one where the
// words around it say so.
func (r *reader) amount(i int) (amount, bool) {
	n, ok := r.number(i)
	if !ok {
		return r.bareUnit(i)
	}
	j := n.end
	for r.is(j, cueAbout) && r.at(j).sort == sortWord { // 3-ish cm
		j++
	}
	u, end := r.unitAt(j)
	if u == unitNone || u == unitOClock || u == unitMinuteShort {
		return amount{}, false
	}
	// "1 in the fridge", "2 in at 17:10": the inch is only that where no other reading is at hand.
	if u == unitInch && r.is(j, cueIn) && r.at(j).sort == sortWord && r.inIsPreposition(end) {
		return amount{}, false
	}
	if n.grouped && !u.coarse() && u.class() != classHeat {
		n.bad = true
	}
	a := amount{num: n, class: u.class(), unit: u, from: i, vague: j > n.end}
	a.end = end
	a.value = u.base(n.value)
	r.compound(&a)
	return a, true
}

// inIsPreposition reports that what follows "2 in" makes it the preposition.
func (r *reader) inIsPreposition(i int) bool {
	it := r.at(i)
	if _, ok := it.has(kindStart); ok {
		return true
	}
	return it.sort == sortClock || it.cues()&(cueSince|cueAt) != 0 && it.sort == sortWord && r.at(i+1).sort == sortClock
}

// bareUnit reads "inch thick", "about inch", "hour and a half".
func (r *reader) bareUnit(i int) (amount, bool) {
	m, ok := r.at(i).has(kindUnit)
	if !ok || r.is(i, cueIn) {
		return amount{}, false
	}
	a := amount{num: num{value: 1, whole: true, end: i + 1}, class: m.unit.class(), unit: m.unit, from: i}
	a.value = m.unit.base(1)
	switch a.class {
	case classLength:
		ok = r.is(i+1, cueThick) || r.isSymbol(i+1, symHyphen) && r.is(i+2, cueThick) || r.cuesBefore(i)&cueAbout != 0
	case classMass, classTime:
		ok = false
	default:
		return amount{}, false
	}
	r.compound(&a)
	return a, ok || a.end > i+1
}

// compound adds what belongs to the same amount: 1 lb 4 oz, 1 h 30, 1 1/2, an inch and a half.
func (r *reader) compound(a *amount) {
	if a.class == classHeat || a.class == classPiece || a.class == classGuest || a.negative || a.bad {
		return
	}
	for {
		j := a.end
		if r.is(j, cueAnd) {
			if v, end, ok := r.fraction(j + 1); ok && a.whole { // a pound and a half
				if _, isUnit := r.at(end).has(kindUnit); !isUnit {
					a.value += a.unit.base(v)
					a.whole, a.end = false, end
					return
				}
			}
			j++
		}
		n, ok := r.unsigned(j)
		if !ok || n.bad || !a.whole {
			return
		}
		u, end := r.unitAt(n.end)
		switch {
		case u != unitNone && a.unit.finer(u) && !r.is(end, cueEach):
			a.value += u.base(n.value)
			a.unit, a.whole, a.end = u, n.whole, end
		case u == unitNone && a.unit == unitHour && n.whole && !n.article && r.minutesOf(a.end, n):
			a.value += n.value * 60
			a.whole, a.end = false, n.end
			return
		case u == unitNone && a.unit == unitKilogram && n.whole && !n.article && r.gramsOf(a.end, j, n) > 0:
			a.value += r.gramsOf(a.end, j, n) / 1000
			a.whole, a.end = false, n.end
			return
		default:
			return
		}
	}
}

// gramsOf gives the grams of a bare number behind kilograms, 0 when it is none: "1 kg 200" and "1kg e 200",
// three digits; "1kg5" and "1kg25", tenths and hundredths of a kilogram written right behind.
func (r *reader) gramsOf(behind, i int, n num) float64 {
	t := r.token(i)
	if t.sort != sortNumber {
		return 0
	}
	switch glued := i == behind && !t.spaced; {
	case t.digits == 3 && n.value >= 100:
		return n.value
	case glued && t.digits == 2:
		return 10 * n.value
	case glued && t.digits == 1:
		return 100 * n.value
	}
	return 0
}

// minutesOf reports whether a bare number behind hours is minutes: always in "1h30"; in
// "1 h 30" only a multiple of five below the usual bath temperatures.
func (r *reader) minutesOf(i int, n num) bool {
	if n.value >= 60 {
		return false
	}
	if t := r.token(i); t.sort == sortNumber && !t.spaced && t.digits == 2 {
		return true
	}
	return n.value >= 5 && n.value <= 45 && int(n.value)%5 == 0
}

// rangeMark finds what joins the ends of a range at item i, and gives the item behind it.
func (r *reader) rangeMark(i int) (int, bool) {
	if r.isSymbol(i, symHyphen) && r.token(i).spaced == r.token(i+1).spaced || r.is(i, cueTo|cueOr) {
		return i + 1, true
	}
	return i + 1, r.is(i, cueAnd) && r.between
}

// maxSpread bounds a range: what is wider is no range ("2 - 450 g").
const maxSpread = 5

// quantity reads an amount or a range of amounts at item i: 2-3 cm, 2 cm to 3 cm.
func (r *reader) quantity(i int) (amount, bool) {
	a, ok := r.amount(i)
	if !ok {
		// 2-3 cm: only the second end has the unit
		n, isNumber := r.number(i)
		if !isNumber || n.negative || n.bad || n.article {
			return amount{}, false
		}
		j, isRange := r.rangeMark(n.end)
		if !isRange {
			return amount{}, false
		}
		high, ok := r.amount(j)
		if !ok || high.negative || high.bad || high.class == classNone {
			return amount{}, false
		}
		low := amount{num: n, class: high.class, unit: high.unit, from: i}
		low.value = high.unit.base(n.value)
		return r.span(low, high)
	}
	j, isRange := r.rangeMark(a.end)
	if !isRange || a.negative || a.bad || a.class == classHeat && r.is(a.end, cueOr) { // 54C or 60C is no range
		return a, true
	}
	high, ok := r.amount(j)
	if !ok || high.class != a.class || high.negative || high.bad {
		return a, true
	}
	if s, ok := r.span(a, high); ok {
		return s, true
	}
	return a, true
}

// span makes one amount of the ends of a range: the safe end counts.
func (r *reader) span(low, high amount) (amount, bool) {
	if high.value <= low.value || high.value > maxSpread*low.value {
		return amount{}, false
	}
	s := high
	s.from, s.other, s.until = low.from, low.from, low.num.end
	switch low.class {
	case classLength: // thicker
		s.vague = true
	case classMass: // heavier
	default: // cooler, shorter, fewer
		s.value, s.whole = low.value, low.whole
		s.other, s.until = high.from, high.end
	}
	s.end = high.end
	return s, true
}

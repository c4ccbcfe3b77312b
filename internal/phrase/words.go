package phrase

import (
	"math"
	"slices"

	"bagwatch/internal/cook"
	"bagwatch/internal/food"
)

// word reads a phrase that is no number.
func (r *reader) word(i int) {
	it := &r.items[i]
	if it.sort == sortSymbol {
		r.u.Question = r.u.Question || it.symbol == symQuestion
		return
	}
	if it.unknown() {
		r.unplaced(i, i+1, WhyWord)
		return
	}
	denied := r.cuesBefore(i)&cueNot != 0
	idle := true // nothing but a unit, which alone says nothing
	for _, m := range it.means {
		idle = idle && m.kind == kindUnit && m.unit.class() != classPiece && m.unit.class() != classGuest
		switch m.kind {
		case kindFood, kindVague, kindRefused:
			if !r.names.add(span{i, i + 1}) {
				r.unplaced(i, i+1, WhySecond)
			}
			return
		case kindDoneness:
			switch {
			case denied:
				r.u.Denied.Doneness = true
			case !r.donesses.add(span{i, i + 1}):
				r.unplaced(i, i+1, WhySecond)
			}
			return
		case kindStart:
			r.start(i, cook.StartKind(m.id), denied)
			return
		case kindFlag:
			r.flag(i, m.id, denied)
			return
		case kindShape:
			r.u.Request.Shape = cook.ShapeOverride(m.id)
			return
		case kindBath:
			r.u.Request.Bath = cook.BathKind(m.id)
			return
		case kindIntent:
			// "ready at 19:30" says when to serve, not what is asked.
			if r.u.Intent == "" && !denied && !(Intent(m.id) == IntentReady && r.timeFollows(i+1)) {
				r.u.Intent = Intent(m.id)
			}
			return
		}
	}
	if r.is(i, cueEach) && !(r.thick.some() && r.thick.end == i) {
		_, ok := r.number(i + 1)
		r.each = r.each || !ok
	}
	if r.is(i, cueArticle) {
		next := i + 1
		if a, ok := r.quantity(next); ok { // a 3 cm ribeye
			next = a.end
		}
		r.one = r.one || r.foodFollows(next)
	}
	if idle {
		r.unplaced(i, i+1, WhyWord)
	}
}

// timeFollows reports a clock time or a span at item i, small words skipped.
func (r *reader) timeFollows(i int) bool {
	for k := i; k < i+3; k++ {
		if r.is(k, cueAt|cueBy|cueIn|cueFor|cueAbout) || r.filler(k) {
			continue
		}
		n, ok := r.number(k)
		_, word := r.at(k).has(kindClock)
		return word || r.at(k).sort == sortClock || ok && !n.article
	}
	return false
}

func (r *reader) start(i int, s cook.StartKind, denied bool) {
	req := &r.u.Request
	switch {
	case denied:
		r.u.Denied.Start = true
	case req.Start == "":
		req.Start = s
	case req.Start != s && req.Start != cook.StartGiven:
		r.unplaced(i, i+1, WhySecond)
	}
}

func (r *reader) flag(i int, id string, denied bool) {
	req, d := &r.u.Request, &r.u.Denied
	yes, no := &req.AtRisk, &d.AtRisk
	switch id {
	case flagAtRiskBefore:
		if r.foodFollows(i + 1) {
			return // baby carrots
		}
	case flagNonIntact:
		yes, no = &req.NonIntact, &d.NonIntact
	case flagCured:
		yes, no = &req.Cured, &d.Cured
	case flagPasteurised:
		yes, no = &req.Pasteurised, &d.Pasteurised
	}
	if denied {
		yes = no
	}
	*yes = true
}

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
		if m, ok := r.at(i + 1).has(kindUnit); ok && m.unit == unitHour { // 1:30 h
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
	case moment && hour <= 24 && n.whole:
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

// resolveFood picks the food among the names, and the doneness that fits it.
func (r *reader) resolveFood() {
	main := -1 // the item of the food: the first that is spelt right
	for _, s := range r.names.all() {
		if _, ok := r.items[s.from].has(kindFood); ok && (main < 0 || r.items[main].corrected && !r.items[s.from].corrected) && !r.onlyDoneness(s.from) {
			main = s.from
		}
	}
	if main >= 0 {
		m, _ := r.items[main].has(kindFood)
		r.u.Food = FoodMatch{ID: food.ID(m.id), Typed: r.slice(main, main+1), Corrected: r.items[main].corrected}
	}
	r.resolveNames(main)
	r.resolveDoneness()
	r.u.Request.Food = r.u.Food.ID
}

// onlyDoneness reports a food that is also the id of a doneness ("custard") beside another
// name that has this doneness.
func (r *reader) onlyDoneness(i int) bool {
	d, ok := r.items[i].has(kindFood)
	if !ok {
		return false
	}
	for _, s := range r.names.all() {
		for _, m := range r.items[s.from].means {
			if s.from == i || m.kind != kindFood {
				continue
			}
			if r.has(food.ID(m.id), food.Doneness(d.id)) {
				return true
			}
		}
	}
	return false
}

// resolveNames settles the names beside the main food: vague words narrow each other down.
func (r *reader) resolveNames(main int) {
	var options []food.ID
	var typed span
	corrected := false
	for _, s := range r.names.all() {
		it := &r.items[s.from]
		if s.from == main {
			continue
		}
		if m, ok := it.has(kindRefused); ok {
			switch {
			case r.cuesBefore(s.from)&cueNot != 0:
			case it.corrected && main >= 0 && !r.items[main].corrected:
				r.unplaced(s.from, s.end, WhyWord)
			case r.u.RefusedFood == "":
				r.u.RefusedFood, r.u.RefusedTyped = m.id, r.slice(s.from, s.end)
			}
			continue
		}
		if m, ok := it.has(kindFood); ok {
			switch {
			case r.onlyDoneness(s.from):
				r.donesses.add(s)
			case it.corrected:
				r.unplaced(s.from, s.end, WhyWord)
			case food.ID(m.id) != r.u.Food.ID:
				r.unplaced(s.from, s.end, WhySecond)
			}
			continue
		}
		m, _ := it.has(kindVague)
		fits := r.p.book.vague[m.id]
		switch {
		case main >= 0:
			if !slices.Contains(fits, r.u.Food.ID) && !r.beside(s.from, main) {
				r.unplaced(s.from, s.end, WhySecond)
			}
		case options == nil:
			options, typed, corrected = fits, s, it.corrected
		default:
			if both := common(options, fits); len(both) > 0 {
				options, typed.end, corrected = both, s.end, corrected || it.corrected
			} else {
				r.unplaced(s.from, s.end, WhySecond)
			}
		}
	}
	if len(options) > 0 {
		r.u.Food = FoodMatch{
			ID: options[0], Typed: r.slice(typed.from, typed.end), Corrected: corrected,
			Vague: len(options) > 1, Alternatives: options[1:],
		}
		if !r.u.Food.Vague {
			r.u.Food.Alternatives = nil
		}
	}
}

// beside reports that only filler stands between two items.
func (r *reader) beside(i, j int) bool {
	for k := min(i, j) + 1; k < max(i, j); k++ {
		if !r.filler(k) || r.is(k, cueAnd) {
			return false
		}
	}
	return true
}

// common keeps the foods of a that are in b too, in the order of a.
func common(a, b []food.ID) []food.ID {
	var both []food.ID
	for _, id := range a {
		if slices.Contains(b, id) {
			both = append(both, id)
		}
	}
	return both
}

// resolveDoneness takes the first doneness that the food has; one that it has not is said.
// A vague word narrows to the foods that have it ("beef, fork tender").
func (r *reader) resolveDoneness() {
	req := &r.u.Request
	for _, s := range r.donesses.all() {
		id, ok := r.fitting(s.from)
		switch {
		case !ok:
			r.unplaced(s.from, s.end, WhyDoneness)
		case req.Doneness == "":
			req.Doneness = id
		case req.Doneness != id:
			r.unplaced(s.from, s.end, WhySecond)
		}
	}
}

// fitting picks the doneness of item i that the food has. Without a food it is the first.
func (r *reader) fitting(i int) (food.Doneness, bool) {
	id := r.u.Food.ID
	if id == "" {
		id = r.base
	}
	for _, m := range r.items[i].means {
		if m.kind != kindDoneness && m.kind != kindFood {
			continue
		}
		d := food.Doneness(m.id)
		if id == "" || r.has(id, d) {
			return d, true
		}
		for k, other := range r.u.Food.Alternatives {
			if r.has(other, d) {
				rest := append([]food.ID{id}, r.u.Food.Alternatives[:k]...)
				r.u.Food.Alternatives = append(rest, r.u.Food.Alternatives[k+1:]...)
				r.u.Food.ID = other
				return d, true
			}
		}
	}
	return "", false
}

func (r *reader) has(id food.ID, d food.Doneness) bool {
	f, ok := r.p.book.foods.Food(id)
	if !ok {
		return false
	}
	_, ok = f.Step(d)
	return ok
}

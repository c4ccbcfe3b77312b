package phrase

import (
	"slices"
	"unicode/utf8"

	"bagwatch/internal/cook"
	"bagwatch/internal/food"
	"bagwatch/internal/quantity"
)

// reader holds one message while it is read. Its arrays keep the usual message off the heap.
type reader struct {
	p     *Parser
	typed string
	base  food.ID // the food that is amended, "" for a message of its own
	toks  []token
	items []item
	u     Understood

	steps   int  // look-ups, candidates and items read, for the test of the bound
	between bool // "between 2 and 3 cm" is being read
	massEnd int  // item behind the mass
	mass    span
	thick   span
	bath    span // the setpoint that had a unit
	below   span // a temperature below zero that nothing called the start
	belowAt quantity.Temperature
	one     bool // "a ribeye"
	searing bool // a word about searing stood before, in the same clause
	each    bool // "each" stands for itself, beside no amount

	clocks    facts[clockFact]
	degrees   facts[degreeFact] // bare numbers that may be the bath's temperature
	strangers facts[span]       // foods that are not in the catalogue
	vague     span              // the words of a vague food
	names     facts[span]       // items that are foods, vague words, refused foods
	donesses  facts[span]
	loose     []looseToken

	tokBuf   [48]token
	itemBuf  [48]item
	foldBuf  [192]byte
	looseBuf [6]looseToken
}

// span is a run of items [from, end); the zero value is none.
type span struct{ from, end int }

func (s span) some() bool { return s.end > s.from }

// facts is a short list; what does not fit is unplaced.
type facts[T any] struct {
	list [6]T
	n    int
}

func (f *facts[T]) add(v T) bool {
	if f.n == len(f.list) {
		return false
	}
	f.list[f.n] = v
	f.n++
	return true
}

func (f *facts[T]) all() []T { return f.list[:f.n] }

type clockFact struct {
	ClockTime
	span
	before cue
}

type degreeFact struct {
	num
	span
	beforeFood bool
}

// looseToken is a token that was not used, with its place in the message.
type looseToken struct {
	Token
	at int32
}

// Parse reads a message. It never fails: what is wrong is in Understood.Problem.
func (p *Parser) Parse(text string) Understood {
	return p.read(text, "")
}

func (p *Parser) read(text string, base food.ID) Understood {
	r := reader{p: p, typed: text, base: base}
	r.parse()
	return r.u
}

func (r *reader) parse() {
	if len(r.typed) > MaxRunes && utf8.RuneCountInString(r.typed[:min(len(r.typed), utf8.UTFMax*MaxRunes+1)]) > MaxRunes {
		r.u.Problem = &Problem{ID: ProblemTooLong, Count: MaxRunes}
		return
	}
	toks, folded := cut(r.typed, r.tokBuf[:0], r.foldBuf[:0])
	m := matcher{p: r.p, folded: folded, toks: toks, tries: maxCorrections}
	r.toks = toks
	r.items = m.items(r.itemBuf[:0])
	r.steps = m.steps
	r.loose = r.looseBuf[:0]
	for i := 0; i < len(r.items); {
		i = r.step(i)
	}
	r.resolve(folded)
}

// step reads what begins at item i and gives the item behind it.
func (r *reader) step(i int) int {
	if r.items[i].used {
		return i + 1
	}
	if end := r.clock(i); end > i {
		return end
	}
	r.between = r.cuesBefore(i)&cueBetween != 0
	if a, ok := r.quantity(i); ok {
		r.use(a.from, a.end)
		r.place(a, false)
		return a.end
	}
	if n, ok := r.number(i); ok && !n.article {
		return r.plain(n, i)
	}
	r.word(i)
	return i + 1
}

// use marks items as understood.
func (r *reader) use(from, end int) {
	for i := from; i < end && i < len(r.items); i++ {
		r.items[i].used = true
	}
}

// slice gives items [from, end) as typed.
func (r *reader) slice(from, end int) string {
	a, b := r.toks[r.items[from].tok], r.toks[r.items[end-1].end-1]
	return r.typed[a.from:b.to]
}

// unplaced keeps items [from, end) to be said.
func (r *reader) unplaced(from, end int, why Reason) {
	if from >= end {
		return
	}
	r.use(from, end)
	r.loose = append(r.loose, looseToken{Token{r.slice(from, end), why}, r.items[from].tok})
}

// problem keeps the first problem.
func (r *reader) problem(p Problem) {
	if r.u.Problem == nil {
		r.u.Problem = &p
	}
}

// maxCueRun bounds how far back a small word may stand from what it steers.
const maxCueRun = 6

// cuesBefore gathers the small words directly before item i, filler skipped.
func (r *reader) cuesBefore(i int) cue {
	var c cue
	for k := i - 1; k >= 0 && k >= i-maxCueRun; k-- {
		it := &r.items[k]
		bits := it.cues()
		if bits == 0 && !r.filler(k) {
			break
		}
		c |= bits
	}
	return c
}

// place puts an amount where its unit says it belongs. Each is set when a count stood before it.
func (r *reader) place(a amount, each bool) {
	before := r.cuesBefore(a.from)
	at := span{a.from, a.end}
	switch {
	case a.bad:
		r.unplaced(a.from, a.end, WhyForm)
		return
	case before&cueSear != 0, r.searing && a.class == classTime:
		r.unplaced(a.from, a.end, WhyAmount)
		return
	case a.class != classHeat && a.value <= 0:
		r.problem(Problem{ID: ProblemNotPositive, Typed: r.slice(a.from, a.end)})
		return
	}
	if a.until > a.other && a.class != classLength {
		r.unplaced(a.other, a.until, WhyRange)
	}
	each = each || (before|r.at(a.end).cues())&cueEach != 0
	if m, ok := r.at(a.end).has(kindUnit); ok && m.unit == unitPiece { // 125 g portions
		each = true
	}
	switch a.class {
	case classMass:
		r.placeMass(quantity.Mass(a.value), at, each)
	case classLength:
		about := a.vague || (before|r.at(a.end).cues())&cueAbout != 0
		r.placeLength(quantity.Length(a.value), at, before, about)
	case classHeat:
		r.placeHeat(quantity.Temperature(a.value), at, before)
	case classTime:
		r.placeTime(a, before)
	case classPiece:
		r.pieces(a.num, at)
	case classGuest:
		if a.whole && a.value <= maxPieces {
			r.u.Guests = int(a.value)
		}
	}
}

// same is how near two figures for one thing may lie and still be one: "450 g (1 lb)".
const same = 0.03

func alike(a, b float64) bool { return max(a, b)-min(a, b) <= same*max(a, b) }

func (r *reader) placeMass(m quantity.Mass, at span, each bool) {
	req := &r.u.Request
	switch {
	case m > maxMass:
		r.problem(Problem{ID: ProblemTooMuch, Typed: r.slice(at.from, at.end)})
	case r.mass.some() && !alike(float64(m), float64(req.Mass)): // of two pieces the heavier one counts
		req.MassEach = req.MassEach || each || req.Pieces > 1
		if m > req.Mass {
			req.Mass = m
			at, r.mass = r.mass, at
		}
		r.unplaced(at.from, at.end, WhySecond)
	case !r.mass.some():
		req.Mass, req.MassEach = m, each
		r.mass, r.massEnd = at, at.end
	case each:
		req.MassEach = true
	}
}

func (r *reader) placeLength(l quantity.Length, at span, before cue, about bool) {
	req := &r.u.Request
	switch {
	case (before|r.at(at.end).cues())&cueLong != 0:
		r.unplaced(at.from, at.end, WhyDimension)
	case l > maxThickness:
		r.problem(Problem{ID: ProblemTooMuch, Typed: r.slice(at.from, at.end)})
	case !r.thick.some():
		req.Thickness, req.ThicknessVague = l, about
		r.thick = at
	case alike(float64(l), float64(req.Thickness)):
	case r.is(at.from-1, cueTimes): // 3 x 8 x 20 cm: the shortest side counts
		if l < req.Thickness {
			l, req.Thickness = req.Thickness, l
			at, r.thick = r.thick, at
		}
		r.unplaced(at.from, at.end, WhyDimension)
	default: // two thicknesses: the fatter one counts
		if l > req.Thickness {
			req.Thickness = l
			at, r.thick = r.thick, at
		}
		req.ThicknessVague = true
		r.unplaced(at.from, at.end, WhySecond)
	}
}

// A piece can start no warmer than a hot kitchen; above it "from" speaks of the bath.
const (
	warmestStart quantity.Temperature = 40
	coldestStart quantity.Temperature = -90
	hottestBath  quantity.Temperature = hottestCelsius
)

// sameHeat is how near two setpoints may lie and still be one: "60 °C (140 °F)", each rounded
// to a whole degree by whoever wrote it.
const sameHeat quantity.Difference = 0.6

func (r *reader) placeHeat(t quantity.Temperature, at span, before cue) {
	req := &r.u.Request
	start := before&cueFrom != 0 || r.is(at.end, cueColdStart)
	switch {
	case start && t <= warmestStart && t >= coldestStart:
		req.Start, req.StartAt = cook.StartGiven, t
	case t < 0 && t >= coldestStart:
		r.below, r.belowAt = at, t // "frozen -18 C" may still explain it
	case t <= 0 || t > hottestBath:
		r.problem(Problem{ID: ProblemTemperature, Typed: r.slice(at.from, at.end), Temperature: t})
	case !r.bath.some():
		req.Setpoint, req.HasSetpoint = t, true
		r.bath = at
	case quantity.Difference(max(t, req.Setpoint)-min(t, req.Setpoint)) > sameHeat:
		r.problem(Problem{
			ID: ProblemTwoSetpoint, Temperature: t,
			Typed: r.slice(r.bath.from, r.bath.end), Other: r.slice(at.from, at.end),
		})
	}
}

func (r *reader) placeTime(a amount, before cue) {
	d := quantity.Minutes(a.value / 60)
	switch {
	case d > maxSpan:
		r.problem(Problem{ID: ProblemTooMuch, Typed: r.slice(a.from, a.end)})
	case r.is(a.end, cueAgo), before&(cueSince|cueAgo) != 0: // 20 min ago, vor 20 min
		r.u.Ago = d
	case before&cueServe != 0 && before&cueIn != 0:
		r.u.ServeIn = d
	case r.u.Request.Span != 0:
		r.unplaced(a.from, a.end, WhySecond)
	default:
		r.u.Request.Span = d
	}
}

// pieces keeps a count.
func (r *reader) pieces(n num, at span) {
	switch {
	case n.value <= 0:
		r.problem(Problem{ID: ProblemNotPositive, Typed: r.slice(at.from, at.end)})
	case !n.whole:
		r.unplaced(at.from, at.end, WhyNumber)
	case n.value > maxPieces:
		r.problem(Problem{ID: ProblemTooMuch, Typed: r.slice(at.from, at.end)})
	case r.u.Request.Pieces != 0 && r.u.Request.Pieces != int(n.value):
		r.unplaced(at.from, at.end, WhySecond)
	default:
		r.use(at.from, at.end)
		r.u.Request.Pieces = int(n.value)
	}
}

// The house rules for bare numbers; see the package comment.
const (
	mostCounted  = 39  // an integer before a food is a count up to here
	leastBath    = 40  // °C
	leastBathAt  = 25  // °C, when "at" says it is a temperature
	hottestBareF = 212 // °F, boiling at sea level
)

// plain reads a number without a unit and gives the item behind it.
func (r *reader) plain(n num, i int) int {
	before := r.cuesBefore(i)
	at := span{i, n.end}
	r.use(i, n.end)
	switch {
	case n.bad, r.isSymbol(n.end, symPercent):
		r.unplaced(i, n.end, WhyForm)
		return n.end
	case before&cueFrom != 0 && n.value <= float64(warmestStart) && n.value >= float64(coldestStart):
		r.u.Request.Start, r.u.Request.StartAt = cook.StartGiven, quantity.Temperature(n.value)
		return n.end
	case n.negative:
		r.problem(Problem{ID: ProblemNotPositive, Typed: r.slice(i, n.end)})
		return n.end
	case r.is(n.end, cueTimes):
		return r.times(n, at)
	case r.glued(i): // the grade of "striploin a5"
		r.unplaced(i, n.end, WhyNumber)
		return n.end
	case r.is(i-1, cueTimes) && n.whole: // x3, 200 g x 2
		r.pieces(n, at)
		if r.mass.some() && r.massEnd == i-1 {
			r.u.Request.MassEach = true
		}
		return n.end
	}
	end := n.end
	if j, ok := r.rangeMark(n.end); ok { // 2-3 ribeyes, 54-56
		if high, ok := r.number(j); ok && !high.bad && !high.article && high.value > n.value && high.value <= maxSpread*n.value {
			r.unplaced(j, high.end, WhyRange)
			end = high.end
		}
	}
	counted := n.whole && n.value <= mostCounted
	if a, ok := r.quantity(end); ok && counted && n.value > 0 && (a.class == classMass || a.class == classLength) {
		r.pieces(n, at)
		r.use(a.from, a.end)
		r.place(a, a.class == classMass) // 2 200 g
		return a.end
	}
	if a, ok := r.quantity(end + 1); ok && counted && r.isSymbol(end, symAt) && a.class == classMass { // 2 @ 150 g
		r.pieces(n, at)
		r.use(a.from, a.end)
		r.place(a, true)
		return a.end
	}
	food := n.whole && r.foodFollows(end)
	switch {
	case food && counted:
		r.pieces(n, at)
	case n.value >= leastBath && n.value <= hottestBareF, before&cueAt != 0 && n.value >= leastBathAt:
		if n.grouped || !r.degrees.add(degreeFact{n, at, food}) {
			r.unplaced(i, n.end, WhyNumber)
		}
	default:
		r.unplaced(i, n.end, WhyNumber)
	}
	return end
}

// glued reports a number written behind letters without a space, a times sign excepted.
func (r *reader) glued(i int) bool {
	it, t := r.at(i-1), r.token(i)
	return it.sort == sortWord && t.sort == sortNumber && !t.spaced && it.cues()&(cueTimes|cueAt|cueAbout) == 0
}

// times reads what stands before a "×": 2 x 200 g, 2 x ribeye, 3 x 8 x 20 cm.
func (r *reader) times(n num, at span) int {
	j := at.end + 1
	if a, ok := r.quantity(j); ok && (a.class == classMass || a.class == classLength) {
		r.pieces(n, at)
		r.use(a.from, a.end)
		r.place(a, a.class == classMass)
		return a.end
	}
	if m, ok := r.number(j); ok && r.is(m.end, cueTimes) { // sides, the unit behind the last
		if a, ok := r.amount(m.end + 1); ok && a.class == classLength && !n.negative && !m.negative {
			r.use(at.from, a.end)
			r.placeLength(quantity.Length(a.unit.base(n.value)), at, 0, false)
			r.placeLength(quantity.Length(a.unit.base(m.value)), span{j, m.end}, 0, false)
			r.placeLength(quantity.Length(a.value), span{a.from, a.end}, 0, false)
			return a.end
		}
	}
	r.pieces(n, at)
	return at.end + 1
}

// foodFollows reports whether item i begins the name of a food, after adjectives at most.
func (r *reader) foodFollows(i int) bool {
	for k, unknown := i, 0; k < len(r.items) && k < i+5; k++ {
		it := &r.items[k]
		if it.sort != sortWord {
			return false
		}
		for _, m := range it.means {
			switch m.kind {
			case kindFood, kindVague, kindRefused:
				return true
			}
		}
		switch {
		case it.unknown():
			if unknown++; unknown > 2 {
				return false
			}
		case r.adjective(k):
		default:
			return false
		}
	}
	return false
}

// adjective reports words that may stand between a count and its food.
func (r *reader) adjective(i int) bool {
	for _, m := range r.at(i).means {
		switch m.kind {
		case kindFiller, kindDoneness, kindStart, kindFlag, kindShape:
			return true
		case kindCue:
			if m.cue == cueThick {
				return true
			}
		}
	}
	return false
}

// resolve settles what depends on the whole message.
func (r *reader) resolve(folded []byte) {
	r.resolveFood()
	r.resolveHeat()
	r.resolveClocks()
	if r.each && (r.mass.some() || r.base != "") {
		r.u.Request.MassEach = true
	}
	if r.one && r.u.Request.Pieces == 0 {
		r.u.Request.Pieces = 1
	}
	switch {
	case !slices.ContainsFunc(r.toks, func(t token) bool { return t.sort != sortSymbol }):
		r.problem(Problem{ID: ProblemEmpty})
	case r.u.Problem == nil && r.u.Request.Food == "" && r.u.RefusedFood == "" && r.u.Intent.needsFood():
		r.suggest(folded)
	}
	if len(r.loose) == 0 {
		return
	}
	slices.SortStableFunc(r.loose, func(a, b looseToken) int { return int(a.at - b.at) })
	r.u.Unplaced = make([]Token, len(r.loose))
	for i, l := range r.loose {
		r.u.Unplaced[i] = l.Token
	}
}

// resolveHeat gives the bare numbers and the one below zero their place.
func (r *reader) resolveHeat() {
	req := &r.u.Request
	for _, d := range r.degrees.all() {
		switch {
		case !r.bath.some():
			t := quantity.Temperature(unitDegree.base(d.value))
			if t > hottestBath {
				r.problem(Problem{ID: ProblemTemperature, Typed: r.slice(d.from, d.span.end), Temperature: t})
				continue
			}
			req.Setpoint, req.HasSetpoint = t, true
			r.bath = d.span
		case d.beforeFood && req.Pieces == 0:
			r.pieces(d.num, d.span)
		default:
			r.unplaced(d.from, d.span.end, WhyNumber)
		}
	}
	if r.below.some() {
		if req.Start == cook.StartFrozen {
			req.Start, req.StartAt = cook.StartGiven, r.belowAt
			return
		}
		r.problem(Problem{ID: ProblemTemperature, Typed: r.slice(r.below.from, r.below.end), Temperature: r.belowAt})
	}
}

// suggest reports that no food was named, with foods whose names are near the unknown words.
func (r *reader) suggest(folded []byte) {
	p := Problem{ID: ProblemNoFood}
	for tried, i := 0, 0; i < len(r.items) && tried < 3; i++ {
		if !r.items[i].unknown() {
			continue
		}
		tried++
		if p.Typed == "" {
			p.Typed = r.slice(i, i+1)
		}
		for _, id := range r.p.suggested(folded, r.token(i)) {
			if len(p.Suggestions) < maxSuggestions && !slices.Contains(p.Suggestions, id) {
				p.Suggestions = append(p.Suggestions, id)
			}
		}
	}
	r.problem(p)
}

// suggested finds foods with a word near a token, for long words one letter farther than is
// corrected.
func (p *Parser) suggested(folded []byte, t token) []food.ID {
	rs := []rune(string(folded[t.a:t.b]))
	limit := allowed(len(rs))
	if limit == 0 {
		return nil
	}
	var ids [maxTied]wordID
	if len(rs) >= longCorrected+2 {
		limit++
	}
	n, _, _ := p.near(rs, limit, suggestions, &ids)
	var foods []food.ID
	for _, id := range ids[:n] {
		foods = append(foods, p.book.words[id].foods...)
	}
	return foods
}

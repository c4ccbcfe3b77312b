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

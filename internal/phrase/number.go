package phrase

// num is a number as read, with how it was written.
type num struct {
	value    float64
	negative bool
	bad      bool // in no form we read
	whole    bool // an integer in digits or words
	grouped  bool // 1,200: three decimals that may be thousands
	article  bool // only "a"
	four     bool // four digits, no mark: 1710 may be a time
	decimals int8
	end      int // item behind it
}

// at gives the item at i, an empty symbol beyond the ends.
func (r *reader) at(i int) *item {
	if i < 0 || i >= len(r.items) {
		return &nothing
	}
	return &r.items[i]
}

// nothing stands beyond the ends of a message. It is never written to.
var nothing = item{sort: sortSymbol, symbol: symStop, used: true}

func (r *reader) is(i int, c cue) bool { return r.at(i).cues()&c != 0 }

func (r *reader) isSymbol(i int, s byte) bool {
	it := r.at(i)
	return it.sort == sortSymbol && it.symbol == s
}

// token gives the first token of item i.
func (r *reader) token(i int) token {
	if i < 0 || i >= len(r.items) {
		return token{sort: sortSymbol, symbol: symStop, spaced: true}
	}
	return r.toks[r.items[i].tok]
}

// number reads a number at item i: digits, fractions, words, and what they combine to.
func (r *reader) number(i int) (num, bool) {
	r.steps++
	negative := false
	switch {
	case r.isSymbol(i, symMinus), r.is(i, cueMinus) && r.at(i).sort == sortWord:
		negative = true
		i++
	case r.isSymbol(i, symHyphen) && r.token(i).spaced && !r.token(i+1).spaced && r.token(i+1).sort == sortNumber:
		negative = true // " -3 cm", but neither "steak - 3 cm" nor "steak-3cm"
		i++
	}
	n, ok := r.unsigned(i)
	if !ok {
		return num{}, false
	}
	n.negative = negative
	if negative {
		n.value = -n.value
	}
	return n, true
}

func (r *reader) unsigned(i int) (num, bool) {
	r.steps++
	it := r.at(i)
	switch it.sort {
	case sortNumber:
		return r.digits(i), true
	case sortWord:
		return r.words(i)
	default:
		return num{}, false
	}
}

// digits reads 2, 2.5, 1/2, 2 1/2, 2-1/2, 2½, 2 dozen and 2 and a half.
func (r *reader) digits(i int) num {
	t := r.token(i)
	n := num{value: t.value, bad: t.bad, end: i + 1, decimals: t.decimals}
	n.whole = t.decimals == 0 && !t.fraction && !t.bad
	n.four = n.whole && t.digits == 4
	n.grouped = t.decimals == 3 && t.digits <= 3 && t.value >= 1
	if !n.whole {
		return n
	}
	j := i + 1
	if r.isSymbol(j, symHyphen) && !r.token(j).spaced {
		j++
	}
	if f := r.token(j); f.sort == sortNumber && f.fraction && !f.bad && f.value < 1 {
		n.value += f.value
		n.whole, n.four, n.end = false, false, j+1
		return n
	}
	if m, ok := r.at(i + 1).has(kindMultiple); ok {
		n.value *= m.value
		n.four, n.end = false, i+2
		return n
	}
	r.andFraction(&n)
	return n
}

// andFraction adds "and a half", "and three quarters" behind a whole number.
func (r *reader) andFraction(n *num) {
	j := n.end
	if !r.is(j, cueAnd) {
		return
	}
	if v, end, ok := r.fraction(j + 1); ok {
		n.value += v
		n.whole, n.four, n.end = false, false, end
	}
}

// fraction reads "half", "a quarter", "three quarters", ½ and 1/2.
func (r *reader) fraction(i int) (v float64, end int, ok bool) {
	if t := r.token(i); t.sort == sortNumber && t.fraction && !t.bad && t.value < 1 {
		return t.value, i + 1, true
	}
	times := 1.0
	if r.is(i, cueArticle) {
		i++
	} else if m, ok := r.at(i).has(kindNumber); ok && m.value <= 9 {
		times = m.value
		i++
	}
	m, ok := r.at(i).has(kindFraction)
	if !ok || times*m.value >= 1 {
		return 0, i, false
	}
	return times * m.value, i + 1, true
}

// words reads numbers in words: two, twenty-five, a hundred and forty, half a dozen.
func (r *reader) words(i int) (num, bool) {
	if v, end, ok := r.fraction(i); ok {
		n := num{value: v, end: end}
		// half [of] [a] dozen; the article before a unit is taken up by the unit.
		for j := end; j < end+3; j++ {
			if m, ok := r.at(j).has(kindMultiple); ok {
				n.value *= m.value
				n.whole, n.end = n.value == float64(int(n.value)), j+1
				break
			}
			if !r.is(j, cueArticle) && !r.filler(j) {
				break
			}
		}
		if !n.whole { // half an inch, three quarters of an inch
			j := n.end
			for j < n.end+2 && r.filler(j) {
				j++
			}
			if r.is(j, cueArticle) {
				j++
			}
			if _, ok := r.at(j).has(kindUnit); ok {
				n.end = j
			}
		}
		return n, true
	}
	n, ok := r.tens(i)
	if !ok {
		switch _, multiple := r.at(i).has(kindMultiple); {
		case r.is(i, cueArticle):
			n = num{value: 1, whole: true, article: true, end: i + 1}
		case multiple:
			n = num{value: 1, whole: true, end: i} // "dozen eggs"
		default:
			return num{}, false
		}
	}
	m, ok := r.at(n.end).has(kindMultiple)
	if !ok {
		r.andFraction(&n)
		return n, true
	}
	n.value, n.article, n.end = n.value*m.value, false, n.end+1
	if m.value == 100 { // a hundred and forty
		j := n.end
		if r.is(j, cueAnd) {
			j++
		}
		if rest, ok := r.tens(j); ok && rest.whole && !rest.article {
			n.value, n.end = n.value+rest.value, rest.end
		}
	}
	return n, true
}

// tens reads a number word, or two for the likes of twenty-five.
func (r *reader) tens(i int) (num, bool) {
	m, ok := r.at(i).has(kindNumber)
	if !ok {
		return num{}, false
	}
	n := num{value: m.value, whole: m.value == float64(int(m.value)), end: i + 1}
	// In some languages "one" is the article.
	n.article = n.value == 1 && r.is(i, cueArticle)
	j := n.end
	if r.isSymbol(j, symHyphen) && !r.token(j).spaced {
		j++
	}
	if u, ok := r.at(j).has(kindNumber); ok && m.value >= 20 && m.value < 100 && int(m.value)%10 == 0 && u.value < 10 {
		n.value, n.end = n.value+u.value, j+1
	}
	return n, true
}

func (r *reader) filler(i int) bool {
	_, ok := r.at(i).has(kindFiller)
	return ok
}

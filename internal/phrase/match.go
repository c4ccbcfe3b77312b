package phrase

import "unicode/utf8"

// item is a phrase, a number or a symbol of a message, the unit the grammar works on.
type item struct {
	tok, end  int32 // tokens [tok, end)
	means     []meaning
	sort      sort
	symbol    byte
	corrected bool // some word of it was misspelt
	used      bool // part of something understood
	elided    bool // what an apostrophe cut off
}

// has finds a meaning of a kind; a shared word has several.
func (it *item) has(k kind) (meaning, bool) {
	for _, m := range it.means {
		if m.kind == k {
			return m, true
		}
	}
	return meaning{}, false
}

// cues gives the bits of all small words the item may be.
func (it *item) cues() cue {
	switch {
	case it.sort == sortSymbol && it.symbol == symAt:
		return cueAt
	case it.sort == sortSymbol && it.symbol == symAbout:
		return cueAbout
	case it.sort == sortSymbol && (it.symbol == symAnd || it.symbol == symPlus):
		return cueAnd
	case it.sort == sortSymbol && it.symbol == symTimes:
		return cueTimes
	case it.sort == sortSymbol && it.symbol == symMinus:
		return cueMinus
	}
	var c cue
	for _, m := range it.means {
		if m.kind == kindCue {
			c |= m.cue
		}
	}
	return c
}

// unknown reports a word that is not in the vocabulary.
func (it *item) unknown() bool { return it.sort == sortWord && len(it.means) == 0 }

// maxCorrections bounds the misspelt words that are looked for in one message, and with it
// the work for a message of nonsense. The rest are unknown words.
const maxCorrections = 16

// matcher finds the phrases of a message.
type matcher struct {
	p      *Parser
	folded []byte
	toks   []token
	tries  int // corrections left
	steps  int // look-ups and candidates so far, for the test of the bound
}

// options are the known words a token may be: itself, itself without an ending, or, when
// corrected is set, what it may have been meant to be.
type options struct {
	ids       [maxTied]wordID
	n         int
	corrected bool
}

func (m *matcher) text(i int) []byte { return m.folded[m.toks[i].a:m.toks[i].b] }

// known finds the token's own word and those it is an inflected form of.
func (m *matcher) known(text []byte) options {
	var o options
	if id, ok := m.p.book.ids[string(text)]; ok {
		o.ids[o.n] = id
		o.n++
	}
	for _, lang := range m.p.order[:min(2, len(m.p.order))] {
		for _, ending := range m.p.book.endings[lang] {
			stem := len(text) - len(ending)
			if stem < 3 || o.n == maxTied || string(text[stem:]) != ending {
				continue
			}
			if id, ok := m.p.book.ids[string(text[:stem])]; ok && m.p.book.words[id].langs&(1<<lang) != 0 {
				o.ids[o.n] = id
				o.n++
			}
		}
	}
	return o
}

// correct finds what a misspelt token may have been meant to be.
func (m *matcher) correct(text []byte) options {
	o := options{corrected: true}
	var buf [maxCorrected]rune
	rs := buf[:0]
	for i := 0; i < len(text); {
		if len(rs) == maxCorrected {
			return o
		}
		r, size := utf8.DecodeRune(text[i:])
		rs = append(rs, r)
		i += size
	}
	limit := allowed(len(rs))
	if limit == 0 || m.tries == 0 {
		return o
	}
	m.tries--
	n, looked, over := m.p.near(rs, limit, corrections, &o.ids)
	m.steps += looked
	if over {
		n = 0
	}
	o.n = n
	return o
}

// found is the longest phrase that begins at a token.
type found struct {
	end       int
	node      phraseID
	corrected bool
	tied      bool // corrections lead to phrases of equal length and different meaning
}

// walk follows the tree of phrases from a node on and keeps the longest phrase in best.
func (m *matcher) walk(at phraseID, i int, o options, corrected bool, best *found, depth int) {
	for _, id := range o.ids[:o.n] {
		m.steps++
		n, ok := m.p.book.next[edge(at, id)]
		if !ok {
			continue
		}
		fixed := corrected || o.corrected
		if len(m.means(n)) > 0 {
			switch {
			case i+1 > best.end || i+1 == best.end && best.corrected && !fixed:
				*best = found{end: i + 1, node: n, corrected: fixed}
			case i+1 == best.end && best.corrected && fixed && !sameMeaning(m.means(n), m.means(best.node)):
				best.tied = true
			}
		}
		j := m.following(i)
		if j < 0 || depth == maxPhrase {
			continue
		}
		further := m.known(m.text(j))
		if further.n == 0 {
			further = m.correct(m.text(j))
		}
		m.walk(n, j, further, fixed, best, depth+1)
	}
}

// following is the token that may continue a phrase after token i: the next word, or the one
// behind a hyphen ("medium-rare", "t-bone").
func (m *matcher) following(i int) int {
	j := i + 1
	if j < len(m.toks) && m.toks[j].sort == sortSymbol && m.toks[j].symbol == symHyphen && !m.toks[j].spaced {
		j++
	}
	if j < len(m.toks) && m.toks[j].sort == sortWord {
		return j
	}
	return -1
}

// means gives the meanings of a phrase in the first language that has any.
func (m *matcher) means(n phraseID) []meaning {
	means := m.p.book.nodes[n].means
	for _, lang := range m.p.order {
		if lang < len(means) && len(means[lang]) > 0 {
			return means[lang]
		}
	}
	return nil
}

func sameMeaning(a, b []meaning) bool {
	if len(a) != len(b) {
		return false
	}
	for i := range a {
		if a[i] != b[i] {
			return false
		}
	}
	return true
}

// longest finds the longest phrase at token i: as written, run together with the next word
// ("rib eye" for "ribeye"), or misspelt.
func (m *matcher) longest(i int) (found, bool) {
	var best found
	o := m.known(m.text(i))
	m.walk(0, i, o, false, &best, 1)
	if best.tied { // a misspelt word further on that may mean two things: read no further than what is sure
		tries := m.tries
		best, m.tries = found{}, 0
		m.walk(0, i, o, false, &best, 1)
		m.tries = tries
	}
	if best.end > 0 {
		return best, true
	}
	if j := m.following(i); j > 0 {
		// The folded words of neighbours lie side by side, so their union is a slice.
		joined := m.folded[m.toks[i].a:m.toks[j].b]
		if id, ok := m.p.book.ids[string(joined)]; ok {
			if n, ok := m.p.book.next[edge(0, id)]; ok && len(m.means(n)) > 0 {
				return found{end: j + 1, node: n}, true
			}
		}
	}
	m.walk(0, i, m.correct(m.text(i)), false, &best, 1)
	if best.end == 0 || best.tied {
		return best, false
	}
	// A short word that is only near a filler word ("code", "core") is said, not swallowed.
	filler := m.means(best.node)[0].kind == kindFiller && len(m.text(i)) < longCorrected
	return best, !filler
}

// items cuts the tokens into phrases.
func (m *matcher) items(into []item) []item {
	for i := 0; i < len(m.toks); {
		t := &m.toks[i]
		it := item{tok: int32(i), end: int32(i + 1), sort: t.sort, symbol: t.symbol}
		if t.sort == sortWord {
			if f, ok := m.longest(i); ok {
				it.end, it.means, it.corrected = int32(f.end), m.means(f.node), f.corrected
			}
		}
		if t.elided && it.end == it.tok+1 && t.b-t.a <= 2 {
			it.means, it.used, it.elided = nil, true, true // the s of grandma's, the re of they're
		}
		i = int(it.end)
		into = append(into, it)
	}
	return into
}

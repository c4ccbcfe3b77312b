package phrase

// The distances at which a misspelt word is still taken for a known one: one letter for
// words of 4 to 6 letters, two from 7 on, none for shorter ones. House rule. Both words must
// also begin alike, or cake would be hake and Zanderfilet (pike-perch) Rinderfilet (beef).
const (
	minCorrected  = 4
	longCorrected = 7
	maxCorrected  = 20
)

// maxTied bounds the equally near words that are tried; more are no correction at all.
const maxTied = 4

// allowed is the largest distance for a word of n letters.
func allowed(n int) int {
	switch {
	case n < minCorrected || n > maxCorrected:
		return 0
	case n < longCorrected:
		return 1
	default:
		return 2
	}
}

// purpose says what near words are wanted for: to take one for what was meant, or to show
// foods that may have been meant, which is freer.
type purpose bool

const (
	corrections purpose = false
	suggestions purpose = true
)

// near finds the known words at the smallest distance from rs that is at most limit, those of
// the chat's language first: when it has one, no other language counts. It looks at each
// candidate of about the same length once (looked counts them); most fall out at the letter mask.
func (p *Parser) near(rs []rune, limit int, purpose purpose, into *[maxTied]wordID) (n, looked int, over bool) {
	mask := letters(rs)
	best, bestOwn := limit, false
	shortest := minCorrected
	if purpose == suggestions {
		shortest = 3
	}
	own := uint32(1) << p.order[0]
	for length := max(len(rs)-limit, shortest); length <= len(rs)+limit && length < len(p.book.byLength); length++ {
		looked += len(p.book.byLength[length])
		for _, id := range p.book.byLength[length] {
			w := &p.book.words[id]
			if purpose == suggestions && len(w.foods) == 0 {
				continue
			}
			if differing(mask, w.mask) > 2*best {
				continue
			}
			if purpose == corrections && !beginAlike(rs, w.runes) {
				continue
			}
			d := distance(rs, w.runes, best)
			if d > best {
				continue
			}
			isOwn := w.langs&own != 0
			switch {
			case n == 0 || d < best || isOwn && !bestOwn:
				best, bestOwn, n, over = d, isOwn, 0, false
			case !isOwn && bestOwn:
				continue
			}
			if n == maxTied {
				over = true
				continue
			}
			into[n] = id
			n++
		}
	}
	return n, looked, over
}

// beginAlike reports the same first letter, or the first two swapped.
func beginAlike(a, b []rune) bool {
	return a[0] == b[0] || len(a) > 1 && len(b) > 1 && a[0] == b[1] && a[1] == b[0]
}

// distance is the Damerau–Levenshtein distance in its restricted form (no letter is edited
// twice): insertions, deletions, changes and swaps of neighbours that turn a into b. It
// stops with limit+1 as soon as limit cannot be met. Words have at most maxCorrected+2 runes.
func distance(a, b []rune, limit int) int {
	if len(a)-len(b) > limit || len(b)-len(a) > limit || len(b) > maxCorrected+2 || len(a) > maxCorrected+2 {
		return limit + 1
	}
	var rows [3][maxCorrected + 3]int8
	before, last, row := &rows[0], &rows[1], &rows[2]
	for j := range len(b) + 1 {
		last[j] = int8(j)
	}
	for i := 1; i <= len(a); i++ {
		row[0] = int8(i)
		least := row[0]
		for j := 1; j <= len(b); j++ {
			cost := int8(1)
			if a[i-1] == b[j-1] {
				cost = 0
			}
			d := min(last[j]+1, row[j-1]+1, last[j-1]+cost)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				d = min(d, before[j-2]+1)
			}
			row[j] = d
			least = min(least, d)
		}
		if int(least) > limit {
			return limit + 1
		}
		before, last, row = last, row, before
	}
	return int(last[len(b)])
}

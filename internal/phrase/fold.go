package phrase

import (
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"
)

// sort says what a token is.
type sort uint8

const (
	sortWord sort = iota
	sortNumber
	sortClock  // 17:10
	sortSymbol // one of the runes of symbols, in token.symbol
)

// token is a word, a number or a symbol of a message.
type token struct {
	from, to int32 // bytes of the message as typed
	a, b     int32 // bytes of its folded form
	sort     sort
	symbol   byte
	spaced   bool // white space or the start of the message stands before it
	elided   bool // an apostrophe ties it to the word before
	digits   int8 // digits before the decimal mark
	decimals int8 // digits after it
	fraction bool // written as 1/2 or ½
	bad      bool // a number in no form we read: 1.200,5 or 7/9 or 15 digits
	value    float64
	minute   int8 // of a clock
}

// The symbols that mean something; every other one is white space. The minus is apart from
// the hyphen because only the former always means "less than zero".
const (
	symHyphen   = '-'
	symMinus    = 'm'
	symStop     = ',' // comma, semicolon, new line: what stands before does not steer what follows
	symQuote    = '"'
	symDegree   = 'o'
	symSlash    = '/'
	symQuestion = '?'
	symPlus     = '+'
	symAbout    = '~'
	symAt       = '@'
	symAnd      = '&'
	symTimes    = '*'
	symPercent  = '%'
)

// symbolOf folds the symbols that phones and keyboards put for the same thing.
func symbolOf(r rune) byte {
	switch r {
	case '-', '–', '—', '‒', '‐', '‑':
		return symHyphen
	case '−', '﹣', '－':
		return symMinus
	case ',', ';', '\n', '\r', '，', '、':
		return symStop
	case '"', '″', '”', '“', '„', '‟':
		return symQuote
	case '°', 'º', '˚':
		return symDegree
	case '/', '⁄', '∕':
		return symSlash
	case '?', '？', '¿':
		return symQuestion
	case '+':
		return symPlus
	case '~', '≈', '∼':
		return symAbout
	case '@':
		return symAt
	case '&':
		return symAnd
	case '*', '×', '✕', '✖', '⨯':
		return symTimes
	case '%':
		return symPercent
	default:
		return 0
	}
}

func isApostrophe(r rune) bool {
	switch r {
	case '\'', '’', '‘', '′', 'ʼ', '`', '´':
		return true
	}
	return false
}

// fractionOf is the value of a fraction character.
func fractionOf(r rune) float64 {
	switch r {
	case '½':
		return 1.0 / 2
	case '⅓':
		return 1.0 / 3
	case '⅔':
		return 2.0 / 3
	case '¼':
		return 1.0 / 4
	case '¾':
		return 3.0 / 4
	case '⅕':
		return 1.0 / 5
	case '⅖':
		return 2.0 / 5
	case '⅗':
		return 3.0 / 5
	case '⅘':
		return 4.0 / 5
	case '⅙':
		return 1.0 / 6
	case '⅚':
		return 5.0 / 6
	case '⅛':
		return 1.0 / 8
	case '⅜':
		return 3.0 / 8
	case '⅝':
		return 5.0 / 8
	case '⅞':
		return 7.0 / 8
	default:
		return 0
	}
}

// appendFolded appends r in lower case, without accents, in its plain (compatibility) form.
// Runes that show nothing (marks, joiners, direction overrides) append nothing.
func appendFolded(dst []byte, r rune) []byte {
	if r < utf8.RuneSelf {
		if 'A' <= r && r <= 'Z' {
			r += 'a' - 'A'
		}
		return append(dst, byte(r))
	}
	switch unicode.ToLower(r) {
	case 'ß':
		return append(dst, "ss"...)
	case 'ø':
		return append(dst, 'o')
	case 'æ':
		return append(dst, "ae"...)
	case 'œ':
		return append(dst, "oe"...)
	case 'ł':
		return append(dst, 'l')
	case 'ı':
		return append(dst, 'i')
	}
	var one [utf8.UTFMax]byte
	n := utf8.EncodeRune(one[:], r)
	d := norm.NFKD.Properties(one[:n]).Decomposition()
	if d == nil {
		d = one[:n]
	}
	for len(d) > 0 {
		c, size := utf8.DecodeRune(d)
		d = d[size:]
		if unicode.In(c, unicode.Mn, unicode.Me, unicode.Cf) {
			continue
		}
		dst = utf8.AppendRune(dst, unicode.ToLower(c))
	}
	return dst
}

// invisible reports runes that are skipped as if they were not there.
func invisible(r rune) bool {
	return r >= utf8.RuneSelf && unicode.In(r, unicode.Mn, unicode.Me, unicode.Cf)
}

// Classes of runes while a message is cut into tokens.
const (
	classSpace = iota
	classLetter
	classDigit
	classOther
)

// classOf looks at the folded form of one rune.
func classOf(folded []byte) int {
	r, _ := utf8.DecodeRune(folded)
	switch {
	case '0' <= r && r <= '9':
		return classDigit
	case unicode.IsLetter(r):
		return classLetter
	case unicode.IsSpace(r):
		return classSpace
	default:
		return classOther
	}
}

// cutter cuts a message into tokens in one pass.
type cutter struct {
	typed  string
	folded []byte
	toks   []token
}

// cut appends the tokens of typed to toks and returns them with the folded text they point into.
func cut(typed string, toks []token, folded []byte) ([]token, []byte) {
	c := cutter{typed: typed, folded: folded, toks: toks}
	spaced, elided := true, false
	for i := 0; i < len(typed); {
		r, size := utf8.DecodeRuneInString(typed[i:])
		switch {
		case invisible(r):
			i += size
			continue
		case isApostrophe(r):
			if next, n := utf8.DecodeRuneInString(typed[i+size:]); n > 0 && isApostrophe(next) {
				c.symbol(i, i+size+n, symQuote, spaced) // 1.5''
				i += size + n
				spaced = false
				continue
			}
			elided = !spaced && len(c.toks) > 0 && c.toks[len(c.toks)-1].sort == sortWord
			i += size
			spaced = !elided
			continue
		}
		if f := fractionOf(r); f > 0 {
			c.number(token{from: int32(i), to: int32(i + size), value: f, fraction: true, spaced: spaced})
			i += size
			spaced, elided = false, false
			continue
		}
		if s := symbolOf(r); s != 0 {
			c.symbol(i, i+size, s, spaced)
			i += size
			// What follows a symbol directly is not spaced, save after a stop.
			spaced, elided = s == symStop, false
			continue
		}
		start := len(c.folded)
		c.folded = appendFolded(c.folded, r)
		class := classSpace
		if len(c.folded) > start {
			class = classOf(c.folded[start:])
		}
		switch {
		case class == classDigit, r == '.' && spaced && i+1 < len(typed) && isDigit(typed[i+1]):
			c.folded = c.folded[:start]
			i = c.digits(i, spaced)
			spaced = false
		case class == classLetter:
			i = c.word(i+size, i, start, spaced, elided)
			spaced = false
		case r == '℃', r == '℉':
			c.folded = c.folded[:start]
			c.symbol(i, i+size, symDegree, spaced)
			c.folded = append(c.folded, map[rune]byte{'℃': 'c', '℉': 'f'}[r])
			i = c.word(i+size, i, len(c.folded)-1, false, false)
			spaced = false
		default:
			c.folded = c.folded[:start]
			i += size
			spaced = true
		}
		elided = false
	}
	return c.toks, c.folded
}

func isDigit(b byte) bool { return '0' <= b && b <= '9' }

func (c *cutter) symbol(from, to int, s byte, spaced bool) {
	c.toks = append(c.toks, token{from: int32(from), to: int32(to), sort: sortSymbol, symbol: s, spaced: spaced})
}

func (c *cutter) number(t token) {
	t.sort = sortNumber
	c.toks = append(c.toks, t)
}

// word goes on from i with the letters of a word whose first rune is folded already.
func (c *cutter) word(i, from, start int, spaced, elided bool) int {
	for i < len(c.typed) {
		r, size := utf8.DecodeRuneInString(c.typed[i:])
		if invisible(r) {
			i += size
			continue
		}
		if symbolOf(r) != 0 || isApostrophe(r) || fractionOf(r) > 0 {
			break
		}
		at := len(c.folded)
		c.folded = appendFolded(c.folded, r)
		if len(c.folded) > at && classOf(c.folded[at:]) == classLetter {
			i += size
			continue
		}
		c.folded = c.folded[:at]
		break
	}
	c.toks = append(c.toks, token{
		from: int32(from), to: int32(i), a: int32(start), b: int32(len(c.folded)),
		sort: sortWord, spaced: spaced, elided: elided,
	})
	return i
}

// maxDigits bounds what is read as a number; nothing in a kitchen has more.
const maxDigits = 9

// run reads digits, wide ones too, from i on.
func (c *cutter) run(i int) (value float64, digits, next int) {
	for i < len(c.typed) {
		r, size := utf8.DecodeRuneInString(c.typed[i:])
		if '０' <= r && r <= '９' {
			r -= '０' - '0'
		}
		if invisible(r) && digits > 0 {
			i += size
			continue
		}
		if r < '0' || r > '9' {
			break
		}
		if digits < maxDigits {
			value = value*10 + float64(r-'0')
		}
		digits++
		i += size
	}
	return value, digits, i
}

// digits reads 12, 1.5, 1,5, .5, 1/2 and 17:10 from i on.
func (c *cutter) digits(i int, spaced bool) int {
	t := token{from: int32(i), spaced: spaced}
	value, whole, next := c.run(i)
	t.value, t.digits, t.bad = value, int8(min(whole, 100)), whole > maxDigits
	mark := func(set string) bool { // a mark of the set with a digit behind it
		return next+1 < len(c.typed) && indexByte(set, c.typed[next]) && isDigit(c.typed[next+1])
	}
	switch {
	case mark(".,"):
		part, digits, end := c.run(next + 1)
		next = end
		for range min(digits, maxDigits) {
			part /= 10
		}
		t.value += part
		t.decimals, t.bad = int8(min(digits, 100)), t.bad || digits > maxDigits
		for mark(".,") { // 1.200.000, 24.12.2025
			t.bad = true
			_, _, next = c.run(next + 1)
		}
	case mark(":"):
		minute, digits, end := c.run(next + 1)
		if whole <= 2 && digits == 2 && value <= 24 && minute < 60 {
			t.sort, t.minute = sortClock, int8(minute)
		} else {
			t.bad = true
		}
		next = end
		t.to = int32(next)
		if !t.bad {
			c.toks = append(c.toks, t)
			return next
		}
	default:
		if over, end, ok := c.denominator(next); ok {
			next = end
			t.fraction = true
			t.bad = t.bad || !plainDenominator(over) || value >= over
			t.value = value / max(over, 1)
		}
	}
	t.to = int32(next)
	c.number(t)
	return next
}

// denominator reads a slash and digits, if that is what stands at i.
func (c *cutter) denominator(i int) (over float64, next int, ok bool) {
	if i >= len(c.typed) {
		return 0, i, false
	}
	r, size := utf8.DecodeRuneInString(c.typed[i:])
	if symbolOf(r) != symSlash {
		return 0, i, false
	}
	over, digits, next := c.run(i + size)
	return over, next, digits > 0
}

// plainDenominator keeps 24/7 and dates from being read as fractions.
func plainDenominator(over float64) bool {
	switch over {
	case 2, 3, 4, 5, 6, 8, 10, 16, 32:
		return true
	}
	return false
}

func indexByte(set string, b byte) bool {
	for i := range len(set) {
		if set[i] == b {
			return true
		}
	}
	return false
}

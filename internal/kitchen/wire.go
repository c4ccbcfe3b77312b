package kitchen

import (
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"slices"
	"time"
	"unicode/utf8"

	"bagwatch/internal/cook"
)

// The stored form:
//
//	version   1 byte
//	base      uvarint, Unix seconds that the times below count from
//	sections  tag byte, uvarint length, content; in ascending order, empty ones left out
//
// Integers are varints (zigzag where they can be negative), figures are whole steps of the last digit kept,
// words are a length and bytes, optional fields are announced by a mask of bits. Each person is written
// once and referred to by number. A later version adds sections, or fields guarded by the version that
// brought them; what a version wrote is decoded for ever, see testdata.

// version is the version written. Decode reads all up to it. Version 2 brought the dinner.
const version = 2

var (
	// ErrNewer reports a document of a later version of the program. It must not be overwritten.
	ErrNewer = errors.New("kitchen: document of a newer version")
	// ErrCorrupt reports bytes that are no document.
	ErrCorrupt = errors.New("kitchen: not a document")
)

// Encode gives the stored form. It fails only for a document that the methods of this package did not
// make: figures off their steps, lists beyond their caps ([ErrValue]).
func Encode(d Document) ([]byte, error) {
	c := coder{writing: true, version: version, base: d.base(), b: make([]byte, 0, 512)}
	c.sections(&d)
	body := c.b
	c.b = make([]byte, 0, len(body)+16+32*len(c.people))
	c.b = append(c.b, version)
	c.b = binary.AppendUvarint(c.b, uint64(c.base))
	c.section(tagPeople, len(c.people) > 0, func() { list(&c, &c.people, maxPeople, (*coder).person) })
	c.b = append(c.b, body...)
	if len(c.b) > MaxBytes {
		c.fail()
	}
	if c.err != nil {
		return nil, fmt.Errorf("encode document: %w", c.err)
	}
	return c.b, nil
}

// Decode reads the stored form of any version so far. It keeps nothing of b.
func Decode(b []byte) (Document, error) {
	c := coder{b: b}
	switch {
	case len(b) > MaxBytes || len(b) == 0 || b[0] == 0:
		return Document{}, fmt.Errorf("decode document: %w", ErrCorrupt)
	case b[0] > version:
		return Document{}, fmt.Errorf("decode document: version %d: %w", b[0], ErrNewer)
	}
	c.version, c.b = b[0], b[1:]
	integer(&c, &c.base, 0, maxUnix)
	c.section(tagPeople, true, func() { list(&c, &c.people, maxPeople, (*coder).person) })
	var d Document
	c.sections(&d)
	if len(c.b) > 0 {
		c.fail()
	}
	if c.err != nil {
		return Document{}, fmt.Errorf("decode document: %w", c.err)
	}
	return d, nil
}

// maxPeople is as many people as the lists of a document can name.
const maxPeople = 2*maxBags + MaxDiary + MaxKept + 2*MaxSteps + 1

// maxUnix ends the times that can be kept, at the year 10000, where printed dates change their form.
const maxUnix = 253_402_300_800

// base is a time near all others.
func (d *Document) base() int64 {
	for _, t := range [...]time.Time{first(d.Bags).Started, first(d.Keys).At, first(d.Log).Started, first(d.Kept).Since, first(d.Diary).At, first(d.Recents).At} {
		if !t.IsZero() && t.Unix() >= 0 {
			return t.Unix()
		}
	}
	return 0
}

func first[T any](list []T) (zero T) {
	if len(list) > 0 {
		return list[0]
	}
	return zero
}

// coder writes or reads: one function for each kind of thing serves both ways, so that they cannot differ.
type coder struct {
	writing bool
	version byte
	base    int64
	people  []Who
	b       []byte // written so far, or left to read
	err     error
}

// fail ends the work; what is read afterwards is zero.
func (c *coder) fail() {
	if c.err == nil {
		c.err = ErrCorrupt
		if c.writing {
			c.err = ErrValue
		}
	}
	if !c.writing {
		c.b = nil
	}
}

func (c *coder) uvarint(v uint64) uint64 {
	if c.writing {
		c.b = binary.AppendUvarint(c.b, v)
		return v
	}
	v, n := binary.Uvarint(c.b)
	if n <= 0 {
		c.fail()
		return 0
	}
	c.b = c.b[n:]
	return v
}

// integer is a whole number within bounds.
func integer[T ~int | ~int64 | ~uint8 | ~uint16](c *coder, v *T, low, high int64) {
	at := int64(*v)
	if c.writing && (at < low || at > high) {
		c.fail()
		return
	}
	if low >= 0 {
		at = int64(c.uvarint(uint64(at)))
	} else {
		u := c.uvarint(uint64(at<<1) ^ uint64(at>>63))
		at = int64(u>>1) ^ -int64(u&1)
	}
	if at < low || at > high {
		c.fail()
		at = 0
	}
	*v = T(at)
}

// figure is a quantity in whole steps: value · unit · perUnit, unit being what turns it into the unit the steps are of.
func figure[T ~float64](c *coder, v *T, unit, perUnit, low, high float64) {
	var steps int64
	if c.writing {
		x := float64(*v) * unit * perUnit
		if !(x >= low*unit*perUnit-1 && x <= high*unit*perUnit+1) || math.Abs(x-math.Round(x)) > 1e-3 {
			c.fail()
			return
		}
		steps = int64(math.Round(x))
	}
	integer(c, &steps, int64(math.Min(0, math.Floor(low*unit*perUnit))), int64(math.Ceil(high*unit*perUnit)))
	if !c.writing {
		*v = T(float64(steps) / perUnit / unit)
	}
}

// mask is up to 32 yes-or-no answers.
func (c *coder) mask(answers ...bool) uint64 {
	var m uint64
	for i, a := range answers {
		if a {
			m |= 1 << i
		}
	}
	if m = c.uvarint(m); m>>len(answers) != 0 {
		c.fail()
		return 0
	}
	return m
}

// text is what a person typed or is called.
func text[T ~string](c *coder, s *T, limit int) {
	n := c.uvarint(uint64(len(*s)))
	switch {
	case n > uint64(limit):
		c.fail()
	case c.writing && !utf8.ValidString(string(*s)):
		c.fail()
	case c.writing:
		c.b = append(c.b, *s...)
	case n > uint64(len(c.b)) || !utf8.Valid(c.b[:n]):
		c.fail()
	default:
		*s, c.b = T(c.b[:n]), c.b[n:]
	}
}

// name is an id or a code.
func name[T ~string](c *coder, s *T, limit int) {
	text(c, s, limit)
	if !word(string(*s), limit) {
		c.fail()
	}
}

// choice is one of a list, written as its place there.
func choice[T comparable](c *coder, v *T, choices []T) {
	at := code(choices, *v)
	if at < 0 {
		c.fail()
		return
	}
	integer(c, &at, 0, int64(len(choices)-1))
	*v = choices[at]
}

// code is the place of v among the choices, or −1.
func code[T comparable](choices []T, v T) int { return slices.Index(choices, v) }

// The words that are written as numbers. Add at the end; never reorder.
var (
	starts = []cook.StartKind{"", cook.StartFridge, cook.StartRoom, cook.StartFrozen, cook.StartGiven}
	baths  = []cook.BathKind{"", cook.BathCirculating, cook.BathStill}
	shapes = []cook.ShapeOverride{cook.ShapeOwn, cook.ShapeSlab, cook.ShapeBlock, cook.ShapeCylinder, cook.ShapeSphere}
	serves = []cook.Serve{"", cook.ServePasteurised, cook.ServeRare, cook.ServeLightly, cook.ServePlant}
)

// moment is a time, or none.
func (c *coder) moment(t *time.Time) {
	if c.writing {
		if t.IsZero() {
			c.uvarint(0)
			return
		}
		s := t.Unix()
		if s < 0 || s > maxUnix || t.Nanosecond() != 0 {
			c.fail()
			return
		}
		s -= c.base
		c.uvarint(1 + (uint64(s<<1) ^ uint64(s>>63)))
		return
	}
	u := c.uvarint(0)
	if u == 0 {
		*t = time.Time{}
		return
	}
	u--
	s := int64(u>>1) ^ -int64(u&1)
	if s < -maxUnix || s > maxUnix || s+c.base < 0 || s+c.base > maxUnix {
		c.fail()
		return
	}
	*t = time.Unix(s+c.base, 0).UTC()
}

// span is a time that is not before another, kept as the distance: in minutes when it is whole ones.
func (c *coder) span(t *time.Time, from time.Time) {
	if c.writing {
		s := int64(t.Sub(from) / time.Second)
		switch {
		case s < 0 || s > maxSpans || t.Nanosecond() != 0:
			c.fail()
		case s%60 == 0:
			c.uvarint(uint64(s / 60 << 1))
		default:
			c.uvarint(uint64(s<<1 | 1))
		}
		return
	}
	u := c.uvarint(0)
	s := int64(u >> 1)
	if u&1 == 0 && s <= maxSpans {
		s *= 60
	}
	if s < 0 || s > maxSpans || from.Unix()+s > maxUnix+8*maxSpans {
		c.fail()
		return
	}
	*t = from.Add(time.Duration(s) * time.Second).UTC()
}

// maxSpans is the longest distance kept, in seconds.
const maxSpans = int64(keepChat / time.Second)

// who is a reference to a person.
func (c *coder) who(w *Who) {
	if !c.writing {
		switch n := c.uvarint(0); {
		case n > uint64(len(c.people)):
			c.fail()
		case n > 0:
			*w = c.people[n-1]
		}
		return
	}
	if *w == (Who{}) {
		c.uvarint(0)
		return
	}
	at := slices.Index(c.people, *w)
	if at < 0 {
		at = len(c.people)
		c.people = append(c.people, *w)
	}
	c.uvarint(uint64(at + 1))
}

// section is a part of the document that may be absent.
func (c *coder) section(tag byte, present bool, content func()) {
	if c.writing {
		if !present {
			return
		}
		c.b = append(c.b, tag)
		start := len(c.b)
		content()
		var room [binary.MaxVarintLen64]byte
		n := binary.PutUvarint(room[:], uint64(len(c.b)-start))
		c.b = slices.Insert(c.b, start, room[:n]...)
		return
	}
	if len(c.b) == 0 || c.b[0] != tag {
		return
	}
	c.b = c.b[1:]
	n := c.uvarint(0)
	if n == 0 || n > uint64(len(c.b)) {
		c.fail()
		return
	}
	rest := c.b[n:]
	c.b = c.b[:n]
	content()
	if len(c.b) > 0 {
		c.fail()
	}
	if c.err == nil {
		c.b = rest
	}
}

// list is a list of at most limit things.
func list[T any](c *coder, l *[]T, limit int, one func(*coder, *T)) {
	n := c.uvarint(uint64(len(*l)))
	if n > uint64(limit) || !c.writing && n > uint64(len(c.b)) {
		c.fail()
		return
	}
	if !c.writing && n > 0 {
		*l = make([]T, n)
	}
	for i := range *l {
		one(c, &(*l)[i])
	}
}

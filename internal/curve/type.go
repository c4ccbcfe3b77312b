package curve

import (
	"fmt"
	"image"
	"image/color"

	"codeberg.org/go-fonts/liberation/liberationsansbold"
	"codeberg.org/go-fonts/liberation/liberationsansregular"
	"golang.org/x/image/font"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

// fonts are the two weights the pictures are set in: Liberation Sans, whose Latin, Greek and Cyrillic
// are complete.
type fonts struct{ regular, bold *sfnt.Font }

func loadFonts() (f fonts, err error) {
	if f.regular, err = opentype.Parse(liberationsansregular.TTF); err != nil {
		return fonts{}, fmt.Errorf("curve: regular font: %w", err)
	}
	if f.bold, err = opentype.Parse(liberationsansbold.TTF); err != nil {
		return fonts{}, fmt.Errorf("curve: bold font: %w", err)
	}
	return f, nil
}

// lacks gives the runes of s that one of the weights has no glyph for.
func (f fonts) lacks(s string) (missing []rune) {
	var buffer sfnt.Buffer
	for _, r := range s {
		for _, weight := range []*sfnt.Font{f.regular, f.bold} {
			if i, err := weight.GlyphIndex(&buffer, r); err != nil || i == 0 {
				missing = append(missing, r)
				break
			}
		}
	}
	return missing
}

// letters sets text in one weight and size. It is not safe for concurrent use.
type letters struct {
	face font.Face
	size float64
}

func newLetters(f *sfnt.Font, size float64) letters {
	face, err := opentype.NewFace(f, &opentype.FaceOptions{Size: size, DPI: 72})
	if err != nil {
		panic("curve: a face of an embedded font") // the options are constants
	}
	return letters{face, size}
}

// width is how wide a text is set, in pixels.
func (l letters) width(s string) float64 { return float64(font.MeasureString(l.face, s)) / 64 }

// cut shortens a text that is wider than the room for it.
func (l letters) cut(s string, room float64) string {
	if l.width(s) <= room {
		return s
	}
	for runes := []rune(s); len(runes) > 1; {
		runes = runes[:len(runes)-1]
		if short := string(runes) + "…"; l.width(short) <= room {
			return short
		}
	}
	return ""
}

// Where a text stands: its point is the start, the middle or the end of the base line.
const (
	fromLeft  = 0.0
	centred   = 0.5
	fromRight = 1.0
)

// write sets a text on the base line at q.
func (p paper) write(s string, q point, align float64, l letters, c color.RGBA) {
	d := font.Drawer{Dst: p.img, Src: image.NewUniform(c), Face: l.face}
	d.Dot = fixed.Point26_6{X: fixed.Int26_6((q.x - align*l.width(s)) * 64), Y: fixed.Int26_6(q.y * 64)}
	d.DrawString(s)
}

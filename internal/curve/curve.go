// Package curve draws a picture of one cook: the water and the core over time, the window from ready to
// best until, when it is pasteurised, and the present moment of a running bag.
//
// A picture is read on a phone, so it is a PNG of [Width] by [Height] pixels in which the smallest
// letters are 11 points high when it is shown 390 points wide. It brings its own paper and so looks
// the same in a light and a dark chat. Colours are from the palette of Okabe & Ito (Color
// Universal Design, 2008, from memory), darkened until they read as text; nothing is told by colour
// alone: lines differ in stroke, moments in the marker's shape, and each has its words beside it.
//
// The package draws and computes nothing: words and printed times come from a [reply.Picture], whose
// caption says the same for those who cannot see it. Temperatures are °C until they are drawn. Two
// estimates of the core are drawn and never mixed: the likely one, solid, and the careful one, dashed,
// on which the pasteurised moment stands. The same input gives the same bytes. Start with [New] and
// [Painter.Draw].
package curve

import (
	"errors"
	"fmt"
	"image/color"
	"image/png"
	"io"
	"time"

	"bagwatch/internal/quantity"
	"bagwatch/internal/reply"
)

// The size of a picture in pixels: twice the size it is meant for.
const (
	Width  = 1152
	Height = 864
)

// ErrCourse reports a picture without a plan, curves, a bath, or time, or whose words are of another bath.
var ErrCourse = errors.New("curve: not a course")

// The colours. Each text colour has at least 4.5 times the paper's luminance contrast, which a test checks
// (W3C, WCAG 2.1, 1.4.3).
var (
	paperWhite = color.RGBA{0xFB, 0xF9, 0xF4, 0xFF}
	ink        = color.RGBA{0x22, 0x26, 0x2B, 0xFF}
	greyInk    = color.RGBA{0x55, 0x5C, 0x64, 0xFF}
	gridGrey   = color.RGBA{0xDD, 0xDA, 0xD2, 0xFF}
	rimGrey    = color.RGBA{0x9A, 0x9C, 0x9E, 0xFF}
	waterBlue  = color.RGBA{0x00, 0x5A, 0x96, 0xFF}
	coreRed    = color.RGBA{0xB3, 0x45, 0x00, 0xFF}
	windowTint = color.RGBA{0xD6, 0xEE, 0xE4, 0xFF}
	windowLine = color.RGBA{0xA6, 0xD6, 0xC4, 0xFF}
	readyGreen = color.RGBA{0x00, 0x66, 0x4C, 0xFF}
	killPurple = color.RGBA{0x8A, 0x2F, 0x66, 0xFF}
)

// The lines.
var (
	waterPen = pen{waterBlue, 5, []float64{30, 15, 2, 15}}
	corePen  = pen{coreRed, 8, nil}
	slowPen  = pen{coreRed, 4, []float64{13, 10}}
)

// Painter draws pictures. It is safe for concurrent use.
type Painter struct{ fonts fonts }

// New makes a painter with the fonts that are built in.
func New() (*Painter, error) {
	f, err := loadFonts()
	if err != nil {
		return nil, err
	}
	return &Painter{f}, nil
}

// Lacks gives the runes of a text that a picture cannot show: the fonts have no glyph for them.
func (p *Painter) Lacks(text string) []rune { return p.fonts.lacks(text) }

// Draw writes the picture as PNG. It fails with [ErrCourse] or with the writer's error.
func (p *Painter) Draw(w io.Writer, pic reply.Picture) error {
	if pic.Likely == nil || pic.Careful == nil || len(pic.Bath) == 0 || len(pic.Words.From) != len(pic.Bath) || len(pic.Words.Until) != len(pic.Bath) || pic.Plan == nil || pic.CoreReached <= 0 {
		return ErrCourse
	}
	s := newSheet(p.fonts, pic)
	s.frame()
	s.window()
	s.lines()
	s.moments()
	s.labels()
	s.now()
	if err := png.Encode(w, s.few()); err != nil {
		return fmt.Errorf("curve: write the picture: %w", err)
	}
	return nil
}

// The layout, in pixels.
const (
	plotLeft   = 112.0
	plotRight  = Width - 36.0
	plotTop    = 104.0
	plotBottom = Height - 116.0
	// waterAt is where the hottest water is: above it is room for its words and the present moment.
	waterAt   = 232.0
	rowHeight = 52.0
	markSize  = 13.0
	edge      = 4.0
	// The letters: shown 390 points wide, a picture is a third of its size, and its labels are 12 points.
	titleSize = 46.0
	tightSize = 38.0 // for a title that would not fit otherwise
	labelSize = 36.0
	axisSize  = 33.0
)

// sheet is one picture in the making.
type sheet struct {
	paper
	pic                reply.Picture
	title, text, small letters
	time               timeScale
	degrees            degreeScale
	waterAt            float64
}

func newSheet(f fonts, pic reply.Picture) *sheet {
	s := &sheet{
		paper: newPaper(Width, Height, paperWhite), pic: pic,
		title: titleLetters(f, pic.Words.Title), text: newLetters(f.bold, labelSize), small: newLetters(f.regular, axisSize),
	}
	busy, end := s.extent()
	s.time = newTimeScale(plotLeft, plotRight, busy, end)
	low, high := s.inUnits(pic.Plan.StartAt), s.inUnits(pic.Plan.Setpoint)
	for _, part := range pic.Bath {
		for _, t := range []quantity.Temperature{part.Bath, part.Until} {
			low, high = min(low, s.inUnits(t)), max(high, s.inUnits(t))
		}
	}
	s.waterAt = waterAt
	if pic.Words.Pasteurised != "" && !s.killShown() {
		s.waterAt += rowHeight // its words take a line of their own
	}
	s.degrees = newDegreeScale(low, high, plotBottom, s.waterAt)
	return s
}

// titleRoom is how wide a title may be.
const titleRoom = Width - 72.0

// titleLetters gives the size that a title is set in.
func titleLetters(f fonts, title string) letters {
	usual := newLetters(f.bold, titleSize)
	if usual.width(title) <= titleRoom {
		return usual
	}
	return newLetters(f.bold, tightSize)
}

// extent is how long the busy part is, until even the slowest core has come most of the way, and how long
// the picture is.
func (s *sheet) extent() (busy, end time.Duration) {
	c := s.pic
	busy = c.CoreReached + c.CoreReached/4
	most := c.Plan.StartAt + mostOfTheWay*(c.Plan.Setpoint-c.Plan.StartAt)
	for c.Careful.Core(busy) < most && busy < 4*c.CoreReached {
		busy += c.CoreReached / 4
	}
	end = max(c.PrintedBest, c.CoreReached+c.CoreReached/2)
	if c.Running {
		end = max(end, c.Now)
	}
	if s.killShown() {
		end = max(end, c.PrintedPasteurised)
	}
	return busy, end + end/16
}

// mostOfTheWay is the share of its rise after which a core only creeps up to the water.
const mostOfTheWay = 0.95

// killFar is how many times the window's end the pasteurised moment may be away and still be drawn.
const killFar = 2.5

// killShown reports whether the pasteurised moment is a point of the picture and not words only.
func (s *sheet) killShown() bool {
	c := s.pic
	return c.Words.Pasteurised != "" && !c.Pasteurised.Never && !c.Plan.Request.Cured && c.PrintedPasteurised > 0 && c.PrintedPasteurised <= time.Duration(killFar*float64(c.PrintedBest))
}

func (s *sheet) inUnits(t quantity.Temperature) float64 {
	if s.pic.Units == reply.Imperial {
		return t.Fahrenheit()
	}
	return float64(t)
}

func (s *sheet) y(t quantity.Temperature) float64 { return s.degrees.y(s.inUnits(t)) }

// trace samples a temperature along the time axis.
func (s *sheet) trace(of func(time.Duration) quantity.Temperature) []point {
	const every = 4.0
	var line []point
	for x := plotLeft; ; x += every {
		x = min(x, plotRight)
		line = append(line, point{x, s.y(of(s.time.at(x)))})
		if x == plotRight {
			return line
		}
	}
}

// bath is the water's temperature.
func (s *sheet) bath(t time.Duration) quantity.Temperature {
	at, _ := s.pic.Bath.Bath(t)
	return at
}

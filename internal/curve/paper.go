package curve

import (
	"cmp"
	"image"
	"image/color"
	"image/draw"
	"maps"
	"math"
	"slices"

	"golang.org/x/image/vector"
)

// point is a place on the paper in pixels, x to the right and y down.
type point struct{ x, y float64 }

// paper is a picture being drawn.
type paper struct {
	img *image.RGBA
	ras *vector.Rasterizer // kept for its buffer
}

func newPaper(width, height int, background color.RGBA) paper {
	img := image.NewRGBA(image.Rect(0, 0, width, height))
	draw.Draw(img, img.Bounds(), image.NewUniform(background), image.Point{}, draw.Src)
	return paper{img, new(vector.Rasterizer)}
}

// few gives the picture in the 256 colours it uses most, every other colour as the nearest of them: shades
// of smooth edges, whose loss nobody sees. It makes the file a third as large.
func (p paper) few() *image.Paletted {
	pix := p.img.Pix
	counts := make(map[[3]uint8]int, 4096)
	at := func(i int) [3]uint8 { return [3]uint8{pix[i], pix[i+1], pix[i+2]} }
	for i := 0; i < len(pix); {
		c, run := at(i), 0
		for ; i < len(pix) && at(i) == c; i += 4 {
			run++
		}
		counts[c] += run
	}
	used := slices.SortedFunc(maps.Keys(counts), func(a, b [3]uint8) int {
		return cmp.Or(cmp.Compare(counts[b], counts[a]), slices.Compare(a[:], b[:]))
	})
	palette := make(color.Palette, 0, 256)
	index := make(map[[3]uint8]uint8, len(used))
	for i, c := range used {
		if i < cap(palette) {
			palette = append(palette, color.RGBA{c[0], c[1], c[2], 0xFF})
			index[c] = uint8(i)
			continue
		}
		nearest, least := 0, math.MaxInt
		for j, have := range used[:len(palette)] {
			distance := 0
			for k := range c {
				d := int(c[k]) - int(have[k])
				distance += d * d
			}
			if distance < least {
				nearest, least = j, distance
			}
		}
		index[c] = uint8(nearest)
	}
	out := image.NewPaletted(p.img.Bounds(), palette)
	last := at(0)
	ink := index[last]
	for i := range out.Pix {
		if c := at(4 * i); c != last {
			last, ink = c, index[c]
		}
		out.Pix[i] = ink
	}
	return out
}

// fill paints closed outlines as one area, so that where two of them overlap nothing shines through
// twice. All must turn the same way round: the rasterizer adds up signed turns.
func (p paper) fill(outlines [][]point, c color.RGBA) {
	box := image.Rectangle{}
	for _, o := range outlines {
		for _, q := range o {
			x, y := int(math.Floor(q.x)), int(math.Floor(q.y))
			box = box.Union(image.Rect(x, y, x+1, y+1))
		}
	}
	box = box.Intersect(p.img.Bounds())
	if box.Empty() {
		return
	}
	r := p.ras
	r.Reset(box.Dx(), box.Dy())
	r.DrawOp = draw.Over
	move := func(q point) (x, y float32) {
		return float32(q.x - float64(box.Min.X)), float32(q.y - float64(box.Min.Y))
	}
	for _, o := range outlines {
		for i, q := range o {
			x, y := move(q)
			if i == 0 {
				r.MoveTo(x, y)
			} else {
				r.LineTo(x, y)
			}
		}
		r.ClosePath()
	}
	r.Draw(p.img, box, image.NewUniform(c), image.Point{})
}

// rectangle fills an upright rectangle.
func (p paper) rectangle(x0, y0, x1, y1 float64, c color.RGBA) {
	p.fill([][]point{{{x0, y0}, {x0, y1}, {x1, y1}, {x1, y0}}}, c)
}

// pen is how a line is drawn.
type pen struct {
	color color.RGBA
	width float64
	dash  []float64 // lengths of stroke and gap in turn; nil draws through
}

// bend is the turn in radians from which a join is rounded; a smaller one leaves a gap that is thinner than
// a tenth of a pixel at the widest pen.
const bend = 0.05

// stroke draws a line through the points, with round joins and ends.
func (p paper) stroke(line []point, with pen) { p.fill(outline(line, with), with.color) }

// outline is what a pen covers along a line.
func outline(line []point, with pen) (outlines [][]point) {
	for _, piece := range dashes(line, with.dash) {
		before := math.Inf(1) // the direction of the stretch before: none
		for i := 1; i < len(piece); i++ {
			from, q := piece[i-1], piece[i]
			dx, dy := q.x-from.x, q.y-from.y
			length := math.Hypot(dx, dy)
			if length == 0 {
				continue
			}
			nx, ny := -dy/length*with.width/2, dx/length*with.width/2
			outlines = append(outlines, []point{{from.x + nx, from.y + ny}, {q.x + nx, q.y + ny}, {q.x - nx, q.y - ny}, {from.x - nx, from.y - ny}})
			if way := math.Atan2(dy, dx); math.Abs(way-before) > bend {
				outlines = append(outlines, disc(from, with.width/2, 16))
			}
			before = math.Atan2(dy, dx)
		}
		if len(piece) > 0 {
			outlines = append(outlines, disc(piece[len(piece)-1], with.width/2, 16))
		}
	}
	return outlines
}

// dashes cuts a line into the strokes of a pattern; it goes on along bends.
func dashes(line []point, pattern []float64) (pieces [][]point) {
	if len(pattern) == 0 || len(line) == 0 {
		return [][]point{line}
	}
	at, left := 0, pattern[0]
	piece := []point{line[0]}
	for i := 1; i < len(line); i++ {
		from, to := line[i-1], line[i]
		length := math.Hypot(to.x-from.x, to.y-from.y)
		for done := 0.0; length-done > left; {
			done += left
			f := done / length
			cut := point{from.x + f*(to.x-from.x), from.y + f*(to.y-from.y)}
			if at%2 == 0 {
				pieces = append(pieces, append(piece, cut))
			}
			piece = []point{cut}
			at = (at + 1) % len(pattern)
			left = pattern[at]
			from, length, done = cut, length-done, 0
		}
		left -= length
		if at%2 == 0 {
			piece = append(piece, to)
		}
	}
	if at%2 == 0 && len(piece) > 1 {
		pieces = append(pieces, piece)
	}
	return pieces
}

// disc is a regular polygon that turns as the quads of stroke do.
func disc(c point, radius float64, corners int) []point {
	o := make([]point, corners)
	for i := range o {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / float64(corners))
		o[i] = point{c.x + radius*cos, c.y - radius*sin}
	}
	return o
}

// hatch fills a rectangle with lines that rise to the right.
func (p paper) hatch(x0, y0, x1, y1, spacing float64, with pen) {
	height := y1 - y0
	var outlines [][]point
	for x := x0 - height + math.Mod(height, spacing); x < x1; x += spacing {
		a, b := point{x, y1}, point{x + height, y0}
		if a.x < x0 {
			a = point{x0, y1 - (x0 - a.x)}
		}
		if b.x > x1 {
			b = point{x1, y0 + (b.x - x1)}
		}
		if b.x > a.x {
			outlines = append(outlines, outline([]point{a, b}, with)...)
		}
	}
	p.fill(outlines, with.color)
}

// shape is the form of a marker; each moment has its own, so that none is told by colour alone.
type shape uint8

const (
	triangle shape = iota // ready
	square                // best until
	diamond               // pasteurised
	circle                // now
	cross                 // a line of the bath diary
)

// outline is a marker's outline around c, of about the same area for each shape.
func (s shape) outline(c point, r float64) []point {
	switch s {
	case triangle:
		return []point{{c.x, c.y - 1.2*r}, {c.x - 1.15*r, c.y + 0.85*r}, {c.x + 1.15*r, c.y + 0.85*r}}
	case square:
		return []point{{c.x - 0.9*r, c.y - 0.9*r}, {c.x - 0.9*r, c.y + 0.9*r}, {c.x + 0.9*r, c.y + 0.9*r}, {c.x + 0.9*r, c.y - 0.9*r}}
	case diamond:
		return []point{{c.x, c.y - 1.35*r}, {c.x - 1.15*r, c.y}, {c.x, c.y + 1.35*r}, {c.x + 1.15*r, c.y}}
	}
	return disc(c, r, 32)
}

// mark draws a marker with a rim in the paper's colour, which sets it off from lines under it.
func (p paper) mark(s shape, c point, r float64, inside, rim color.RGBA) {
	if s == cross {
		for _, with := range []pen{{rim, 11, nil}, {inside, 5, nil}} {
			p.stroke([]point{{c.x - r, c.y - r}, {c.x + r, c.y + r}}, with)
			p.stroke([]point{{c.x - r, c.y + r}, {c.x + r, c.y - r}}, with)
		}
		return
	}
	p.fill([][]point{s.outline(c, r+5)}, rim)
	p.fill([][]point{s.outline(c, r)}, inside)
}

package heat

import (
	"math"
	"slices"
)

// bridge remembers the field of a [tensor] at a change of film for as long as the kept modes do
// not resolve how it adapts.
type bridge struct {
	before []float64    // amplitudes in the kept modes of the old film
	into   [3][]float64 // [new fine][old fine]: what each old mode is in the new ones
	age    float64      // s
	// reading is scratch: what each old mode of a dimension reads now, as core, surface and mean
	// in all modes and then in the kept ones.
	reading [3][][6]float64
}

// change expands the field in the modes of another film. Steps that are still young are taken out
// of the kept amplitudes, expanded in the 64 modes of each dimension (their response is a product),
// and put back, so that what the kept modes lacked before is not lost.
func (t *tensor) change(film Film) {
	old, oldRates, drop := t.fine, t.rates, float64(t.film-film)
	for i := range t.young {
		y := &t.young[i]
		aged := new([3][]float64)
		for d, modes := range old {
			aged[d] = make([]float64, len(modes))
			for j, m := range modes {
				a := m.c
				if y.fine != nil {
					a = y.fine[d][j]
				}
				aged[d][j] = a * math.Exp(-oldRates[d][j]*y.age)
			}
		}
		y.fine = aged
		t.addProduct(y.size, aged)
	}
	b := &bridge{before: slices.Clone(t.amp)}
	t.basis(film)
	for d := range t.modes {
		b.reading[d] = make([][6]float64, len(t.modes[d]))
		if d >= t.dims {
			b.into[d] = []float64{1}
			continue
		}
		f := t.factors[d]
		b.into[d] = expansion(f.n, old[d], t.fine[d], drop*f.half/float64(t.piece.Conductivity))
		t.transform(d, b.into[d])
	}
	for i := range t.young {
		y := &t.young[i]
		for d, matrix := range b.into {
			n := len(t.fine[d])
			next := make([]float64, n)
			for j := range next {
				for k, a := range y.fine[d] {
					next[j] += matrix[j*n+k] * a
				}
			}
			y.fine[d] = next
		}
		y.age = 0
		t.addProduct(-y.size, y.fine)
	}
	t.bridge = b
}

// expansion gives the old modes in the new ones, from
// ∫φ_i φ_j r^n dr = drop φ_i(1) φ_j(1)/(ζ_i² − ζ_j²), drop = Bi_old − Bi_new (Green's identity).
func expansion(n int, old, next []mode, drop float64) []float64 {
	matrix := make([]float64, 0, len(old)*len(next))
	for _, to := range next {
		for _, from := range old {
			gap := (from.zeta - to.zeta) * (from.zeta + to.zeta)
			matrix = append(matrix, float64(n+1)*from.surface*to.surface*drop/(gap*to.norm))
		}
	}
	return matrix
}

// addProduct adds size times the product of three fine vectors to the kept amplitudes.
func (t *tensor) addProduct(size float64, v *[3][]float64) {
	k := 0
	for x := range t.modes[0] {
		for y := range t.modes[1] {
			xy := size * v[0][x] * v[1][y]
			for z := range t.modes[2] {
				t.amp[k] += xy * v[2][z]
				k++
			}
		}
	}
}

// transform applies the kept corner of the matrix to dimension d of the amplitudes.
func (t *tensor) transform(d int, matrix []float64) {
	n, wide := len(t.modes[d]), len(t.fine[d])
	stride := 1
	for i := d + 1; i < len(t.modes); i++ {
		stride *= len(t.modes[i])
	}
	column := make([]float64, n)
	for block := 0; block < len(t.amp); block += n * stride {
		for k := block; k < block+stride; k++ {
			for i := range column {
				column[i] = t.amp[k+i*stride]
			}
			for j := range n {
				sum := 0.0
				for i, a := range column {
					sum += matrix[j*wide+i] * a
				}
				t.amp[k+j*stride] = sum
			}
		}
	}
}

// missing is what the field before the change has become in 64 modes, less its kept modes.
func (b *bridge) missing(t *tensor) (core, surface, mean float64) {
	reading := &b.reading
	for d := range t.modes {
		kept, wide := len(t.modes[d]), len(t.fine[d])
		clear(reading[d])
		for j, m := range t.fine[d] {
			decay := math.Exp(-t.rates[d][j] * b.age)
			for i := range reading[d] {
				a := b.into[d][j*wide+i] * decay
				r := &reading[d][i]
				r[0] += a
				r[1] += a * m.surface
				r[2] += a * m.mean
			}
			if j == kept-1 {
				for i := range reading[d] {
					r := &reading[d][i]
					r[3], r[4], r[5] = r[0], r[1], r[2]
				}
			}
		}
	}
	k := 0
	for _, x := range reading[0] {
		for _, y := range reading[1] {
			var xy [6]float64
			for i := range xy {
				xy[i] = x[i] * y[i]
			}
			for _, z := range reading[2] {
				a := b.before[k]
				core += a * (xy[0]*z[0] - xy[3]*z[3])
				surface += a * (xy[1]*z[1] - xy[4]*z[4])
				mean += a * (xy[2]*z[2] - xy[5]*z[5])
				k++
			}
		}
	}
	return core, surface, mean
}

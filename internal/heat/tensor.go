package heat

import "math"

// tensor solves constant properties in a brick or finite cylinder exactly, as amplitudes of the
// products of one-dimensional eigenfunctions of T − bath. A steady bath makes each decay, a ramp
// drives each by its share of the constant, a step adds the expansion of the constant, and a
// change of film expands the field anew (all three dimensions one after the other).
//
// A dimension keeps enough modes to be resolved when the smallest one has Fo = 0.02. Earlier
// after a step, the difference between the kept modes and the [Series] of that step is added, so
// that there is no ringing. Accuracy: 0.01 K except for the first minute after a change of film
// that falls within the first minutes after a step.
type tensor struct {
	piece   Piece
	factors [3]factor
	dims    int
	film    Film
	bath    float64
	modes   [3][]mode
	rates   [3][]float64 // 1/s
	amp     []float64    // [x][y][z], K
	age     float64      // s since amp was last driven
	live    float64      // 1/s; amplitudes of faster modes count as zero
	exact   Series       // of this film, for young steps
	young   []youngStep
	youth   float64 // s after which the kept modes suffice
	decay   [3][]float64
	started bool
}

// youngStep is a bath step whose response the kept modes do not resolve yet.
type youngStep struct{ age, size float64 }

func newTensor(p Piece) *tensor {
	t := &tensor{piece: p}
	t.factors, t.dims = p.factors()
	smallest := p.radius()
	most := 16
	if t.dims == 2 {
		most = 24
	}
	size := 1
	for i := range t.modes {
		n := 1
		if i < t.dims {
			// ζ√Fo > 2.8 at Fo = 0.02 of the smallest half: ζ > 20 R/smallest, one mode per π.
			n = min(max(int(math.Ceil(6.4*t.factors[i].half/smallest)), modes), most)
		}
		t.modes[i] = make([]mode, n)
		t.rates[i] = make([]float64, n)
		t.decay[i] = make([]float64, n)
		size *= n
	}
	t.amp = make([]float64, size)
	return t
}

// basis computes the modes for a film. A dimension that the piece lacks has the one mode 1.
func (t *tensor) basis(film Film) {
	t.film = film
	t.youth = 0
	for i := range t.modes {
		if i >= t.dims {
			t.modes[i][0] = mode{c: 1, surface: 1, mean: 1, norm: 1}
			continue
		}
		f := t.factors[i]
		bi := float64(film) * f.half / float64(t.piece.Conductivity)
		for j := range t.modes[i] {
			m := eigenmode(f.n, bi, j)
			t.modes[i][j] = m
			t.rates[i][j] = m.zeta * m.zeta * float64(t.piece.Diffusivity) / (f.half * f.half)
		}
		t.youth = max(t.youth, 14/t.rates[i][len(t.rates[i])-1])
	}
	t.exact.expand(t.piece, film)
}

func (t *tensor) enter(bath float64, film Film) {
	t.settle()
	switch {
	case !t.started:
		t.started = true
		t.basis(film)
		t.shift(bath - float64(t.piece.Start))
	case film != t.film:
		old, change := t.modes, float64(t.film-film)
		for i := range t.modes {
			t.modes[i] = make([]mode, len(old[i]))
		}
		t.basis(film)
		for i := range t.dims {
			t.rebase(i, old[i], change*t.factors[i].half/float64(t.piece.Conductivity))
		}
		t.young = t.young[:0]
		t.shift(bath - t.bath)
	default:
		t.shift(bath - t.bath)
	}
	t.bath = bath
}

// settle sets amplitudes that count as zero to zero.
func (t *tensor) settle() {
	if !math.IsInf(t.live, 1) && t.started {
		t.each(func(i int, rate, _ float64) {
			if rate > t.live {
				t.amp[i] = 0
			}
		})
	}
	t.live, t.age = math.Inf(1), 0
}

// each visits every amplitude with its decay rate and its coefficient in the expansion of 1.
func (t *tensor) each(visit func(i int, rate, c float64)) {
	k := 0
	for x, mx := range t.modes[0] {
		for y, my := range t.modes[1] {
			rate, c := t.rates[0][x]+t.rates[1][y], mx.c*my.c
			for z, mz := range t.modes[2] {
				visit(k, rate+t.rates[2][z], c*mz.c)
				k++
			}
		}
	}
}

// shift steps the bath by size.
func (t *tensor) shift(size float64) {
	if size == 0 {
		return
	}
	t.each(func(i int, _, c float64) { t.amp[i] -= size * c })
	t.young = append(t.young, youngStep{size: size})
}

// rebase turns the amplitudes of dimension d from the old modes to the new ones, with
// ∫φ_i φ_j r^n dr = drop φ_i(1) φ_j(1)/(ζ_i² − ζ_j²), drop = Bi_old − Bi_new, by Green's identity.
func (t *tensor) rebase(d int, old []mode, drop float64) {
	f := t.factors[d]
	n := len(old)
	matrix := make([]float64, n*n)
	for j, to := range t.modes[d] {
		for i, from := range old {
			gap := (from.zeta - to.zeta) * (from.zeta + to.zeta)
			matrix[j*n+i] = float64(f.n+1) * from.surface * to.surface * drop / (gap * to.norm)
		}
	}
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
					sum += matrix[j*n+i] * a
				}
				t.amp[k+j*stride] = sum
			}
		}
	}
}

// dead is the exponent at which an amplitude is dropped: 200 K · e^{-40} is below 1e-15 K.
const dead = 40

func (t *tensor) step(dt, bath, slope float64) bool {
	for d := range t.modes {
		for i, rate := range t.rates[d] {
			t.decay[d][i] = math.Exp(-rate * dt) // 1 for a dimension the piece lacks
		}
	}
	rows, depth := len(t.modes[1]), len(t.modes[2])
	for x, rx := range t.rates[0] {
		if rx > t.live {
			break
		}
		for y, ry := range t.rates[1] {
			if rx+ry > t.live {
				break
			}
			at := (x*rows + y) * depth
			amp, decay := t.amp[at:at+depth], t.decay[0][x]*t.decay[1][y]
			if slope == 0 {
				for z, rz := range t.rates[2] {
					if rx+ry+rz > t.live {
						break
					}
					amp[z] *= decay * t.decay[2][z]
				}
				continue
			}
			drive := slope * t.modes[0][x].c * t.modes[1][y].c
			for z, rz := range t.rates[2] {
				e := decay * t.decay[2][z]
				amp[z] = amp[z]*e - drive*t.modes[2][z].c*(1-e)/(rx+ry+rz)
			}
		}
	}
	t.bath = bath + slope*dt
	t.age += dt
	if slope == 0 {
		t.live = dead / t.age
	}
	for i := range t.young {
		t.young[i].age += dt
	}
	for len(t.young) > 0 && t.young[0].age > t.youth {
		t.young = t.young[1:]
	}
	return true
}

func (t *tensor) share() float64 { return stepShare }

func (t *tensor) read() (core, surface, mean float64) {
	rows, depth := len(t.modes[1]), len(t.modes[2])
	for x, mx := range t.modes[0] {
		rx := t.rates[0][x]
		if rx > t.live {
			break
		}
		for y, my := range t.modes[1] {
			rxy := rx + t.rates[1][y]
			if rxy > t.live {
				break
			}
			at := (x*rows + y) * depth
			var c, s, m float64
			for z, amp := range t.amp[at : at+depth] {
				if rxy+t.rates[2][z] > t.live {
					break
				}
				c += amp
				s += amp * t.modes[2][z].surface
				m += amp * t.modes[2][z].mean
			}
			core += c
			surface += s * mx.surface * my.surface
			mean += m * mx.mean * my.mean
		}
	}
	for _, y := range t.young {
		c, s, m := t.missing(y.age)
		core -= y.size * c
		surface -= y.size * s
		mean -= y.size * m
	}
	return t.bath + core, t.bath + surface, t.bath + mean
}

// missing is the exact response to a unit of start excess less that of the kept modes.
func (t *tensor) missing(age float64) (core, surface, mean float64) {
	core, surface, mean = 1, 1, 1
	for d := range t.dims {
		var c, s, m float64
		for i, mode := range t.modes[d] {
			term := mode.c * math.Exp(-t.rates[d][i]*age)
			c += term
			s += term * mode.surface
			m += term * mode.mean
		}
		core *= c
		surface *= s
		mean *= m
	}
	exact, _ := t.exact.coreExcess(age)
	return exact - core,
		t.exact.excess(age, (*dimension).surfaceExcess) - surface,
		t.exact.excess(age, (*dimension).meanExcess) - mean
}

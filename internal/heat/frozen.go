package heat

import "math"

// thawing solves a piece that starts frozen: finite volumes whose unknown is the enthalpy per
// volume, so that the latent heat is kept to rounding, with the same cells and SDIRK2 steps as
// [volumes] and a Newton solution of each stage. When the last ice is gone it hands over to volumes.
//
// Properties: above the freezing point the piece's own k and ρc = k/α. Below it, Choi & Okos
// with ice as [Composition.Enthalpy] and the parallel conductivity, both scaled so that they join
// the piece's own at the freezing point: a material chosen slow is then slow to thaw as well.
//
// Bricks and finite cylinders become one equation in r; see [equivalent].
type thawing struct {
	mesh
	after    *volumes // used once all is unfrozen
	thawed   bool
	states   stateTable
	r2       float64 // R², m²
	radial   radial
	film     float64
	bath     float64
	h        []float64 // J/m³ above the unfrozen food at the freezing point
	first    []float64 // first stage
	second   []float64
	stage    stageWork
	absorbed float64 // ∫ flux, in units of Σ volume·h
	outer    float64 // surface temperature
}

// stageWork is the scratch of one Newton solution.
type stageWork struct {
	t, slope, k   []float64
	face          []float64 // conductance of the inner face of each cell
	upper, change []float64
}

func newThawing(g Grid, p Piece, h History) (field, error) {
	if p.Composition == nil {
		return nil, ErrComposition
	}
	if err := p.Composition.checkFreezing(); err != nil {
		return nil, err
	}
	f, dims := p.factors()
	r := radial{float64(f[0].n), f[0].half, 1}
	if dims > 1 {
		r = equivalent(p, h[0].Film)
	}
	n := g.Cells
	w := &thawing{
		mesh:   newMesh(n, r.beta),
		after:  newBetaVolumes(n, p.Material, r, float64(p.Start)),
		states: newStateTable(p),
		r2:     r.radius * r.radius,
		radial: r,
		h:      make([]float64, n),
		first:  make([]float64, n),
		second: make([]float64, n),
		outer:  float64(p.Start),
	}
	for _, s := range []*[]float64{&w.stage.t, &w.stage.slope, &w.stage.k, &w.stage.face, &w.stage.upper, &w.stage.change} {
		*s = make([]float64, n)
	}
	start := w.states.enthalpy(float64(p.Start))
	for i := range w.h {
		w.h[i] = start
	}
	return w, nil
}

func (w *thawing) enter(bath float64, film Film) {
	w.film = float64(film) * w.radial.film
	w.bath = bath
	w.after.enter(bath, film)
}

func (w *thawing) step(dt, bath, slope float64) bool {
	if w.thawed {
		return w.after.step(dt, bath, slope)
	}
	early, late := bath+slope*gamma*dt, bath+slope*dt
	copy(w.first, w.h)
	flux1, ok := w.newton(w.first, w.h, gamma*dt, early)
	if !ok {
		return false
	}
	const carry = (1 - gamma) / gamma
	for i, h := range w.h {
		w.second[i] = h + carry*(w.first[i]-h)
	}
	flux2, ok := w.newton(w.first, w.second, gamma*dt, late)
	if !ok {
		return false
	}
	w.h, w.first = w.first, w.h
	w.absorbed += dt * ((1-gamma)*flux1 + gamma*flux2)
	w.bath = late
	w.handOver()
	return true
}

// handOver switches to constant properties when every cell is thawed. The bath is never below 0 °C.
func (w *thawing) handOver() {
	for _, h := range w.h {
		if h <= 0 {
			return
		}
	}
	w.thawed = true
	for i, h := range w.h {
		w.after.t[i] = w.states.freezing + h/w.states.capacity
	}
	w.after.bath = w.bath
}

const (
	newtonRounds = 30
	newtonClose  = 1e-5 // K, as enthalpy over the unfrozen heat capacity
)

// newton solves V(y − from) = g·(fluxes into the cells at y) for y, which holds the guess.
// Conductivities are those of the last iterate. The flux through the surface is the one the
// linear system used, so what the cells gain is what went in, to rounding.
func (w *thawing) newton(y, from []float64, g, bath float64) (flux float64, ok bool) {
	s := &w.stage
	last := len(y) - 1
	inverse := 1 / (w.width * w.r2)
	for range newtonRounds {
		for i, h := range y {
			s.t[i], s.slope[i], s.k[i] = w.states.at(h)
			if i > 0 {
				s.face[i] = g * w.area[i] * inverse * 2 * s.k[i] * s.k[i-1] / (s.k[i] + s.k[i-1])
			}
		}
		outer := g / (w.radial.radius/w.film + w.r2*w.width/(2*s.k[last]))
		// Forward sweep of the tridiagonal system for the change of y.
		for i := range y {
			right := outer
			flow := outer * (bath - s.t[last])
			if i < last {
				right = s.face[i+1]
				flow = right * (s.t[i+1] - s.t[i])
			}
			residual := w.volume[i]*(from[i]-y[i]) + flow
			diagonal := w.volume[i] + (s.face[i]+right)*s.slope[i]
			if i > 0 {
				residual -= s.face[i] * (s.t[i] - s.t[i-1])
				lower := s.face[i] * s.slope[i-1]
				residual += lower * s.change[i-1]
				diagonal -= lower * s.upper[i-1]
			}
			if i < last {
				s.upper[i] = right * s.slope[i+1] / diagonal
			}
			s.change[i] = residual / diagonal
		}
		largest := 0.0
		for i := last; i >= 0; i-- {
			if i < last {
				s.change[i] += s.upper[i] * s.change[i+1]
			}
			y[i] += s.change[i]
			largest = max(largest, math.Abs(s.change[i]))
		}
		if largest <= newtonClose*w.states.capacity {
			flux = outer / g * (bath - s.t[last] - s.slope[last]*s.change[last])
			return flux, true
		}
	}
	return 0, false
}

func (w *thawing) share() float64 {
	if w.thawed {
		return stepShare
	}
	return iceShare
}

func (w *thawing) read() (core, surface, mean float64) {
	if w.thawed {
		return w.after.read()
	}
	t, last := w.stage.t, len(w.h)-1
	for i, h := range w.h {
		t[i], _, w.stage.k[i] = w.states.at(h)
	}
	cell := w.width * w.radial.radius / (2 * w.stage.k[last])
	surface = t[last] + (w.bath-t[last])*cell/(cell+1/w.film)
	// Even extrapolation may pass the next cell by a little while a front of ice is there.
	return min(middle(t), t[0]), surface, w.mesh.mean(t)
}

// stateTable gives temperature, its slope and conductivity of an enthalpy per volume. Below zero
// (frozen) it interpolates linearly between 1024 equal steps of enthalpy, in which the temperature is
// smooth: it is within 0.002 K of [mixture.enthalpy].
type stateTable struct {
	freezing        float64 // °C
	capacity        float64 // J/(m³ K), unfrozen
	conductivity    float64 // unfrozen
	scale           float64 // kg/m³: J/m³ per J/kg of the mixture
	mix             mixture
	lowest, inverse float64
	t, k            []float64
}

const tableSteps = 1024

func newStateTable(p Piece) stateTable {
	m := p.Composition.mix()
	tf := m.freezing
	s := stateTable{
		freezing:     tf,
		capacity:     p.heatCapacity(),
		conductivity: float64(p.Conductivity),
		mix:          m,
		t:            make([]float64, tableSteps+1),
		k:            make([]float64, tableSteps+1),
	}
	s.scale = s.capacity / m.dryHeat.plus(m.water, water.heat).at(tf)
	_, joint := m.properties(tf)
	s.lowest = s.enthalpy(float64(p.Start) - 1)
	width := -s.lowest / tableSteps
	s.inverse = 1 / width
	t := tf
	for i := tableSteps; i >= 0; i-- {
		// h is convex in T below freezing and the last root is above: Newton falls to the next one.
		goal := s.lowest + float64(i)*width
		for i < tableSteps {
			below := min(t, tf*(1+1e-12))
			change := (s.enthalpy(below) - goal) / (s.scale * m.apparent(below))
			t = below - change
			if math.Abs(change) < 1e-10 {
				break
			}
		}
		s.t[i] = t
		_, k := m.properties(t)
		s.k[i] = s.conductivity * k / joint
	}
	return s
}

// enthalpy is J/m³ of the piece at t.
func (s *stateTable) enthalpy(t float64) float64 {
	if t >= s.freezing {
		return s.capacity * (t - s.freezing)
	}
	return s.scale * s.mix.enthalpy(t)
}

func (s *stateTable) at(h float64) (t, slope, k float64) {
	if h >= 0 {
		return s.freezing + h/s.capacity, 1 / s.capacity, s.conductivity
	}
	x := max((h-s.lowest)*s.inverse, 0)
	i := min(int(x), tableSteps-1)
	x -= float64(i)
	rise := s.t[i+1] - s.t[i]
	return s.t[i] + x*rise, rise * s.inverse, s.k[i] + x*(s.k[i+1]-s.k[i])
}

package cook

import (
	"fmt"
	"math"
	"slices"
	"time"

	"bagwatch/internal/heat"
	"bagwatch/internal/quantity"
)

// water is a bath with a history, as the estimates see it. A nil *water is a steady bath.
type water struct {
	likelyPool, carefulPool *pool
	likelyFilm, stillFilm   heat.Film // of the likely estimate, with the pump and without
	slowFilm, slowStill     heat.Film // of the careful one
	margin                  quantity.Temperature
}

// water follows the bath of a plan through a diary; nil for a diary that says nothing.
func (d Diary) water(p *Plan) (*water, error) {
	if err := d.check(); err != nil {
		return nil, err
	}
	if d.Empty() {
		return nil, nil
	}
	w := &water{margin: p.Request.margin()}
	w.likelyFilm, w.slowFilm = films(p.Request.Bath, p.Food.Material.Film)
	w.stillFilm, w.slowStill = films(BathStill, p.Food.Material.Film)
	var err error
	if w.likelyPool, err = d.follow(p.Setpoint, false); err != nil {
		return nil, err
	}
	if w.carefulPool, err = d.follow(p.Setpoint, true); err != nil {
		return nil, err
	}
	return w, nil
}

// history lays the water out for the solver, with one film while the pump runs and one while it stands.
func (p *pool) history(lower quantity.Temperature, moving, still heat.Film) heat.History {
	start := p.out[0].from
	var h heat.History
	for i, s := range p.out {
		film := moving
		if s.still {
			film = still
		}
		if i+1 < len(p.out) && p.out[i+1].from <= s.from {
			continue
		}
		next := heat.Ramp(s.from-start, max(0, s.at-lower), max(0, s.end-lower), film)
		if n := len(h); n > 0 && h[n-1].Bath == h[n-1].Until && next.Bath == next.Until && h[n-1].Bath == next.Bath && h[n-1].Film == film {
			continue
		}
		h = append(h, next)
	}
	return h.Since(-start)
}

// likely is the likely course of a piece.
func (w *water) likely(g Geometry, m heat.Material, start quantity.Temperature) (Curve, error) {
	if w == nil {
		return follow(g, m, start)
	}
	s, err := solve(g.Shape, m, start, w.likelyPool.history(0, w.likelyFilm, w.stillFilm))
	if err != nil {
		return nil, err
	}
	return s, nil
}

// careful is the course that safety rests on. While the water is steady the slow piece is the cool one; in
// water that falls it is a quick one, which keeps no heat. So both are followed and the cooler counts.
func (w *water) careful(p *Plan, slow, quick heat.Material) (Curve, error) {
	if w == nil {
		return follow(p.Careful, slow, p.StartAt)
	}
	slowly := w.carefulPool.history(w.margin, w.slowFilm, w.slowStill)
	a, err := solve(p.Careful.Shape, slow, p.StartAt, slowly)
	if err != nil {
		return nil, err
	}
	b, err := solve(p.Likely.Shape, quick, p.StartAt, w.carefulPool.history(w.margin, w.likelyFilm, w.likelyFilm))
	if err != nil {
		return nil, err
	}
	last := slowly[len(slowly)-1]
	return &lower{slow: a, quick: b, from: last.From, bath: last.Bath}, nil
}

func solve(shape heat.Shape, m heat.Material, start quantity.Temperature, h heat.History) (*heat.Solution, error) {
	s, err := heat.Solve(heat.Piece{Shape: shape, Material: m, Start: start}, h, Horizon)
	if err != nil {
		return nil, fmt.Errorf("%w: %w", errModel, err)
	}
	return s, nil
}

// lower is the cooler of a slow and a quick piece at each moment.
type lower struct {
	slow, quick *heat.Solution
	from        time.Duration // since when the bath is steady
	bath        quantity.Temperature
}

// Core is the cooler middle.
func (l *lower) Core(t time.Duration) quantity.Temperature {
	return min(l.slow.Core(t), l.quick.Core(t))
}

// Surface is the cooler surface.
func (l *lower) Surface(t time.Duration) quantity.Temperature {
	return min(l.slow.Surface(t), l.quick.Surface(t))
}

// Mean is the cooler mean.
func (l *lower) Mean(t time.Duration) quantity.Temperature {
	return min(l.slow.Mean(t), l.quick.Mean(t))
}

// Steady says since when the bath has not changed.
func (l *lower) Steady() (time.Duration, quantity.Temperature) { return l.from, l.bath }

// Reach is the first time that both middles are at target. Both are straight between the instants they
// were computed at, so their minimum bulges upwards there and is not found late by more than a step.
func (l *lower) Reach(target quantity.Temperature) (time.Duration, bool) {
	times := append(l.slow.Times(), l.quick.Times()...)
	slices.Sort(times)
	if l.Core(0) >= target {
		return 0, true
	}
	before := time.Duration(0)
	for _, at := range times {
		if at == before || l.Core(at) < target {
			before = at
			continue
		}
		late := before
		for _, s := range []*heat.Solution{l.slow, l.quick} {
			a, b := s.Core(before), s.Core(at)
			if a < target {
				late = max(late, before+time.Duration(math.Ceil(float64(target-a)/float64(b-a)*float64(at-before))))
			}
		}
		return late, true
	}
	return 0, false
}

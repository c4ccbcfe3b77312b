package dinner

import (
	"fmt"
	"math"
	"slices"
	"time"

	"bagwatch/internal/heat"
	"bagwatch/internal/quantity"
)

// A middling tub. House rules, as for every question about water.
const (
	usualLitres quantity.Volume      = 12
	usualWatts  quantity.Power       = 1000
	usualTap    quantity.Temperature = 20
	usualRoom   quantity.Temperature = 20
	// tubFilm is the film of a bare tub in still air, W/(m² K): common practice, no source.
	tubFilm heat.Film = 8
	// icing is how long it takes to scoop water out, stir ice in and check: house rule.
	icing = 10
	// crowd is how much food a litre of water takes, kg: bags must hang free. House rule.
	crowd = 0.5
	// deepDip is a drop of the bath that is worth a word, K: house rule.
	deepDip quantity.Temperature = 3
)

const never = math.MaxInt32

// water is a bath as the search sees it: minutes to get from one grid value to another.
type water struct {
	Bath
	vessel  heat.Vessel
	covered bool  // the heater needs a lid for the hottest setpoint
	rise    []int // minutes from the base to each grid value, never when out of reach
	fall    []int // minutes from the hottest grid value down to each, without ice
	first   []int // minutes from the water now to each
	ice     bool

	fixed mask // dishes that are in it now
	at    int  // grid index of its setpoint now, when fixed is not empty
	soon  int  // minutes from now until it is there
}

// newWater tabulates a bath on a grid of rising temperatures. The tub is an open cube with the least wall
// for its volume: evaporation makes its times long, which is the side to err on; only when the open tub does
// not get to the hottest value is it taken as covered.
func newWater(b Bath, kit Kit, grid []quantity.Temperature) (water, error) {
	if b.Litres == 0 {
		b.Litres = usualLitres
	}
	if b.Watts == 0 {
		b.Watts = usualWatts
	}
	if b.Now == 0 {
		b.Now = usualTap
	}
	room := kit.Room
	if room == 0 {
		room = usualRoom
	}
	side := math.Cbrt(float64(b.Litres) / 1000)
	w := water{Bath: b, ice: kit.Ice, at: -1}
	w.vessel = heat.Vessel{Water: b.Litres, Heater: b.Watts, Open: heat.Area(side * side), Walls: heat.Area(5 * side * side), WallFilm: tubFilm, Room: room}
	base := min(b.Now, grid[0])
	if _, gets, err := w.vessel.HeatUp(base, grid[len(grid)-1]); err != nil {
		return w, fmt.Errorf("%w: %w", ErrKitchen, err)
	} else if !gets {
		w.covered, w.vessel.Open = true, 0
	}
	minutes := func(d time.Duration, ok bool, err error) int {
		if err != nil || !ok || d > farthest {
			return never
		}
		return ceil(d)
	}
	now := minutes(w.vessel.HeatUp(base, max(base, b.Now)))
	for _, t := range grid {
		up := minutes(w.vessel.HeatUp(base, t))
		w.rise = append(w.rise, up)
		switch {
		case t >= b.Now && up < never:
			w.first = append(w.first, up-min(now, up))
		case t >= b.Now:
			w.first = append(w.first, never)
		default:
			w.first = append(w.first, w.cool(b.Now, t))
		}
	}
	return w, nil
}

// tub is a bath with its tables.
type tub struct {
	bath  Bath
	room  quantity.Temperature
	ice   bool
	grid  []quantity.Temperature
	water water
}

// tubOf makes the tables of a bath, or copies them from the last time they were asked for.
func (p *desk) tubOf(b Bath, kit Kit, grid []quantity.Temperature) (water, error) {
	i := slices.IndexFunc(p.tubs, func(t tub) bool {
		return t.bath == b && t.room == kit.Room && t.ice == kit.Ice && slices.Equal(t.grid, grid)
	})
	if i < 0 {
		w, err := newWater(b, kit, grid)
		if err != nil {
			return w, err
		}
		i, p.tubs = len(p.tubs), append(p.tubs, tub{b, kit.Room, kit.Ice, grid, w})
	}
	w := p.tubs[i].water
	w.first = slices.Clone(w.first) // a replan writes into it
	return w, nil
}

// cool is how many minutes the water takes down to a temperature.
func (w *water) cool(from, to quantity.Temperature) int {
	if w.ice {
		return icing
	}
	d, ok, err := w.vessel.CoolTo(from, to)
	if err != nil || !ok || d > farthest {
		return never
	}
	return ceil(d)
}

// change is how many minutes it takes from one grid value to another. Bags that stay in add heat on the way
// down, which the ice takes; on the way up none stay in.
func (w *water) change(grid []quantity.Temperature, from, to int) int {
	switch {
	case from == to:
		return never // the same phase
	case grid[to] > grid[from]:
		if w.rise[to] == never {
			return never
		}
		return max(1, w.rise[to]-w.rise[from]+1) // both were rounded up
	case w.ice:
		return icing
	}
	if w.fall == nil {
		w.fall = make([]int, len(grid))
		for i, t := range grid {
			w.fall[i] = w.cool(grid[len(grid)-1], t)
		}
	}
	if w.fall[to] == never {
		return never
	}
	return max(1, w.fall[to]-w.fall[from]+1)
}

// iceFor is the ice that cools the water, and food that stays in it, from one temperature to another: a
// heat balance without gain from the room, so the least.
func (w *water) iceFor(food quantity.Mass, from, to quantity.Temperature) quantity.Mass {
	m, err := heat.Chilling{Food: food, From: from, To: to, Water: w.Litres, Tap: from, Bath: to}.Ice()
	if err != nil {
		return 0 // a bath that passed newWater has figures the balance takes
	}
	return m
}

// ceil gives whole minutes, rounded up.
func ceil(d time.Duration) int {
	return int(quantity.CeilTo(d, time.Minute) / time.Minute)
}

// span is the reverse of ceil.
func span(minutes int) time.Duration { return time.Duration(minutes) * time.Minute }

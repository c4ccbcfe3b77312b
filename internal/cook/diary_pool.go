package cook

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"time"

	"bagwatch/internal/heat"
	"bagwatch/internal/lethality"
	"bagwatch/internal/quantity"
)

// What a bath is taken for when its litres and watts are not known. For the careful estimate the water
// falls, and rises again, at rates no bath of two litres and more and no heater in use does worse than
// while it holds at all: by our own heat balance an open pot of 2 L at 60 °C loses 0.4 K a minute, and a
// cold bag in it as much again; 0.2 K a minute is 14 W a litre. The likely estimate takes a plain bath.
// House rules, with the balance checked in a test.
const (
	worstFall    = 2.0                        // K/min with the power off, down to the room
	worstRise    = 0.2                        // K/min when it heats
	worstColdBag = quantity.Temperature(5)    // K for each cold bag: half a kilogram in five litres is 4.2
	worstLidOff  = quantity.Temperature(1)    // K while the lid is off, at a heater nobody knows
	frozenLoad   = 2.3                        // a frozen bag takes so many times the heat: 444 against 195 kJ/kg, Choi & Okos (1986)
	waterLoad    = quantity.Mass(1.2)         // kilograms of food that take as much heat as a litre of water: 4.18 against 3.5 kJ/(kg K)
	coldBag      = quantity.Mass(0.5)         // of one bag, when nobody says: house rule
	coldBagStart = fridgeTemperature          //
	plainLitres  = quantity.Volume(10)        //
	plainWatts   = quantity.Power(1000)       //
	bathDepth    = quantity.Length(0.15)      // litres to surfaces: house rule, shallow, so that the loss is not too small
	wallFilm     = heat.Film(8)               // bare wall in still air: common practice, no source
	offBy        = quantity.Temperature(0.5)  // a reading this near is what was expected
	usualRoom    = quantity.Temperature(20)   //
	fallPiece    = 5 * time.Minute            // first piece of a cooling curve
	longestFall  = 12 * time.Hour             // longest piece of it
	gentleFall   = quantity.Temperature(2)    // pieces grow while they fall less than this: a chord errs by 0.02 K
	risePiece    = quantity.Temperature(4)    // pieces of a heating curve
	coolFall     = quantity.Temperature(6)    // the same where nothing is killed and everything grows
	diaryTail    = Horizon + 24*time.Hour     // how long the bath is followed after its last line
	nearlyThere  = quantity.Temperature(1e-9) //
)

// vessel is the bath for a heat balance.
func (d Diary) vessel(litres quantity.Volume, watts quantity.Power, lidOff bool) heat.Vessel {
	open := heat.Area(float64(litres) / 1000 / float64(bathDepth))
	v := heat.Vessel{
		Water: litres, Heater: watts, Open: open, WallFilm: wallFilm, Room: d.room(),
		Walls: open + heat.Area(4*math.Sqrt(float64(open))*float64(bathDepth)),
	}
	if d.Covered && !lidOff {
		v.Open = 0
	}
	return v
}

func (d Diary) room() quantity.Temperature {
	if d.Room == 0 {
		return usualRoom
	}
	return d.Room
}

// stretch is a piece of the water's history: linear, from its beginning to that of the next.
type stretch struct {
	from    time.Duration
	at, end quantity.Temperature
	still   bool // the pump stood
}

// pool follows the water of one estimate through a diary.
type pool struct {
	diary   Diary
	careful bool
	litres  quantity.Volume
	watts   quantity.Power

	now     time.Duration
	water   quantity.Temperature
	set     quantity.Temperature // what the bath is set to
	target  quantity.Temperature // what it is believed to go to: less than set after a low reading
	highest quantity.Temperature // what it was ever set to
	off     int                  // power cuts that last
	lidOff  int
	known   int // first stretch since the water was last known
	out     []stretch
}

// action is a change in the pool at a moment. Rank orders those of one moment: a reading sees what power,
// lid and cold bags did, and a setting starts from what was read.
type action struct {
	at   time.Duration
	rank int
	do   func(*pool) error
}

func (d Diary) actions() []action {
	var all []action
	add := func(at time.Duration, rank int, do func(*pool) error) {
		all = append(all, action{at, rank, do})
	}
	for _, e := range d.Events {
		switch e.Kind {
		case WaterMeasured:
			add(e.At, 2, func(p *pool) error { p.measured(e.Temperature); return nil })
		case WaterSet:
			add(e.At, 3, func(p *pool) error { p.setTo(e.Temperature); return nil })
		case waterMoved:
			add(e.At, 3, func(p *pool) error { p.moved(e.Temperature); return nil })
		case ColdBags:
			bags := float64(max(1, e.Count))
			if e.Frozen {
				bags *= frozenLoad
			}
			add(e.At, 1, func(p *pool) error { return p.load(quantity.Mass(bags) * coldBag) })
		case WaterAdded:
			litres := e.Litres
			if litres == 0 {
				litres = 1
			}
			add(e.At, 1, func(p *pool) error { return p.load(quantity.Mass(litres) * waterLoad) })
		case PowerOut, LidOff:
			count := func(by int) func(*pool) error {
				return func(p *pool) error {
					if e.Kind == PowerOut {
						p.off += by
					} else {
						p.lidOff += by
					}
					return nil
				}
			}
			add(e.At, 0, count(1))
			if !e.Ongoing {
				add(e.Until, 0, count(-1))
			}
		}
	}
	slices.SortStableFunc(all, func(a, b action) int {
		return cmp.Or(cmp.Compare(a.at, b.at), cmp.Compare(a.rank, b.rank))
	})
	return all
}

// follow lets the water run through the diary, from immersion or the first line before it.
func (d Diary) follow(setpoint quantity.Temperature, careful bool) (*pool, error) {
	p := &pool{
		diary: d, careful: careful, litres: d.Litres, watts: d.Watts,
		water: setpoint, set: setpoint, target: setpoint, highest: setpoint,
	}
	if !d.balanced() && !careful {
		p.litres, p.watts = plainLitres, plainWatts
	}
	actions := d.actions()
	if len(actions) > 0 {
		p.now = min(0, actions[0].at)
	}
	for _, a := range actions {
		if err := p.advance(a.at); err != nil {
			return nil, err
		}
		if err := a.do(p); err != nil {
			return nil, err
		}
	}
	if err := p.advance(max(0, p.now) + diaryTail); err != nil {
		return nil, err
	}
	p.out = append(p.out, stretch{p.now, p.water, p.water, p.off > 0})
	return p, nil
}

// balanced reports whether this estimate runs on a heat balance.
func (p *pool) balanced() bool { return p.litres > 0 && p.watts > 0 }

func (p *pool) vessel() heat.Vessel { return p.diary.vessel(p.litres, p.watts, p.lidOff > 0) }

// emit adds a stretch that lasts until the given time.
func (p *pool) emit(until time.Duration, end quantity.Temperature) {
	if until > p.now {
		p.out = append(p.out, stretch{p.now, p.water, end, p.off > 0})
	}
	p.now, p.water = until, end
}

// advance runs the water to a time.
func (p *pool) advance(to time.Duration) error {
	for p.now < to {
		goal, err := p.goal()
		switch {
		case err != nil:
			return err
		case p.off > 0:
			err = p.fall(to)
		case p.water < goal-nearlyThere:
			err = p.rise(to, goal)
		default:
			p.water = goal
			p.emit(to, goal)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// goal is where the water goes with the power on: its target, or what the heater can hold against an open lid.
func (p *pool) goal() (quantity.Temperature, error) {
	if p.lidOff == 0 {
		return p.target, nil
	}
	if !p.balanced() {
		return max(p.target-worstLidOff, min(p.target, p.diary.room())), nil
	}
	v := p.vessel()
	low, high := min(p.target, p.diary.room()), p.target
	for range 40 {
		middle := (low + high) / 2
		loss, err := v.Loss(middle)
		if err != nil {
			return 0, fmt.Errorf("%w: %w", ErrDiary, err)
		}
		if loss <= p.watts {
			low = middle
		} else {
			high = middle
		}
	}
	if p.target-low < 1e-6 {
		return p.target, nil
	}
	return low, nil
}

// fall cools the water with the power off.
func (p *pool) fall(to time.Duration) error {
	room := p.diary.room()
	if p.water <= room {
		p.emit(to, p.water)
		return nil
	}
	if !p.balanced() {
		down := time.Duration(float64(p.water-room) / worstFall * float64(time.Minute))
		p.linear(to, down, room)
		return nil
	}
	v := p.vessel()
	for piece := fallPiece; p.now < to; {
		until := min(to, p.now+piece)
		next, err := v.Cool(p.water, until-p.now)
		if err != nil {
			return fmt.Errorf("%w: %w", ErrDiary, err)
		}
		gentle := gentleFall
		if next < lethality.GrowthHigh-coolFall {
			gentle = coolFall
		}
		if 2*(p.water-next) < gentle {
			piece = min(2*piece, longestFall)
		}
		p.emit(until, next)
	}
	return nil
}

// rise heats the water towards its goal, a piece at a time: the chord of a heating curve lies below it, since
// the loss grows, and a short one not by much.
func (p *pool) rise(to time.Duration, goal quantity.Temperature) error {
	up := time.Duration(float64(goal-p.water) / worstRise * float64(time.Minute))
	if p.balanced() {
		goal = min(goal, p.water+risePiece)
		span, ok, err := p.vessel().HeatUp(p.water, goal)
		if err != nil {
			return fmt.Errorf("%w: %w", ErrDiary, err)
		}
		if !ok { // the heater does not get there: nothing is credited
			p.emit(to, p.water)
			return nil
		}
		up = span
	}
	p.linear(to, up, goal)
	return nil
}

// linear moves the water to goal over a span, as far as it gets by the given time.
func (p *pool) linear(to, span time.Duration, goal quantity.Temperature) {
	if end := p.now + span; end <= to {
		p.emit(end, goal)
		return
	}
	part := quantity.Temperature(float64(to-p.now) / float64(span))
	p.emit(to, p.water+part*(goal-p.water))
}

// setTo sets the bath. Water that is too warm for it counts as cool at once.
func (p *pool) setTo(t quantity.Temperature) {
	p.set, p.target, p.highest = t, t, max(p.highest, t)
	p.water = min(p.water, t)
	p.known = len(p.out)
}

// moved puts the piece into other water, with the power on.
func (p *pool) moved(t quantity.Temperature) {
	p.water, p.set, p.target, p.highest = t, t, t, max(p.highest, t)
	p.off, p.lidOff = 0, 0
	p.known = len(p.out)
}

// load drops so much cold food into the water.
func (p *pool) load(mass quantity.Mass) error {
	if !p.balanced() {
		p.water = max(min(p.water, coldBagStart), p.water-quantity.Temperature(mass/coldBag)*worstColdBag)
		return nil
	}
	mixed, err := heat.Mixing(p.litres, p.water, mass, coldBagStart)
	if err != nil {
		return fmt.Errorf("%w: %w", ErrDiary, err)
	}
	p.water = min(p.water, mixed)
	return nil
}

// measured takes a reading. Careful: a reading below what was expected counts since the water was last
// known, and the bath is believed to stay there until another reading or setting says otherwise; one
// above it counts from now on and never for more than the bath was set to. Likely: the water went there
// in a straight line.
func (p *pool) measured(t quantity.Temperature) {
	expected := p.water
	if p.careful {
		for i := p.known; i < len(p.out); i++ {
			p.out[i].at, p.out[i].end = min(p.out[i].at, t), min(p.out[i].end, t)
		}
	} else if last := len(p.out) - 1; last >= p.known {
		p.out[last].end = min(t, p.set)
	}
	p.water = min(t, p.set)
	switch {
	case t >= p.set-offBy:
		p.target = p.set
	case t < expected-offBy || p.target < p.set:
		if p.off == 0 {
			p.target = p.water
		}
	}
	p.known = len(p.out)
}

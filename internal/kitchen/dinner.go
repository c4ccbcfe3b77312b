package kitchen

import (
	"math"
	"slices"
	"time"

	"bagwatch/internal/cook"
	"bagwatch/internal/quantity"
)

// Dinner is a planned dinner: not its steps but what they are planned from, in the order in which it was
// said, so that planning it again gives the same steps. The zero Dinner is none.
type Dinner struct {
	Made  time.Time // when it was planned
	Serve time.Time // when it was to be served, by that plan
	Going time.Time // since when its steps are told; zero while it is only proposed
	By    Who       // who planned it
	Card  Card      // the message that shows it

	Dishes []cook.Request
	Baths  int // how many there are
	Litres quantity.Volume
	Watts  quantity.Power
	NoIce  bool

	Shifts []Shift
	Marks  []Mark
}

// Shift is what came up while a dinner was going. At most one of the last three is set; with none the plan
// took in what had happened.
type Shift struct {
	At     time.Time     // when it was said
	Late   time.Duration // the cook is late
	Guests time.Duration // the guests are late
	Serve  time.Time     // dinner is at another time
}

// Mark is what became of a step.
type Mark struct {
	What string    // as in [Step]
	By   Who       // who took it
	Done time.Time // when it was done, if somebody said so
}

// Caps of a dinner. House rules: the dishes are as many as are planned for, and whoever shifts a dinner
// more often than this plans a new one.
const (
	MaxDishes = 8
	MaxShifts = 12
	maxTubs   = 8
	mostShift = 24 * time.Hour
)

// Some tells whether there is a dinner.
func (n Dinner) Some() bool { return !n.Made.IsZero() }

// empty tells that nothing is in it; one without a time of planning cannot be stored.
func (n Dinner) empty() bool {
	return !n.Some() && n.Serve.IsZero() && n.Going.IsZero() && n.By == Who{} && n.Card == Card{} && n.Baths == 0 &&
		n.Litres == 0 && n.Watts == 0 && !n.NoIce && len(n.Dishes)+len(n.Shifts)+len(n.Marks) == 0
}

func (n Dinner) clone() Dinner {
	n.Dishes, n.Shifts, n.Marks = slices.Clone(n.Dishes), slices.Clone(n.Shifts), slices.Clone(n.Marks)
	return n
}

// Mark finds what became of a step.
func (n Dinner) Mark(what string) Mark {
	for _, m := range n.Marks {
		if m.What == what {
			return m
		}
	}
	return Mark{What: what}
}

// SetDinner keeps a dinner and its steps. A dinner that is not going has no steps. The zero Dinner ends
// what there was.
func (d *Document) SetDinner(n Dinner, steps []Step, now time.Time) error {
	n = n.clone()
	switch {
	case !n.Some():
		d.Dinner, d.Steps = Dinner{}, nil
		return nil
	case len(n.Dishes) > MaxDishes, len(n.Shifts) > MaxShifts, len(n.Marks) > MaxSteps:
		return ErrFull
	case len(n.Dishes) == 0, n.Baths < 1, n.Baths > maxTubs, n.Going.IsZero() && len(steps) > 0,
		!(n.Litres >= 0 && n.Litres <= maxLitres), !(n.Watts >= 0 && n.Watts <= maxWatts):
		return ErrValue
	case n.Serve.IsZero(), n.Serve.After(now.Add(maxAhead)):
		return ErrTime
	}
	n.Made, n.Serve, n.Going, n.By = down(n.Made), down(n.Serve), down(n.Going), n.By.clip()
	n.Litres = quantity.Volume(ceilTo(float64(n.Litres), deci))
	n.Watts = quantity.Power(floorTo(float64(n.Watts), 1))
	for i := range n.Dishes {
		var err error
		if n.Dishes[i], err = settle(n.Dishes[i]); err != nil {
			return err
		}
	}
	for i := range n.Shifts {
		s := &n.Shifts[i]
		s.At, s.Serve, s.Late, s.Guests = down(s.At), down(s.Serve), s.Late.Truncate(time.Second), s.Guests.Truncate(time.Second)
		if s.At.IsZero() || s.Late < 0 || s.Late > mostShift || s.Guests < 0 || s.Guests > mostShift {
			return ErrTime
		}
	}
	for i := range n.Marks {
		m := &n.Marks[i]
		m.By, m.Done = m.By.clip(), down(m.Done)
		if !word(m.What, maxFood) {
			return ErrValue
		}
	}
	told := d.Steps
	if err := d.SetSteps(steps, now); err != nil {
		return err
	}
	for i := range d.Steps {
		s := &d.Steps[i]
		s.Told = slices.ContainsFunc(told, func(o Step) bool { return o.What == s.What && o.At.Equal(s.At) && o.Told })
	}
	d.Dinner = n
	return nil
}

// DinnerGoing tells whether steps of a dinner are still to come.
func (d Document) DinnerGoing(now time.Time) bool {
	return !d.Dinner.Going.IsZero() && slices.ContainsFunc(d.Steps, func(s Step) bool { return s.At.After(now) })
}

// expireDinner lets go of a dinner a day after it was served, or proposed.
func (d *Document) expireDinner(now time.Time) {
	last := later(d.Dinner.Made, d.Dinner.Serve)
	if d.Dinner.Going.IsZero() {
		last = d.Dinner.Made
	}
	for _, s := range d.Steps {
		last = later(last, s.At)
	}
	if d.Dinner.Some() && now.Sub(last) > keepStep {
		d.Dinner = Dinner{}
	}
}

func (c *coder) dinner(n *Dinner) {
	m := c.mask(!n.Going.IsZero(), n.Card != Card{}, n.Litres != 0, n.Watts != 0, n.NoIce)
	has := func(bit int) bool { return m>>bit&1 == 1 }
	c.moment(&n.Made)
	c.moment(&n.Serve)
	if n.Made.IsZero() {
		c.fail()
		return
	}
	if has(0) {
		c.moment(&n.Going)
	}
	c.who(&n.By)
	if has(1) {
		integer(c, &n.Card.Message, math.MinInt64, math.MaxInt64)
		integer(c, &n.Card.Topic, math.MinInt64, math.MaxInt64)
	}
	integer(c, &n.Baths, 0, maxTubs)
	if has(2) {
		figure(c, &n.Litres, 1, deci, 0, maxLitres)
	}
	if has(3) {
		figure(c, &n.Watts, 1, 1, 0, maxWatts)
	}
	n.NoIce = has(4)
	list(c, &n.Dishes, MaxDishes, (*coder).request)
	list(c, &n.Shifts, MaxShifts, (*coder).shift)
	list(c, &n.Marks, MaxSteps, (*coder).markOf)
}

func (c *coder) shift(s *Shift) {
	c.moment(&s.At)
	for _, d := range [...]*time.Duration{&s.Late, &s.Guests} {
		seconds := int64(*d / time.Second)
		integer(c, &seconds, 0, int64(mostShift/time.Second))
		*d = time.Duration(seconds) * time.Second
	}
	c.moment(&s.Serve)
}

func (c *coder) markOf(m *Mark) {
	name(c, &m.What, maxFood)
	c.who(&m.By)
	c.moment(&m.Done)
}

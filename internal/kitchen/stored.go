package kitchen

import (
	"math"
	"time"

	"bagwatch/internal/cook"
)

// The tags of the sections. Never reuse a number.
const (
	tagPeople byte = iota + 1
	tagSettings
	tagBags
	tagDiary
	tagKept
	tagSteps
	tagCard
	tagKeys
	tagGroups
	tagLog
	tagCounts
	tagMarks
	tagRecents
	tagDinner // from version 2
)

func (c *coder) sections(d *Document) {
	c.section(tagSettings, d.Settings != Settings{}, func() { c.settings(&d.Settings) })
	c.section(tagBags, len(d.Bags) > 0, func() { list(c, &d.Bags, maxBags, (*coder).bag) })
	c.section(tagDiary, len(d.Diary) > 0, func() { list(c, &d.Diary, MaxDiary, (*coder).entry) })
	c.section(tagKept, len(d.Kept) > 0, func() { list(c, &d.Kept, MaxKept, (*coder).kept) })
	c.section(tagSteps, len(d.Steps) > 0, func() { list(c, &d.Steps, MaxSteps, (*coder).step) })
	c.section(tagCard, d.Card != Card{}, func() {
		integer(c, &d.Card.Message, math.MinInt64, math.MaxInt64)
		integer(c, &d.Card.Topic, math.MinInt64, math.MaxInt64)
	})
	c.section(tagKeys, len(d.Keys) > 0, func() { list(c, &d.Keys, maxKeys, (*coder).key) })
	c.section(tagGroups, len(d.Groups) > 0, func() {
		list(c, &d.Groups, MaxGroups, func(c *coder, g *ChatID) { integer(c, g, math.MinInt64, math.MaxInt64) })
	})
	c.section(tagLog, len(d.Log) > 0, func() { list(c, &d.Log, MaxLog, (*coder).cook) })
	c.section(tagCounts, len(d.Counts) > 0, func() { list(c, &d.Counts, maxCounts, (*coder).count) })
	marks := d.LastBag != 0 || d.LastKept != 0 || !d.ToppedUp.IsZero() || !d.Held.IsZero() || !d.Parked.IsZero() ||
		!d.Forgetting.IsZero() || d.MovedTo != 0 || d.MergedFrom != 0 || !d.Retry.IsZero()
	c.section(tagMarks, marks, func() { c.marks(d) })
	c.section(tagRecents, len(d.Recents) > 0, func() { list(c, &d.Recents, MaxRecents, (*coder).recent) })
	if c.version >= 2 {
		c.section(tagDinner, !d.Dinner.empty(), func() { c.dinner(&d.Dinner) })
	}
}

func (c *coder) person(w *Who) {
	integer(c, &w.ID, math.MinInt64, math.MaxInt64)
	text(c, &w.Name, MaxName)
}

func (c *coder) marks(d *Document) {
	m := c.mask(!d.ToppedUp.IsZero(), !d.Held.IsZero(), !d.Parked.IsZero(), !d.Forgetting.IsZero(), !d.Retry.IsZero(),
		d.MovedTo != 0, d.MergedFrom != 0)
	integer(c, &d.LastBag, 0, math.MaxUint16)
	integer(c, &d.LastKept, 0, math.MaxUint16)
	for i, t := range [...]*time.Time{&d.ToppedUp, &d.Held, &d.Parked, &d.Forgetting, &d.Retry} {
		if m>>i&1 == 1 {
			c.moment(t)
		}
	}
	for i, chat := range [...]*ChatID{&d.MovedTo, &d.MergedFrom} {
		if m>>(5+i)&1 == 1 {
			integer(c, chat, math.MinInt64, math.MaxInt64)
		}
	}
}

func (c *coder) settings(s *Settings) {
	m := c.mask(s.Kind == Kitchen, s.AtRisk, s.StillPot, s.Title != "", s.Language != "", s.Zone != "", s.Units != UnitsUnset,
		s.Country != "", s.Litres != 0, s.Watts != 0, s.ThermometerError != 0, s.Altitude != 0, s.Quiet != Quiet{})
	has := func(bit int) bool { return m>>bit&1 == 1 }
	if c.writing && s.Kind > Kitchen {
		c.fail()
	}
	if has(0) {
		s.Kind = Kitchen
	}
	s.AtRisk, s.StillPot = has(1), has(2)
	if has(3) {
		text(c, &s.Title, MaxTitle)
	}
	if has(4) {
		name(c, &s.Language, maxTag)
	}
	if has(5) {
		name(c, &s.Zone, maxZone)
	}
	if has(6) {
		integer(c, &s.Units, 0, int64(Imperial))
	}
	if has(7) {
		name(c, &s.Country, maxCode)
	}
	if has(8) {
		figure(c, &s.Litres, 1, deci, 0, maxLitres)
	}
	if has(9) {
		figure(c, &s.Watts, 1, 1, 0, maxWatts)
	}
	if has(10) {
		figure(c, &s.ThermometerError, 1, centi, 0, float64(maxError))
	}
	if has(11) {
		figure(c, &s.Altitude, 1, 1, minAltitude, maxAltitude)
	}
	if has(12) {
		integer(c, &s.Quiet.From, 0, int64(day-1))
		integer(c, &s.Quiet.To, 0, int64(day-1))
	}
}

func (c *coder) request(r *cook.Request) {
	if c.writing {
		c.settled(r)
	}
	m := c.mask(r.Pieces != 0, r.Mass != 0, r.Thickness != 0, r.Doneness != "", r.HasSetpoint, r.Start != "", r.ThicknessVague,
		r.AtRisk, r.NonIntact, r.MassEach, r.Shape != "", r.StartAt != 0, r.Pasteurised, r.Cured,
		r.Span != 0, r.Country != "", r.Bath != "", r.Altitude != 0, r.ThermometerError != 0)
	has := func(bit int) bool { return m>>bit&1 == 1 }
	name(c, &r.Food, maxFood)
	if has(0) {
		integer(c, &r.Pieces, 0, maxPieces)
	}
	if has(1) {
		figure(c, &r.Mass, 1000, perGram, 0, float64(maxMass))
	}
	if has(2) {
		figure(c, &r.Thickness, 1000, perMillimetre, 0, float64(maxThickness))
	}
	if has(3) {
		name(c, &r.Doneness, maxFood)
	}
	if r.HasSetpoint = has(4); r.HasSetpoint {
		figure(c, &r.Setpoint, 1, centi, float64(-maxHeat), float64(maxHeat))
	}
	if has(5) {
		choice(c, &r.Start, starts)
	}
	r.ThicknessVague, r.AtRisk, r.NonIntact, r.MassEach = has(6), has(7), has(8), has(9)
	if has(10) {
		choice(c, &r.Shape, shapes)
	}
	if has(11) {
		figure(c, &r.StartAt, 1, centi, float64(-maxHeat), float64(maxHeat))
	}
	r.Pasteurised, r.Cured = has(12), has(13)
	if has(14) {
		seconds := int64(r.Span / time.Second)
		integer(c, &seconds, 0, int64(maxSpan/time.Second))
		r.Span = time.Duration(seconds) * time.Second
	}
	if has(15) {
		name(c, &r.Country, maxCode)
	}
	if has(16) {
		choice(c, &r.Bath, baths)
	}
	if has(17) {
		figure(c, &r.Altitude, 1, 1, minAltitude, maxAltitude)
	}
	if has(18) {
		figure(c, &r.ThermometerError, 1, centi, 0, float64(maxError))
	}
	if !c.writing && c.err == nil {
		c.settled(r)
	}
}

// settled insists on a request as settle leaves it: anything else would come back changed.
func (c *coder) settled(r *cook.Request) {
	if settled, err := settle(*r); err != nil || settled != *r {
		c.fail()
	}
}

func (c *coder) bag(b *Bag) {
	integer(c, &b.ID, 1, math.MaxUint16)
	m := c.mask(b.Name != "", !b.Closed.IsZero(), b.Thrown, b.Trouble != "", b.ToldTrouble, !b.Times.Pasteurised.IsZero())
	has := func(bit int) bool { return m>>bit&1 == 1 }
	if c.writing && (b.Closed.IsZero() && b.ClosedBy != Who{} || b.Trouble == "" && !b.Unsafe.IsZero()) {
		c.fail()
	}
	c.request(&b.Request)
	if has(0) {
		text(c, &b.Name, MaxName)
	}
	c.who(&b.Starter)
	c.moment(&b.Started)
	if b.Started.IsZero() {
		c.fail()
		return
	}
	t := &b.Times
	from := b.Started
	for _, at := range [...]*time.Time{&t.Early, &t.Ready, &t.LastCall, &t.BestBefore, &t.Limit} {
		c.span(at, from)
		from = *at
	}
	if has(5) {
		c.span(&t.Pasteurised, b.Started)
	}
	choice(c, &t.Serve, serves)
	integer(c, &b.Told, 0, int64(Past))
	if has(1) {
		c.moment(&b.Closed)
		c.who(&b.ClosedBy)
	}
	b.Thrown = has(2)
	if has(3) {
		name(c, &b.Trouble, maxFood)
		c.moment(&b.Unsafe)
	}
	b.ToldTrouble = has(4)
}

func (c *coder) entry(e *Entry) {
	integer(c, &e.Kind, 0, int64(maxEntry))
	c.moment(&e.At)
	m := c.mask(!e.Until.IsZero(), e.Temperature != 0, e.Count != 0, e.Litres != 0, e.Bag != 0)
	has := func(bit int) bool { return m>>bit&1 == 1 }
	if has(0) {
		c.moment(&e.Until)
	}
	if has(1) {
		figure(c, &e.Temperature, 1, centi, float64(coldestWater), float64(hottestWater))
	}
	if has(2) {
		integer(c, &e.Count, 0, maxPieces)
	}
	if has(3) {
		figure(c, &e.Litres, 1, deci, 0, maxLitres)
	}
	if has(4) {
		integer(c, &e.Bag, 0, math.MaxUint16)
	}
	c.who(&e.By)
}

func (c *coder) kept(k *Kept) {
	integer(c, &k.ID, 1, math.MaxUint16)
	integer(c, &k.Bag, 0, math.MaxUint16)
	name(c, &k.Food, maxFood)
	text(c, &k.Name, MaxName)
	integer(c, &k.Pieces, 0, maxPieces)
	c.moment(&k.Since)
	c.moment(&k.Until)
	c.who(&k.By)
	k.Frozen = c.mask(k.Frozen) == 1
	integer(c, &k.Told, 0, keptOver)
}

func (c *coder) step(s *Step) {
	c.moment(&s.At)
	name(c, &s.What, maxFood)
	text(c, &s.Ref, MaxName)
	c.who(&s.By)
	s.Told = c.mask(s.Told) == 1
}

func (c *coder) key(k *Key) {
	c.moment(&k.At)
	if c.writing {
		c.b = append(c.b, k.Digest[:]...)
		return
	}
	if len(c.b) < len(k.Digest) {
		c.fail()
		return
	}
	c.b = c.b[copy(k.Digest[:], c.b):]
}

func (c *coder) cook(k *Cook) {
	integer(c, &k.Bag, 0, math.MaxUint16)
	name(c, &k.Food, maxFood)
	text(c, &k.Name, MaxName)
	figure(c, &k.Setpoint, 1, centi, float64(-maxHeat), float64(maxHeat))
	figure(c, &k.Thickness, 1000, perMillimetre, 0, float64(maxThickness))
	name(c, &k.Doneness, maxFood)
	c.moment(&k.Started)
	c.moment(&k.Pulled)
	integer(c, &k.Starter, math.MinInt64, math.MaxInt64)
	integer(c, &k.Rating, 0, MaxRating)
	text(c, &k.Note, MaxNote)
	integer(c, &k.By, math.MinInt64, math.MaxInt64)
}

func (c *coder) count(n *Count) {
	integer(c, &n.Person, math.MinInt64, math.MaxInt64)
	integer(c, &n.What, 0, math.MaxUint8)
	c.moment(&n.Since)
	integer(c, &n.N, 0, math.MaxInt32)
}

func (c *coder) recent(r *Recent) {
	integer(c, &r.Person, math.MinInt64, math.MaxInt64)
	c.moment(&r.At)
	c.request(&r.Request)
}

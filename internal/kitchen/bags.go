package kitchen

import (
	"cmp"
	"errors"
	"slices"
	"time"

	"bagwatch/internal/cook"
	"bagwatch/internal/quantity"
)

// slack is how far ahead of our clock a message's may be. House rule.
const slack = time.Minute

// begun checks the start of a bag.
func begun(started, now time.Time) error {
	if started.After(now.Add(slack)) || started.Before(now.Add(-cook.Horizon)) {
		return ErrTime
	}
	return nil
}

// StartBag puts a bag in the bath and gives it its id. What has already come for it by now is taken as
// said in the answer to whoever started it, and not told again.
func (d *Document) StartBag(b Bag, now time.Time) (Bag, error) {
	if err := begun(b.Started, now); err != nil {
		return Bag{}, err
	}
	if len(d.Running()) >= MaxRunning {
		return Bag{}, ErrFull
	}
	b.Closed, b.ClosedBy, b.Thrown = time.Time{}, Who{}, false
	b.Told = b.Times.stateAt(now)
	d.add(b)
	return d.Bags[len(d.Bags)-1], nil
}

// add gives the bag a free id and makes room by letting go of the bag closed longest ago.
func (d *Document) add(b Bag) {
	if len(d.Bags) >= maxBags {
		oldest := -1
		for i, o := range d.Bags {
			if !o.Running() && (oldest < 0 || o.Closed.Before(d.Bags[oldest].Closed)) {
				oldest = i
			}
		}
		if oldest >= 0 {
			d.Bags = slices.Delete(d.Bags, oldest, oldest+1)
		}
	}
	for d.LastBag++; d.LastBag == 0 || d.index(d.LastBag) >= 0 || d.logged(d.LastBag) >= 0; d.LastBag++ {
	}
	b.ID = d.LastBag
	d.Bags = append(d.Bags, b)
}

func (d *Document) index(id BagID) int {
	return slices.IndexFunc(d.Bags, func(b Bag) bool { return b.ID == id })
}

// Bag finds a bag, running or closed.
func (d Document) Bag(id BagID) (Bag, bool) {
	i := d.index(id)
	if i < 0 {
		return Bag{}, false
	}
	return d.Bags[i], true
}

// Running lists the bags in the bath, the next to be ready first.
func (d Document) Running() []Bag {
	var out []Bag
	for _, b := range d.Bags {
		if b.Running() {
			out = append(out, b)
		}
	}
	slices.SortFunc(out, func(a, b Bag) int {
		return cmp.Or(a.Times.Ready.Compare(b.Times.Ready), cmp.Compare(a.ID, b.ID))
	})
	return out
}

// running finds a bag in the bath. With ErrClosed the index still points to the bag.
func (d *Document) running(id BagID) (int, error) {
	i := d.index(id)
	switch {
	case i < 0:
		return i, ErrNoBag
	case !d.Bags[i].Running():
		return i, ErrClosed
	}
	return i, nil
}

// managed finds a bag in the bath that somebody may manage.
func (d *Document) managed(id BagID, by Actor) (int, error) {
	i, err := d.running(id)
	by.Admin = by.Admin || d.Settings.Kind == Private
	if i >= 0 && !d.Bags[i].MayManage(by) {
		return i, ErrNotYours
	}
	return i, err
}

// bagAt is the bag at an index, or none.
func (d *Document) bagAt(i int) Bag {
	if i < 0 {
		return Bag{}
	}
	return d.Bags[i]
}

// Pull takes a bag out to be eaten; anybody may. It is noted in the log. With [ErrClosed] the bag
// returned says who was first.
func (d *Document) Pull(id BagID, by Who, now time.Time) (Bag, error) {
	i, err := d.running(id)
	if err != nil {
		return d.bagAt(i), err
	}
	b := &d.Bags[i]
	b.Closed, b.ClosedBy, b.Thrown = later(down(now), b.Started), by.clip(), false
	d.record(*b)
	return *b, nil
}

// UndoPull puts a pulled bag back, within [Undo]. Anybody may: what one tap did, one tap takes back.
func (d *Document) UndoPull(id BagID, now time.Time) (Bag, error) {
	i := d.index(id)
	switch {
	case i < 0:
		return Bag{}, ErrNoBag
	case d.Bags[i].Running():
		return d.Bags[i], nil
	case d.Bags[i].Thrown || now.After(d.Bags[i].UndoUntil()):
		return d.Bags[i], ErrTooLate
	case len(d.Running()) >= MaxRunning:
		return d.Bags[i], ErrFull
	}
	d.unrecord(id)
	d.Bags[i].Closed, d.Bags[i].ClosedBy = time.Time{}, Who{}
	return d.Bags[i], nil
}

// Drop stops watching a bag: it was started by mistake, or thrown away.
func (d *Document) Drop(id BagID, by Actor, now time.Time) (Bag, error) {
	i, err := d.managed(id, by)
	if err != nil {
		return d.bagAt(i), err
	}
	b := &d.Bags[i]
	b.Closed, b.ClosedBy, b.Thrown = later(down(now), b.Started), by.Who.clip(), true
	return *b, nil
}

// Move corrects when a bag went in; all its times move along. What has come by now is taken as said in
// the answer.
func (d *Document) Move(id BagID, started time.Time, by Actor, now time.Time) (Bag, error) {
	i, err := d.managed(id, by)
	if err != nil {
		return d.bagAt(i), err
	}
	if err := begun(started, now); err != nil {
		return d.bagAt(i), err
	}
	b := &d.Bags[i]
	started = up(started)
	b.Times = b.Times.shift(started.Sub(b.Started))
	b.Started = started
	b.Told = b.Times.stateAt(now)
	return *b, nil
}

// Rename gives a bag a name of its own; an empty one goes back to the food's.
func (d *Document) Rename(id BagID, name string, by Actor) (Bag, error) {
	i, err := d.managed(id, by)
	if err != nil {
		return d.bagAt(i), err
	}
	d.Bags[i].Name = clip(name, MaxName)
	return d.Bags[i], nil
}

// Replan gives a bag in the bath another plan: the thickness, setpoint or doneness was corrected. What
// has come by now is taken as said in the answer.
func (d *Document) Replan(id BagID, plan *cook.Plan, by Actor, now time.Time) (Bag, error) {
	i, err := d.managed(id, by)
	if err != nil {
		return d.bagAt(i), err
	}
	r, err := resolved(plan)
	if err != nil {
		return d.Bags[i], err
	}
	b := &d.Bags[i]
	b.Request, b.Times = r, timesOf(plan, b.Started)
	b.Trouble, b.Unsafe, b.ToldTrouble = "", time.Time{}, false
	b.Told = b.Times.stateAt(now)
	return *b, nil
}

// Planner plans a request; cook.Model is one.
type Planner interface {
	Plan(cook.Request) (*cook.Plan, error)
}

// Change is what a recomputation did to one bag.
type Change struct {
	Before, After Bag
}

// Moved is by how much ready, last call or best before moved, the largest of them.
func (c Change) Moved() time.Duration {
	var most time.Duration
	for s := Ready; s <= Past; s++ {
		most = max(most, c.After.Times.at(s).Sub(c.Before.Times.at(s)).Abs())
	}
	return most
}

// Recompute plans every bag in the bath again with the settings as they are, after altitude, still pot or
// thermometer error changed, and returns what changed. A bag that a rule refuses now keeps its times, and
// is doubtful from now on: the news of that falls due at once and is urgent.
func (d *Document) Recompute(p Planner, now time.Time) []Change {
	var changes []Change
	for i := range d.Bags {
		if b := &d.Bags[i]; b.Running() {
			before := *b
			r := b.Request
			r.Bath, r.Altitude, r.ThermometerError = "", 0, 0
			plan, err := p.Plan(d.Settings.Fill(r))
			b.retime(plan, err, now)
			if before != *b {
				changes = append(changes, Change{Before: before, After: *b})
			}
		}
	}
	return changes
}

// retime takes over a new plan, or the refusal of one.
func (b *Bag) retime(plan *cook.Plan, err error, now time.Time) {
	var r cook.Request
	if err == nil {
		r, err = resolved(plan)
	}
	if err == nil {
		b.Request, b.Times = r, timesOf(plan, b.Started)
		b.Trouble, b.Unsafe, b.ToldTrouble = "", time.Time{}, false
		b.Told = min(b.Told, b.Times.stateAt(now)) // what lies ahead again is told again
		return
	}
	trouble := TroubleUnknown
	var refusal *cook.Refusal
	if errors.As(err, &refusal) {
		trouble = refusal.Rule
	}
	b.doubt(trouble, now)
}

// doubt marks a bag as doubtful from a moment on.
func (b *Bag) doubt(rule cook.RuleID, from time.Time) {
	if !word(string(rule), maxFood) || rule == "" {
		rule = TroubleUnknown
	}
	if b.Trouble == rule && !b.Unsafe.After(from) {
		return // known, and since then
	}
	b.Trouble, b.Unsafe, b.ToldTrouble = rule, down(from), false
}

// Doubt marks a bag as unsafe from a moment on, now or to come: the bath diary says so. The news of it is
// urgent.
func (d *Document) Doubt(id BagID, rule cook.RuleID, from time.Time) (Bag, error) {
	i, err := d.running(id)
	if err != nil {
		return d.bagAt(i), err
	}
	d.Bags[i].doubt(rule, from)
	return d.Bags[i], nil
}

// SetTimes lays other times under a bag, such as those of a bath that was not steady; times out of order
// are [ErrTime]. What lies ahead again is told again.
func (d *Document) SetTimes(id BagID, t Times, now time.Time) (Bag, error) {
	i, err := d.running(id)
	if err != nil {
		return d.bagAt(i), err
	}
	t = Times{
		Early: up(t.Early), Ready: up(t.Ready), LastCall: down(t.LastCall), BestBefore: down(t.BestBefore),
		Limit: down(t.Limit), Pasteurised: up(t.Pasteurised), Serve: t.Serve,
	}
	b := &d.Bags[i]
	switch {
	case code(serves, t.Serve) < 0:
		return *b, ErrValue
	case t.Early.Before(b.Started), t.Ready.Before(t.Early), t.LastCall.Before(t.Ready),
		t.BestBefore.Before(t.LastCall), t.Limit.Before(t.BestBefore),
		t.Limit.After(b.Started.Add(maxSpan)), t.Pasteurised.After(b.Started.Add(maxSpan)):
		return *b, ErrTime
	}
	b.Times = t
	b.Told = min(b.Told, t.stateAt(now))
	return *b, nil
}

// Shared is one water temperature that bags ask for.
type Shared struct {
	Setpoint quantity.Temperature
	Bags     []BagID
}

// sameBath is how far setpoints may be apart and still be one: people round between °C and °F. House rule.
const sameBath = 0.3

// Conflicts lists the setpoints that the bags in the bath ask for, coolest first, when there is more than
// one; nil otherwise.
func Conflicts(d Document) []Shared {
	bags := d.Running()
	slices.SortStableFunc(bags, func(a, b Bag) int { return cmp.Compare(a.Request.Setpoint, b.Request.Setpoint) })
	var out []Shared
	for _, b := range bags {
		if n := len(out); n > 0 && b.Request.Setpoint-out[n-1].Setpoint <= sameBath {
			out[n-1].Bags = append(out[n-1].Bags, b.ID)
			continue
		}
		out = append(out, Shared{Setpoint: b.Request.Setpoint, Bags: []BagID{b.ID}})
	}
	if len(out) < 2 {
		return nil
	}
	return out
}

// later is the later of two times.
func later(a, b time.Time) time.Time {
	if a.Before(b) {
		return b
	}
	return a
}

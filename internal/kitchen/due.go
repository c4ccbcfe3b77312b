package kitchen

import (
	"cmp"
	"slices"
	"time"

	"bagwatch/internal/cook"
)

// News is what one chat is told in one message.
type News struct {
	// Items is in the order to tell them: urgent first, then by how far along things are.
	Items []Item
	// Urgent news goes before that of other chats, and out in quiet hours.
	Urgent bool
	// Silent news makes no sound: there is nothing in it but water to top up.
	Silent bool
	// Resume asks to take up again what was begun with this chat; there are no items then.
	Resume Resume
}

// Empty tells that there is nothing to do.
func (n News) Empty() bool { return len(n.Items) == 0 && n.Resume == ResumeNothing }

// Resume is something begun that a restart has to finish.
type Resume uint8

// What can be resumed.
const (
	ResumeNothing Resume = iota
	ResumeForget         // the owner is being forgotten: go on with the groups
	ResumeMove           // the group became MovedTo: merge there and delete this one
)

// retry is how long after one attempt the next is made. House rule.
const retry = time.Minute

// ItemKind is a kind of news.
type ItemKind uint8

// The kinds of news, the most pressing first.
const (
	BagUnsafe   ItemKind = iota // Bag: a rule refuses it now, see Bag.Trouble
	BagPast                     // Bag
	BagLastCall                 // Bag
	BagReady                    // Bag
	KeepOver                    // Kept: its keep-until date has come
	KeepSoon                    // Kept: it comes within a day
	DinnerStep                  // Step
	TopUp                       // water to top up for a long cook
)

// about groups the kinds by what they are about, so that the newest of one thing stands for all.
func (k ItemKind) about() ItemKind {
	switch {
	case k <= BagReady:
		return BagReady
	case k <= KeepSoon:
		return KeepSoon
	}
	return k
}

// Item is one piece of news.
type Item struct {
	Kind ItemKind
	Bag  Bag
	Kept Kept
	Step Step
	// At is when it happened. Late is by how much this is told after it should have been: after an outage
	// some while, in quiet hours from when they ended.
	At   time.Time
	Late time.Duration
	// Untold says that the bag turned ready and nobody was told yet.
	Untold bool
	// Unpasteurised says of a bag that is past that no rule counts it as pasteurised now.
	Unpasteurised bool
	Urgent        bool
}

// topUpEvery is how often a long cook's water wants looking at, and from which length of cook on. House rule.
const topUpEvery = 8 * time.Hour

// event is something that falls due.
type event struct {
	kind   ItemKind
	index  int // of the bag, kept food or step
	at     time.Time
	urgent bool
}

// events gives every event of d that was not told. Those of a bag come in the order of its states.
func (d *Document) events(yield func(event)) {
	for i := range d.Bags {
		d.Bags[i].events(i, yield)
	}
	for i, k := range d.Kept {
		if soon := k.soon(); k.Told < keptSoon && !soon.IsZero() {
			yield(event{kind: KeepSoon, index: i, at: soon})
		}
		if k.Told < keptOver {
			yield(event{kind: KeepOver, index: i, at: k.Until})
		}
	}
	for i, s := range d.Steps {
		if !s.Told {
			yield(event{kind: DinnerStep, index: i, at: s.At})
		}
	}
	if at := d.topUp(); !at.IsZero() {
		yield(event{kind: TopUp, at: at})
	}
}

func (b *Bag) events(i int, yield func(event)) {
	if !b.Running() || b.Trouble != "" && b.ToldTrouble {
		return
	}
	risky := b.risky()
	for _, s := range [...]State{Ready, LastCall, Past} {
		at := b.Times.at(s)
		if b.Told >= s || b.Trouble != "" && !at.Before(b.Unsafe) {
			continue
		}
		kind := BagReady
		switch s {
		case LastCall:
			kind = BagLastCall
		case Past:
			kind = BagPast
		}
		yield(event{kind: kind, index: i, at: at, urgent: s == Past && risky})
	}
	if b.Trouble != "" && !b.ToldTrouble {
		yield(event{kind: BagUnsafe, index: i, at: b.Unsafe, urgent: true})
	}
}

// topUp is when the water is next to be topped up; zero for never. It is asked for while some bag that
// takes over eight hours is not ready.
func (d *Document) topUp() time.Time {
	var first time.Time
	for _, b := range d.Bags {
		if !b.Running() || b.Times.Ready.Sub(b.Started) <= topUpEvery {
			continue
		}
		at := later(b.Started, d.ToppedUp).Add(topUpEvery)
		if at.Before(b.Times.Ready) && (first.IsZero() || at.Before(first)) {
			first = at
		}
	}
	return first
}

// still tells that nothing is told in this chat.
func (d *Document) still() bool { return !d.Parked.IsZero() }

// resume is what has to be finished.
func (d *Document) resume() Resume {
	switch {
	case d.MovedTo != 0:
		return ResumeMove
	case !d.Forgetting.IsZero():
		return ResumeForget
	}
	return ResumeNothing
}

// Next is when the chat has to be looked at again; zero for never. Before it, Due has nothing to say.
func Next(d Document) time.Time {
	switch {
	case d.resume() != ResumeNothing:
		return d.Retry
	case d.still():
		return time.Time{}
	}
	var urgent, other time.Time
	d.events(func(e event) {
		first := &other
		if e.urgent {
			first = &urgent
		}
		if first.IsZero() || e.at.Before(*first) {
			*first = e.at
		}
	})
	if !other.IsZero() && (urgent.IsZero() || other.Before(urgent)) {
		other = d.told(other, d.Settings.quiet())
	}
	switch {
	case other.IsZero():
		return urgent
	case urgent.IsZero() || other.Before(urgent):
		return other
	}
	return urgent
}

// told is when something not urgent that happens at a moment is told.
func (d *Document) told(at time.Time, q quiet) time.Time { return q.until(later(at, d.Held)) }

// Due gives the news that has fallen due by now, in one message, and the document after telling it. Of
// each bag only the newest state is told. The document can change without news: quiet hours then hold
// something back, and it must be committed all the same, for Next has changed. d is left as it is.
func Due(d Document, now time.Time) (News, Document) {
	if r := d.resume(); r != ResumeNothing {
		if now.Before(d.Retry) {
			return News{}, d
		}
		d.Retry = up(now).Add(retry)
		return News{Resume: r}, d
	}
	if d.still() {
		return News{}, d
	}
	due, other := false, false
	d.events(func(e event) {
		if !e.at.After(now) {
			due = due || e.urgent
			other = other || !e.urgent
		}
	})
	other = other && !d.Held.After(now)
	var q quiet
	if other {
		q = d.Settings.quiet()
		if until := q.until(now); until.After(now) {
			d.Held, other = up(until), false
		}
	}
	if !due && !other {
		return News{}, d
	}

	held := d // whose Held tells when things should have been told
	d.Bags, d.Kept, d.Steps = slices.Clone(d.Bags), slices.Clone(d.Kept), slices.Clone(d.Steps)
	var items []Item
	var last event
	held.events(func(e event) {
		if e.at.After(now) || !e.urgent && !other {
			return
		}
		it := Item{Kind: e.kind, At: e.at, Urgent: e.urgent, Late: now.Sub(e.at)}
		if !e.urgent {
			it.Late = now.Sub(held.told(e.at, q))
		}
		// The events of one bag come one after the other, and the newest says it all.
		if n := len(items); n > 0 && e.index == last.index && e.kind.about() == last.kind.about() {
			items = items[:n-1]
		}
		d.tell(e, &it, now)
		if e.kind.about() == BagReady {
			it.Untold = held.Bags[e.index].Told < Ready && !now.Before(it.Bag.Times.Ready)
		}
		items, last = append(items, it), e
	})
	slices.SortStableFunc(items, func(a, b Item) int {
		return cmp.Or(urgency(a)-urgency(b), cmp.Compare(a.Kind, b.Kind), a.At.Compare(b.At))
	})
	n := News{Items: items, Urgent: items[0].Urgent, Silent: items[0].Kind == TopUp}
	return n, d
}

func urgency(i Item) int {
	if i.Urgent {
		return 0
	}
	return 1
}

// tell marks an event as told and fills its item.
func (d *Document) tell(e event, it *Item, now time.Time) {
	switch e.kind {
	case BagUnsafe, BagPast, BagLastCall, BagReady:
		b := &d.Bags[e.index]
		switch e.kind {
		case BagUnsafe:
			b.ToldTrouble = true
		case BagPast:
			it.Unpasteurised = b.Times.Serve != cook.ServePlant && !b.PasteurisedBy(now)
			b.Told = Past
		case BagLastCall:
			b.Told = LastCall
		case BagReady:
			b.Told = Ready
		}
		it.Bag = *b
	case KeepSoon:
		d.Kept[e.index].Told = keptSoon
		it.Kept = d.Kept[e.index]
	case KeepOver:
		d.Kept[e.index].Told = keptOver
		it.Kept = d.Kept[e.index]
	case DinnerStep:
		d.Steps[e.index].Told = true
		it.Step = d.Steps[e.index]
	case TopUp:
		d.ToppedUp = down(now)
	}
}

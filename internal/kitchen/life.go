package kitchen

import (
	"slices"
	"time"
)

// Lifetimes of what a document holds. House rules; /privacy prints them.
const (
	keepRecent = 30 * time.Minute
	keepKey    = 24 * time.Hour
	keepClosed = 24 * time.Hour      // a bag after it was pulled or dropped
	keepPast   = 48 * time.Hour      // a bag that nobody pulled, after its limit
	keepDiary  = 24 * time.Hour      // a diary line, or as long as a bag that lived through it
	keepOpen   = 30 * 24 * time.Hour // a diary line that was never closed
	keepOver   = 7 * 24 * time.Hour  // kept food after its date
	keepStep   = 24 * time.Hour
	keepLog    = 365 * 24 * time.Hour
	keepCount  = 24 * time.Hour
	keepChat   = 400 * 24 * time.Hour // a document that nothing happens to
	keepParked = 90 * 24 * time.Hour  // one whose chat cannot be written to
)

// Lifetimes are how long things are kept, for the privacy notice.
type Lifetimes struct {
	LastRequest, AppliedKeys, ClosedBags, PastBags, Diary, KeptOver, Log, IdleChat, ParkedChat time.Duration
}

// KeptFor tells how long things are kept.
func KeptFor() Lifetimes {
	return Lifetimes{
		LastRequest: keepRecent, AppliedKeys: keepKey, ClosedBags: keepClosed, PastBags: keepPast,
		Diary: keepDiary, KeptOver: keepOver, Log: keepLog, IdleChat: keepChat, ParkedChat: keepParked,
	}
}

// Expire lets go of what has outlived its time. Call it before each commit.
func (d *Document) Expire(now time.Time) {
	since := func(t time.Time, keep time.Duration) bool { return now.Sub(t) > keep }
	d.Recents = slices.DeleteFunc(d.Recents, func(r Recent) bool { return since(r.At, keepRecent) })
	d.Keys = slices.DeleteFunc(d.Keys, func(k Key) bool { return since(k.At, keepKey) })
	d.Bags = slices.DeleteFunc(d.Bags, func(b Bag) bool {
		if b.Running() {
			// Never before people were told how it ended.
			return since(b.Times.Limit, keepPast) && (b.Told == Past || b.ToldTrouble)
		}
		return since(b.Closed, keepClosed)
	})
	d.expireDiary(now)
	d.Kept = slices.DeleteFunc(d.Kept, func(k Kept) bool { return since(k.Until, keepOver) && k.Told == keptOver })
	d.Steps = slices.DeleteFunc(d.Steps, func(s Step) bool { return since(s.At, keepStep) && s.Told })
	d.expireDinner(now)
	d.Log = slices.DeleteFunc(d.Log, func(c Cook) bool { return since(c.Pulled, keepLog) })
	d.Counts = slices.DeleteFunc(d.Counts, func(c Count) bool { return since(c.Since, keepCount) })
	if since(d.ToppedUp, keepDiary) && len(d.Bags) == 0 {
		d.ToppedUp = time.Time{}
	}
	// Quiet hours are no longer than a day and an hour of daylight saving: what is held longer was held by a
	// clock that was wrong.
	if now.Sub(d.Held).Abs() > 25*time.Hour {
		d.Held = time.Time{}
	}
}

// Expires is when a document committed now may be dropped if nothing more happens.
func Expires(d Document, now time.Time) time.Time {
	if d.MovedTo == 0 && !d.Parked.IsZero() {
		return up(d.Parked).Add(keepParked)
	}
	return up(now).Add(keepChat)
}

// Park notes that the chat cannot be written to. Nothing falls due until Unpark.
func (d *Document) Park(now time.Time) {
	if d.Parked.IsZero() {
		d.Parked = down(now)
	}
}

// Unpark takes that back; the newest state of what still runs falls due, with how late it is.
func (d *Document) Unpark() { d.Parked = time.Time{} }

// MoveTo marks a group's document when the group became another chat, before that one's is written. Until
// it is gone, Due asks to go on with it.
func (d *Document) MoveTo(chat ChatID, now time.Time) {
	d.MovedTo, d.Retry = chat, up(now).Add(retry)
}

// Merge takes over what another document of the same chat holds: the group's before it moved. Bags whose
// ids are taken get new ones, which are returned by old id. The card is not taken over, since old
// messages do not hold in the new chat. Merging the same chat again changes nothing, so that a restart
// half-way does no harm. Where a list is full, what is here stays; bags in the bath always find room, or
// nothing is merged ([ErrFull]).
func (d *Document) Merge(from Document, chat ChatID, now time.Time) (map[BagID]BagID, error) {
	if d.MergedFrom == chat {
		return nil, nil
	}
	if len(d.Running())+len(from.Running()) > maxBags {
		return nil, ErrFull
	}
	from = from.Clone()
	moved := make(map[BagID]BagID)
	for _, b := range from.Bags {
		if !b.Running() && len(d.Bags) >= maxBags {
			continue
		}
		old := b.ID
		if d.index(old) < 0 && d.logged(old) < 0 && len(d.Bags) < maxBags {
			d.Bags = append(d.Bags, b)
			d.LastBag = max(d.LastBag, old)
		} else {
			d.add(b)
		}
		moved[old] = d.Bags[len(d.Bags)-1].ID
	}
	for _, e := range from.Diary {
		e.Bag = moved[e.Bag]
		if !slices.Contains(d.Diary, e) && len(d.Diary) < MaxDiary {
			d.insert(e)
		}
	}
	d.mergeRest(from, moved)
	if d.Settings == (Settings{Kind: d.Settings.Kind, Title: d.Settings.Title}) {
		title := d.Settings.Title
		d.Settings = from.Settings
		if title != "" {
			d.Settings.Title = title
		}
		d.Held = from.Held
	}
	d.ToppedUp = later(d.ToppedUp, from.ToppedUp)
	d.MergedFrom = chat
	d.Expire(now)
	return moved, nil
}

func (d *Document) mergeRest(from Document, moved map[BagID]BagID) {
	for _, k := range from.Kept {
		k.Bag = moved[k.Bag]
		if len(d.Kept) >= MaxKept {
			break
		}
		for k.ID == 0 || d.keptIndex(k.ID) >= 0 {
			d.LastKept++
			k.ID = d.LastKept
		}
		d.LastKept = max(d.LastKept, k.ID)
		d.Kept = append(d.Kept, k)
	}
	if !d.Dinner.Some() { // a chat has one dinner, and the one planned here stays
		d.Dinner, d.Steps = from.Dinner, from.Steps
		d.Dinner.Card = Card{}
	}
	for _, c := range from.Log {
		if id, ok := moved[c.Bag]; ok {
			c.Bag = id
		}
		if !slices.ContainsFunc(d.Log, func(o Cook) bool { return o.Bag == c.Bag && o.Pulled.Equal(c.Pulled) }) && len(d.Log) < MaxLog {
			d.Log = append(d.Log, c)
		}
	}
	slices.SortStableFunc(d.Log, func(a, b Cook) int { return a.Pulled.Compare(b.Pulled) })
	for _, k := range from.Keys {
		if !slices.ContainsFunc(d.Keys, func(o Key) bool { return o.Digest == k.Digest }) && len(d.Keys) < maxKeys {
			d.Keys = append(d.Keys, k)
		}
	}
	slices.SortStableFunc(d.Keys, func(a, b Key) int { return a.At.Compare(b.At) })
	for _, r := range from.Recents {
		if !slices.ContainsFunc(d.Recents, func(o Recent) bool { return o.Person == r.Person }) && len(d.Recents) < MaxRecents {
			d.Recents = append(d.Recents, r)
		}
	}
}

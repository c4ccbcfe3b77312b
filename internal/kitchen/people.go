package kitchen

import (
	"crypto/sha256"
	"slices"
	"time"

	"bagwatch/internal/cook"
	"bagwatch/internal/food"
	"bagwatch/internal/quantity"
)

// Recent is what a person asked last, which short follow-ups amend.
type Recent struct {
	Person  PersonID
	At      time.Time
	Request cook.Request
}

// Key stands for a message or press that was applied: the start of the SHA-256 of its key. Of 256 keys
// two are the same with a chance of 1 in 8·10⁹, and then one message of that chat is not answered.
type Key struct {
	Digest [6]byte
	At     time.Time
}

// Remember notes what a person asked, so that "3 cm" can follow.
func (d *Document) Remember(p PersonID, r cook.Request, now time.Time) error {
	r, err := settle(r)
	if err != nil {
		return err
	}
	d.Recents = slices.DeleteFunc(d.Recents, func(o Recent) bool { return o.Person == p })
	if len(d.Recents) >= MaxRecents {
		d.Recents = slices.Delete(d.Recents, 0, 1)
	}
	d.Recents = append(d.Recents, Recent{Person: p, At: down(now), Request: r})
	return nil
}

// Last is what a person asked within the last half hour.
func (d Document) Last(p PersonID, now time.Time) (cook.Request, bool) {
	for _, r := range d.Recents {
		if r.Person == p && now.Sub(r.At) <= keepRecent {
			return r.Request, true
		}
	}
	return cook.Request{}, false
}

func digest(key string) (out [6]byte) {
	sum := sha256.Sum256([]byte(key))
	copy(out[:], sum[:])
	return out
}

// Applied tells whether the message or press of that key was carried out before.
func (d Document) Applied(key string) bool {
	k := digest(key)
	return slices.ContainsFunc(d.Keys, func(o Key) bool { return o.Digest == k })
}

// MarkApplied notes that it is carried out, in the same commit. The oldest give way when there are too many.
func (d *Document) MarkApplied(key string, now time.Time) {
	if d.Applied(key) {
		return
	}
	if len(d.Keys) >= maxKeys {
		d.Keys = slices.Delete(d.Keys, 0, len(d.Keys)-maxKeys+1)
	}
	d.Keys = append(d.Keys, Key{Digest: digest(key), At: up(now)})
}

// Join notes, in a person's own document, a group in which they did something; false if there is no room.
func (d *Document) Join(group ChatID) bool {
	if slices.Contains(d.Groups, group) {
		return true
	}
	if len(d.Groups) >= MaxGroups {
		return false
	}
	d.Groups = append(d.Groups, group)
	return true
}

// Leave takes a group off the list.
func (d *Document) Leave(group ChatID) {
	d.Groups = slices.DeleteFunc(d.Groups, func(g ChatID) bool { return g == group })
}

// Forget takes a person out of the document: their name and number, what they asked, their ratings and
// notes. Bags, diary, kept food and a dinner stay, as somebody's, for the kitchen needs them. It tells whether
// anything was there.
func (d *Document) Forget(p PersonID) bool {
	if p == 0 {
		return false
	}
	found := false
	gone := func(w *Who) {
		if w.ID == p {
			*w, found = Who{}, true
		}
	}
	for i := range d.Bags {
		b := &d.Bags[i]
		if b.Starter.ID == p {
			b.Name = "" // it was their word
		}
		gone(&b.Starter)
		gone(&b.ClosedBy)
	}
	for i := range d.Diary {
		gone(&d.Diary[i].By)
	}
	for i := range d.Kept {
		if d.Kept[i].By.ID == p {
			d.Kept[i].Name = ""
		}
		gone(&d.Kept[i].By)
	}
	for i := range d.Steps {
		gone(&d.Steps[i].By)
	}
	gone(&d.Dinner.By)
	for i := range d.Dinner.Marks {
		gone(&d.Dinner.Marks[i].By)
	}
	recents, counts := len(d.Recents), len(d.Counts)
	d.Recents = slices.DeleteFunc(d.Recents, func(r Recent) bool { return r.Person == p })
	d.Counts = slices.DeleteFunc(d.Counts, func(c Count) bool { return c.Person == p })
	for i := range d.Log {
		c := &d.Log[i]
		if c.Starter == p {
			c.Starter, c.Name, found = 0, "", true
		}
		if c.By == p {
			c.By, c.Rating, c.Note, found = 0, 0, "", true
		}
	}
	return found || recents != len(d.Recents) || counts != len(d.Counts)
}

// ForgetAll empties the document. What is left names nobody: the kind of chat, the last ids given out, so
// that an old button never meets a new bag, and the keys of the last day, so that a message delivered
// twice is not taken for a new one.
func (d *Document) ForgetAll() {
	*d = Document{
		Settings: Settings{Kind: d.Settings.Kind}, LastBag: d.LastBag, LastKept: d.LastKept,
		Keys: d.Keys, Parked: d.Parked,
	}
}

// StartForgetting marks the document of a person who is being forgotten, before the groups follow. Until
// it is gone, Due asks to go on with it.
func (d *Document) StartForgetting(now time.Time) {
	if d.Forgetting.IsZero() {
		d.Forgetting, d.Retry = down(now), up(now).Add(retry)
	}
}

// Cook is a past cook.
type Cook struct {
	Bag       BagID
	Food      food.ID
	Name      string
	Setpoint  quantity.Temperature
	Thickness quantity.Length
	Doneness  food.Doneness
	Started   time.Time
	Pulled    time.Time
	Starter   PersonID
	Rating    uint8 // from TooSoft to TooFirm; 0 is none
	Note      string
	By        PersonID // who rated and noted
}

// MaxRating is the end of the scale that log.go names.
const MaxRating = 5

// record notes a pulled bag in the log.
func (d *Document) record(b Bag) {
	if len(d.Log) >= MaxLog {
		d.Log = slices.Delete(d.Log, 0, len(d.Log)-MaxLog+1)
	}
	d.Log = append(d.Log, Cook{
		Bag: b.ID, Food: b.Request.Food, Name: b.Name, Setpoint: b.Request.Setpoint,
		Thickness: b.Request.Thickness, Doneness: b.Request.Doneness,
		Started: b.Started, Pulled: b.Closed, Starter: b.Starter.ID,
	})
}

func (d *Document) unrecord(id BagID) {
	if i := d.logged(id); i >= 0 {
		d.Log = slices.Delete(d.Log, i, i+1)
	}
}

func (d *Document) logged(id BagID) int {
	return slices.IndexFunc(d.Log, func(c Cook) bool { return c.Bag == id })
}

// Rate notes how a past cook turned out; a zero rating or an empty note leaves what is there.
func (d *Document) Rate(id BagID, rating uint8, note string, by PersonID) (Cook, error) {
	i := d.logged(id)
	switch {
	case i < 0:
		return Cook{}, ErrNone
	case rating > MaxRating:
		return d.Log[i], ErrValue
	}
	c := &d.Log[i]
	if rating > 0 {
		c.Rating = rating
	}
	if note = clip(note, MaxNote); note != "" {
		c.Note = note
	}
	c.By = by
	return *c, nil
}

// Count counts how often a person did something costly since a moment.
type Count struct {
	Person PersonID
	What   uint8 // the caller's own number
	Since  time.Time
	N      int
}

// Allow counts one more of something and tells whether that is within most per span. A person whose count
// gave way to those of others begins anew.
func (d *Document) Allow(p PersonID, what uint8, most int, span time.Duration, now time.Time) bool {
	i := slices.IndexFunc(d.Counts, func(c Count) bool { return c.Person == p && c.What == what })
	if i < 0 {
		if len(d.Counts) >= maxCounts {
			d.Counts = slices.Delete(d.Counts, 0, 1)
		}
		d.Counts = append(d.Counts, Count{Person: p, What: what, Since: down(now)})
		i = len(d.Counts) - 1
	}
	c := &d.Counts[i]
	if now.Sub(c.Since) >= span || now.Before(c.Since) {
		c.Since, c.N = down(now), 0
	}
	if c.N >= most {
		return false
	}
	c.N++
	return true
}

// Package kitchen is one chat's document and what may happen to it.
//
// A [Document] is a plain value: settings, the bags in the bath, what the water did, kept food, and the
// little that is needed to be told once and not twice. Everything that happens is a method that takes
// "now" and changes the document or refuses; [Due] gives the news that has fallen due and [Next] when to
// look again. Nothing here reads a clock, a store or a chat, so any order of events can be tried in a test.
//
// All times are UTC in whole seconds, rounded to the safe side: a start and "ready" up, a last call and
// "best before" down. The zone in the settings serves quiet hours only. [Encode] and [Decode] are the
// stored form; fields.go lists every stored field with how it is exported and how it is forgotten.
//
// Start with [New], [Document.StartBag] and [Due].
package kitchen

import (
	"errors"
	"slices"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"
)

// PersonID names a person as the messenger does; 0 is nobody in particular.
type PersonID int64

// ChatID names a chat.
type ChatID int64

// MessageID names a message within its chat; 0 is none.
type MessageID int64

// Who is a person as others in the chat know them. After [Document.Forget] both fields are zero, and the
// person is printed as "someone".
type Who struct {
	ID   PersonID
	Name string
}

// Actor is who wants something done. In a private chat everybody is an admin.
type Actor struct {
	Who
	Admin bool
}

// Kind says what sort of chat a document belongs to.
type Kind uint8

// The kinds of chat.
const (
	Private Kind = iota // a person alone with the bot
	Kitchen             // a group
)

// Document is all that is kept for one chat. Change it through its methods; reading any field is fine.
// Methods change lists in place: work on a [Document.Clone] where the old value is still wanted.
type Document struct {
	Settings Settings
	Recents  []Recent // what each person asked last
	Bags     []Bag    // running ones, and closed ones for a day
	LastBag  BagID    // the last id given out
	Diary    []Entry  // what the water really did, in the order of its times
	Kept     []Kept   // chilled and frozen bags
	LastKept KeptID
	Steps    []Step // of the dinner
	Dinner   Dinner
	Card     Card
	Keys     []Key // what was applied in the last day
	Groups   []ChatID
	Log      []Cook // past cooks, oldest first
	Counts   []Count

	// ToppedUp is when the water was last topped up, or the reminder for it given.
	ToppedUp time.Time
	// Held is until when quiet hours hold news back; set by Due, cleared by SetSettings.
	Held time.Time
	// Parked is since when the chat cannot be written to; zero if it can.
	Parked time.Time
	// Forgetting is since when the chat's owner is being forgotten; zero if not.
	Forgetting time.Time
	// MovedTo is the chat that this group became; 0 if it did not.
	MovedTo ChatID
	// MergedFrom is the chat whose document was merged into this one; 0 if none was.
	MergedFrom ChatID
	// Retry is when an unfinished forgetting or move is to be taken up again.
	Retry time.Time
}

// Card is the one live message that lists a kitchen's bags.
type Card struct {
	Message MessageID
	Topic   int64
}

// New is an empty document.
func New(kind Kind, title string) Document {
	return Document{Settings: Settings{Kind: kind, Title: clip(title, MaxTitle)}}
}

// Caps on what a chat can hold. House rules: far above what one bath holds, low enough that a document
// stays small whatever a chat does.
const (
	MaxRunning = 24 // bags in the bath
	maxBags    = 64 // running and closed together
	MaxDiary   = 64
	MaxKept    = 32
	MaxSteps   = 64
	MaxLog     = 40
	MaxRecents = 8
	MaxGroups  = 64
	maxKeys    = 256
	maxCounts  = 16

	MaxName  = 64 // bytes of a person's or a bag's name
	MaxTitle = 128
	MaxNote  = 256

	// MaxBytes bounds the stored form. The caps above keep every document below it.
	MaxBytes = 80 << 10
)

// Errors of the transitions; test with errors.Is. Nothing was changed when one is returned.
var (
	// ErrNoBag reports that there is no bag of that id in this chat, or no longer.
	ErrNoBag = errors.New("kitchen: no such bag")
	// ErrClosed reports a bag that was already pulled or dropped; the bag says by whom.
	ErrClosed = errors.New("kitchen: bag is not in the bath")
	// ErrNotYours reports that this is for the person who started the bag, or an admin.
	ErrNotYours = errors.New("kitchen: for the starter or an admin")
	// ErrFull reports that a cap is reached.
	ErrFull = errors.New("kitchen: no room for more")
	// ErrTooLate reports an undo after its time.
	ErrTooLate = errors.New("kitchen: too late to undo")
	// ErrTime reports a time in the future, too long ago, or at odds with another one.
	ErrTime = errors.New("kitchen: time out of range")
	// ErrValue reports a figure or a word out of its range.
	ErrValue = errors.New("kitchen: value out of range")
	// ErrZone reports a time zone that is not known.
	ErrZone = errors.New("kitchen: unknown time zone")
	// ErrNone reports that there is no such entry.
	ErrNone = errors.New("kitchen: no such entry")
)

// Clone is a copy that shares nothing with d that can change.
func (d Document) Clone() Document {
	d.Recents = slices.Clone(d.Recents)
	d.Bags = slices.Clone(d.Bags)
	d.Diary = slices.Clone(d.Diary)
	d.Kept = slices.Clone(d.Kept)
	d.Steps = slices.Clone(d.Steps)
	d.Dinner = d.Dinner.clone()
	d.Keys = slices.Clone(d.Keys)
	d.Groups = slices.Clone(d.Groups)
	d.Log = slices.Clone(d.Log)
	d.Counts = slices.Clone(d.Counts)
	return d
}

// up is t in whole seconds UTC, rounded up; the zero time stays.
func up(t time.Time) time.Time {
	if t.IsZero() {
		return time.Time{}
	}
	s := t.Unix()
	if t.Nanosecond() > 0 {
		s++
	}
	return time.Unix(s, 0).UTC()
}

// down is t in whole seconds UTC, rounded down; the zero time stays.
func down(t time.Time) time.Time {
	if t.IsZero() {
		return time.Time{}
	}
	return time.Unix(t.Unix(), 0).UTC()
}

// clip makes s fit to be kept: valid, without control characters or blanks around it, and at most limit bytes.
func clip(s string, limit int) string {
	s = strings.Map(func(r rune) rune {
		switch {
		case r == utf8.RuneError:
			return -1
		case unicode.IsControl(r):
			return ' '
		}
		return r
	}, s)
	s = strings.TrimSpace(s)
	for len(s) > limit {
		_, size := utf8.DecodeLastRuneInString(s)
		s = s[:len(s)-size]
	}
	return strings.TrimSpace(s)
}

func (w Who) clip() Who { return Who{ID: w.ID, Name: clip(w.Name, MaxName)} }

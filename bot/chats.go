package bot

import (
	"container/list"
	"context"
	"errors"
	"fmt"
	"slices"
	"sync"
	"time"

	"bagwatch/internal/cook"
	"bagwatch/internal/kitchen"
	"bagwatch/internal/store"
)

// Store is what the bot needs of storage; store.Memory and store.Redis satisfy it.
type Store interface {
	Load(ctx context.Context, chat store.ChatID) (store.Document, error)
	Save(ctx context.Context, chat store.ChatID, doc store.Document, fence store.Fence) (uint64, error)
	Delete(ctx context.Context, chat store.ChatID, revision uint64, fence store.Fence) error
}

// errBusy reports that a document changed under us more often than we care to try.
var errBusy = errors.New("bot: document keeps changing")

// tries bounds how often a change is recomputed after a conflict.
const tries = 5

// storeTimeout bounds one call to the store.
const storeTimeout = 5 * time.Second

// chats keeps the documents of the chats that were last talked in, so that a plain question touches no
// store, and one lock per chat.
type chats struct {
	store Store
	most  int

	mu   sync.Mutex
	byID map[ChatID]*list.Element // of *entry
	lru  *list.List               // newest first
}

// entry is one chat in memory. Its lock is held for as long as something of the chat is handled.
type entry struct {
	id    ChatID
	users int // who holds or waits for it; guarded by chats.mu

	mu       sync.Mutex
	doc      kitchen.Document
	revision uint64
	known    bool // doc was read once: good enough to answer by
	readAt   time.Time
	fresh    bool // doc is what the store has, as far as we know: good enough to change
	people   map[PersonID]*going
	card     string               // the live card as it was last shown; "" when not known
	answers  []answered           // the newest answers with plans, oldest first
	dinner   string               // the dinner that is going as it was last shown; "" when not known
	steps    map[MessageID]string // the step of a dinner that a message told
}

// answered is a plan that was sent, which a reply to it amends, whoever replies. It is lost at a restart.
type answered struct {
	message MessageID
	request cook.Request
}

// mostAnswers bounds how many answers of a chat can be replied to. House rule.
const mostAnswers = 32

// sent notes what a message of the bot answered; a message that was changed counts as new.
func (e *entry) sent(id MessageID, r cook.Request) {
	e.answers = slices.DeleteFunc(e.answers, func(a answered) bool { return a.message == id })
	if len(e.answers) >= mostAnswers {
		e.answers = slices.Delete(e.answers, 0, 1)
	}
	e.answers = append(e.answers, answered{id, r})
}

// base is the request that a message amends: that of the answer it replies to, else what the person asked
// last.
func (e *entry) base(in Incoming) (cook.Request, bool) {
	for _, a := range e.answers {
		if in.ReplyTo != 0 && a.message == in.ReplyTo {
			return a.request, true
		}
	}
	return e.doc.Last(in.From.ID.kept(), in.At)
}

// going is what is going on with one person in one chat, and is lost at a restart.
type going struct {
	at       time.Time
	asked    MessageID // the last request
	answered MessageID // and its answer
	waiting  string    // the setting whose value is asked for
	safe     *question // the last question about safety, unless a plan was asked for since
}

// Lifetimes and bounds of what is going on.
const (
	keepGoing  = 30 * time.Minute
	mostPeople = 64
)

func newChats(s Store, most int) *chats {
	return &chats{store: s, most: most, byID: map[ChatID]*list.Element{}, lru: list.New()}
}

// lock gives the chat's entry, locked; unlock it when done.
func (c *chats) lock(id ChatID) *entry {
	c.mu.Lock()
	el := c.byID[id]
	if el == nil {
		el = c.lru.PushFront(&entry{id: id, people: map[PersonID]*going{}})
		c.byID[id] = el
		for back := c.lru.Back(); back != nil && c.lru.Len() > c.most; {
			old := back.Value.(*entry)
			before := back.Prev()
			if old.users == 0 && old.id != id {
				c.lru.Remove(back)
				delete(c.byID, old.id)
			}
			back = before
		}
	} else {
		c.lru.MoveToFront(el)
	}
	e := el.Value.(*entry)
	e.users++
	c.mu.Unlock()
	e.mu.Lock()
	return e
}

func (c *chats) unlock(e *entry) {
	e.mu.Unlock()
	c.mu.Lock()
	e.users--
	c.mu.Unlock()
}

// keepRead is how long a document is answered by without looking whether another process changed it.
// House rule: settings made there count here within a minute.
const keepRead = time.Minute

// read makes sure that the document was read lately. Without a store, one read before still serves.
func (c *chats) read(ctx context.Context, e *entry, chat Chat, now time.Time) error {
	if age := now.Sub(e.readAt); e.known && age >= 0 && age < keepRead {
		return nil
	}
	err := c.load(ctx, e, chat, now)
	if err != nil && e.known && errors.Is(err, store.ErrUnavailable) {
		return nil
	}
	return err
}

// load reads the document. What people asked last is kept from before: it is not committed by itself.
func (c *chats) load(ctx context.Context, e *entry, chat Chat, now time.Time) error {
	ctx, cancel := context.WithTimeout(ctx, storeTimeout)
	defer cancel()
	stored, err := c.store.Load(ctx, store.ChatID(e.id))
	recents := e.doc.Recents
	switch {
	case errors.Is(err, store.ErrNone):
		kind := kitchen.Private
		if chat.Group {
			kind = kitchen.Kitchen
		}
		e.doc, e.revision = kitchen.New(kind, chat.Title), 0
	case err != nil:
		return fmt.Errorf("read document: %w", err)
	default:
		if e.doc, err = kitchen.Decode(stored.Data); err != nil {
			return fmt.Errorf("read document: %w", err)
		}
		e.revision = stored.Revision
	}
	if len(recents) > 0 {
		e.doc.Recents = recents
	}
	e.known, e.fresh, e.readAt = true, true, now
	return nil
}

// change commits what f does to the document; what f refuses is returned and nothing is committed. A
// document that changed meanwhile is read again and f is run again. Under a key that was applied before,
// f is not run and repeated is true.
func (c *chats) change(ctx context.Context, e *entry, chat Chat, key string, now time.Time, f func(*kitchen.Document) error) (repeated bool, err error) {
	for range tries {
		if !e.fresh {
			if err := c.load(ctx, e, chat, now); err != nil {
				return false, err
			}
		}
		if key != "" && e.doc.Applied(key) {
			return true, nil
		}
		doc := e.doc.Clone()
		if err := f(&doc); err != nil {
			return false, err
		}
		if key != "" {
			doc.MarkApplied(key, now)
		}
		doc.Expire(now)
		err := c.save(ctx, e, doc, now)
		if err == nil {
			return false, nil
		}
		e.fresh = false
		if !errors.Is(err, store.ErrConflict) {
			return false, err
		}
	}
	return false, errBusy
}

func (c *chats) save(ctx context.Context, e *entry, doc kitchen.Document, now time.Time) error {
	data, err := kitchen.Encode(doc)
	if err != nil {
		return fmt.Errorf("write document: %w", err)
	}
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), storeTimeout) // a started write is finished
	defer cancel()
	revision, err := c.store.Save(ctx, store.ChatID(e.id), store.Document{
		Revision: e.revision, Data: data, Next: kitchen.Next(doc), Expires: kitchen.Expires(doc, now),
	}, store.Fence{})
	if err != nil {
		return fmt.Errorf("write document: %w", err)
	}
	e.doc, e.revision, e.readAt = doc, revision, now
	return nil
}

// remove deletes a document that has moved elsewhere.
func (c *chats) remove(ctx context.Context, e *entry) error {
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), storeTimeout)
	defer cancel()
	if err := c.store.Delete(ctx, store.ChatID(e.id), e.revision, store.Fence{}); err != nil {
		return fmt.Errorf("delete document: %w", err)
	}
	e.doc, e.revision, e.known, e.fresh = kitchen.Document{}, 0, false, false
	return nil
}

// person gives what is going on with a person in the chat.
func (e *entry) person(id PersonID, now time.Time) *going {
	g := e.people[id]
	if g == nil || now.Sub(g.at) > keepGoing {
		if len(e.people) >= mostPeople {
			for other, o := range e.people {
				if now.Sub(o.at) > keepGoing || len(e.people) >= mostPeople {
					delete(e.people, other)
				}
			}
		}
		g = &going{}
		e.people[id] = g
	}
	g.at = now
	return g
}

package bot

import (
	"context"
	"errors"
	"fmt"
	"time"

	"bagwatch/internal/kitchen"
	"bagwatch/internal/reply"
	"bagwatch/internal/store"
)

// sendLimit bounds one send, its wait for a turn included. House rule.
const sendLimit = time.Minute

// itemKey names a piece of news, so that it is sent once.
type itemKey struct {
	kind kitchen.ItemKind
	id   uint16
	at   int64
	what string
}

func keyOf(i kitchen.Item) itemKey {
	k := itemKey{kind: i.Kind, at: i.At.Unix()}
	switch i.Kind {
	case kitchen.DinnerStep:
		k.what = i.Step.What + " " + i.Step.Ref
	case kitchen.KeepOver, kitchen.KeepSoon:
		k.id = uint16(i.Kept.ID)
	default:
		k.id = uint16(i.Bag.ID)
	}
	return k
}

// task is one chat in hand: its entry is locked.
type task struct {
	*Alerts
	job    job
	entry  *entry
	fence  store.Fence
	gained time.Time
	let    func() // gives the place in flight back; nil while there is none
}

// carryOut tells one chat what is due in it, under the chat's lock.
func (a *Alerts) carryOut(ctx context.Context, j job, fence store.Fence, gained time.Time) result {
	t := &task{Alerts: a, job: j, fence: fence, gained: gained, entry: a.bot.chats.lock(j.chat)}
	defer func() {
		a.bot.chats.unlock(t.entry)
		t.leave()
	}()
	var sent bool
	for range tries {
		r, err := t.once(ctx)
		sent = sent || r.sent
		if errors.Is(err, store.ErrConflict) {
			a.counts.conflicts.Add(1)
			continue
		}
		r.sent = sent
		return t.judge(r, err)
	}
	return result{retry: retryFirst, sent: sent}
}

// judge decides what becomes of a job after an error.
func (t *task) judge(r result, err error) result {
	chat := t.job.chat
	var busy *BusyError
	switch {
	case err == nil:
		return r
	case errors.Is(err, store.ErrFenced):
		t.counts.fenced.Add(1)
		t.leases.lost(t.fence)
		t.forgetSent(chat)
		return result{}
	case errors.As(err, &busy):
		t.counts.busy.Add(1)
		return result{retry: max(busy.After, retryFirst), busy: true}
	case fatal(err):
		t.log.Error("document cannot be opened", "chat", chat, "error", err)
		return result{fatal: err}
	case unfinished(err):
		return result{retry: retryFirst, sent: r.sent}
	case errors.Is(err, store.ErrUnavailable):
		t.log.Debug("alert waits for the store", "chat", chat, "error", err)
		return result{retry: retryFirst, sent: r.sent}
	}
	if r.failed {
		t.counts.failed.Add(1)
	}
	r.retry = backoff(t.job.fails)
	t.log.Warn("alert not carried out, trying again", "chat", chat, "attempt", t.job.fails+1, "pause", r.retry, "error", err)
	return r
}

// once reads the chat, tells what is due and was not sent yet, and commits. With [store.ErrConflict]
// somebody changed the chat meanwhile, and it has to be done again by what the chat is now.
func (t *task) once(ctx context.Context) (result, error) {
	e, c := t.entry, t.bot.chats
	now := t.cfg.Now()
	e.fresh = false
	if err := c.load(ctx, e, Chat{ID: e.id}, now); err != nil {
		return result{}, err
	}
	if e.revision == 0 { // the list outlived the document
		e.known, e.fresh = false, false
		t.counts.stale.Add(1)
		t.forgetSent(e.id)
		return result{}, c.store.Delete(ctx, store.ChatID(e.id), 0, t.fence)
	}
	news, doc := kitchen.Due(e.doc, now)
	switch {
	case news.Resume != kitchen.ResumeNothing:
		return t.resume(ctx, news.Resume, doc, now)
	case len(news.Items) == 0:
		t.counts.stale.Add(1)
		if next := kitchen.Next(doc); !next.IsZero() && !next.After(now) {
			t.log.Error("chat is due and has no news", "chat", e.id)
			return result{retry: retryLast}, nil
		}
		return t.commit(ctx, doc, now)
	}
	var sent bool
	if items := without(t.sentBefore(), news.Items); len(items) > 0 {
		over, r, err := t.send(ctx, news, items, now)
		if over || err != nil {
			return r, err
		}
		sent = true
	}
	r, err := t.commit(ctx, doc, now)
	r.sent = sent
	return r, err
}

// send tells items, and remembers that they were sent. over says that the chat is done with, told or not.
func (t *task) send(ctx context.Context, news kitchen.News, items []kitchen.Item, now time.Time) (over bool, r result, err error) {
	if err := t.enter(ctx, news.Urgent); err != nil {
		return false, result{}, err
	}
	if !t.leases.still(t.fence) {
		return false, result{}, fmt.Errorf("send: %w", store.ErrFenced)
	}
	to := t.chat()
	telling := Telling{Chat: to, Items: len(items), Again: t.job.again, Urgent: news.Urgent}
	for _, i := range items {
		telling.Late = max(telling.Late, i.Late)
	}
	telling.Again = telling.Again || !now.Add(-telling.Late).After(t.gained)
	out := t.cfg.Usual
	if news.Urgent {
		out = t.cfg.Urgent
	}
	call, cancel := context.WithTimeout(ctx, sendLimit)
	id, err := out.Send(call, to, t.message(news, items, telling.Again, now))
	cancel()
	if err != nil {
		r, err = t.refused(ctx, err, now)
		return true, r, err
	}
	t.told(telling)
	t.entry.toldStep(id, items)
	t.mu.Lock()
	for _, i := range items {
		t.sent[t.entry.id] = append(t.sent[t.entry.id], keyOf(i))
	}
	t.mu.Unlock()
	return false, result{}, nil
}

// told counts a message.
func (t *task) told(x Telling) {
	t.counts.sent.Add(1)
	t.counts.items.Add(int64(x.Items))
	if x.Again {
		t.counts.again.Add(1)
	}
	t.log.Debug("alert sent", "chat", x.Chat.ID, "items", x.Items, "late", x.Late, "again", x.Again)
	if t.cfg.Told != nil {
		t.cfg.Told(x)
	}
	if t.cfg.Cards != nil && (t.entry.doc.Card.Message != 0 || t.entry.doc.Dinner.Card.Message != 0) {
		t.cardStale(x.Chat)
	}
}

// enter waits for a place in flight. The chat's lock is held meanwhile, which is as long as it takes for
// some message to be sent.
func (t *task) enter(ctx context.Context, urgent bool) error {
	if t.let != nil {
		return nil
	}
	places := []chan struct{}{t.flight}
	if !urgent && t.usual != nil {
		places = []chan struct{}{t.usual, t.flight}
	}
	let := func() {}
	for _, p := range places {
		select {
		case p <- struct{}{}:
			before := let
			let = func() { <-p; before() }
		case <-ctx.Done():
			let()
			return ctx.Err()
		}
	}
	t.let = let
	return nil
}

// leave gives the place in flight back, if there is one.
func (t *task) leave() {
	if t.let != nil {
		t.let()
		t.let = nil
	}
}

// refused deals with a send that the platform did not take.
func (t *task) refused(ctx context.Context, err error, now time.Time) (result, error) {
	var busy *BusyError
	var moved *MovedError
	switch {
	case errors.Is(err, ErrGone):
		doc := t.entry.doc.Clone()
		doc.Park(now)
		r, err := t.commit(ctx, doc, now)
		if err == nil {
			t.counts.parked.Add(1)
			t.log.Info("chat cannot be written to, parked", "chat", t.entry.id)
		}
		return r, err
	case errors.As(err, &moved) && moved.To != t.entry.id:
		doc := t.entry.doc.Clone()
		doc.MoveTo(kitchen.ChatID(moved.To), now)
		if r, err := t.commit(ctx, doc, now); err != nil {
			return r, err
		}
		return result{}, t.move(ctx, now)
	case errors.As(err, &busy), ctx.Err() != nil:
		return result{}, fmt.Errorf("send: %w", err)
	case t.job.lone+1 >= deadAfter:
		_, doc := kitchen.Due(t.entry.doc, now)
		t.log.Error("alert given up: the platform never took it, and takes others", "chat", t.entry.id, "attempt", t.job.fails+1, "error", err)
		r, err := t.commit(ctx, doc, now)
		if err == nil {
			t.counts.dead.Add(1)
		}
		return r, err
	}
	return result{failed: true}, fmt.Errorf("send: %w", err)
}

// chat is where the news goes: the topic of the card, if there is one.
func (t *task) chat() Chat {
	d := &t.entry.doc
	return Chat{ID: t.entry.id, Group: d.Settings.Kind == kitchen.Kitchen, Title: d.Settings.Title, Topic: int(d.Card.Topic)}
}

// message puts news into words, with a button to pull each bag that is told of.
func (t *task) message(news kitchen.News, items []kitchen.Item, again bool, now time.Time) Message {
	s := t.entry.doc.Settings
	lang := t.bot.texts.Language(s.Language)
	options := reply.NewsOptions{Now: now, Names: s.Kind == kitchen.Kitchen, Again: again}
	if s.Zone != "" {
		if zone, err := time.LoadLocation(s.Zone); err == nil {
			options.Zone = zone
		}
	}
	options.Step = func(s kitchen.Step) string { return t.bot.tellStep(&t.entry.doc, s.What, lang, options.Zone) }
	var bags []kitchen.Bag
	var steps []kitchen.Step
	for _, i := range items {
		if i.Kind == kitchen.DinnerStep {
			steps = append(steps, i.Step)
		}
		if i.Bag.ID != 0 {
			bags = append(bags, i.Bag)
		}
	}
	m := Message{Text: lang.News(items, options), Silent: news.Silent}
	for _, b := range bags {
		label := lang.Say(reply.ButtonPull, nil)
		if len(bags) > 1 {
			label = lang.Say(reply.ButtonPullbag, reply.Data{"Bag": lang.Bag(b)})
		}
		m.Buttons = append(m.Buttons, []Button{{Label: label, Data: bagData(bagPull, b.ID)}})
	}
	m.Buttons = append(m.Buttons, stepButtons(&t.entry.doc, steps, lang)...)
	return m
}

// commit writes the chat's document under the fence.
func (t *task) commit(ctx context.Context, doc kitchen.Document, now time.Time) (result, error) {
	e := t.entry
	doc.Expire(now)
	data, err := kitchen.Encode(doc)
	if err != nil {
		return result{}, fmt.Errorf("write document: %w", err)
	}
	next := kitchen.Next(doc)
	call, cancel := context.WithTimeout(ctx, storeTimeout)
	defer cancel()
	e.fresh = false
	revision, err := t.bot.chats.store.Save(call, store.ChatID(e.id), store.Document{
		Revision: e.revision, Data: data, Next: next, Expires: kitchen.Expires(doc, now),
	}, t.fence)
	if err != nil {
		return result{}, fmt.Errorf("write document: %w", err)
	}
	e.doc, e.revision, e.readAt, e.fresh = doc, revision, now, true
	t.forgetSent(e.id)
	return result{next: next}, nil
}

func (t *task) sentBefore() []itemKey {
	t.mu.Lock()
	defer t.mu.Unlock()
	return t.sent[t.entry.id]
}

func (t *task) forgetSent(chat ChatID) {
	t.mu.Lock()
	defer t.mu.Unlock()
	delete(t.sent, chat)
}

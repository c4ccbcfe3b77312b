package bot

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"bagwatch/internal/kitchen"
	"bagwatch/internal/reply"
)

// exported is the file of /export: the person's own document, and those of the kitchens that name them.
type exported struct {
	Own      json.RawMessage   `json:"own"`
	Kitchens []json.RawMessage `json:"kitchens"`
}

const exportName = "bagwatch-export.json"

// export sends a person all that is kept about them, to their own chat only. In the kitchens' documents
// all others are nameless.
func (t *turn) export(ctx context.Context) error {
	if t.chat.Group {
		return t.say(ctx, t.lang.Lines(reply.ExportGroup, nil))
	}
	if err := t.chats.load(ctx, t.entry, t.chat, t.in.At); err != nil {
		return err
	}
	var file exported
	var err error
	if file.Own, err = kitchen.Export(t.entry.doc); err != nil {
		return fmt.Errorf("export: %w", err)
	}
	for _, id := range t.entry.doc.Groups {
		part, err := t.exportKitchen(ctx, ChatID(id))
		if err != nil {
			return err
		}
		file.Kitchens = append(file.Kitchens, part)
	}
	data, err := json.MarshalIndent(file, "", "  ")
	if err != nil {
		return fmt.Errorf("export: %w", err)
	}
	_, err = t.send(ctx, Message{Text: t.lang.Lines(reply.ExportCaption, nil), File: data, FileName: exportName})
	return err
}

// exportKitchen exports a kitchen's document as far as it is about the person. The person's own lock is
// held: a group's turn never waits for a person's, so the two cannot wait for each other.
func (t *turn) exportKitchen(ctx context.Context, id ChatID) (json.RawMessage, error) {
	e := t.chats.lock(id)
	defer t.chats.unlock(e)
	if err := t.chats.load(ctx, e, Chat{ID: id, Group: true}, t.in.At); err != nil {
		return nil, err
	}
	doc := e.doc.Clone()
	for _, p := range persons(doc) {
		if p != t.in.From.ID.kept() {
			doc.Forget(p)
		}
	}
	data, err := kitchen.Export(doc)
	if err != nil {
		return nil, fmt.Errorf("export kitchen: %w", err)
	}
	return data, nil
}

// persons lists everybody a document names.
func persons(d kitchen.Document) []kitchen.PersonID {
	var all []kitchen.PersonID
	add := func(ids ...kitchen.PersonID) { all = append(all, ids...) }
	for _, b := range d.Bags {
		add(b.Starter.ID, b.ClosedBy.ID)
	}
	for _, e := range d.Diary {
		add(e.By.ID)
	}
	for _, k := range d.Kept {
		add(k.By.ID)
	}
	for _, s := range d.Steps {
		add(s.By.ID)
	}
	add(d.Dinner.By.ID)
	for _, m := range d.Dinner.Marks {
		add(m.By.ID)
	}
	for _, r := range d.Recents {
		add(r.Person)
	}
	for _, c := range d.Counts {
		add(c.Person)
	}
	for _, c := range d.Log {
		add(c.Starter, c.By)
	}
	return all
}

// forgetAsk asks before anything is forgotten: a person in their own chat, a kitchen's record by an admin.
func (t *turn) forgetAsk(ctx context.Context) error {
	id := reply.ForgetAsk
	if t.chat.Group {
		admin, err := t.isAdmin(ctx)
		if err != nil {
			return err
		}
		if !admin {
			return t.say(ctx, t.lang.Lines(reply.ForgetAsked, nil))
		}
		id = reply.ForgetAskgroup
	}
	_, err := t.send(ctx, Message{Text: t.lang.Titled(id, nil), Buttons: [][]Button{{
		{Label: t.lang.Say(reply.ButtonForget, nil), Data: string(actForget)},
	}}})
	return err
}

// forget forgets the chat that the button was pressed in.
func (t *turn) forget(ctx context.Context) error {
	if t.in.Message < 0 {
		return ErrPacked // under a message in somebody else's chat
	}
	if t.chat.Group {
		if err := t.mayset(ctx); err != nil {
			return err
		}
		if _, err := t.change(ctx, func(d *kitchen.Document) error { d.ForgetAll(); return nil }); err != nil {
			return err
		}
		t.entry.people, t.entry.answers = map[PersonID]*going{}, nil
		return t.show(ctx, Message{Text: t.lang.Titled(reply.ForgetDonegroup, nil)})
	}
	if _, err := t.change(ctx, func(d *kitchen.Document) error { d.StartForgetting(t.in.At); return nil }); err != nil {
		return err
	}
	id := reply.ForgetDone
	if err := t.forgetOwner(ctx, t.entry, t.in.At); err != nil {
		t.log.Warn("forgetting not finished", "chat", t.chat.ID, "error", err)
		id = reply.ForgetLater
	}
	t.settle()
	return t.show(ctx, Message{Text: t.lang.Titled(id, nil)})
}

// errForget reports a chat that cannot be forgotten as a person.
var errForget = errors.New("bot: nobody is being forgotten here")

// Forget goes on with forgetting the owner of a private chat, where it was begun and not finished. It can
// be repeated.
func (b *Bot) Forget(ctx context.Context, chat ChatID, now time.Time) error {
	e := b.chats.lock(chat)
	defer b.chats.unlock(e)
	if err := b.chats.load(ctx, e, Chat{ID: chat}, now); err != nil {
		return err
	}
	if e.doc.Forgetting.IsZero() || e.doc.Settings.Kind != kitchen.Private {
		return errForget
	}
	return b.forgetOwner(ctx, e, now)
}

// forgetOwner takes the owner of a private chat out of every kitchen and then empties their own document.
// The chat is marked before, so that a crash in between is taken up again. The caller holds its lock.
func (b *Bot) forgetOwner(ctx context.Context, e *entry, now time.Time) error {
	for _, id := range e.doc.Groups {
		if err := b.forgetIn(ctx, ChatID(id), PersonID(e.id), now); err != nil {
			return fmt.Errorf("forget in chat %d: %w", id, err)
		}
	}
	_, err := b.chats.change(ctx, e, Chat{ID: e.id}, "", now, func(d *kitchen.Document) error { d.ForgetAll(); return nil })
	if err != nil {
		return fmt.Errorf("forget: %w", err)
	}
	e.people, e.answers = map[PersonID]*going{}, nil
	return nil
}

// forgetIn takes a person out of a kitchen's document.
func (b *Bot) forgetIn(ctx context.Context, id ChatID, who PersonID, now time.Time) error {
	e := b.chats.lock(id)
	defer b.chats.unlock(e)
	delete(e.people, who)
	e.fresh = false // a kitchen that has moved or is gone is nothing to forget in
	if err := b.chats.load(ctx, e, Chat{ID: id, Group: true}, now); err != nil || e.revision == 0 {
		return err
	}
	if to := ChatID(e.doc.MovedTo); to != 0 && to != id {
		if err := b.forgetIn(ctx, to, who, now); err != nil {
			return err
		}
	}
	_, err := b.chats.change(ctx, e, Chat{ID: id, Group: true}, "", now, func(d *kitchen.Document) error {
		d.Forget(who.kept())
		return nil
	})
	return err
}

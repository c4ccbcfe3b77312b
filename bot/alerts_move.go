package bot

import (
	"context"
	"errors"
	"fmt"
	"time"

	"bagwatch/internal/kitchen"
)

// resume goes on with what was begun with a chat and not finished. The next attempt is committed first, so
// that a crash in this one leads to another.
func (t *task) resume(ctx context.Context, what kitchen.Resume, doc kitchen.Document, now time.Time) (result, error) {
	r, err := t.commit(ctx, doc, now)
	if err != nil {
		return r, err
	}
	switch what {
	case kitchen.ResumeMove:
		if err := t.move(ctx, now); err != nil {
			return result{}, err
		}
		return result{}, nil
	case kitchen.ResumeForget:
		t.bot.chats.unlock(t.entry) // it is locked there
		err := t.cfg.Forget(ctx, t.job.chat)
		t.entry = t.bot.chats.lock(t.job.chat)
		if err != nil {
			return result{}, fmt.Errorf("go on forgetting: %w", err)
		}
		return result{}, nil
	}
	return r, nil
}

// move carries a group that is marked as moved over to its new number, and deletes it here. Whatever is
// due falls due there. Each step can be repeated.
func (t *task) move(ctx context.Context, now time.Time) error {
	t.leave() // whoever holds the other chat may be waiting for a place
	from, c := t.entry.doc, t.bot.chats
	id := ChatID(from.MovedTo)
	to := c.lock(id) // a chat never moves back, so no two wait for each other
	defer c.unlock(to)
	chat := Chat{ID: id, Group: true, Title: from.Settings.Title}
	_, err := c.change(ctx, to, chat, "", now, func(d *kitchen.Document) error {
		_, err := d.Merge(from, kitchen.ChatID(t.entry.id), now)
		return err
	})
	if err != nil {
		if errors.Is(err, kitchen.ErrFull) {
			t.log.Error("moved group has no room for its bags", "chat", t.entry.id, "to", id)
		}
		return fmt.Errorf("write moved document: %w", err)
	}
	if err := c.remove(ctx, t.entry); err != nil {
		return fmt.Errorf("remove moved document: %w", err)
	}
	t.counts.moved.Add(1)
	t.log.Info("group moved", "chat", t.entry.id, "to", id)
	return nil
}

package bot

import (
	"context"
	"errors"
	"fmt"

	"bagwatch/internal/kitchen"
	"bagwatch/internal/reply"
)

// joined greets a group once, in the language of who added the bot; a private chat that unblocked the bot
// is only taken up again.
func (t *turn) joined(ctx context.Context) error {
	first := false
	_, err := t.change(ctx, func(d *kitchen.Document) error {
		first = t.chat.Group && (t.entry.revision == 0 || !d.Parked.IsZero())
		d.Unpark()
		s := d.Settings
		if t.chat.Group && s.Language == "" {
			s.Language = t.lang.Tag
		}
		return d.SetSettings(s)
	})
	if err != nil || !first {
		return err
	}
	return t.say(ctx, t.lang.Titled(reply.BotHello, nil))
}

// left notes that nothing can be written here.
func (t *turn) left(ctx context.Context) error { return t.park(ctx) }

// park keeps a chat's document and lets nothing fall due until it can be written to again.
func (t *turn) park(ctx context.Context) error {
	_, err := t.chats.change(ctx, t.entry, t.chat, "", t.in.At, func(d *kitchen.Document) error {
		d.Park(t.in.At)
		return nil
	})
	if err != nil {
		t.log.Warn("chat not parked", "chat", t.chat.ID, "error", err)
	}
	return nil
}

// migrated moves a group's document to its new number: the old one is marked first, the new one written,
// the old one removed, so that a crash in between is taken up again.
func (t *turn) migrated(ctx context.Context) error {
	if t.in.MovedTo == 0 || t.in.MovedTo == t.chat.ID {
		return nil
	}
	_, err := t.chats.change(ctx, t.entry, t.chat, "", t.in.At, func(d *kitchen.Document) error {
		d.MoveTo(kitchen.ChatID(t.in.MovedTo), t.in.At)
		return nil
	})
	if err != nil {
		return fmt.Errorf("mark as moved: %w", err)
	}
	to := t.chats.lock(t.in.MovedTo) // a chat never moves back, so no two turns wait for each other
	defer t.chats.unlock(to)
	chat := t.chat
	chat.ID = t.in.MovedTo
	from := t.entry.doc
	_, err = t.chats.change(ctx, to, chat, "", t.in.At, func(d *kitchen.Document) error {
		_, err := d.Merge(from, kitchen.ChatID(t.chat.ID), t.in.At)
		return err
	})
	if err != nil {
		return fmt.Errorf("write moved document: %w", err)
	}
	if err := t.chats.remove(ctx, t.entry); err != nil {
		return fmt.Errorf("remove moved document: %w", err)
	}
	return nil
}

// isAdmin tells whether the person runs the chat; in a private chat they do.
func (t *turn) isAdmin(ctx context.Context) (bool, error) {
	if !t.chat.Group {
		return true, nil
	}
	ok, err := t.out.Admin(ctx, t.chat, t.in.From.ID)
	if err != nil && !errors.Is(err, ErrGone) {
		return false, fmt.Errorf("ask for rights: %w", err)
	}
	return ok, err
}

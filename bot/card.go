package bot

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"bagwatch/internal/kitchen"
	"bagwatch/internal/reply"
)

// bags posts the list of bags; the message becomes the chat's live card.
func (t *turn) bags(ctx context.Context) error {
	old, m := t.entry.doc.Card, t.cardMessage()
	id, err := t.send(ctx, m)
	if err != nil {
		return err
	}
	t.entry.card = looks(m)
	if err := t.keepCard(ctx, id); err != nil {
		t.log.Warn("card not kept", "chat", t.chat.ID, "error", err)
		return nil // the list was shown; it will not be kept up to date
	}
	if old.Message != 0 && MessageID(old.Message) != id {
		below := Message{Text: t.lang.Lines(reply.BagCardBelow, nil)}
		if err := t.out.Edit(ctx, t.cardChat(old), MessageID(old.Message), below); err != nil && !errors.Is(err, ErrLost) {
			return fmt.Errorf("edit card: %w", err)
		}
	}
	return nil
}

// cardMessage is the list with a row of buttons for each bag, as many as a screen takes.
func (t *turn) cardMessage() Message {
	const shown = 7
	m := Message{Text: t.lang.Card(t.entry.doc, t.bagOptions())}
	for i, b := range t.entry.doc.Running() {
		if i == shown {
			break
		}
		m.Buttons = append(m.Buttons, []Button{
			t.pullButton(b, false),
			{Label: t.lang.Say(reply.ButtonSafe, nil), Data: bagData(bagSafe, b.ID)},
			{Label: t.lang.Say(reply.ButtonMorebag, reply.Data{"Bag": t.lang.Bag(b)}), Data: bagData(bagMore, b.ID)},
		})
	}
	if len(m.Buttons) > 0 && t.zone() == nil {
		m.Buttons = append(m.Buttons, []Button{{Label: t.lang.Say(reply.ButtonRefresh, nil), Data: string(actBags)}})
	}
	return t.withKept(m)
}

// looks is all that can be seen of a message, to tell whether an edit would change anything.
func looks(m Message) string {
	var b strings.Builder
	b.WriteString(m.Text.String())
	for _, row := range m.Buttons {
		b.WriteString("\n")
		for _, x := range row {
			b.WriteString(x.Label + "\t" + x.Data + "\t")
		}
	}
	return b.String()
}

func (t *turn) cardChat(c kitchen.Card) Chat {
	chat := t.chat
	chat.Topic = int(c.Topic)
	return chat
}

// keepCard notes which message is the live card.
func (t *turn) keepCard(ctx context.Context, id MessageID) error {
	_, err := t.chats.change(ctx, t.entry, t.chat, "", t.in.At, func(d *kitchen.Document) error {
		d.Card = kitchen.Card{Message: kitchen.MessageID(id), Topic: int64(t.chat.Topic)}
		return nil
	})
	return err
}

// refreshCard edits the live card; without one it posts one if post is set.
func (t *turn) refreshCard(ctx context.Context, post bool) error {
	card, m := t.entry.doc.Card, t.cardMessage()
	if card.Message != 0 {
		if t.entry.card == looks(m) {
			return nil
		}
		err := t.out.Edit(ctx, t.cardChat(card), MessageID(card.Message), m)
		if !errors.Is(err, ErrLost) {
			if err != nil {
				return fmt.Errorf("edit card: %w", err)
			}
			t.entry.card = looks(m)
			return nil
		}
	}
	if !post {
		return nil
	}
	t.entry.card = looks(m)
	m.Silent = true
	id, err := t.out.Send(ctx, t.chat, m)
	if err != nil {
		return fmt.Errorf("send card: %w", err)
	}
	return t.keepCard(ctx, id)
}

// RefreshCard brings a chat's live card up to date after news was told in it, through out, which may pace
// it; nil is the bot's own messenger. It waits for the chat's lock: call it from no handler.
func (b *Bot) RefreshCard(ctx context.Context, chat Chat, now time.Time, out Messenger) error {
	paced := *b
	if out != nil {
		paced.out = out
	}
	e := b.chats.lock(chat.ID)
	defer b.chats.unlock(e)
	if err := b.chats.read(ctx, e, chat, now); err != nil {
		return err
	}
	t := &turn{Bot: &paced, in: Incoming{At: now, Chat: chat}, chat: chat, entry: e}
	t.settle()
	return errors.Join(t.refreshCard(ctx, false), t.refreshDinner(ctx))
}

package bot

import (
	"context"
	"errors"
	"time"
)

// Editing a card holds the chat's lock while it waits for its turn, which comes after all that is sent; so
// it waits a moment only, and is tried again. House rules.
const (
	cardLimit = 2 * time.Second
	cardAgain = 10 * time.Second
)

// cardStale notes that a chat's card no longer says what is. It is not kept over a restart: the card is
// edited with whatever happens next.
func (a *Alerts) cardStale(chat Chat) {
	a.mu.Lock()
	a.cards[chat.ID] = chat
	a.mu.Unlock()
	select {
	case a.stale <- struct{}{}:
	default: // it is going to be looked at
	}
}

// editCards edits one card after the other until ctx ends.
func (a *Alerts) editCards(ctx context.Context) {
	for {
		for _, chat := range a.takeCards() {
			if ctx.Err() != nil {
				return
			}
			a.editCard(ctx, chat)
		}
		select {
		case <-a.stale:
		case <-ctx.Done():
			return
		}
	}
}

func (a *Alerts) takeCards() []Chat {
	a.mu.Lock()
	defer a.mu.Unlock()
	all := make([]Chat, 0, len(a.cards))
	for _, c := range a.cards {
		all = append(all, c)
	}
	clear(a.cards)
	return all
}

func (a *Alerts) editCard(ctx context.Context, chat Chat) {
	call, cancel := context.WithTimeout(ctx, cardLimit)
	defer cancel()
	err := a.bot.RefreshCard(call, chat, a.cfg.Now(), a.cfg.Cards)
	var busy *BusyError
	switch {
	case err == nil, ctx.Err() != nil:
		return
	case !errors.As(err, &busy) && !errors.Is(err, context.DeadlineExceeded):
		a.log.Warn("card not edited", "chat", chat.ID, "error", err)
		return
	}
	a.log.Debug("card not edited, trying again", "chat", chat.ID, "error", err)
	time.AfterFunc(cardAgain, func() { a.cardStale(chat) }) // it only notes, so it may outlive the loop
}

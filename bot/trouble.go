package bot

import (
	"context"
	"errors"

	"bagwatch/internal/cook"
	"bagwatch/internal/kitchen"
	"bagwatch/internal/reply"
	"bagwatch/internal/store"
)

// trouble is the one place where errors become texts: the message for a person, and whether it is their
// own doing or the weather, which operators need not look at. An error without a text gets a code.
func trouble(err error) (id reply.ID, expected bool) {
	switch {
	case errors.Is(err, store.ErrUnavailable):
		return reply.TroubleNotsaved, false
	case errors.Is(err, errBusy):
		return reply.TroubleChanged, false
	case errors.Is(err, errAdmins):
		return reply.TroubleAdmin, true
	case errors.Is(err, ErrPacked):
		return reply.BotOldbutton, true
	case errors.Is(err, errNoLine):
		return reply.DiaryGone, true
	case errors.Is(err, errNotWriter):
		return reply.DiaryNotyours, true
	case errors.Is(err, errDiaryTime):
		return reply.DiaryTime, true
	case errors.Is(err, cook.ErrHappened), errors.Is(err, cook.ErrDiary):
		return reply.TroubleValue, true
	case errors.Is(err, kitchen.ErrNoBag):
		return reply.TroubleNobag, true
	case errors.Is(err, kitchen.ErrNone):
		return reply.TroubleNone, true
	case errors.Is(err, kitchen.ErrNotYours):
		return reply.TroubleNotyours, true
	case errors.Is(err, kitchen.ErrFull):
		return reply.TroubleFull, true
	case errors.Is(err, kitchen.ErrTooLate):
		return reply.TroubleToolate, true
	case errors.Is(err, kitchen.ErrTime):
		return reply.TroubleTime, true
	case errors.Is(err, kitchen.ErrZone):
		return reply.TroubleZone, true
	case errors.Is(err, kitchen.ErrValue):
		return reply.TroubleValue, true
	}
	return "", false
}

// errAdmins reports something that is for a group's admins.
var errAdmins = errors.New("bot: for admins of the chat")

// failed tells a person what went wrong, and the log what operators need. What the adapter has to act
// on, a chat that is gone or moved or a platform that asks to wait, is returned to it.
func (t *turn) failed(ctx context.Context, err error) error {
	var busy *BusyError
	var moved *MovedError
	switch {
	case errors.Is(err, ErrGone):
		return t.park(ctx)
	case errors.As(err, &busy), errors.As(err, &moved), errors.Is(err, context.Canceled):
		return err
	}
	id, expected := trouble(err)
	if expected {
		t.log.Debug("refused", "chat", t.in.Chat.ID, "kind", t.in.Kind, "error", err)
	} else {
		t.log.Error("not handled", "chat", t.in.Chat.ID, "kind", t.in.Kind, "code", t.in.code(), "error", err)
	}
	if id == "" {
		return t.apologise(ctx)
	}
	data := reply.Data{"Count": kitchen.MaxRunning}
	return t.tell(ctx, t.lang.Say(id, data), t.lang.Lines(id, data))
}

// apologise says that something broke, with the code of the log line.
func (t *turn) apologise(ctx context.Context) error {
	t.counts.broken.Add(1)
	data := reply.Data{"Code": t.in.code()}
	return t.tell(ctx, t.lang.Say(reply.TroubleCodenotice, data), t.lang.Lines(reply.TroubleCode, data))
}

// tell says something over a press that was not answered yet, else as a message. An inline query has no
// place for it.
func (t *turn) tell(ctx context.Context, notice string, text reply.Text) error {
	switch {
	case t.in.Kind == Inline:
		return nil
	case t.in.Kind == Press && !t.noticed:
		return t.notice(ctx, notice)
	}
	return t.say(ctx, text)
}

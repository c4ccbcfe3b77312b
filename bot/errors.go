package bot

import (
	"errors"
	"fmt"
	"time"
)

// ErrGone reports a chat that cannot be written to: the bot was blocked or removed, or the chat is gone.
var ErrGone = errors.New("bot: chat cannot be written to")

// ErrLost reports a message to edit that is no longer there.
var ErrLost = errors.New("bot: message to edit not found")

// MovedError reports a group that became another chat.
type MovedError struct{ To ChatID }

// Error names the new chat.
func (e *MovedError) Error() string { return fmt.Sprintf("bot: chat moved to %d", e.To) }

// BusyError reports that the platform asks to wait. Nothing was sent.
type BusyError struct{ After time.Duration }

// Error says how long.
func (e *BusyError) Error() string { return fmt.Sprintf("bot: asked to wait %v", e.After) }

package telegram

import (
	"errors"
	"fmt"
	"net/http"
	"strings"
	"time"

	"bagwatch/bot"
)

// ErrToken reports that the platform does not know the token. Waiting does not help.
var ErrToken = errors.New("telegram: the bot token was refused: copy it again from @BotFather, or have a new one made there")

// ErrConfig reports a setting that cannot work. The text says which and what to do.
var ErrConfig = errors.New("telegram: wrong setting")

// apiError is a refusal by the platform. Its text is the platform's own and holds nothing a person wrote.
type apiError struct {
	method  string
	code    int
	text    string
	after   time.Duration // of 429
	movedTo bot.ChatID    // of a group that became a supergroup
}

// Error names the method, the code and the platform's reason.
func (e *apiError) Error() string { return fmt.Sprintf("%s: %d %s", e.method, e.code, e.text) }

// says reports whether the error is a 400 whose reason holds one of these words. The platform gives no
// finer code, so its text must do.
func says(err error, words ...string) bool {
	var e *apiError
	if !errors.As(err, &e) || e.code != http.StatusBadRequest {
		return false
	}
	text := strings.ToLower(e.text)
	for _, w := range words {
		if strings.Contains(text, w) {
			return true
		}
	}
	return false
}

func notModified(err error) bool { return says(err, "message is not modified") }
func tooLate(err error) bool     { return says(err, "query is too old", "query id is invalid") }
func badMarkup(err error) bool   { return says(err, "can't parse entities") }
func badThread(err error) bool {
	return says(err, "message thread not found", "topic_closed", "topic_deleted", "topic_id_invalid")
}
func noText(err error) bool { return says(err, "there is no text in the message to edit") }
func noMessage(err error) bool {
	return says(err, "message to edit not found", "message can't be edited", "message_id_invalid",
		"there is no text in the message to edit", "there is no caption in the message to edit")
}
func noChat(err error) bool {
	return says(err, "chat not found", "user not found", "is deactivated", "was deactivated", "was deleted",
		"peer_id_invalid", "chat_write_forbidden", "have no rights to send", "not enough rights to send")
}

// meant turns a refusal into the errors of package bot.
func meant(err error) error {
	var e *apiError
	switch {
	case err == nil || !errors.As(err, &e):
		return err
	case e.movedTo != 0:
		return fmt.Errorf("%w (%s)", &bot.MovedError{To: e.movedTo}, e.method)
	case e.code == http.StatusForbidden, noChat(err):
		return fmt.Errorf("%w: %w", bot.ErrGone, err)
	case noMessage(err):
		return fmt.Errorf("%w: %w", bot.ErrLost, err)
	case e.code == http.StatusUnauthorized:
		return fmt.Errorf("%w: %w", ErrToken, err)
	}
	return err
}

// refusedToken reports an answer to getMe or getUpdates that no waiting changes.
func refusedToken(err error) bool {
	var e *apiError
	return errors.As(err, &e) && (e.code == http.StatusUnauthorized || e.code == http.StatusNotFound)
}

// conflict reports that somebody else receives the bot's updates.
func conflict(err error) bool {
	var e *apiError
	return errors.As(err, &e) && e.code == http.StatusConflict
}

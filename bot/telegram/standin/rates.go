package standin

import (
	"slices"
	"strconv"
	"time"
)

// rateState counts sends for Config.Rates and watches whether the bot obeys a 429.
type rateState struct {
	all     []time.Time // sends to all chats, by Config.Now
	refused int
	early   int
}

// grace forgives calls that were on their way when the bot was told to wait; house rule.
const grace = 250 * time.Millisecond

// paced are the methods that send a message to a chat.
var paced = []string{"sendMessage", "sendPhoto", "sendDocument", "sendLocation", "copyMessage", "forwardMessage"}

// hold notes that a chat was told to wait; only calls after a grace count as early.
func (r *rateState) hold(chat *Chat, until time.Time) {
	r.refused++
	if until.After(chat.until) {
		chat.until = until
		chat.heldAt = time.Now()
	}
}

// limitRate refuses a send above the configured rates; s.mu is held.
func (s *Server) limitRate(c *call) *apiError {
	if !slices.Contains(paced, c.method) {
		return nil
	}
	chat := s.chats[asInt(c.params["chat_id"])]
	if chat == nil {
		return nil
	}
	now := s.now()
	if now.Before(chat.until) && time.Since(chat.heldAt) > grace {
		s.rates.early++
	}
	if s.cfg.Rates == (Rates{}) {
		return nil
	}
	wait := max(
		exceeded(&s.rates.all, s.cfg.Rates.OverallPerSecond, time.Second, now),
		exceeded(&chat.rate, s.cfg.Rates.ChatPerSecond, time.Second, now),
	)
	if chat.isGroup() {
		wait = max(wait, exceeded(&chat.rateMinute, s.cfg.Rates.GroupPerMinute, time.Minute, now))
	}
	if wait > 0 {
		seconds := int((wait + time.Second - 1) / time.Second)
		s.rates.hold(chat, now.Add(time.Duration(seconds)*time.Second))
		c.chatID = chat.id
		return &apiError{code: 429, description: "Too Many Requests: retry after " + strconv.Itoa(seconds), retryAfter: seconds}
	}
	s.rates.all = append(s.rates.all, now)
	chat.rate = append(chat.rate, now)
	if chat.isGroup() {
		chat.rateMinute = append(chat.rateMinute, now)
	}
	return nil
}

// exceeded forgets sends older than the window and returns how long until another is allowed.
func exceeded(sent *[]time.Time, limit int, window time.Duration, now time.Time) time.Duration {
	old := 0
	for old < len(*sent) && now.Sub((*sent)[old]) >= window {
		old++
	}
	*sent = (*sent)[old:]
	if limit == 0 || len(*sent) < limit {
		return 0
	}
	return (*sent)[len(*sent)-limit].Add(window).Sub(now)
}

// RateRefusals is the number of calls answered 429, and EarlyRetries that of sends to a chat before
// the time it was told to wait was over (calls within 250 ms of the refusal are forgiven).
func (s *Server) RateRefusals() int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.rates.refused
}

// EarlyRetries is described at [Server.RateRefusals].
func (s *Server) EarlyRetries() int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.rates.early
}

package standin

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"time"
)

// update is one queued update.
type update struct {
	id      int
	kind    string
	key     int64 // chat, or user of an inline query: one key's updates go out in order
	body    json.RawMessage
	expires time.Time
	done    bool // delivered by webhook
}

// updateQueue holds what the bot has not confirmed.
type updateQueue struct {
	list      []*update
	next      int // next update_id
	allowed   []string
	duplicate int       // how many more updates to queue twice
	poll      int       // number of the newest getUpdates call
	waiting   int       // polls that wait
	lastAsk   time.Time // real time of the last getUpdates, for the throttle
	lastFrom  int64
	hook      webhook
}

// optIn are the kinds left out unless asked for (getUpdates.allowed_updates).
var optIn = []string{"chat_member", "message_reaction", "message_reaction_count"}

func (q *updateQueue) init(first int) {
	q.next = first
	q.hook.init()
}

func (q *updateQueue) wants(kind string) bool {
	if len(q.allowed) == 0 {
		return !slices.Contains(optIn, kind)
	}
	return slices.Contains(q.allowed, kind)
}

// enqueue queues an update for the bot and returns its id, zero if the bot did not ask for its kind;
// s.mu is held.
func (s *Server) enqueue(kind string, key int64, keep time.Duration, payload any) int {
	q := &s.queue
	if !q.wants(kind) {
		return 0
	}
	id := q.next
	q.next++
	inner, err := json.Marshal(payload)
	if err != nil {
		panic("standin: update is not JSON: " + err.Error())
	}
	body := fmt.Appendf(nil, `{"update_id":%d,%q:%s}`, id, kind, inner)
	u := &update{id: id, kind: kind, key: key, body: body, expires: s.now().Add(keep)}
	s.push(u)
	if q.duplicate > 0 {
		q.duplicate--
		again := *u
		s.push(&again)
	}
	s.wake()
	return id
}

func (s *Server) push(u *update) {
	s.queue.list = append(s.queue.list, u)
	if s.queue.hook.url != "" {
		s.hookPush(u)
	}
}

// EnqueueRaw queues an update as it stands, its update_id added: body is what stands between the
// braces after it, such as `"message":{…}`. It serves to send what a bot cannot decode.
func (s *Server) EnqueueRaw(key int64, body string) int {
	s.mu.Lock()
	defer s.mu.Unlock()
	id := s.queue.next
	s.queue.next++
	s.push(&update{id: id, kind: "raw", key: key, expires: s.now().Add(updateHours * time.Hour),
		body: fmt.Appendf(nil, `{"update_id":%d,%s}`, id, body)})
	s.wake()
	return id
}

// DuplicateNext delivers each of the next n updates twice.
func (s *Server) DuplicateNext(n int) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.queue.duplicate = n
}

// Polling says whether a getUpdates call waits for updates.
func (s *Server) Polling() bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.queue.waiting > 0
}

// Pending is the number of updates the bot has not confirmed.
func (s *Server) Pending() int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return len(s.pending())
}

// LastUpdateID is the id of the newest update queued, or one below the first.
func (s *Server) LastUpdateID() int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.queue.next - 1
}

// pending drops what is delivered or expired and returns the rest; s.mu is held.
func (s *Server) pending() []*update {
	now := s.now()
	s.queue.list = slices.DeleteFunc(s.queue.list, func(u *update) bool { return u.done || !now.Before(u.expires) })
	return s.queue.list
}

// getUpdates is the long poll. It takes s.mu itself, since it waits.
func (s *Server) getUpdates(ctx context.Context, c *call) (any, *apiError) {
	limit, timeout := c.num("limit"), c.num("timeout")
	if c.has("limit") && (limit < 1 || limit > maxPollLimit) {
		c.violate(LimitBroken, "limit %d is not in 1-%d", limit, maxPollLimit)
	}
	if limit < 1 || limit > maxPollLimit {
		limit = maxPollLimit
	}
	if timeout < 0 {
		c.violate(LimitBroken, "timeout %d is negative", timeout)
	}
	timeout = min(max(timeout, 0), maxPollTimeout)

	s.mu.Lock()
	defer s.mu.Unlock()
	q := &s.queue
	if q.hook.url != "" {
		return nil, &apiError{code: 409, description: "Conflict: can't use getUpdates method while webhook is active; use deleteWebhook to delete the webhook first"}
	}
	if c.has("allowed_updates") {
		q.allowed = allowedUpdates(c)
	}
	q.poll++
	mine := q.poll
	s.wake() // an older poll ends
	offset := c.num("offset")
	s.confirm(offset)
	wait := time.Duration(timeout) * time.Second
	if hold := s.throttle(offset, timeout, &limit); hold > 0 {
		s.sleep(ctx, hold)
	}
	deadline := time.NewTimer(wait)
	defer deadline.Stop()
	for expired := wait == 0; ; {
		if q.poll != mine {
			return nil, &apiError{code: 409, description: "Conflict: terminated by other getUpdates request; make sure that only one bot instance is running"}
		}
		if s.revoked {
			return nil, &apiError{code: 401, description: "Unauthorized"}
		}
		list := s.pending()
		if len(list) > 0 || expired || s.closing {
			return batch(list[:min(len(list), int(limit))]), nil
		}
		changed := s.changed
		q.waiting++
		s.mu.Unlock()
		select {
		case <-changed:
		case <-deadline.C:
			expired = true
		case <-ctx.Done():
			expired = true
		}
		s.mu.Lock()
		q.waiting--
	}
}

// confirm forgets what lies before offset; a negative offset keeps that many from the end.
func (s *Server) confirm(offset int64) {
	q := &s.queue
	list := s.pending()
	switch {
	case offset < 0:
		keep := int(min(-offset, int64(len(list))))
		q.list = slices.Clone(list[len(list)-keep:])
	case offset > 0:
		q.list = slices.DeleteFunc(list, func(u *update) bool { return int64(u.id) < offset })
	}
}

// throttle is how long a repeated short poll must wait; it may lower the limit.
func (s *Server) throttle(offset, timeout int64, limit *int64) time.Duration {
	q := &s.queue
	since := time.Since(q.lastAsk)
	same := !q.lastAsk.IsZero() && q.lastFrom == offset
	q.lastAsk, q.lastFrom = time.Now(), offset
	if !s.cfg.PollThrottle || !same || timeout >= 3 {
		return 0
	}
	if since < 500*time.Millisecond {
		*limit = 1
	}
	if since < 3*time.Second {
		return 3 * time.Second
	}
	return 0
}

// sleep waits with s.mu released.
func (s *Server) sleep(ctx context.Context, d time.Duration) {
	s.mu.Unlock()
	defer s.mu.Lock()
	select {
	case <-time.After(d):
	case <-ctx.Done():
	case <-s.ctx.Done():
	}
}

// batch is the body of a getUpdates answer.
func batch(list []*update) json.RawMessage {
	body := []byte(`{"ok":true,"result":[`)
	for i, u := range list {
		if i > 0 {
			body = append(body, ',')
		}
		body = append(body, u.body...)
	}
	return append(body, `]}`...)
}

func allowedUpdates(c *call) []string {
	var out []string
	for _, v := range c.list("allowed_updates") {
		out = append(out, asString(v))
	}
	return out
}

package standin

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"net"
	"net/http"
	"net/url"
	"strconv"
	"time"
)

// webhook is where updates are delivered to, and what is under way.
type webhook struct {
	url         string
	secret      string
	connections int
	slots       chan struct{}       // one per connection in use
	waiting     map[int64][]*update // by key, in order
	working     map[int64]bool      // keys that have a worker
	ctx         context.Context     // ends when the webhook is changed or removed; not a request's
	cancel      context.CancelFunc
	errorAt     time.Time
	errorText   string
	deliveries  int
	refusals    int
}

func (h *webhook) init() {
	h.waiting, h.working = map[int64][]*update{}, map[int64]bool{}
}

// maxHookPause bounds a Retry-After of the bot, as the official server does.
const maxHookPause = time.Hour

func (s *Server) setWebhook(c *call) (any, *apiError) {
	address := c.str("url")
	if address == "" {
		return s.deleteWebhook(c)
	}
	u, err := url.Parse(address)
	if err != nil || u.Host == "" || u.Scheme != "https" && u.Scheme != "http" {
		c.violate(LimitBroken, "webhook address %q", address)
		return nil, badRequest("bad webhook: invalid URL")
	}
	ip := net.ParseIP(u.Hostname())
	loopback := u.Hostname() == "localhost" || ip != nil && ip.IsLoopback()
	if !loopback {
		c.violate(Unsupported, "webhook address %q is not loopback: the stand-in calls nobody else", address)
		if u.Scheme != "https" {
			return nil, badRequest("bad webhook: An HTTPS URL must be provided for webhook")
		}
		return nil, badRequest("bad webhook: IP address %s is reserved", u.Hostname())
	}
	if c.has("secret_token") && !secretToken.MatchString(c.str("secret_token")) {
		c.violate(LimitBroken, "secret_token must be 1-256 of A-Z a-z 0-9 _ -")
		return nil, badRequest("secret token contains unallowed characters")
	}
	n := c.num("max_connections")
	if c.has("max_connections") && (n < 1 || n > maxConnections) {
		c.violate(LimitBroken, "max_connections %d is not in 1-%d", n, maxConnections)
	}
	if n < 1 || n > maxConnections {
		n = defConnections
	}
	q := &s.queue
	s.stopHook()
	if c.boolean("drop_pending_updates") {
		q.list = nil
	}
	if c.has("allowed_updates") {
		q.allowed = allowedUpdates(c)
	}
	q.poll++ // a poll under way ends
	h := &q.hook
	h.url, h.secret, h.connections = address, c.str("secret_token"), int(n)
	h.slots = make(chan struct{}, n)
	h.ctx, h.cancel = context.WithCancel(s.ctx)
	for _, u := range s.pending() {
		s.hookPush(u)
	}
	return true, nil
}

func (s *Server) deleteWebhook(c *call) (any, *apiError) {
	s.stopHook()
	if c.boolean("drop_pending_updates") {
		s.queue.list = nil
	}
	return true, nil
}

func (s *Server) stopHook() {
	h := &s.queue.hook
	if h.cancel != nil {
		h.cancel()
	}
	*h = webhook{deliveries: h.deliveries, refusals: h.refusals}
	h.init()
}

func (s *Server) getWebhookInfo(*call) (any, *apiError) {
	h := &s.queue.hook
	info := map[string]any{
		"url": h.url, "has_custom_certificate": false, "pending_update_count": len(s.pending()),
	}
	if h.url != "" {
		info["max_connections"] = h.connections
	}
	if !h.errorAt.IsZero() {
		info["last_error_date"], info["last_error_message"] = h.errorAt.Unix(), h.errorText
	}
	if len(s.queue.allowed) > 0 {
		info["allowed_updates"] = s.queue.allowed
	}
	return info, nil
}

// Deliveries counts webhook requests that were acknowledged and those that were not.
func (s *Server) Deliveries() (acknowledged, refused int) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.queue.hook.deliveries, s.queue.hook.refusals
}

// hookPush hands an update to its key's worker; s.mu is held.
func (s *Server) hookPush(u *update) {
	h := &s.queue.hook
	h.waiting[u.key] = append(h.waiting[u.key], u)
	if h.working[u.key] || s.closing {
		return
	}
	h.working[u.key] = true
	ctx, slots, key := h.ctx, h.slots, u.key
	s.handling.Go(func() { s.hookWork(ctx, slots, key) })
}

// hookWork delivers one key's updates one after another until there are none.
func (s *Server) hookWork(ctx context.Context, slots chan struct{}, key int64) {
	pause := s.cfg.WebhookBackoff
	for {
		s.mu.Lock()
		h := &s.queue.hook
		if ctx.Err() != nil { // another webhook has its own workers
			s.mu.Unlock()
			return
		}
		list := h.waiting[key]
		for len(list) > 0 && !s.now().Before(list[0].expires) {
			list[0].done = true
			list = list[1:]
		}
		h.waiting[key] = list
		if len(list) == 0 {
			delete(h.waiting, key)
			delete(h.working, key)
			s.pending()
			s.mu.Unlock()
			return
		}
		u, address, secret := list[0], h.url, h.secret
		s.mu.Unlock()

		select {
		case slots <- struct{}{}:
		case <-ctx.Done():
			return
		}
		again, problem := s.deliver(ctx, u, address, secret)
		<-slots

		s.mu.Lock()
		if ctx.Err() != nil {
			s.mu.Unlock()
			return
		}
		if problem == "" {
			u.done = true
			h.waiting[key] = h.waiting[key][1:]
			h.deliveries++
			pause = s.cfg.WebhookBackoff
			s.wake()
			s.mu.Unlock()
			continue
		}
		h.refusals++
		h.errorAt, h.errorText = s.now(), problem
		s.mu.Unlock()
		wait := pause
		if again > 0 {
			wait = min(again, maxHookPause)
		}
		pause = min(2*pause, 60*s.cfg.WebhookBackoff)
		select {
		case <-time.After(wait):
		case <-ctx.Done():
			return
		}
	}
}

// deliver posts one update. It returns the bot's Retry-After and, unless acknowledged, the problem.
func (s *Server) deliver(ctx context.Context, u *update, address, secret string) (time.Duration, string) {
	req, err := http.NewRequestWithContext(ctx, http.MethodPost, address, bytes.NewReader(u.body))
	if err != nil {
		return 0, err.Error()
	}
	req.Header.Set("Content-Type", "application/json")
	if secret != "" {
		req.Header.Set("X-Telegram-Bot-Api-Secret-Token", secret)
	}
	resp, err := s.cfg.WebhookClient.Do(req)
	if err != nil {
		return 0, err.Error()
	}
	defer resp.Body.Close()
	body, err := io.ReadAll(io.LimitReader(resp.Body, 1<<20))
	if err != nil {
		return 0, "Read error: " + err.Error()
	}
	if resp.StatusCode/100 != 2 {
		seconds, _ := strconv.Atoi(resp.Header.Get("Retry-After")) // absent or odd: none
		return time.Duration(seconds) * time.Second, "Wrong response from the webhook: " + resp.Status
	}
	s.hookCall(ctx, resp.Header.Get("Content-Type"), body)
	return 0, ""
}

// hookCall carries out a method call in the answer of a webhook; its result goes nowhere.
func (s *Server) hookCall(ctx context.Context, kind string, body []byte) {
	var probe struct{ Method string }
	if json.Unmarshal(body, &probe) != nil || probe.Method == "" {
		return
	}
	at := time.Now()
	c := &call{method: probe.Method, used: map[string]bool{}}
	if _, known := schemas()[c.method]; !known || c.method == "getUpdates" {
		c.violate(UnknownMethod, "in the answer of a webhook")
		s.note(c, nil, &apiError{code: 404, description: "Not Found: method not found"}, at)
		return
	}
	if kind != "application/json" {
		c.violate(BadRequest, "the answer of a webhook carries a call but has content type %q", kind)
	}
	if err := c.decodeJSON(body); err != nil {
		c.violate(BadRequest, "%v", err)
	}
	delete(c.params, "method")
	result, apiErr := s.execute(ctx, c)
	s.note(c, result, apiErr, at)
}

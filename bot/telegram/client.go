package telegram

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"sync"
	"time"

	"bagwatch/bot"
)

// client carries out calls. The library speaks through Do; the hot methods go as plain JSON through
// call, which spares the library's multipart encoder, its pipe and its goroutine for each call.
//
// Each request leaves with its whole body in memory, a Content-Length and a GetBody: a streamed body
// cannot be sent again when an HTTP/2 server closes the connection, and then fails for good.
type client struct {
	http     *http.Client
	base     string // address and token, ending in a slash
	token    string
	patience time.Duration // how long in all a call may wait for the platform
	attempt  time.Duration // the time limit of one try
	gates    gates
	counts   *counters
}

// maxAnswer bounds an answer's body: 100 updates of at most some ten kilobytes each; house rule.
const maxAnswer = 16 << 20

// tries is how often a call is sent when the connection breaks or the server errs; house rule. A
// break after the server acted repeats a message: better twice than not at all.
const tries = 4

// firstPause is the pause after the first such failure; it triples each time. House rule.
const firstPause = 300 * time.Millisecond

// Names of context values.
type (
	chatKey     struct{} // the chat that a call writes to
	patienceKey struct{} // a time.Duration in place of client.patience
	onceKey     struct{} // do not repeat after a failure
)

// body is a request's content.
type body struct {
	kind string // Content-Type
	data []byte
}

// envelope is what every answer is wrapped in. Result is a pointer to decode into.
type envelope struct {
	OK          bool   `json:"ok"`
	Result      any    `json:"result"`
	Code        int    `json:"error_code"`
	Description string `json:"description"`
	Parameters  struct {
		RetryAfter int   `json:"retry_after"`
		MigrateTo  int64 `json:"migrate_to_chat_id"`
	} `json:"parameters"`
}

// unread is a result that nobody reads.
type unread struct{}

// UnmarshalJSON reads nothing.
func (*unread) UnmarshalJSON([]byte) error { return nil }

// sent is what we read of a sent message.
type sent struct {
	ID bot.MessageID `json:"message_id"`
}

// sentHead is how the answer to a sent message begins. The rest of it repeats the whole message.
var sentHead = []byte(`{"ok":true,"result":{"message_id":`)

// quick reads the id of a sent message without reading the rest, if the answer begins as it always
// does; otherwise it must be read as JSON.
func (m *sent) quick(raw []byte) bool {
	tail, ok := bytes.CutPrefix(raw, sentHead)
	end := bytes.IndexByte(tail, ',')
	if !ok || end < 0 || !bytes.HasSuffix(bytes.TrimSpace(tail), []byte("}}")) {
		return false
	}
	id, err := strconv.ParseInt(string(tail[:end]), 10, 64)
	m.ID = bot.MessageID(id)
	return err == nil
}

// call sends a method's parameters as JSON and decodes its result; a nil result is not read.
func (c *client) call(ctx context.Context, method string, params, result any) error {
	var buf bytes.Buffer
	enc := json.NewEncoder(&buf)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(params); err != nil {
		return fmt.Errorf("%s: %w", method, err)
	}
	if result == nil {
		result = &unread{}
	}
	_, err := c.send(ctx, method, body{"application/json", buf.Bytes()}, result)
	return err
}

// Do is the library's way out. Its errors are those of call.
func (c *client) Do(r *http.Request) (*http.Response, error) {
	method := r.URL.Path[strings.LastIndexByte(r.URL.Path, '/')+1:]
	data, err := io.ReadAll(r.Body)
	if err != nil {
		return nil, fmt.Errorf("%s: encode: %w", method, err)
	}
	b := body{r.Header.Get("Content-Type"), data}
	if len(data) == 0 { // a form without fields is no form to a strict reader
		b.kind = ""
	}
	var result json.RawMessage
	raw, err := c.send(r.Context(), method, b, &result)
	if err != nil {
		return nil, err
	}
	// An edit of an inline message answers true where the library wants a message.
	if strings.HasPrefix(method, "editMessage") && bytes.Equal(result, []byte("true")) {
		raw = []byte(`{"ok":true,"result":{}}`)
	}
	return &http.Response{
		StatusCode: http.StatusOK, Proto: "HTTP/1.1", ProtoMajor: 1, ProtoMinor: 1, Header: http.Header{},
		Body: io.NopCloser(bytes.NewReader(raw)), ContentLength: int64(len(raw)), Request: r,
	}, nil
}

// send carries out a call: it waits as the platform asks, and repeats what failed on the way.
func (c *client) send(ctx context.Context, method string, b body, result any) ([]byte, error) {
	chat, _ := ctx.Value(chatKey{}).(bot.ChatID)
	left := c.patience
	if p, ok := ctx.Value(patienceKey{}).(time.Duration); ok {
		left = p
	}
	pause := firstPause
	for try := 1; ; try++ {
		if wait := c.gates.closed(chat); wait > 0 {
			if err := c.wait(ctx, wait, &left); err != nil {
				return nil, fmt.Errorf("%s: %w", method, err)
			}
		}
		raw, err := c.exchange(ctx, method, b, result)
		var refused *apiError
		switch {
		case err == nil:
			return raw, nil
		case errors.As(err, &refused) && refused.code == http.StatusTooManyRequests:
			c.counts.busy.Add(1)
			c.gates.close(chat, refused.after)
			if werr := c.wait(ctx, refused.after, &left); werr != nil {
				return nil, fmt.Errorf("%s: %w", method, werr)
			}
			try-- // told to wait, not failed
			continue
		case refused != nil && refused.code < http.StatusInternalServerError:
			return nil, err
		case try == tries || ctx.Err() != nil || ctx.Value(onceKey{}) != nil:
			return nil, err
		}
		c.counts.retries.Add(1)
		if sleep(ctx, pause) != nil {
			return nil, err
		}
		pause *= 3
	}
}

// wait waits as the platform asked, or gives a *bot.BusyError if that is longer than what is left.
func (c *client) wait(ctx context.Context, d time.Duration, left *time.Duration) error {
	if deadline, ok := ctx.Deadline(); d > *left || ok && time.Until(deadline) < d {
		return &bot.BusyError{After: d}
	}
	*left -= d
	return sleep(ctx, d)
}

// exchange is one try.
func (c *client) exchange(ctx context.Context, method string, b body, result any) ([]byte, error) {
	limit := c.attempt
	if method == "getUpdates" {
		limit += pollTimeout
	}
	ctx, cancel := context.WithTimeout(ctx, limit)
	defer cancel()
	c.counts.calls.Add(1)
	req, err := http.NewRequestWithContext(ctx, http.MethodPost, c.base+method, bytes.NewReader(b.data))
	if err != nil {
		return nil, c.clean(method, err)
	}
	if b.kind != "" {
		req.Header.Set("Content-Type", b.kind)
	}
	resp, err := c.http.Do(req)
	if err != nil {
		return nil, c.clean(method, err)
	}
	defer resp.Body.Close()
	raw, err := io.ReadAll(io.LimitReader(resp.Body, maxAnswer))
	if err != nil {
		return nil, c.clean(method, err)
	}
	if m, ok := result.(*sent); ok && m.quick(raw) {
		return raw, nil
	}
	answer := envelope{Result: result}
	if err := json.Unmarshal(raw, &answer); err != nil && answer.OK { // it was done: not to be repeated
		return nil, fmt.Errorf("%s: result not understood", method)
	} else if err != nil || !answer.OK && answer.Code == 0 {
		// A proxy's page: its text is nobody's business, its status is.
		return nil, &apiError{method: method, code: max(resp.StatusCode, http.StatusInternalServerError), text: "answer is not of the Bot API"}
	}
	if answer.OK {
		return raw, nil
	}
	refused := &apiError{method: method, code: answer.Code, text: strings.ReplaceAll(answer.Description, c.token, "***"),
		movedTo: bot.ChatID(answer.Parameters.MigrateTo)}
	if answer.Code == http.StatusTooManyRequests {
		seconds := answer.Parameters.RetryAfter
		if seconds <= 0 {
			seconds, _ = strconv.Atoi(resp.Header.Get("Retry-After")) // absent or odd: the least
		}
		refused.after = time.Duration(max(seconds, 1)) * time.Second
	}
	return nil, refused
}

// clean wraps an error of the way there without the address, which holds the token.
func (c *client) clean(method string, err error) error {
	var u *url.Error
	if errors.As(err, &u) {
		err = u.Err
	}
	if strings.Contains(err.Error(), c.token) {
		err = errors.New(strings.ReplaceAll(err.Error(), c.token, "***"))
	}
	return fmt.Errorf("%s: %w", method, err)
}

// sleep waits, or gives the context's error.
func sleep(ctx context.Context, d time.Duration) error {
	t := time.NewTimer(d)
	defer t.Stop()
	select {
	case <-t.C:
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}

// gates hold back the calls to chats that the platform asked to leave alone for a while.
type gates struct {
	mu    sync.Mutex
	until map[bot.ChatID]time.Time
}

// closed is how long a chat must still be left alone.
func (g *gates) closed(chat bot.ChatID) time.Duration {
	if chat == 0 {
		return 0
	}
	g.mu.Lock()
	defer g.mu.Unlock()
	until, ok := g.until[chat]
	if !ok {
		return 0
	}
	left := time.Until(until)
	if left <= 0 {
		delete(g.until, chat)
	}
	return left
}

// close notes that a chat must be left alone.
func (g *gates) close(chat bot.ChatID, d time.Duration) {
	if chat == 0 {
		return
	}
	g.mu.Lock()
	defer g.mu.Unlock()
	if g.until == nil {
		g.until = map[bot.ChatID]time.Time{}
	}
	now := time.Now()
	for other, until := range g.until { // few at any time
		if until.Before(now) {
			delete(g.until, other)
		}
	}
	g.until[chat] = now.Add(d)
}

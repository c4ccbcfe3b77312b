package standin

import (
	"fmt"
	"slices"
	"strconv"
	"time"
)

// Callback is a pressed button and what the bot answered.
type Callback struct {
	ID        string
	From      *User
	Chat      *Chat // nil for an inline message
	MessageID int
	InlineID  string
	Data      string
	Pressed   time.Time // by Config.Now
	Answered  bool
	Late      bool // answered after the deadline: the person saw nothing
	Text      string
	Alert     bool
	URL       string
	Took      time.Duration // real time until the answer

	real time.Time
}

// InlineQuery is an inline query and what the bot answered.
type InlineQuery struct {
	ID        string
	From      *User
	Query     string
	Offset    string
	Asked     time.Time // by Config.Now
	Answered  bool
	Results   []Result
	Next      string // next_offset
	CacheTime int
	Personal  bool
	Button    string // text of the button above the results
	StartWith string // its start_parameter
}

// Result is one inline result as people see it, and the message it would send.
type Result struct {
	ID, Type, Title, Description string
	Text                         string // visible text of the message
	Buttons                      [][]Button

	message stored
}

// keptQueries bounds the memory of callbacks and of inline queries; house rule.
const keptQueries = 20000

// tooOld is the official text for a query that is unknown or was answered too late.
const tooOld = "query is too old and response timeout expired or query ID is invalid"

func (s *Server) queryID() string {
	s.lastQuery++
	return strconv.FormatInt(s.lastQuery, 10)
}

func (s *Server) addCallback(cb *Callback) {
	s.callbacks[cb.ID] = cb
	s.callOrder = append(s.callOrder, cb.ID)
	if len(s.callOrder) > keptQueries {
		delete(s.callbacks, s.callOrder[0])
		s.callOrder = s.callOrder[1:]
	}
}

func (s *Server) answerCallbackQuery(c *call) (any, *apiError) {
	if n := units(c.str("text")); n > maxCallbackText {
		c.violate(LimitBroken, "text has %d characters, allowed 0-%d", n, maxCallbackText)
		return nil, badRequest("MESSAGE_TOO_LONG")
	}
	cb := s.callbacks[c.str("callback_query_id")]
	if cb == nil {
		c.violate(LimitBroken, "no callback query %q", c.str("callback_query_id"))
		return nil, badRequest(tooOld)
	}
	if cb.Chat != nil {
		c.chatID = cb.Chat.id
	}
	if cb.Answered && !cb.Late || s.now().Sub(cb.Pressed) > s.cfg.AnswerDeadline {
		cb.Late = !cb.Answered
		cb.Answered = true
		return nil, badRequest(tooOld)
	}
	if u := c.str("url"); u != "" {
		c.checkLink(u)
	}
	cb.Answered, cb.Took = true, time.Since(cb.real)
	cb.Text, cb.Alert, cb.URL = c.str("text"), c.boolean("show_alert"), c.str("url")
	return true, nil
}

func (s *Server) answerInlineQuery(c *call) (any, *apiError) {
	q := s.queries[c.str("inline_query_id")]
	results := c.list("results")
	if n := len(results); n > maxResults {
		c.violate(LimitBroken, "%d results, allowed %d", n, maxResults)
		return nil, badRequest("RESULTS_TOO_MUCH")
	}
	if n := len(c.str("next_offset")); n > maxNextOffset {
		c.violate(LimitBroken, "next_offset has %d bytes, allowed %d", n, maxNextOffset)
		return nil, badRequest("NEXT_OFFSET_INVALID")
	}
	if n := c.num("cache_time"); n < 0 || n > 86400 {
		c.violate(LimitBroken, "cache_time %d is clamped to 0-86400", n)
	}
	button := c.obj("button")
	if button != nil {
		p, starts := button["start_parameter"]
		if _, app := button["web_app"]; app == starts {
			c.violate(KeyboardBroken, "the button above the results needs exactly one of start_parameter and web_app")
		}
		if starts && !startPayload.MatchString(asString(p)) {
			c.violate(LinkBroken, "start_parameter %q must be 1-64 of A-Z a-z 0-9 _ -", asString(p))
			return nil, badRequest("START_PARAM_INVALID")
		}
	}
	var read []Result
	for _, v := range results {
		r, err := s.readResult(c, asObject(v))
		if err != nil {
			return nil, err
		}
		if slices.ContainsFunc(read, func(o Result) bool { return o.ID == r.ID }) {
			c.violate(LimitBroken, "result id %q appears twice", r.ID)
			return nil, badRequest("RESULT_ID_DUPLICATE")
		}
		read = append(read, r)
	}
	if q == nil {
		c.violate(LimitBroken, "no inline query %q", c.str("inline_query_id"))
		return nil, badRequest(tooOld)
	}
	if q.Answered || s.now().Sub(q.Asked) > s.cfg.AnswerDeadline {
		return nil, badRequest(tooOld)
	}
	q.Answered, q.Results, q.Next, q.Personal = true, read, c.str("next_offset"), c.boolean("is_personal")
	q.CacheTime = 300 // answerInlineQuery.cache_time: default
	if c.has("cache_time") {
		q.CacheTime = int(c.num("cache_time"))
	}
	q.Button, q.StartWith = asString(button["text"]), asString(button["start_parameter"])
	return true, nil
}

// readResult judges one result and prepares the message it would send.
func (s *Server) readResult(c *call, o map[string]any) (Result, *apiError) {
	r := Result{ID: asString(o["id"]), Type: asString(o["type"]), Title: asString(o["title"]), Description: asString(o["description"])}
	if n := len(r.ID); n < 1 || n > maxResultID {
		c.violate(LimitBroken, "result id has %d bytes, allowed 1-%d", n, maxResultID)
		return r, badRequest("RESULT_ID_INVALID")
	}
	m := &r.message
	m.sender, m.fromBot = s.bot, true
	if content := asObject(o["input_message_content"]); content != nil {
		switch {
		case content["message_text"] != nil:
			if err := s.setText(c, m, content, "message_text", "entities"); err != nil {
				return r, err
			}
		case content["latitude"] != nil && content["title"] == nil:
			m.Location = &wireLocation{Latitude: asFloat(content["latitude"]), Longitude: asFloat(content["longitude"])}
		default:
			c.violate(Unsupported, "message content of result %q", r.ID)
		}
	} else {
		if err := s.setCaption(c, m, o); err != nil {
			return r, err
		}
		switch {
		case r.Type == "photo":
			ref := asString(o["photo_file_id"])
			if ref == "" {
				ref = asString(o["photo_url"])
			}
			if err := s.attach(c, m, "photo", ref); err != nil {
				return r, err
			}
		case r.Type == "article":
			return r, badRequest("can't parse inline query result: Message content is not specified")
		default:
			c.violate(Unsupported, "inline result of type %q", r.Type)
		}
	}
	markup, err := c.markup(o, true, false)
	if err != nil {
		return r, err
	}
	m.setMarkup(markup)
	r.Text, r.Buttons = visible(m), buttons(m)
	return r, nil
}

// Callbacks are the pressed buttons, oldest first; at most the last 20000 are kept.
func (s *Server) Callbacks() []Callback {
	s.mu.Lock()
	defer s.mu.Unlock()
	out := make([]Callback, 0, len(s.callOrder))
	for _, id := range s.callOrder {
		out = append(out, *s.callbacks[id])
	}
	return out
}

// UnansweredCallbacks are the pressed buttons whose progress bar never ended: not answered, or too late.
func (s *Server) UnansweredCallbacks() []Callback {
	return slices.DeleteFunc(s.Callbacks(), func(cb Callback) bool { return cb.Answered && !cb.Late })
}

// WaitForAnswer waits until a pressed button is answered.
func (s *Server) WaitForAnswer(cb Callback, timeout time.Duration) (Callback, error) {
	var out Callback
	err := s.waitUntil(timeout, func() bool {
		if known := s.callbacks[cb.ID]; known != nil {
			out = *known
		}
		return out.Answered
	})
	if err != nil {
		return out, fmt.Errorf("standin: button %q not answered within %v", cb.Data, timeout)
	}
	return out, nil
}

// WaitForResults waits until an inline query is answered.
func (s *Server) WaitForResults(q InlineQuery, timeout time.Duration) (InlineQuery, error) {
	var out InlineQuery
	err := s.waitUntil(timeout, func() bool {
		if known := s.queries[q.ID]; known != nil {
			out = *known
		}
		return out.Answered
	})
	if err != nil {
		return out, fmt.Errorf("standin: inline query %q not answered within %v", q.Query, timeout)
	}
	return out, nil
}

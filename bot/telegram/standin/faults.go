package standin

import (
	"context"
	"io"
	"net/http"
	"slices"
	"strconv"
	"time"
)

// Cut says where a fault cuts the connection.
type Cut int

// Where a connection may be cut.
const (
	NoCut     Cut = iota
	CutBefore     // the call is read and not carried out; the bot sees no answer
	CutAfter      // the call is carried out; the bot sees no answer
)

// Fault spoils calls. At most one of Cut, Code and Body acts; Delay comes before any of them.
type Fault struct {
	Method string        // empty: any method but getUpdates
	Chat   int64         // zero: any chat
	Times  int           // zero: once; negative: until removed
	Skip   int           // matching calls to let pass first
	Delay  time.Duration // real time before the call is carried out
	Cut    Cut
	Code   int    // refuse with this error code
	Text   string // and this description; empty means the usual one of 429, 500 and 502
	After  int    // with Code 429: retry_after in seconds
	Body   string // answer 502 with this body, as a proxy in between does
}

// TooMany is a fault that refuses calls of a method with 429 and retry_after.
func TooMany(method string, seconds, times int) Fault {
	return Fault{Method: method, Times: times, Code: http.StatusTooManyRequests, After: seconds}
}

// BadGateway is a fault that answers with a proxy's 502 page, which is no JSON.
func BadGateway(method string, times int) Fault {
	return Fault{Method: method, Times: times, Body: "<html>\r\n<head><title>502 Bad Gateway</title></head>\r\n<body><h1>502 Bad Gateway</h1></body>\r\n</html>\r\n"}
}

type fault struct {
	Fault
	left int // negative: no end
	skip int
}

// Inject adds a fault; the function returned removes it.
func (s *Server) Inject(f Fault) (remove func()) {
	s.mu.Lock()
	defer s.mu.Unlock()
	p := &fault{f, f.Times, f.Skip}
	if f.Times == 0 {
		p.left = 1
	}
	s.faults = append(s.faults, p)
	return func() {
		s.mu.Lock()
		defer s.mu.Unlock()
		s.faults = slices.DeleteFunc(s.faults, func(q *fault) bool { return q == p })
	}
}

// takeFault finds the fault of a call, the oldest that matches.
func (s *Server) takeFault(c *call) *fault {
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, f := range s.faults {
		if f.left == 0 || f.Method != c.method && (f.Method != "" || c.method == "getUpdates") {
			continue
		}
		if f.Chat != 0 && asInt(c.params["chat_id"]) != f.Chat {
			continue
		}
		if f.skip > 0 {
			f.skip--
			continue
		}
		if f.left > 0 {
			f.left--
		}
		if f.Code == http.StatusTooManyRequests {
			if chat := s.chats[asInt(c.params["chat_id"])]; chat != nil {
				c.chatID = chat.id
				s.rates.hold(chat, s.now().Add(time.Duration(f.After)*time.Second))
			}
		}
		return f
	}
	return nil
}

// before waits and says whether the call goes on.
func (f *fault) before(ctx, server context.Context) bool {
	if f.Delay > 0 {
		select {
		case <-time.After(f.Delay):
		case <-ctx.Done():
			return false
		case <-server.Done():
			return false
		}
	}
	return f.Cut != CutBefore
}

func (f *fault) code() int {
	if f.Body != "" {
		return http.StatusBadGateway
	}
	return f.Code
}

func (f *fault) text() string {
	switch {
	case f.Text != "":
		return f.Text
	case f.Body != "":
		return f.Body
	case f.Code == http.StatusTooManyRequests:
		return "Too Many Requests: retry after " + strconv.Itoa(f.After)
	case f.Code == http.StatusInternalServerError:
		return "Internal Server Error"
	}
	return http.StatusText(f.Code)
}

// reply answers in place of the server and says whether it did.
func (f *fault) reply(w http.ResponseWriter) bool {
	switch {
	case f.Body != "":
		w.Header().Set("Content-Type", "text/html")
		w.WriteHeader(http.StatusBadGateway)
		_, _ = io.WriteString(w, f.Body) // the caller may have gone
	case f.Code != 0:
		reply(w, (&apiError{code: f.Code, description: f.text(), retryAfter: f.After}).answer())
	default:
		return false
	}
	return true
}

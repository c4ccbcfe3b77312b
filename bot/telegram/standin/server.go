package standin

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"
)

// Server is a running stand-in. All methods are safe for concurrent use.
type Server struct {
	cfg      Config
	t        testing.TB // nil outside a test
	url      string
	http     *http.Server
	ctx      context.Context // ends with Close; not a request's
	stop     context.CancelFunc
	handling sync.WaitGroup // requests and webhook workers
	now      func() time.Time
	methods  map[string]handler

	mu        sync.Mutex
	closing   bool
	changed   chan struct{} // closed and replaced at each change that someone may wait for
	bot       *User
	revoked   bool
	users     map[int64]*User
	chats     map[int64]*Chat
	chatOrder []*Chat
	lastUser  int64
	lastGroup int64
	lastQuery int64
	lastFile  int

	queue     updateQueue
	callbacks map[string]*Callback
	callOrder []string
	queries   map[string]*InlineQuery
	queryList []string
	inline    map[string]*stored
	files     map[string]*file
	fileOrder []string
	profile   profile

	calls      []Call
	callCount  map[string]int
	violations []Violation
	tolerated  map[Kind]bool
	faults     []*fault
	rates      rateState
}

// New starts a stand-in for a test. Violations fail the test; it is closed when the test ends.
func New(t testing.TB, opts ...Option) *Server {
	t.Helper()
	var cfg Config
	for _, opt := range opts {
		opt(&cfg)
	}
	s, err := start(cfg, t)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(s.Close)
	return s
}

// Start starts a stand-in outside a test: for load runs, and programs that need a server.
// Violations are collected, see [Server.Violations].
func Start(cfg Config) (*Server, error) { return start(cfg, nil) }

func start(cfg Config, t testing.TB) (*Server, error) {
	cfg = cfg.withDefaults()
	host, _, err := net.SplitHostPort(cfg.Addr)
	if err != nil {
		return nil, fmt.Errorf("standin: address %q: %w", cfg.Addr, err)
	}
	if ip := net.ParseIP(host); host != "localhost" && (ip == nil || !ip.IsLoopback()) {
		return nil, fmt.Errorf("standin: address %q is not loopback", cfg.Addr)
	}
	id, _, _ := strings.Cut(cfg.Token, ":")
	botID, err := strconv.ParseInt(id, 10, 64)
	if err != nil || !tokenForm.MatchString(cfg.Token) {
		return nil, errors.New("standin: the token has not the form of a bot token")
	}
	listener, err := net.Listen("tcp", cfg.Addr)
	if err != nil {
		return nil, fmt.Errorf("standin: listen: %w", err)
	}
	s := &Server{
		cfg: cfg, t: t, now: cfg.Now, methods: methodTable(), url: "http://" + listener.Addr().String(),
		changed:  make(chan struct{}),
		bot:      &User{ID: botID, FirstName: cfg.Name, Username: cfg.Username, IsBot: true},
		users:    map[int64]*User{},
		chats:    map[int64]*Chat{},
		lastUser: 7_000_000_000, lastGroup: 4_000_000, lastQuery: 9_000_000_000_000_000,
		callbacks: map[string]*Callback{}, queries: map[string]*InlineQuery{}, inline: map[string]*stored{},
		files: map[string]*file{}, callCount: map[string]int{}, tolerated: map[Kind]bool{},
	}
	s.users[botID] = s.bot
	s.profile.init(cfg.Name)
	s.queue.init(cfg.FirstUpdateID)
	s.ctx, s.stop = context.WithCancel(context.Background())
	s.http = &http.Server{Handler: http.HandlerFunc(s.serve), ReadHeaderTimeout: 10 * time.Second}
	s.handling.Go(func() {
		if err := s.http.Serve(listener); !errors.Is(err, http.ErrServerClosed) {
			s.mu.Lock()
			s.record(Violation{Kind: BadRequest, Method: "listener", Reason: err.Error()})
			s.mu.Unlock()
		}
	})
	return s, nil
}

// URL is the base address, without a trailing slash.
func (s *Server) URL() string { return s.url }

// Token is the bot's token.
func (s *Server) Token() string { return s.cfg.Token }

// Bot is the bot under test as people see it.
func (s *Server) Bot() *User { return s.bot }

// Close ends long polls and connections and waits until nothing runs any more.
func (s *Server) Close() {
	s.mu.Lock()
	s.closing = true
	s.wake()
	s.mu.Unlock()
	s.stop()
	_ = s.http.Close() // closes listener and connections; errors of a closing listener mean nothing
	s.handling.Wait()
}

// Revoke makes the token invalid: each call is answered 401.
func (s *Server) Revoke() {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.revoked = true
	s.wake()
}

// Tolerate stops violations of these kinds from failing the test; they are still answered.
func (s *Server) Tolerate(kinds ...Kind) {
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, k := range kinds {
		s.tolerated[k] = true
	}
}

// Violations are those found so far, tolerated kinds left out; at most the first 1000.
func (s *Server) Violations() []Violation {
	s.mu.Lock()
	defer s.mu.Unlock()
	return slices.Clone(s.violations)
}

// Calls are the finished calls of a method, oldest first, or of all methods if it is empty.
// Only the last [Config.KeepCalls] are kept.
func (s *Server) Calls(method string) []Call {
	s.mu.Lock()
	defer s.mu.Unlock()
	var out []Call
	for _, c := range s.calls {
		if method == "" || c.Method == method {
			out = append(out, c)
		}
	}
	return out
}

// Count is the number of finished calls of a method.
func (s *Server) Count(method string) int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.callCount[method]
}

// wake tells all who wait that something changed; s.mu is held.
func (s *Server) wake() {
	close(s.changed)
	s.changed = make(chan struct{})
}

// record keeps and reports a violation; s.mu is held.
func (s *Server) record(v Violation) {
	if s.tolerated[v.Kind] {
		return
	}
	if len(s.violations) < maxViolations {
		s.violations = append(s.violations, v)
	}
	if s.cfg.OnViolation != nil {
		s.cfg.OnViolation(v)
	}
	if s.t != nil {
		s.t.Errorf("standin: %s", v)
	}
}

// maxViolations bounds the memory of a run that goes wrong at every call.
const maxViolations = 1000

func (s *Server) serve(w http.ResponseWriter, r *http.Request) {
	s.mu.Lock()
	if s.closing {
		s.mu.Unlock()
		panic(http.ErrAbortHandler)
	}
	s.handling.Add(1)
	revoked := s.revoked
	s.mu.Unlock()
	defer s.handling.Done()

	path := strings.TrimPrefix(r.URL.Path, "/")
	isFile := strings.HasPrefix(path, "file/")
	rest, isBot := strings.CutPrefix(strings.TrimPrefix(path, "file/"), "bot")
	token, tail, found := strings.Cut(rest, "/")
	switch {
	case !isBot || !found:
		s.mu.Lock()
		s.record(Violation{Kind: BadRequest, Method: r.URL.Path, Reason: "no such path"})
		s.mu.Unlock()
		reply(w, (&apiError{code: 404, description: "Not Found"}).answer())
	case !tokenForm.MatchString(token):
		reply(w, (&apiError{code: 404, description: "Not Found"}).answer())
	case token != s.cfg.Token || revoked:
		reply(w, (&apiError{code: 401, description: "Unauthorized"}).answer())
	case isFile:
		s.serveFile(w, tail)
	default:
		s.serveCall(w, r, tail)
	}
}

func (s *Server) serveCall(w http.ResponseWriter, r *http.Request, method string) {
	arrived := time.Now()
	c := &call{method: method}
	if _, known := schemas()[method]; !known {
		c.violate(UnknownMethod, "no method %q in this stand-in", method)
		s.finish(c, nil, &apiError{code: 404, description: "Not Found: method not found"}, arrived, w)
		return
	}
	if r.Method != http.MethodPost && r.Method != http.MethodGet {
		c.violate(BadRequest, "HTTP method %s", r.Method)
	}
	if err := c.decode(w, r); err != nil {
		if r.Context().Err() != nil { // the caller went away
			panic(http.ErrAbortHandler)
		}
		if errors.Is(err, errTooLarge) {
			c.violate(FileBroken, "upload over %d bytes", maxFileBytes)
			s.finish(c, nil, &apiError{code: 413, description: "Request Entity Too Large"}, arrived, w)
			return
		}
		c.violate(BadRequest, "%v", err)
		s.finish(c, nil, badRequest("can't parse the request: %v", err), arrived, w)
		return
	}
	f := s.takeFault(c)
	if f != nil && !f.before(r.Context(), s.ctx) {
		panic(http.ErrAbortHandler)
	}
	if f != nil && f.reply(w) {
		s.note(c, nil, &apiError{code: f.code(), description: f.text()}, arrived)
		return
	}
	result, apiErr := s.execute(r.Context(), c)
	if f != nil && f.Cut == CutAfter {
		s.note(c, result, apiErr, arrived)
		panic(http.ErrAbortHandler)
	}
	s.finish(c, result, apiErr, arrived, w)
}

// execute judges a decoded call and carries it out.
func (s *Server) execute(ctx context.Context, c *call) (any, *apiError) {
	if !s.cfg.SkipSchema {
		c.lint()
	}
	if c.method == "getUpdates" {
		return s.getUpdates(ctx, c)
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if err := s.limitRate(c); err != nil {
		return nil, err
	}
	result, err := s.methods[c.method](s, c)
	for name := range c.files {
		if !c.used[name] && err == nil {
			c.violate(FileBroken, "uploaded part %q is not used", name)
		}
	}
	s.wake()
	return result, err
}

// finish notes a call and answers it.
func (s *Server) finish(c *call, result any, apiErr *apiError, at time.Time, w http.ResponseWriter) {
	s.note(c, result, apiErr, at)
	if apiErr != nil {
		reply(w, apiErr.answer())
		return
	}
	a := answer{OK: true, Result: result}
	if raw, ok := result.(json.RawMessage); ok {
		a.raw = raw
	}
	reply(w, a)
}

// note keeps the call and reports its violation, the first that is not tolerated.
func (s *Server) note(c *call, result any, apiErr *apiError, at time.Time) {
	done := Call{Method: c.method, ChatID: c.chatID, Params: c.params, Code: 200, Result: result, At: s.now(), Real: at}
	said := "ok"
	if apiErr != nil {
		done.Code, done.Error = apiErr.code, apiErr.description
		said = fmt.Sprintf("%d %q", apiErr.code, apiErr.description)
	}
	s.mu.Lock()
	s.callCount[c.method]++
	if s.cfg.KeepCalls > 0 && c.method != "getUpdates" {
		if len(s.calls) >= 2*s.cfg.KeepCalls {
			s.calls = slices.Clone(s.calls[len(s.calls)-s.cfg.KeepCalls:])
		}
		s.calls = append(s.calls, done)
	}
	for _, v := range c.faults {
		if !s.tolerated[v.Kind] {
			v.Params, v.Answer = c.shown(), said
			s.record(v)
			break
		}
	}
	s.wake()
	s.mu.Unlock()
	if s.cfg.OnCall != nil {
		s.cfg.OnCall(done)
	}
}

func reply(w http.ResponseWriter, a answer) {
	body := []byte(a.raw)
	if body == nil {
		var buf bytes.Buffer
		enc := json.NewEncoder(&buf)
		enc.SetEscapeHTML(false)
		if err := enc.Encode(a); err != nil {
			panic("standin: answer is not JSON: " + err.Error())
		}
		body = buf.Bytes()
	}
	status := 200
	if a.ErrorCode != 0 {
		status = a.ErrorCode
	}
	h := w.Header()
	h.Set("Content-Type", "application/json")
	h.Set("Content-Length", strconv.Itoa(len(body)))
	if a.Parameters != nil && a.Parameters.RetryAfter > 0 {
		h.Set("Retry-After", strconv.Itoa(a.Parameters.RetryAfter))
	}
	w.WriteHeader(status)
	_, _ = w.Write(body) // the caller may have gone
}

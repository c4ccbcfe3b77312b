package standin

import (
	"fmt"
	"net/http"
	"time"
)

// Config tunes a stand-in. The zero value is usable.
type Config struct {
	// Addr is the loopback address to listen on; empty means 127.0.0.1 and a free port.
	Addr string
	// Token is the bot's token; empty means [DefaultToken].
	Token string
	// Username is the bot's name without @; empty means [DefaultUsername].
	Username string
	// Name is the bot's first name; empty means "Stand-in Bot".
	Name string
	// Now is the clock behind dates, expiry and query deadlines; nil means time.Now.
	Now func() time.Time
	// SkipSchema leaves out the schema check, for load tests whose calls other tests check.
	SkipSchema bool
	// ReadsAllGroupMessages switches privacy mode off.
	ReadsAllGroupMessages bool
	// NoInlineFeedback leaves out chosen_inline_result, as before /setinlinefeedback.
	NoInlineFeedback bool
	// AnswerDeadline is how long a callback or inline query may be answered, by Now.
	// Zero means 15 s: undocumented, failures are reported from about 10 to 20 s.
	AnswerDeadline time.Duration
	// Rates refuses sends above a rate with 429; the zero value refuses none.
	Rates Rates
	// PollThrottle slows repeated getUpdates with the same offset and a timeout below 3 s, as the
	// official server does: within 3 s the call waits 3 s, within 0.5 s it gets one update.
	PollThrottle bool
	// WebhookBackoff is the first pause after a failed delivery, doubling to 60 times it;
	// zero means 1 s, as the official server.
	WebhookBackoff time.Duration
	// WebhookClient delivers webhooks; nil means a plain client with a 60 s limit.
	WebhookClient *http.Client
	// KeepMessages bounds the messages and events kept per chat; zero means 2000. Edits of
	// forgotten messages are accepted unchecked.
	KeepMessages int
	// KeepCalls bounds the calls kept for [Server.Calls]; zero means 2000, negative none.
	KeepCalls int
	// FirstUpdateID is the first update_id; zero means 810001.
	FirstUpdateID int
	// OnCall hears of each finished call, on the goroutine that served it. It must not call
	// back into the server.
	OnCall func(Call)
	// OnViolation hears of each violation that is not tolerated.
	OnViolation func(Violation)
}

// Option changes a Config before the server starts.
type Option func(*Config)

// Defaults of a stand-in bot. The token has the official form, digits, a colon and 35 characters.
const (
	DefaultToken    = "4242424242:AAStandInTokenForTestsOnly-000000000"
	DefaultUsername = "quay_street_bot"
)

// Rates are the limits above which sends are refused with 429. Zero switches a limit off.
// The official limits are deliberately inexact; these are exact, so that tests repeat.
type Rates struct {
	ChatPerSecond    int // messages to one chat within a second
	GroupPerMinute   int // messages to one group within a minute
	OverallPerSecond int // messages to all chats within a second
}

// OfficialRates are the figures of the official FAQ ("My bot is hitting limits"):
// about one message a second to a chat, 20 a minute to a group, 30 a second in all.
func OfficialRates() Rates {
	return Rates{ChatPerSecond: 1, GroupPerMinute: 20, OverallPerSecond: 30}
}

// Kind classes a violation.
type Kind string

// The kinds of violations.
const (
	UnknownMethod  Kind = "unknown method"
	BadRequest     Kind = "bad request"     // the HTTP request cannot be read
	SchemaBroken   Kind = "schema"          // unknown field, wrong type, missing field, value not in the list
	LimitBroken    Kind = "limit"           // length, byte count, range or format
	MarkupBroken   Kind = "markup"          // HTML or entities
	KeyboardBroken Kind = "keyboard"        // a button or a whole keyboard
	FileBroken     Kind = "file"            // photos, uploads, file ids
	LinkBroken     Kind = "link"            // deep links and button addresses
	UnknownChat    Kind = "unknown chat"    // never seen by this bot, or never started by the user
	UnknownMessage Kind = "unknown message" // never existed, or not the bot's own
	NotModified    Kind = "not modified"    // an edit that changes nothing
	Unsupported    Kind = "unsupported"     // legal, but beyond this stand-in
)

// Violation is one call the documentation does not allow.
type Violation struct {
	Kind   Kind
	Method string
	Reason string
	Params string // the parameters as JSON, shortened
	Answer string // what the bot was answered: "ok" or code and description
}

// String is one line for a test log.
func (v Violation) String() string {
	return fmt.Sprintf("%s in %s: %s; answered %s; call %s", v.Kind, v.Method, v.Reason, v.Answer, v.Params)
}

// Call is one finished API call.
type Call struct {
	Method string
	ChatID int64          // zero if the method has no chat
	Params map[string]any // decoded parameters; do not change
	Code   int            // 200 or the error code; zero if a fault cut the connection before an answer
	Error  string         // the description, empty if ok
	Result any            // what was answered; do not change
	At     time.Time      // by Config.Now, when the call arrived
	Real   time.Time      // real time when the call arrived
}

func (c Config) withDefaults() Config {
	set := func(p *string, v string) {
		if *p == "" {
			*p = v
		}
	}
	set(&c.Addr, "127.0.0.1:0")
	set(&c.Token, DefaultToken)
	set(&c.Username, DefaultUsername)
	set(&c.Name, "Stand-in Bot")
	if c.Now == nil {
		c.Now = time.Now
	}
	if c.AnswerDeadline == 0 {
		c.AnswerDeadline = 15 * time.Second
	}
	if c.WebhookBackoff == 0 {
		c.WebhookBackoff = time.Second
	}
	if c.WebhookClient == nil {
		c.WebhookClient = &http.Client{
			Timeout:       60 * time.Second,
			CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
		}
	}
	if c.KeepMessages == 0 {
		c.KeepMessages = 2000
	}
	if c.KeepCalls == 0 {
		c.KeepCalls = 2000
	}
	if c.FirstUpdateID == 0 {
		c.FirstUpdateID = 810001
	}
	return c
}

// Package telegram carries the conversation over Telegram's Bot API.
//
// It is an adapter: updates become [bot.Incoming], what the bot says goes out through [Adapter], which
// is a [bot.Messenger]. The types and the rarer calls are those of github.com/go-telegram/bot; its
// polling, webhook and sending are replaced where they lose updates, stop at one that cannot be decoded,
// or cost too much. All of that stays in this package.
//
// Delivery: an update is handled, then acknowledged. Polling asks for the next offset when all before it
// are handled; the webhook answers 200 then. Updates of one chat are handled in order, chats in parallel,
// at most [Config.InFlight] at a time. After a crash at most that many are handled again (more only if
// one of them had been stuck for seconds, see poll.go), so a handler must bear repeats.
//
// Sending: a call waits as long as the platform asks, up to [Config.Patience], then fails with
// [bot.BusyError]. It is repeated after a broken connection or a server error; a message may then
// appear twice, and is not lost. Alerts go through [Adapter.Paced], which keeps to the platform's rates.
//
// Log lines carry ids, methods, counts and the platform's own reasons: no texts, no names, no token.
//
// Start with [New], then give [Adapter.Run] a [Handler].
package telegram

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"net/url"
	"runtime/debug"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	tg "github.com/go-telegram/bot"
	"github.com/go-telegram/bot/models"

	"bagwatch/bot"
)

// Handler answers what comes in. It must bear the same Incoming twice: repeats have the same Key.
// It answers people's errors itself; the error it returns goes to the log.
type Handler interface {
	Handle(ctx context.Context, in bot.Incoming) error
}

// Config tunes an Adapter. The zero value polls the public server.
type Config struct {
	// APIURL is the server's address; empty means https://api.telegram.org. Plain http is refused
	// unless the host is loopback: the address carries the token.
	APIURL string
	// WebhookURL switches to webhook mode: the https address under which the platform reaches the
	// path served by [Adapter.Handler]. Plain http is allowed for loopback hosts only.
	WebhookURL string
	// WebhookSecret is what the platform must show with each update, 1-256 of A-Z a-z 0-9 _ -.
	// Webhook mode is refused without it.
	WebhookSecret string
	// Listener, if not nil, serves [Adapter.Handler] while Run runs, and is closed by it.
	Listener net.Listener
	// Profiles are what the bot says of itself, one for each language; none leaves it as it is.
	Profiles []Profile
	// Later says whether a handler's error means "deliver it again later", such as a store that is
	// down. The webhook then answers 503; polling tries again itself, for up to ten minutes. A
	// [bot.BusyError] always means so. Nil means nothing else does.
	Later func(error) bool
	// Apology tells a person that something broke, after a handler panicked. Nil means silence.
	Apology func(ctx context.Context, in bot.Incoming)
	// Ready is asked by /readyz on top of the connection to the platform; nil means yes.
	Ready func(ctx context.Context) error
	// InFlight bounds the updates that are handled at a time; zero means 8.
	InFlight int
	// Grace is how long Run lets handlers finish at a stop; zero means 10 s.
	Grace time.Duration
	// Patience is how long a call waits in all when the platform asks to wait; zero means 30 s.
	Patience time.Duration
	// Timeout bounds one try of a call; zero means 20 s.
	Timeout time.Duration
	// Rates are the limits of what goes through [Adapter.Paced].
	Rates Rates
	// Transport carries the requests; nil means one with its own pool of connections.
	Transport http.RoundTripper
	// Now is the clock behind what has no date of its own; nil means time.Now.
	Now func() time.Time
	// Log is where to log; nil means nowhere.
	Log *slog.Logger
}

// publicServer is the official address ("Making requests", Bot API).
const publicServer = "https://api.telegram.org"

// inFlight is how many updates are handled at a time; also how many a crash may repeat. House rule.
const inFlight = 8

// Adapter is one bot on Telegram. Its methods are safe for concurrent use.
type Adapter struct {
	cfg    Config
	log    *slog.Logger
	client *client
	lib    *tg.Bot
	pacer  *pacer
	counts counters

	me       atomic.Pointer[models.User]
	seen     atomic.Int64 // unix nanoseconds of the last sign of life of the platform
	intake   atomic.Pointer[intake]
	presses  sync.Map                      // press ids not answered yet
	pictured recent[messageKey, struct{}]  // messages whose text is a caption
	inlines  recent[bot.MessageID, string] // stand-in ids of inline messages
	admins   recent[adminKey, adminKnown]  // who runs which group
	hooked   atomic.Bool                   // the webhook is registered
}

// Adapter speaks for the bot.
var _ bot.Messenger = (*Adapter)(nil)

// New checks the settings and makes an Adapter. It calls nobody.
func New(token string, cfg Config) (*Adapter, error) {
	cfg = cfg.withDefaults()
	if err := cfg.check(token); err != nil {
		return nil, err
	}
	a := &Adapter{cfg: cfg, log: cfg.Log}
	a.pacer = newPacer(cfg.Rates)
	a.client = &client{
		http: &http.Client{
			Transport:     cfg.Transport,
			CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
		},
		base: cfg.APIURL + "/bot" + token + "/", token: token,
		patience: cfg.Patience, attempt: cfg.Timeout, counts: &a.counts,
	}
	lib, err := tg.New(token, tg.WithSkipGetMe(), tg.WithServerURL(cfg.APIURL), tg.WithHTTPClient(pollTimeout, a.client),
		tg.WithErrorsHandler(func(error) {})) // it hears of closing pipes only; calls return their errors
	if err != nil {
		return nil, fmt.Errorf("%w: %w", ErrConfig, err)
	}
	a.lib = lib
	return a, nil
}

func (c Config) withDefaults() Config {
	if c.APIURL == "" {
		c.APIURL = publicServer
	}
	c.APIURL = strings.TrimRight(c.APIURL, "/")
	if c.Later == nil {
		c.Later = func(error) bool { return false }
	}
	if c.Apology == nil {
		c.Apology = func(context.Context, bot.Incoming) {}
	}
	if c.Ready == nil {
		c.Ready = func(context.Context) error { return nil }
	}
	if c.InFlight == 0 {
		c.InFlight = inFlight
	}
	if c.Grace == 0 {
		c.Grace = 10 * time.Second
	}
	if c.Patience == 0 {
		c.Patience = 30 * time.Second
	}
	if c.Timeout == 0 {
		c.Timeout = 20 * time.Second
	}
	if c.Transport == nil {
		t := http.DefaultTransport.(*http.Transport).Clone() // it is one, by net/http's documentation
		t.MaxIdleConnsPerHost = 2 * c.InFlight
		c.Transport = t
	}
	if c.Now == nil {
		c.Now = time.Now
	}
	if c.Log == nil {
		c.Log = slog.New(slog.DiscardHandler)
	}
	return c
}

func (c Config) check(token string) error {
	var all []error
	wrong := func(format string, args ...any) {
		all = append(all, fmt.Errorf("%w: "+format, append([]any{ErrConfig}, args...)...))
	}
	if id, key, ok := strings.Cut(token, ":"); !ok || id == "" || key == "" || strings.ContainsAny(token, "/?# \t\r\n") {
		wrong("the bot token has not the form 123456:ABC-DEF…; copy it again from @BotFather")
	}
	if !safeAddress(c.APIURL) {
		wrong("the API address must be https (plain http only on loopback), since it carries the token")
	}
	if c.WebhookURL != "" {
		if !safeAddress(c.WebhookURL) {
			wrong("the webhook address must be https (plain http only on loopback)")
		}
		if !secretForm.MatchString(c.WebhookSecret) {
			wrong("webhook mode needs a secret of 1-256 letters, digits, _ or -")
		}
	}
	if c.InFlight < 1 || c.InFlight > 100 { // the platform's limits of a poll and of webhook connections
		wrong("in flight must be 1 to 100")
	}
	return errors.Join(all...)
}

// safeAddress accepts https, and http to a loopback host.
func safeAddress(address string) bool {
	u, err := url.Parse(address)
	if err != nil || u.Host == "" || u.User != nil {
		return false
	}
	ip := net.ParseIP(u.Hostname())
	loopback := u.Hostname() == "localhost" || ip != nil && ip.IsLoopback()
	return u.Scheme == "https" || u.Scheme == "http" && loopback
}

// Connect asks the platform who the bot is, waiting for the platform if it must. [Adapter.Run] does it
// unless it was done; calling it before gives [Adapter.Username] early. A refused token gives [ErrToken].
func (a *Adapter) Connect(ctx context.Context) error {
	for pause := time.Second; ; pause = min(2*pause, 30*time.Second) {
		me, err := a.lib.GetMe(context.WithValue(ctx, onceKey{}, true))
		switch {
		case err == nil && me.Username != "":
			a.me.Store(me)
			a.alive()
			return nil
		case err == nil:
			return fmt.Errorf("%w: %s answers, but does not speak the Bot API", ErrConfig, a.cfg.APIURL)
		case refusedToken(err):
			return ErrToken
		case ctx.Err() != nil:
			return ctx.Err()
		}
		a.log.Warn("platform not reached, trying again", "error", err, "pause", pause)
		if err := sleep(ctx, pause); err != nil {
			return err
		}
	}
}

// Username is the bot's name without @, for links; empty before [Adapter.Connect].
func (a *Adapter) Username() string {
	if me := a.me.Load(); me != nil {
		return me.Username
	}
	return ""
}

// Run receives updates and hands them to h until ctx ends, then stops taking any, lets those in hand
// finish within [Config.Grace], and returns nil. Nothing it started runs afterwards.
func (a *Adapter) Run(ctx context.Context, h Handler) error {
	defer a.client.http.CloseIdleConnections()
	var side sync.WaitGroup // of what runs beside the intake
	defer side.Wait()
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	if a.cfg.Listener != nil {
		closeServer := a.serve(&side)
		defer closeServer()
	}
	if a.me.Load() == nil {
		if err := a.Connect(ctx); ctx.Err() != nil {
			return nil
		} else if err != nil {
			return err
		}
	}
	a.log.Info("connected", "bot", a.me.Load().ID, "webhook", a.cfg.WebhookURL != "")
	side.Go(func() { a.setProfiles(ctx) })

	// Handlers outlive ctx: what is in hand is finished.
	working, abort := context.WithCancel(context.WithoutCancel(ctx))
	defer abort()
	in := newIntake(working, a, h)
	a.intake.Store(in)
	defer a.intake.Store(nil)
	var err error
	if a.cfg.WebhookURL != "" {
		err = a.hook(ctx)
	} else {
		p := newPoller(a, in)
		err = p.run(ctx)
		defer p.confirm()
	}
	stop()
	in.drain(a.cfg.Grace, abort)
	return err
}

// alive notes a sign of life of the platform.
func (a *Adapter) alive() { a.seen.Store(time.Now().UnixNano()) }

// answerBy is when a press is answered for a handler that is still busy. People see a progress bar until
// then, and later than 10 s or so the platform reports a failure to them. House rule.
const answerBy = 5 * time.Second

// handle gives one Incoming to the handler, and makes sure that a press is answered.
func (a *Adapter) handle(ctx context.Context, h Handler, in bot.Incoming) error {
	if in.Kind == bot.Press {
		defer a.answering(ctx, in)()
	}
	err := a.guarded(in, func() error { return h.Handle(ctx, in) })
	if errors.Is(err, errPanic) {
		a.counts.panics.Add(1)
		if again := a.guarded(in, func() error { a.cfg.Apology(ctx, in); return nil }); again != nil {
			a.log.Error("apology failed", "chat", in.Chat.ID, "kind", in.Kind)
		}
		return nil
	}
	return err
}

// answering watches a press: it is answered when the function returned is called, or after answerBy,
// unless Notice was called by then.
func (a *Adapter) answering(ctx context.Context, in bot.Incoming) (end func()) {
	a.presses.Store(in.PressID, nil)
	answer := func() {
		if _, open := a.presses.Load(in.PressID); !open {
			return
		}
		if err := a.Notice(ctx, in.PressID, ""); err != nil {
			a.log.Warn("press not answered", "chat", in.Chat.ID, "error", err)
		}
	}
	over := make(chan struct{})
	var watch sync.WaitGroup
	watch.Go(func() {
		t := time.NewTimer(answerBy)
		defer t.Stop()
		select {
		case <-t.C:
			answer()
		case <-over:
		}
	})
	return func() {
		close(over)
		watch.Wait()
		answer()
	}
}

// errPanic reports a panic that is already logged.
var errPanic = errors.New("telegram: handler panicked")

// guarded runs f and turns a panic into errPanic. What was panicked with is not logged unless it is
// the runtime's own: it may hold what a person wrote.
func (a *Adapter) guarded(in bot.Incoming, f func() error) (err error) {
	defer func() {
		v := recover()
		if v == nil {
			return
		}
		what := fmt.Sprintf("%T", v)
		if r, ok := v.(interface {
			error
			RuntimeError()
		}); ok {
			what = r.Error()
		}
		a.log.Error("handler panicked", "chat", in.Chat.ID, "kind", in.Kind, "panic", what, "stack", string(debug.Stack()))
		err = errPanic
	}()
	return f()
}

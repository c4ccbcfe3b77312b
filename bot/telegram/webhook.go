package telegram

import (
	"context"
	"crypto/sha256"
	"crypto/subtle"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"regexp"
	"strconv"
	"sync"
	"time"

	tg "github.com/go-telegram/bot"
)

// secretForm is what the platform accepts (setWebhook.secret_token).
var secretForm = regexp.MustCompile(`^[A-Za-z0-9_-]{1,256}$`)

const (
	// maxUpdate bounds a delivered update; real ones have some kilobytes. House rule.
	maxUpdate = 1 << 20
	// retryLater is what a sender is told to wait when the handler wants an update later, and
	// retryStopped when the bot stops. House rules.
	retryLater, retryStopped = 5 * time.Second, time.Second
	// lastAnswers is how long the server's connections have at a stop to take the answers they are owed.
	lastAnswers  = 2 * time.Second
	secretHeader = "X-Telegram-Bot-Api-Secret-Token"
)

// Handler serves the webhook under the path of [Config.WebhookURL], if there is one, and /healthz and
// /readyz: the process lives; the platform is reached and [Config.Ready] agrees. It works while Run
// runs, and answers 503 otherwise.
func (a *Adapter) Handler() http.Handler {
	mux := http.NewServeMux()
	mux.HandleFunc("GET /healthz", func(w http.ResponseWriter, _ *http.Request) { say(w, http.StatusOK, "ok") })
	mux.HandleFunc("GET /readyz", a.ready)
	if a.cfg.WebhookURL != "" {
		path := "/"
		if u, err := url.Parse(a.cfg.WebhookURL); err == nil && u.Path != "" {
			path = u.Path
		}
		// No method in the pattern: the handler refuses others itself, before it reads anything.
		mux.Handle(path, http.HandlerFunc(a.receive))
	}
	return mux
}

// receive takes one delivery: it answers 200 when the update is handled.
func (a *Adapter) receive(w http.ResponseWriter, r *http.Request) {
	if r.Method != http.MethodPost {
		w.Header().Set("Allow", http.MethodPost)
		say(w, http.StatusMethodNotAllowed, "POST only")
		return
	}
	// Digests have one length, so that neither the length nor the content of the secret can be timed.
	want, got := sha256.Sum256([]byte(a.cfg.WebhookSecret)), sha256.Sum256([]byte(r.Header.Get(secretHeader)))
	if a.cfg.WebhookSecret == "" || subtle.ConstantTimeCompare(want[:], got[:]) != 1 {
		a.counts.strangers.Add(1)
		say(w, http.StatusUnauthorized, "wrong secret")
		return
	}
	n := a.intake.Load()
	if n == nil {
		later(w, retryStopped)
		return
	}
	raw, err := io.ReadAll(http.MaxBytesReader(w, r.Body, maxUpdate))
	if err != nil {
		code := http.StatusBadRequest
		if big := (*http.MaxBytesError)(nil); errors.As(err, &big) {
			code = http.StatusRequestEntityTooLarge
		}
		say(w, code, "cannot be read")
		return
	}
	u, err := decode(raw)
	if u.ID == 0 {
		say(w, http.StatusBadRequest, "no update")
		return
	}
	a.alive()
	done := make(chan error, 1)
	n.take(u, err, func(err error) { done <- err })
	select {
	case err := <-done:
		least, again := n.later(err)
		switch {
		case errors.Is(err, errStopped):
			later(w, retryStopped)
		case again:
			later(w, max(least, retryLater))
		default:
			w.WriteHeader(http.StatusOK)
		}
	case <-r.Context().Done(): // the sender gave up; it will send again, which the handler bears
	}
}

func later(w http.ResponseWriter, d time.Duration) {
	w.Header().Set("Retry-After", strconv.Itoa(int(d/time.Second)))
	say(w, http.StatusServiceUnavailable, "later")
}

func say(w http.ResponseWriter, code int, text string) {
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	w.WriteHeader(code)
	_, _ = io.WriteString(w, text+"\n") // the caller may have gone
}

// readyFor is how long a sign of life of the platform counts: two long polls and some.
const readyFor = 2*pollTimeout + 20*time.Second

func (a *Adapter) ready(w http.ResponseWriter, r *http.Request) {
	if a.intake.Load() == nil {
		say(w, http.StatusServiceUnavailable, "not running")
		return
	}
	if a.cfg.WebhookURL != "" && !a.hooked.Load() ||
		a.cfg.WebhookURL == "" && time.Since(time.Unix(0, a.seen.Load())) > readyFor {
		say(w, http.StatusServiceUnavailable, "platform not reached")
		return
	}
	ctx, cancel := context.WithTimeout(r.Context(), a.cfg.Timeout)
	defer cancel()
	if err := a.cfg.Ready(ctx); err != nil {
		a.log.Warn("not ready", "error", err)
		say(w, http.StatusServiceUnavailable, "not ready")
		return
	}
	say(w, http.StatusOK, "ready")
}

// hook registers the webhook and waits until ctx ends. It stays registered at a stop: the platform
// keeps what comes until the next start.
func (a *Adapter) hook(ctx context.Context) error {
	for pause := firstRetry; ; pause = min(2*pause, lastRetry) {
		_, err := a.lib.SetWebhook(ctx, &tg.SetWebhookParams{
			URL: a.cfg.WebhookURL, SecretToken: a.cfg.WebhookSecret,
			MaxConnections: a.cfg.InFlight, AllowedUpdates: allowed[:],
		})
		var refused *apiError
		switch {
		case err == nil:
			a.hooked.Store(true)
			defer a.hooked.Store(false)
			a.log.Info("webhook registered")
			<-ctx.Done()
			return nil
		case ctx.Err() != nil:
			return nil
		case refusedToken(err):
			return ErrToken
		case errors.As(err, &refused) && refused.code == http.StatusBadRequest:
			return fmt.Errorf("%w: the platform refuses the webhook address: %s", ErrConfig, refused.text)
		}
		a.log.Warn("webhook not registered, trying again", "error", err, "pause", pause)
		if sleep(ctx, pause) != nil {
			return nil
		}
	}
}

// serve runs the HTTP server on the configured listener. The function returned ends it: connections
// that still deliver get their answers first.
func (a *Adapter) serve(side *sync.WaitGroup) (closeServer func()) {
	server := &http.Server{
		Handler:           a.Handler(),
		ReadHeaderTimeout: a.cfg.Timeout, ReadTimeout: a.cfg.Timeout, // slow senders hold no connection
		IdleTimeout: 2 * time.Minute, MaxHeaderBytes: 16 << 10, // house rules
	}
	side.Go(func() {
		if err := server.Serve(a.cfg.Listener); !errors.Is(err, http.ErrServerClosed) {
			a.log.Error("HTTP server ended", "error", err)
		}
	})
	return func() {
		ctx, cancel := context.WithTimeout(context.Background(), lastAnswers)
		defer cancel()
		if err := server.Shutdown(ctx); err != nil {
			_ = server.Close() // what is left has had its time
		}
	}
}

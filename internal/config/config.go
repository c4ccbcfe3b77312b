// Package config holds the program's settings: one struct, read once from the environment and the
// command line, checked as a whole.
//
// Each setting has one name, such as BAGWATCH_LISTEN; its flag is the same in small letters with dashes
// and without the prefix, --listen. A flag wins over the environment. A secret has no flag, which others
// on the machine could read, but may also come from a file: TELEGRAM_TOKEN_FILE, --telegram-token-file.
//
// Start with [Read]; a program that serves then asks [Config.CheckServe].
package config

import (
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"strings"
)

// Config is all settings, in their own types.
type Config struct {
	Token         Secret
	APIURL        string
	RedisURL      Secret // it may hold a password
	Embedded      bool
	AllowVolatile bool
	DataKey       Secret
	WebhookURL    string
	WebhookSecret Secret
	Listen        string // empty: no listener
	Metrics       string // empty: no metrics
	Allow         []int64
	Rate          float64 // below zero: without limit
	LogLevel      slog.Level
	ClockSpeed    float64
}

// Setting describes one setting, for tables and help.
type Setting struct {
	Name    string // in the environment
	Flag    string // on the command line, without dashes; of a secret, the flag of its file
	Default string // as it would be written; empty is none
	Secret  bool   // also read from the file named by Name_FILE
	Switch  bool   // true or false; its flag needs no value
	Meaning string

	set func(*Config, string) error
}

// Settings lists all settings in the order of Config.
func Settings() []Setting {
	list := []Setting{
		{Name: "TELEGRAM_TOKEN", Secret: true, set: setToken,
			Meaning: "The bot's token from @BotFather. Needed by serve."},
		{Name: "TELEGRAM_API_URL", Default: "https://api.telegram.org", set: setAPIURL,
			Meaning: "Address of the Bot API server. Plain http on loopback only."},
		{Name: "REDIS_URL", Secret: true, set: setRedisURL,
			Meaning: "Where chats and running bags are kept, redis:// or rediss://. Needed by serve, unless embedded."},
		{Name: "BAGWATCH_EMBEDDED", Switch: true, Default: "false", set: setSwitch(func(c *Config) *bool { return &c.Embedded }),
			Meaning: "Serve without Redis: running bags are lost at exit."},
		{Name: "BAGWATCH_ALLOW_VOLATILE", Switch: true, Default: "false", set: setSwitch(func(c *Config) *bool { return &c.AllowVolatile }),
			Meaning: "Accept a Redis that evicts keys or does not persist."},
		{Name: "BAGWATCH_DATA_KEY", Secret: true, set: setSecret(func(c *Config) *Secret { return &c.DataKey }),
			Meaning: "Key that encrypts what is stored. Keep it apart from Redis."},
		{Name: "BAGWATCH_WEBHOOK_URL", set: setWebhookURL,
			Meaning: "Public https address for updates. Without one the bot polls."},
		{Name: "BAGWATCH_WEBHOOK_SECRET", Secret: true, set: setWebhookSecret,
			Meaning: "Shown by the platform with each update, 1-256 of A-Z a-z 0-9 _ -. Needed with a webhook."},
		{Name: "BAGWATCH_LISTEN", set: setAddress(func(c *Config) *string { return &c.Listen }),
			Meaning: "Address for the webhook, /healthz and /readyz. Off by default; " + webhookListen + " with a webhook."},
		{Name: "BAGWATCH_METRICS", set: setAddress(func(c *Config) *string { return &c.Metrics }),
			Meaning: "Address for /metrics. Off by default."},
		{Name: "BAGWATCH_ALLOW", set: setAllow,
			Meaning: "Ids of the chats and people that are answered, separated by commas. Everybody by default."},
		{Name: "BAGWATCH_RATE", Default: "30", set: setRate,
			Meaning: "Alerts and card edits a second in all chats. Several processes of one bot share 30. 0 is without limit."},
		{Name: "BAGWATCH_LOG_LEVEL", Default: "info", set: setLogLevel,
			Meaning: "debug, info, warn or error."},
		{Name: "BAGWATCH_CLOCK_SPEED", Default: "1", set: setClockSpeed,
			Meaning: "A demo clock: how many times faster than real time."},
	}
	for i, s := range list {
		list[i].Flag = flagName(s)
	}
	return list
}

// flagName derives a flag from a name.
func flagName(s Setting) string {
	name := strings.TrimPrefix(s.Name, "BAGWATCH_")
	if s.Secret {
		name += fileSuffix
	}
	return strings.ToLower(strings.ReplaceAll(name, "_", "-"))
}

const fileSuffix = "_FILE"

// Lookup finds a setting's text by its name in the environment; os.LookupEnv is one.
type Lookup func(name string) (string, bool)

// Problem is a setting that cannot be used. Its text never holds the value of a secret.
type Problem struct {
	Name string
	Why  string
}

// Error names the setting and says what to do.
func (p *Problem) Error() string { return p.Name + ": " + p.Why }

// Read reads and checks all settings. readFile reads the file of a secret; os.ReadFile is one. The error
// joins a [Problem] for each setting that cannot be used; the Config then has the others and may be
// asked for further problems.
func Read(lookup Lookup, readFile func(string) ([]byte, error)) (Config, error) {
	var c Config
	var all []error
	for _, s := range Settings() {
		text, err := value(s, lookup, readFile)
		if err == nil && text == "" {
			text = s.Default
		}
		if err == nil && text != "" {
			err = s.set(&c, text)
		}
		if err != nil {
			all = append(all, &Problem{s.Name, err.Error()})
		}
	}
	if c.WebhookURL != "" && c.Listen == "" {
		c.Listen = webhookListen
	}
	return c, errors.Join(all...)
}

// webhookListen is where the webhook is served if nothing is said: a proxy that ends TLS stands before
// it, often on the same machine.
const webhookListen = "127.0.0.1:8080"

// value is a setting's text; an empty one counts as absent, as in files that list all names.
func value(s Setting, lookup Lookup, readFile func(string) ([]byte, error)) (string, error) {
	text, _ := lookup(s.Name)
	if !s.Secret {
		return strings.TrimSpace(text), nil
	}
	path, _ := lookup(s.Name + fileSuffix)
	switch {
	case path == "":
		return strings.TrimSpace(text), nil
	case text != "":
		return "", fmt.Errorf("set either this or %s%s, not both", s.Name, fileSuffix)
	}
	data, err := readFile(path)
	if err != nil {
		if wrapped := (*fs.PathError)(nil); errors.As(err, &wrapped) {
			err = wrapped.Err
		}
		return "", fmt.Errorf("%s%s names %s: %w", s.Name, fileSuffix, path, err)
	}
	if text = strings.TrimSpace(string(data)); text == "" {
		return "", fmt.Errorf("%s%s names %s, which is empty", s.Name, fileSuffix, path)
	}
	return text, nil
}

// CheckServe asks what serving Telegram needs beyond single values: problems joined, each a [Problem].
func (c Config) CheckServe() error {
	var all []error
	need := func(name, why string) { all = append(all, &Problem{name, why}) }
	if !c.Token.Set() {
		need("TELEGRAM_TOKEN", "not set: have a bot made by @BotFather and put its token here or into a file named by TELEGRAM_TOKEN_FILE")
	}
	switch {
	case !c.RedisURL.Set() && !c.Embedded:
		need("REDIS_URL", "not set: give the address of a Redis, or --embedded to accept that running bags are lost at exit")
	case c.RedisURL.Set() && c.Embedded:
		need("BAGWATCH_EMBEDDED", "set together with REDIS_URL: choose one")
	}
	if c.WebhookURL != "" && !c.WebhookSecret.Set() {
		need("BAGWATCH_WEBHOOK_SECRET", "not set, and a webhook without it would believe anybody: put 1-256 random letters and digits here")
	}
	if c.WebhookURL == "" && c.WebhookSecret.Set() {
		need("BAGWATCH_WEBHOOK_URL", "not set, though BAGWATCH_WEBHOOK_SECRET is: set both for a webhook, none for polling")
	}
	if c.Metrics != "" && c.Metrics == c.Listen {
		need("BAGWATCH_METRICS", "is the address of BAGWATCH_LISTEN too: choose another port")
	}
	return errors.Join(all...)
}

// LogValue is all settings for the log of the start, secrets as set or not.
func (c Config) LogValue() slog.Value {
	return slog.GroupValue(
		slog.Any("token", c.Token), slog.String("api", c.APIURL), slog.Any("redis", c.RedisURL),
		slog.Bool("embedded", c.Embedded), slog.Bool("allow_volatile", c.AllowVolatile), slog.Any("data_key", c.DataKey),
		slog.String("webhook", c.WebhookURL), slog.Any("webhook_secret", c.WebhookSecret), slog.String("listen", c.Listen),
		slog.String("metrics", c.Metrics), slog.Int("allowed", len(c.Allow)), slog.Float64("rate", c.Rate),
		slog.String("level", c.LogLevel.String()), slog.Float64("clock_speed", c.ClockSpeed),
	)
}

package config

import (
	"errors"
	"fmt"
	"math"
	"net"
	"net/url"
	"regexp"
	"strconv"
	"strings"
)

var (
	// tokenForm is the form of a bot token ("Authorizing your bot", Bot API); the length of its second
	// part is not documented.
	tokenForm = regexp.MustCompile(`^[0-9]+:[A-Za-z0-9_-]{20,}$`)
	// secretForm is what setWebhook accepts (Bot API, secret_token).
	secretForm = regexp.MustCompile(`^[A-Za-z0-9_-]{1,256}$`)
)

func setToken(c *Config, text string) error {
	if !tokenForm.MatchString(text) {
		return errors.New("not of the form 123456:ABC-DEF…: copy the whole token from @BotFather")
	}
	c.Token = NewSecret(text)
	return nil
}

func setSecret(field func(*Config) *Secret) func(*Config, string) error {
	return func(c *Config, text string) error {
		*field(c) = NewSecret(text)
		return nil
	}
}

func setWebhookSecret(c *Config, text string) error {
	if !secretForm.MatchString(text) {
		return errors.New("must be 1-256 of A-Z a-z 0-9 _ -")
	}
	c.WebhookSecret = NewSecret(text)
	return nil
}

// loopback says whether an address never leaves the machine.
func loopback(u *url.URL) bool {
	ip := net.ParseIP(u.Hostname())
	return u.Hostname() == "localhost" || ip != nil && ip.IsLoopback()
}

// webAddress accepts https, and http on loopback, without user, query or fragment.
func webAddress(text string) (string, error) {
	u, err := url.Parse(text)
	switch {
	case err != nil || u.Host == "" || u.Scheme != "https" && u.Scheme != "http":
		return "", errors.New("not a web address: write it as https://host/path")
	case u.User != nil || u.RawQuery != "" || u.Fragment != "":
		return "", errors.New("must have no user, query or fragment")
	case u.Scheme == "http" && !loopback(u):
		return "", errors.New("plain http is possible on loopback only: use https")
	}
	return strings.TrimRight(text, "/"), nil
}

func setAPIURL(c *Config, text string) (err error) {
	c.APIURL, err = webAddress(text)
	return err
}

func setWebhookURL(c *Config, text string) (err error) {
	c.WebhookURL, err = webAddress(text)
	return err
}

// setRedisURL looks at the scheme only: what else such an address may hold is the store's business. The
// text may hold a password, so no error repeats it.
func setRedisURL(c *Config, text string) error {
	scheme, _, _ := strings.Cut(text, ",")
	scheme, _, ok := strings.Cut(scheme, "://")
	if !ok || !strings.HasPrefix(scheme, "redis") && scheme != "unix" {
		return errors.New("not a Redis address: write it as redis://host:6379/0, or rediss:// for TLS")
	}
	c.RedisURL = NewSecret(text)
	return nil
}

func setAddress(field func(*Config) *string) func(*Config, string) error {
	return func(c *Config, text string) error {
		_, port, err := net.SplitHostPort(text)
		if err != nil {
			return errors.New("not an address to listen on: write it as host:port or :port")
		}
		if n, err := strconv.ParseUint(port, 10, 16); err != nil {
			return fmt.Errorf("port %q is not a number from 0 to 65535", port)
		} else if n == 0 && !strings.HasPrefix(text, "127.0.0.1:") && !strings.HasPrefix(text, "localhost:") {
			return errors.New("port 0, any free port, makes sense on loopback only")
		}
		*field(c) = text
		return nil
	}
}

func setSwitch(field func(*Config) *bool) func(*Config, string) error {
	return func(c *Config, text string) error {
		v, err := strconv.ParseBool(text)
		if err != nil {
			return fmt.Errorf("%q is neither true nor false", text)
		}
		*field(c) = v
		return nil
	}
}

func setAllow(c *Config, text string) error {
	var bad []string
	for _, f := range strings.FieldsFunc(text, func(r rune) bool { return r == ',' || r == ' ' || r == '\n' || r == '\t' }) {
		id, err := strconv.ParseInt(f, 10, 64)
		if err != nil || id == 0 {
			bad = append(bad, strconv.Quote(f))
			continue
		}
		c.Allow = append(c.Allow, id)
	}
	if bad != nil {
		return fmt.Errorf("not the number of a chat or a person: %s", strings.Join(bad, ", "))
	}
	if c.Allow == nil { // only separators: allowing everybody would be the opposite of what is meant
		return errors.New("names nobody")
	}
	return nil
}

func setRate(c *Config, text string) error {
	v, err := strconv.ParseFloat(text, 64)
	if err != nil || v < 0 || v > 1000 || math.IsNaN(v) { // the platform's paid limit is 1000 a second
		return fmt.Errorf("%q is not a rate from 0 to 1000 a second", text)
	}
	if v == 0 {
		v = -1
	}
	c.Rate = v
	return nil
}

func setLogLevel(c *Config, text string) error {
	switch strings.ToLower(text) {
	case "debug", "info", "warn", "error":
		return c.LogLevel.UnmarshalText([]byte(text))
	}
	return fmt.Errorf("%q is none of debug, info, warn, error", text)
}

// maxSpeed lets a day pass in a second; house rule.
const maxSpeed = 86400

func setClockSpeed(c *Config, text string) error {
	v, err := strconv.ParseFloat(text, 64)
	if err != nil || !(v > 0 && v <= maxSpeed) {
		return fmt.Errorf("%q is not a speed above 0 and at most %d", text, maxSpeed)
	}
	c.ClockSpeed = v
	return nil
}

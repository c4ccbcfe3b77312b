package config_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"reflect"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/internal/config"
)

const token = "4242424242:AAStandInTokenForTestsOnly-000000000"

// from looks names up in a map.
func from(m map[string]string) config.Lookup {
	return func(name string) (string, bool) { v, ok := m[name]; return v, ok }
}

// files reads from a map.
func files(m map[string]string) func(string) ([]byte, error) {
	return func(path string) ([]byte, error) {
		if v, ok := m[path]; ok {
			return []byte(v), nil
		}
		return nil, &fs.PathError{Op: "open", Path: path, Err: fs.ErrNotExist}
	}
}

func TestDefaults(t *testing.T) {
	c, err := config.Read(from(nil), files(nil))
	require.NoError(t, err)
	assert.Equal(t, config.Config{
		APIURL: "https://api.telegram.org", LogLevel: slog.LevelInfo, ClockSpeed: 1, Rate: 30,
	}, c)
}

func TestEverySettingIsRead(t *testing.T) {
	c, err := config.Read(from(map[string]string{
		"TELEGRAM_TOKEN": token, "TELEGRAM_API_URL": "http://127.0.0.1:8081/", "REDIS_URL": "rediss://:pw@host:6379/0",
		"BAGWATCH_EMBEDDED": "true", "BAGWATCH_ALLOW_VOLATILE": "1", "BAGWATCH_DATA_KEY_FILE": "key",
		"BAGWATCH_WEBHOOK_URL": "https://quay.example/hook", "BAGWATCH_WEBHOOK_SECRET": "a-b_C1",
		"BAGWATCH_METRICS": ":9090", "BAGWATCH_ALLOW": "12, -100345 7", "BAGWATCH_RATE": "0",
		"BAGWATCH_LOG_LEVEL": "DEBUG", "BAGWATCH_CLOCK_SPEED": "600",
	}), files(map[string]string{"key": "c2VjcmV0\n"}))
	require.NoError(t, err)
	assert.Equal(t, config.Config{
		Token: config.NewSecret(token), APIURL: "http://127.0.0.1:8081", RedisURL: config.NewSecret("rediss://:pw@host:6379/0"),
		Embedded: true, AllowVolatile: true, DataKey: config.NewSecret("c2VjcmV0"),
		WebhookURL: "https://quay.example/hook", WebhookSecret: config.NewSecret("a-b_C1"), Listen: "127.0.0.1:8080",
		Metrics: ":9090", Allow: []int64{12, -100345, 7}, Rate: -1, LogLevel: slog.LevelDebug, ClockSpeed: 600,
	}, c)
}

func TestOneWrongSetting(t *testing.T) {
	for name, tt := range map[string]struct {
		set  map[string]string
		want string
	}{
		"a token that is cut off":               {map[string]string{"TELEGRAM_TOKEN": "42:AA"}, "TELEGRAM_TOKEN: not of the form"},
		"plain http to a far server":            {map[string]string{"TELEGRAM_API_URL": "http://api.example"}, "TELEGRAM_API_URL: plain http"},
		"an address with a password":            {map[string]string{"TELEGRAM_API_URL": "https://u:p@api.example"}, "no user"},
		"a webhook over plain http":             {map[string]string{"BAGWATCH_WEBHOOK_URL": "http://quay.example/hook"}, "BAGWATCH_WEBHOOK_URL: plain http"},
		"a webhook that is no address":          {map[string]string{"BAGWATCH_WEBHOOK_URL": "quay.example"}, "not a web address"},
		"a secret with odd letters":             {map[string]string{"BAGWATCH_WEBHOOK_SECRET": "a b"}, "BAGWATCH_WEBHOOK_SECRET: must be"},
		"another kind of database":              {map[string]string{"REDIS_URL": "postgres://u:hunter2@h/d"}, "REDIS_URL: not a Redis address"},
		"an address without a port":             {map[string]string{"BAGWATCH_LISTEN": "localhost"}, "BAGWATCH_LISTEN: not an address"},
		"a port too high":                       {map[string]string{"BAGWATCH_METRICS": ":70000"}, "BAGWATCH_METRICS: port"},
		"any port for the world":                {map[string]string{"BAGWATCH_LISTEN": ":0"}, "port 0"},
		"a name in the list of ids":             {map[string]string{"BAGWATCH_ALLOW": "12,ann"}, `BAGWATCH_ALLOW: not the number of a chat or a person: "ann"`},
		"a list of nobody":                      {map[string]string{"BAGWATCH_ALLOW": ","}, "BAGWATCH_ALLOW: names nobody"},
		"an unknown level":                      {map[string]string{"BAGWATCH_LOG_LEVEL": "loud"}, "BAGWATCH_LOG_LEVEL"},
		"a clock that stands still":             {map[string]string{"BAGWATCH_CLOCK_SPEED": "0"}, "BAGWATCH_CLOCK_SPEED"},
		"a clock of no speed":                   {map[string]string{"BAGWATCH_CLOCK_SPEED": "NaN"}, "BAGWATCH_CLOCK_SPEED"},
		"a rate below zero":                     {map[string]string{"BAGWATCH_RATE": "-1"}, "BAGWATCH_RATE"},
		"a switch that is neither":              {map[string]string{"BAGWATCH_EMBEDDED": "perhaps"}, "BAGWATCH_EMBEDDED"},
		"a secret twice":                        {map[string]string{"TELEGRAM_TOKEN": token, "TELEGRAM_TOKEN_FILE": "t"}, "not both"},
		"a secret's file that is not there":     {map[string]string{"TELEGRAM_TOKEN_FILE": "gone"}, "names gone: file does not exist"},
		"a secret's file with nothing in it":    {map[string]string{"REDIS_URL_FILE": "empty"}, "empty"},
		"a file of a setting that is no secret": {map[string]string{"BAGWATCH_RATE_FILE": "gone", "BAGWATCH_RATE": "x"}, "BAGWATCH_RATE"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := config.Read(from(tt.set), files(map[string]string{"empty": "\n", "t": token}))
			require.ErrorContains(t, err, tt.want)
			var p *config.Problem
			require.ErrorAs(t, err, &p)
			assert.Len(t, strings.Split(err.Error(), "\n"), 1, "one problem, one line")
			for _, secret := range []string{"hunter2", token, "42:AA", "u:p@"} {
				assert.NotContains(t, err.Error(), secret)
			}
		})
	}
}

func TestAllProblemsAreToldAtOnce(t *testing.T) {
	c, err := config.Read(from(map[string]string{"BAGWATCH_LOG_LEVEL": "loud", "BAGWATCH_RATE": "x", "BAGWATCH_WEBHOOK_URL": "https://quay.example"}), files(nil))
	err = errors.Join(err, c.CheckServe())
	for _, name := range []string{"BAGWATCH_LOG_LEVEL", "BAGWATCH_RATE", "TELEGRAM_TOKEN", "REDIS_URL", "BAGWATCH_WEBHOOK_SECRET"} {
		assert.ErrorContains(t, err, name+": ")
	}
	assert.Equal(t, "127.0.0.1:8080", c.Listen, "a webhook needs a listener")
}

func TestWhatServingNeeds(t *testing.T) {
	good := config.Config{Token: config.NewSecret(token), RedisURL: config.NewSecret("redis://h")}
	for name, tt := range map[string]struct {
		change func(*config.Config)
		want   string // empty: fine
	}{
		"token and Redis suffice":    {func(*config.Config) {}, ""},
		"embedded instead of Redis":  {func(c *config.Config) { c.RedisURL, c.Embedded = config.Secret{}, true }, ""},
		"no token":                   {func(c *config.Config) { c.Token = config.Secret{} }, "TELEGRAM_TOKEN: not set"},
		"no store":                   {func(c *config.Config) { c.RedisURL = config.Secret{} }, "REDIS_URL: not set"},
		"two stores":                 {func(c *config.Config) { c.Embedded = true }, "BAGWATCH_EMBEDDED: set together"},
		"a webhook without a secret": {func(c *config.Config) { c.WebhookURL = "https://q.example" }, "BAGWATCH_WEBHOOK_SECRET: not set"},
		"a secret without a webhook": {func(c *config.Config) { c.WebhookSecret = config.NewSecret("s") }, "BAGWATCH_WEBHOOK_URL: not set"},
		"one port for two purposes":  {func(c *config.Config) { c.Listen, c.Metrics = ":1", ":1" }, "BAGWATCH_METRICS"},
	} {
		t.Run(name, func(t *testing.T) {
			c := good
			tt.change(&c)
			err := c.CheckServe()
			if tt.want == "" {
				require.NoError(t, err)
				return
			}
			require.ErrorContains(t, err, tt.want)
		})
	}
}

func TestSecretsAreNeverPrinted(t *testing.T) {
	c := config.Config{Token: config.NewSecret(token), RedisURL: config.NewSecret("redis://:hunter2@h"), DataKey: config.NewSecret("hunter2"), WebhookSecret: config.NewSecret("hunter2")}
	var out bytes.Buffer
	for _, verb := range []string{"%v", "%+v", "%#v", "%s", "%q", "%x", "%d"} {
		fmt.Fprintf(&out, verb+"\n", c.Token)
		fmt.Fprintf(&out, verb+"\n", c)
		fmt.Fprintf(&out, verb+"\n", &c)
	}
	slog.New(slog.NewTextHandler(&out, nil)).Info("start", "config", c, "token", c.Token, "err", fmt.Errorf("x %v", c.RedisURL))
	slog.New(slog.NewJSONHandler(&out, nil)).Info("start", "config", c, "token", c.Token)
	data, err := json.Marshal(c)
	require.NoError(t, err)
	out.Write(data)
	assert.NotContains(t, out.String(), token)
	assert.NotContains(t, out.String(), "hunter2")
	assert.NotContains(t, out.String(), fmt.Sprintf("%x", "hunter2"))
	assert.Contains(t, out.String(), "[set]")
	assert.Equal(t, token, c.Token.Reveal())
}

func TestFlagsWinOverTheEnvironment(t *testing.T) {
	rate := 5.0
	f := config.Flags{Listen: ":7000", TelegramTokenFile: "t", Embedded: true, Rate: &rate}
	c, err := config.Read(f.Over(from(map[string]string{
		"BAGWATCH_LISTEN": ":8000", "TELEGRAM_TOKEN": "1:" + strings.Repeat("x", 30), "BAGWATCH_LOG_LEVEL": "warn",
	})), files(map[string]string{"t": token}))
	require.NoError(t, err)
	assert.Equal(t, ":7000", c.Listen)
	assert.Equal(t, token, c.Token.Reveal())
	assert.Equal(t, slog.LevelWarn, c.LogLevel)
	assert.InDelta(t, 5, c.Rate, 0, "given as is")
	assert.True(t, c.Embedded)
}

// Each setting has a flag and each flag a setting, and both do something.
func TestFlagsAndSettingsAgree(t *testing.T) {
	have := map[string]bool{}
	for f := range reflect.TypeFor[config.Flags]().Fields() {
		have[f.Tag.Get("name")] = true
		assert.NotEmpty(t, f.Tag.Get("help"), f.Name)
	}
	for _, s := range config.Settings() {
		assert.True(t, have[s.Flag], "no flag --%s", s.Flag)
		delete(have, s.Flag)
		assert.NotEmpty(t, s.Meaning, s.Name)
	}
	assert.Empty(t, have, "flags without a setting")

	one := 2.0
	all := config.Flags{"f", "https://a.example", "f", true, true, "f", "https://w.example", "f", ":1", ":2", "3", &one, "warn", &one}
	asked := map[string]bool{}
	lookup := all.Over(func(name string) (string, bool) { asked[name] = true; return "", false })
	for _, s := range config.Settings() {
		name := s.Name
		if s.Secret {
			name += "_FILE"
		}
		v, ok := lookup(name)
		assert.True(t, ok && v != "", "flag --%s is not read", s.Flag)
	}
	assert.Empty(t, asked)
}

func TestNumberOfSettingsIsNumberOfFields(t *testing.T) {
	assert.Len(t, config.Settings(), reflect.TypeFor[config.Config]().NumField())
}

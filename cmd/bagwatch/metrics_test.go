package main

import (
	"bytes"
	"fmt"
	"io"
	"net/http"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/bot/telegram/standin"
	"bagwatch/internal/store"
	"bagwatch/internal/store/storetest"
)

// page reads a page of a running program.
func page(t *testing.T, addr, path string) string {
	t.Helper()
	client := &http.Client{Transport: &http.Transport{DisableKeepAlives: true}, Timeout: 5 * time.Second}
	resp, err := client.Get("http://" + addr + path)
	require.NoError(t, err)
	defer resp.Body.Close()
	text, err := io.ReadAll(resp.Body)
	require.NoError(t, err)
	require.Equal(t, http.StatusOK, resp.StatusCode)
	return string(text)
}

// figure is the value of a metric, labels included in its name.
func figure(t *testing.T, text, name string) string {
	t.Helper()
	m := regexp.MustCompile(`(?m)^` + regexp.QuoteMeta(name) + ` (\S+)$`).FindStringSubmatch(text)
	require.NotNil(t, m, "no %s in\n%s", name, text)
	return m[1]
}

func TestMetricsTellWhatHappened(t *testing.T) {
	fake, vars := platform(t)
	server := storetest.StartRedis(t)
	delete(vars, "BAGWATCH_EMBEDDED")
	vars["REDIS_URL"], vars["BAGWATCH_CLOCK_SPEED"], vars["BAGWATCH_RATE"] = server.URL, "3600", "0"
	vars["BAGWATCH_METRICS"], vars["BAGWATCH_LISTEN"] = freeAddress(t), freeAddress(t)
	mara := fake.AddUser(standin.User{FirstName: "Mara"})
	chat := fake.Private(mara)
	s := serve(t, vars)
	s.says("serving")
	fake.SendText(mara, chat, "qwrtz blarg")
	fake.Expect(chat, "I do not know")
	fake.SendText(mara, chat, "chicken breast 3 cm 50 C")
	fake.Expect(chat, "Chicken")
	fake.SendText(mara, chat, "start ribeye 3 cm medium rare")
	fake.Expect(chat, "ready — pull it any time")
	fake.SendText(mara, chat, "salmon 2 cm")
	fake.Expect(chat, "Salmon")
	require.Eventually(t, func() bool {
		return figure(t, page(t, vars["BAGWATCH_METRICS"], "/metrics"), "bagwatch_alerts_sent_total") != "0"
	}, 5*time.Second, 20*time.Millisecond)

	text := page(t, vars["BAGWATCH_METRICS"], "/metrics")
	assert.Equal(t, "1", figure(t, text, "bagwatch_answers_total"))
	assert.Equal(t, "1", figure(t, text, "bagwatch_refusals_total"))
	assert.Equal(t, "1", figure(t, text, "bagwatch_parse_failures_total"))
	assert.Equal(t, "4", figure(t, text, "bagwatch_updates_total"))
	assert.Equal(t, figure(t, text, "bagwatch_alerts_sent_total"), figure(t, text, "bagwatch_alert_lateness_seconds_count"))
	assert.Equal(t, "0", figure(t, text, "bagwatch_alerts_dead_total"))
	assert.Equal(t, "0", figure(t, text, "bagwatch_platform_busy_total"))
	assert.Equal(t, fmt.Sprint(store.Partitions), figure(t, text, "bagwatch_alert_partitions"))
	assert.NotEqual(t, "-1", figure(t, text, "bagwatch_alerts_due"))
	for _, call := range []string{"load", "save", "due"} {
		assert.NotEqual(t, "0", figure(t, text, `bagwatch_store_seconds_count{call="`+call+`"}`))
	}
	assert.NotContains(t, text, fmt.Sprint(mara.ID), "no chat or person in a label")
	assert.NotContains(t, text, fake.Token())
	assert.Equal(t, http.StatusNotFound, status(t, vars["BAGWATCH_LISTEN"], "/metrics"), "never on the other port")
	assert.Equal(t, http.StatusNotFound, status(t, vars["BAGWATCH_METRICS"], "/readyz"))

	server.Kill()
	require.Eventually(t, func() bool {
		text := page(t, vars["BAGWATCH_METRICS"], "/metrics")
		return strings.Contains(text, "bagwatch_alerts_due -1") && strings.Contains(text, `bagwatch_store_failures_total{call="due"}`)
	}, 10*time.Second, 50*time.Millisecond, "an outage shows, and the page still answers")
	assert.Equal(t, exitOK, s.stop())
}

func TestMetricsAreOffUnlessAskedFor(t *testing.T) {
	_, vars := platform(t)
	vars["BAGWATCH_LISTEN"] = freeAddress(t)
	s := serve(t, vars)
	s.says("serving")
	assert.Equal(t, http.StatusNotFound, status(t, vars["BAGWATCH_LISTEN"], "/metrics"))
	assert.NotContains(t, s.errs.String(), "BAGWATCH_METRICS")
	assert.Equal(t, exitOK, s.stop())
}

// Rotation as the README describes it: serve reads with both keys, rotate seals anew, then the old key can go.
func TestAKeyIsRotatedWhileServing(t *testing.T) {
	server := storetest.StartRedis(t)
	oldKey, newKey := otherKey, strings.Repeat("ab", 32)
	fake, vars := platform(t)
	delete(vars, "BAGWATCH_EMBEDDED")
	vars["REDIS_URL"] = server.URL
	cooks := map[string]*standin.User{}
	start := func(key, name string) *serving {
		vars["BAGWATCH_DATA_KEY"] = key
		s := serve(t, vars)
		s.says("serving")
		cooks[name] = fake.AddUser(standin.User{FirstName: name})
		chat := fake.Private(cooks[name])
		fake.SendText(cooks[name], chat, "start ribeye 3 cm medium rare")
		fake.Expect(chat, "In: Ribeye")
		return s
	}
	rotate := func(key string) (int, string, string) {
		var out, errs bytes.Buffer
		env := map[string]string{"REDIS_URL": server.URL, "BAGWATCH_DATA_KEY": key}
		code := run(t.Context(), []string{"rotate"}, environment{
			lookup: func(n string) (string, bool) { v, ok := env[n]; return v, ok }, out: &out, err: &errs,
		})
		assert.NotContains(t, out.String()+errs.String(), newKey)
		assert.NotContains(t, out.String()+errs.String(), oldKey)
		return code, out.String(), errs.String()
	}
	assert.Equal(t, exitOK, start(oldKey, "Mara").stop())
	both := start(newKey+","+oldKey, "Jonas")
	code, _, errs := rotate(newKey)
	assert.Equal(t, exitMisused, code, "Mara's is sealed with the old key")
	assert.Contains(t, errs, "BAGWATCH_DATA_KEY: does not open all that is stored")
	code, out, errs := rotate(newKey + "," + oldKey)
	require.Equal(t, exitOK, code, errs)
	assert.Regexp(t, `^[12] documents sealed anew`, out)
	code, out, _ = rotate(newKey + "," + oldKey)
	require.Equal(t, exitOK, code)
	assert.Contains(t, out, "0 documents sealed anew")
	assert.Equal(t, exitOK, both.stop())

	only := start(newKey, "Ada")
	for _, name := range []string{"Mara", "Jonas"} {
		fake.SendText(cooks[name], fake.Private(cooks[name]), "/bags")
		fake.Expect(fake.Private(cooks[name]), "One bag in the bath")
	}
	assert.Equal(t, exitOK, only.stop())
}

func TestRotateSaysWhatIsMissing(t *testing.T) {
	for name, tt := range map[string]struct {
		set  map[string]string
		want string
	}{
		"no store":       {map[string]string{"BAGWATCH_DATA_KEY": otherKey}, "REDIS_URL: not set"},
		"no key":         {map[string]string{"REDIS_URL": "redis://127.0.0.1:1"}, "BAGWATCH_DATA_KEY: not set"},
		"half a key":     {map[string]string{"REDIS_URL": "redis://127.0.0.1:1", "BAGWATCH_DATA_KEY": "abc"}, "BAGWATCH_DATA_KEY: not 32 bytes"},
		"no such scheme": {map[string]string{"REDIS_URL": "http://h", "BAGWATCH_DATA_KEY": otherKey}, "REDIS_URL: not a Redis address"},
	} {
		t.Run(name, func(t *testing.T) {
			var out, errs bytes.Buffer
			code := run(t.Context(), []string{"rotate"}, environment{
				lookup: func(n string) (string, bool) { v, ok := tt.set[n]; return v, ok }, out: &out, err: &errs,
			})
			assert.Equal(t, exitMisused, code)
			assert.Contains(t, errs.String(), tt.want)
		})
	}
}

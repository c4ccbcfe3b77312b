package main

import (
	"bytes"
	"context"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"

	"bagwatch/bot/telegram/standin"
	"bagwatch/internal/store"
	"bagwatch/internal/store/storetest"
)

// output is what a program prints while a test looks.
type output struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (o *output) Write(p []byte) (int, error) {
	o.mu.Lock()
	defer o.mu.Unlock()
	return o.b.Write(p)
}

func (o *output) String() string {
	o.mu.Lock()
	defer o.mu.Unlock()
	return o.b.String()
}

// serving is a program that serves.
type serving struct {
	t    *testing.T
	errs output
	stop func() int // asks it to stop and gives its exit code
	code chan int
}

// serve runs the program with these variables and flags until the test ends.
func serve(t *testing.T, vars map[string]string, args ...string) *serving {
	t.Helper()
	before := goleak.IgnoreCurrent()
	s := &serving{t: t, code: make(chan int, 1)}
	ctx, cancel := context.WithCancel(context.Background())
	lookup := func(name string) (string, bool) { v, ok := vars[name]; return v, ok }
	go func() {
		var out output
		s.code <- run(ctx, append([]string{"serve"}, args...), environment{lookup: lookup, in: strings.NewReader(""), out: &out, err: &s.errs})
	}()
	s.stop = sync.OnceValue(func() int {
		cancel()
		return s.wait(10 * time.Second)
	})
	t.Cleanup(func() {
		s.stop()
		goleak.VerifyNone(t, before)
		for _, secret := range []string{"hunter2", vars["TELEGRAM_TOKEN"], vars["BAGWATCH_DATA_KEY"]} {
			if secret != "" {
				assert.NotContains(t, s.errs.String(), secret, "a secret in the log")
			}
		}
		if t.Failed() {
			t.Log(s.errs.String())
		}
	})
	return s
}

// wait waits for the exit code.
func (s *serving) wait(d time.Duration) int {
	s.t.Helper()
	select {
	case code := <-s.code:
		s.code <- code
		return code
	case <-time.After(d):
		s.t.Errorf("not ended within %v", d)
		return -1
	}
}

// says waits for something in the log.
func (s *serving) says(text string) {
	s.t.Helper()
	require.Eventually(s.t, func() bool { return strings.Contains(s.errs.String(), text) }, 10*time.Second, 10*time.Millisecond, "%q is not logged:\n%s", text, &s.errs)
}

// platform is a stand-in whose clients leave no connection behind, and the variables to reach it.
func platform(t *testing.T, opts ...standin.Option) (*standin.Server, map[string]string) {
	s := standin.New(t, opts...)
	return s, map[string]string{"TELEGRAM_TOKEN": s.Token(), "TELEGRAM_API_URL": s.URL(), "BAGWATCH_EMBEDDED": "true"}
}

const otherKey = "000102030405060708090a0b0c0d0e0f101112131415161718191a1b1c1d1e1f"

// TestWhatIsWrongIsSaidInOneSentence: exit code 2, and a line for each problem that says what to do.
func TestWhatIsWrongIsSaidInOneSentence(t *testing.T) {
	busy, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	defer busy.Close()
	fake, _ := platform(t)
	good := map[string]string{"TELEGRAM_TOKEN": fake.Token(), "TELEGRAM_API_URL": fake.URL(), "BAGWATCH_EMBEDDED": "true"}
	for name, tt := range map[string]struct {
		set  map[string]string // over good; empty takes away
		want []string          // one for each line
	}{
		"no token":                {map[string]string{"TELEGRAM_TOKEN": ""}, []string{"TELEGRAM_TOKEN: not set: have a bot made by @BotFather"}},
		"no store":                {map[string]string{"BAGWATCH_EMBEDDED": ""}, []string{"REDIS_URL: not set: give the address of a Redis, or --embedded"}},
		"nothing at all":          {map[string]string{"BAGWATCH_EMBEDDED": "", "TELEGRAM_TOKEN": ""}, []string{"TELEGRAM_TOKEN:", "REDIS_URL:"}},
		"a wrong token":           {map[string]string{"TELEGRAM_TOKEN": "1:" + strings.Repeat("x", 35)}, []string{"TELEGRAM_TOKEN: refused by the platform: copy the token again"}},
		"no Redis address":        {map[string]string{"BAGWATCH_EMBEDDED": "", "REDIS_URL": "http://u:hunter2@h"}, []string{"REDIS_URL: not a Redis address: write it as"}},
		"a bad Redis address":     {map[string]string{"BAGWATCH_EMBEDDED": "", "REDIS_URL": "redis://u:hunter2@h:port"}, []string{"REDIS_URL: host or port"}},
		"a port in use":           {map[string]string{"BAGWATCH_LISTEN": busy.Addr().String()}, []string{"BAGWATCH_LISTEN: " + busy.Addr().String() + " is taken by another program"}},
		"a plain http webhook":    {map[string]string{"BAGWATCH_WEBHOOK_URL": "http://quay.example/hook", "BAGWATCH_WEBHOOK_SECRET": "s"}, []string{"BAGWATCH_WEBHOOK_URL: plain http is possible on loopback only"}},
		"a webhook, no secret":    {map[string]string{"BAGWATCH_WEBHOOK_URL": "https://quay.example/hook"}, []string{"BAGWATCH_WEBHOOK_SECRET: not set"}},
		"a data key that is none": {map[string]string{"BAGWATCH_DATA_KEY": "hunter2"}, []string{"BAGWATCH_DATA_KEY: not 32 bytes"}},
	} {
		t.Run(name, func(t *testing.T) {
			vars := map[string]string{}
			for k, v := range good {
				vars[k] = v
			}
			for k, v := range tt.set {
				vars[k] = v
			}
			s := serve(t, vars)
			assert.Equal(t, exitMisused, s.wait(10*time.Second))
			var told []string
			for line := range strings.Lines(s.errs.String()) {
				if l, ok := strings.CutPrefix(line, "bagwatch: "); ok {
					told = append(told, l)
				}
			}
			require.Len(t, told, len(tt.want), "%s", s.errs.String())
			for i, want := range tt.want {
				assert.True(t, strings.HasPrefix(told[i], want), "%q", told[i])
			}
		})
	}
}

func TestServing(t *testing.T) {
	fake, vars := platform(t)
	vars["BAGWATCH_LISTEN"] = freeAddress(t)
	mara := fake.AddUser(standin.User{FirstName: "Mara"})
	chat := fake.Private(mara)
	s := serve(t, vars)
	s.says("serving")
	fake.SendText(mara, chat, "ribeye 450 g 3 cm medium rare")
	fake.Expect(chat, "Ribeye, medium rare: water at")
	require.Eventually(t, func() bool { return status(t, vars["BAGWATCH_LISTEN"], "/readyz") == http.StatusOK }, 5*time.Second, 20*time.Millisecond)
	assert.Equal(t, http.StatusOK, status(t, vars["BAGWATCH_LISTEN"], "/healthz"))
	began := time.Now()
	assert.Equal(t, exitOK, s.stop())
	assert.Less(t, time.Since(began), 10*time.Second)
	assert.Contains(t, s.errs.String(), "stopped")
	assert.NotContains(t, s.errs.String(), "ribeye", "no message text in the log")
	assert.NotContains(t, s.errs.String(), "Mara", "no names in the log")
}

func TestServingByWebhook(t *testing.T) {
	fake, vars := platform(t)
	at := freeAddress(t)
	vars["BAGWATCH_LISTEN"], vars["BAGWATCH_WEBHOOK_URL"], vars["BAGWATCH_WEBHOOK_SECRET"] = at, "http://"+at+"/hook", "a-secret"
	mara := fake.AddUser(standin.User{FirstName: "Mara"})
	chat := fake.Private(mara)
	s := serve(t, vars)
	s.says("webhook registered")
	fake.SendText(mara, chat, "salmon 2 cm")
	fake.Expect(chat, "Salmon")
	assert.Equal(t, exitOK, s.stop())
}

// Others are told once, kindly, with the number their keeper can let in; people and chats can be let in.
func TestOnlyThoseAllowedAreAnswered(t *testing.T) {
	fake, vars := platform(t)
	mara, other := fake.AddUser(standin.User{FirstName: "Mara"}), fake.AddUser(standin.User{FirstName: "Otto"})
	inside, outside := fake.Group("Quay Street", other), fake.Group("Elsewhere", other, mara)
	vars["BAGWATCH_ALLOW"] = fmt.Sprint(mara.ID, ",", inside.ID())
	s := serve(t, vars)
	s.says("serving")
	fake.SendText(other, fake.Private(other), "ribeye 3 cm")
	fake.Expect(fake.Private(other), "I answer only a closed circle")
	for _, text := range []string{"ribeye 3 cm", "/start", "/export"} {
		fake.SendText(other, fake.Private(other), text)
	}
	fake.SendText(other, outside, "/cook ribeye 3 cm")
	told := fake.Expect(outside, "I answer only a closed circle")
	assert.Contains(t, told.Text, fmt.Sprint(outside.ID()), "the number to let in")
	fake.SendText(mara, outside, "/cook ribeye 3 cm")
	fake.Expect(outside, "Ribeye")
	fake.SendText(other, inside, "/cook salmon 2 cm")
	fake.Expect(inside, "Salmon")
	fake.SendText(mara, fake.Private(mara), "ribeye 3 cm")
	fake.Expect(fake.Private(mara), "Ribeye")
	assert.NoError(t, fake.Quiet(fake.Private(other), 200*time.Millisecond), "told once")
	assert.Equal(t, exitOK, s.stop())
}

func TestAClockThatIsNotRealIsSaidAndTellsABagToTheEnd(t *testing.T) {
	fake, vars := platform(t)
	vars["BAGWATCH_CLOCK_SPEED"], vars["BAGWATCH_RATE"] = "3600", "0"
	mara := fake.AddUser(standin.User{FirstName: "Mara"})
	chat := fake.Private(mara)
	s := serve(t, vars)
	s.says("the clock is not the real one")
	s.says("serving")
	fake.SendText(mara, chat, "start ribeye 3 cm medium rare")
	fake.Expect(chat, "ready — pull it any time")
	fake.Expect(chat, "last call")
	fake.Expect(chat, "past its time")
	assert.Equal(t, exitOK, s.stop())
}

func TestARedisThatForgetsIsRefusedUnlessAllowed(t *testing.T) {
	server := storetest.StartRedis(t, "--appendonly", "no", "--maxmemory-policy", "allkeys-lru")
	_, vars := platform(t)
	delete(vars, "BAGWATCH_EMBEDDED")
	vars["REDIS_URL"] = server.URL
	s := serve(t, vars)
	assert.Equal(t, exitMisused, s.wait(10*time.Second))
	for _, want := range []string{"REDIS_URL: this Redis may lose running bags", "--allow-volatile", "appendonly yes\n", "maxmemory-policy noeviction\n"} {
		assert.Contains(t, s.errs.String(), want)
	}
	allowed := serve(t, vars, "--allow-volatile")
	allowed.says("may lose running bags, as allowed")
	allowed.says("serving")
	assert.Equal(t, exitOK, allowed.stop())
}

func TestARedisThatRefusesThePasswordIsNotWaitedFor(t *testing.T) {
	server := storetest.StartRedis(t)
	_, err := server.Do("CONFIG SET requirepass hunter2")
	require.NoError(t, err)
	_, vars := platform(t)
	delete(vars, "BAGWATCH_EMBEDDED")
	for _, url := range []string{server.URL, "redis://:wrong@" + server.Addr} {
		vars["REDIS_URL"] = url
		s := serve(t, vars)
		assert.Equal(t, exitMisused, s.wait(10*time.Second))
		assert.Contains(t, s.errs.String(), "REDIS_URL: Redis refuses the user or the password")
	}
}

func TestAWrongDataKeyIsRefused(t *testing.T) {
	server := storetest.StartRedis(t)
	keys, err := store.ParseKeyring(otherKey)
	require.NoError(t, err)
	r, err := store.Open(store.Config{URL: server.URL, Keys: keys}, time.Now, slog.New(slog.DiscardHandler))
	require.NoError(t, err)
	_, err = r.Save(t.Context(), 7, store.Document{Data: []byte("x")}, store.Fence{})
	require.NoError(t, err)
	require.NoError(t, r.Close())
	_, vars := platform(t)
	delete(vars, "BAGWATCH_EMBEDDED")
	vars["REDIS_URL"] = server.URL
	for name, key := range map[string]string{"another key": strings.Repeat("ab", 32), "no key": ""} {
		t.Run(name, func(t *testing.T) {
			vars["BAGWATCH_DATA_KEY"] = key
			s := serve(t, vars)
			assert.Equal(t, exitMisused, s.wait(10*time.Second))
			assert.Contains(t, s.errs.String(), "BAGWATCH_DATA_KEY: does not open what is stored")
		})
	}
}

// A document that turns up later and does not open stops the program as well.
func TestAWrongDataKeyStopsTheProgram(t *testing.T) {
	server := storetest.StartRedis(t)
	fake, vars := platform(t)
	delete(vars, "BAGWATCH_EMBEDDED")
	vars["REDIS_URL"] = server.URL
	mara := fake.AddUser(standin.User{FirstName: "Mara"})
	s := serve(t, vars)
	s.says("serving")
	keys, err := store.ParseKeyring(otherKey)
	require.NoError(t, err)
	r, err := store.Open(store.Config{URL: server.URL, Keys: keys}, time.Now, slog.New(slog.DiscardHandler))
	require.NoError(t, err)
	defer r.Close()
	_, err = r.Save(t.Context(), store.ChatID(mara.ID), store.Document{Data: []byte("x")}, store.Fence{})
	require.NoError(t, err)
	fake.SendText(mara, fake.Private(mara), "ribeye 3 cm")
	assert.Equal(t, exitMisused, s.wait(15*time.Second))
	assert.Contains(t, s.errs.String(), "BAGWATCH_DATA_KEY: does not open what is stored")
}

func TestARedisThatIsAwayAtTheStartIsWaitedFor(t *testing.T) {
	server := storetest.StartRedis(t)
	server.Kill()
	fake, vars := platform(t)
	delete(vars, "BAGWATCH_EMBEDDED")
	vars["REDIS_URL"], vars["BAGWATCH_LISTEN"] = server.URL, freeAddress(t)
	mara := fake.AddUser(standin.User{FirstName: "Mara"})
	s := serve(t, vars)
	s.says("Redis does not answer, trying again")
	assert.Equal(t, http.StatusOK, status(t, vars["BAGWATCH_LISTEN"], "/healthz"), "it lives")
	assert.Equal(t, http.StatusServiceUnavailable, status(t, vars["BAGWATCH_LISTEN"], "/readyz"))
	server.Start()
	s.says("serving")
	fake.SendText(mara, fake.Private(mara), "ribeye 3 cm")
	fake.Expect(fake.Private(mara), "Ribeye")
	assert.Equal(t, exitOK, s.stop())
	holder, err := server.Do("EXISTS {bw:0}lease")
	require.NoError(t, err)
	assert.Equal(t, ":0", ":"+strings.TrimPrefix(holder, ":"), "partitions are given back")
}

func freeAddress(t *testing.T) string {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	require.NoError(t, l.Close())
	return l.Addr().String()
}

func status(t *testing.T, addr, path string) int {
	t.Helper()
	client := &http.Client{Transport: &http.Transport{DisableKeepAlives: true}, Timeout: 5 * time.Second}
	resp, err := client.Get("http://" + addr + path)
	if err != nil {
		return 0
	}
	require.NoError(t, resp.Body.Close())
	return resp.StatusCode
}

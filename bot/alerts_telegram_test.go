package bot_test

import (
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"

	"bagwatch/bot"
	"bagwatch/bot/telegram"
	"bagwatch/bot/telegram/standin"
	"bagwatch/internal/kitchen"
	"bagwatch/internal/store"
)

// What the platform can answer, through the real adapter: each trouble in a chat of its own, all at once.
// The adapter receives nothing here, so the loop learns of blocks and moves from its sends alone.
func TestAlertsBearWhatThePlatformAnswers(t *testing.T) {
	before := goleak.IgnoreCurrent()
	fake := standin.New(t)
	transport := http.DefaultTransport.(*http.Transport).Clone()
	t.Cleanup(func() {
		transport.CloseIdleConnections()
		fake.Close()
		goleak.VerifyNone(t, before)
	})
	adapter, err := telegram.New(fake.Token(), telegram.Config{APIURL: fake.URL(), Transport: transport})
	require.NoError(t, err)
	s := store.NewMemory(time.Now)
	_, a := newAlertBot(t, s, adapter, bot.AlertConfig{Usual: adapter.Paced(telegram.News), Urgent: adapter.Paced(telegram.Safety)})

	guest := func(name string) *standin.Chat { return fake.Open(fake.AddUser(standin.User{FirstName: name})) }
	plain, busy, unwell, cut, page := guest("Plain"), guest("Busy"), guest("Unwell"), guest("Cut"), guest("Page")
	blocker := fake.AddUser(standin.User{FirstName: "Gone"})
	gone, owner := fake.Open(blocker), fake.AddUser(standin.User{FirstName: "Owner"})
	group := fake.Group("Quay Street", owner)
	for _, f := range []standin.Fault{
		{Method: "sendMessage", Chat: busy.ID(), Code: 429, After: 2, Times: 2},
		{Method: "sendMessage", Chat: unwell.ID(), Code: 500, Times: 5}, // more often than the adapter tries by itself
		{Method: "sendMessage", Chat: cut.ID(), Cut: standin.CutBefore, Times: 2},
		{Method: "sendMessage", Chat: page.ID(), Body: "<html>bad gateway</html>", Times: 1},
	} {
		fake.Inject(f)
	}
	now := time.Now()
	all := []*standin.Chat{plain, busy, unwell, cut, page, gone}
	for _, c := range all {
		saveChat(t, s, bot.ChatID(c.ID()), oneBag(t, now, 2*time.Second))
	}
	d := oneBag(t, now, 2*time.Second)
	d.Settings.Kind = kitchen.Kitchen
	saveChat(t, s, bot.ChatID(group.ID()), d)
	fake.Block(blocker)
	moved := fake.Migrate(owner, group)

	runAlerts(t, a)
	for _, c := range []*standin.Chat{plain, busy, unwell, cut, page, moved} {
		e, err := fake.WaitFor(c, 20*time.Second, func(e standin.Event) bool {
			return e.Kind == standin.Sent && strings.Contains(e.Message.Text, "ready — pull it")
		})
		require.NoError(t, err, "chat %d", c.ID())
		assert.False(t, e.Real.Before(now.Truncate(time.Second).Add(2*time.Second)), "early")
	}
	require.Eventually(t, func() bool { return a.Counts().Parked == 1 && a.Counts().Moved == 1 }, 5*time.Second, 10*time.Millisecond)
	assert.Zero(t, fake.EarlyRetries(), "the wait it was told is kept")
	assert.LessOrEqual(t, fake.Count("sendMessage"), 25, "no hot loop")
	assert.False(t, loadChat(t, s, bot.ChatID(gone.ID())).Parked.IsZero())
	for _, c := range []*standin.Chat{plain, busy, unwell, cut, page} {
		n := 0
		for _, e := range fake.Events(c) {
			if e.Kind == standin.Sent {
				n++
			}
		}
		assert.Equal(t, 1, n, "told once")
	}
}

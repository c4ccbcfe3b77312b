package main

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/bot/telegram/standin"
	"bagwatch/internal/store/storetest"
)

// One person sends 10,000 messages while other people's bags fall due. The figures are logged; the bound is
// three times the second within which the handling of an alert starts, for a busy machine that also plays
// the platform.
func TestAFloodFromOneDoesNotDelayOthers(t *testing.T) {
	if testing.Short() {
		t.Skip("some seconds of load")
	}
	const flood, cooks, bound = 10_000, 60, 3 * time.Second
	calm := alertsUnder(t, cooks, 0)
	busy := alertsUnder(t, cooks, flood)
	t.Logf("lateness of %d alerts: calm p50 %v, p99 %v; under a flood of %d messages p50 %v, p99 %v, drained after %v, %d answers to who floods",
		cooks, calm.at(50), calm.at(99), flood, busy.at(50), busy.at(99), busy.drained, busy.answers)
	assert.Less(t, busy.at(99), bound)
	assert.Less(t, busy.answers, 200, "who floods is told once and left alone")
	assert.Greater(t, busy.answers, 0)
}

type underLoad struct {
	late    []time.Duration // sorted
	drained time.Duration
	answers int
}

func (u underLoad) at(percent int) time.Duration {
	return u.late[(len(u.late)-1)*percent/100].Round(time.Millisecond)
}

// alertsUnder measures how late bags are told that fall due from one to four seconds after a flood began.
func alertsUnder(t *testing.T, cooks, flood int) underLoad {
	t.Helper()
	server := storetest.StartRedis(t)
	fake, vars := platform(t)
	delete(vars, "BAGWATCH_EMBEDDED")
	vars["REDIS_URL"], vars["BAGWATCH_METRICS"] = server.URL, freeAddress(t)
	s := serve(t, vars)
	s.says("serving")
	otto := fake.AddUser(standin.User{FirstName: "Otto"})
	fake.Open(otto)
	r := openStore(t, server.URL, "")
	defer r.Close()

	const prepare = 3 * time.Second
	began := time.Now().Add(prepare)
	var chats []*standin.Chat
	var due []time.Time
	for i := range cooks {
		chats = append(chats, fake.Open(fake.AddUser(standin.User{FirstName: "Cook" + strconv.Itoa(i)})))
		at := began.Add(time.Second + time.Duration(i)*3*time.Second/time.Duration(cooks))
		d := ribeyeIn(t, at, time.Now())
		due = append(due, d.Bags[0].Times.BestBefore)
		keep(t, r, chats[i], d)
	}
	require.Positive(t, time.Until(began), "all is stored before it begins")
	time.Sleep(time.Until(began))
	for i := range flood {
		fake.SendText(otto, fake.Private(otto), fmt.Sprintf("ribeye %d mm", 20+i%40))
	}
	var u underLoad
	for i, c := range chats {
		e, err := fake.WaitFor(c, 30*time.Second, func(e standin.Event) bool {
			return e.Kind == standin.Sent && strings.Contains(e.Message.Text, "past its time")
		})
		require.NoError(t, err)
		u.late = append(u.late, e.Real.Sub(due[i]))
		require.False(t, e.Real.Before(due[i]), "early")
	}
	slices.Sort(u.late)
	require.Eventually(t, func() bool {
		return flood == 0 || figure(t, page(t, vars["BAGWATCH_METRICS"], "/metrics"), "bagwatch_updates_total") == expFormat(flood)
	}, time.Minute, 20*time.Millisecond, "the flood is drained")
	u.drained = time.Since(began).Round(time.Millisecond)
	for _, e := range fake.Events(fake.Private(otto)) {
		if e.Kind == standin.Sent {
			u.answers++
		}
	}
	require.Equal(t, exitOK, s.stop())
	return u
}

// expFormat prints a count as the page does.
func expFormat(n int) string { return strconv.FormatFloat(float64(n), 'g', -1, 64) }

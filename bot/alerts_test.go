package bot_test

import (
	"context"
	"errors"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/bot"
	"bagwatch/internal/kitchen"
	"bagwatch/internal/store"
)

// inBubble runs a test on a clock of its own, with a store in memory.
func inBubble(t *testing.T, f func(t *testing.T, s *store.Memory)) {
	t.Helper()
	toolsForAlerts(t) // outside the bubble: it is kept
	synctest.Test(t, func(t *testing.T) { f(t, store.NewMemory(time.Now)) })
}

// pass lets time go by and everything due in it happen.
func pass(d time.Duration) {
	time.Sleep(d)
	synctest.Wait()
}

func TestABagIsToldOfThreeTimesAndNeverEarly(t *testing.T) {
	inBubble(t, func(t *testing.T, s *store.Memory) {
		out := &postbox{}
		_, a := newAlertBot(t, s, out, bot.AlertConfig{})
		start := time.Now()
		saveChat(t, s, 7, oneBag(t, start, 90*time.Second))
		runAlerts(t, a)
		pass(89 * time.Second)
		assert.Empty(t, out.got(), "a second before it is ready")
		pass(30 * time.Minute)
		sent := out.got()
		require.Len(t, sent, 3)
		for i, want := range []struct {
			text string
			at   time.Duration
		}{
			{"Ribeye: ready — pull it any time within the next 20 min", 90 * time.Second},
			{"Ribeye: last call — pull it within 10 min", 690 * time.Second},
			{"Ribeye: pull it now — past its best as of now", 1290 * time.Second},
		} {
			assert.Equal(t, want.text, sent[i].text())
			late := sent[i].at.Sub(start) - want.at
			assert.GreaterOrEqual(t, late, time.Duration(0), "never early")
			assert.LessOrEqual(t, late, 5*time.Millisecond, "it sleeps until the moment: the clock stands still otherwise")
			assert.Equal(t, [][]bot.Button{{{Label: "Pull", Data: "b/pull/1"}}}, sent[i].m.Buttons)
		}
		assert.Equal(t, bot.AlertCounts{Sent: 3, Items: 3, Partitions: store.Partitions}, a.Counts())
	})
}

func TestNewsOfOneChatIsOneMessage(t *testing.T) {
	inBubble(t, func(t *testing.T, s *store.Memory) {
		out := &postbox{}
		_, a := newAlertBot(t, s, out, bot.AlertConfig{})
		now := time.Now().UTC()
		d := kitchen.New(kitchen.Kitchen, "Quay Street")
		d.Settings.Zone = "Europe/Berlin"
		d.Card = kitchen.Card{Message: 3, Topic: 11}
		at := now.Add(time.Minute)
		ribeyeAt(t, &d, now, at, at.Add(time.Hour), at.Add(2*time.Hour))
		ribeyeAt(t, &d, now, at, at.Add(time.Hour), at.Add(3*time.Hour))
		saveChat(t, s, -20, d)
		runAlerts(t, a)
		pass(2 * time.Minute)
		sent := out.got()
		require.Len(t, sent, 1)
		assert.Equal(t, "Ribeye (Mara): ready — pull it any time until 03:01\nRibeye (Mara): ready — pull it any time until 04:01",
			sent[0].text(), "the bubble begins at 1:00 in Berlin")
		assert.Equal(t, bot.Chat{ID: -20, Group: true, Title: "Quay Street", Topic: 11}, sent[0].to)
		assert.Equal(t, [][]bot.Button{{{Label: "Pull ribeye", Data: "b/pull/1"}}, {{Label: "Pull ribeye", Data: "b/pull/2"}}}, sent[0].m.Buttons)
	})
}

func TestACommitThatMakesSomethingDueEarlierWakesTheLoop(t *testing.T) {
	inBubble(t, func(t *testing.T, s *store.Memory) {
		out := &postbox{}
		b, a := newAlertBot(t, s, out, bot.AlertConfig{})
		runAlerts(t, a)
		pass(10*time.Second + 100*time.Millisecond) // the loop has just gone to sleep for half a second
		d := oneBag(t, time.Now(), -time.Minute)
		d.Park(time.Now())
		saveChat(t, s, 7, d)
		at := time.Now()
		require.NoError(t, b.Handle(t.Context(), bot.Incoming{Kind: bot.Joined, Key: "u1", At: at, Chat: bot.Chat{ID: 7}, From: bot.Person{ID: 7}}))
		pass(10 * time.Millisecond)
		sent := out.got()
		require.Len(t, sent, 1)
		assert.LessOrEqual(t, sent[0].at.Sub(at), 5*time.Millisecond, "not at the next look")
	})
}

func TestAnOutageIsMadeGoodWithTheNewestStateAndHowLateItIs(t *testing.T) {
	inBubble(t, func(t *testing.T, s *store.Memory) {
		out, weak := &postbox{}, &outage{AlertStore: s}
		_, a := newAlertBot(t, weak, out, bot.AlertConfig{})
		saveChat(t, s, 7, oneBag(t, time.Now(), 30*time.Second))
		told := oneBag(t, time.Now(), 20*time.Second-10*time.Minute) // last call in 20 s
		told.Bags[0].Told = kitchen.Ready
		saveChat(t, s, 8, told)
		runAlerts(t, a)
		pass(15 * time.Second)
		weak.down.Store(true)
		before := weak.calls.Load()
		pass(time.Minute)
		assert.Empty(t, out.got())
		assert.LessOrEqual(t, weak.calls.Load()-before, int64(200), "no hot loop: a few calls a second")
		weak.down.Store(false)
		pass(10 * time.Second)
		texts := map[bot.ChatID]string{}
		for _, p := range out.got() {
			texts[p.to.ID] += p.text() + "|"
			assert.LessOrEqual(t, p.at.Sub(time.Date(2000, 1, 1, 0, 1, 15, 0, time.UTC)), 6*time.Second, "within the longest pause of the store's return")
		}
		assert.Contains(t, texts[8], "last call")
		assert.Len(t, texts, 2)
		for _, p := range out.got() {
			if p.to.ID == 8 && p.at.After(time.Date(2000, 1, 1, 0, 1, 20, 0, time.UTC)) {
				assert.Contains(t, p.text(), "This comes", "over a minute late is said")
			}
		}
	})
}

func TestWhatWasSentIsNotSentAgainWhenTheCommitFails(t *testing.T) {
	inBubble(t, func(t *testing.T, s *store.Memory) {
		weak := &outage{AlertStore: s}
		out := &postbox{refuse: func(bot.ChatID, int) error { weak.down.Store(true); return nil }}
		_, a := newAlertBot(t, weak, out, bot.AlertConfig{})
		saveChat(t, s, 7, oneBag(t, time.Now(), 30*time.Second))
		runAlerts(t, a)
		pass(time.Minute)
		require.Len(t, out.got(), 1, "sent, and the store went away before the commit")
		weak.down.Store(false)
		pass(10 * time.Second)
		assert.Len(t, out.got(), 1)
		assert.Equal(t, kitchen.Ready, loadChat(t, s, 7).Bags[0].Told, "committed when the store was back")
	})
}

func TestAChangeBetweenSendAndCommitIsKept(t *testing.T) {
	inBubble(t, func(t *testing.T, s *store.Memory) {
		out := &postbox{}
		var once bool
		out.refuse = func(bot.ChatID, int) error {
			if !once { // somebody in another process drops a note and starts a second bag that is ready
				once = true
				d := loadChat(t, s, 7)
				now := time.Now().UTC().Truncate(time.Second)
				ribeyeAt(t, &d, now, now.Add(-time.Second), now.Add(time.Hour), now.Add(2*time.Hour))
				saveChat(t, s, 7, d)
			}
			return nil
		}
		_, a := newAlertBot(t, s, out, bot.AlertConfig{})
		saveChat(t, s, 7, oneBag(t, time.Now(), 30*time.Second))
		runAlerts(t, a)
		pass(time.Minute)
		sent := out.got()
		require.Len(t, sent, 2)
		assert.Equal(t, "b/pull/1", sent[0].m.Buttons[0][0].Data)
		assert.Len(t, sent[1].m.Buttons, 1, "only what was not sent")
		assert.Equal(t, "b/pull/2", sent[1].m.Buttons[0][0].Data)
		assert.Equal(t, int64(1), a.Counts().Conflicts)
		d := loadChat(t, s, 7)
		require.Len(t, d.Bags, 2)
		assert.Equal(t, kitchen.Ready, d.Bags[0].Told)
		assert.Equal(t, kitchen.Ready, d.Bags[1].Told)
	})
}

func TestAPlatformThatAsksToWaitIsObeyedAndCostsNothing(t *testing.T) {
	inBubble(t, func(t *testing.T, s *store.Memory) {
		out := &postbox{refuse: func(to bot.ChatID, n int) error {
			if to == 7 && n <= 2 {
				return &bot.BusyError{After: 20 * time.Second}
			}
			return nil
		}}
		_, a := newAlertBot(t, s, out, bot.AlertConfig{})
		saveChat(t, s, 7, oneBag(t, time.Now(), 10*time.Second))
		saveChat(t, s, 8, oneBag(t, time.Now(), 12*time.Second))
		runAlerts(t, a)
		pass(15 * time.Second)
		require.Len(t, out.got(), 1, "another chat is told meanwhile")
		pass(34 * time.Second)
		assert.Len(t, out.got(), 1, "not before both waits are over")
		pass(3 * time.Second)
		require.Len(t, out.got(), 2)
		assert.NotContains(t, out.got()[1].text(), "restarted", "nothing had been sent")
		assert.Equal(t, 4, out.count())
	})
}

func TestTroubleOfThePlatformIsTriedAgainWithoutAHotLoop(t *testing.T) {
	inBubble(t, func(t *testing.T, s *store.Memory) {
		healed := time.Now().Add(8 * time.Minute)
		out := &postbox{refuse: func(bot.ChatID, int) error {
			if time.Now().Before(healed) {
				return errors.New("bad gateway")
			}
			return nil
		}}
		_, a := newAlertBot(t, s, out, bot.AlertConfig{})
		const chats = 50
		for i := range bot.ChatID(chats) {
			saveChat(t, s, 100+i, oneBag(t, time.Now(), 30*time.Second))
		}
		runAlerts(t, a)
		pass(8*time.Minute - time.Second)
		assert.Empty(t, out.got())
		assert.LessOrEqual(t, out.count(), 150, "one try every few seconds, not one for each chat and second")
		pass(2 * time.Minute)
		assert.Len(t, out.got(), chats, "nothing is lost")
		for _, p := range out.got() {
			assert.Contains(t, p.text(), "late", "how late it is")
		}
		assert.Zero(t, a.Counts().Dead)
	})
}

func TestASendWhoseOutcomeIsNotKnownIsMarkedWhenRepeated(t *testing.T) {
	inBubble(t, func(t *testing.T, s *store.Memory) {
		out := &postbox{refuse: func(_ bot.ChatID, n int) error {
			if n == 1 {
				return errSentAnyway
			}
			return nil
		}}
		_, a := newAlertBot(t, s, out, bot.AlertConfig{})
		saveChat(t, s, 7, oneBag(t, time.Now(), 30*time.Second))
		runAlerts(t, a)
		pass(time.Minute)
		sent := out.got()
		require.Len(t, sent, 2)
		assert.NotContains(t, sent[0].text(), "before")
		assert.Contains(t, sent[1].text(), "you may have had this before")
	})
}

func TestAChatThatCannotBeWrittenToIsParkedAndComesBack(t *testing.T) {
	inBubble(t, func(t *testing.T, s *store.Memory) {
		gone := true
		out := &postbox{refuse: func(bot.ChatID, int) error {
			if gone {
				return bot.ErrGone
			}
			return nil
		}}
		b, a := newAlertBot(t, s, out, bot.AlertConfig{})
		saveChat(t, s, 7, oneBag(t, time.Now(), 30*time.Second))
		runAlerts(t, a)
		pass(5 * time.Minute)
		assert.Equal(t, 1, out.count(), "not tried again")
		assert.False(t, loadChat(t, s, 7).Parked.IsZero())
		gone = false
		require.NoError(t, b.Handle(t.Context(), bot.Incoming{Kind: bot.Joined, Key: "u1", At: time.Now(), Chat: bot.Chat{ID: 7}, From: bot.Person{ID: 7}}))
		pass(time.Second)
		require.Len(t, out.got(), 1, "what still runs is told")
		assert.Contains(t, out.got()[0].text(), "This comes 4 min late", "4:30 rounds down")
		assert.Equal(t, int64(1), a.Counts().Parked)
	})
}

func TestAMessageThatThePlatformNeverTakesIsGivenUp(t *testing.T) {
	inBubble(t, func(t *testing.T, s *store.Memory) {
		out := &postbox{refuse: func(to bot.ChatID, _ int) error {
			if to == 7 {
				return errors.New("message is somehow wrong")
			}
			return nil
		}}
		_, a := newAlertBot(t, s, out, bot.AlertConfig{})
		saveChat(t, s, 7, oneBag(t, time.Now(), 5*time.Minute-10*time.Minute))
		for i := range 200 { // others get through all the time
			d := oneBag(t, time.Now(), time.Duration(i)*5*time.Second)
			saveChat(t, s, bot.ChatID(100+i), d)
		}
		runAlerts(t, a)
		pass(14 * time.Minute)
		assert.Equal(t, int64(1), a.Counts().Dead)
		assert.LessOrEqual(t, out.tries[7], 12)
		assert.Equal(t, kitchen.LastCall, loadChat(t, s, 7).Bags[0].Told, "as if it had been told")
	})
}

func TestAGroupThatMovedIsToldInItsNewChat(t *testing.T) {
	inBubble(t, func(t *testing.T, s *store.Memory) {
		out := &postbox{refuse: func(to bot.ChatID, _ int) error {
			if to == -20 {
				return &bot.MovedError{To: -100020}
			}
			return nil
		}}
		_, a := newAlertBot(t, s, out, bot.AlertConfig{})
		d := oneBag(t, time.Now(), 30*time.Second)
		d.Settings.Kind, d.Settings.Title, d.Card = kitchen.Kitchen, "Quay Street", kitchen.Card{Message: 5}
		saveChat(t, s, -20, d)
		runAlerts(t, a)
		pass(31 * time.Second)
		sent := out.got()
		require.Len(t, sent, 1)
		assert.Equal(t, bot.ChatID(-100020), sent[0].to.ID)
		_, err := s.Load(t.Context(), -20)
		assert.ErrorIs(t, err, store.ErrNone, "the old document is removed")
		assert.Zero(t, loadChat(t, s, -100020).Card.Message, "old messages do not hold")
		assert.Equal(t, int64(1), a.Counts().Moved)
	})
}

func TestAMoveThatStoppedHalfWayIsResumed(t *testing.T) {
	inBubble(t, func(t *testing.T, s *store.Memory) {
		out := &postbox{}
		_, a := newAlertBot(t, s, out, bot.AlertConfig{})
		d := oneBag(t, time.Now(), time.Hour)
		d.Settings.Kind = kitchen.Kitchen
		d.MoveTo(-100020, time.Now())
		saveChat(t, s, -20, d)
		runAlerts(t, a)
		pass(2 * time.Minute)
		_, err := s.Load(t.Context(), -20)
		require.ErrorIs(t, err, store.ErrNone)
		assert.Len(t, loadChat(t, s, -100020).Bags, 1)
	})
}

func TestAListThatIsStaleTellsNothingAndIsPutRight(t *testing.T) {
	inBubble(t, func(t *testing.T, s *store.Memory) {
		out := &postbox{}
		_, a := newAlertBot(t, s, out, bot.AlertConfig{})
		d := oneBag(t, time.Now(), time.Hour)
		data, err := kitchen.Encode(d)
		require.NoError(t, err)
		_, err = s.Save(t.Context(), 7, store.Document{Data: data, Next: time.Now().Add(time.Second)}, store.Fence{})
		require.NoError(t, err)
		runAlerts(t, a)
		pass(time.Minute)
		assert.Empty(t, out.got())
		assert.Equal(t, int64(1), a.Counts().Stale, "once")
		stored, err := s.Load(t.Context(), 7)
		require.NoError(t, err)
		assert.Equal(t, kitchen.Next(d), stored.Next)
	})
}

func TestUrgentNewsGoesFirst(t *testing.T) {
	inBubble(t, func(t *testing.T, s *store.Memory) {
		out := &postbox{}
		paced := &slowly{Messenger: out, gap: time.Second / 30}
		_, a := newAlertBot(t, s, out, bot.AlertConfig{Usual: paced, Urgent: paced})
		now := time.Now().UTC()
		const usual, urgent = 600, 5
		for i := range usual {
			saveChat(t, s, bot.ChatID(1000+i), oneBag(t, now, time.Second+time.Duration(i%3)*time.Second))
		}
		for i := range urgent { // the last of the list
			d := kitchen.New(kitchen.Private, "")
			ribeyeAt(t, &d, now, now.Add(-20*time.Minute), now.Add(-10*time.Minute), now.Add(4*time.Second))
			d.Bags[0].Times.Pasteurised, d.Bags[0].Told = time.Time{}, kitchen.LastCall
			saveChat(t, s, bot.ChatID(10+i), d)
		}
		runAlerts(t, a)
		pass(time.Minute)
		sent := out.got()
		require.Len(t, sent, usual+urgent)
		for i, p := range sent {
			if p.to.ID < 100 {
				assert.LessOrEqual(t, p.at.Sub(now), 7*time.Second, "due after 4 s, at place %d of %d", i, len(sent))
			}
		}
		assert.LessOrEqual(t, out.max, 8, "in flight")
	})
}

func TestAStopFinishesWhatIsInHandAndGivesPartitionsBack(t *testing.T) {
	inBubble(t, func(t *testing.T, s *store.Memory) {
		out := &postbox{slow: 3 * time.Second}
		_, a := newAlertBot(t, s, out, bot.AlertConfig{})
		for i := range bot.ChatID(8) {
			saveChat(t, s, 100+i, oneBag(t, time.Now(), 30*time.Second))
		}
		stop := runAlerts(t, a)
		pass(31 * time.Second)
		began := time.Now()
		stop()
		assert.LessOrEqual(t, time.Since(began), 3*time.Second)
		assert.Len(t, out.got(), 8)
		holders, err := s.Holders(t.Context())
		require.NoError(t, err)
		assert.Equal(t, [store.Partitions]string{}, holders)
		for i := range bot.ChatID(8) {
			assert.Equal(t, kitchen.Ready, loadChat(t, s, 100+i).Bags[0].Told)
		}
	})
}

func TestADocumentThatNoKeyOpensStopsTheLoop(t *testing.T) {
	inBubble(t, func(t *testing.T, s *store.Memory) {
		_, a := newAlertBot(t, sealed{s}, &postbox{}, bot.AlertConfig{})
		saveChat(t, s, 7, oneBag(t, time.Now(), 5*time.Second))
		err := make(chan error, 1)
		go func() { err <- a.Run(context.Background()) }()
		pass(10 * time.Second)
		require.ErrorIs(t, <-err, store.ErrKey)
	})
}

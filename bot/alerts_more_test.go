package bot_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/bot"
	"bagwatch/internal/kitchen"
	"bagwatch/internal/store"
)

func TestForgettingThatStoppedHalfWayIsResumed(t *testing.T) {
	inBubble(t, func(t *testing.T, s *store.Memory) {
		_, a := newAlertBot(t, s, &postbox{}, bot.AlertConfig{})
		now := time.Now()
		group := oneBag(t, now, time.Hour)
		group.Settings.Kind = kitchen.Kitchen
		saveChat(t, s, -20, group)
		own := kitchen.New(kitchen.Private, "")
		own.Join(-20)
		own.StartForgetting(now)
		saveChat(t, s, bot.ChatID(starter.ID), own)
		runAlerts(t, a)
		pass(2 * time.Minute)
		assert.Zero(t, loadChat(t, s, -20).Bags[0].Starter, "in the kitchen too")
		d := loadChat(t, s, bot.ChatID(starter.ID))
		assert.True(t, d.Forgetting.IsZero())
		assert.Empty(t, d.Groups)
	})
}

func TestTheCardFollowsTheNews(t *testing.T) {
	inBubble(t, func(t *testing.T, s *store.Memory) {
		out, cards := &postbox{}, &postbox{}
		_, a := newAlertBot(t, s, out, bot.AlertConfig{Cards: cards})
		d := oneBag(t, time.Now(), 30*time.Second)
		d.Settings.Kind, d.Settings.Title, d.Card = kitchen.Kitchen, "Quay Street", kitchen.Card{Message: 5}
		saveChat(t, s, -20, d)
		saveChat(t, s, 7, oneBag(t, time.Now(), 30*time.Second)) // without a card
		runAlerts(t, a)
		pass(31 * time.Second)
		require.Len(t, out.got(), 2)
		require.Len(t, cards.edits, 1)
		assert.Equal(t, bot.ChatID(-20), cards.edits[0].chat)
		assert.Equal(t, bot.MessageID(5), cards.edits[0].id)
		assert.Contains(t, cards.edits[0].text, "Ribeye", "the list of what is in the bath")
		assert.Empty(t, cards.got(), "no new card")
	})
}

// Quiet hours hold news back: the chat is due, nothing is told, and the loop looks again when they end.
func TestQuietHoursHoldNewsBackWithoutAHotLoop(t *testing.T) {
	inBubble(t, func(t *testing.T, s *store.Memory) {
		out, counted := &postbox{}, &outage{AlertStore: s}
		_, a := newAlertBot(t, counted, out, bot.AlertConfig{})
		d := oneBag(t, time.Now(), 30*time.Second)
		d.Bags[0].Times.LastCall, d.Bags[0].Times.BestBefore = d.Bags[0].Times.Ready.Add(9*time.Hour), d.Bags[0].Times.Ready.Add(10*time.Hour)
		d.Bags[0].Times.Limit = d.Bags[0].Times.BestBefore
		require.NoError(t, d.SetSettings(kitchen.Settings{Zone: "UTC", Quiet: kitchen.Quiet{From: 22 * 60, To: 7 * 60}}))
		saveChat(t, s, 7, d)
		runAlerts(t, a)
		pass(7*time.Hour - time.Second)
		assert.Empty(t, out.got(), "the bubble begins at midnight")
		before := counted.calls.Load()
		pass(2 * time.Second)
		require.Len(t, out.got(), 1)
		assert.NotContains(t, out.got()[0].text(), "late", "it was not late by the chat's own wish")
		assert.LessOrEqual(t, counted.calls.Load()-before, int64(30))
		assert.LessOrEqual(t, a.Counts().Stale, int64(1), "held once, not at every look")
	})
}

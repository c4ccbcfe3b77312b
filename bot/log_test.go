package bot_test

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/bot"
)

// Buttons can be forged: none rates, opens or notes what is not in the log of the chat it is pressed in.
func TestForgedLogButtonsChangeNothing(t *testing.T) {
	b := newBench(t)
	for _, data := range []string{"l", "l/", "l1/", "l1/77", "l2/1", "l9/1", "lh/1", "lh9/1", "lo/99999", "lo/-1", "ln/65535", "lx/1", "l1/1/2"} {
		require.NoError(t, b.Handle(t.Context(), b.in(bot.Press, mara, data)))
		said := b.out.take()
		require.Len(t, said, 1, data)
		assert.Equal(t, "notice", said[0].how, data)
		assert.NotEmpty(t, said[0].text, data)
	}
	assert.Zero(t, b.store.saves)
	assert.NotContains(t, b.log.String(), "ERROR")
}

// What was noted stays in its chat: an answer that goes elsewhere does not recall it.
func TestInlineAnswersRecallNothing(t *testing.T) {
	b := newBench(t)
	say := func(kind bot.Kind, text string) {
		require.NoError(t, b.Handle(t.Context(), b.in(kind, mara, text)))
	}
	say(bot.Text, "start ribeye 3 cm medium rare")
	b.at = b.at.Add(90 * time.Minute)
	say(bot.Press, "b/pull/1")
	say(bot.Press, "l5/1")
	b.out.take()
	say(bot.Text, "ribeye 3 cm")
	require.Contains(t, b.out.take()[0].text, "Last time")
	away := b.in(bot.Press, mara, "p"+bot.Pack(catalogue(t), fullest("beef-ribeye", "rare")))
	away.Message = -1 // under a message that was sent inline
	require.NoError(t, b.Handle(t.Context(), away))
	for _, s := range b.out.take() {
		assert.NotContains(t, s.text, "Last time")
		for _, row := range s.m.Buttons {
			for _, x := range row {
				assert.False(t, strings.HasPrefix(x.Label, "Softer"), x.Label)
			}
		}
	}
}

package bot_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/bot"
)

// A group of many is limited as a whole, told once, and answered again soon after. What people say to each
// other counts nothing.
func TestAGroupAsAWholeIsLimited(t *testing.T) {
	b := newBench(t)
	say := func(who int, text string) []said {
		in := b.in(bot.Text, bot.PersonID(1000+who), text)
		in.Chat, in.At = bot.Chat{ID: -5, Group: true, Title: "Quay Street"}, noon
		require.NoError(t, b.Handle(t.Context(), in))
		return b.out.take()
	}
	for i := range 500 {
		require.Empty(t, say(i%100, "who brings the lemons?"))
	}
	answered, told := 0, 0
	for i := range 100 { // everybody asks at once, nobody twice
		for _, s := range say(i, "/cook ribeye 3 cm") {
			if assert.Equal(t, "send", s.how); len(s.m.Buttons) > 0 {
				answered++
			} else {
				assert.Contains(t, s.text, "All at once is too much")
				told++
			}
		}
	}
	assert.Equal(t, 60, answered, "three times what one person may")
	assert.Equal(t, 1, told)
	assert.Equal(t, int64(40), b.Counts().Limited)
	assert.Equal(t, int64(60), b.Counts().Answers)
	b.at = noon.Add(time.Second)
	in := b.in(bot.Text, mara, "/cook ribeye 3 cm")
	in.Chat = bot.Chat{ID: -5, Group: true}
	require.NoError(t, b.Handle(t.Context(), in))
	assert.Len(t, b.out.take(), 1)
}

func TestWhatABotCounts(t *testing.T) {
	b := newBench(t)
	for _, text := range []string{"qwrtz 3 cm", "ribeye 3 cm", "salmon 2 cm", "chicken breast 3 cm 50 C"} {
		require.NoError(t, b.Handle(t.Context(), b.in(bot.Text, mara, text)))
	}
	b.out.panics = 1
	require.NoError(t, b.Handle(t.Context(), b.in(bot.Text, mara, "ribeye 3 cm")))
	c := b.Counts()
	assert.Equal(t, bot.Counts{Answers: 3, Refused: 1, Unread: 1, Broken: 1}, c)
}

package bot_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/bot"
)

func TestOnlyWhatIsPasteurisedIsOfferedToKeep(t *testing.T) {
	offered := func(out []said) bool {
		for _, s := range out {
			for _, row := range s.m.Buttons {
				for _, x := range row {
					if x.Label == "In the fridge" || x.Label == "In the freezer" {
						return true
					}
				}
			}
		}
		return false
	}
	for text, want := range map[string]bool{
		"/chill chicken breast 3 cm 63C for 3 h":            true,
		"/chill chicken breast 3 cm 63C for 30 min":         false,
		"/chill ribeye 3 cm 55C for 90 min":                 false,
		"/chill salmon 25 mm":                               false,
		"/chill short ribs 45 mm 74C for 24 h":              true,
		"/chill pork shoulder 12 cm 74C for 24 h":           false, // too thick to cool in time
		"/chill chicken breast 3 cm 63C in 7 h ago for 2 h": false, // out for five hours since
	} {
		t.Run(text, func(t *testing.T) { assert.Equal(t, want, offered(newBench(t).say(text))) })
	}
}

func TestABagIsKeptFromWhenItWentIntoTheIce(t *testing.T) {
	b := newBench(t)
	b.say("start chicken breast 3 cm 63C")
	m := sent(t, b.later(noon.Add(2*time.Hour), bot.Text, "/chill"))
	out := b.later(noon.Add(3*time.Hour), bot.Press, button(t, m, "In the fridge"))
	doc := b.stored(bot.ChatID(mara))
	require.Len(t, doc.Kept, 1)
	k := doc.Kept[0]
	assert.Equal(t, noon.Add(2*time.Hour).Truncate(time.Minute), k.Since)
	assert.Equal(t, 4*24*time.Hour, k.Until.Sub(k.Since), "USDA FSIS leftovers advice, 3 to 4 days")
	assert.Empty(t, doc.Running(), "it is not in the bath any more")
	assert.Contains(t, sent(t, out).Text.String(), "2026-11-29")
	b.later(noon.Add(4*time.Hour), bot.Press, button(t, m, "In the freezer"))
	assert.Len(t, b.stored(bot.ChatID(mara)).Kept, 1, "it is kept once")
	b.later(noon.Add(5*time.Hour), bot.Press, button(t, sent(t, out), "Eaten"))
	assert.Empty(t, b.stored(bot.ChatID(mara)).Kept)
}

func TestAButtonPressedTooLateKeepsNothingThatWasNotChilled(t *testing.T) {
	b := newBench(t)
	b.say("start chicken breast 3 cm 63C")
	b.later(noon.Add(2*time.Hour), bot.Press, "b/pull/1")
	m := sent(t, b.later(noon.Add(7*time.Hour), bot.Press, "b/chill/1"))
	assert.Equal(t, "No", firstWord(m.Text.String()), "five hours out of the water")
	assert.Empty(t, m.Buttons)
}

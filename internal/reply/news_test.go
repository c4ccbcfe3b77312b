package reply_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/internal/cook"
	"bagwatch/internal/kitchen"
	"bagwatch/internal/reply"
	"bagwatch/locales"
)

// evening is "now" of the news below: 18:30 in Berlin.
var evening = time.Date(2026, 11, 25, 17, 30, 0, 0, time.UTC)

func newsBag(ready, last, best, limit time.Duration) kitchen.Bag {
	return kitchen.Bag{
		ID: 3, Request: cook.Request{Food: "beef-ribeye", Pieces: 1}, Starter: kitchen.Who{ID: 7, Name: "Mara"},
		Times: kitchen.Times{Ready: evening.Add(ready), LastCall: evening.Add(last), BestBefore: evening.Add(best), Limit: evening.Add(limit)},
	}
}

func TestNewsSaysFirstWhatToDo(t *testing.T) {
	berlin, err := time.LoadLocation("Europe/Berlin")
	require.NoError(t, err)
	l := english(t)
	hour := time.Hour
	bag := newsBag(0, 3*hour, 3*hour+50*time.Minute+59*time.Second, 5*hour)
	past := newsBag(-5*hour, -hour, -2*time.Minute, 40*time.Minute+30*time.Second)
	over := newsBag(-5*hour, -3*hour, -2*hour, -hour)
	long := newsBag(0, 20*hour, 30*hour, 40*hour)
	named := bag
	named.Name, named.Starter = "<b>Sunday\u202e roast", kitchen.Who{}
	two := bag
	two.Request.Pieces = 2
	for name, tt := range map[string]struct {
		item  kitchen.Item
		clock string // with the chat's clock known, in a kitchen
		span  string // unknown, alone
	}{
		"ready":             {kitchen.Item{Kind: kitchen.BagReady, Bag: bag}, "Ribeye (Mara): ready — pull it any time until 22:20", "Ribeye: ready — pull it any time within the next 3 h 50 min"},
		"ready for a day":   {kitchen.Item{Kind: kitchen.BagReady, Bag: long}, "Ribeye (Mara): ready — pull it any time within the next 30 h", "Ribeye: ready — pull it any time within the next 30 h"},
		"several pieces":    {kitchen.Item{Kind: kitchen.BagReady, Bag: two}, "2 ribeyes (Mara): ready — pull it any time until 22:20", "2 ribeyes: ready — pull it any time within the next 3 h 50 min"},
		"last call":         {kitchen.Item{Kind: kitchen.BagLastCall, Bag: bag}, "Ribeye (Mara): last call — pull it by 22:20", "Ribeye: last call — pull it within 3 h 50 min"},
		"past, pasteurised": {kitchen.Item{Kind: kitchen.BagPast, Bag: past}, "Ribeye (Mara): pull it now — past its best since 18:28", "Ribeye: pull it now — past its best for 2 min"},
		"past and not": {kitchen.Item{Kind: kitchen.BagPast, Bag: past, Unpasteurised: true},
			"Ribeye (Mara): pull and eat it now — not pasteurised, and past its time since 18:28; if it is not eaten by 19:10, throw it away",
			"Ribeye: pull and eat it now — not pasteurised, and past its time for 2 min; if it is not eaten within 40 min, throw it away"},
		"over its limit": {kitchen.Item{Kind: kitchen.BagPast, Bag: over, Unpasteurised: true},
			"Ribeye (Mara): do not eat it, throw it away — not pasteurised, and over its limit since 17:30",
			"Ribeye: do not eat it, throw it away — not pasteurised, and over its limit for 1 h"},
		"top up": {kitchen.Item{Kind: kitchen.TopUp}, "Look at the water: top it up so that the bags stay under", "Look at the water: top it up so that the bags stay under"},
		"chilled": {kitchen.Item{Kind: kitchen.KeepOver, Kept: kitchen.Kept{Food: "salmon", Pieces: 1}},
			"Salmon in the fridge: the keep-until date has come — throw away what is left", "Salmon in the fridge: the keep-until date has come — throw away what is left"},
		"frozen": {kitchen.Item{Kind: kitchen.KeepOver, Kept: kitchen.Kept{Food: "salmon", Pieces: 2, Frozen: true}},
			"2 salmon in the freezer: use it now — the keep-until date has come", "2 salmon in the freezer: use it now — the keep-until date has come"},
		"soon": {kitchen.Item{Kind: kitchen.KeepSoon, Kept: kitchen.Kept{Food: "salmon", Until: evening.Add(6 * hour)}},
			"Salmon: plan to eat it — keeps until 2026-11-26", "Salmon: plan to eat it — keeps until 2026-11-25"},
		"a step": {kitchen.Item{Kind: kitchen.DinnerStep, Step: kitchen.Step{Ref: "salmon in"}}, "Now: salmon in", "Now: salmon in"},
	} {
		t.Run(name, func(t *testing.T) {
			items := []kitchen.Item{tt.item}
			assert.Equal(t, tt.clock, l.News(items, reply.NewsOptions{Now: evening, Zone: berlin, Names: true}).String())
			text := l.News(items, reply.NewsOptions{Now: evening})
			assert.Equal(t, tt.span, text.String())
			assert.Equal(t, reply.Strong, text[0][0].Style)
		})
	}
	t.Run("names are cleaned and those forgotten are someone", func(t *testing.T) {
		text := l.News([]kitchen.Item{{Kind: kitchen.BagReady, Bag: named}}, reply.NewsOptions{Now: evening, Names: true}).String()
		assert.NotContains(t, text, "\u202e")
		assert.Contains(t, text, "(someone)")
	})
}

func TestNewsSaysHowLateItIsAndThatItMayBeARepeat(t *testing.T) {
	l := english(t)
	item := kitchen.Item{Kind: kitchen.BagReady, Bag: newsBag(-hourAndABit, time.Hour, 2*time.Hour, 3*time.Hour), Late: hourAndABit}
	text := l.News([]kitchen.Item{item}, reply.NewsOptions{Now: evening, Again: true})
	require.Len(t, text, 3)
	assert.Equal(t, "This comes 1 h 10 min late.", text[1].String(), "rounded down as spans are")
	assert.Equal(t, "I was restarted, so you may have had this before.", text[2].String())
	item.Late = 59 * time.Second
	assert.Len(t, l.News([]kitchen.Item{item}, reply.NewsOptions{Now: evening}), 1, "nobody asks for seconds")
}

const hourAndABit = time.Hour + 13*time.Minute

// TestFullNewsIsWhole: a bath full of bags with long names, in every language, fits one message.
func TestFullNewsIsWhole(t *testing.T) {
	lib, err := reply.Load(locales.FS, nil)
	require.NoError(t, err)
	for _, tag := range lib.Tags() {
		var items []kitchen.Item
		for kind := kitchen.BagUnsafe; kind <= kitchen.TopUp; kind++ {
			for i := range kitchen.MaxRunning / 4 {
				b := newsBag(-3*time.Hour, -2*time.Hour, -time.Hour, time.Duration(i-2)*time.Hour)
				items = append(items, kitchen.Item{
					Kind: kind, Bag: b, Late: time.Hour, Unpasteurised: i%2 == 0,
					Kept: kitchen.Kept{Food: "salmon", Frozen: i%2 == 0}, Step: kitchen.Step{Ref: "salmon"},
				})
			}
		}
		text := lib.Language(tag).News(items, reply.NewsOptions{Now: evening, Names: true, Again: true})
		whole(t, text.String(), tag)
	}
}

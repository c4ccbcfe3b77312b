package bot_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/bot"
	"bagwatch/internal/kitchen"
	"bagwatch/internal/quantity"
)

// later says or presses something at a moment.
func (b *bench) later(when time.Time, kind bot.Kind, text string) []said {
	b.t.Helper()
	b.at = when
	require.NoError(b.t, b.Handle(b.t.Context(), b.in(kind, mara, text)))
	return b.out.take()
}

// sent is the first message of what the bot did.
func sent(t *testing.T, out []said) bot.Message {
	t.Helper()
	for _, s := range out {
		if s.how == "send" {
			return s.m
		}
	}
	require.Fail(t, "nothing was sent")
	return bot.Message{}
}

func TestWordsAboutTheWaterAreRead(t *testing.T) {
	// Said at 15:00 by the clock of Lisbon in winter, which is UTC.
	now := noon.Add(3 * time.Hour)
	clock := func(hour, minute int) time.Time {
		return time.Date(now.Year(), now.Month(), now.Day(), hour, minute, 0, 0, time.UTC)
	}
	for text, want := range map[string]kitchen.Entry{
		"bath 52 at 14:10":           {Kind: kitchen.BathAt, At: clock(14, 10), Temperature: 52},
		"bath is at 52.5":            {Kind: kitchen.BathAt, At: now, Temperature: 52.5},
		"Water down to 125 F":        {Kind: kitchen.BathAt, At: now, Temperature: quantity.Temperature(51.66)}, // 51.667 °C, down to the step it is kept in
		"bath 52 20 min ago":         {Kind: kitchen.BathAt, At: now.Add(-20 * time.Minute), Temperature: 52},
		"power out 13:00 to 13:40":   {Kind: kitchen.PowerOut, At: clock(13, 0), Until: clock(13, 40)},
		"power out 13h to 13h40":     {Kind: kitchen.PowerOut, At: clock(13, 0), Until: clock(13, 40)}, // as in French
		"power out 13h-14h":          {Kind: kitchen.PowerOut, At: clock(13, 0), Until: clock(14, 0)},
		"power out 13:00-13:40":      {Kind: kitchen.PowerOut, At: clock(13, 0), Until: clock(13, 40)},
		"power out 2:50 to 3:40":     {Kind: kitchen.PowerOut, At: clock(14, 50)}, // it ends in the afternoon, so it goes on
		"power out since 14:30":      {Kind: kitchen.PowerOut, At: clock(14, 30)},
		"power was out for 1 h":      {Kind: kitchen.PowerOut, At: clock(14, 0), Until: now},
		"blackout 90 min ago":        {Kind: kitchen.PowerOut, At: clock(13, 30)},
		"power out 23:30 to 00:20":   {Kind: kitchen.PowerOut, At: clock(23, 30).AddDate(0, 0, -1), Until: clock(0, 20)},
		"lid off":                    {Kind: kitchen.LidOff, At: now},
		"lid was off 1 pm to 1:30pm": {Kind: kitchen.LidOff, At: clock(13, 0), Until: clock(13, 30)},
		"added 2 cold bags":          {Kind: kitchen.ColdBags, At: now, Count: 2},
		"added cold bag at 14:00":    {Kind: kitchen.ColdBags, At: clock(14, 0), Count: 1},
		"added 2 l":                  {Kind: kitchen.WaterAdded, At: now, Litres: 2},
		"topped up":                  {Kind: kitchen.WaterAdded, At: now},
	} {
		t.Run(text, func(t *testing.T) {
			b := newBench(t)
			b.say("/settings Lisbon")
			b.say("start chicken breast 3 cm 63C")
			b.later(now, bot.Text, text)
			lines := b.stored(bot.ChatID(mara)).Diary
			require.Len(t, lines, 1)
			got := lines[0]
			assert.Equal(t, kitchen.PersonID(mara), got.By.ID)
			got.By = kitchen.Who{}
			assert.Equal(t, want, got)
		})
	}
}

func TestWordsAboutOtherThingsAreNoDiary(t *testing.T) {
	for _, text := range []string{
		"ribeye 3 cm bath 52", "bath", "power", "lid", "2 cold bags", "power to the people", "bath 52 57", "cold water",
		"power out 1:00 to 2:00 to 3:00", "bath 52 and the ribeye",
	} {
		t.Run(text, func(t *testing.T) {
			b := newBench(t)
			b.say("/settings Lisbon")
			b.say("start chicken breast 3 cm 63C")
			b.later(noon.Add(time.Hour), bot.Text, text)
			assert.Empty(t, b.stored(bot.ChatID(mara)).Diary)
		})
	}
}

func TestAColderBathNeverMakesABagReadySooner(t *testing.T) {
	for _, line := range []string{"bath 61", "bath 57", "bath 30", "power out for 10 min", "power out for 50 min", "lid off", "added 3 cold bags", "added 4 l"} {
		t.Run(line, func(t *testing.T) {
			b := newBench(t)
			b.say("start chicken breast 3 cm 63C")
			before := b.bags(bot.ChatID(mara))[0]
			b.later(noon.Add(55*time.Minute), bot.Text, line)
			after := b.bags(bot.ChatID(mara))[0]
			assert.False(t, after.Times.Ready.Before(before.Times.Ready), "ready %v, was %v", after.Times.Ready, before.Times.Ready)
			if after.Trouble == "" {
				assert.False(t, after.Times.Pasteurised.Before(before.Times.Pasteurised))
			} else {
				assert.False(t, after.PasteurisedBy(after.Times.Limit))
			}
		})
	}
}

func TestALineTakenBackGivesTheTimesBack(t *testing.T) {
	for _, line := range []string{"bath 57", "bath 20", "power out for 50 min", "power out", "lid off", "added 3 cold bags"} {
		t.Run(line, func(t *testing.T) {
			b := newBench(t)
			b.say("start chicken breast 3 cm 63C")
			before := b.bags(bot.ChatID(mara))[0]
			out := b.later(noon.Add(55*time.Minute), bot.Text, line)
			assert.NotEqual(t, before, b.bags(bot.ChatID(mara))[0], "the line changed nothing, so this checks nothing")
			b.later(noon.Add(56*time.Minute), bot.Press, button(t, sent(t, out), "Take it back"))
			assert.Empty(t, b.stored(bot.ChatID(mara)).Diary)
			assert.Equal(t, before.Times, b.bags(bot.ChatID(mara))[0].Times)
			assert.Empty(t, b.bags(bot.ChatID(mara))[0].Trouble)
		})
	}
}

func TestSettingsDoNotMakeADiaryForgotten(t *testing.T) {
	b := newBench(t)
	b.say("start chicken breast 3 cm 63C")
	b.later(noon.Add(55*time.Minute), bot.Text, "bath 20")
	require.NotEmpty(t, b.bags(bot.ChatID(mara))[0].Trouble)
	// A thermometer that is better than thought plans every bag again.
	b.later(noon.Add(56*time.Minute), bot.Press, "st=0.1")
	assert.NotEmpty(t, b.bags(bot.ChatID(mara))[0].Trouble, "the water was cold all the same")
}

func TestABagStartedInAPowerCutKnowsOfIt(t *testing.T) {
	b := newBench(t)
	b.say("power out")
	b.later(noon.Add(time.Minute), bot.Text, "start chicken breast 3 cm 63C")
	require.Len(t, b.bags(bot.ChatID(mara)), 1)
	assert.NotEmpty(t, b.bags(bot.ChatID(mara))[0].Trouble)
}

func TestOnlyTheWriterOrAnAdminTakesALineBack(t *testing.T) {
	b := newBench(t)
	b.cookIn(mara, "Mara", "/cook start chicken breast 3 cm 63C")
	b.cookIn(mara, "Mara", "/water lid off")
	var data string
	for _, s := range b.out.take() {
		if s.how == "send" && len(s.m.Buttons) == 1 && s.m.Buttons[0][0].Label == "Take it back" {
			data = s.m.Buttons[0][0].Data
		}
	}
	require.NotEmpty(t, data)
	press := func(who bot.PersonID) {
		b.at = b.at.Add(time.Minute)
		in := b.in(bot.Press, who, data)
		in.Chat = bot.Chat{ID: quayStreet, Group: true, Title: "Quay Street"}
		require.NoError(t, b.Handle(t.Context(), in))
	}
	press(jonas)
	assert.Len(t, b.stored(quayStreet).Diary, 1, "it is not his")
	b.out.admins = map[bot.PersonID]bool{jonas: true}
	press(jonas)
	assert.Empty(t, b.stored(quayStreet).Diary)
}

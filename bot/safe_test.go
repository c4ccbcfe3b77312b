package bot_test

import (
	"maps"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/bot"
	"bagwatch/internal/cook"
)

// firstWord is the answer of a verdict.
func firstWord(text string) string {
	return regexp.MustCompile(`^(Yes|Not yet|No)\b`).FindString(text)
}

func TestTheFirstWordIsTheAnswer(t *testing.T) {
	// Times and temperatures far from any limit, so that no change of a figure moves the answer.
	for text, want := range map[string]string{
		"safe? chicken breast 30 mm 63C for 3 h":                  "Yes",
		"safe? chicken breast 30 mm 63C for 20 min":               "Not yet",
		"chicken breast 30 mm 63C 3 h, ok?":                       "Yes",
		"is my chicken breast ok, 30 mm, 3 h at 63":               "Yes",
		"can i eat the chicken breast 30 mm 63C, in 3 h ago":      "Yes",
		"safe? chicken breast 30 mm 63C":                          "Not yet", // nobody knows since when: the shortest time counts
		"safe? ribeye 3 cm 53C":                                   "No",      // and the longest, in water this cool
		"safe? chicken breast 30 mm 63C, forgot, at least 10 min": "Not yet",
		"safe? chicken breast 30 mm 55C for 9 h":                  "Not yet",
		"safe? ribeye 3 cm 53C for 7 h":                           "No",
		"safe? ribeye 3 cm 53C for 90 min":                        "Yes",
		"safe? ribeye 3 cm 53C for 90 min, for a pregnant guest":  "Not yet",
		"safe? chicken breast 30 mm 63C in 9 h ago for 2 h":       "No",      // out for seven hours since
		"safe? chicken breast 30 mm 63C in since 10:00":           "Not yet", // no clock: as if nobody knew
		"/safe chicken breast 30 mm 63C for 3 h":                  "Yes",
		"/safe carrots 84C for 3 h":                               "Yes",
	} {
		t.Run(text, func(t *testing.T) {
			b := newBench(t)
			out := b.say(text)
			require.Len(t, out, 1)
			assert.Equal(t, want, firstWord(out[0].text), out[0].text)
		})
	}
}

func TestYesterdayIsNotToday(t *testing.T) {
	b := newBench(t)
	b.say("/settings Lisbon")
	today := b.say("safe? chicken breast 30 mm 55C in since 10:30")[0].text
	yesterday := b.say("safe? chicken breast 30 mm 55C in since 10:30 yesterday")[0].text
	assert.Contains(t, today, "(1 h 30 min)")
	assert.Contains(t, yesterday, "(25 h 30 min)")
}

func TestAVerdictIsNeverLaxerAfterAColderReading(t *testing.T) {
	rank := map[string]int{"No": 0, "Not yet": 1, "Yes": 2}
	for _, question := range []string{"safe? chicken breast 30 mm 63C for 3 h", "safe? chicken breast 30 mm 63C for 100 min", "safe? pork chop 3 cm 58C for 2 h", "safe? salmon 25 mm 52C for 50 min"} {
		for _, core := range []string{"core 62C", "core 50C", "core 30C"} {
			b := newBench(t)
			before := firstWord(b.say(question)[0].text)
			after := firstWord(b.say(core)[0].text)
			require.NotEmpty(t, before)
			require.NotEmpty(t, after)
			assert.LessOrEqual(t, rank[after], rank[before], "%s, %s: %s after %s", question, core, after, before)
		}
	}
}

func TestAnAtRiskAnswerIsNeverLaxer(t *testing.T) {
	rank := map[string]int{"No": 0, "Not yet": 1, "Yes": 2}
	differ := 0
	for _, question := range []string{"safe? ribeye 3 cm 55C for 90 min", "safe? salmon 25 mm 52C for 50 min", "safe? duck breast 25 mm 57C for 1 h", "safe? chicken breast 30 mm 63C for 3 h", "safe? egg 64C for 1 h"} {
		b := newBench(t)
		plain := firstWord(b.say(question)[0].text)
		risk := firstWord(b.say("she is pregnant")[0].text)
		require.NotEmpty(t, plain, question)
		require.NotEmpty(t, risk, question)
		assert.LessOrEqual(t, rank[risk], rank[plain], question)
		if plain != risk {
			differ++
		}
	}
	assert.Positive(t, differ, "no answer differs, so this checks nothing")
}

func TestButtonsOfAQuestionAskItAgain(t *testing.T) {
	b := newBench(t)
	m := sent(t, b.say("safe? chicken breast 30 mm 63C for 20 min"))
	again := sent(t, b.later(noon.Add(3*time.Hour), bot.Press, button(t, m, "Ask again")))
	assert.Equal(t, "Yes", firstWord(again.Text.String()))
	assert.Contains(t, again.Text.String(), "in for 3 h 20 min")
	risk := sent(t, b.later(noon.Add(3*time.Hour), bot.Press, button(t, again, "At risk")))
	assert.Contains(t, risk.Text.String(), "higher risk")
}

func TestAQuestionFitsItsButtonWhateverIsSaid(t *testing.T) {
	long := cook.Request{
		Food: "beef-tenderloin", Pieces: 19, Mass: 0.9999, MassEach: true, Thickness: 0.06345, ThicknessVague: true, Shape: cook.ShapeCylinder,
		Start: cook.StartGiven, StartAt: -11.3, Doneness: "medium-rare", Setpoint: 57.77, HasSetpoint: true, NonIntact: true, Bath: cook.BathStill,
	}
	packed := bot.Pack(catalogue(t), long)
	minute := func(at time.Time) string { return strconv.FormatInt(at.Unix()/60, 36) }
	// Questions, yes and not yet, in and out of the water; then what their buttons lead to.
	queue := []string{
		"f" + packed + "." + minute(noon.Add(-20*time.Hour)), "f" + packed + "." + minute(noon.Add(-time.Hour)), "f" + packed + ".-" + minute(noon.Add(-time.Hour)),
		"f" + packed + "." + minute(noon.Add(-20*time.Hour)) + "." + minute(noon.Add(-time.Minute)), "i" + packed + "." + minute(noon.Add(-20*time.Hour)),
	}
	b, labels := newBench(t), map[string]bool{}
	for _, data := range queue {
		for _, out := range b.later(noon, bot.Press, data) {
			for _, row := range out.m.Buttons {
				for _, x := range row {
					labels[x.Label] = true
					assert.LessOrEqual(t, len(x.Data), 64, x.Label)
				}
			}
		}
	}
	assert.Subset(t, slices.Collect(maps.Keys(labels)), []string{"Ask again", "At risk", "Start the clock"})

}

func TestForgedSafetyButtonsAreAnsweredKindly(t *testing.T) {
	b := newBench(t)
	b.say("start cod 2 cm")
	packed := bot.Pack(catalogue(t), cook.Request{Food: "cod", Thickness: 0.02})
	forged := []string{
		"f", "f.", "fzz.1", "f" + packed, "f" + packed + ".", "f" + packed + ".zzzzzzzzz", "f" + packed + ".-", "f" + packed + ".1", "f" + packed + ".1.1.1",
		"i", "i" + packed, "i" + packed + ".1", "j", "j" + packed + ".1.1f", "j" + packed + ".1.1x", "j" + packed + ".1.1", "j" + packed + "..f",
		"k", "kmore/1", "keat/9", "kwarm/1/zz", "k/", "w", "w0.zz", "w9.1", "w-1.1", "w0.", "b/safe/1", "b/safe/9", "b/risk/1", "b/core./1", "b/core.1.x/1", "b/core.1.99999999/1",
		"b/core.1.5000/9", "b/chill/1", "b/cold./1", "b/cold.1/1", "b/ice.zzzzzz/1", "b/cold.zzzzzzzzzzzzzzzz/1",
	}
	for _, data := range forged {
		b.at = b.at.Add(5 * time.Second)
		require.NoError(t, b.Handle(t.Context(), b.in(bot.Press, mara, data)), data)
		notices := 0
		for _, s := range b.out.take() {
			assert.NotContains(t, s.text, "Something went wrong", data)
			if s.how == "notice" {
				notices++
			}
		}
		assert.Equal(t, 1, notices, data)
	}
	assert.NotContains(t, b.log.String(), "panicked")
	assert.Empty(t, b.stored(bot.ChatID(mara)).Kept, "cod that was never pasteurised is not kept")
	assert.False(t, strings.Contains(b.log.String(), "not handled"), b.log.String())
}

package bot_test

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/bot"
	"bagwatch/internal/cook"
	"bagwatch/internal/kitchen"
	"bagwatch/internal/quantity"
)

// press presses a button of Mara's chat under a message.
func (b *bench) press(data string, under bot.MessageID) []said {
	b.t.Helper()
	in := b.in(bot.Press, mara, data)
	in.Message = under
	require.NoError(b.t, b.Handle(b.t.Context(), in))
	b.at = b.at.Add(2 * time.Second)
	return b.out.take()
}

// going plans a dinner and starts it; it gives the message that shows it.
func (b *bench) going(text string) bot.MessageID {
	b.t.Helper()
	b.say("/settings Lisbon")
	b.say(text)
	card := bot.MessageID(b.stored(bot.ChatID(mara)).Dinner.Card.Message)
	require.NotZero(b.t, card, "proposed")
	b.press("D/go//", card)
	require.NotEmpty(b.t, b.stored(bot.ChatID(mara)).Steps, "started")
	return card
}

// stepAt is when a stored step is due.
func stepAt(t *testing.T, d kitchen.Document, what string) time.Time {
	t.Helper()
	for _, s := range d.Steps {
		if s.What == what {
			return s.At
		}
	}
	require.Fail(t, "no such step", what)
	return time.Time{}
}

// TestADinnerSurvivesARestart: another process plans the same from what is stored, after every kind of change.
func TestADinnerSurvivesARestart(t *testing.T) {
	b := newBench(t)
	b.going("/dinner 19:30: 2 ribeyes 3 cm medium rare, carrots 2 cm")
	b.say("late 15 min")
	b.at = stepAt(t, b.stored(bot.ChatID(mara)), "in.1").Add(10 * time.Minute)
	d := b.stored(bot.ChatID(mara))
	b.press("D/tick/"+stamp(d)+"/in.1", 1)
	b.say("guests late 30 min")
	b.say("dinner at 21:00")
	d = b.stored(bot.ChatID(mara))
	require.NotEmpty(t, d.Dinner.Marks)
	require.GreaterOrEqual(t, len(d.Dinner.Shifts), 3)
	here := b.say("dinner")
	require.NotEmpty(t, here)
	b.Bot = b.another()
	there := b.say("dinner")
	require.NotEmpty(t, there)
	assert.Equal(t, here[0].text, there[0].text)
	assert.Contains(t, here[0].text, "Dinner at 21:00")
}

// stamp is what the buttons of a dinner that is going carry.
func stamp(d kitchen.Document) string {
	const digits = "0123456789abcdefghijklmnopqrstuvwxyz"
	var out string
	for n := d.Dinner.Going.Unix(); n > 0; n /= 36 {
		out = string(digits[n%36]) + out
	}
	return out
}

// TestALateCookNeverShortensABag: whether the bag went in late, or nobody knows, what is planned then leaves
// it in for as long as the model asks.
func TestALateCookNeverShortensABag(t *testing.T) {
	plan, err := cook.New(catalogue(t)).Plan(cook.Request{Food: "chicken-breast", Thickness: quantity.Millimetres(30)})
	require.NoError(t, err)
	for _, after := range []time.Duration{time.Minute, 5 * time.Minute, 8 * time.Minute, 14 * time.Minute, 19 * time.Minute} {
		for name, act := range map[string]func(*bench, kitchen.Document){
			"late is said":        func(b *bench, _ kitchen.Document) { b.say("late 20 min") },
			"it is marked as in":  func(b *bench, d kitchen.Document) { b.press("D/tick/"+stamp(d)+"/in.0", 1) },
			"late, and then mark": func(b *bench, d kitchen.Document) { b.say("late 20 min"); b.press("D/tick/"+stamp(d)+"/in.0", 1) },
		} {
			b := newBench(t)
			b.going("/dinner 19:30: chicken breast 3 cm")
			due := stepAt(t, b.stored(bot.ChatID(mara)), "in.0")
			b.at = due.Add(after)
			said := b.at
			act(b, b.stored(bot.ChatID(mara)))
			d := b.stored(bot.ChatID(mara))
			in := due
			switch done := d.Dinner.Mark("in.0").Done; {
			case !done.IsZero() && after > 5*time.Minute:
				in = done
			case !done.IsZero():
			default: // nobody said that it is in: it is still to be put in
				in = stepAt(t, d, "in.0")
				assert.False(t, in.Before(said.Truncate(time.Minute)), "%s after %v", name, after)
			}
			assert.GreaterOrEqual(t, stepAt(t, d, "pull.0").Sub(in), plan.Ready, "%s after %v", name, after)
		}
	}
}

// TestForgedDinnerButtonsDoNothing: whatever a button carries, only one that the bot would show counts.
func TestForgedDinnerButtonsDoNothing(t *testing.T) {
	b := newBench(t)
	card := b.going("/dinner 19:30: salmon 2 cm")
	before := b.stored(bot.ChatID(mara))
	for _, data := range []string{
		"D", "D/", "D/go", "D/go///", "D/later//", "D/take//in.0", "D/take/abc/in.0", "D/end/0/", "D/end//", "D/cut//9.20",
		"D/take/" + stamp(before) + "/in.7", "D/tick/" + stamp(before) + "/", "D/serve/" + stamp(before) + "/!", "D/what/" + stamp(before) + "/",
		"D/done//0.nonsense", "D/baths//99", strings.Repeat("D/", 40),
	} {
		for _, under := range []bot.MessageID{card, 1, 0} {
			b.press(data, under)
			after := b.stored(bot.ChatID(mara))
			assert.Equal(t, before.Dinner, after.Dinner, data)
			assert.Equal(t, before.Steps, after.Steps, data)
		}
	}
}

// TestForgedButtonsOfAProposalAreRefused, and leave the proposal as it was.
func TestForgedButtonsOfAProposalAreRefused(t *testing.T) {
	b := newBench(t)
	b.say("/settings Lisbon")
	b.say("/dinner 19:30: salmon 2 cm")
	before := b.stored(bot.ChatID(mara)).Dinner
	for _, data := range []string{"D/cut//9.20", "D/cut//-1.20", "D/cut//0.0", "D/cut//0.x", "D/drop//0", "D/baths//0", "D/baths//4", "D/near//0", "D/serve//!", "D/none//"} {
		b.press(data, bot.MessageID(before.Card.Message))
		assert.Equal(t, before, b.stored(bot.ChatID(mara)).Dinner, data)
	}
}

// TestTheButtonsOfAnOldDinnerMeetNoNewOne.
func TestTheButtonsOfAnOldDinnerMeetNoNewOne(t *testing.T) {
	b := newBench(t)
	card := b.going("/dinner 19:30: salmon 2 cm")
	old := stamp(b.stored(bot.ChatID(mara)))
	b.say("/cancel")
	require.False(t, b.stored(bot.ChatID(mara)).Dinner.Some())
	b.going("/dinner 20:30: cod 2 cm")
	now := b.stored(bot.ChatID(mara))
	for _, data := range []string{"D/go//", "D/late/" + old + "/", "D/end/" + old + "/", "D/tick/" + old + "/in.0"} {
		got := b.press(data, card+500) // no message that shows a plan now
		require.Len(t, got, 1, data)
		assert.Equal(t, "notice", got[0].how, data)
		assert.Contains(t, got[0].text, "no longer", data)
		assert.Equal(t, now.Dinner, b.stored(bot.ChatID(mara)).Dinner, data)
	}
}

// TestADinnerDeliveredTwiceIsPlannedOnce.
func TestADinnerDeliveredTwiceIsPlannedOnce(t *testing.T) {
	b := newBench(t)
	b.say("/settings Lisbon")
	in := b.in(bot.Text, mara, "/dinner 19:30: salmon 2 cm")
	require.NoError(t, b.Handle(t.Context(), in))
	require.Len(t, b.out.take(), 1)
	require.NoError(t, b.Handle(t.Context(), in))
	assert.Empty(t, b.out.take())

	card := bot.MessageID(b.stored(bot.ChatID(mara)).Dinner.Card.Message)
	late := b.in(bot.Text, mara, "late 15 min")
	b.press("D/go//", card)
	require.NoError(t, b.Handle(t.Context(), late))
	require.NoError(t, b.Handle(t.Context(), late))
	assert.Len(t, b.stored(bot.ChatID(mara)).Dinner.Shifts, 1, "late once")
}

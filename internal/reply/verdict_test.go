package reply_test

import (
	"errors"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/internal/cook"
	"bagwatch/internal/food"
	"bagwatch/internal/quantity"
	"bagwatch/internal/reply"
)

func piece(id food.ID, mm, setpoint float64) cook.Request {
	return cook.Request{Food: id, Pieces: 1, Thickness: quantity.Millimetres(mm), HasSetpoint: true, Setpoint: quantity.Temperature(setpoint)}
}

// tenPastFive is when the bags of these tests go in.
var tenPastFive = time.Date(2026, 11, 25, 17, 10, 30, 0, time.UTC)

func said(t *testing.T, h cook.Happened, o reply.Options) (*cook.Verdict, []string) {
	t.Helper()
	v, err := model(t).Verdict(h)
	require.NoError(t, err)
	text := english(t).Verdict(v, o).String()
	whole(t, text, text)
	return v, strings.Split(text, "\n")
}

// TestVerdictIdsHaveTheirTexts: every reason, fact and organism that the model can name.
func TestVerdictIdsHaveTheirTexts(t *testing.T) {
	l := english(t)
	answers := map[string][]cook.ReasonID{
		"yes":    {cook.ReasonPasteurised, cook.ReasonRare, cook.ReasonLightly, cook.ReasonSoftEgg, cook.ReasonPlant},
		"notyet": {cook.ReasonLog, cook.ReasonCold, cook.ReasonFirm, cook.ReasonTooCool, cook.ReasonAtRisk, cook.ReasonTakenOut, cook.ReasonColdClock},
		"no":     {cook.ReasonClock, cook.ReasonSag, cook.ReasonSagCooked, cook.ReasonComeUp, cook.ReasonDelay, cook.ReasonNoClock, cook.ReasonNoClaim, cook.ReasonTooLate},
	}
	count := 0
	for answer, reasons := range answers {
		for _, r := range reasons {
			count++
			assert.True(t, l.Has(reply.ID("verdict."+answer+"."+string(r))), "%s %s", answer, r)
		}
	}
	assert.Len(t, constants(t, "../cook", "ReasonID"), count, "a reason without an answer in this test")
	for _, p := range constants(t, "../lethality", "Pathogen") {
		assert.True(t, l.Has(reply.ID("verdict.pathogen."+p)), p)
	}
	for _, c := range constants(t, "../cook", "ChangeID") {
		assert.True(t, l.Has(reply.ID("moved."+c)), c)
	}
	for _, r := range constants(t, "../cook", "ReheatRule") {
		assert.True(t, l.Has(reply.ID("reheat.rule."+r)), r)
	}
}

// TestTheVerdictComesFirst: the first word is the verdict, the second line is the reason in figures, the
// third what to do; what it cannot see and the local rules come last.
func TestTheVerdictComesFirst(t *testing.T) {
	risk := piece("beef-strip-steak", 25, 54)
	risk.AtRisk = true
	cut := cook.Diary{Events: []cook.Event{{Kind: cook.PowerOut, At: time.Hour, Until: 100 * time.Minute}}}
	for name, tt := range map[string]struct {
		h     cook.Happened
		lines []string // the first, the beginning of the second, the third
	}{
		"not yet": {cook.Happened{Request: piece("chicken-breast", 30, 61), Elapsed: 100 * time.Minute},
			[]string{"Not yet: pasteurised only at ", "Core now at least ", "Leave it in at 61 °C (142 °F); ask again at "}},
		"yes": {cook.Happened{Request: piece("chicken-breast", 30, 61), Elapsed: 3 * time.Hour},
			[]string{"Yes: it is pasteurised.", "Core now at least ", "Serve it or keep it hot in the water, best until "}},
		"a qualified yes": {cook.Happened{Request: piece("beef-strip-steak", 25, 54), Elapsed: time.Hour},
			[]string{"Yes, eat now: not pasteurised.", "Core now at least ", "Eat it by 21:10, then throw it away. Do not keep it."}},
		"no": {cook.Happened{Request: piece("beef-strip-steak", 25, 54), Elapsed: 5 * time.Hour},
			[]string{"No: too long in cool water. Throw it away.", "5 h below 54.4 °C; at most 4 h (FDA Food Code 3-501.19(B)).", "Throw it away, also if it looks and smells right."}},
		"guests at risk": {cook.Happened{Request: risk, Elapsed: time.Hour},
			[]string{"Not yet for guests at higher risk: the water must be warmer.", "Core now at least ", "Set the water to 60 °C (140 °F) now and leave it in: a yes at "}},
		"too late for guests at risk": {cook.Happened{Request: risk, Elapsed: 3 * time.Hour},
			[]string{"No, not for guests at higher risk.", "3 h below 54.4 °C; at most 2 h (house rule", "Do not serve it to them", "Guests who are not at higher risk may eat it until 21:10, not pasteurised."}},
		"a power cut": {cook.Happened{Request: piece("chicken-breast", 30, 61), Elapsed: 3 * time.Hour, Diary: cut},
			[]string{"Not yet: pasteurised only at ", "Core now at least ", "Leave it in"}},
		"nobody knows": {cook.Happened{Request: piece("beef-ribeye", 30, 54), ElapsedUnknown: true},
			[]string{"No: in water this cool only the clock", "Core now", "Throw it away"}},
	} {
		t.Run(name, func(t *testing.T) {
			for _, o := range []reply.Options{{In: tenPastFive}, {In: tenPastFive, Units: reply.Imperial}} {
				_, lines := said(t, tt.h, o)
				for i, want := range tt.lines {
					if o.Units == reply.Imperial {
						want = strings.Fields(want)[0]
					}
					assert.Truef(t, strings.HasPrefix(lines[i], want), "%q does not begin with %q", lines[i], want)
				}
				assert.Contains(t, lines[len(lines)-1], "I cannot see")
				assert.Contains(t, lines[len(lines)-1], "local food-safety rules come first")
			}
			_, lines := said(t, tt.h, reply.Options{})
			assert.NotContains(t, lines[0], "17:10", "without a time of day there are spans")
		})
	}
}

// TestVerdictsRoundToTheSafeSide: logs down to half a power of ten, the core down, a wait up, an end down.
func TestVerdictsRoundToTheSafeSide(t *testing.T) {
	v, lines := said(t, cook.Happened{Request: piece("chicken-breast", 30, 60), Elapsed: 2 * time.Hour}, reply.Options{In: tenPastFive})
	require.Len(t, v.Kills, 2)
	assert.NotContains(t, lines[1], "7 log (needed 7)", "it is not there yet")
	assert.Less(t, v.Kills[0].Log, 7.0)
	at := tenPastFive.Add(v.At.After)
	shown := lines[0][len("Not yet: pasteurised only at ") : len(lines[0])-1]
	clock, err := time.Parse("15:04", shown)
	require.NoError(t, err)
	assert.GreaterOrEqual(t, clock.Hour()*60+clock.Minute(), at.Hour()*60+at.Minute(), "never before it is")

	// 59.2 °C is said as 59, never as 59.5.
	assert.Regexp(t, `^Core now at least 59 °C\.`, lines[1])
	_, rare := said(t, cook.Happened{Request: piece("beef-strip-steak", 25, 54), Elapsed: time.Hour}, reply.Options{In: tenPastFive.Add(-time.Second)})
	assert.Contains(t, rare[2], "21:10", "17:10:29 and four hours, cut to the minute")
}

// TestOnlyPasteurisedFoodIsAPlainYes: no other answer may begin with "Yes:".
func TestOnlyPasteurisedFoodIsAPlainYes(t *testing.T) {
	l := english(t)
	for _, r := range []cook.ReasonID{cook.ReasonRare, cook.ReasonLightly, cook.ReasonSoftEgg} {
		text := l.Say(reply.ID("verdict.yes."+string(r)), nil)
		assert.True(t, strings.HasPrefix(text, "Yes, eat now: "), text)
		assert.Contains(t, text, "not ", text)
		assert.NotContains(t, text, "safe")
	}
}

// TestEveryVerdictReads: all foods, steady and after a power cut, early and late, for everybody; no holes.
func TestEveryVerdictReads(t *testing.T) {
	m := model(t)
	lib := english(t)
	cut := cook.Diary{Events: []cook.Event{
		{Kind: cook.PowerOut, At: 30 * time.Minute, Until: time.Hour}, {Kind: cook.WaterMeasured, At: 90 * time.Minute, Temperature: 58},
		{Kind: cook.ColdBags, At: 100 * time.Minute, Count: 1}, {Kind: cook.LidOff, At: time.Hour, Until: 2 * time.Hour},
	}}
	seen := map[string]bool{}
	foods := slices.Collect(m.Foods().All())
	for n, f := range foods {
		if testing.Short() && n%6 != 0 {
			continue // the race detector makes each ten times slower and looks for other faults
		}
		for i, h := range []cook.Happened{
			{Elapsed: 20 * time.Minute}, {Elapsed: 2 * time.Hour}, {Elapsed: 6 * time.Hour, Pulled: true, PulledAt: time.Hour},
			{Elapsed: 3 * time.Hour, Diary: cut}, {ElapsedUnknown: true, Readings: []cook.Reading{{Core: 50}}},
			{Elapsed: 3 * time.Hour, Readings: []cook.Reading{{At: time.Hour, Core: 30}}}, {Elapsed: time.Hour, Delay: 5 * time.Hour},
		} {
			h.Request = cook.Request{Food: f.ID, AtRisk: i%2 == 1, Cured: i == 1 && f.Safety != food.Plant}
			o := reply.Options{In: tenPastFive}
			if i%2 == 0 {
				o = reply.Options{Units: reply.Imperial}
			}
			v, err := m.Verdict(h)
			var refusal *cook.Refusal
			if errors.As(err, &refusal) {
				continue
			}
			require.NoError(t, err)
			seen[string(v.Answer)+" "+string(v.Reason)] = true
			whole(t, lib.Verdict(v, o).String(), string(f.ID))
			if i != 1 && i != 3 {
				continue // chilled and planned anew from two of the histories
			}
			c, err := m.Chill(h, cook.ChillSetup{})
			require.NoError(t, err)
			whole(t, lib.Chill(c, o).String(), string(f.ID))
			whole(t, lib.Label(c, o).String(), string(f.ID))
			r, err := m.Replan(h.Request, h.Diary)
			require.NoError(t, err)
			whole(t, lib.Moved(r, "", o).String(), string(f.ID))
		}
	}
	assert.GreaterOrEqual(t, len(seen), 10, "%v", seen)
}

// TestChillSaysWhatToDo: the ice, the limits, keep-until as a date, and the label.
func TestChillSaysWhatToDo(t *testing.T) {
	m, l := model(t), english(t)
	c, err := m.Chill(cook.Happened{Request: piece("chicken-breast", 30, 61), Elapsed: 3 * time.Hour}, cook.ChillSetup{})
	require.NoError(t, err)
	text := l.Chill(c, reply.Options{In: tenPastFive}).String()
	assert.True(t, strings.HasPrefix(text, "Chill: core at 5 °C after "), text)
	assert.Contains(t, text, "until 2026-11-29 (4 days), or freeze it.")
	assert.Contains(t, text, "FDA Food Code 3-501.14")
	label := l.Label(c, reply.Options{In: tenPastFive}).String()
	assert.Equal(t, "Chicken breast\npasteurised 2026-11-25, water 61 °C (142 °F)\neat by 2026-11-29, 4.4 °C or colder\nfrozen: best by 2027-02-23", label)
	assert.Nil(t, l.Label(c, reply.Options{}), "a label needs a date")

	thick, err := m.Chill(cook.Happened{Request: piece("turkey-breast", 100, 62), Elapsed: 20 * time.Hour}, cook.ChillSetup{})
	require.NoError(t, err)
	text = l.Chill(thick, reply.Options{In: tenPastFive}).String()
	assert.Contains(t, text, "Too slow for the published limits")
	assert.Contains(t, text, "Split or flatten it to ")
	assert.NotContains(t, text, "Keep it unopened", "first it must be thinner")

	raw, err := m.Chill(cook.Happened{Request: piece("salmon", 25, 50.5), Elapsed: time.Hour}, cook.ChillSetup{})
	require.NoError(t, err)
	assert.Contains(t, l.Chill(raw, reply.Options{In: tenPastFive}).String(), "Not for keeping")
	assert.Nil(t, l.Label(raw, reply.Options{In: tenPastFive}))

	bad, err := m.Chill(cook.Happened{Request: piece("salmon", 25, 50.5), Elapsed: 3 * time.Hour}, cook.ChillSetup{})
	require.NoError(t, err)
	assert.True(t, strings.HasPrefix(l.Chill(bad, reply.Options{In: tenPastFive}).String(), "No: "), "nothing is chilled that must be thrown away")
}

// TestReheatSaysItsRule: the rule and for how long it may have been kept.
func TestReheatSaysItsRule(t *testing.T) {
	m, l := model(t), english(t)
	s := cook.Stored{Request: piece("chicken-breast", 30, 61), Pasteurised: true, Kept: 48 * time.Hour}
	r, err := m.Reheat(s)
	require.NoError(t, err)
	text := l.Reheat(r, reply.Options{}).String()
	whole(t, text, text)
	assert.True(t, strings.HasPrefix(text, "Reheat: water at 61 °C (142 °F), core at 60 °C after "), text)
	assert.Contains(t, text, "FDA Food Code 3-403.10")
	s.Request.AtRisk = true
	r, err = m.Reheat(s)
	require.NoError(t, err)
	assert.Contains(t, l.Reheat(r, reply.Options{}).String(), "73.9 °C")
}

// TestMovedSaysWhatChanged: times before and after, and from when it is not safe, cut to the minute before.
func TestMovedSaysWhatChanged(t *testing.T) {
	m, l := model(t), english(t)
	bath := cook.Diary{Litres: 20, Watts: 1000, Events: []cook.Event{{Kind: cook.PowerOut, At: time.Hour, Until: 100 * time.Minute}}}
	r, err := m.Replan(piece("chicken-breast", 30, 61), bath)
	require.NoError(t, err)
	text := l.Moved(r, "", reply.Options{In: tenPastFive}).String()
	assert.Regexp(t, `^Chicken breast: ready \d\d:\d\d → \d\d:\d\d, pasteurised `, text)
	assert.Contains(t, text, "computed from its litres and watts")
	bath.Events[0].Ongoing = true
	r, err = m.Replan(piece("chicken-breast", 30, 61), bath)
	require.NoError(t, err)
	text = l.Moved(r, "Quay <b>", reply.Options{In: tenPastFive}).String()
	assert.Regexp(t, `^Quay <b>: not safe to eat from \d\d:\d\d on`, text)
	assert.Contains(t, text, "4 h below 54.4 °C")
	r, err = m.Replan(piece("chicken-breast", 30, 61), cook.Diary{})
	require.NoError(t, err)
	assert.Equal(t, "Chicken breast: times unchanged.", l.Moved(r, "", reply.Options{In: tenPastFive}).String())
}

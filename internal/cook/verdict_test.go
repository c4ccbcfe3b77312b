package cook_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/internal/cook"
	"bagwatch/internal/food"
	"bagwatch/internal/quantity"
)

const (
	hour   = time.Hour
	minute = time.Minute
)

// diary is a bath of which nobody knows litres and watts.
func diary(events ...cook.Event) cook.Diary { return cook.Diary{Events: events} }

// kitchenBath is a bath of 20 L with a heater of 1 kW.
func kitchenBath(events ...cook.Event) cook.Diary {
	return cook.Diary{Events: events, Litres: 20, Watts: 1000}
}

func read(at time.Duration, t quantity.Temperature) cook.Event {
	return cook.Event{Kind: cook.WaterMeasured, At: at, Temperature: t}
}

func set(at time.Duration, t quantity.Temperature) cook.Event {
	return cook.Event{Kind: cook.WaterSet, At: at, Temperature: t}
}

func cut(at, until time.Duration) cook.Event {
	return cook.Event{Kind: cook.PowerOut, At: at, Until: until}
}

func dead(at time.Duration) cook.Event {
	return cook.Event{Kind: cook.PowerOut, At: at, Ongoing: true}
}

// cold is a bath that is measured below 54.4 °C from one time to another.
func cold(from, to time.Duration, t quantity.Temperature) cook.Diary {
	return diary(set(from, t), set(to, 60))
}

func frozen(r *cook.Request) { r.Start = cook.StartFrozen }
func room(r *cook.Request)   { r.Start = cook.StartRoom }

// TestVerdictCases: what happened and what is said of it. The source beside each is the rule that decides.
func TestVerdictCases(t *testing.T) {
	m := model(t)
	chicken := at("chicken-breast", 30, 61) // pasteurised after 120 min
	strip := at("beef-strip-steak", 25, 54) // core after 47 min, no claim below 54.4 °C
	strip55 := at("beef-strip-steak", 25, 55.5)
	salmon := at("salmon", 25, 50.5) // core after 39 min
	chop := at("pork-chop", 25, 60)
	patty := at("beef-patty", 20, 62)
	for name, tt := range map[string]struct {
		h      cook.Happened
		answer cook.Answer
		reason cook.ReasonID
		do     cook.DoID
		source string
	}{
		// The clock below 54.4 °C: FDA Food Code 3-501.19(B), 4 h; FDA Fish Guide Appendix 4, 2 h.
		"rare steak, warm through, within 4 h": {
			cook.Happened{Request: strip, Elapsed: hour}, cook.Yes, cook.ReasonRare, cook.DoEatNow, ""},
		"rare steak, not warm through": {
			cook.Happened{Request: strip, Elapsed: 40 * minute}, cook.NotYet, cook.ReasonCold, cook.DoWait, ""},
		"rare steak, 3 h 59 min at 54 °C": {
			cook.Happened{Request: strip, Elapsed: 239 * minute}, cook.Yes, cook.ReasonRare, cook.DoEatNow, ""},
		"rare steak, 4 h at 54 °C": {
			cook.Happened{Request: strip, Elapsed: 4 * hour}, cook.No, cook.ReasonClock, cook.DoDiscard, "FDA Food Code 3-501.19(B)"},
		"rare steak from room temperature, two hours are spent": {
			cook.Happened{Request: with(strip, room), Elapsed: 121 * minute}, cook.No, cook.ReasonClock, cook.DoDiscard, "FDA Food Code 3-501.19(B)"},
		"rare steak that lay out for three hours, then one in the bath": {
			cook.Happened{Request: strip, Elapsed: 61 * minute, Delay: 3 * hour}, cook.No, cook.ReasonClock, cook.DoDiscard, "FDA Food Code 3-501.19(B)"},
		"salmon at 50.5 °C after an hour": {
			cook.Happened{Request: salmon, Elapsed: hour}, cook.Yes, cook.ReasonLightly, cook.DoEatNow, ""},
		"salmon at 50.5 °C after half an hour": {
			cook.Happened{Request: salmon, Elapsed: 30 * minute}, cook.NotYet, cook.ReasonCold, cook.DoWait, ""},
		"salmon at 50.5 °C after 1 h 59 min": {
			cook.Happened{Request: salmon, Elapsed: 119 * minute}, cook.Yes, cook.ReasonLightly, cook.DoEatNow, ""},
		"salmon at 50.5 °C after two hours": {
			cook.Happened{Request: salmon, Elapsed: 2 * hour}, cook.No, cook.ReasonClock, cook.DoDiscard, "FDA Fish and Fishery Products Hazards and Controls Guidance, Appendix 4"},
		"frozen salmon counts from going in": {
			cook.Happened{Request: with(salmon, frozen), Elapsed: 2 * hour}, cook.No, cook.ReasonClock, cook.DoDiscard, "FDA Fish and Fishery Products Hazards and Controls Guidance, Appendix 4"},
		"scallops at 52 °C after 45 min": {
			cook.Happened{Request: at("scallop", 25, 52), Elapsed: 45 * minute}, cook.Yes, cook.ReasonLightly, cook.DoEatNow, ""},

		// Higher-risk guests: 60 °C and pasteurised, house rule over FDA Food Code 3-801.11.
		"guests at risk and rare steak": {
			cook.Happened{Request: with(strip, atRisk), Elapsed: hour}, cook.NotYet, cook.ReasonAtRisk, cook.DoRaise, ""},
		"guests at risk and rare steak after two hours": {
			cook.Happened{Request: with(strip, atRisk), Elapsed: 2 * hour}, cook.No, cook.ReasonClock, cook.DoOthers, "house rule, half of FDA Food Code 3-501.19(B)"},
		"guests at risk and steak that was pasteurised at 56 °C": {
			cook.Happened{Request: with(at("beef-strip-steak", 25, 56), atRisk), Elapsed: 8 * hour}, cook.NotYet, cook.ReasonAtRisk, cook.DoRaise, ""},
		"the same for others": {
			cook.Happened{Request: at("beef-strip-steak", 25, 56), Elapsed: 8 * hour}, cook.Yes, cook.ReasonPasteurised, cook.DoServe, ""},
		"guests at risk, steak raised to 60 °C and held": {
			cook.Happened{Request: with(at("beef-strip-steak", 25, 56), atRisk), Elapsed: 8 * hour, Diary: diary(set(5*hour, 60))}, cook.Yes, cook.ReasonPasteurised, cook.DoServe, ""},
		"guests at risk, steak raised to 60 °C just now": {
			cook.Happened{Request: with(at("beef-strip-steak", 25, 56), atRisk), Elapsed: 8 * hour, Diary: diary(set(8*hour, 60))}, cook.NotYet, cook.ReasonAtRisk, cook.DoRaise, ""},
		"guests at risk and a soft egg": {
			cook.Happened{Request: with(at("egg", 43, 64), atRisk), Elapsed: 2 * hour}, cook.NotYet, cook.ReasonAtRisk, cook.DoRaise, ""},
		"guests at risk and a set egg": {
			cook.Happened{Request: with(at("egg", 43, 75), atRisk), Elapsed: hour}, cook.Yes, cook.ReasonPasteurised, cook.DoServe, ""},

		// What must be pasteurised, is: 9 CFR 381.150, 318.17; ACMSF 2007.
		"chicken at 61 °C after an hour and a half": {
			cook.Happened{Request: chicken, Elapsed: 90 * minute}, cook.NotYet, cook.ReasonLog, cook.DoWait, ""},
		"chicken at 61 °C after two hours": {
			cook.Happened{Request: chicken, Elapsed: 121 * minute}, cook.Yes, cook.ReasonPasteurised, cook.DoServe, ""},
		"chicken at 55 °C, however long": {
			cook.Happened{Request: at("chicken-breast", 30, 55), Elapsed: 3 * hour}, cook.NotYet, cook.ReasonTooCool, cook.DoRaise, ""},
		"chicken at 50 °C for an hour": {
			cook.Happened{Request: at("chicken-breast", 30, 50), Elapsed: hour}, cook.NotYet, cook.ReasonTooCool, cook.DoRaise, ""},
		"chicken at 50 °C for four hours": {
			cook.Happened{Request: at("chicken-breast", 30, 50), Elapsed: 4 * hour}, cook.No, cook.ReasonClock, cook.DoDiscard, "FDA Food Code 3-501.19(B)"},
		"chicken at 50 °C and no time left to save it": {
			cook.Happened{Request: at("chicken-breast", 30, 50), Elapsed: 239 * minute}, cook.No, cook.ReasonTooLate, cook.DoDiscard, ""},
		"chicken at 55 °C, raised to 63 °C two hours ago": {
			cook.Happened{Request: at("chicken-breast", 30, 55), Elapsed: 5 * hour, Diary: kitchenBath(set(3*hour, 63))}, cook.Yes, cook.ReasonPasteurised, cook.DoServe, ""},
		"pork chop warm through, not pasteurised": {
			cook.Happened{Request: chop, Elapsed: hour}, cook.NotYet, cook.ReasonLog, cook.DoWait, ""},
		"steak that was pinned": {
			cook.Happened{Request: with(strip55, nonIntact), Elapsed: hour}, cook.NotYet, cook.ReasonLog, cook.DoWait, ""},
		"the same steak in one uncut piece": {
			cook.Happened{Request: strip55, Elapsed: hour}, cook.Yes, cook.ReasonRare, cook.DoEatNow, ""},
		"burger at 62 °C after an hour": {
			cook.Happened{Request: patty, Elapsed: hour}, cook.NotYet, cook.ReasonLog, cook.DoWait, ""},
		"duck breast, lightly cooked": {
			cook.Happened{Request: at("duck-breast", 30, 57), Elapsed: 2 * hour}, cook.Yes, cook.ReasonLightly, cook.DoEatNow, ""},
		"egg at 64 °C after 45 min": {
			cook.Happened{Request: at("egg", 43, 64), Elapsed: 45 * minute}, cook.Yes, cook.ReasonSoftEgg, cook.DoEatNow, ""},
		"egg at 64 °C after 20 min": {
			cook.Happened{Request: at("egg", 43, 64), Elapsed: 20 * minute}, cook.NotYet, cook.ReasonLog, cook.DoWait, ""},
		"brined pork": {
			cook.Happened{Request: with(chop, cured), Elapsed: 6 * hour}, cook.No, cook.ReasonNoClaim, cook.DoThermometer, ""},
		"chuck that is pasteurised and still tough": {
			cook.Happened{Request: at("beef-chuck-roast", 60, 57), Elapsed: 12 * hour}, cook.Yes, cook.ReasonPasteurised, cook.DoServe, ""},
		"carrots after half an hour": {
			cook.Happened{Request: at("carrot", 20, 85), Elapsed: 30 * minute}, cook.NotYet, cook.ReasonFirm, cook.DoWait, ""},
		"carrots after an hour and a half": {
			cook.Happened{Request: at("carrot", 20, 85), Elapsed: 90 * minute}, cook.Yes, cook.ReasonPlant, cook.DoServe, ""},

		// Sags: 2 hour/4 hour rule, Food Standards Code practice; FDA Food Code 3-501.19(B) before it is pasteurised.
		"chicken pasteurised, then lukewarm for an hour": {
			cook.Happened{Request: chicken, Elapsed: 4*hour + 10*minute, Diary: cold(3*hour, 4*hour, 40)}, cook.Yes, cook.ReasonPasteurised, cook.DoServe, ""},
		"chicken pasteurised, then lukewarm for three hours": {
			cook.Happened{Request: chicken, Elapsed: 6 * hour, Diary: cold(3*hour, 6*hour, 40)}, cook.Yes, cook.ReasonPasteurised, cook.DoEatNow, ""},
		"chicken pasteurised, then lukewarm for over four hours": {
			cook.Happened{Request: chicken, Elapsed: 7*hour + 30*minute, Diary: cold(3*hour, 9*hour, 40)}, cook.No, cook.ReasonSagCooked, cook.DoDiscard, "2 hour/4 hour rule, Food Standards Code practice"},
		"and hot again since: it stays a no": {
			cook.Happened{Request: chicken, Elapsed: 12 * hour, Diary: cold(3*hour, 8*hour, 40)}, cook.No, cook.ReasonSagCooked, cook.DoDiscard, "2 hour/4 hour rule, Food Standards Code practice"},
		"chicken lukewarm for over four hours before it was pasteurised": {
			cook.Happened{Request: chicken, Elapsed: 12 * hour, Diary: cold(hour, 6*hour, 40)}, cook.No, cook.ReasonSag, cook.DoDiscard, "FDA Food Code 3-501.19(B)"},
		"mackerel pasteurised, then lukewarm for over two hours: histamine": {
			cook.Happened{Request: with(at("mackerel", 20, 63), pasteurised), Elapsed: 5 * hour, Diary: cold(2*hour, 5*hour, 40)}, cook.No, cook.ReasonSagCooked, cook.DoDiscard, "FDA Fish and Fishery Products Hazards and Controls Guidance, Appendix 4"},
		"bag found in a cold bath in the morning": {
			cook.Happened{Request: at("beef-chuck-roast", 60, 57), Elapsed: 12 * hour, Diary: kitchenBath(dead(2*hour), read(12*hour, 28))}, cook.No, cook.ReasonSag, cook.DoDiscard, "FDA Food Code 3-501.19(B)"},
		"bag found in a cold bath, power out for unknown reason and only the reading": {
			cook.Happened{Request: at("beef-chuck-roast", 60, 57), Elapsed: 12 * hour, Diary: diary(read(12*hour, 28))}, cook.No, cook.ReasonSag, cook.DoDiscard, "FDA Food Code 3-501.19(B)"},
		"a power cut of 40 min in a known bath moves it, no more": {
			cook.Happened{Request: chicken, Elapsed: 4 * hour, Diary: kitchenBath(cut(hour, 100*minute))}, cook.Yes, cook.ReasonPasteurised, cook.DoServe, ""},
		"the same before its new time": {
			cook.Happened{Request: chicken, Elapsed: 150 * minute, Diary: kitchenBath(cut(hour, 100*minute))}, cook.NotYet, cook.ReasonLog, cook.DoWait, ""},
		"the same in a bath that nobody knows": {
			cook.Happened{Request: chicken, Elapsed: 4 * hour, Diary: diary(cut(hour, 100*minute))}, cook.NotYet, cook.ReasonLog, cook.DoWait, ""},
		"the power is still out": {
			cook.Happened{Request: chicken, Elapsed: 90 * minute, Diary: kitchenBath(dead(hour))}, cook.NotYet, cook.ReasonTooCool, cook.DoRaise, ""},
		"water at 52 °C all along: chicken is not done": {
			cook.Happened{Request: chicken, Elapsed: 150 * minute, Diary: diary(read(150*minute, 52))}, cook.NotYet, cook.ReasonTooCool, cook.DoRaise, ""},
		"steak in water measured at 52 °C for over four hours": {
			cook.Happened{Request: strip55, Elapsed: 5 * hour, Diary: diary(read(5*hour, 52))}, cook.No, cook.ReasonSag, cook.DoDiscard, "FDA Food Code 3-501.19(B)"},

		// Come-up: USDA FSIS 2021, Revised Appendix A, pp. 23–24: 6 h from 10 to 54.4 °C.
		"pork in a bath that warms for seven hours with it": {
			cook.Happened{Request: at("pork-loin-roast", 70, 60), Elapsed: 14 * hour, Diary: diary(read(0, 20), set(0, 60), read(3*hour, 40), set(4*hour, 60))}, cook.No, cook.ReasonSag, cook.DoDiscard, "FDA Food Code 3-501.19(B)"},
		"a stuffed roast too thick to warm through in six hours": {
			cook.Happened{Request: with(at("beef-round-roast", 120, 55), nonIntact), Elapsed: 14 * hour}, cook.No, cook.ReasonComeUp, cook.DoDiscard, "USDA FSIS 2021, Revised Appendix A, pp. 23–24"},
		"the same roast, uncut: its surface was hot": {
			cook.Happened{Request: at("beef-round-roast", 120, 55), Elapsed: 30 * hour}, cook.Yes, cook.ReasonPasteurised, cook.DoServe, ""},
		"chicken four hours on the counter first": {
			cook.Happened{Request: chicken, Elapsed: 3 * hour, Delay: 4 * hour}, cook.No, cook.ReasonDelay, cook.DoDiscard, "FDA Food Code 3-501.19(B)"},
		"fish two hours on the counter first": {
			cook.Happened{Request: with(at("salmon", 25, 63), pasteurised), Elapsed: 3 * hour, Delay: 2 * hour}, cook.No, cook.ReasonDelay, cook.DoDiscard, "FDA Fish and Fishery Products Hazards and Controls Guidance, Appendix 4"},
		"chicken one hour on the counter first": {
			cook.Happened{Request: chicken, Elapsed: 3 * hour, Delay: hour}, cook.Yes, cook.ReasonPasteurised, cook.DoServe, ""},

		// Out of the water.
		"chicken taken out too early": {
			cook.Happened{Request: chicken, Elapsed: 80 * minute, Pulled: true, PulledAt: hour}, cook.NotYet, cook.ReasonTakenOut, cook.DoBackIn, ""},
		"chicken taken out too early, hours ago": {
			cook.Happened{Request: chicken, Elapsed: 6 * hour, Pulled: true, PulledAt: hour}, cook.No, cook.ReasonSag, cook.DoDiscard, "FDA Food Code 3-501.19(B)"},
		"chicken taken out in time, an hour ago": {
			cook.Happened{Request: chicken, Elapsed: 200 * minute, Pulled: true, PulledAt: 140 * minute}, cook.Yes, cook.ReasonPasteurised, cook.DoServe, ""},
		"chicken taken out in time, three hours ago": {
			cook.Happened{Request: chicken, Elapsed: 5 * hour, Pulled: true, PulledAt: 2 * hour}, cook.Yes, cook.ReasonPasteurised, cook.DoEatNow, ""},
		"chicken taken out in time, four hours ago": {
			cook.Happened{Request: chicken, Elapsed: 6*hour + minute, Pulled: true, PulledAt: 2 * hour}, cook.No, cook.ReasonSagCooked, cook.DoDiscard, "2 hour/4 hour rule, Food Standards Code practice"},
		"rare steak taken out warm through": {
			cook.Happened{Request: strip, Elapsed: 2 * hour, Pulled: true, PulledAt: hour}, cook.Yes, cook.ReasonRare, cook.DoEatNow, ""},
		"rare steak taken out, four hours after it went in": {
			cook.Happened{Request: strip, Elapsed: 4 * hour, Pulled: true, PulledAt: hour}, cook.No, cook.ReasonClock, cook.DoDiscard, "FDA Food Code 3-501.19(B)"},

		// Nobody knows.
		"nobody knows when the steak went into water at 54 °C": {
			cook.Happened{Request: strip, ElapsedUnknown: true}, cook.No, cook.ReasonNoClock, cook.DoDiscard, "FDA Food Code 3-501.19(B)"},
		"nobody knows when the chicken went into water at 61 °C": {
			cook.Happened{Request: chicken, ElapsedUnknown: true}, cook.NotYet, cook.ReasonLog, cook.DoWait, ""},
		"the chicken went in between two and six hours ago": {
			cook.Happened{Request: chicken, Elapsed: 2 * hour, ElapsedMost: 6 * hour}, cook.Yes, cook.ReasonPasteurised, cook.DoServe, ""},
		"the steak went in between one and five hours ago": {
			cook.Happened{Request: strip, Elapsed: hour, ElapsedMost: 5 * hour}, cook.No, cook.ReasonClock, cook.DoDiscard, "FDA Food Code 3-501.19(B)"},

		// Readings of the core.
		"a reading says the chicken lags": {
			cook.Happened{Request: chicken, Elapsed: 130 * minute, Readings: []cook.Reading{{At: 90 * minute, Core: 50}}}, cook.NotYet, cook.ReasonLog, cook.DoWait, ""},
		"a warm reading buys no lethality before it": {
			cook.Happened{Request: chicken, Elapsed: 90 * minute, Readings: []cook.Reading{{At: 90 * minute, Core: 61}}}, cook.NotYet, cook.ReasonLog, cook.DoWait, ""},
		"unknown entry, core read at 60 °C an hour ago": {
			cook.Happened{Request: chicken, Elapsed: hour, ElapsedUnknown: true, Readings: []cook.Reading{{At: 0, Core: 60.5}}}, cook.Yes, cook.ReasonPasteurised, cook.DoServe, ""},
		"steak read warm at the core before its time": {
			cook.Happened{Request: strip, Elapsed: 40 * minute, Readings: []cook.Reading{{At: 38 * minute, Core: 54}}}, cook.Yes, cook.ReasonRare, cook.DoEatNow, ""},
		"steak read cold at the core after its time": {
			cook.Happened{Request: strip, Elapsed: 60 * minute, Readings: []cook.Reading{{At: 59 * minute, Core: 45}}}, cook.NotYet, cook.ReasonCold, cook.DoWait, ""},
	} {
		t.Run(name, func(t *testing.T) {
			v := judged(t, m, tt.h)
			assert.Equal(t, [3]string{string(tt.answer), string(tt.reason), string(tt.do)}, [3]string{string(v.Answer), string(v.Reason), string(v.Do)})
			assert.Equal(t, tt.source, v.Note.Source)
			if tt.answer == cook.No && tt.do != cook.DoThermometer {
				assert.False(t, v.Helps)
			}
			if tt.answer == cook.NotYet {
				assert.False(t, v.At.Never, "a not yet says when")
				assert.GreaterOrEqual(t, v.At.After, tt.h.Elapsed)
			}
		})
	}
}

// TestNoVerdictAfterTheAlertIsNotYet: when a plan says ready, a verdict at that time is a yes, and a plain
// one only when it is pasteurised. Plans are drawn over all foods and donenesses.
func TestNoVerdictAfterTheAlertIsNotYet(t *testing.T) {
	m := model(t)
	checked := 0
	for f := range m.Foods().All() {
		for _, step := range f.Steps {
			for _, r := range []cook.Request{
				{Food: f.ID, Doneness: step.ID},
				{Food: f.ID, Doneness: step.ID, AtRisk: true},
				{Food: f.ID, Doneness: step.ID, Pieces: 1, Mass: f.Portion.Mass},
			} {
				p, err := m.Plan(r)
				if err != nil {
					continue
				}
				ready := quantity.CeilTo(max(p.Ready, p.ReadyLate), time.Second)
				if ready > p.BestBefore {
					continue // the window of a guess may close before its late end
				}
				v := judged(t, m, cook.Happened{Request: r, Elapsed: ready})
				checked++
				what := string(f.ID) + " " + string(step.ID)
				assert.Equal(t, cook.Yes, v.Answer, "%s: %s", what, v.Reason)
				plain := v.Reason == cook.ReasonPasteurised || v.Reason == cook.ReasonPlant
				assert.Equal(t, p.Serve == cook.ServePlant || p.Pasteurised.By(ready), plain, what)
				if !plain {
					assert.Equal(t, cook.DoEatNow, v.Do, what)
				}
			}
		}
	}
	assert.Greater(t, checked, 300, "or this checks nothing")
}

// TestOthersMayEat: a guest says she is pregnant; the rest of the table hears that they may eat.
func TestOthersMayEat(t *testing.T) {
	v := judged(t, model(t), cook.Happened{Request: with(at("beef-strip-steak", 25, 54), atRisk), Elapsed: hour})
	assert.Equal(t, cook.Yes, v.Others)
	assert.InDelta(t, 240, v.OthersUntil.After.Minutes(), 0.1, "the four hours, to the seconds of the search")
	assert.Equal(t, quantity.Temperature(60), v.Setpoint)
	var national bool
	for _, n := range v.Cautions {
		national = national || n.ID == cook.CautionNational
	}
	assert.True(t, national, "the consumer minimum stands beside it")
}

// TestHowLongAYesHolds: what a yes holds until.
func TestHowLongAYesHolds(t *testing.T) {
	m := model(t)
	rare := judged(t, m, cook.Happened{Request: at("beef-strip-steak", 25, 54), Elapsed: hour})
	assert.InDelta(t, 240, rare.Until.After.Minutes(), 0.1)
	hot := judged(t, m, cook.Happened{Request: at("chicken-breast", 30, 61), Elapsed: 3 * hour})
	assert.True(t, hot.Until.Never, "in water that is hot enough nothing grows")
	assert.Positive(t, hot.BestUntil)
	out := judged(t, m, cook.Happened{Request: at("chicken-breast", 30, 61), Elapsed: 3 * hour, Pulled: true, PulledAt: 150 * minute})
	assert.InDelta(t, 150+240, out.Until.After.Minutes(), 0.1, "four hours out of the water")
}

// TestHistoriesThatCannotBe are refused.
func TestHistoriesThatCannotBe(t *testing.T) {
	m := model(t)
	r := at("chicken-breast", 30, 61)
	for name, h := range map[string]cook.Happened{
		"in the future":             {Request: r, Elapsed: -time.Second},
		"longer than anybody looks": {Request: r, Elapsed: cook.Horizon + time.Second},
		"most is less than least":   {Request: r, Elapsed: 2 * hour, ElapsedMost: hour},
		"out before in":             {Request: r, Elapsed: hour, Pulled: true, PulledAt: 2 * hour},
		"a reading to come":         {Request: r, Elapsed: hour, Readings: []cook.Reading{{At: 2 * hour, Core: 50}}},
		"a core that boils":         {Request: r, Elapsed: hour, Readings: []cook.Reading{{At: hour, Core: 120}}},
		"a delay before the start":  {Request: r, Elapsed: hour, Delay: -time.Second},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := m.Verdict(h)
			assert.ErrorIs(t, err, cook.ErrHappened)
		})
	}
	for name, d := range map[string]cook.Diary{
		"water that is ice":           diary(read(0, -5)),
		"water that is steam":         diary(read(0, 120)),
		"a cut that ends before":      diary(cut(2*hour, hour)),
		"a kind nobody knows":         diary(cook.Event{Kind: "flood"}),
		"litres of a swimming pool":   {Events: []cook.Event{cut(0, hour)}, Litres: 1e6},
		"a line from another month":   diary(read(1000*hour, 50)),
		"a kitchen below freezing":    {Room: -10},
		"more bags than a bath holds": diary(cook.Event{Kind: cook.ColdBags, Count: 1000}),
	} {
		t.Run(name, func(t *testing.T) {
			_, err := m.Verdict(cook.Happened{Request: r, Elapsed: hour, Diary: d})
			require.ErrorIs(t, err, cook.ErrDiary)
		})
	}
	var refusal *cook.Refusal
	_, err := m.Verdict(cook.Happened{Request: cook.Request{Food: food.ID("liver")}})
	require.ErrorAs(t, err, &refusal)
	assert.Equal(t, cook.RefuseUnknownFood, refusal.Rule)
}

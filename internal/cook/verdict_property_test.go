package cook_test

import (
	"errors"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"bagwatch/internal/cook"
	"bagwatch/internal/quantity"
)

// diaries draws a bath diary around a setpoint: readings, settings, cuts, open lids and cold bags, in a bath
// known or not. No water is below 12 °C: below 10 °C nothing grows, so that cold water can be better than cool.
func diaries(setpoint quantity.Temperature) *rapid.Generator[cook.Diary] {
	return rapid.Custom(func(t *rapid.T) cook.Diary {
		var d cook.Diary
		if rapid.Bool().Draw(t, "known bath") {
			d.Litres = quantity.Volume(rapid.Float64Range(5, 60).Draw(t, "litres"))
			d.Watts = quantity.Power(rapid.Float64Range(600, 2000).Draw(t, "watts"))
			d.Covered = rapid.Bool().Draw(t, "covered")
		}
		for range rapid.IntRange(1, 4).Draw(t, "lines") {
			e := cook.Event{At: minutesOf(t, "at", -60, 600)}
			switch rapid.IntRange(0, 5).Draw(t, "kind") {
			case 0, 1:
				e.Kind, e.Temperature = cook.WaterMeasured, quantity.Temperature(rapid.Float64Range(16, float64(setpoint)+2).Draw(t, "read"))
			case 2:
				e.Kind, e.Temperature = cook.WaterSet, quantity.Temperature(rapid.Float64Range(40, 75).Draw(t, "set"))
			case 3:
				e.Kind, e.Until = cook.PowerOut, e.At+minutesOf(t, "for", 1, 500)
				e.Ongoing = rapid.IntRange(0, 5).Draw(t, "ongoing") == 0
			case 4:
				e.Kind, e.Until = cook.LidOff, e.At+minutesOf(t, "for", 1, 200)
			case 5:
				e.Kind, e.Count = cook.ColdBags, rapid.IntRange(1, 3).Draw(t, "bags")
				e.Frozen = rapid.Bool().Draw(t, "frozen")
			}
			d.Events = append(d.Events, e)
		}
		return d
	})
}

func minutesOf(t *rapid.T, name string, low, high int) time.Duration {
	return time.Duration(rapid.IntRange(low, high).Draw(t, name)) * time.Minute
}

// colder is a diary of colder water: all readings and settings lower by as much, never below 12 °C, or, in a
// diary without readings, longer cuts and more cold bags. With readings those would explain a low one, which
// without a cause means a bath that does not heat, and that is the colder of the two.
func colder(t *rapid.T, d cook.Diary) cook.Diary {
	d.Events = slices.Clone(d.Events)
	by := quantity.Temperature(rapid.Float64Range(0, 10).Draw(t, "colder by"))
	readings := slices.ContainsFunc(d.Events, func(e cook.Event) bool { return e.Kind == cook.WaterMeasured })
	for _, e := range d.Events {
		if e.Kind == cook.WaterMeasured || e.Kind == cook.WaterSet {
			by = min(by, e.Temperature-12)
		}
	}
	for i := range d.Events {
		e := &d.Events[i]
		switch {
		case e.Kind == cook.WaterMeasured || e.Kind == cook.WaterSet:
			e.Temperature -= by
		case readings:
		case e.Kind == cook.PowerOut:
			e.Until += time.Duration(rapid.IntRange(0, 100).Draw(t, "longer")) * time.Minute
		case e.Kind == cook.ColdBags:
			e.Count += rapid.IntRange(0, 2).Draw(t, "more bags")
		}
	}
	return d
}

// lived draws what happened to a request that can be followed at all.
func lived(t *rapid.T, m *cook.Model, r cook.Request) (cook.Happened, bool) {
	h := cook.Happened{Request: r, Elapsed: minutesOf(t, "elapsed", 0, 900)}
	if rapid.IntRange(0, 3).Draw(t, "delayed") == 0 {
		h.Delay = minutesOf(t, "delay", 0, 300)
	}
	if rapid.IntRange(0, 3).Draw(t, "pulled") == 0 {
		h.Pulled, h.PulledAt = true, h.Elapsed*time.Duration(rapid.IntRange(0, 100).Draw(t, "pulled at"))/100
	}
	v, ok := answer(t, m, h)
	if ok && rapid.Bool().Draw(t, "written down") {
		h.Diary = diaries(v.Plan.Setpoint).Draw(t, "diary")
	}
	return h, ok
}

// answer is the verdict, or false for a request that cannot be followed.
func answer(t *rapid.T, m *cook.Model, h cook.Happened) (*cook.Verdict, bool) {
	v, err := m.Verdict(h)
	var refusal *cook.Refusal
	if errors.As(err, &refusal) {
		return nil, false
	}
	require.NoError(t, err)
	return v, true
}

// verdicts runs a property over what may have happened.
func verdicts(t *testing.T, property func(t *rapid.T, m *cook.Model, h cook.Happened)) {
	t.Helper()
	m := model(t)
	draws := requests(m)
	rapid.Check(t, func(t *rapid.T) {
		if racing && rapid.IntRange(0, 14).Draw(t, "one in fifteen") != 0 {
			return // there is nothing concurrent to find here
		}
		h, ok := lived(t, m, draws.Draw(t, "request"))
		if !ok {
			t.Skip("cannot be followed")
		}
		property(t, m, h)
	})
}

// TestColderWaterNeverMakesAYes: whatever is not yet or no stays so when the water was colder, any line of it.
func TestColderWaterNeverMakesAYes(t *testing.T) {
	verdicts(t, func(t *rapid.T, m *cook.Model, h cook.Happened) {
		warm, _ := answer(t, m, h)
		if warm == nil || warm.Answer == cook.Yes {
			return
		}
		cool := h
		if h.Diary.Empty() { // then colder water is a reading
			cool.Diary.Events = []cook.Event{{Kind: cook.WaterMeasured, At: 0, Temperature: warm.Plan.Setpoint - quantity.Temperature(rapid.Float64Range(0, 15).Draw(t, "below"))}}
		} else {
			cool.Diary = colder(t, h.Diary)
		}
		v, ok := answer(t, m, cool)
		require.True(t, ok)
		require.NotEqual(t, cook.Yes, v.Answer, "warm %s %s, cool %s %s", warm.Answer, warm.Reason, v.Answer, v.Reason)
	})
}

// TestLessTimeNeverMakesAYes: what is not yet at a time was not a yes before it. (A no can have been one:
// the clock ran out.)
func TestLessTimeNeverMakesAYes(t *testing.T) {
	verdicts(t, func(t *rapid.T, m *cook.Model, h cook.Happened) {
		long, ok := answer(t, m, h)
		if !ok || long.Answer != cook.NotYet {
			return
		}
		short := h
		if h.Pulled {
			short.PulledAt = time.Duration(rapid.Float64Range(0, 1).Draw(t, "share") * float64(h.PulledAt))
		} else {
			short.Elapsed = time.Duration(rapid.Float64Range(0, 1).Draw(t, "share") * float64(h.Elapsed))
		}
		v, ok := answer(t, m, short)
		require.True(t, ok)
		require.NotEqual(t, cook.Yes, v.Answer, "then %s", v.Reason)
	})
}

// strictness orders answers.
var strictness = map[cook.Answer]int{cook.Yes: 0, cook.NotYet: 1, cook.No: 2}

// TestAtRiskIsNeverLaxer: nor is a piece that was pinned, or a thermometer that may be further off.
func TestAtRiskIsNeverLaxer(t *testing.T) {
	verdicts(t, func(t *rapid.T, m *cook.Model, h cook.Happened) {
		h.Request.AtRisk = false
		if !h.Request.HasSetpoint { // what the same bath is set to
			v, ok := answer(t, m, h)
			if !ok {
				return
			}
			h.Request.HasSetpoint, h.Request.Setpoint = true, v.Plan.Setpoint
		}
		plain, ok := answer(t, m, h)
		if !ok {
			return
		}
		h.Request.AtRisk = true
		v, ok := answer(t, m, h)
		require.True(t, ok)
		require.GreaterOrEqual(t, strictness[v.Answer], strictness[plain.Answer], "plain %s %s, at risk %s %s", plain.Answer, plain.Reason, v.Answer, v.Reason)
		if v.Answer == cook.Yes && v.Reason != cook.ReasonPlant {
			require.Equal(t, cook.ReasonPasteurised, v.Reason)
		}
	})
}

// TestUnknownIsNeverLaxer: not knowing when it went in never turns anything into a yes, for the least time
// that is known.
func TestUnknownIsNeverLaxer(t *testing.T) {
	verdicts(t, func(t *rapid.T, m *cook.Model, h cook.Happened) {
		known, ok := answer(t, m, h)
		if !ok || known.Answer == cook.Yes {
			return
		}
		h.ElapsedUnknown = true
		v, ok := answer(t, m, h)
		require.True(t, ok)
		require.NotEqual(t, cook.Yes, v.Answer)
	})
}

// TestReadingsBuyNothingBeforeThem: a reading, however warm, adds no lethality before it; and a cold one
// never makes a yes.
func TestReadingsBuyNothingBeforeThem(t *testing.T) {
	verdicts(t, func(t *rapid.T, m *cook.Model, h cook.Happened) {
		h.Pulled = false
		without, ok := answer(t, m, h)
		if !ok {
			return
		}
		h.Readings = []cook.Reading{{At: h.Elapsed, Core: quantity.Temperature(rapid.Float64Range(0, 90).Draw(t, "core"))}}
		with, ok := answer(t, m, h)
		require.True(t, ok)
		for i, k := range with.Kills {
			require.LessOrEqual(t, k.Log, without.Kills[i].Log*1.004+0.004, "the quadrature's 0.3 %% and the solver's")
		}
		if without.Answer != cook.Yes && with.Answer == cook.Yes {
			// only what is served unpasteurised may be found warm through by a probe
			require.Contains(t, []cook.ReasonID{cook.ReasonRare, cook.ReasonLightly, cook.ReasonPlant}, with.Reason)
		}
	})
}

// TestVerdictsAreDetermined: the same history, the same answer, to the last figure.
func TestVerdictsAreDetermined(t *testing.T) {
	verdicts(t, func(t *rapid.T, m *cook.Model, h cook.Happened) {
		a, ok := answer(t, m, h)
		b, again := answer(t, m, h)
		require.Equal(t, ok, again)
		if !ok {
			return
		}
		require.Equal(t, bare(a), bare(b))
	})
}

// bare is a verdict without the plan and its curves.
func bare(v *cook.Verdict) cook.Verdict {
	c := *v
	c.Plan = nil
	return c
}

// TestColderWaterNeverPasteurisesEarlier: under a diary and its colder twin. A thousandth of the time is the
// quadrature's, a minute the solver's where two curves cross.
func TestColderWaterNeverPasteurisesEarlier(t *testing.T) {
	verdicts(t, func(t *rapid.T, m *cook.Model, h cook.Happened) {
		h.Pulled = false
		steady, _ := answer(t, m, cook.Happened{Request: h.Request})
		h.Diary = diaries(steady.Plan.Setpoint).Draw(t, "warm diary")
		warm, _ := answer(t, m, h)
		h.Diary = colder(t, h.Diary)
		cool, _ := answer(t, m, h)
		if cool.Pasteurised.Never {
			return
		}
		require.False(t, warm.Pasteurised.Never)
		slack := time.Minute + warm.Pasteurised.After/1000
		require.GreaterOrEqual(t, cool.Pasteurised.After+slack, warm.Pasteurised.After)
	})
}

// TestAVerdictIsNoLaxerThanThePlan: in a steady bath, a request that a safety rule refuses gets no yes but for
// what was pasteurised meanwhile, or soft eggs whose rule was reached.
func TestAVerdictIsNoLaxerThanThePlan(t *testing.T) {
	m := model(t)
	draws := requests(m)
	rapid.Check(t, func(t *rapid.T) {
		for range 8 { // without a diary a verdict is quick
			r := draws.Draw(t, "request")
			r.Span = 0
			_, refusal := try(t, m, r)
			if refusal == nil {
				continue
			}
			switch refusal.Rule {
			case cook.RefusePastTexture, cook.RefuseTooFirm, cook.RefuseLongCool, cook.RefuseNeverReaches:
				continue // not good, or not tender, in the time it may stay in: it can still be eaten as rare meat before
			}
			v, ok := answer(t, m, cook.Happened{Request: r, Elapsed: minutesOf(t, "elapsed", 0, 1500)})
			if ok && v.Answer == cook.Yes {
				require.Contains(t, []cook.ReasonID{cook.ReasonPasteurised, cook.ReasonPlant}, v.Reason, "refused by %s", refusal.Rule)
			}
		}
	})
}

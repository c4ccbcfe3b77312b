package cook_test

import (
	"errors"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/internal/cook"
	"bagwatch/internal/food"
	"bagwatch/internal/heat"
	"bagwatch/internal/lethality"
)

// with changes a request in place.
func with(r cook.Request, change func(*cook.Request)) cook.Request {
	change(&r)
	return r
}

func atRisk(r *cook.Request)      { r.AtRisk = true }
func nonIntact(r *cook.Request)   { r.NonIntact = true }
func pasteurised(r *cook.Request) { r.Pasteurised = true }
func cured(r *cook.Request)       { r.Cured = true }

func planned(t *testing.T, m *cook.Model, r cook.Request) *cook.Plan {
	t.Helper()
	p, err := m.Plan(r)
	require.NoError(t, err)
	return p
}

func refused(t *testing.T, m *cook.Model, r cook.Request) *cook.Refusal {
	t.Helper()
	_, err := m.Plan(r)
	var refusal *cook.Refusal
	require.ErrorAs(t, err, &refusal)
	return refusal
}

func cautions(p *cook.Plan) (ids []cook.NoteID) {
	for _, n := range p.Cautions {
		ids = append(ids, n.ID)
	}
	return ids
}

func assumptions(p *cook.Plan) (ids []cook.NoteID) {
	for _, n := range p.Assumptions {
		ids = append(ids, n.ID)
	}
	return ids
}

// TestRuleBrokenAndKept holds, for each rule that refuses, one request that breaks it and one beside it
// that just keeps it.
func TestRuleBrokenAndKept(t *testing.T) {
	m := model(t)
	for name, tt := range map[string]struct {
		breaks cook.Request
		rule   cook.RuleID
		keeps  cook.Request
	}{
		"a food must be known": {cook.Request{Food: "liver"}, cook.RefuseUnknownFood, at("beef-ribeye", 30, 56)},
		"poultry below the first row of its table, 57.8 °C": {
			at("chicken-breast", 30, 57.7), cook.RefuseNoFloor, at("chicken-breast", 30, 58.3)},
		"pork below the first row of the red meat table, 54.4 °C": {
			at("pork-chop", 25, 54.3), cook.RefuseNoFloor, at("pork-chop", 25, 54.5)},
		"an egg below the liquid-white process, 56.7 °C": {
			at("egg", 47, 56.6), cook.RefuseNoFloor, at("egg", 47, 57.5)},
		"minced meat waits for its rule, so it needs the floor": {
			at("beef-patty", 20, 54.3), cook.RefuseNoFloor, at("beef-patty", 20, 60)},
		"tenderised steak is not intact": {
			with(at("beef-strip-steak", 25, 54), nonIntact), cook.RefuseNoFloor, at("beef-strip-steak", 25, 54)},
		"guests at risk need 60 °C": {
			with(at("beef-strip-steak", 25, 59.9), atRisk), cook.RefuseAtRiskCool, with(at("beef-strip-steak", 25, 60), atRisk)},
		"guests at risk need the egg set": {
			with(at("egg", 47, 64), atRisk), cook.RefuseAtRiskEgg, with(at("egg", 47, 71), atRisk)},
		"below 54.4 °C the careful core must be warm in 4 h": {
			at("beef-tenderloin", 50, 53), cook.RefuseSlowCore, at("beef-tenderloin", 49, 53)},
		"below 54.4 °C nothing is left in over 4 h": {
			with(at("beef-strip-steak", 25, 54), func(r *cook.Request) { r.Span = 241 * time.Minute }), cook.RefuseLongCool,
			with(at("beef-strip-steak", 25, 54), func(r *cook.Request) { r.Span = 240 * time.Minute })},
		"below 54.4 °C fish is not left in over 2 h": {
			with(at("salmon", 25, 50.5), func(r *cook.Request) { r.Span = 121 * time.Minute }), cook.RefuseLongCool,
			with(at("salmon", 25, 50.5), func(r *cook.Request) { r.Span = 120 * time.Minute })},
		"two hours at room temperature count against the four": {
			with(at("beef-strip-steak", 38, 54), func(r *cook.Request) { r.Start = cook.StartRoom }), cook.RefuseSlowCore,
			with(at("beef-strip-steak", 25, 54), func(r *cook.Request) { r.Start = cook.StartRoom })},
		"fish out of the cold for two hours has none left below 54.4 °C": {
			with(at("salmon", 25, 50.5), func(r *cook.Request) { r.Start = cook.StartRoom }), cook.RefuseLongCool,
			at("salmon", 25, 50.5)},
		"more than 6 h between 10 and 54.4 °C, not intact": {
			with(at("beef-round-roast", 90, 55), nonIntact), cook.RefuseComeUp, with(at("beef-round-roast", 40, 60), nonIntact)},
		"cured food that must be pasteurised": {
			with(at("chicken-breast", 30, 63), cured), cook.RefuseCured, with(at("beef-strip-steak", 25, 56), cured)},
		"a bath at the boiling point": {
			at("carrot", 20, 100), cook.RefuseBoiling, at("carrot", 20, 95)},
		"a bath at the boiling point up a mountain": {
			with(at("carrot", 20, 90.5), func(r *cook.Request) { r.Altitude = 3000 }), cook.RefuseBoiling,
			with(at("carrot", 20, 89), func(r *cook.Request) { r.Altitude = 3000 })},
		"steak cooler than anybody serves it": {
			at("beef-strip-steak", 25, 40), cook.RefuseTooCool, at("beef-strip-steak", 25, 50)},
		"vegetables do not get tender below 80 °C": {
			with(at("carrot", 20, 79), func(r *cook.Request) { r.Doneness = "tender" }), cook.RefuseTooFirm,
			with(at("carrot", 20, 80), func(r *cook.Request) { r.Doneness = "tender" })},
		"thicker than the food comes": {at("salmon", 200, 52), cook.RefuseTooThick, at("salmon", 40, 52)},
		"thinner than the food comes": {at("beef-ribeye", 1, 56), cook.RefuseTooThin, at("beef-ribeye", 10, 56)},
		"40 kg of shrimp":             {cook.Request{Food: "shrimp", Mass: 40}, cook.RefuseTooHeavy, cook.Request{Food: "shrimp", Mass: 1}},
		"too many pieces": {
			with(at("egg", 47, 64), func(r *cook.Request) { r.Pieces = 201 }), cook.RefuseTooMany,
			with(at("egg", 47, 64), func(r *cook.Request) { r.Pieces = 24 })},
		"a negative thickness": {cook.Request{Food: "beef-ribeye", Thickness: -0.03}, cook.RefuseNotFood, at("beef-ribeye", 30, 56)},
		"warmer than the bath at the start": {
			with(at("salmon", 25, 44), func(r *cook.Request) { r.Start, r.StartAt = cook.StartGiven, 44.5 }), cook.RefuseStart,
			with(at("beef-ribeye", 25, 56), func(r *cook.Request) { r.Start, r.StartAt = cook.StartGiven, 8 })},
	} {
		t.Run(name, func(t *testing.T) {
			assert.Equal(t, tt.rule, refused(t, m, tt.breaks).Rule)
			planned(t, m, tt.keeps)
		})
	}
}

// TestPasteurisedIsTheStrictestRule: the word means the class's target and six decimal reductions of
// Listeria, whichever comes last, for every food.
func TestPasteurisedIsTheStrictestRule(t *testing.T) {
	m := model(t)
	for f := range m.Foods().All() {
		p := planned(t, m, cook.Request{Food: f.ID, HasSetpoint: true, Setpoint: max(75, f.DefaultStep().Default)})
		var listeria bool
		var last time.Duration
		for _, k := range p.Kills {
			listeria = listeria || (k.Rule.ID == lethality.ListeriaSixLog && k.Rule.Target == 6)
			require.False(t, k.Reached.Never, "%s %s", f.ID, k.Rule.ID)
			last = max(last, k.Reached.After)
		}
		assert.True(t, listeria, "%s carries the Listeria rule", f.ID)
		assert.Equal(t, last, p.Pasteurised.After, string(f.ID))
	}
}

// TestServedBeforePasteurised: exactly the foods that may be eaten lightly cooked are ready before they
// are pasteurised, each with its caution; everything else waits. Eggs wait for Salmonella.
func TestServedBeforePasteurised(t *testing.T) {
	m := model(t)
	allowed := map[food.Group]bool{food.Beef: true, food.Lamb: true, food.Veal: true, food.Game: true, food.Fish: true, food.Shellfish: true}
	for f := range m.Foods().All() {
		for _, step := range f.Steps {
			p, err := m.Plan(cook.Request{Food: f.ID, Doneness: step.ID})
			if err != nil {
				var refusal *cook.Refusal
				require.ErrorAs(t, err, &refusal, "%s %s", f.ID, step.ID)
				continue
			}
			before := !p.Pasteurised.By(p.Ready)
			switch {
			case f.Safety == food.Plant:
				assert.Equal(t, cook.ServePlant, p.Serve)
			case f.Texture == food.TextureEgg:
				assert.True(t, p.Kills[0].Reached.By(p.Ready), "egg %s: Salmonella rule first", step.ID)
				if before {
					assert.Contains(t, cautions(p), cook.CautionSoftEgg)
				}
			case before:
				assert.True(t, allowed[f.Group] && f.Safety != food.NonIntactRedMeat || f.ID == "duck-breast", "%s may not be served before it is pasteurised", f.ID)
				assert.Contains(t, cautions(p), cook.CautionNotPasteurised)
				ids := cautions(p)
				assert.True(t, contains(ids, cook.CautionRare) || contains(ids, cook.CautionLightlyCooked), "%s %s says for whom", f.ID, step.ID)
				if p.Serve == cook.ServeRare {
					assert.NotNil(t, p.Sear, "the sear of %s is part of its safety", f.ID)
				}
			default:
				assert.Equal(t, cook.ServePasteurised, p.Serve, "%s %s", f.ID, step.ID)
			}
		}
	}
}

func contains(ids []cook.NoteID, id cook.NoteID) bool {
	for _, have := range ids {
		if have == id {
			return true
		}
	}
	return false
}

// TestAtRiskPlans: whatever the food and doneness, a plan for guests at risk is at 60 °C or more and
// pasteurised when ready, and a refusal offers one that is.
func TestAtRiskPlans(t *testing.T) {
	m := model(t)
	for f := range m.Foods().All() {
		if f.Safety == food.Plant {
			continue
		}
		for _, step := range f.Steps {
			r := cook.Request{Food: f.ID, Doneness: step.ID, AtRisk: true}
			p, err := m.Plan(r)
			var refusal *cook.Refusal
			if errors.As(err, &refusal) {
				require.NotNil(t, refusal.NearestPlan, "%s %s: %s", f.ID, step.ID, refusal.Rule)
				p = refusal.NearestPlan
			}
			assert.GreaterOrEqual(t, float64(p.Setpoint), 60.0, "%s %s", f.ID, step.ID)
			assert.True(t, p.Pasteurised.By(p.Ready), "%s %s", f.ID, step.ID)
			assert.True(t, p.Request.AtRisk)
			if f.Group != food.Custard {
				assert.Contains(t, cautions(p), cook.CautionNational, "%s: the national minimum is printed beside it", f.ID)
			}
		}
	}
}

// TestCarefulGeometry: safety sees a slab unless the piece truly is something else.
func TestCarefulGeometry(t *testing.T) {
	m := model(t)
	two := func(r *cook.Request) { r.Pieces = 2 }
	for name, tt := range map[string]struct {
		request cook.Request
		kind    heat.Kind
		edge    float64 // mm, the size the careful estimate uses
	}{
		"a steak is a slab":                                  {at("beef-ribeye", 30, 56), heat.Slab, 30},
		"a fillet of fish is a slab":                         {at("salmon", 25, 52), heat.Slab, 25},
		"a joint is a block":                                 {at("beef-chuck-roast", 60, 60), heat.Brick, 60},
		"one pork tenderloin is an oval":                     {at("pork-tenderloin", 55, 60), heat.Brick, 55},
		"two pork tenderloins in a bag are a slab":           {with(at("pork-tenderloin", 55, 60), two), heat.Slab, 55},
		"an egg is a sphere, however many":                   {with(at("egg", 47, 64), two), heat.Sphere, 47},
		"a thickness guessed from mass is 15 % more":         {cook.Request{Food: "beef-ribeye", Pieces: 1, Mass: 0.450}, heat.Slab, 1.15 * 1000 * 0.450 / (1050 * 0.0130)},
		"so is one that was said vaguely":                    {with(at("beef-ribeye", 30, 56), func(r *cook.Request) { r.ThicknessVague = true }), heat.Slab, 34.5},
		"a shape the cook names does not make a steak round": {with(at("beef-ribeye", 30, 56), func(r *cook.Request) { r.Shape = cook.ShapeSphere }), heat.Slab, 30},
	} {
		t.Run(name, func(t *testing.T) {
			p := planned(t, m, tt.request)
			assert.Equal(t, tt.kind, p.Careful.Shape.Kind)
			assert.InDelta(t, tt.edge, p.Careful.Shape.X.Millimetres(), 0.8, "the catalogue's own fill and density are within 0.8 mm")
			assert.InDelta(t, float64(p.Setpoint)-0.5, float64(p.Careful.Bath), 1e-9)
		})
	}
	joint := planned(t, m, at("beef-chuck-roast", 60, 60)).Careful.Shape
	assert.InDelta(t, 120, joint.Y.Millimetres(), 1e-9)
	assert.InDelta(t, 180, joint.Z.Millimetres(), 1e-9)
}

// TestStillPot: without circulation the films are 70 and 40 W/(m² K), and everything takes longer.
func TestStillPot(t *testing.T) {
	m := model(t)
	r := at("chicken-breast", 30, 63)
	moved := planned(t, m, r)
	r.Bath = cook.BathStill
	still := planned(t, m, r)
	assert.Equal(t, heat.Film(70), still.Likely.Film)
	assert.Equal(t, heat.Film(40), still.Careful.Film)
	assert.Greater(t, still.Pasteurised.After, moved.Pasteurised.After)
	assert.Greater(t, still.CoreReached, moved.CoreReached)
}

// TestComeUpWarning: over six hours between 10 and 54.4 °C an intact joint is warned about, and one that
// is quick enough is not.
func TestComeUpWarning(t *testing.T) {
	m := model(t)
	slow := planned(t, m, at("beef-round-roast", 120, 56))
	assert.Contains(t, cautions(slow), cook.CautionComeUp)
	assert.Greater(t, slow.ComeUp.After, 6*time.Hour)
	quick := planned(t, m, at("beef-round-roast", 60, 58))
	assert.NotContains(t, cautions(quick), cook.CautionComeUp)
	assert.LessOrEqual(t, quick.ComeUp.After, 6*time.Hour)
}

// TestCuredDropsTheClaim: nothing is said to be pasteurised that was salted, cured or sugared ahead.
func TestCuredDropsTheClaim(t *testing.T) {
	p := planned(t, model(t), with(at("beef-strip-steak", 25, 60), cured))
	assert.True(t, p.Pasteurised.Never)
	assert.Contains(t, cautions(p), cook.CautionNoClaim)
}

// TestNonIntactTakesTheStrictRule: the burger law replaces the one for intact meat.
func TestNonIntactTakesTheStrictRule(t *testing.T) {
	m := model(t)
	p := planned(t, m, with(at("beef-strip-steak", 25, 60), nonIntact))
	assert.Equal(t, lethality.NonIntactSTEC, p.Kills[0].Rule.ID)
	assert.True(t, p.Pasteurised.By(p.Ready))
	asks := planned(t, m, at("beef-strip-steak", 25, 56))
	assert.Contains(t, cautions(asks), cook.CautionTenderised, "a rare steak asks whether it was pinned")
	assert.Contains(t, assumptions(asks), cook.AssumeIntact)
}

// TestParasitesAndHistamine: finfish below 60 °C for a minute asks for freezing; tuna and mackerel for ice.
func TestParasitesAndHistamine(t *testing.T) {
	m := model(t)
	assert.Contains(t, cautions(planned(t, m, at("cod", 25, 52))), cook.CautionParasites)
	assert.NotContains(t, cautions(planned(t, m, with(at("cod", 25, 63), pasteurised))), cook.CautionParasites)
	assert.Contains(t, cautions(planned(t, m, at("mackerel", 20, 52))), cook.CautionHistamine)
	assert.NotContains(t, cautions(planned(t, m, at("cod", 25, 52))), cook.CautionHistamine)
}

// TestLongCookHabits: over 12 h double seal; below 60 °C the dip against sour bags as well.
func TestLongCookHabits(t *testing.T) {
	m := model(t)
	cool := planned(t, m, at("beef-short-rib", 45, 57))
	assert.Subset(t, cautions(cool), []cook.NoteID{cook.CautionLongBag, cook.CautionLongSurface, cook.CautionSaltLate})
	hot := planned(t, m, at("beef-brisket", 50, 68))
	assert.Contains(t, cautions(hot), cook.CautionLongBag)
	assert.NotContains(t, cautions(hot), cook.CautionLongSurface)
	assert.NotContains(t, cautions(planned(t, m, at("beef-ribeye", 25, 56))), cook.CautionLongBag)
}

// TestEveryFoodHasAPlan: the catalogue's own portion and doneness pass every rule.
func TestEveryFoodHasAPlan(t *testing.T) {
	m := model(t)
	for f := range m.Foods().All() {
		p := planned(t, m, cook.Request{Food: f.ID})
		assert.Equal(t, f.DefaultDoneness, p.Doneness, string(f.ID))
		assert.Equal(t, cook.SetpointDefault, p.SetpointFrom)
		assert.LessOrEqual(t, p.Ready, p.LastCall, string(f.ID))
		assert.LessOrEqual(t, p.LastCall, p.BestBefore, string(f.ID))
		assert.LessOrEqual(t, p.BestBefore, p.Limit, string(f.ID))
	}
}

// TestThermometerError: a bath whose thermometer is known to be worse is taken that much cooler.
func TestThermometerError(t *testing.T) {
	m := model(t)
	r := at("chicken-breast", 30, 63)
	usual := planned(t, m, r)
	r.ThermometerError = 1.5
	worse := planned(t, m, r)
	assert.InDelta(t, 61.5, float64(worse.Careful.Bath), 1e-9)
	assert.Greater(t, worse.Pasteurised.After, usual.Pasteurised.After)
	r.ThermometerError = 0.1
	assert.Equal(t, usual.Pasteurised, planned(t, m, r).Pasteurised, "the margin is never less than half a kelvin")
}

func BenchmarkPlan(b *testing.B) {
	m := model(b)
	for name, r := range map[string]cook.Request{
		"ribeye":          at("beef-ribeye", 30, 55.5),
		"guessed chicken": {Food: "chicken-breast"},
		"chuck roast":     at("beef-chuck-roast", 60, 57),
		"eggs":            {Food: "egg"},
		"frozen roast":    with(at("beef-chuck-roast", 100, 60), func(r *cook.Request) { r.Start = cook.StartFrozen }),
		"refused":         at("beef-tenderloin", 50, 53),
	} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				_, _ = m.Plan(r)
			}
		})
	}
}

// TestFrozenStart: every food with a composition can start frozen, and takes longer for it. The lower bound
// on the ratio is that of lean beef in slabs (1.22 computed, 1.3 is the rule of thumb) less its spread.
func TestFrozenStart(t *testing.T) {
	m := model(t)
	for f := range m.Foods().All() {
		if f.Material.Composition == nil {
			continue
		}
		r := cook.Request{Food: f.ID, HasSetpoint: true, Setpoint: max(62, f.DefaultStep().Default), Thickness: min(0.03, f.Portion.Thickness)}
		if r.Thickness < f.Limits.ThicknessMin {
			r.Thickness = f.Limits.ThicknessMin
		}
		thawed := planned(t, m, r)
		r.Start = cook.StartFrozen
		frozen := planned(t, m, r)
		assert.Greater(t, float64(frozen.CoreReached)/float64(thawed.CoreReached), 1.1, string(f.ID))
		assert.Greater(t, frozen.Pasteurised.After, thawed.Pasteurised.After, string(f.ID))
	}
}

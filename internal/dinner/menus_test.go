package dinner_test

import (
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/internal/cook"
	"bagwatch/internal/dinner"
)

// menu is a realistic dinner with the order of its steps and its reasons as a cook would expect them.
type menu struct {
	ahead   time.Duration // how long before serving it is asked for
	kit     dinner.Kit
	dishes  []dinner.Dish
	order   string
	reasons string
}

func menus() map[string]menu {
	frozen := func(r *cook.Request) { r.Start = cook.StartFrozen }
	risk := func(r *cook.Request) { r.AtRisk = true }
	ribeye, carrot, egg := of("beef-ribeye", 2, 30, "medium-rare"), of("carrot", 4, 20, ""), at("egg", 4, 0, 64)
	big, weak, hot := baths(1), baths(1), baths(1)
	big.Baths[0] = dinner.Bath{Litres: 25, Watts: 2000}
	weak.Baths[0] = dinner.Bath{Litres: 25, Watts: 700}
	hot.Baths[0].Now = 70
	list := func(d ...dinner.Dish) []dinner.Dish { return d }
	return map[string]menu{
		"one food alone": {6 * time.Hour, baths(1), list(ribeye),
			"heat 0 to 55.5 | beef-ribeye in | beef-ribeye pull | beef-ribeye sear",
			""},
		"steak and carrots in one bath": {8 * time.Hour, baths(1), list(ribeye, carrot),
			"heat 0 to 85.0 | carrot in | ice 0 to 57.0 | beef-ribeye in | beef-ribeye pull | beef-ribeye sear | carrot pull",
			"kept carrot, hot-first carrot, shared beef-ribeye"},
		"steak and carrots in two baths": {8 * time.Hour, baths(2), list(ribeye, carrot),
			"heat 1 to 85.0 | heat 0 to 55.5 | beef-ribeye in | carrot in | beef-ribeye pull | beef-ribeye sear | carrot pull",
			""},
		"steak, carrots and eggs in one bath": {10 * time.Hour, baths(1), list(ribeye, carrot, egg),
			"heat 0 to 85.0 | carrot in | ice 0 to 64.0 | carrot out | egg in | ice 0 to 57.0 | beef-ribeye in | carrot reheat | beef-ribeye pull | beef-ribeye sear | carrot pull | egg pull",
			"ahead carrot, hot-first carrot, kept egg, hot-first egg, shared beef-ribeye"},
		"steak, carrots and eggs in two baths": {10 * time.Hour, baths(2), list(ribeye, carrot, egg),
			"heat 1 to 85.0 | carrot in | heat 0 to 55.5 | beef-ribeye in | ice 1 to 64.0 | egg in | beef-ribeye pull | beef-ribeye sear | carrot pull | egg pull",
			"kept carrot, hot-first carrot"},
		"steak, carrots and eggs in three baths": {10 * time.Hour, baths(3), list(ribeye, carrot, egg),
			"heat 1 to 85.0 | heat 0 to 55.5 | heat 2 to 64.0 | beef-ribeye in | carrot in | egg in | beef-ribeye pull | beef-ribeye sear | carrot pull | egg pull",
			""},
		"steak and eggs in one bath": {10 * time.Hour, baths(1), list(ribeye, egg),
			"heat 0 to 64.0 | egg in | ice 0 to 57.0 | beef-ribeye in | beef-ribeye pull | beef-ribeye sear | egg pull",
			"kept egg, hot-first egg, shared beef-ribeye"},
		"duck and beef meet in the middle": {10 * time.Hour, baths(1), list(ribeye, of("duck-breast", 2, 30, "medium-rare")),
			"heat 0 to 56.0 | beef-ribeye in | duck-breast in | duck-breast pull | beef-ribeye pull | duck-breast sear | beef-ribeye sear",
			"shared beef-ribeye, shared duck-breast, pan duck-breast"},
		"pork and chicken meet where their words overlap": {10 * time.Hour, baths(1), list(of("pork-chop", 2, 30, "medium"), of("chicken-breast", 2, 30, "supple")),
			"heat 0 to 60.0 | chicken-breast in | pork-chop in | chicken-breast pull | pork-chop pull | chicken-breast sear | pork-chop sear",
			"shared chicken-breast, pan chicken-breast"},
		"salmon and steak share one water": {10 * time.Hour, baths(1), list(of("salmon", 2, 25, "flaking"), ribeye),
			"heat 0 to 55.0 | beef-ribeye in | salmon in | beef-ribeye pull | salmon pull | beef-ribeye sear | salmon sear",
			"shared beef-ribeye, pan beef-ribeye"},
		"salmon that is just set needs its own bath": {10 * time.Hour, baths(2), list(of("salmon", 2, 25, "just-set"), ribeye),
			"heat 1 to 55.5 | beef-ribeye in | heat 0 to 50.5 | salmon in | beef-ribeye pull | salmon pull | beef-ribeye sear | salmon sear",
			"pan beef-ribeye"},
		"salmon and carrots in one bath": {10 * time.Hour, baths(1), list(of("salmon", 2, 25, "flaking"), carrot),
			"heat 0 to 85.0 | carrot in | ice 0 to 57.0 | salmon in | salmon pull | salmon sear | carrot pull",
			"kept carrot, hot-first carrot, shared salmon"},
		"chicken thighs with carrots warmed up in their water": {10 * time.Hour, baths(1), list(of("chicken-thigh", 4, 20, ""), carrot),
			"heat 0 to 85.0 | carrot in | ice 0 to 74.0 | carrot out | chicken-thigh in | carrot reheat | chicken-thigh pull | chicken-thigh sear | carrot pull",
			"ahead carrot, hot-first carrot"},
		"a brisket through the night": {50 * time.Hour, baths(1), list(of("beef-brisket", 1, 50, "fork-tender"), carrot),
			"heat 0 to 85.0 | carrot in | ice 0 to 68.0 | carrot out | beef-brisket in | carrot reheat | beef-brisket pull | beef-brisket sear | carrot pull",
			"ahead carrot, hot-first carrot"},
		"short ribs for two days and a steak in the same water": {80 * time.Hour, baths(1), list(of("beef-short-rib", 2, 45, "sliceable"), ribeye),
			"heat 0 to 55.5 | beef-short-rib in | beef-ribeye in | beef-short-rib pull | beef-ribeye pull | beef-short-rib sear | beef-ribeye sear",
			"shared beef-short-rib, pan beef-short-rib"},
		"three roasts and one pan": {10 * time.Hour, baths(1), list(of("beef-ribeye", 4, 30, "medium-rare"), of("lamb-rack", 2, 40, "medium-rare"), of("beef-tenderloin", 2, 45, "medium-rare")),
			"heat 0 to 55.5 | beef-tenderloin in | lamb-rack in | beef-ribeye in | beef-ribeye pull | beef-tenderloin pull | beef-ribeye sear | lamb-rack pull | beef-tenderloin sear | lamb-rack sear",
			"heavy, pan beef-ribeye, pan beef-tenderloin"},
		"vegetables only": {10 * time.Hour, baths(1), list(carrot, of("asparagus", 8, 12, "firm"), of("potato", 8, 30, "")),
			"heat 0 to 85.0 | potato in | carrot in | asparagus in | carrot pull | asparagus pull | potato pull",
			"heavy"},
		"chicken from the freezer, potatoes beside it": {10 * time.Hour, baths(2), list(with(of("chicken-breast", 2, 30, "springy"), frozen), of("potato", 8, 30, "")),
			"heat 0 to 63.5 | heat 1 to 85.0 | chicken-breast in | potato in | chicken-breast pull | chicken-breast sear | potato pull",
			""},
		"guests at risk": {20 * time.Hour, baths(1), list(with(of("beef-ribeye", 2, 30, "medium"), risk), with(carrot, risk)),
			"heat 0 to 85.0 | carrot in | ice 0 to 60.0 | carrot out | beef-ribeye in | carrot reheat | beef-ribeye pull | beef-ribeye sear | carrot pull",
			"ahead carrot, hot-first carrot"},
		"a weak heater needs a lid": {20 * time.Hour, weak, list(carrot),
			"heat 0 to 85.0 | carrot in | carrot pull",
			"covered"},
		"water that is too hot already": {8 * time.Hour, hot, list(ribeye),
			"ice 0 to 55.5 | beef-ribeye in | beef-ribeye pull | beef-ribeye sear",
			""},
		"octopus and potatoes": {20 * time.Hour, baths(1), list(of("octopus", 1, 40, ""), of("potato", 8, 30, "")),
			"heat 0 to 85.0 | potato in | ice 0 to 77.0 | potato out | octopus in | potato reheat | octopus pull | octopus sear | potato pull",
			"ahead potato, hot-first potato"},
		"lobster, steak and asparagus": {10 * time.Hour, baths(1), list(of("lobster-tail", 2, 25, "just-set"), ribeye, of("asparagus", 8, 12, "")),
			"heat 0 to 85.0 | asparagus in | ice 0 to 57.0 | asparagus out | beef-ribeye in | lobster-tail in | asparagus reheat | beef-ribeye pull | beef-ribeye sear | lobster-tail pull | asparagus pull",
			"ahead asparagus, hot-first asparagus, shared lobster-tail, shared beef-ribeye"},
		"a big bath for pork, custard and carrots": {12 * time.Hour, big, list(of("pork-tenderloin", 1, 55, "medium"), of("custard", 4, 40, ""), carrot),
			"heat 0 to 83.0 | carrot in | custard in | ice 0 to 60.0 | custard out | carrot out | pork-tenderloin in | custard reheat | carrot reheat | pork-tenderloin pull | pork-tenderloin sear | custard pull | carrot pull",
			"ahead custard, ahead carrot, shared custard, shared carrot, hot-first custard, heavy"},
		"turkey and potatoes in two baths": {24 * time.Hour, baths(2), list(of("turkey-breast", 1, 65, "supple"), of("potato", 8, 30, "")),
			"heat 0 to 61.0 | turkey-breast in | heat 1 to 85.0 | potato in | turkey-breast pull | turkey-breast sear | potato pull",
			""},
		"lamb and beef at one doneness": {10 * time.Hour, baths(1), list(ribeye, of("lamb-rack", 2, 40, "medium-rare"), of("venison-loin", 1, 40, "medium-rare")),
			"heat 0 to 55.5 | lamb-rack in | beef-ribeye in | venison-loin in | venison-loin pull | lamb-rack pull | venison-loin sear | beef-ribeye pull | lamb-rack sear | beef-ribeye sear",
			"pan lamb-rack, pan venison-loin"},
	}
}

// TestMenus: what a cook would do, in that order, and why. The orders were judged by trade practice: hot water
// first, the food that stands least last, one pan in turn.
func TestMenus(t *testing.T) {
	p, m := planner(t)
	for name, tt := range menus() {
		t.Run(name, func(t *testing.T) {
			s, err := p.Plan(serve.Add(-tt.ahead), serve, tt.dishes, tt.kit)
			require.NoError(t, err)
			assert.Equal(t, tt.order, strings.Join(order(s), " | "))
			assert.Equal(t, tt.reasons, strings.Join(reasons(s), ", "))
			judge(t, m, s)
			again, err := p.Plan(serve.Add(-tt.ahead), serve, tt.dishes, tt.kit)
			require.NoError(t, err)
			assert.Equal(t, s, again, "the same question has the same answer")
		})
	}
}

// TestImpossible: what cannot be done is said, with the nearest that can.
func TestImpossible(t *testing.T) {
	p, _ := planner(t)
	ribeye, carrot, egg := of("beef-ribeye", 2, 30, "medium-rare"), of("carrot", 4, 20, ""), at("egg", 4, 0, 64)
	noIce, small := baths(1), baths(1)
	noIce.Ice = false
	small.Baths[0] = dinner.Bath{Litres: 4, Watts: 800}
	for name, tt := range map[string]struct {
		ahead  time.Duration
		kit    dinner.Kit
		dishes []dinner.Dish
		check  func(t *testing.T, no *dinner.Impossible)
	}{
		"too late for the steak: later, or thinner": {time.Hour, baths(1), []dinner.Dish{ribeye}, func(t *testing.T, no *dinner.Impossible) {
			assert.Equal(t, dinner.WhyLate, no.Why)
			assert.Equal(t, 0, no.Dish)
			assert.True(t, no.Needed.Before(no.Now))
			assert.True(t, no.In.After(no.Needed), "the water comes first")
			assert.Equal(t, serve.Add(50*time.Minute), no.Serve)
			assert.Equal(t, 0, no.Cut)
			assert.InDelta(t, 15, no.Thinner.Millimetres(), 1e-6, "whole 5 mm")
		}},
		"rare and medium rare in one bath: another doneness, or another bath": {10 * time.Hour, baths(1),
			[]dinner.Dish{of("beef-ribeye", 1, 30, "rare"), of("lamb-rack", 1, 40, "medium-rare")}, func(t *testing.T, no *dinner.Impossible) {
				assert.Equal(t, dinner.WhyWater, no.Why)
				assert.True(t, no.Serve.IsZero(), "no time mends it")
				assert.Equal(t, 0, no.Other)
				assert.EqualValues(t, "medium-rare", no.Doneness)
				assert.Equal(t, 2, no.Baths)
			}},
		"just set salmon and carrots in one bath: flaking, or another bath": {10 * time.Hour, baths(1),
			[]dinner.Dish{of("salmon", 2, 25, "just-set"), carrot}, func(t *testing.T, no *dinner.Impossible) {
				assert.Equal(t, dinner.WhyWater, no.Why)
				assert.Equal(t, 0, no.Other)
				assert.EqualValues(t, "flaking", no.Doneness)
				assert.Equal(t, 2, no.Baths)
			}},
		"eggs and steak without ice": {12 * time.Hour, noIce, []dinner.Dish{ribeye, egg}, func(t *testing.T, no *dinner.Impossible) {
			assert.Equal(t, dinner.WhyWater, no.Why)
			assert.True(t, no.Ice)
		}},
		"more than the bath holds": {24 * time.Hour, small,
			[]dinner.Dish{of("turkey-breast", 1, 70, ""), of("beef-brisket", 1, 50, ""), ribeye}, func(t *testing.T, no *dinner.Impossible) {
				assert.Equal(t, dinner.WhyCrowded, no.Why)
				assert.Equal(t, 2, no.Baths)
			}},
		"what the shared model refuses": {10 * time.Hour, baths(1), []dinner.Dish{carrot, of("beef-tenderloin", 1, 50, "rare")}, func(t *testing.T, no *dinner.Impossible) {
			assert.Equal(t, dinner.WhyRefused, no.Why)
			assert.Equal(t, 1, no.Dish)
			var refusal *cook.Refusal
			require.ErrorAs(t, no, &refusal)
			assert.Equal(t, cook.RefuseSlowCore, refusal.Rule)
			assert.NotNil(t, refusal.NearestPlan)
		}},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := p.Plan(serve.Add(-tt.ahead), serve, tt.dishes, tt.kit)
			var no *dinner.Impossible
			require.True(t, errors.As(err, &no), "%v", err)
			tt.check(t, no)
		})
	}
	for name, kit := range map[string]dinner.Kit{"no bath": {}, "four baths": baths(4), "a bath no kitchen has": {Baths: []dinner.Bath{{Litres: 1e6}}}} {
		_, err := p.Plan(serve.Add(-time.Hour), serve, []dinner.Dish{ribeye}, kit)
		assert.ErrorIs(t, err, dinner.ErrKitchen, name)
	}
	_, err := p.Plan(serve.Add(-time.Hour), serve, nil, baths(1))
	assert.ErrorIs(t, err, dinner.ErrKitchen)
	_, err = p.Plan(serve.Add(-30*24*time.Hour), serve, []dinner.Dish{ribeye}, baths(1))
	assert.ErrorIs(t, err, dinner.ErrKitchen)
}

// TestLikelyTimesAreTheSharedModels: with a bath to itself every food goes in when the model says.
func TestLikelyTimesAreTheSharedModels(t *testing.T) {
	p, m := planner(t)
	d := of("beef-ribeye", 2, 30, "medium-rare")
	s, err := p.Plan(serve.Add(-6*time.Hour), serve, []dinner.Dish{d}, baths(1))
	require.NoError(t, err)
	plan, err := m.Plan(d.Request)
	require.NoError(t, err)
	c := s.Courses[0]
	assert.Equal(t, plan.Setpoint, c.Setpoint)
	assert.GreaterOrEqual(t, c.Pull.Sub(c.In), plan.Ready)
	assert.Less(t, c.Pull.Sub(c.In), plan.Ready+time.Minute, "whole minutes, rounded up")
	// 5 min in ice water, 1 + 2.5 min at the pan rounded up to 4, 3 min of rest.
	assert.Equal(t, 12*time.Minute, serve.Sub(c.Pull))
	assert.Zero(t, c.Waiting)
}

// TestClaimStandsStillInCoolerWater: an egg at 64 °C is ready before it is pasteurised; the time it then spends
// in cooler water is not counted as if it were at 64 °C.
func TestClaimStandsStillInCoolerWater(t *testing.T) {
	p, m := planner(t)
	s, err := p.Plan(serve.Add(-10*time.Hour), serve, []dinner.Dish{of("beef-ribeye", 2, 30, "medium-rare"), at("egg", 4, 0, 64)}, baths(1))
	require.NoError(t, err)
	egg := s.Courses[1]
	plan, err := m.Plan(egg.Request)
	require.NoError(t, err)
	require.Equal(t, dinner.KeptWarm, egg.Mode)
	require.False(t, plan.Pasteurised.By(egg.Ready.Sub(egg.In)), "or this checks nothing")
	require.True(t, plan.Pasteurised.By(egg.Pull.Sub(egg.In)), "or this checks nothing")
	assert.False(t, egg.Pasteurised)
	assert.Equal(t, cook.ServeLightly, egg.Serve)
}

// TestCoolFishIsServedInTime: below 54.4 °C the two hours of fish end at the plate, so the pan counts.
func TestCoolFishIsServedInTime(t *testing.T) {
	p, m := planner(t)
	served, slow := 0, 0
	for mm := 38.0; mm < 55; mm++ {
		d := at("halibut", 1, mm, 52)
		if _, err := m.Plan(d.Request); err != nil {
			continue
		}
		s, err := p.Plan(serve.Add(-6*time.Hour), serve, []dinner.Dish{d}, baths(1))
		var no *dinner.Impossible
		if errors.As(err, &no) {
			slow++
			assert.Equal(t, dinner.WhyPast, no.Why)
			assert.Positive(t, no.Thinner)
			continue
		}
		require.NoError(t, err)
		served++
		assert.LessOrEqual(t, serve.Sub(s.Courses[0].In), 2*time.Hour, "%.0f mm", mm)
	}
	assert.Positive(t, served)
	assert.Positive(t, slow, "or the pan was not counted")
}

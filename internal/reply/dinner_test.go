package reply_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/internal/cook"
	"bagwatch/internal/dinner"
	"bagwatch/internal/food"
	"bagwatch/internal/quantity"
	"bagwatch/internal/reply"
)

// TestEveryDinnerTextIsThere: reasons and obstacles have their English text.
func TestEveryDinnerTextIsThere(t *testing.T) {
	l := english(t)
	for _, id := range constants(t, "../dinner", "ReasonID") {
		if id != "" {
			assert.True(t, l.Has(reply.ID("dinner.reason."+id)), id)
		}
	}
	for _, id := range constants(t, "../dinner", "Why") {
		assert.True(t, l.Has(reply.ID("dinner.why."+id)), id)
	}
}

func menu(t *testing.T) (*dinner.Planner, []dinner.Dish, time.Time) {
	mm := quantity.Millimetres
	return dinner.New(model(t)), []dinner.Dish{
		{Request: cook.Request{Food: "beef-ribeye", Pieces: 2, Thickness: mm(30), Doneness: "medium-rare"}},
		{Request: cook.Request{Food: "carrot", Pieces: 4, Thickness: mm(20)}},
		{Request: cook.Request{Food: "egg", Pieces: 4, HasSetpoint: true, Setpoint: 64}, Name: "eggs for the salad"},
	}, time.Date(2026, 11, 25, 19, 30, 0, 0, time.UTC)
}

// TestDinnerReads: a plan card is a short list of times and actions, then the reasons, then what must be said.
func TestDinnerReads(t *testing.T) {
	p, dishes, serve := menu(t)
	s, err := p.Plan(serve.Add(-8*time.Hour), serve, dishes[:2], dinner.Kit{Baths: make([]dinner.Bath, 1), Ice: true})
	require.NoError(t, err)
	s, ok := dinner.Take(s, dinner.Key{Kind: dinner.StepSear, Dish: 0, Water: -1}, dinner.Owner{ID: 3, Name: "Mara\u202e"})
	require.True(t, ok)
	text := english(t).Dinner(s, reply.Options{})
	whole(t, text.String(), "dinner")
	assert.Equal(t, `Dinner at 19:30
15:51 heat the water to 85 °C (185 °F)
16:59 carrots in, 85 °C (185 °F)
18:02 cool the water to 57 °C (135 °F) with about 3.8 kg of ice
18:12 ribeyes in, 57 °C (135 °F)
19:18 ribeyes out, 5 min in ice water, dry well
19:23–19:27 sear ribeyes, 45–60 s a side, edges too; then let rest (Mara)
19:28 carrots out
19:30 serve

Carrots stay in the water as it cools to 57 °C (135 °F): good there until 20:02.
Carrots before ribeyes: ice cools water in minutes, heating takes long.
Ribeyes at 57 °C (135 °F) instead of 55.5 °C, to share the water with carrots.

Not pasteurised when served: ribeyes. Sear every face; not for pregnant, very young, old or ill guests.
Vegetables: eat at once, keep hot or chill; a sealed bag must not stand warm.`, text.String())
	clocks := 0
	for _, part := range text[1] {
		if part.Style == reply.Clock {
			clocks++
		}
	}
	assert.Equal(t, 1, clocks, "times are points in time, for each reader's own zone")
}

// TestEveryDinnerStepReads: with several baths, names and both unit systems, in every language, while it runs
// and after a change, each step as a line and as an alert.
func TestEveryDinnerStepReads(t *testing.T) {
	p, dishes, serve := menu(t)
	l := english(t)
	for _, n := range []int{1, 2, 3} {
		s, err := p.Plan(serve.Add(-10*time.Hour), serve, dishes, dinner.Kit{Baths: make([]dinner.Bath, n), Ice: true})
		require.NoError(t, err)
		now := serve.Add(-20 * time.Minute)
		late, err := p.Replan(now, s, s.Before(now), dinner.Change{Guests: time.Hour})
		schedules := []dinner.Schedule{s}
		if err == nil {
			schedules = append(schedules, late)
		} else {
			whole(t, l.DinnerImpossible(err, dishes, reply.Options{}).String(), "late")
		}
		for _, s := range schedules {
			for _, o := range []reply.Options{{}, {Units: reply.Imperial}} {
				whole(t, l.Dinner(s, o).String(), "dinner")
				for _, st := range s.Steps {
					st.Owner = dinner.Owner{ID: 1, Name: "Ines"}
					alert := l.DinnerAlert(s, st, o).String()
					whole(t, alert, string(st.Kind))
					assert.Contains(t, alert, "Ines")
				}
			}
		}
	}
}

// TestEveryReasonReads: each reason has no hole.
func TestEveryReasonReads(t *testing.T) {
	_, dishes, serve := menu(t)
	l := english(t)
	for _, id := range constants(t, "../dinner", "ReasonID") {
		s := dinner.Schedule{Dishes: dishes, Serve: serve, Reasons: []dinner.Reason{{
			ID: dinner.ReasonID(id), Dish: 0, Bath: 0, With: []int{1, 2}, Temperature: 57, Asked: 55.5, Span: 50 * time.Minute, Until: serve,
		}}}
		for _, line := range l.DinnerReasons(s, reply.Options{}) {
			whole(t, line, id)
		}
	}
}

// TestImpossibleDinnersRead: what stands against it, and every kind of nearest.
func TestImpossibleDinnersRead(t *testing.T) {
	p, dishes, serve := menu(t)
	l := english(t)
	_, err := p.Plan(serve.Add(-time.Hour), serve, dishes[:1], dinner.Kit{Baths: make([]dinner.Bath, 1)})
	require.Error(t, err)
	assert.Equal(t, `Ribeyes would have to go in at 18:12, the water be put on at 17:40; it is 18:30.
Serve at 20:20.
Or cut ribeyes to 15 mm.`, l.DinnerImpossible(err, dishes[:1], reply.Options{}).String())

	for _, why := range constants(t, "../dinner", "Why") {
		no := &dinner.Impossible{Why: dinner.Why(why), Dish: 0, Now: serve, Needed: serve, In: serve, Serve: serve, Cut: 0, Thinner: 0.02,
			Other: 1, Doneness: food.Doneness("tender"), Without: 2, Baths: 2, Ice: true}
		whole(t, l.DinnerImpossible(no, dishes, reply.Options{}).String(), why)
	}
	assert.Nil(t, l.DinnerImpossible(assert.AnError, dishes, reply.Options{}))
}

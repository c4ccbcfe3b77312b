package dinner_test

import (
	"errors"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"bagwatch/internal/cook"
	"bagwatch/internal/dinner"
)

// kept checks that a replan left alone what had happened, and planned nothing into the past.
func kept(t require.TestingT, old, next dinner.Schedule, happened []dinner.Event, now time.Time) {
	when := map[dinner.Key]time.Time{}
	for _, st := range old.Steps {
		if st.Done {
			when[st.Key] = st.At
		}
	}
	for _, e := range happened {
		when[e.Key] = e.At
	}
	done := 0
	for _, st := range next.Steps {
		at, ok := when[st.Key]
		require.Equal(t, ok, st.Done, "%v", st.Key)
		if !ok {
			require.False(t, st.At.Before(now), "%v at %v is in the past at %v", st.Key, st.At, now)
			continue
		}
		done++
		require.True(t, at.Equal(st.At), "%v happened at %v and stands at %v", st.Key, at, st.At)
		before, _ := old.Step(st.Key)
		require.Equal(t, before.Bath, st.Bath)
		require.Equal(t, before.Temperature, st.Temperature)
	}
	require.Equal(t, len(when), done, "nothing that happened is gone")
	require.Len(t, next.Courses, len(old.Courses))
}

// TestReplanNeverMovesWhatHappened draws menus, lets them run for a while, with a cook who is a little late,
// changes them up to three times, and re-judges every bag by what its bath did and will do.
func TestReplanNeverMovesWhatHappened(t *testing.T) {
	p, m := planner(t)
	replanned, lowered, not, up := 0, 0, 0, 0
	rapid.Check(t, func(t *rapid.T) {
		menu, kit := drawMenu(t, m, 4), drawKit(t)
		kit.Ice = true
		now := serve.Add(-48 * time.Hour)
		s, err := p.Plan(now, serve, menu, kit)
		if err != nil {
			return
		}
		for range rapid.IntRange(1, 3).Draw(t, "changes") {
			left := s.Next()
			if len(left) == 0 {
				return
			}
			first := left[0].At
			now = first.Add(time.Duration(rapid.IntRange(0, max(1, int(s.Serve.Sub(first)/time.Minute))).Draw(t, "minutes on")) * time.Minute)
			if now.After(s.Serve) {
				return
			}
			behind := time.Duration(rapid.IntRange(0, 3).Draw(t, "behind")) * time.Minute
			var happened []dinner.Event
			for _, st := range left {
				if !st.At.Add(behind).After(now) {
					happened = append(happened, dinner.Event{Key: st.Key, At: st.At.Add(behind)})
				}
			}
			var change dinner.Change
			switch rapid.IntRange(0, 3).Draw(t, "change") {
			case 0:
				change.Late = 15 * time.Minute
			case 1:
				change.Guests = time.Duration(rapid.IntRange(10, 200).Draw(t, "late")) * time.Minute
			case 2:
				change.Serve = s.Serve.Add(time.Duration(rapid.IntRange(-60, 120).Draw(t, "moved")) * time.Minute)
			}
			next, err := p.Replan(now, s, happened, change)
			var no *dinner.Impossible
			if errors.As(err, &no) {
				not++
				if no.Serve.IsZero() {
					return
				}
				next, err = p.Replan(now, s, happened, dinner.Change{Serve: no.Serve})
			}
			require.NoError(t, err)
			replanned++
			kept(t, s, next, happened, now)
			judge(t, m, next)
			for _, r := range next.Reasons {
				if r.ID == dinner.ReasonLowered {
					lowered++
				}
			}
			for _, c := range next.Courses {
				if c.Mode == dinner.AlreadyUp {
					up++
				}
			}
			s = next
		}
	})
	t.Log(replanned, "replanned,", lowered, "bags held by dropping the water,", up, "already out,", not, "not at the time asked")
}

// at the table: chicken and carrots in two baths, both in the water, ten minutes before serving.
func inTheWater(t *testing.T) (*dinner.Planner, *cook.Model, dinner.Schedule, time.Time) {
	p, m := planner(t)
	s, err := p.Plan(serve.Add(-6*time.Hour), serve, []dinner.Dish{of("chicken-breast", 2, 25, "springy"), of("carrot", 4, 20, "")}, baths(2))
	require.NoError(t, err)
	return p, m, s, serve.Add(-10 * time.Minute)
}

func TestGuestsLate(t *testing.T) {
	p, m, s, now := inTheWater(t)
	for name, tt := range map[string]struct {
		late    time.Duration
		chicken dinner.Mode
		water   float64 // of the chicken
		carrots dinner.Mode
	}{
		"an hour: the chicken holds where it is, the carrots' water is dropped": {time.Hour, dinner.Held, 63.5, dinner.KeptWarm},
		"two hours: the chicken's water is dropped too":                         {2 * time.Hour, dinner.KeptWarm, 54.5, dinner.KeptWarm},
		"three hours: the carrots are chilled and warmed up":                    {3 * time.Hour, dinner.KeptWarm, 54.5, dinner.Ahead},
	} {
		t.Run(name, func(t *testing.T) {
			next, err := p.Replan(now, s, s.Before(now), dinner.Change{Guests: tt.late})
			require.NoError(t, err)
			assert.Equal(t, serve.Add(tt.late), next.Serve)
			kept(t, s, next, s.Before(now), now)
			judge(t, m, next)
			assert.Equal(t, tt.chicken, next.Courses[0].Mode)
			assert.Equal(t, tt.carrots, next.Courses[1].Mode)
			last := 0.0
			for _, st := range next.Steps {
				if st.Water == next.Courses[0].Bath {
					last = float64(st.Temperature)
				}
			}
			assert.InDelta(t, tt.water, last, 1e-9)
			for _, c := range next.Courses {
				assert.False(t, c.Pull.After(c.Best), "inside the new window")
			}
		})
	}
}

func TestLateMovesWhatIsLeft(t *testing.T) {
	p, m := planner(t)
	s, err := p.Plan(serve.Add(-6*time.Hour), serve, []dinner.Dish{of("beef-ribeye", 2, 30, "medium-rare"), of("salmon", 2, 25, "just-set")}, baths(2))
	require.NoError(t, err)
	steak, _ := s.Step(dinner.Key{Kind: dinner.StepIn, Dish: 0, Water: -1})
	fish, _ := s.Step(dinner.Key{Kind: dinner.StepIn, Dish: 1, Water: -1})
	now := fish.At.Add(-2 * time.Minute)
	require.True(t, steak.At.Before(now), "the steak is in by then")
	next, err := p.Replan(now, s, s.Before(now), dinner.Change{Late: 15 * time.Minute})
	require.NoError(t, err)
	kept(t, s, next, s.Before(now), now)
	judge(t, m, next)
	again, _ := next.Step(fish.Key)
	assert.Equal(t, fish.At.Add(15*time.Minute), again.At, "the fish goes in a quarter of an hour later")
	same, _ := next.Step(steak.Key)
	assert.Equal(t, steak.At, same.At)
	assert.Equal(t, dinner.Held, next.Courses[0].Mode)
	assert.Equal(t, 15*time.Minute+s.Courses[0].Waiting, next.Courses[0].Waiting)
}

func TestDinnerAtAnotherTime(t *testing.T) {
	p, m, s, now := inTheWater(t)
	next, err := p.Replan(now, s, s.Before(now), dinner.Change{Serve: serve.Add(30 * time.Minute)})
	require.NoError(t, err)
	judge(t, m, next)
	assert.Equal(t, serve.Add(30*time.Minute), next.Serve)

	_, err = p.Replan(now, s, s.Before(now), dinner.Change{Serve: serve.Add(-5 * time.Minute)})
	var no *dinner.Impossible
	require.ErrorAs(t, err, &no, "carrots cannot be hurried")
	assert.Equal(t, serve, no.Serve, "the nearest is when it was to be")

	_, err = p.Replan(now, s, s.Before(now), dinner.Change{Serve: serve.Add(11 * time.Hour)})
	require.NoError(t, err, "what is pasteurised can be chilled for that long")
}

// TestRareFishDoesNotWait: below 54.4 °C nothing is held beyond its limit, whatever the guests do.
func TestRareFishDoesNotWait(t *testing.T) {
	p, _ := planner(t)
	s, err := p.Plan(serve.Add(-6*time.Hour), serve, []dinner.Dish{of("salmon", 2, 25, "just-set")}, baths(1))
	require.NoError(t, err)
	now := serve.Add(-20 * time.Minute)
	_, err = p.Replan(now, s, s.Before(now), dinner.Change{Guests: 2 * time.Hour})
	var no *dinner.Impossible
	require.ErrorAs(t, err, &no)
	assert.Equal(t, dinner.WhyPast, no.Why)
	assert.Equal(t, 0, no.Dish)
	assert.True(t, no.Serve.After(serve), "some waiting is possible")
	assert.False(t, no.Serve.After(s.Courses[0].Best.Add(10*time.Minute)))
}

// TestUpAlready: what is out of the water waits at most two hours.
func TestUpAlready(t *testing.T) {
	p, m := planner(t)
	s, err := p.Plan(serve.Add(-6*time.Hour), serve, []dinner.Dish{of("beef-ribeye", 2, 30, "medium-rare")}, baths(1))
	require.NoError(t, err)
	now := serve.Add(-5 * time.Minute)
	next, err := p.Replan(now, s, s.Before(now), dinner.Change{Guests: 20 * time.Minute})
	require.NoError(t, err)
	kept(t, s, next, s.Before(now), now)
	judge(t, m, next)
	assert.Equal(t, dinner.AlreadyUp, next.Courses[0].Mode)
	assert.Equal(t, 20*time.Minute, next.Courses[0].Waiting)

	_, err = p.Replan(now, s, s.Before(now), dinner.Change{Guests: 3 * time.Hour})
	var no *dinner.Impossible
	require.ErrorAs(t, err, &no)
	assert.Equal(t, dinner.WhyStanding, no.Why)
}

// TestMine: a step can be taken, is kept by a replan, and the schedule that was passed is not touched.
func TestMine(t *testing.T) {
	p, _, s, now := inTheWater(t)
	pull := dinner.Key{Kind: dinner.StepPull, Dish: 0, Water: -1}
	mara := dinner.Owner{ID: 7, Name: "Mara"}
	taken, ok := dinner.Take(s, pull, mara)
	require.True(t, ok)
	st, _ := taken.Step(pull)
	assert.Equal(t, mara, st.Owner)
	st, _ = s.Step(pull)
	assert.Zero(t, st.Owner)
	next, err := p.Replan(now, taken, taken.Before(now), dinner.Change{Guests: time.Hour})
	require.NoError(t, err)
	st, _ = next.Step(pull)
	assert.Equal(t, mara, st.Owner)
	_, ok = dinner.Take(next, dinner.Key{Kind: dinner.StepIn, Dish: 0, Water: -1}, mara)
	assert.False(t, ok, "what is done is nobody's any more")
	_, ok = dinner.Take(next, dinner.Key{Kind: dinner.StepOut, Dish: 5, Water: -1}, mara)
	assert.False(t, ok)
	back, ok := dinner.Take(next, pull, dinner.Owner{})
	require.True(t, ok)
	st, _ = back.Step(pull)
	assert.Zero(t, st.Owner)
}

func TestReplanRefusesWhatCannotHaveHappened(t *testing.T) {
	p, _, s, now := inTheWater(t)
	_, err := p.Replan(now, s, []dinner.Event{{Key: dinner.Key{Kind: "no such", Dish: 0, Water: -1}, At: now}}, dinner.Change{})
	assert.ErrorIs(t, err, dinner.ErrKitchen)
	_, err = p.Replan(now, s, []dinner.Event{{Key: s.Steps[0].Key, At: now.Add(time.Minute)}}, dinner.Change{})
	assert.ErrorIs(t, err, dinner.ErrKitchen)
}

// TestGuestsLateAgain: what was held in cooler water does not get a new window each time.
func TestGuestsLateAgain(t *testing.T) {
	p, m, s, now := inTheWater(t)
	s, err := p.Replan(now, s, s.Before(now), dinner.Change{Guests: 2 * time.Hour})
	require.NoError(t, err)
	best := s.Courses[0].Best
	require.Equal(t, dinner.KeptWarm, s.Courses[0].Mode)
	for range 3 {
		now = now.Add(45 * time.Minute)
		happened := s.Before(now)
		next, err := p.Replan(now, s, happened, dinner.Change{Guests: 40 * time.Minute})
		require.NoError(t, err)
		kept(t, s, next, happened, now)
		judge(t, m, next)
		if next.Courses[0].Mode == dinner.KeptWarm {
			assert.WithinDuration(t, best, next.Courses[0].Best, 2*time.Minute, "the same window, to the rounding")
			assert.False(t, next.Courses[0].Pull.After(best.Add(2*time.Minute)))
		}
		s = next
	}
	_, err = p.Replan(now, s, s.Before(now), dinner.Change{Serve: best.Add(time.Hour)})
	if err == nil {
		again, _ := p.Replan(now, s, s.Before(now), dinner.Change{Serve: best.Add(time.Hour)})
		assert.Equal(t, dinner.Ahead, again.Courses[0].Mode, "beyond its window only chilled and warmed up")
	}
}

// TestLateAtThePan: while one steak is at the pan no other is.
func TestLateAtThePan(t *testing.T) {
	p, m := planner(t)
	s, err := p.Plan(serve.Add(-6*time.Hour), serve, []dinner.Dish{of("beef-ribeye", 2, 30, "medium-rare"), of("lamb-rack", 2, 30, "medium-rare")}, baths(1))
	require.NoError(t, err)
	var first dinner.Step
	for _, st := range s.Steps {
		if st.Kind == dinner.StepSear {
			first = st
			break
		}
	}
	now := first.At.Add(3 * time.Minute)
	happened := s.Before(first.At.Add(-time.Second))
	happened = append(happened, dinner.Event{Key: first.Key, At: now})
	for _, st := range s.Steps { // what stands at the same minute has happened too
		if st.At.Equal(first.At) && st.Key != first.Key {
			happened = append(happened, dinner.Event{Key: st.Key, At: st.At})
		}
	}
	_, err = p.Replan(now, s, happened, dinner.Change{})
	var no *dinner.Impossible
	require.ErrorAs(t, err, &no, "three minutes late at the pan is late at the table")
	assert.Equal(t, dinner.WhyLate, no.Why)
	require.False(t, no.Serve.IsZero())
	next, err := p.Replan(now, s, happened, dinner.Change{Serve: no.Serve})
	require.NoError(t, err)
	kept(t, s, next, happened, now)
	judge(t, m, next)
}

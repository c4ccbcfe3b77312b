package reply_test

import (
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/internal/cook"
	"bagwatch/internal/food"
	"bagwatch/internal/heat"
	"bagwatch/internal/reply"
)

// TestPictureErrsToTheSafeSide: what a picture is drawn with is never earlier than ready and pasteurised nor
// later than best until, it never calls pasteurised what is not, and its caption says the same figures.
func TestPictureErrsToTheSafeSide(t *testing.T) {
	l, m := english(t), model(t)
	drawn := 0
	for f := range m.Foods().All() {
		for _, step := range f.Steps {
			plan, err := m.Plan(cook.Request{Food: f.ID, Doneness: step.ID})
			var refused *cook.Refusal
			if errors.As(err, &refused) {
				continue
			}
			require.NoError(t, err)
			drawn++
			what := string(f.ID) + " " + string(step.ID)
			p := l.Picture(reply.PlanCourse(plan), reply.Options{})
			caption := p.Caption.String()
			assert.GreaterOrEqual(t, p.PrintedReady, plan.ReadyLate, what)
			assert.LessOrEqual(t, p.PrintedBest, max(plan.BestBefore, p.PrintedReady), what)
			assert.Contains(t, caption, l.Span(p.PrintedReady), what)
			assert.Contains(t, caption, l.Span(p.PrintedBest), what)
			switch {
			case plan.Safety == food.Plant:
				assert.Empty(t, p.Words.Pasteurised, what)
			case plan.Pasteurised.Never:
				assert.Equal(t, l.Say(reply.PictureNever, nil), p.Words.Pasteurised, what)
				assert.Contains(t, caption, "Not pasteurised", what)
			default:
				assert.GreaterOrEqual(t, p.PrintedPasteurised, plan.Pasteurised.After, what)
				assert.Contains(t, p.Words.Pasteurised, l.Span(p.PrintedPasteurised), what)
				if only := plan.Pasteurised.After > plan.Ready; only {
					assert.Contains(t, p.Words.Pasteurised, "only after", what)
					assert.Contains(t, caption, "only after "+l.Span(p.PrintedPasteurised), what)
				}
			}
		}
	}
	assert.Greater(t, drawn, 50, "foods and steps that have a plan")
}

// TestPictureOfARunningBag: now, the diary, and clock times while they are plain.
func TestPictureOfARunningBag(t *testing.T) {
	l, m := english(t), model(t)
	plan, err := m.Plan(cook.Request{Food: "beef-ribeye"})
	require.NoError(t, err)
	c := reply.PlanCourse(plan)
	c.Running, c.Now = true, 42*time.Minute+50*time.Second
	c.Bath = heat.History{heat.Hold(0, plan.Setpoint, 150), heat.Hold(20*time.Minute, 48, 150), heat.Hold(40*time.Minute, plan.Setpoint, 150)}
	p := l.Picture(c, reply.Options{In: time.Date(2026, 11, 25, 18, 20, 0, 0, time.UTC)})
	assert.True(t, strings.HasPrefix(p.Words.Now, "now 19:02, core "), p.Words.Now)
	assert.Contains(t, p.Caption.String(), "48 °C from 18:40, 55.5 °C from 19:00.")
	assert.Contains(t, p.Caption.String(), "Now, 42 min in: core about ")
	assert.Equal(t, []string{"55.5 °C", "48 °C", "55.5 °C"}, p.Words.From)

	for range 200 { // a diary that is too long is told from its end
		c.Bath = append(c.Bath, heat.Hold(c.Bath[len(c.Bath)-1].From+time.Minute, 55, 150))
	}
	c.BestBefore = 30 * time.Hour
	p = l.Picture(c, reply.Options{In: time.Date(2026, 11, 25, 18, 20, 0, 0, time.UTC)})
	assert.Equal(t, 6, strings.Count(p.Caption.String(), "55 °C from "))
	assert.True(t, p.In.IsZero(), "a clock time would be ambiguous")
	assert.Contains(t, p.Words.Best, "30 h")
}

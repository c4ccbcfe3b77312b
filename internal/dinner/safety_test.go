package dinner_test

import (
	"errors"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"bagwatch/internal/cook"
	"bagwatch/internal/dinner"
	"bagwatch/internal/food"
	"bagwatch/internal/heat"
	"bagwatch/internal/lethality"
	"bagwatch/internal/quantity"
)

// drawMenu draws a menu from the whole catalogue.
func drawMenu(t *rapid.T, m *cook.Model, most int) []dinner.Dish {
	var ids []food.ID
	for f := range m.Foods().All() {
		ids = append(ids, f.ID)
	}
	// Half of the draws are what is cooked together most, or few menus would fit one bath.
	usual := []food.ID{"beef-ribeye", "carrot", "egg", "chicken-breast", "pork-chop", "potato", "asparagus", "duck-breast", "chicken-thigh", "beef-short-rib"}
	atRisk := rapid.IntRange(0, 5).Draw(t, "at risk") == 0
	menu := make([]dinner.Dish, rapid.IntRange(1, most).Draw(t, "dishes"))
	for i := range menu {
		from := ids
		if rapid.Bool().Draw(t, "usual") {
			from = usual
		}
		f, _ := m.Foods().Food(rapid.SampledFrom(from).Draw(t, "food"))
		r := cook.Request{Food: f.ID, AtRisk: atRisk, Pieces: rapid.IntRange(0, 3).Draw(t, "pieces")}
		if rapid.IntRange(0, 3).Draw(t, "said") == 0 {
			r.Doneness = f.Steps[rapid.IntRange(0, len(f.Steps)-1).Draw(t, "doneness")].ID
		}
		if rapid.Bool().Draw(t, "measured") {
			share := rapid.Float64Range(0, 0.6).Draw(t, "thickness")
			r.Thickness = f.Limits.ThicknessMin + quantity.Length(share)*(f.Limits.ThicknessMax-f.Limits.ThicknessMin)
		}
		switch rapid.IntRange(0, 39).Draw(t, "start") {
		case 0:
			r.Start = cook.StartRoom
		case 1:
			if f.Material.Composition != nil {
				r.Start = cook.StartFrozen
			}
		}
		r.NonIntact = rapid.IntRange(0, 9).Draw(t, "intact") == 0
		menu[i] = dinner.Dish{Request: r}
	}
	return menu
}

func drawKit(t *rapid.T) dinner.Kit {
	kit := dinner.Kit{Baths: make([]dinner.Bath, rapid.IntRange(1, 3).Draw(t, "baths")), Pans: rapid.IntRange(0, 2).Draw(t, "pans"), Ice: rapid.Bool().Draw(t, "ice")}
	for i := range kit.Baths {
		kit.Baths[i] = dinner.Bath{
			Litres: quantity.Volume(rapid.IntRange(8, 40).Draw(t, "litres")), Watts: quantity.Power(rapid.IntRange(500, 2500).Draw(t, "watts")),
			Now: quantity.Temperature(rapid.IntRange(8, 90).Draw(t, "water")),
		}
	}
	return kit
}

// bathStep is a change of one bath's water, as the steps tell it.
type bathStep struct {
	from, until time.Time
	to          quantity.Temperature
}

// waters reads what each bath does from the steps alone.
func waters(s dinner.Schedule) [][]bathStep {
	out := make([][]bathStep, len(s.Kit.Baths))
	for _, st := range s.Steps {
		if st.Water >= 0 {
			b := &out[st.Water]
			if n := len(*b); n > 0 && (*b)[n-1].until.After(st.At) {
				(*b)[n-1].until = st.At // a change of mind before the water was there
			}
			*b = append(*b, bathStep{st.At, st.Until, st.Temperature})
		}
	}
	return out
}

// history is the water a bag is in from a step to another, the careful margin taken off, counted from zero.
func history(t require.TestingT, bath []bathStep, from, until time.Time, zero time.Time, margin quantity.Temperature, film heat.Film) (h heat.History) {
	var now quantity.Temperature = -99
	for _, b := range bath {
		if !b.until.After(from) {
			now = b.to
			continue
		}
		if !b.from.Before(until) {
			break
		}
		require.False(t, b.from.Before(from), "a bag goes in at %v before the water is ready: %v", from, bath)
		if len(h) == 0 && b.from.After(from) {
			h = append(h, heat.Hold(from.Sub(zero), now-margin, film))
		}
		h = append(h, heat.Ramp(b.from.Sub(zero), now-margin, b.to-margin, film))
		now = b.to
		if b.until.Before(until) {
			h = append(h, heat.Hold(b.until.Sub(zero), now-margin, film))
		}
	}
	require.Greater(t, now, quantity.Temperature(0), "a bag goes into water that was never heated")
	if len(h) == 0 {
		h = append(h, heat.Hold(from.Sub(zero), now-margin, film))
	}
	return h
}

// judge follows every bag through what its bath really does, as the steps tell it, on the careful side, and
// holds it to the rules of one food on its own.
func judge(t require.TestingT, m *cook.Model, s dinner.Schedule) {
	baths := waters(s)
	var panUntil time.Time
	for i, st := range s.Steps {
		if i > 0 {
			require.False(t, st.At.Before(s.Steps[i-1].At), "steps in order")
		}
		if !st.Done {
			require.False(t, st.At.Before(s.Made), "%s at %v is before now %v", st.Kind, st.At, s.Made)
		}
		require.False(t, st.Until.Before(st.At))
		if st.Kind == dinner.StepSear {
			require.False(t, st.At.Before(panUntil), "one cook: sears overlap")
			panUntil = st.Until
		}
		require.False(t, st.At.After(s.Serve))
	}
	for i, c := range s.Courses {
		plan, err := m.Plan(c.Request)
		require.NoError(t, err, "what is cooked is what the shared model allows")
		name := string(plan.Food.ID)
		step := func(kind dinner.Kind) (dinner.Step, bool) {
			return s.Step(dinner.Key{Kind: kind, Dish: i, Water: -1})
		}
		in, ok := step(dinner.StepIn)
		require.True(t, ok)
		pull, ok := step(dinner.StepPull)
		require.True(t, ok)
		cold, ahead := step(dinner.StepOut)
		again, _ := step(dinner.StepReheat)
		require.Equal(t, plan.Setpoint, in.Temperature)
		asked, err := m.Plan(s.Dishes[i].Request)
		require.NoError(t, err)
		if asked.Doneness != "" && !s.Dishes[i].Request.HasSetpoint && plan.Setpoint != asked.Setpoint {
			row, _ := plan.Food.Step(asked.Doneness)
			require.True(t, row.Min <= plan.Setpoint && plan.Setpoint <= row.Max, "%s at %v is no longer %s", name, plan.Setpoint, asked.Doneness)
		}

		if c.Mode != dinner.AlreadyUp {
			require.False(t, c.Pull.After(c.Best), "%s is pulled at %v inside its window until %v", name, c.Pull, c.Best)
		}

		// Its water.
		margin, film := quantity.Temperature(0.5), plan.Careful.Film
		end := pull.At
		if ahead {
			end = cold.At
		}
		h := history(t, baths[in.Bath], in.At, end, in.At, margin, film)
		require.InDelta(t, float64(plan.Setpoint-margin), float64(h[0].Bath), 1e-9, "%s goes in at its setpoint", name)
		lowest := plan.Setpoint
		for _, seg := range h {
			lowest = min(lowest, seg.Until+margin)
			require.LessOrEqual(t, seg.Until, plan.Setpoint-margin, "%s is never in hotter water than it was planned for", name)
		}
		require.GreaterOrEqual(t, end.Sub(in.At), plan.Ready-time.Nanosecond, "%s is ready", name)
		if lowest < plan.Setpoint {
			floor := quantity.Temperature(54.4)
			switch {
			case s.Dishes[i].Request.AtRisk:
				floor = 60
			case plan.Safety == food.Plant, plan.Safety == food.SafetyEgg:
				floor = 57
			}
			require.GreaterOrEqual(t, lowest, floor, "%s is kept above its safe hold", name)
		}
		if !ahead && lowest == plan.Setpoint {
			require.LessOrEqual(t, end.Sub(in.At), plan.BestBefore, "%s is held inside its window", name)
		}
		if ahead {
			h = append(h, heat.Hold(cold.At.Sub(in.At), 1, film))
			back := history(t, baths[again.Bath], again.At, pull.At, in.At, margin, film)
			require.GreaterOrEqual(t, back[0].Bath+margin, quantity.Temperature(54.4), "%s is warmed up above the growth zone", name)
			require.LessOrEqual(t, back[0].Bath+margin, plan.Setpoint, "%s is warmed up in no hotter water", name)
			h = append(h, back...)
		}
		last := h[len(h)-1]
		h[len(h)-1] = heat.Hold(last.From, last.Until, film)
		if last.Until != last.Bath { // a ramp that the pull cuts short
			h[len(h)-1] = last
			h = append(h, heat.Hold(pull.At.Sub(in.At)+time.Minute, last.Until, film))
		}
		material := plan.Food.Material.Material
		material.Diffusivity = min(1.2e-7, material.Diffusivity)
		material.Conductivity = max(0.48, material.Conductivity)
		until := max(pull.At.Sub(in.At), plan.Ready) + time.Hour
		curve, err := heat.Solve(heat.Piece{Shape: plan.Careful.Shape, Material: material, Start: plan.StartAt}, h, until)
		require.NoError(t, err, "%v", h)

		if plan.Safety == food.Plant {
			continue
		}
		// Pasteurised where it must be, by the time it is served, and before it is chilled.
		rules := lethality.Rules(lethality.Class(plan.Safety), plan.Food.FatPercent)
		if plan.Food.Texture == food.TextureEgg && !s.Dishes[i].Request.AtRisk && !ahead {
			rules = rules[:1] // the shell egg's own rule is what it may be served by
		}
		must := ahead || s.Dishes[i].Request.AtRisk || !plan.Food.ServeBeforePasteurised || plan.Safety != plan.Food.Safety
		if plan.Food.Texture == food.TextureCustard && !must {
			must = true
		}
		if must {
			at, ok := lethality.Pasteurised(curve, until, rules)
			require.True(t, ok, "%s must be pasteurised", name)
			by := end.Sub(in.At)
			// The solver keeps log reductions within 0.3 % of the series that planned it (see package heat).
			require.LessOrEqual(t, at, by+by/200+time.Second, "%s is pasteurised by then", name)
			require.True(t, c.Pasteurised || plan.Food.Texture == food.TextureEgg)
		}
		if c.Pasteurised {
			at, ok := lethality.Pasteurised(curve, until, lethality.Rules(lethality.Class(plan.Safety), plan.Food.FatPercent))
			require.True(t, ok && at <= end.Sub(in.At)+end.Sub(in.At)/200+time.Second, "%s is called pasteurised and is", name)
			require.Equal(t, cook.ServePasteurised, c.Serve)
		}
		if s.Dishes[i].Request.AtRisk {
			require.GreaterOrEqual(t, plan.Setpoint, quantity.Temperature(60))
		}
		// Below 54.4 °C: four hours from immersion to the plate, two for fish.
		if plan.Setpoint < 54.4 {
			limit := 4 * time.Hour
			if plan.Safety == food.SafetyFish {
				limit = 2 * time.Hour
			}
			require.LessOrEqual(t, s.Serve.Sub(in.At)+plan.Spent, limit, "%s is eaten in time", name)
		}
		// Growth while it warms up, the first time and again.
		core := curve.Core
		if plan.Setpoint >= 54.4 && plan.Safety != food.IntactRedMeat {
			// TimeBetween widens the band by 0.1 K on either side, which is undone here; a minute for its chords.
			exposed := lethality.TimeBetween(core, end.Sub(in.At), 10.1, 53.8)
			require.LessOrEqual(t, exposed, lethality.ComeUpLimit+time.Minute, "%s comes up in time", name)
		}
		if ahead {
			chilled := func(d time.Duration) quantity.Temperature { return core(cold.At.Sub(in.At) + d) }
			require.GreaterOrEqual(t, again.At, cold.Until, "%s is cold through before it is warmed up", name)
			require.LessOrEqual(t, chilled(cold.Until.Sub(cold.At)), quantity.Temperature(5.1), "%s is cold through", name)
			require.True(t, lethality.FoodCodeCooling().Met(func(d time.Duration) quantity.Temperature {
				if d >= again.At.Sub(cold.At) {
					return 4
				}
				return chilled(d)
			}), "%s cools in time", name)
		}
	}
}

// TestNoPlanBreaksASafetyRule draws menus and kits and re-judges every bag by what its bath does.
func TestNoPlanBreaksASafetyRule(t *testing.T) {
	p, m := planner(t)
	planned, refused, modes := 0, 0, map[dinner.Mode]int{}
	rapid.Check(t, func(t *rapid.T) {
		menu, kit := drawMenu(t, m, 4), drawKit(t)
		now := serve.Add(-time.Duration(rapid.IntRange(240, 72*60).Draw(t, "minutes ahead")) * time.Minute)
		s, err := p.Plan(now, serve, menu, kit)
		var no *dinner.Impossible
		if errors.As(err, &no) {
			refused++
			if no.Why == dinner.WhyLate {
				later, err := p.Plan(now, no.Serve, menu, kit)
				require.NoError(t, err, "the nearest that is offered can be done")
				judge(t, m, later)
				_, err = p.Plan(now, no.Serve.Add(-10*time.Minute), menu, kit)
				require.Error(t, err, "and it is the earliest, to its rounding")
			}
			return
		}
		require.NoError(t, err)
		planned++
		for _, c := range s.Courses {
			modes[c.Mode]++
		}
		judge(t, m, s)
	})
	t.Log(planned, "planned,", refused, "not;", modes)
}

package cook_test

import (
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/internal/cook"
	"bagwatch/internal/heat"
	"bagwatch/internal/quantity"
)

const film heat.Film = 95

func water(t *testing.T, d cook.Diary, setpoint quantity.Temperature, careful bool) heat.History {
	t.Helper()
	h, err := cook.WaterHistory(d, setpoint, careful, film)
	require.NoError(t, err)
	return h
}

func degrees(h heat.History, at time.Duration) float64 {
	t, _ := h.Bath(at)
	return float64(t)
}

// TestSteppedReferenceRows: a diary in which the bath is set to another temperature on the way is the
// stepped bath of the reference solutions (eigenfunction series, checked against a finite-volume solution),
// and its course is theirs. 0.05 K is what the solver promises and a little for the table's rounding.
func TestSteppedReferenceRows(t *testing.T) {
	stepped := 0
	for _, row := range rowsOf(t, "reference_solutions") {
		profile := strings.Split(row["profile_t_s:bath_C:h_W_m2K"], "|")
		if len(profile) < 2 {
			continue
		}
		part := func(i, k int) float64 {
			v, err := strconv.ParseFloat(strings.Split(profile[i], ":")[k], 64)
			require.NoError(t, err)
			return v
		}
		if part(0, 2) != part(1, 2) || part(1, 1) > part(0, 1) {
			continue // another film after the step is not a diary's business
		}
		stepped++
		d := diary(set(seconds(part(1, 0)), quantity.Temperature(part(1, 1))))
		h, err := cook.WaterHistory(d, quantity.Temperature(part(0, 1)), true, heat.Film(part(0, 2)))
		require.NoError(t, err)
		mm := func(column string) quantity.Length { return quantity.Millimetres(number(t, row, column)) }
		shape := map[string]func() heat.Shape{
			"slab":            func() heat.Shape { return heat.NewSlab(mm("dim1_mm")) },
			"cylinder":        func() heat.Shape { return heat.NewCylinder(mm("dim1_mm")) },
			"sphere":          func() heat.Shape { return heat.NewSphere(mm("dim1_mm")) },
			"finite_cylinder": func() heat.Shape { return heat.NewFiniteCylinder(mm("dim1_mm"), mm("dim2_mm")) },
		}[row["shape"]]()
		piece := heat.Piece{Shape: shape, Start: quantity.Temperature(number(t, row, "T0_C")), Material: heat.Material{
			Diffusivity: heat.Diffusivity(number(t, row, "alpha_m2_s")), Conductivity: heat.Conductivity(number(t, row, "k_W_mK"))}}
		s, err := heat.Solve(piece, h, 12*hour)
		require.NoError(t, err)
		for i := 1; i <= 5; i++ {
			n := strconv.Itoa(i)
			assert.InDelta(t, number(t, row, "T"+n+"_core_C"), float64(s.Core(seconds(number(t, row, "t"+n+"_s")))), 0.05, "%s at t%d", row["id"], i)
		}
	}
	assert.GreaterOrEqual(t, stepped, 3, "V15, V17 and V20")
}

// TestPowerCutByHeatBalance is a worked example. 20 L, taken as 150 mm deep: 0.133 m² open, 0.352 m² of
// walls at 8 W/(m² K). At 60 °C in a room of 20 °C it loses 399 W: 113 through the walls, 63 to the air by
// convection and radiation over 0.133 m², the rest as vapour, 0.29 K a minute. Computed with another program, by
// steps of half a second and another vapour pressure (Buck 1981): 50.62 °C after 40 min, 56.89 with a lid,
// and 19.6 min for 1 kW to bring it back. Tolerance: the two vapour pressures differ by 0.3 %.
func TestPowerCutByHeatBalance(t *testing.T) {
	d := kitchenBath(cut(hour, 100*minute))
	for _, careful := range []bool{false, true} {
		h := water(t, d, 60, careful)
		assert.Equal(t, 60.0, degrees(h, hour))
		assert.InDelta(t, 50.62, degrees(h, 100*minute), 0.05)
		assert.InDelta(t, 60, degrees(h, 100*minute+seconds(60*19.6)+seconds(10)), 0.05, "back at 60 °C")
		assert.Less(t, degrees(h, 115*minute), 59.0, "and not before")
	}
	d.Covered = true
	assert.InDelta(t, 56.89, degrees(water(t, d, 60, true), 100*minute), 0.05)
}

// TestWorstCaseIsWorse: without litres and watts the careful water is never warmer than that of any bath of
// two litres and more with a heater that can hold it.
func TestWorstCaseIsWorse(t *testing.T) {
	for _, litres := range []quantity.Volume{2, 5, 10, 20, 60} {
		for _, covered := range []bool{false, true} {
			events := []cook.Event{
				cut(hour, 100*minute), {Kind: cook.ColdBags, At: 4 * hour, Count: 1},
				{Kind: cook.LidOff, At: 8 * hour, Until: 9 * hour},
			}
			if litres < 5 {
				events = events[:1] // half a kilogram of cold food is too much for a pot that small
			}
			known := cook.Diary{Events: events, Litres: litres, Watts: 40 * quantity.Power(litres), Covered: covered}
			a, b := water(t, known, 60, true), water(t, diary(events...), 60, true)
			for at := time.Duration(0); at < 12*hour; at += 5 * minute {
				assert.LessOrEqual(t, degrees(b, at), degrees(a, at)+1e-9, "%g L at %v", float64(litres), at)
			}
		}
	}
}

// TestColdBagsByHeatBalance: one bag of half a kilogram at 5 °C in 20 L at 60 °C:
// (20·4180·60 + 0.5·3500·5)/(20·4180 + 0.5·3500) = 58.87 °C.
func TestColdBagsByHeatBalance(t *testing.T) {
	h := water(t, kitchenBath(cook.Event{Kind: cook.ColdBags, At: hour, Count: 1}), 60, true)
	assert.InDelta(t, 58.87, degrees(h, hour), 0.01)
	assert.InDelta(t, 60, degrees(h, hour+5*minute), 0.01, "1.1 K at 1 kW less the loss takes 2.6 min")
	topped := water(t, kitchenBath(cook.Event{Kind: cook.WaterAdded, At: hour, Litres: 2}), 60, true)
	assert.InDelta(t, 55, degrees(topped, hour), 0.3, "2 L at 5 °C in 20 at 60: (20·60 + 2·5)/22")
	ice := water(t, kitchenBath(cook.Event{Kind: cook.ColdBags, At: hour, Count: 1, Frozen: true}), 60, true)
	assert.Less(t, degrees(ice, hour), 58.0, "frozen takes 2.3 times as much")
}

// TestReadings: how readings are taken, carefully.
func TestReadings(t *testing.T) {
	for name, tt := range map[string]struct {
		diary cook.Diary
		want  map[time.Duration]float64
	}{
		"a low reading counts back to the start and stays": {
			diary(read(hour, 52)), map[time.Duration]float64{0: 52, 30 * minute: 52, hour: 52, 5 * hour: 52}},
		"and back to the reading before it": {
			diary(read(hour, 60), read(2*hour, 52)), map[time.Duration]float64{30 * minute: 60, 61 * minute: 52, 5 * hour: 52}},
		"until a reading says it holds again": {
			diary(read(hour, 52), read(2*hour, 60)), map[time.Duration]float64{90 * minute: 52, 2 * hour: 60, 5 * hour: 60}},
		"a high reading buys nothing": {
			diary(read(hour, 64)), map[time.Duration]float64{0: 60, hour: 60, 5 * hour: 60}},
		"a setting does, as fast as the bath is known to heat": {
			diary(set(hour, 64)), map[time.Duration]float64{hour: 60, 70 * minute: 62, 80 * minute: 64, 5 * hour: 64}},
		"a bath that starts cold": {
			diary(read(0, 20), set(0, 60)), map[time.Duration]float64{0: 20, 100 * minute: 40, 200 * minute: 60, 9 * hour: 60}},
		"a bath that started cold half an hour before": {
			diary(read(-30*minute, 20), set(-30*minute, 60)), map[time.Duration]float64{0: 26, 70 * minute: 40}},
		"a cut in a bath nobody knows falls by 2 K a minute to the room and comes back by 0.2": {
			diary(cut(hour, 100*minute)), map[time.Duration]float64{hour: 60, 70 * minute: 40, 80 * minute: 20, 100 * minute: 20, 200 * minute: 40, 300 * minute: 60}},
		"a cut without an end": {
			diary(dead(hour)), map[time.Duration]float64{hour: 60, 80 * minute: 20, 100 * hour: 20}},
		"a reading after the cut ends the doubt": {
			diary(cut(hour, 100*minute), read(110*minute, 57)), map[time.Duration]float64{100 * minute: 20, 110 * minute: 57, 125 * minute: 60}},
	} {
		t.Run(name, func(t *testing.T) {
			h := water(t, tt.diary, 60, true)
			for at, want := range tt.want {
				assert.InDelta(t, want, degrees(h, at), 1e-6, "at %v", at)
			}
		})
	}
}

// TestReplan: what a diary moves, and from when it makes a bag unsafe.
func TestReplan(t *testing.T) {
	m := model(t)
	chicken := at("chicken-breast", 30, 61)
	replan := func(r cook.Request, d cook.Diary) *cook.Replanned {
		t.Helper()
		out, err := m.Replan(r, d)
		require.NoError(t, err)
		return out
	}
	t.Run("an empty diary moves nothing", func(t *testing.T) {
		out := replan(chicken, cook.Diary{})
		assert.Empty(t, out.Changes)
		assert.Nil(t, out.Unsafe)
		assert.Equal(t, planned(t, m, chicken).Ready, out.Plan.Ready)
	})
	t.Run("a bath that holds what it is set to moves nothing by more than the solver's error", func(t *testing.T) {
		out := replan(chicken, diary(read(hour, 61)))
		want := planned(t, m, chicken)
		assert.InEpsilon(t, want.Pasteurised.After.Minutes(), out.Plan.Pasteurised.After.Minutes(), 0.005)
		assert.InEpsilon(t, want.CoreReached.Minutes(), out.Plan.CoreReached.Minutes(), 0.005)
	})
	t.Run("a cut moves ready, pasteurised and the window", func(t *testing.T) {
		out := replan(chicken, kitchenBath(cut(hour, 100*minute)))
		require.NotNil(t, out.Plan)
		assert.Nil(t, out.Unsafe)
		var moved []cook.ChangeID
		for _, c := range out.Changes {
			moved = append(moved, c.ID)
			assert.Greater(t, c.After.After, c.Before.After+30*minute)
		}
		assert.Equal(t, []cook.ChangeID{cook.ChangeReady, cook.ChangePasteurised, cook.ChangeLastCall, cook.ChangeBestBefore}, moved)
		assert.Less(t, out.Coolest, quantity.Temperature(52))
		assert.Equal(t, cook.AssumeWaterBalance, out.Assumed[0].ID)
	})
	t.Run("an unknown bath is taken at its worst", func(t *testing.T) {
		known, worst := replan(chicken, kitchenBath(cut(hour, 100*minute))), replan(chicken, diary(cut(hour, 100*minute)))
		assert.Greater(t, worst.Plan.Pasteurised.After, known.Plan.Pasteurised.After)
		assert.Equal(t, cook.AssumeWaterWorst, worst.Assumed[0].ID)
	})
	t.Run("power that stays out makes it unsafe at a time to come", func(t *testing.T) {
		out := replan(chicken, kitchenBath(dead(hour)))
		assert.Nil(t, out.Plan)
		require.NotNil(t, out.Unsafe)
		assert.Equal(t, cook.RefuseWarmHold, out.Unsafe.Rule)
		assert.Greater(t, out.Unsafe.From, 5*hour, "four hours below 54.4 °C after it got there")
		assert.Less(t, out.Unsafe.From, 6*hour)
		safe := judged(t, m, cook.Happened{Request: chicken, Elapsed: out.Unsafe.From - time.Minute, Diary: kitchenBath(dead(hour))})
		unsafe := judged(t, m, cook.Happened{Request: chicken, Elapsed: out.Unsafe.From + time.Minute, Diary: kitchenBath(dead(hour))})
		assert.NotEqual(t, cook.ReasonSag, safe.Reason)
		assert.Equal(t, cook.ReasonSag, unsafe.Reason)
	})
	t.Run("a cut after it was pasteurised: over four hours and it is not for eating", func(t *testing.T) {
		out := replan(chicken, kitchenBath(cut(3*hour, 9*hour)))
		require.NotNil(t, out.Unsafe)
		assert.Equal(t, cook.RefuseSagged, out.Unsafe.Rule)
	})
	t.Run("a cut of three hours after it was pasteurised does not", func(t *testing.T) {
		assert.Nil(t, replan(chicken, kitchenBath(cut(3*hour, 6*hour))).Unsafe)
	})
	t.Run("a request that cannot be followed is refused", func(t *testing.T) {
		_, err := m.Replan(cook.Request{Food: "liver"}, kitchenBath(cut(hour, 2*hour)))
		var refusal *cook.Refusal
		require.ErrorAs(t, err, &refusal)
	})
	t.Run("a diary that cannot be is an error", func(t *testing.T) {
		_, err := m.Replan(chicken, diary(read(hour, 300)))
		require.ErrorIs(t, err, cook.ErrDiary)
	})
}

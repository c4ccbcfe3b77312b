package dinner_test

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"bagwatch/internal/cook"
	"bagwatch/internal/dinner"
	"bagwatch/internal/food"
	"bagwatch/internal/quantity"
)

func planner(t testing.TB) (*dinner.Planner, *cook.Model) {
	t.Helper()
	foods, err := food.Load()
	require.NoError(t, err)
	m := cook.New(foods)
	return dinner.New(m), m
}

var serve = time.Date(2026, 11, 25, 19, 30, 0, 0, time.UTC)

func of(id food.ID, pieces int, mm float64, doneness food.Doneness) dinner.Dish {
	return dinner.Dish{Request: cook.Request{Food: id, Pieces: pieces, Thickness: quantity.Millimetres(mm), Doneness: doneness}}
}

func at(id food.ID, pieces int, mm, setpoint float64) dinner.Dish {
	d := of(id, pieces, mm, "")
	d.Request.HasSetpoint, d.Request.Setpoint = true, quantity.Temperature(setpoint)
	return d
}

func with(d dinner.Dish, change func(*cook.Request)) dinner.Dish {
	change(&d.Request)
	return d
}

// baths is a kit of so many middling tubs, one pan and ice.
func baths(n int) dinner.Kit {
	return dinner.Kit{Baths: make([]dinner.Bath, n), Pans: 1, Room: 20, Ice: true}
}

// order tells a schedule in one line a step, without its times.
func order(s dinner.Schedule) (out []string) {
	for _, st := range s.Steps {
		switch st.Kind {
		case dinner.StepHeat, dinner.StepChange, dinner.StepIce, dinner.StepCool:
			out = append(out, fmt.Sprintf("%s %d to %.1f", st.Kind, st.Water, float64(st.Temperature)))
		case dinner.StepIn, dinner.StepOut, dinner.StepPull, dinner.StepSear, dinner.StepReheat:
			out = append(out, fmt.Sprintf("%s %s", s.Dishes[st.Dish].Request.Food, st.Kind))
		}
	}
	return out
}

// reasons tells the reasons of a schedule, without their figures.
func reasons(s dinner.Schedule) (out []string) {
	for _, r := range s.Reasons {
		text := string(r.ID)
		if r.Dish >= 0 {
			text += " " + string(s.Dishes[r.Dish].Request.Food)
		}
		out = append(out, text)
	}
	return out
}

package heat_test

import (
	"fmt"
	"time"

	"bagwatch/internal/heat"
	"bagwatch/internal/quantity"
)

// A 25 mm steak from the fridge in a circulated bath at 55 °C: when is its core within a kelvin?
func ExampleNewSeries() {
	steak := heat.Piece{
		Shape:    heat.NewSlab(quantity.Millimetres(25)),
		Material: heat.Material{Diffusivity: 1.4e-7, Conductivity: 0.49},
		Start:    5,
	}
	series, err := heat.NewSeries(steak, 55, 150)
	if err != nil {
		fmt.Println(err)
		return
	}
	reached, ok := series.Reach(54)
	fmt.Println(ok, quantity.CeilTo(reached, time.Minute))
	fmt.Printf("%.1f °C after half an hour\n", float64(series.Core(30*time.Minute)))
	// Output:
	// true 49m0s
	// 50.1 °C after half an hour
}

// The power fails for an hour: the bath sags, then comes back.
func ExampleSolve() {
	breast := heat.Piece{
		Shape:    heat.NewSlab(quantity.Millimetres(30)),
		Material: heat.Material{Diffusivity: 1.36e-7, Conductivity: 0.48},
		Start:    5,
	}
	solution, err := heat.Solve(breast, heat.History{
		heat.Hold(0, 61, 95),
		heat.Ramp(60*time.Minute, 61, 52, 40),
		heat.Hold(120*time.Minute, 61, 95),
	}, 4*time.Hour)
	if err != nil {
		fmt.Println(err)
		return
	}
	settled, ok := solution.Settle(61, 1)
	fmt.Println(ok, quantity.CeilTo(settled, time.Minute))
	fmt.Printf("%.1f °C when the power is back\n", float64(solution.Core(2*time.Hour)))
	// Output:
	// true 2h37m0s
	// 56.1 °C when the power is back
}

// How much ice for two kilograms of cooked food in four litres of tap water?
func ExampleChilling_Ice() {
	ice, err := heat.Chilling{Food: 2, From: 60, To: 4, Water: 4, Tap: 15, Bath: 1}.Ice()
	fmt.Printf("%.1f kg %v\n", float64(ice), err)
	// Output: 1.9 kg <nil>
}

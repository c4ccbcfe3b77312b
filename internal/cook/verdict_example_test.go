package cook_test

import (
	"fmt"
	"time"

	"bagwatch/internal/cook"
	"bagwatch/internal/food"
	"bagwatch/internal/quantity"
)

// Is this chicken done? It went in two hours ago, and the power was out for a quarter of an hour.
func ExampleModel_Verdict() {
	foods, err := food.Load()
	if err != nil {
		panic(err)
	}
	v, err := cook.New(foods).Verdict(cook.Happened{
		Request: cook.Request{Food: "chicken-breast", Pieces: 1, Thickness: quantity.Millimetres(30), HasSetpoint: true, Setpoint: 63.5},
		Elapsed: 2 * time.Hour,
		Diary: cook.Diary{Litres: 20, Watts: 1000, Events: []cook.Event{
			{Kind: cook.PowerOut, At: 30 * time.Minute, Until: 45 * time.Minute},
		}},
	})
	if err != nil {
		panic(err)
	}
	fmt.Println(v.Answer, v.Reason, v.Do)
	// Output: yes pasteurised serve
}

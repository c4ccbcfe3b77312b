package dinner_test

import (
	"fmt"
	"time"

	"bagwatch/internal/cook"
	"bagwatch/internal/dinner"
	"bagwatch/internal/food"
	"bagwatch/internal/quantity"
)

// Steaks and carrots from one bath: hot water first, then ice, and the carrots stay warm beside the steaks.
func ExamplePlanner_Plan() {
	foods, err := food.Load()
	if err != nil {
		panic(err)
	}
	p := dinner.New(cook.New(foods))
	serve := time.Date(2026, 11, 25, 19, 30, 0, 0, time.UTC)
	s, err := p.Plan(serve.Add(-8*time.Hour), serve, []dinner.Dish{
		{Request: cook.Request{Food: "beef-ribeye", Pieces: 2, Thickness: quantity.Millimetres(30), Doneness: "medium-rare"}},
		{Request: cook.Request{Food: "carrot", Pieces: 4, Thickness: quantity.Millimetres(20)}, Name: "carrots"},
	}, dinner.Kit{Baths: []dinner.Bath{{Litres: 12, Watts: 1000, Now: 20}}, Pans: 1, Ice: true})
	if err != nil {
		panic(err)
	}
	for _, st := range s.Steps {
		fmt.Println(st.At.Format("15:04"), st.Kind, st.Temperature)
	}
	// Output:
	// 15:51 heat 85
	// 16:59 in 85
	// 18:02 ice 57
	// 18:12 in 57
	// 19:18 pull 0
	// 19:18 chill 0
	// 19:23 sear 0
	// 19:27 rest 0
	// 19:28 pull 0
	// 19:30 serve 0
}

package kitchen_test

import (
	"fmt"
	"time"

	"bagwatch/internal/cook"
	"bagwatch/internal/food"
	"bagwatch/internal/kitchen"
	"bagwatch/internal/quantity"
)

func Example() {
	foods, err := food.Load()
	if err != nil {
		panic(err)
	}
	plan, err := cook.New(foods).Plan(cook.Request{Food: "beef-ribeye", Thickness: quantity.Millimetres(32)})
	if err != nil {
		panic(err)
	}

	now := time.Date(2026, 5, 3, 18, 20, 0, 0, time.UTC)
	d := kitchen.New(kitchen.Kitchen, "Quay Street")
	bag, err := kitchen.NewBag(plan, now, kitchen.Who{ID: 7, Name: "Ada"}, "")
	if err != nil {
		panic(err)
	}
	if _, err := d.StartBag(bag, now); err != nil {
		panic(err)
	}
	for next := kitchen.Next(d); !next.IsZero(); next = kitchen.Next(d) {
		var news kitchen.News
		news, d = kitchen.Due(d, next)
		for _, it := range news.Items {
			fmt.Println(it.At.Format("15:04"), it.Bag.StateAt(it.At))
		}
	}
	// Output:
	// 19:35 ready
	// 21:57 last call
	// 22:20 past
}

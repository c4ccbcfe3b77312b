package lethality_test

import (
	"fmt"
	"time"

	"bagwatch/internal/lethality"
	"bagwatch/internal/quantity"
)

// A core held at 60 °C, and when it may be called pasteurised.
func Example() {
	rules := lethality.Rules(lethality.IntactRedMeat, -1)
	core := curve(func(float64) float64 { return 60 })
	for _, r := range rules {
		at, _ := r.Reached(core, 24*time.Hour)
		fmt.Println(r.ID, quantity.CeilTo(at, time.Minute))
	}
	at, ok := lethality.Pasteurised(core, 24*time.Hour, rules)
	fmt.Println(quantity.CeilTo(at, time.Minute), ok)
	// Output:
	// red-meat-salmonella 13m0s
	// listeria-6-log 44m0s
	// 44m0s true
}

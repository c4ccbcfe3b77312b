package texture_test

import (
	"fmt"
	"time"

	"bagwatch/internal/texture"
)

// A strip steak at 55.5 °C whose core is hot after 47 minutes.
func ExampleOf() {
	w, err := texture.Of(texture.Input{Class: texture.ClassTender, Setpoint: 55.5, CoreReached: 47 * time.Minute})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println("ready", w.Ready)
	fmt.Println("last call", w.LastCall.Truncate(time.Minute))
	fmt.Println("best before", w.BestBefore.Truncate(time.Minute))
	// Output:
	// ready 47m0s
	// last call 3h11m0s
	// best before 3h36m0s
}

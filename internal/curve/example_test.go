package curve_test

import (
	"bytes"
	"fmt"
	"image/png"

	"bagwatch/internal/cook"
	"bagwatch/internal/curve"
	"bagwatch/internal/food"
	"bagwatch/internal/quantity"
	"bagwatch/internal/reply"
	"bagwatch/locales"
)

// A picture of a plan, with the words that go under it.
func Example() {
	foods, err := food.Load()
	if err != nil {
		panic(err)
	}
	texts, err := reply.Load(locales.FS, nil)
	if err != nil {
		panic(err)
	}
	painter, err := curve.New()
	if err != nil {
		panic(err)
	}
	plan, err := cook.New(foods).Plan(cook.Request{Food: "beef-ribeye", Thickness: quantity.Millimetres(30)})
	if err != nil {
		panic(err)
	}
	picture := texts.Language("en").Picture(reply.PlanCourse(plan), reply.Options{Units: reply.Metric})
	var file bytes.Buffer
	if err := painter.Draw(&file, picture); err != nil {
		panic(err)
	}
	config, err := png.DecodeConfig(&file)
	if err != nil {
		panic(err)
	}
	fmt.Println(config.Width, config.Height)
	fmt.Println(picture.Caption[0])
	// Output:
	// 1152 864
	// Ribeye, medium rare: water at 55.5 °C (132 °F)
}

package dinner_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"bagwatch/internal/dinner"
	"bagwatch/internal/food"
)

// eight is a menu of eight foods of four waters, which need a change of water in two baths.
func eight() []dinner.Dish {
	return []dinner.Dish{
		of("beef-ribeye", 2, 30, "medium-rare"), of("duck-breast", 2, 30, "medium"), of("pork-chop", 2, 25, "medium"),
		of("chicken-breast", 2, 30, "springy"), at("egg", 4, 0, 64), of("carrot", 4, 20, ""), of("asparagus", 8, 12, "firm"), of("potato", 8, 30, ""),
	}
}

// alike is a menu of eight foods of two waters, which one bath does.
func alike() []dinner.Dish {
	var menu []dinner.Dish
	for _, id := range []food.ID{"beef-ribeye", "lamb-rack", "venison-loin", "beef-tenderloin", "beef-strip-steak", "lamb-chop"} {
		menu = append(menu, of(id, 1, 30, "medium-rare"))
	}
	return append(menu, of("carrot", 4, 20, ""), of("potato", 6, 30, ""))
}

// BenchmarkPlan is held to 50 ms for eight foods and two baths.
func BenchmarkPlan(b *testing.B) {
	p, _ := planner(b)
	for name, tt := range map[string]struct {
		menu []dinner.Dish
		kit  dinner.Kit
	}{
		"eight foods one bath":    {alike(), baths(1)},
		"eight foods two baths":   {eight(), baths(2)},
		"eight foods three baths": {eight(), baths(3)},
	} {
		tt.kit.Baths[0] = dinner.Bath{Litres: 20, Watts: 1500, Now: 20}
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				_, err := p.Plan(serve.Add(-24*time.Hour), serve, tt.menu, tt.kit)
				require.NoError(b, err)
			}
		})
	}
}

package dinner_test

import (
	"fmt"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/internal/dinner"
	"bagwatch/internal/food"
)

// lossSlack covers the order in which losses are summed.
const lossSlack = 1e-7

func better(a, b dinner.Cost) bool {
	switch {
	case a.Late != b.Late:
		return a.Late < b.Late
	case a.Wait != b.Wait:
		return a.Wait < b.Wait
	case a.Changes != b.Changes:
		return a.Changes < b.Changes
	}
	return a.Loss < b.Loss-lossSlack
}

// brute tries every bath, phase, setpoint and every choice of who is chilled, with nothing left out: no
// bound, no preference for staying warm, no splitting of the menu by subsets.
func brute(c dinner.Case, dishes, baths int, late bool) (best dinner.Cost, found bool) {
	const phases = 3
	slots := baths * phases
	assign := make([]int, dishes)
	var dishAt func(i int)
	price := func() {
		where := make([][]int, slots)
		for i, s := range assign {
			where[s] = append(where[s], i)
		}
		used := []int{}
		for b := range baths {
			for k := range phases {
				switch {
				case len(where[b*phases+k]) > 0:
					used = append(used, b*phases+k)
				case k+1 < phases && len(where[b*phases+k+1]) > 0:
					return // the same as with the empty phase left out
				}
			}
		}
		grids := make([]int, len(used))
		var gridAt func(i int)
		gridAt = func(i int) {
			if i < len(used) {
				for g := range c.Grid() {
					grids[i] = g
					gridAt(i + 1)
				}
				return
			}
			for chilled := range 1 << dishes {
				var ahead []int
				for i := range dishes {
					if chilled>>i&1 == 1 {
						ahead = append(ahead, i)
					}
				}
				total, ok := dinner.Cost{}, true
				for b := range baths {
					var run []dinner.Phase
					var mine []int
					for j, s := range used {
						if s/phases == b {
							run = append(run, dinner.Phase{Grid: grids[j], Dishes: where[s]})
						}
					}
					for _, i := range ahead {
						if s := assign[i]; s/phases == b && s%phases < len(run)-1 {
							mine = append(mine, i)
						} else if s/phases == b {
							ok = false // nothing to warm it up in: the same as not chilled
						}
					}
					if len(run) == 0 {
						continue
					}
					cost, fine := c.Price(b, run, mine, late)
					ok = ok && fine
					total.Late = max(total.Late, cost.Late)
					total.Wait += cost.Wait
					total.Changes += cost.Changes
					total.Loss += cost.Loss
				}
				if late {
					total = dinner.Cost{Late: total.Late}
				}
				if ok && (!found || better(total, best)) {
					best, found = total, true
				}
			}
		}
		gridAt(0)
	}
	dishAt = func(i int) {
		if i == dishes {
			price()
			return
		}
		for s := range slots {
			assign[i] = s
			dishAt(i + 1)
		}
	}
	dishAt(0)
	return best, found
}

// small are dishes with few setpoints each, so that every case can be tried in full.
func small() []dinner.Dish {
	return []dinner.Dish{
		of("beef-ribeye", 2, 30, "medium-rare"), at("beef-ribeye", 1, 40, 60), of("salmon", 2, 25, "flaking"),
		at("salmon", 2, 25, 50.5), at("carrot", 4, 20, 85), at("asparagus", 8, 12, 85), at("egg", 4, 0, 64),
		at("chicken-breast", 2, 30, 63.5), of("chicken-breast", 2, 35, "supple"), at("chicken-thigh", 4, 20, 74),
		at("pork-chop", 2, 30, 60), of("pork-chop", 2, 25, "medium"), of("lobster-tail", 2, 25, "just-set"),
		at("duck-breast", 2, 30, 58.5), at("potato", 8, 30, 85), at("beef-brisket", 1, 50, 68), of("octopus", 1, 40, ""),
	}
}

// TestSearchIsExact compares the search with a brute force on every menu of one or two of these dishes and on
// a seeded sample of menus of three, with one bath and two, with ice and without, in time and too late.
func TestSearchIsExact(t *testing.T) {
	p, _ := planner(t)
	dishes := small()
	var menus [][]dinner.Dish
	for i := range dishes {
		menus = append(menus, []dinner.Dish{dishes[i]})
		for j := range i + 1 {
			menus = append(menus, []dinner.Dish{dishes[j], dishes[i]})
		}
	}
	random := rand.New(rand.NewPCG(8, 3))
	for range 40 {
		menus = append(menus, []dinner.Dish{dishes[random.IntN(len(dishes))], dishes[random.IntN(len(dishes))], dishes[random.IntN(len(dishes))]})
	}
	compared, planned, impossible, changed := 0, 0, 0, 0
	for n, menu := range menus {
		for _, count := range []int{1, 2} {
			kit := baths(count)
			kit.Ice = n%3 != 0
			if count == 2 && n%2 == 0 {
				kit.Baths[1] = dinner.Bath{Litres: 8, Watts: 1500, Now: 45}
			}
			for _, hours := range []time.Duration{2, 6, 40} {
				c, err := dinner.NewCase(p, serve.Add(-hours*time.Hour), serve, menu, kit)
				require.NoError(t, err)
				if len(menu) == 3 && (len(c.Grid()) > 9 || count == 2 && len(c.Grid()) > 6 || hours == 2) {
					continue // too many to try them all
				}
				for _, late := range []bool{false, true} {
					got, ok := c.Search(late)
					want, possible := brute(c, len(menu), count, late)
					compared++
					require.Equal(t, possible, ok, "%d dishes %v, %d baths, %d h", len(menu), names(menu), count, hours)
					if !ok {
						impossible++
						continue
					}
					planned++
					if want.Changes > 0 {
						changed++
					}
					require.False(t, better(want, got) || better(got, want),
						"%v, %d baths, %d h, late %v: search %+v, brute force %+v", names(menu), count, hours, late, got, want)
				}
			}
		}
	}
	t.Logf("%d compared, %d planned, %d impossible, %d with a change of water", compared, planned, impossible, changed)
	assert.Greater(t, changed, 50, "or the early phases were not put to the test")
	assert.Greater(t, impossible, 50)
}

func names(menu []dinner.Dish) (out []food.ID) {
	for _, d := range menu {
		out = append(out, d.Request.Food)
	}
	return out
}

// TestPanIsExact compares the order of the sears with all orders.
func TestPanIsExact(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	for range 300 {
		turns := make([]dinner.Turn, 1+random.IntN(6))
		for i := range turns {
			turns[i] = dinner.Turn{Work: 1 + random.IntN(9), Rest: 3 * random.IntN(3)}
		}
		before, extra := dinner.SettlePan(turns)
		least := -1
		var permute func(done []int, used int)
		permute = func(done []int, used int) {
			if len(done) < len(turns) {
				for i := range turns {
					if used>>i&1 == 0 {
						permute(append(done, i), used|1<<i)
					}
				}
				return
			}
			next, sum := 0, 0
			for _, i := range done {
				end := max(next, turns[i].Rest)
				sum += end - turns[i].Rest
				next = end + turns[i].Work
			}
			if least < 0 || sum < least {
				least = sum
			}
		}
		permute(nil, 0)
		require.Equal(t, least, extra, fmt.Sprint(turns))
		for i := range turns {
			assert.GreaterOrEqual(t, before[i]-turns[i].Work, turns[i].Rest, "each rests as long as it should")
			for j := range i {
				apart := before[i] <= before[j]-turns[j].Work || before[j] <= before[i]-turns[i].Work
				assert.True(t, apart, "one cook: turns do not overlap")
			}
		}
	}
}

package cook_test

import (
	"encoding/csv"
	"errors"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/internal/cook"
	"bagwatch/internal/food"
	"bagwatch/internal/heat"
	"bagwatch/internal/lethality"
	"bagwatch/internal/quantity"
)

// rowsOf reads testdata/tables/name.csv, whose leading # lines name the source, by column name.
func rowsOf(t testing.TB, name string) []map[string]string {
	t.Helper()
	file, err := os.Open(filepath.Join("..", "..", "testdata", "tables", name+".csv"))
	require.NoError(t, err)
	defer file.Close()
	reader := csv.NewReader(file)
	reader.Comment = '#'
	lines, err := reader.ReadAll()
	require.NoError(t, err)
	require.Greater(t, len(lines), 1)
	var rows []map[string]string
	for _, line := range lines[1:] {
		row := map[string]string{}
		for i, column := range lines[0] {
			row[column] = line[i]
		}
		rows = append(rows, row)
	}
	return rows
}

func number(t testing.TB, row map[string]string, column string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(row[column], 64)
	require.NoError(t, err, column)
	return v
}

// cell is one printed pasteurisation time: minutes from immersion at 5 °C.
type cell struct {
	food                          string
	mm, bath, printed, recomputed float64
}

// step is what the table is rounded to: 5 min below an hour, 15 min from there on.
func (c cell) step() float64 {
	if c.printed < 60 {
		return 5
	}
	return 15
}

// cells reads all printed pasteurisation times. Source: Baldwin 2012, from two reprints that agree.
func cells(t testing.TB) []cell {
	t.Helper()
	var all []cell
	for _, row := range rowsOf(t, "pasteurization_times_published") {
		all = append(all, cell{row["food"], number(t, row, "thickness_mm"), number(t, row, "bath_C"),
			number(t, row, "published_min"), number(t, row, "recomputed_min")})
	}
	require.Len(t, all, 462)
	return all
}

// tableFoods are the four tables, each with what reproduces it: the table's diffusivity and the hold
// it ends at, as minutes at 60 °C and a z value.
//
// The endpoints the tables are said to have (6 log10 Listeria for fish; that and 7 log10 Salmonella for
// poultry; that, 6.5 log10 Salmonella and 5 log10 E. coli for meat; all from memory) do not reproduce them
// with the pairs of this program: see [TestTheTablesStandForOtherEndpoints]. The two numbers here are fits:
// they were solved from the table's recomputed column, which came from a fit of its own to the printed cells,
// with an independent finite-volume script at the diffusivities below, slab up to 30 mm and shape factor
// 0.28 above. The script then meets that column within 0.5 % rms and 3 % at most. So this test checks
// how time depends on thickness and bath, 462 cells on two free numbers a table, and says nothing about which
// pathogen to aim at.
var tableFoods = map[string]struct {
	alpha heat.Diffusivity
	f60   float64 // min
	z     quantity.Difference
	class lethality.Class
	fat   float64
}{
	"lean fish":           {0.98e-7, 16.08, 5.405, lethality.Fish, 1},
	"fatty fish":          {0.98e-7, 29.41, 5.529, lethality.Fish, 15},
	"poultry":             {1.07e-7, 33.95, 5.338, lethality.Poultry, 5},
	"meat beef pork lamb": {1.06e-7, 23.35, 7.951, lethality.IntactRedMeat, 5},
}

// tableMinutes runs a cell with the table's own assumptions: from 5 °C, film 95 W/(m² K), k 0.48 W/(m K),
// no loss of bath temperature, kill counted from the first degree.
//
// Above 30 mm the table takes a shape factor of 0.28, which it calls a 2:3:5 box. A block of exactly these
// edges is faster (shape factor 0.5 to 0.6, and 9 to 11 % rms from the table in three of the four); of the
// bodies that package heat solves, the 1:2:3 block, shape factor 0.32, is nearest, and it is the one taken.
func tableMinutes(t testing.TB, c cell, alpha heat.Diffusivity, rules ...lethality.Rule) float64 {
	t.Helper()
	x := quantity.Millimetres(c.mm)
	shape := heat.NewSlab(x)
	if c.mm > 30 {
		shape = heat.NewBrick(x, 2*x, 3*x)
	}
	s, err := heat.NewSeries(heat.Piece{Shape: shape, Start: 5,
		Material: heat.Material{Diffusivity: alpha, Conductivity: 0.48}}, quantity.Temperature(c.bath), 95)
	require.NoError(t, err)
	for i := range rules {
		rules[i].Floor = 0
	}
	at, ok := lethality.Pasteurised(s, 48*time.Hour, rules)
	require.True(t, ok)
	return at.Minutes()
}

// rms is the root of the mean of squares.
func rms(of []float64) float64 {
	sum := 0.0
	for _, x := range of {
		sum += x * x
	}
	return math.Sqrt(sum / float64(len(of)))
}

// TestPublishedPasteurisationTimes: with the table's own assumptions the model gives the table. The bounds
// are those of the table's rounding: half a printed step is 8 to 20 % of the shorter cells, 3 % of the longer.
// Slabs must also meet the independent script within 1 % and the half minute it is printed to, or 3 %
// where the script itself is that far from its column; blocks within 10 %, since 1:2:3 only stands for 0.28.
func TestPublishedPasteurisationTimes(t *testing.T) {
	misses := map[string][]float64{}
	for _, c := range cells(t) {
		own := tableFoods[c.food]
		got := tableMinutes(t, c, own.alpha, lethality.Rule{Target: 1,
			Pair: lethality.Pair{DRef: quantity.Minutes(own.f60), TRef: 60, Z: own.z}})
		misses[c.food] = append(misses[c.food], got/c.printed-1)
		assert.InDelta(t, c.printed, got, max(0.25*c.printed, c.step()), "%s %g mm at %g °C", c.food, c.mm, c.bath)
		within := max(0.01*c.recomputed+0.5, 0.03*c.recomputed)
		if c.mm > 30 {
			within = 0.10 * c.recomputed
		}
		assert.InDelta(t, c.recomputed, got, within, "%s %g mm at %g °C against the script", c.food, c.mm, c.bath)
	}
	require.Len(t, misses, len(tableFoods))
	for name, of := range misses {
		assert.LessOrEqual(t, rms(of), 0.08, name)
		t.Logf("%s: %d cells, rms %.1f %%", name, len(of), 100*rms(of))
	}
}

// TestTheTablesStandForOtherEndpoints: the strictest of this program's own rules, run with everything else as
// in the table, does not give the table. Were it ever to, the fitted numbers above should go.
func TestTheTablesStandForOtherEndpoints(t *testing.T) {
	misses := map[string][]float64{}
	for _, c := range cells(t) {
		own := tableFoods[c.food]
		got := tableMinutes(t, c, own.alpha, lethality.Rules(own.class, own.fat)...)
		misses[c.food] = append(misses[c.food], got/c.printed-1)
	}
	for name, of := range misses {
		assert.Greater(t, rms(of), 0.08, name)
		t.Logf("%s by our own rules: rms %.1f %%", name, 100*rms(of))
	}
}

// shown is the time a cook is told: whole minutes, up.
func shown(m cook.Moment) float64 { return quantity.CeilTo(m.After, time.Minute).Minutes() }

// reason names why a plan may be pasteurised sooner than the printed cell.
type reason string

const (
	// byShape: the piece is round, or a block, in our careful estimate, and was a slab (or, above 30 mm, a box)
	// in the table's. Proof: the same food asked for as a slab is not sooner, so that law, film, diffusivity
	// and bath margin are all on the safe side, and the shape alone makes the difference.
	byShape reason = "shape"
	// byLaw: the hold at one temperature that the published rules ask for at the careful bath, half a kelvin
	// below the table's, is shorter than the hold the table itself stands for. Proof: both holds, computed.
	// It is so for fish at 55 °C alone, 233 min by the FDA Listeria law and 236 by the fit to the fatty table.
	byLaw reason = "law"
	// none: nothing explains it.
	none reason = "none"
)

// why explains a plan that is sooner than the cell.
func why(t testing.TB, m *cook.Model, c cell, p *cook.Plan) reason {
	t.Helper()
	var ours time.Duration
	for _, k := range p.Kills {
		ours = max(ours, k.Rule.HoldTime(p.Careful.Bath))
	}
	own := tableFoods[c.food]
	table := quantity.Minutes(own.f60 * math.Pow(10, (60-c.bath)/float64(own.z)))
	if ours < table {
		return byLaw
	}
	if kind := p.Careful.Shape.Kind; kind == heat.Brick || kind == heat.Cylinder {
		r := p.Request
		r.Shape = cook.ShapeSlab
		slab := beside(t, m, r)
		if slab != nil && slab.Careful.Shape.Kind == heat.Slab && (slab.Pasteurised.Never || shown(slab.Pasteurised) >= c.printed) {
			return byShape
		}
	}
	return none
}

// TestPlansBesideThePublishedTables puts the plan of every food of a table's class beside every cell, fish
// of any kind beside both fish tables. A plan that is pasteurised sooner than the cell must have one of the
// two reasons that [why] proves. A plan that is never pasteurised is not sooner; a refusal is accepted
// for size, floor or come-up only, and then the computed time still counts.
func TestPlansBesideThePublishedTables(t *testing.T) {
	m := model(t)
	byTable := map[string][]food.ID{}
	for f := range m.Foods().All() {
		switch f.Safety {
		case food.SafetyFish:
			byTable["lean fish"] = append(byTable["lean fish"], f.ID)
			byTable["fatty fish"] = append(byTable["fatty fish"], f.ID)
		case food.Poultry:
			byTable["poultry"] = append(byTable["poultry"], f.ID)
		case food.IntactRedMeat, food.NonIntactRedMeat:
			byTable["meat beef pork lamb"] = append(byTable["meat beef pork lamb"], f.ID)
		}
	}
	compared := 0
	sooner := map[reason]int{}
	worst := map[string]float64{}
	for _, c := range cells(t) {
		plans := 0
		for _, id := range byTable[c.food] {
			p := beside(t, m, at(id, c.mm, c.bath))
			if p == nil {
				continue
			}
			plans++
			compared++
			if p.Pasteurised.Never || shown(p.Pasteurised) >= c.printed {
				continue
			}
			because := why(t, m, c, p)
			sooner[because]++
			assert.NotEqual(t, none, because, "%s %g mm at %g °C: %g min, printed %g", id, c.mm, c.bath, shown(p.Pasteurised), c.printed)
			kind := p.Careful.Shape.Kind.String()
			if p.Food.Proportions.Round {
				kind = "oval"
			}
			worst[kind] = max(worst[kind], 1-shown(p.Pasteurised)/c.printed)
		}
		// No food comes 5 mm thin but squid, and poultry has no claim below 57.8 °C.
		if c.mm > 5 && !(c.food == "poultry" && c.bath < 57.8) {
			assert.Positive(t, plans, "%s %g mm at %g °C has no plan beside it", c.food, c.mm, c.bath)
		}
	}
	// How much a reason may be worth: a single oval piece beside a table for flat ones, where the heating table
	// gives cylinder-like pieces 0.55 of a slab's time; block and slab are what was measured here, to the next
	// whole per cent. More would be a new fault.
	assert.LessOrEqual(t, worst["oval"], 1-0.55)
	assert.LessOrEqual(t, worst["brick"], 0.18)
	assert.LessOrEqual(t, worst["slab"], 0.05)
	t.Logf("%d plans beside 462 cells; sooner by reason: %v; at most, by shape: %v", compared, sooner, worst)
}

// beside is the plan for a cell, also when it is refused for its come-up after all was computed; nil when
// the food does not come in that size or the bath is below its floor.
func beside(t testing.TB, m *cook.Model, r cook.Request) *cook.Plan {
	t.Helper()
	p, err := m.Plan(r)
	if err == nil {
		return p
	}
	var refusal *cook.Refusal
	if !errors.As(err, &refusal) {
		assert.NoError(t, err)
		return nil
	}
	switch refusal.Rule {
	case cook.RefuseTooThick, cook.RefuseTooThin, cook.RefuseNoFloor:
	case cook.RefuseComeUp:
		return refusal.Plan
	default:
		assert.Fail(t, "refused for another reason", "%s %g mm at %g °C: %s", r.Food, r.Thickness.Millimetres(), float64(r.Setpoint), refusal.Rule)
	}
	return nil
}

// TestPublishedHeatingTimes: the slab column of the heating table (Baldwin 2012, from memory) within 7 %, half
// the printed step of 5 min on its shorter cells, run with its own assumptions: 5 °C to 0.5 K below a
// bath of 60 °C, α 1.4e-7, k 0.49, film 95. Beside it, the careful core of our own plan is never sooner.
func TestPublishedHeatingTimes(t *testing.T) {
	m := model(t)
	slabs, plans := 0, 0
	for _, row := range rowsOf(t, "heating_times_published") {
		if row["shape"] != "slab-like" || row["published_min_from_memory"] == "" {
			continue
		}
		slabs++
		mm, printed := number(t, row, "thickness_mm"), number(t, row, "published_min_from_memory")
		s, err := heat.NewSeries(heat.Piece{Shape: heat.NewSlab(quantity.Millimetres(mm)), Start: 5,
			Material: heat.Material{Diffusivity: 1.4e-7, Conductivity: 0.49}}, 60, 95)
		require.NoError(t, err)
		reached, ok := s.Reach(59.5)
		require.True(t, ok)
		assert.InEpsilon(t, printed, reached.Minutes(), 0.07, "%g mm", mm)
		if p := beside(t, m, at("beef-tenderloin", mm, 60)); p != nil {
			plans++
			assert.GreaterOrEqual(t, shown(p.CoreCareful), printed, "%g mm", mm)
		}
	}
	assert.Equal(t, 12, slabs)
	assert.GreaterOrEqual(t, plans, 11)
}

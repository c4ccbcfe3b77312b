package lethality_test

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/internal/lethality"
	"bagwatch/internal/quantity"
)

// row is a line of a published table by column name.
type row map[string]string

func table(t *testing.T, name string) []row {
	t.Helper()
	f, err := os.Open(filepath.Join("..", "..", "testdata", "tables", name))
	require.NoError(t, err)
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	r.LazyQuotes = true // notes hold quotation marks
	records, err := r.ReadAll()
	require.NoError(t, err)
	require.Greater(t, len(records), 1)
	rows := make([]row, 0, len(records)-1)
	for _, rec := range records[1:] {
		m := row{}
		for i, column := range records[0] {
			m[column] = rec[i]
		}
		rows = append(rows, m)
	}
	return rows
}

func (r row) number(t *testing.T, column string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(r[column], 64)
	require.NoError(t, err, "%s in %v", column, r)
	return v
}

func (r row) seconds(t *testing.T, column string) time.Duration {
	t.Helper()
	return time.Duration(r.number(t, column) * float64(time.Second))
}

// exact converts the °F of a table, which is what was measured; its printed °C is rounded.
func (r row) exact(t *testing.T) quantity.Temperature {
	t.Helper()
	return quantity.FromFahrenheit(r.number(t, "temp_F"))
}

// only gives the rule with the id.
func only(t *testing.T, id lethality.RuleID, rules []lethality.Rule) lethality.Rule {
	t.Helper()
	for _, r := range rules {
		if r.ID == id {
			return r
		}
	}
	require.Fail(t, "no such rule", "%s in %v", id, rules)
	return lethality.Rule{}
}

// scaled is a rule with another number of log10 reductions.
func scaled(r lethality.Rule, target float64) lethality.Rule {
	r.Target = target
	return r
}

// TestRedMeatTable holds the red meat rule against FSIS Revised Appendix A Table 2: never
// shorter, at most 1.35 times, in every row above the ones printed "0 sec.".
func TestRedMeatTable(t *testing.T) {
	rule := only(t, lethality.RedMeatSalmonella, lethality.Rules(lethality.IntactRedMeat, -1))
	rows := table(t, "fsis_appendix_a_beef.csv")
	require.Len(t, rows, 31)
	checked := 0
	for _, r := range rows {
		at := r.exact(t)
		for _, column := range []struct {
			name   string
			target float64
		}{{"time_6.5log_s", 6.5}, {"time_7.0log_s", 7}, {"time_5.0log_s", 5}} {
			printed := r.seconds(t, column.name)
			if printed == 0 {
				continue
			}
			hold := scaled(rule, column.target).HoldTime(at)
			if column.target == 5 && r["unit_printed"] == "min" {
				// The 5-log column was rounded up to whole minutes: at 143 and 144 °F that alone
				// makes it 2 to 3 % longer than the law behind it. No 5-log rule is offered.
				hold = quantity.CeilTo(hold, time.Minute)
			}
			assert.GreaterOrEqual(t, hold, printed, "%s °F %s", r["temp_F"], column.name)
			assert.LessOrEqual(t, hold.Seconds(), 1.35*printed.Seconds(), "%s °F %s", r["temp_F"], column.name)
			checked++
		}
	}
	assert.Equal(t, 3*28, checked, "28 rows above the 0 s ones, three columns")
}

// TestPoultryTables holds the rule for each fat content against both FSIS tables (3 and 4).
func TestPoultryTables(t *testing.T) {
	chicken, turkey := table(t, "fsis_appendix_a_chicken.csv"), table(t, "fsis_appendix_a_turkey.csv")
	require.Len(t, chicken, 30)
	require.Len(t, turkey, 30)
	checked := 0
	for fat := 1; fat <= 12; fat++ {
		rule := only(t, lethality.PoultrySalmonella, lethality.Rules(lethality.Poultry, float64(fat)))
		most := 1.35
		if fat == 11 {
			most = 1.375 // no pair was made for 11 %, it takes the fatter one
		}
		for i := range chicken {
			require.Equal(t, chicken[i]["temp_F"], turkey[i]["temp_F"])
			column := "fat" + strconv.Itoa(fat) + "_s"
			longer := max(chicken[i].seconds(t, column), turkey[i].seconds(t, column))
			if longer == 0 {
				continue
			}
			hold := rule.HoldTime(chicken[i].exact(t))
			assert.GreaterOrEqual(t, hold, longer, "%s °F, %d %% fat", chicken[i]["temp_F"], fat)
			assert.LessOrEqual(t, hold.Seconds(), most*longer.Seconds(), "%s °F, %d %% fat", chicken[i]["temp_F"], fat)
			checked++
		}
	}
	assert.Equal(t, 12*29, checked)
}

func TestOtherBirdsAndUnknownFatTakeTheLongest(t *testing.T) {
	chicken, turkey := table(t, "fsis_appendix_a_chicken.csv"), table(t, "fsis_appendix_a_turkey.csv")
	for name, rules := range map[string][]lethality.Rule{
		"poultry of unknown fat":        lethality.Rules(lethality.Poultry, -1),
		"poultry of fat not a number":   lethality.Rules(lethality.Poultry, math.NaN()),
		"poultry fatter than the table": lethality.Rules(lethality.Poultry, 30),
		"game bird":                     lethality.Rules(lethality.GameBird, 1),
		"wild game":                     lethality.Rules(lethality.WildGame, 1),
		"offal":                         lethality.Rules(lethality.Offal, 1),
		"a class nobody defined":        lethality.Rules("basilisk", 1),
	} {
		t.Run(name, func(t *testing.T) {
			rule := only(t, lethality.PoultrySalmonella, rules)
			for i := range chicken {
				at := chicken[i].exact(t)
				for fat := 1; fat <= 12; fat++ {
					column := "fat" + strconv.Itoa(fat) + "_s"
					assert.GreaterOrEqual(t, rule.HoldTime(at), chicken[i].seconds(t, column))
					assert.GreaterOrEqual(t, rule.HoldTime(at), turkey[i].seconds(t, column))
				}
			}
		})
	}
}

func TestFoodCodeRoasts(t *testing.T) {
	rule := only(t, lethality.RedMeatSalmonella, lethality.Rules(lethality.IntactRedMeat, -1))
	for _, r := range table(t, "food_code_3_401_11_roasts.csv") {
		if printed := r.seconds(t, "hold_s"); printed > 0 {
			hold := rule.HoldTime(r.exact(t))
			assert.GreaterOrEqual(t, hold, printed, "%s °F", r["temp_F"])
			assert.LessOrEqual(t, hold.Seconds(), 1.35*printed.Seconds(), "%s °F", r["temp_F"])
		}
	}
}

// TestFishTable holds the Listeria rule to the law behind FDA Table A-3.
func TestFishTable(t *testing.T) {
	rule := only(t, lethality.ListeriaSixLog, lethality.Rules(lethality.Fish, -1))
	for _, r := range table(t, "fda_fish_listeria_6d.csv") {
		at := quantity.Temperature(r.number(t, "temp_C"))
		hold := rule.HoldTime(at)
		assert.InDelta(t, r.number(t, "minutes_6D_law"), hold.Minutes(), 0.0005+1e-9, "%v °C: the law is printed to 0.001 min", at)

		// The table itself is from memory in every row, so it only has to be the law rounded to
		// the digits it has; it is no bound.
		require.Equal(t, "from memory", r["provenance_of_table_value"])
		digits := 0.05
		if at >= 80 {
			digits = 0.005
		}
		if at <= 64 {
			digits = 0.16 // 17.0 and 12.7 as remembered, against 17.15 and 12.62
		}
		assert.InDelta(t, r.number(t, "minutes_6D_table"), hold.Minutes(), digits+1e-3, "%v °C", at)
	}
}

// TestUnitedKingdomEquivalents checks 70 °C for 2 min and its printed equivalents. The FSA
// and ACMSF figures are the two laws rounded up to the precision they are printed with; the
// rules keep the laws, and the same rounding recovers the print.
func TestUnitedKingdomEquivalents(t *testing.T) {
	general := only(t, lethality.ListeriaSixLog, lethality.Rules(lethality.Fish, -1))
	burger := only(t, lethality.NonIntactSTEC, lethality.Rules(lethality.NonIntactRedMeat, -1))
	printing := map[string]struct{ general, burger time.Duration }{
		"60": {5 * time.Minute, time.Minute},
		"65": {time.Minute, 6 * time.Second}, // 13.6 min
		"70": {time.Second, time.Second},
		"75": {5 * time.Second, time.Second},
		"80": {time.Second, time.Second},
	}
	for _, r := range table(t, "uk_70c_2min_equivalents.csv") {
		at := quantity.Temperature(r.number(t, "temp_C"))
		step, ok := printing[r["temp_C"]]
		require.True(t, ok)
		assert.InDelta(t, r.number(t, "law_z7.5_s"), general.HoldTime(at).Seconds(), 0.05+1e-6, "%v °C, printed to 0.1 s", at)
		assert.InDelta(t, r.number(t, "law_z6_s"), burger.HoldTime(at).Seconds(), 0.05+1e-6, "%v °C, printed to 0.1 s", at)

		printed := r.seconds(t, "fsa_general_s")
		assert.Equal(t, printed, quantity.CeilTo(general.HoldTime(at), step.general), "FSA general at %v °C", at)
		assert.Less(t, printed.Seconds(), 1.165*general.HoldTime(at).Seconds(), "the print is 0 to 16 %% longer, %v °C", at)
		if r["acmsf_burger_s"] == "" {
			continue
		}
		printed = r.seconds(t, "acmsf_burger_s")
		if at == 65 { // 13.627 min, printed 13.6: rounded down by 1.6 s; the rule is the longer
			assert.GreaterOrEqual(t, burger.HoldTime(at), printed)
			assert.Less(t, burger.HoldTime(at)-printed, 2*time.Second)
			continue
		}
		assert.Equal(t, printed, quantity.CeilTo(burger.HoldTime(at), step.burger), "ACMSF burger at %v °C", at)
	}
}

// TestLiquidEgg sets the published liquid-egg pair and our shell pair against the processes
// of 9 CFR 590.570 Table I.
func TestLiquidEgg(t *testing.T) {
	shell := only(t, lethality.EggSalmonella, lethality.Rules(lethality.Egg, -1)).Pair
	liquid := shell
	liquid.DRef, liquid.TRef = quantity.Minutes(4.09), 56.7 // Brackett et al. 2001, upper value
	for _, r := range table(t, "egg_products_9cfr590_570.csv") {
		if r["product"] != "whole egg" {
			continue
		}
		hold := quantity.Minutes(r.number(t, "time_min"))
		logs := func(p lethality.Pair) float64 { return float64(hold) / float64(p.D(60)) }
		assert.InDelta(t, 4.95, logs(liquid), 0.01, "the CFR process is about 5 log")
		assert.InDelta(t, 2.5, logs(shell), 0.05, "the shell pair asks about twice as much")
		return
	}
	t.Fatal("no row for whole egg")
}

func TestShellEggEvidence(t *testing.T) {
	rule := only(t, lethality.EggSalmonella, lethality.Rules(lethality.Egg, -1))
	// Hou et al. 1996 (names from memory): 57 °C water for 25 min, warming up included, gave
	// about 3 log. Credited even without any warm-up: 3.6, so 25 min is no claim here.
	assert.InDelta(t, 3.6, 25/rule.Pair.D(57).Minutes(), 0.05)
	assert.Greater(t, rule.HoldTime(57), 25*time.Minute)
	// Brackett et al. 2001: humid air at 57.2 °C left no survivors from 70 min, 8.7 log an egg,
	// at a D of 5.19 to 6.12 min at the centre.
	assert.InDelta(t, 6.12, rule.Pair.D(57.2).Minutes(), 1e-6)
	assert.InDelta(t, 7*6.12, rule.HoldTime(57.2).Minutes(), 1e-6)
	// The often quoted 75 min in 57 °C water (from memory) is longer than 48 min at the centre.
	assert.InDelta(t, 48.8, rule.HoldTime(57).Minutes(), 0.1)
	// 63 °C for 45 min passes with the yolk's own D of 0.28 min at 60 °C (Schuman & Sheldon
	// 1997) and with this pair.
	assert.Less(t, rule.HoldTime(63), 45*time.Minute)
	assert.Greater(t, rule.Pair.D(60), quantity.Minutes(0.28))
}

// TestBotulinumTable follows the UK table with both z values. It is printed to two digits
// and the law was fitted through 90 °C, so it lies 3.2 % below in one row (99 °C).
func TestBotulinumTable(t *testing.T) {
	spores := lethality.BotulinumSpores()
	assert.Equal(t, 10*time.Minute, 6*spores.D(90))
	for _, r := range table(t, "cbot_nonproteolytic_90c10min.csv") {
		at := quantity.Temperature(r.number(t, "temp_C"))
		assert.InEpsilon(t, r.number(t, "time_min"), 6*spores.D(at).Minutes(), 0.033, "%v °C", at)
	}
}

// TestTrichinella: any 6.5-log Salmonella cook exceeds the old pork rows.
func TestTrichinella(t *testing.T) {
	rule := only(t, lethality.RedMeatSalmonella, lethality.Rules(lethality.IntactRedMeat, -1))
	published := map[quantity.Temperature]time.Duration{}
	for _, r := range table(t, "trichinella_9cfr318_10.csv") {
		published[r.exact(t)] = r.seconds(t, "min_time_s")
	}
	require.NotEmpty(t, lethality.Trichinella())
	for _, r := range lethality.Trichinella() {
		assert.Equal(t, published[r.At], r.Hold, "%v °C", r.At)
		assert.Greater(t, rule.HoldTime(r.At), r.Hold, "%v °C", r.At)
	}
	// Gamble review, OIE: 55 °C 6 min, 60 °C under a minute; Toxoplasma 61 °C 3.6 min (Dubey
	// et al. 1990).
	assert.Greater(t, rule.HoldTime(55), 6*time.Minute)
	assert.Greater(t, rule.HoldTime(60), time.Minute)
	assert.Greater(t, rule.HoldTime(61), quantity.Minutes(3.6))
}

// TestMeasuredValues compares the pairs with measured D in the foods they are used for.
func TestMeasuredValues(t *testing.T) {
	redMeat := only(t, lethality.RedMeatSalmonella, lethality.Rules(lethality.IntactRedMeat, -1)).Pair
	stec := only(t, lethality.NonIntactSTEC, lethality.Rules(lethality.NonIntactRedMeat, -1)).Pair
	listeria := only(t, lethality.ListeriaSixLog, lethality.Rules(lethality.Fish, -1)).Pair
	covered := 0
	for _, r := range table(t, "d_z_values.csv") {
		if r["use"] != "data" || r["status"] != "found" {
			continue
		}
		var pair lethality.Pair
		switch {
		case r["pathogen"] == "Salmonella" && r["food"] == "ground beef" && r["T_ref_C"] != "51.6":
			pair = redMeat // 51.6 °C lies below every floor
		case r["pathogen"] == "E. coli O157:H7" && strings.HasPrefix(r["food"], "ground beef"):
			pair = stec
		case strings.HasPrefix(r["pathogen"], "Listeria") && (r["food"] == "ground beef roast" ||
			strings.Contains(r["food"], "salmon fillet") || r["food"] == "catfish" || r["food"] == "minced beef vacuum-packed 50-60 C"):
			pair = listeria
		case r["pathogen"] == "Clostridium perfringens vegetative":
			pair = lethality.PerfringensCells()
		default:
			continue
		}
		measured := r.number(t, "D_min")
		if r["D_max_min"] != "" && r["T_ref_C"] != "62.7" {
			// At 62.7 °C Goodfellow & Brown give 0.6 to 0.7 min. The FSIS table rests on that very
			// work and its law lies at 0.56, this pair at 0.64: above the lower value only.
			measured = r.number(t, "D_max_min")
		}
		at := quantity.Temperature(r.number(t, "T_ref_C"))
		assert.GreaterOrEqual(t, pair.D(at).Minutes(), measured, "%s in %s at %v °C", r["pathogen"], r["food"], at)
		covered++
	}
	assert.GreaterOrEqual(t, covered, 15, "the table still has the rows this reads")
}

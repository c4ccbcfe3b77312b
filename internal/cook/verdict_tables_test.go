package cook_test

import (
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/internal/cook"
	"bagwatch/internal/food"
	"bagwatch/internal/quantity"
)

func judged(t testing.TB, m *cook.Model, h cook.Happened) *cook.Verdict {
	t.Helper()
	v, err := m.Verdict(h)
	require.NoError(t, err)
	return v
}

// published is one row of a published table: hold the coldest part at a temperature for a time.
type published struct {
	name    string
	request cook.Request // its setpoint is 1 K above the row
	at      float64      // °C
	row     time.Duration
	// hotter is the shortest time that any table that must hold asks of the next row up, which the core
	// of a bath 1 K above this row never passes.
	hotter time.Duration
	// slack is how much longer than the table the pair may be.
	slack float64
}

func seconds(s float64) time.Duration { return time.Duration(s * float64(time.Second)) }

// listeriaLaw is 70 °C for 2 min with z = 7.5 °C: Mackey & Bratchell 1989, and the FDA Fish Guide's law.
func listeriaLaw(celsius float64) time.Duration {
	return quantity.Minutes(2 * pow10((70-celsius)/7.5))
}

func pow10(x float64) float64 { return math.Pow(10, x) }

// publishedRows gathers rows of the tables that the rules stand for.
func publishedRows(t testing.TB) []published {
	var all []published
	above := func(id, column string, mm float64, name string, table []map[string]string, least string, step int, slack float64, change func(*cook.Request)) {
		for i := 0; i+1 < len(table); i += step {
			row, next := table[i], table[i+1]
			celsius := number(t, row, "temp_C_exact")
			s, up := number(t, row, column), number(t, next, least)
			if s == 0 || up == 0 {
				continue // "instantaneous": no time to be early or late by
			}
			r := at(food.ID(id), mm, celsius+1)
			if change != nil {
				change(&r)
			}
			all = append(all, published{fmt.Sprintf("%s, %s °F", name, row["temp_F"]), r, celsius, seconds(s), seconds(up), slack})
		}
	}
	beef := rowsOf(t, "fsis_appendix_a_beef")
	above("pork-chop", "time_6.5log_s", 20, "FSIS Appendix A, red meat 6.5 log", beef, "time_6.5log_s", 2, 1.14, nil)
	above("beef-strip-steak", "time_6.5log_s", 20, "FSIS Appendix A, red meat 6.5 log, guests at risk", beef[10:], "time_6.5log_s", 4, 1.14, atRisk)
	above("chicken-breast", "fat12_s", 20, "FSIS Appendix A, chicken", rowsOf(t, "fsis_appendix_a_chicken"), "fat1_s", 3, 1.35, nil)
	above("turkey-breast", "fat12_s", 40, "FSIS Appendix A, turkey", rowsOf(t, "fsis_appendix_a_turkey"), "fat1_s", 3, 1.35, nil)
	for _, row := range rowsOf(t, "fda_fish_listeria_6d") {
		celsius := number(t, row, "temp_C")
		if celsius > 71 || int(celsius)%2 == 0 {
			continue
		}
		r := with(at("salmon", 20, celsius+1), pasteurised)
		all = append(all, published{fmt.Sprintf("FDA Fish Guide Table A-3, %g °C", celsius), r, celsius,
			quantity.Minutes(number(t, row, "minutes_6D_law")), listeriaLaw(celsius + 0.5), 1.01})
	}
	for _, row := range rowsOf(t, "uk_70c_2min_equivalents") {
		celsius := number(t, row, "temp_C")
		if row["acmsf_burger_s"] != "" && celsius < 75 {
			r := at("beef-patty", 20, celsius+1)
			all = append(all, published{fmt.Sprintf("ACMSF burgers, %g °C", celsius), r, celsius,
				seconds(number(t, row, "acmsf_burger_s")), seconds(120 * pow10((69.5-celsius)/6)), 1.01})
		}
		if celsius <= 70 {
			r := with(at("salmon", 20, celsius+1), atRisk)
			all = append(all, published{fmt.Sprintf("UK FSA general, guests at risk, %g °C", celsius), r, celsius,
				seconds(number(t, row, "fsa_general_s")), listeriaLaw(celsius + 0.5), 1.01})
		}
	}
	return all
}

// TestVerdictsFromPublishedRows: in water 1 K above a row the careful core, half a kelvin below the water,
// never passes the next row up, so before that row's time nothing may be called pasteurised; and once it is
// within half a kelvin it is at the row, so after its time, and that of 70 °C for 2 min, it must be a yes.
// The allowances above the tables are those the pairs are documented with (rounding and one line through
// convex columns); 0.3 % is the quadrature's own.
func TestVerdictsFromPublishedRows(t *testing.T) {
	m := model(t)
	rows := publishedRows(t)
	require.Greater(t, len(rows), 40)
	for _, row := range rows {
		t.Run(row.name, func(t *testing.T) {
			before := judged(t, m, cook.Happened{Request: row.request, Elapsed: row.hotter})
			assert.Equal(t, cook.NotYet, before.Answer, "after %v", row.hotter)
			assert.Contains(t, []cook.ReasonID{cook.ReasonLog, cook.ReasonAtRisk}, before.Reason)
			require.False(t, before.Plan.CoreCareful.Never)

			hold := max(time.Duration(row.slack*float64(row.row)), listeriaLaw(row.at))
			after := before.Plan.CoreCareful.After + time.Duration(1.003*float64(hold))
			v := judged(t, m, cook.Happened{Request: row.request, Elapsed: after})
			assert.Equal(t, cook.Yes, v.Answer, "after %v", after)
			assert.Equal(t, cook.ReasonPasteurised, v.Reason)
			for _, k := range v.Kills {
				assert.GreaterOrEqual(t, k.Log, k.Rule.Target)
				assert.NotEmpty(t, k.Rule.Source)
			}

			// What it says when, it keeps: a second before not, then yes.
			require.False(t, before.At.Never)
			assert.Equal(t, cook.NotYet, judged(t, m, cook.Happened{Request: row.request, Elapsed: before.At.After - time.Second}).Answer)
			assert.Equal(t, cook.Yes, judged(t, m, cook.Happened{Request: row.request, Elapsed: before.At.After}).Answer)
		})
	}
}

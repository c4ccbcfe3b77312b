package cook_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/internal/cook"
	"bagwatch/internal/food"
	"bagwatch/internal/quantity"
)

func model(t testing.TB) *cook.Model {
	t.Helper()
	c, err := food.Load()
	require.NoError(t, err)
	return cook.New(c)
}

// at is a request for one measured piece from the fridge.
func at(id food.ID, mm, setpoint float64) cook.Request {
	return cook.Request{Food: id, Pieces: 1, Thickness: quantity.Millimetres(mm), HasSetpoint: true, Setpoint: quantity.Temperature(setpoint)}
}

// TestTradeRows holds the plan to figures that an independent script computed from the same published
// models (series solution, pairs and windows) and that trade practice then judged. Times are minutes.
// Tolerance 12 %: the script took one shape and conductivity for all foods of a class. Pasteurised times
// may be later by as much, but never earlier than the row, whole minutes rounded up.
func TestTradeRows(t *testing.T) {
	m := model(t)
	const none, never = 0, -1
	pasteurised := func(r cook.Request) cook.Request { r.Pasteurised = true; return r }
	for name, row := range map[string]struct {
		request                 cook.Request
		ready, best, pasteurise float64
	}{
		"ribeye 32 mm at 54.5":              {at("beef-ribeye", 32, 54.5), 70, 261, 428},
		"strip 25 mm at 55.5":               {at("beef-strip-steak", 25, 55.5), 47, 216, 272},
		"strip 25 mm at 60":                 {at("beef-strip-steak", 25, 60), 47, 149, 111},
		"strip 25 mm at 54":                 {at("beef-strip-steak", 25, 54), 47, 240, never},
		"chicken breast 25 mm at 63.5":      {at("chicken-breast", 25, 63.5), 74, none, 74},
		"chicken breast 30 mm at 63.5":      {at("chicken-breast", 30, 63.5), 91, none, 91},
		"chicken breast 35 mm at 63.5":      {at("chicken-breast", 35, 63.5), 109, none, 109},
		"chicken breast 30 mm at 60":        {at("chicken-breast", 30, 60), none, none, 130},
		"chicken breast 30 mm at 61":        {at("chicken-breast", 30, 61), none, none, 115},
		"turkey breast 65 mm at 61":         {at("turkey-breast", 65, 61), none, none, 291},
		"pork chop 30 mm at 60":             {at("pork-chop", 30, 60), none, none, 130},
		"pork chop 30 mm at 62":             {at("pork-chop", 30, 62), none, none, 104},
		"thigh 20 mm at 65":                 {at("chicken-thigh", 20, 65), 100, 364, none},
		"thigh 20 mm at 74":                 {at("chicken-thigh", 20, 74), 68, 200, none},
		"leg 45 mm at 74":                   {at("chicken-leg", 45, 74), 130, 262, none},
		"salmon 25 mm at 50.5":              {at("salmon", 25, 50.5), 39, 84, never},
		"salmon 25 mm at 63, pasteurised":   {pasteurised(at("salmon", 25, 63)), 78, 93, 78},
		"halibut 45 mm at 52":               {at("halibut", 45, 52), 105, 120, never},
		"patty 25 mm at 62":                 {at("beef-patty", 25, 62), 116, none, 116},
		"duck breast 30 mm at 58.5":         {at("duck-breast", 30, 58.5), none, none, 205},
		"chuck 60 mm at 57":                 {at("beef-chuck-roast", 60, 57), 33 * 60, 52 * 60, none},
		"chuck 60 mm at 80":                 {at("beef-chuck-roast", 60, 80), 11 * 60, 17 * 60, none},
		"brisket 50 mm at 68":               {at("beef-brisket", 50, 68), 26 * 60, 42 * 60, none},
		"short rib 45 mm at 57":             {at("beef-short-rib", 45, 57), 46 * 60, 74 * 60, none},
		"pork shoulder 80 mm at 74":         {at("pork-shoulder", 80, 74), 21 * 60, 34 * 60, none},
		"duck leg 40 mm at 75":              {at("duck-leg", 40, 75), 12 * 60, 19 * 60, none},
		"flank 20 mm at 55.5":               {at("beef-flank", 20, 55.5), 3.5 * 60, 11 * 60, none},
		"octopus at 77":                     {cook.Request{Food: "octopus", HasSetpoint: true, Setpoint: 77}, 6.3 * 60, 10 * 60, none},
		"egg at 64":                         {cook.Request{Food: "egg", HasSetpoint: true, Setpoint: 64}, 45, 80, 51},
		"carrot 20 mm at 85, tender":        {at("carrot", 20, 85), 63, none, none},
		"beet 53 mm at 85":                  {at("beet", 53, 85), 122, none, none},
		"pork tenderloin 55 mm, one, at 60": {at("pork-tenderloin", 55, 60), none, none, 113},
		"pork tenderloin 55 mm, two in a bag, at 60": {func() cook.Request {
			r := at("pork-tenderloin", 55, 60)
			r.Pieces = 2
			return r
		}(), none, none, 209},
		"sausages 30 mm, four in a bag, at 65": {func() cook.Request {
			r := at("sausage", 30, 65)
			r.Pieces = 4
			return r
		}(), none, none, 95},
		"one sausage 30 mm at 65": {at("sausage", 30, 65), none, none, 55},
	} {
		t.Run(name, func(t *testing.T) {
			p, err := m.Plan(row.request)
			require.NoError(t, err)
			within := func(what string, want float64, got time.Duration) {
				if want > 0 {
					assert.InEpsilon(t, want, got.Minutes(), 0.12, what)
				}
			}
			within("ready", row.ready, p.Ready)
			within("best before", row.best, p.BestBefore)
			if row.pasteurise == never {
				assert.True(t, p.Pasteurised.Never, "pasteurised must never be claimed here")
			}
			if row.pasteurise > 0 {
				require.False(t, p.Pasteurised.Never)
				assert.GreaterOrEqual(t, quantity.CeilTo(p.Pasteurised.After, time.Minute).Minutes(), row.pasteurise, "pasteurised never earlier")
			}
			t.Logf("ready %.0f best %.0f pasteurised %.0f (never %v) core %.0f", p.Ready.Minutes(), p.BestBefore.Minutes(), p.Pasteurised.After.Minutes(), p.Pasteurised.Never, p.CoreReached.Minutes())
		})
	}
}

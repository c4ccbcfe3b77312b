package food_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/internal/food"
	"bagwatch/internal/quantity"
)

func catalogue(t testing.TB) *food.Catalogue {
	t.Helper()
	c, err := food.Load()
	require.NoError(t, err)
	return c
}

// The thickness is checked at piece masses of USDA Standard Reference (joints, steaks and
// fish: common practice, no source).
func TestThicknessFollowsFromTheMassOfOnePiece(t *testing.T) {
	for name, tt := range map[string]struct {
		id food.ID
		g  float64
		mm float64
	}{
		"a large chicken breast":           {"chicken-breast", 272, 31},
		"a small chicken breast":           {"chicken-breast", 170, 27},
		"a flat boneless thigh":            {"chicken-thigh", 100, 19},
		"a salmon portion":                 {"salmon", 150, 27},
		"a cod portion":                    {"cod", 150, 29},
		"a duck breast with its skin":      {"duck-breast", 350, 30},
		"a whole pork tenderloin":          {"pork-tenderloin", 505, 54},
		"a boneless pork chop":             {"pork-chop", 150, 29},
		"a joint of a kilogram":            {"beef-round-roast", 1000, 68},
		"a brisket flat":                   {"beef-brisket", 1500, 35},
		"a ribeye with its cap":            {"beef-ribeye", 450, 33},
		"an egg in its shell":              {"egg", 60.2, 47.3},
		"a medium potato":                  {"potato", 213, 72},
		"a beet":                           {"beet", 82, 53},
		"a carrot of two hundred mm":       {"carrot", 72, 27},
		"an asparagus spear":               {"asparagus", 16, 12},
		"half the mass of a steak is half": {"beef-ribeye", 225, 16.5},
	} {
		t.Run(name, func(t *testing.T) {
			f, ok := catalogue(t).Food(tt.id)
			require.True(t, ok)
			assert.InDelta(t, tt.mm, f.Thickness(quantity.Grams(tt.g)).Millimetres(), 0.6, "the check values are whole millimetres")
		})
	}
}

func TestNoMassNoThickness(t *testing.T) {
	for f := range catalogue(t).All() {
		assert.Zero(t, f.Thickness(0), f.ID)
		assert.Zero(t, f.Thickness(-1), f.ID)
	}
}

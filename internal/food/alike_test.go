package food_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/internal/food"
)

func TestSteakWordsForOtherFoods(t *testing.T) {
	c, err := food.Load()
	require.NoError(t, err)
	for _, tt := range []struct {
		id         food.ID
		said, want food.Doneness
	}{
		{"salmon", "medium-rare", "just-set"},
		{"tuna", "rare", "glassy"},
		{"beef-short-rib", "medium-rare", "sliceable"},
		{"beef-ribeye", "medium", "medium"}, // its own
		{"pork-chop", "rare", ""},           // pork is not served rare
		{"chicken-breast", "rare", ""},      // nor is poultry
		{"carrot", "medium", ""},
	} {
		f, ok := c.Food(tt.id)
		require.True(t, ok)
		got, ok := f.Alike(tt.said)
		assert.Equal(t, tt.want, got, "%s %s", tt.id, tt.said)
		assert.Equal(t, tt.want != "", ok)
	}
}

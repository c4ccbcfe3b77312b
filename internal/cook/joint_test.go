package cook_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
)

// TestJointsGrowSlowerThroughTheTurn: from slab to block, a joint half a millimetre thicker is never sooner
// through, at any thickness.
func TestJointsGrowSlowerThroughTheTurn(t *testing.T) {
	m := model(t)
	var last time.Duration
	for mm := 20.0; mm <= 100; mm += 0.5 {
		p := planned(t, m, at("beef-chuck-roast", mm, 62))
		assert.Greater(t, p.CoreCareful.After, last, "%.1f mm", mm)
		last = p.CoreCareful.After
	}
}

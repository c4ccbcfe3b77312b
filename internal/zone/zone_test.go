package zone_test

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/internal/zone"
)

func TestNamesAreFound(t *testing.T) {
	for typed, want := range map[string]string{
		"Lisbon":        "Europe/Lisbon",
		"  lisbon ":     "Europe/Lisbon",
		"Lisbn":         "Europe/Lisbon",
		"Lissabon":      "Europe/Lisbon",
		"zürich":        "Europe/Zurich",
		"Zuerich":       "Europe/Zurich",
		"new york":      "America/New_York",
		"New-York":      "America/New_York",
		"san fransisco": "America/Los_Angeles",
		"Europe/Vienna": "Europe/Vienna",
		"Japan":         "Asia/Tokyo",
		"Singapore":     "Asia/Singapore",
	} {
		got, _ := zone.Find(typed)
		require.NotEmpty(t, got, typed)
		assert.Equal(t, want, got[0].Name, typed)
	}
}

func TestACountryWithSeveralClocksGivesThemAll(t *testing.T) {
	got, exact := zone.Find("Australia")
	assert.True(t, exact)
	assert.Greater(t, len(got), 5)
}

func TestNonsenseIsNotFound(t *testing.T) {
	for _, typed := range []string{"", "x", "ribeye 3 cm", "qqqqqqqq", string(make([]byte, 5000))} {
		got, _ := zone.Find(typed)
		assert.Empty(t, got, typed)
	}
}

func TestEveryZoneLoads(t *testing.T) {
	now := time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)
	all := zone.Near(0, 0, now, math.MaxInt)
	assert.Greater(t, len(all), 40, "more distinct clocks than whole hours")
	for _, z := range all {
		_, err := z.Location()
		assert.NoError(t, err, z.Name)
	}
}

func TestAPlaceGivesTheNearestClocks(t *testing.T) {
	now := time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)
	got := zone.Near(41.15, -8.61, now, 3) // Porto
	require.Len(t, got, 3)
	assert.Equal(t, "Europe/Lisbon", got[0].Name)
	assert.Empty(t, zone.Near(math.NaN(), 0, now, 3))
	assert.Empty(t, zone.Near(91, 0, now, 3))
}

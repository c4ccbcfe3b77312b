package config_test

import (
	"os"
	"regexp"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/internal/config"
)

// TestReadmeTable: the table people read and the settings that are read are the same, in order.
func TestReadmeTable(t *testing.T) {
	readme, err := os.ReadFile("../../README.md")
	require.NoError(t, err)
	rows := regexp.MustCompile("(?m)^\\| `([A-Z_]+)` \\| (.*?) ?\\| (.*) \\|$").FindAllSubmatch(readme, -1)
	settings := config.Settings()
	require.Len(t, rows, len(settings))
	for i, s := range settings {
		assert.Equal(t, s.Name, string(rows[i][1]))
		assert.Equal(t, s.Default, string(rows[i][2]), s.Name)
		assert.Equal(t, s.Meaning, string(rows[i][3]), s.Name)
	}
}

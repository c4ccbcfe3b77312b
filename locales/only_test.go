package locales_test

import (
	"io/fs"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/locales"
)

func TestOnlyTheLanguagesAskedFor(t *testing.T) {
	for name, tt := range map[string]struct {
		tags []string
		want []string
	}{
		"English is always there":     {nil, []string{"en.toml"}},
		"a region is its language":    {[]string{"de_AT"}, []string{"de.toml", "en.toml"}},
		"an unknown tag adds nothing": {[]string{"xx", "../en"}, []string{"en.toml"}},
	} {
		t.Run(name, func(t *testing.T) {
			fsys := locales.Only(tt.tags...)
			names, err := fs.Glob(fsys, "*.toml")
			require.NoError(t, err)
			assert.ElementsMatch(t, tt.want, names)
			_, err = fs.ReadFile(fsys, "fr.toml")
			assert.ErrorIs(t, err, fs.ErrNotExist)
			_, err = fs.ReadFile(fsys, "en.toml")
			assert.NoError(t, err)
		})
	}
}

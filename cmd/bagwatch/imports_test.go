package main

import (
	"encoding/json"
	"errors"
	"io"
	"os/exec"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// allowed says which packages of this module each package may import. What is missing here fails, so a
// new package or a new edge is a decision and not an accident. Arrows run cmd → bot → internal, and
// within internal from the words and stores down to quantities.
var allowed = map[string][]string{
	"internal/quantity":  {},
	"internal/heat":      {"internal/quantity"},
	"internal/lethality": {"internal/quantity"},
	"internal/texture":   {"internal/quantity"},
	"internal/food":      {"internal/quantity", "internal/heat", "internal/lethality", "internal/texture"},
	"internal/cook":      {"internal/quantity", "internal/heat", "internal/lethality", "internal/texture", "internal/food"},
	"internal/phrase":    {"internal/quantity", "internal/food", "internal/cook"},
	"internal/reply":     {"internal/quantity", "internal/heat", "internal/lethality", "internal/texture", "internal/food", "internal/cook", "internal/phrase", "internal/kitchen", "internal/dinner"},
	"internal/kitchen":   {"internal/quantity", "internal/food", "internal/cook"},
	"internal/curve":     {"internal/quantity", "internal/cook", "internal/reply"},
	"internal/store":     {},
	"internal/config":    {"internal/quantity"},
	"internal/zone":      {},
	"internal/dinner":    {"internal/quantity", "internal/heat", "internal/lethality", "internal/texture", "internal/food", "internal/cook"},
	"locales":            {},
	"bot":                {"internal/*", "locales"},
	"bot/terminal":       {"bot", "internal/*"},
	"bot/telegram":       {"bot", "internal/*"},
	"cmd/bagwatch":       {"bot", "bot/terminal", "bot/telegram", "internal/*", "locales"},
}

// only lists outside modules that one package alone may import.
var only = map[string][]string{
	"github.com/redis/go-redis/":    {"internal/store"},
	"github.com/go-telegram/bot":    {"bot/telegram"},
	"golang.org/x/term":             {"bot/terminal", "cmd/bagwatch"},
	"github.com/alecthomas/kong":    {"cmd/bagwatch"},
	"github.com/BurntSushi/toml":    {"internal/food", "internal/phrase", "internal/reply"},
	"github.com/nicksnyder/go-i18n": {"internal/reply"},
	"github.com/prometheus/":        {"cmd/bagwatch"},
	"golang.org/x/image":            {"internal/curve"},
	"codeberg.org/go-fonts/":        {"internal/curve"},
}

// numerical packages import the standard library and this module only.
var numerical = []string{"internal/quantity", "internal/heat", "internal/lethality", "internal/texture", "internal/cook"}

func TestImportsPointOneWay(t *testing.T) {
	cmd := exec.Command("go", "list", "-json=ImportPath,Imports,Standard", "bagwatch/...")
	out, err := cmd.Output()
	require.NoError(t, err)
	for decoder := json.NewDecoder(strings.NewReader(string(out))); ; {
		var p struct {
			ImportPath string
			Imports    []string
		}
		if err := decoder.Decode(&p); errors.Is(err, io.EOF) {
			break
		} else {
			require.NoError(t, err)
		}
		name := strings.TrimPrefix(p.ImportPath, "bagwatch/")
		if testOnly(name) {
			continue
		}
		edges, known := allowed[name]
		require.True(t, known, "package %s is not in the list of allowed imports", name)
		for _, imported := range p.Imports {
			if mine, ok := strings.CutPrefix(imported, "bagwatch/"); ok {
				assert.True(t, permitted(edges, mine), "%s may not import %s", name, mine)
				continue
			}
			for prefix, owners := range only {
				if strings.HasPrefix(imported, prefix) {
					assert.Contains(t, owners, name, "%s may not import %s", name, imported)
				}
			}
			if contains(numerical, name) {
				assert.NotContains(t, strings.SplitN(imported, "/", 2)[0], ".", "%s imports %s, outside the standard library", name, imported)
			}
		}
	}
}

// testOnly packages are helpers of tests and of continuous integration.
func testOnly(name string) bool {
	return strings.HasSuffix(name, "test") || strings.Contains(name, "/standin") || strings.HasPrefix(name, ".ci/") || strings.Contains(name, "/internal/")
}

func permitted(edges []string, name string) bool {
	for _, edge := range edges {
		if edge == name || strings.HasSuffix(edge, "/*") && strings.HasPrefix(name, strings.TrimSuffix(edge, "*")) {
			return true
		}
	}
	return false
}

func contains(list []string, s string) bool {
	for _, have := range list {
		if have == s {
			return true
		}
	}
	return false
}

package food_test

import (
	"io/fs"
	"slices"
	"strings"
	"testing"

	"github.com/BurntSushi/toml"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/text/unicode/norm"

	"bagwatch/internal/food"
	"bagwatch/locales"
)

type entry struct {
	Name   string   `toml:"name"`
	Plural string   `toml:"plural"`
	Words  []string `toml:"words"`
}

type words struct {
	Food     map[food.ID]entry       `toml:"food"`
	Doneness map[food.Doneness]entry `toml:"doneness"`
	Refused  map[food.ID]entry       `toml:"refused"`
	Vague    map[food.ID]entry       `toml:"vague"`
}

func languages(t *testing.T) map[string]words {
	t.Helper()
	files, err := fs.Glob(locales.FS, "*.toml")
	require.NoError(t, err)
	require.Contains(t, files, "en.toml")
	out := make(map[string]words)
	for _, file := range files {
		var w words
		_, err := toml.DecodeFS(locales.FS, file, &w)
		require.NoError(t, err, file)
		out[file] = w
	}
	return out
}

func TestEveryIdHasItsWordsInEveryLanguageAndNoWordIsForNothing(t *testing.T) {
	c := catalogue(t)
	var foods, refused, vague []food.ID
	var steps []food.Doneness
	for f := range c.All() {
		foods = append(foods, f.ID)
		for _, s := range f.Steps {
			steps = append(steps, s.ID)
		}
	}
	for r := range c.AllRefused() {
		refused = append(refused, r.ID)
	}
	for v := range c.AllVague() {
		vague = append(vague, v.ID)
	}
	slices.Sort(steps)
	steps = slices.Compact(steps)
	for file, w := range languages(t) {
		assert.ElementsMatch(t, foods, keys(w.Food), file)
		assert.ElementsMatch(t, steps, keys(w.Doneness), file)
		assert.ElementsMatch(t, refused, keys(w.Refused), file)
		assert.ElementsMatch(t, vague, keys(w.Vague), file)
		for id, e := range w.Food {
			assert.True(t, e.Name != "" && e.Plural != "", "%s: %s has no name or plural", file, id)
		}
		for id, e := range w.Refused {
			assert.True(t, e.Name != "" && e.Plural != "", "%s: %s has no name or plural", file, id)
		}
		for id, e := range w.Vague {
			assert.NotEmpty(t, e.Name, "%s: %s", file, id)
		}
		for id, e := range w.Doneness {
			assert.NotEmpty(t, e.Name, "%s: %s", file, id)
		}
	}
}

// A word that two things share would be taken for one of them silently.
func TestNoWordMeansTwoThings(t *testing.T) {
	for file, w := range languages(t) {
		owner := map[string]string{}
		claim := func(kind, id string, e entry) {
			said := []string{e.Name}
			if e.Plural != "" && fold(e.Plural) != fold(e.Name) {
				said = append(said, e.Plural)
			}
			for _, word := range append(said, e.Words...) {
				key := fold(word)
				require.NotEmpty(t, key, "%s: %s.%s holds an empty word", file, kind, id)
				other, taken := owner[key]
				assert.False(t, taken, "%s: %q means %s and %s.%s", file, word, other, kind, id)
				owner[key] = kind + "." + id
			}
		}
		for id, e := range w.Food {
			claim("food", string(id), e)
		}
		for id, e := range w.Refused {
			claim("refused", string(id), e)
		}
		for id, e := range w.Vague {
			claim("vague", string(id), e)
		}
		for id, e := range w.Doneness {
			claim("doneness", string(id), e)
		}
	}
}

// Hyphens are spaces and accents do not count where words are compared.
func fold(word string) string {
	word = strings.NewReplacer("-", " ", "'", "", "’", "").Replace(strings.ToLower(word))
	var plain strings.Builder
	for _, r := range norm.NFD.String(word) {
		if r < 0x300 || r > 0x36f {
			plain.WriteRune(r)
		}
	}
	return strings.Join(strings.Fields(plain.String()), " ")
}

func keys[K ~string, V any](m map[K]V) []K {
	out := make([]K, 0, len(m))
	for k := range m {
		out = append(out, k)
	}
	return out
}

func TestWordsThatCooksTypeAreKnown(t *testing.T) {
	w := languages(t)["en.toml"]
	owner := map[string]string{}
	put := func(id string, e entry) {
		for _, word := range append([]string{e.Name, e.Plural}, e.Words...) {
			owner[fold(word)] = id
		}
	}
	for id, e := range w.Food {
		put(string(id), e)
	}
	for id, e := range w.Refused {
		put(string(id), e)
	}
	for id, e := range w.Vague {
		put("?"+string(id), e)
	}
	for id, e := range w.Doneness {
		put("="+string(id), e)
	}
	for word, id := range map[string]string{
		"scotch fillet": "beef-ribeye", "rib-eye steak": "beef-ribeye", "eye fillet": "beef-tenderloin", "onglet": "beef-hanger",
		"rump": "beef-sirloin", "pork butt": "pork-shoulder", "prawns": "shrimp", "beetroot": "beet", "kumara": "sweet-potato",
		"duck confit": "duck-leg", "hamburger": "beef-patty", "calamari": "squid", "bavette": "beef-flank",
		"moules": "mussel", "beans": "dried-bean", "green beans": "green-bean", "garlic confit": "garlic-confit",
		"wild duck": "game-bird", "whole chicken": "whole-bird", "yogurt": "yoghurt", "ham": "cured-meat", "liver": "liver",
		"steak": "?steak", "fish": "?fish", "chicken": "?chicken", "burger": "?burger",
		"mr": "=medium-rare", "med rare": "=medium-rare", "blue": "=rare", "bloody": "=rare", "pink": "=medium-rare", "well": "=well-done",
		"soft yolk": "=custard", "onsen": "=custard", "hard": "=set", "al dente": "=firm", "medium rare": "=medium-rare",
	} {
		assert.Equal(t, id, owner[fold(word)], word)
	}
}

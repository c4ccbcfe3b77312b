package food_test

import (
	"bytes"
	"encoding/csv"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/BurntSushi/toml"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/internal/food"
)

// unsourced walks decoded TOML and names every number that has no source key beside it, in
// its own table, that stands in known. A list of numbers belongs to the table around it.
func unsourced(at string, v any, sourced bool, known map[string]string) []string {
	switch v := v.(type) {
	case map[string]any:
		source, _ := v["source"].(string)
		var out []string
		for _, key := range slices.Sorted(maps.Keys(v)) {
			out = append(out, unsourced(at+"."+key, v[key], known[source] != "", known)...)
		}
		return out
	case []any:
		var out []string
		for _, item := range v {
			out = append(out, unsourced(at, item, sourced, known)...)
		}
		return out
	case []map[string]any:
		var out []string
		for _, item := range v {
			out = append(out, unsourced(at, item, false, known)...)
		}
		return out
	case int64, float64:
		if !sourced {
			return []string{at}
		}
	}
	return nil
}

func TestEveryNumberInTheDataHasASource(t *testing.T) {
	var known map[string]string
	_, err := toml.DecodeFile("data/sources.toml", &known)
	require.NoError(t, err)
	require.NotEmpty(t, known)
	for name, text := range known {
		assert.NotEmpty(t, strings.TrimSpace(text), name)
	}
	files, err := filepath.Glob("data/*.toml")
	require.NoError(t, err)
	require.Greater(t, len(files), 8)
	for _, file := range files {
		var tables map[string]any
		_, err := toml.DecodeFile(file, &tables)
		require.NoError(t, err, file)
		require.NotEmpty(t, tables, file)
		assert.Empty(t, unsourced(filepath.Base(file), tables, false, known), "numbers without a source")
	}
}

func TestTheSearchForUnsourcedNumbersFindsThem(t *testing.T) {
	known := map[string]string{"a": "a book"}
	var tables map[string]any
	_, err := toml.Decode(`
		bare = 1
		ok = { x = 1.5, source = "a" }
		wrong = { x = 1, source = "b" }
		pair = { x = [1, 2], source = "a" }
		outer = { source = "a", inner = { x = 1 } }
		list = [ { x = 1 }, { x = 2, source = "a" } ]
		words = "no number"
	`, &tables)
	require.NoError(t, err)
	assert.Equal(t, []string{".bare", ".list.x", ".outer.inner.x", ".wrong.x"}, unsourced("", tables, false, known))
}

func TestEveryNumberOfAFoodTellsItsSource(t *testing.T) {
	for f := range catalogue(t).All() {
		for _, field := range []food.Field{food.FieldProportions, food.FieldPortion, food.FieldLimits, food.FieldMaterial} {
			assert.NotEmpty(t, f.Source(field), "%s field %d", f.ID, field)
		}
		assert.Equal(t, f.Material.Composition != nil, f.Source(food.FieldComposition) != "", f.ID)
		assert.Equal(t, f.FatPercent != food.FatUnknown, f.Source(food.FieldFat) != "", f.ID)
		assert.Equal(t, f.T60 > 0, f.Source(food.FieldT60) != "", f.ID)
		assert.Equal(t, f.Softening > 0, f.Source(food.FieldSoftening) != "", f.ID)
		for _, s := range f.Steps {
			assert.NotEmpty(t, s.Source, "%s %s", f.ID, s.ID)
		}
		assert.Empty(t, f.Source(-1))
		assert.Empty(t, f.Source(1000))
	}
}

func TestEveryRowOfTheCompositionTableSaysHowItIsKnown(t *testing.T) {
	text, err := os.ReadFile("data/composition.csv")
	require.NoError(t, err)
	require.Contains(t, string(text), "# source: USDA")
	require.Contains(t, string(text), "# source: freezing_c: ASHRAE")
	in := csv.NewReader(bytes.NewReader(text))
	in.Comment = '#'
	rows, err := in.ReadAll()
	require.NoError(t, err)
	require.Greater(t, len(rows), 30)
	for _, row := range rows[1:] {
		assert.Regexp(t, `^\d{5}$`, row[1], "%s has no entry number", row[0])
		assert.Contains(t, []string{"read", "from memory"}, row[8], row[0])
		assert.Contains(t, []string{"read", "from memory", "assumed"}, row[10], row[0])
	}
}

// Each damage must be noticed, or the catalogue could ship with it.
func TestDamagedDataIsRefused(t *testing.T) {
	for name, tt := range map[string]struct{ file, old, new, says string }{
		"an unknown key":                       {"food_beef.toml", `group = "beef"`, `grop = "beef"`, "unknown key"},
		"an unknown group":                     {"food_beef.toml", `group = "beef"`, `group = "horse"`, "unknown group"},
		"an unknown safety class":              {"food_beef.toml", `safety = "intact-red-meat"`, `safety = "safe"`, "unknown group"},
		"an unknown trait":                     {"food_beef.toml", `"tenderisable"`, `"tender"`, "unknown trait"},
		"a source that is nowhere":             {"food_beef.toml", `source = "trade"`, `source = "hearsay"`, "no source"},
		"a portion beyond its limits":          {"food_beef.toml", `mass_g = 350`, `mass_g = 9350`, "within its limits"},
		"limits the wrong way round":           {"food_beef.toml", `thickness_mm = [10, 70]`, `thickness_mm = [70, 10]`, "within its limits"},
		"a steak without a face":               {"food_beef.toml", `face_cm2 = 110, `, ``, "does not give a thickness"},
		"a fill of more than the whole":        {"food_beef.toml", `fill = 1.0`, `fill = 1.1`, "does not give a thickness"},
		"a tough cut without a pace":           {"food_beef.toml", `slow_softening = { t60_min = 1440, source = "fit-tough" }`, ``, "slow softening"},
		"a carrot without a pace":              {"food_plant.toml", `softening = { factor = 1.0, source = "carrot" }`, ``, "softening factor"},
		"a default doneness that is not there": {"food_beef.toml", `default = "medium-rare"`, `default = "crisp"`, "default doneness"},
		"a doneness table that is not there":   {"food_beef.toml", `table = "red-meat"`, `table = "meat"`, "no doneness table"},
		"a doneness out of order":              {"doneness.toml", `min = 50, max = 54`, `min = 54, max = 50`, "out of order"},
		"a doneness without a source":          {"doneness.toml", `default = 53, source = "trade"`, `default = 53, source = ""`, "no source"},
		"a doneness twice":                     {"doneness.toml", `id = "medium-rare"`, `id = "rare"`, "twice"},
		"a carrot doneness without its share":  {"doneness.toml", `softened = 0.75, `, ``, "softened share"},
		"a material that conducts nothing":     {"materials.toml", `conductivity = 0.48`, `conductivity = 0`, "out of range"},
		"a composition that is not there":      {"food_beef.toml", `row = "beef strip loin lean"`, `row = "beef"`, "no composition"},
		"a composition of 130 %":               {"composition.csv", `,70.63,`, `,99.63,`, "parts sum"},
		"a composition that is no number":      {"composition.csv", `,70.63,`, `,wet,`, "water_pct"},
		"a composition column renamed":         {"composition.csv", `water_pct`, `water`, "unexpected header"},
		"a refusal without a reason":           {"refused.toml", `reason = "virus"`, `reason = ""`, "unknown reason"},
		"a refused food that is also cooked":   {"refused.toml", `mussel = `, `salmon = `, "both a food and refused"},
		"a vague word for nothing":             {"vague.toml", `food = "beef-ribeye"`, `food = "beef"`, "no food"},
		"an alternative that is not there":     {"vague.toml", `"beef-flank", "tuna"`, `"beef-flank", "tofu"`, "no food"},
		"a food in two files":                  {"food_lamb.toml", `[lamb-rack]`, `[beef-ribeye]`, "two files"},
		"not TOML":                             {"food_lamb.toml", `[lamb-rack]`, `[lamb-rack`, "read"},
	} {
		t.Run(name, func(t *testing.T) {
			files := fstest.MapFS{}
			require.NoError(t, fs.WalkDir(os.DirFS("."), "data", func(p string, d fs.DirEntry, err error) error {
				if err != nil || d.IsDir() {
					return err
				}
				text, err := os.ReadFile(p)
				files[p] = &fstest.MapFile{Data: text}
				return err
			}))
			_, err := food.Read(files)
			require.NoError(t, err, "undamaged")

			p := "data/" + tt.file
			require.Contains(t, string(files[p].Data), tt.old, "the damage must happen")
			files[p].Data = []byte(strings.Replace(string(files[p].Data), tt.old, tt.new, 1))
			c, err := food.Read(files)
			require.ErrorIs(t, err, food.ErrData)
			assert.ErrorContains(t, err, tt.says)
			assert.Nil(t, c)
		})
	}
}

func TestMissingFilesAreRefused(t *testing.T) {
	_, err := food.Read(fstest.MapFS{})
	assert.ErrorIs(t, err, food.ErrData)
}

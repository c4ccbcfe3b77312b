package food

import (
	"cmp"
	"encoding/csv"
	"fmt"
	"io/fs"
	"maps"
	"math"
	"path"
	"slices"
	"strconv"

	"github.com/BurntSushi/toml"

	"bagwatch/internal/heat"
	"bagwatch/internal/quantity"
)

// The tables as they stand in the data files; units are in the keys.
type (
	rawFood struct {
		Group       Group         `toml:"group"`
		Safety      Safety        `toml:"safety"`
		Texture     Texture       `toml:"texture"`
		Traits      []string      `toml:"traits"`
		Material    string        `toml:"material"`
		Composition rawRow        `toml:"composition"`
		Shape       rawShape      `toml:"shape"`
		Portion     rawPortion    `toml:"portion"`
		Limits      rawLimits     `toml:"limits"`
		Doneness    rawDoneness   `toml:"doneness"`
		Slow        *rawSlow      `toml:"slow_softening"`
		Claim       *rawClaim     `toml:"claim"`
		Softening   *rawSoftening `toml:"softening"`
	}
	rawRow struct {
		Row     string `toml:"row"`
		Nearest bool   `toml:"nearest"`
	}
	rawShape struct {
		Kind             Shape   `toml:"kind"`
		Round            bool    `toml:"round"`
		Face             float64 `toml:"face_cm2"`
		Width            float64 `toml:"width"`
		Length           float64 `toml:"length"`
		LengthToDiameter float64 `toml:"length_to_diameter"`
		FixedLength      float64 `toml:"length_mm"`
		Fill             float64 `toml:"fill"`
		Density          float64 `toml:"density_kg_m3"`
		Source           string  `toml:"source"`
	}
	rawPortion struct {
		Pieces int     `toml:"pieces"`
		Mass   float64 `toml:"mass_g"`
		Source string  `toml:"source"`
	}
	rawLimits struct {
		Thickness [2]float64 `toml:"thickness_mm"`
		Mass      [2]float64 `toml:"mass_g"`
		Source    string     `toml:"source"`
	}
	rawDoneness struct {
		Table   string   `toml:"table"`
		Default Doneness `toml:"default"`
	}
	rawSlow struct {
		T60    float64 `toml:"t60_min"`
		Source string  `toml:"source"`
	}
	rawClaim struct {
		From   float64 `toml:"from_c"`
		Source string  `toml:"source"`
	}
	rawSoftening struct {
		Factor float64 `toml:"factor"`
		Source string  `toml:"source"`
	}
	rawMaterial struct {
		Diffusivity  float64 `toml:"diffusivity"`
		Conductivity float64 `toml:"conductivity"`
		Film         float64 `toml:"film"`
		Source       string  `toml:"source"`
	}
	rawStep struct {
		ID       Doneness `toml:"id"`
		Min      float64  `toml:"min"`
		Max      float64  `toml:"max"`
		Default  float64  `toml:"default"`
		Softened float64  `toml:"softened"`
		Source   string   `toml:"source"`
	}
	rawRefusal struct {
		Reason Reason `toml:"reason"`
	}
	rawVague struct {
		Food   ID   `toml:"food"`
		Others []ID `toml:"others"`
	}
)

// reader gathers the shared tables while the foods are put together.
type reader struct {
	fsys      fs.FS
	sources   map[string]string
	materials map[string]rawMaterial
	steps     map[string][]rawStep
	rows      map[string]compositionRow
}

type compositionRow struct {
	heat.Composition
	source string
}

// Read builds a catalogue from the folder data of fsys. It checks every reference, every
// range and that nothing in the files is left unread; problems wrap [ErrData].
func Read(fsys fs.FS) (*Catalogue, error) {
	r := reader{fsys: fsys}
	for name, into := range map[string]any{
		"sources.toml": &r.sources, "materials.toml": &r.materials, "doneness.toml": &r.steps,
	} {
		if err := r.decode("data/"+name, into); err != nil {
			return nil, err
		}
	}
	if err := r.readComposition("data/composition.csv"); err != nil {
		return nil, err
	}
	c := &Catalogue{}
	if err := r.readFoods(c); err != nil {
		return nil, err
	}
	if err := r.readRefused(c); err != nil {
		return nil, err
	}
	if err := r.readVague(c); err != nil {
		return nil, err
	}
	return c, nil
}

// decode reads one TOML file strictly: a key that nothing takes is an error.
func (r *reader) decode(name string, into any) error {
	md, err := toml.DecodeFS(r.fsys, name, into)
	if err != nil {
		return fmt.Errorf("%w: read %s: %w", ErrData, name, err)
	}
	if rest := md.Undecoded(); len(rest) > 0 {
		return fmt.Errorf("%w: %s: unknown key %s", ErrData, name, rest[0])
	}
	return nil
}

// compositionColumns is the header the composition table must have.
var compositionColumns = [...]string{"food", "ndb", "water_pct", "protein_pct", "fat_pct", "carbohydrate_pct",
	"fibre_pct", "ash_pct", "composition_basis", "freezing_c", "freezing_basis"}

func (r *reader) readComposition(name string) error {
	file, err := r.fsys.Open(name)
	if err != nil {
		return fmt.Errorf("%w: open %s: %w", ErrData, name, err)
	}
	defer file.Close()
	in := csv.NewReader(file)
	in.Comment = '#'
	in.FieldsPerRecord = len(compositionColumns)
	rows, err := in.ReadAll()
	if err != nil {
		return fmt.Errorf("%w: read %s: %w", ErrData, name, err)
	}
	if len(rows) == 0 || !slices.Equal(rows[0], compositionColumns[:]) {
		return fmt.Errorf("%w: %s: unexpected header", ErrData, name)
	}
	r.rows = make(map[string]compositionRow, len(rows))
	for _, row := range rows[1:] {
		var v [len(compositionColumns)]float64
		for _, i := range []int{2, 3, 4, 5, 6, 7, 9} {
			if v[i], err = strconv.ParseFloat(row[i], 64); err != nil {
				return fmt.Errorf("%w: %s: %s: %s: %w", ErrData, name, row[0], compositionColumns[i], err)
			}
		}
		// The parts are separate averages and nitrogen factors are not exact: rainbow trout, the
		// worst row of the data base used here, misses 2.9 % of its mass.
		if sum := v[2] + v[3] + v[4] + v[5] + v[7]; math.Abs(sum-100) > 3 {
			return fmt.Errorf("%w: %s: %s: parts sum to %.1f %%", ErrData, name, row[0], sum)
		}
		// USDA counts fibre as part of carbohydrate; Choi & Okos have a property of its own for it.
		part := func(i int) float64 { return v[i] / 100 }
		r.rows[row[0]] = compositionRow{
			Composition: heat.Composition{
				Water: part(2), Protein: part(3), Fat: part(4), Carbohydrate: max(0, part(5)-part(6)), Fibre: part(6), Ash: part(7),
				FreezingPoint: quantity.Temperature(v[9]),
			},
			source: "composition: USDA Standard Reference, entry " + row[1] + " (" + row[8] + "); freezing point: ASHRAE Handbook Refrigeration (" + row[10] + ")",
		}
	}
	return nil
}

func (r *reader) readFoods(c *Catalogue) error {
	files, err := fs.Glob(r.fsys, "data/food_*.toml")
	if err != nil {
		return fmt.Errorf("%w: list foods: %w", ErrData, err)
	}
	c.byFood = make(map[ID]int)
	for _, name := range files {
		var raws map[ID]rawFood
		if err := r.decode(name, &raws); err != nil {
			return err
		}
		for id, raw := range raws {
			if _, twice := c.byFood[id]; twice {
				return fmt.Errorf("%w: %s: %s stands in two files", ErrData, path.Base(name), id)
			}
			f, err := r.food(id, raw)
			if err != nil {
				return fmt.Errorf("%w: %s: %s: %w", ErrData, path.Base(name), id, err)
			}
			c.byFood[id] = 0
			c.foods = append(c.foods, f)
		}
	}
	slices.SortFunc(c.foods, func(a, b Food) int { return cmp.Compare(a.ID, b.ID) })
	for i, f := range c.foods {
		c.byFood[f.ID] = i
	}
	return nil
}

func (r *reader) readRefused(c *Catalogue) error {
	var raws map[ID]rawRefusal
	if err := r.decode("data/refused.toml", &raws); err != nil {
		return err
	}
	c.byRefused = make(map[ID]int, len(raws))
	for _, id := range slices.Sorted(maps.Keys(raws)) {
		if !slices.Contains(reasons, raws[id].Reason) {
			return fmt.Errorf("%w: refused %s: unknown reason %q", ErrData, id, raws[id].Reason)
		}
		if _, cooked := c.byFood[id]; cooked {
			return fmt.Errorf("%w: %s is both a food and refused", ErrData, id)
		}
		c.byRefused[id] = len(c.refused)
		c.refused = append(c.refused, Refusal{ID: id, Reason: raws[id].Reason})
	}
	return nil
}

func (r *reader) readVague(c *Catalogue) error {
	var raws map[ID]rawVague
	if err := r.decode("data/vague.toml", &raws); err != nil {
		return err
	}
	c.byVague = make(map[ID]int, len(raws))
	for _, id := range slices.Sorted(maps.Keys(raws)) {
		v := Vague{ID: id, Food: raws[id].Food, Others: raws[id].Others}
		for _, other := range append([]ID{v.Food}, v.Others...) {
			if _, ok := c.byFood[other]; !ok {
				return fmt.Errorf("%w: vague %s: no food %q", ErrData, id, other)
			}
		}
		c.byVague[id] = len(c.vague)
		c.vague = append(c.vague, v)
	}
	return nil
}

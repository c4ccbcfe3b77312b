package food

import (
	"embed"
	"errors"
	"iter"
	"slices"
	"sync"
)

//go:embed data/*.toml data/composition.csv
var data embed.FS

// ErrData reports catalogue data that breaks a rule of the catalogue: an unknown key, a
// number without a source, a reference to nothing. The embedded data never does.
var ErrData = errors.New("food: bad catalogue data")

// Catalogue holds the foods, the foods that are refused by name, and the vague words.
// It never changes once loaded and may be shared between goroutines.
type Catalogue struct {
	foods   []Food // sorted by id
	refused []Refusal
	vague   []Vague

	byFood    map[ID]int
	byRefused map[ID]int
	byVague   map[ID]int
}

// Reason names why a food is refused; replies put it into words.
type Reason string

// The reasons.
const (
	ReasonVirus    Reason = "virus"     // bivalves carry viruses that need 90 °C
	ReasonOffal    Reason = "offal"     // no lethality or heat data were found for it
	ReasonWildGame Reason = "wild-game" // parasites, and no data
	ReasonBotulism Reason = "botulism"  // low acid under oil without air
	ReasonFerment  Reason = "ferment"   // grown, not cooked
	ReasonLectin   Reason = "lectin"    // dried beans need a real boil
	ReasonCured    Reason = "cured"     // salt and sugar change how fast bacteria die
	ReasonCavity   Reason = "cavity"    // a whole bird is hollow
	ReasonNoData   Reason = "no-data"
)

// Refusal is a food that is known by name and not cooked.
type Refusal struct {
	ID     ID
	Reason Reason
}

// Vague is a word that fits several foods.
type Vague struct {
	ID ID
	// Food is the likeliest, taken when nothing more is said.
	Food ID
	// Others are offered beside it, likeliest first. Read-only.
	Others []ID
}

// loaded reads the embedded data once, on first use.
var loaded = sync.OnceValues(func() (*Catalogue, error) { return Read(data) })

// Load gives the embedded catalogue, read on the first call and shared from then on.
func Load() (*Catalogue, error) { return loaded() }

// Food finds a food by id. It allocates nothing.
func (c *Catalogue) Food(id ID) (Food, bool) {
	i, ok := c.byFood[id]
	if !ok {
		return Food{}, false
	}
	return c.foods[i], true
}

// Refused finds a refused food by id. It allocates nothing.
func (c *Catalogue) Refused(id ID) (Refusal, bool) {
	i, ok := c.byRefused[id]
	if !ok {
		return Refusal{}, false
	}
	return c.refused[i], true
}

// Vague finds a vague word by id. It allocates nothing.
func (c *Catalogue) Vague(id ID) (Vague, bool) {
	i, ok := c.byVague[id]
	if !ok {
		return Vague{}, false
	}
	return c.vague[i], true
}

// All yields the foods in the order of their ids.
func (c *Catalogue) All() iter.Seq[Food] { return slices.Values(c.foods) }

// AllRefused yields the refused foods in the order of their ids.
func (c *Catalogue) AllRefused() iter.Seq[Refusal] { return slices.Values(c.refused) }

// AllVague yields the vague words in the order of their ids.
func (c *Catalogue) AllVague() iter.Seq[Vague] { return slices.Values(c.vague) }

// Len is the number of foods.
func (c *Catalogue) Len() int { return len(c.foods) }

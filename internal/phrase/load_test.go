package phrase_test

import (
	"io/fs"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/internal/food"
	"bagwatch/internal/phrase"
)

func load(t *testing.T, files map[string]string) (*phrase.Book, error) {
	t.Helper()
	foods, err := food.Load()
	require.NoError(t, err)
	m := fstest.MapFS{}
	for name, text := range files {
		m[name] = &fstest.MapFile{Data: []byte(text)}
	}
	return phrase.Load(m, foods)
}

const tiny = `
[food.egg]
name = "uovo"
plural = "uova"
words = []
`

func TestAVocabularyIsRefusedWhen(t *testing.T) {
	for why, text := range map[string]string{
		"a word means two foods":              tiny + "[food.carrot]\nname = \"uova\"\n",
		"a word means a food and a unit":      tiny + "[words.unit]\ngram = [\"uovo\"]\n",
		"accents are all that differs":        tiny + "[food.carrot]\nname = \"üovo\"\n",
		"a food is not in the catalogue":      "[food.unicorn]\nname = \"unicorno\"\n",
		"a vague word is not":                 "[vague.unicorn]\nname = \"unicorno\"\n",
		"a refused food is not":               "[refused.unicorn]\nname = \"unicorno\"\n",
		"a unit does not exist":               tiny + "[words.unit]\nfurlong = [\"furlong\"]\n",
		"a section does not exist":            tiny + "[words.colour]\nred = [\"rosso\"]\n",
		"a cue does not exist":                tiny + "[words.cue]\nhop = [\"hop\"]\n",
		"an intent does not exist":            tiny + "[words.intent]\nfly = [\"vola\"]\n",
		"a start does not exist":              tiny + "[words.start]\nlava = [\"lava\"]\n",
		"a flag does not exist":               tiny + "[words.flag]\nloud = [\"forte\"]\n",
		"a number is none":                    tiny + "[words.number]\nmany = [\"molti\"]\n",
		"a fraction is a whole":               tiny + "[words.fraction]\n2 = [\"doppio\"]\n",
		"a number word is written in digits":  tiny + "[words.number]\n2 = [\"2\"]\n",
		"a phrase is longer than a phrase is": tiny + "[words.filler]\nany = [\"a b c d e f g h\"]\n",
		"a food has no word":                  "[food.egg]\nwords = []\n",
	} {
		t.Run(why, func(t *testing.T) {
			_, err := load(t, map[string]string{"it.toml": text})
			assert.ErrorIs(t, err, phrase.ErrVocabulary)
		})
	}
	_, err := load(t, nil)
	assert.ErrorIs(t, err, phrase.ErrVocabulary, "there is no file")
	_, err = load(t, map[string]string{"it.toml": "[food"})
	assert.Error(t, err, "it is no TOML")
	_, err = phrase.Load(badFS{}, nil)
	assert.ErrorIs(t, err, fs.ErrPermission)
}

// badFS lists a file that cannot be read.
type badFS struct{}

func (badFS) Open(name string) (fs.File, error) {
	if name == "." {
		return fstest.MapFS{"it.toml": &fstest.MapFile{}}.Open(name)
	}
	return nil, fs.ErrPermission
}

func TestASharedWordMayMeanTwoThings(t *testing.T) {
	b, err := load(t, map[string]string{"it.toml": tiny + `
[words.shared]
any = ["un"]
[words.number]
1 = ["un"]
[words.cue]
article = ["un"]
[words.unit]
gram = ["grammi"]
`})
	require.NoError(t, err)
	u := b.Parser("it").Parse("un uovo 60 grammi")
	assert.Equal(t, request(egg, n(1), g(60)), u.Request)
}

func TestALanguageIsOneFile(t *testing.T) {
	b, err := load(t, map[string]string{
		"en.toml": "[food.egg]\nname = \"egg\"\nplural = \"eggs\"\n[words.start]\nfrozen = [\"frozen\"]\n",
		"it.toml": tiny + "[words.start]\nfridge = [\"frozen\"]\n",
	})
	require.NoError(t, err)
	assert.Equal(t, []string{"en", "it"}, b.Tags())
	assert.Equal(t, egg, b.Parser("it-CH").Parse("uova").Food.ID)
	assert.Equal(t, egg, b.Parser("it").Parse("eggs").Food.ID, "other languages are understood too")
	assert.Equal(t, egg, b.Parser("sv").Parse("eggs").Food.ID, "an unknown language reads English")
	assert.EqualValues(t, "fridge", b.Parser("it").Parse("uova frozen").Request.Start, "the chat's own language wins")
	assert.EqualValues(t, "frozen", b.Parser("en").Parse("uova frozen").Request.Start)
}

// Every name in every locale file is understood as what it names, in a chat of that language.
func TestEveryNameOfEveryFoodIsUnderstood(t *testing.T) {
	b := book(t)
	for _, tag := range b.Tags() {
		p := b.Parser(tag)
		for id, e := range entries(t, tag).Food {
			for _, name := range append([]string{e.Name, e.Plural}, e.Words...) {
				u := p.Parse(name)
				assert.Equal(t, food.ID(id), u.Request.Food, "%s: %q", tag, name)
				assert.False(t, u.Food.Vague || u.Food.Corrected, "%s: %q", tag, name)
				assert.Nil(t, u.Problem, "%s: %q", tag, name)
				assert.Empty(t, u.RefusedFood, "%s: %q", tag, name)
				assert.Empty(t, u.Unplaced, "%s: %q", tag, name)
			}
		}
		for id, e := range entries(t, tag).Refused {
			for _, name := range append([]string{e.Name, e.Plural}, e.Words...) {
				assert.Equal(t, id, p.Parse(name).RefusedFood, "%s: %q", tag, name)
			}
		}
		for id, e := range entries(t, tag).Vague {
			for _, name := range append([]string{e.Name, e.Plural}, e.Words...) {
				if name != "" {
					assert.NotEmpty(t, p.Parse(name).Request.Food, "%s: %q for %s", tag, name, id)
				}
			}
		}
	}
}

// A doneness is understood beside each food that has it.
func TestEveryDonenessOfEveryFoodIsUnderstood(t *testing.T) {
	b := book(t)
	foods, err := food.Load()
	require.NoError(t, err)
	for _, tag := range b.Tags() {
		p, e := b.Parser(tag), entries(t, tag)
		for f := range foods.All() {
			for _, step := range f.Steps {
				d := e.Doneness[string(step.ID)]
				for _, name := range append([]string{d.Name}, d.Words...) {
					u := p.Parse(e.Food[string(f.ID)].Name + ", " + name)
					assert.Equal(t, step.ID, u.Request.Doneness, "%s: %s, %q", tag, f.ID, name)
					assert.Equal(t, f.ID, u.Request.Food, "%s: %s, %q", tag, f.ID, name)
				}
			}
		}
	}
}

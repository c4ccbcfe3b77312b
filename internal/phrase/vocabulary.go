package phrase

import (
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"math/bits"
	"path"
	"slices"
	"strconv"
	"strings"

	"github.com/BurntSushi/toml"

	"bagwatch/internal/food"
)

// ErrVocabulary reports a locale file whose words cannot be used; the text says where.
var ErrVocabulary = errors.New("phrase: unusable vocabulary")

// Foods is what the parser needs of the catalogue; [food.Catalogue] satisfies it.
type Foods interface {
	Food(id food.ID) (food.Food, bool)
	Vague(id food.ID) (food.Vague, bool)
	Refused(id food.ID) (food.Refusal, bool)
}

// file is the part of locales/<tag>.toml that people type; the rest is printed and not ours.
type file struct {
	Language struct {
		// Endings may be dropped from a word that is not found: "s" lets "ribeyes" be "ribeye".
		Endings []string `toml:"endings"`
		// TypedAs lists letters that are also typed as several: "ä" = "ae".
		TypedAs map[string]string `toml:"typed_as"`
	} `toml:"language"`
	// Words is section → id → what people type.
	Words    map[string]map[string][]string `toml:"words"`
	Food     map[string]entry               `toml:"food"`
	Doneness map[string]entry               `toml:"doneness"`
	Refused  map[string]entry               `toml:"refused"`
	Vague    map[string]entry               `toml:"vague"`
}

// entry is a thing with a printed name and other words for it.
type entry struct {
	Name   string   `toml:"name"`
	Plural string   `toml:"plural"`
	Words  []string `toml:"words"`
}

// maxPhrase bounds the words of one phrase; a longer one in a locale file is an error.
const maxPhrase = 7

// wordID numbers the folded words of all languages; phraseID the nodes of the phrase tree.
type (
	wordID   int32
	phraseID int32
)

// node is a place in the tree of phrases: what the words on the way here mean, by language.
type node struct {
	means [][]meaning
}

// word is one folded word of the vocabulary.
type word struct {
	runes []rune
	mask  uint64    // letters it has, for a quick bound on the distance
	langs uint32    // bit per language that uses it
	foods []food.ID // foods it may belong to, at most maxSuggestions
}

// Book is the vocabulary of all languages. It does not change after [Load] and may be
// used by many goroutines.
type Book struct {
	tags     []string
	endings  [][]string
	ids      map[string]wordID
	words    []word
	next     map[uint64]phraseID
	nodes    []node
	byLength [][]wordID           // [runes]: candidates for misspelt words
	vague    map[string][]food.ID // likeliest first
	foods    Foods
}

// Load compiles the vocabulary of every <tag>.toml at the top of fsys. A word that means two
// things in one language is an error unless [words.shared] declares it.
func Load(fsys fs.FS, foods Foods) (*Book, error) {
	names, err := fs.Glob(fsys, "*.toml")
	if err != nil {
		return nil, fmt.Errorf("list locale files: %w", err)
	}
	slices.Sort(names)
	if len(names) == 0 || len(names) > 32 {
		return nil, fmt.Errorf("%w: %d locale files", ErrVocabulary, len(names))
	}
	// A language has some 2000 words in some 2000 phrases; sized for that, nothing is copied while it grows.
	size := 2000 * len(names)
	b := &Book{
		ids: make(map[string]wordID, size), next: make(map[uint64]phraseID, size),
		words: make([]word, 0, size), vague: map[string][]food.ID{},
		nodes: make([]node, 1, size), foods: foods,
	}
	var problems []error
	for _, name := range names {
		text, err := fs.ReadFile(fsys, name)
		if err != nil {
			return nil, fmt.Errorf("read locale: %w", err)
		}
		var f file
		if err := toml.Unmarshal(text, &f); err != nil {
			return nil, fmt.Errorf("read locale %s: %w", name, err)
		}
		b.tags = append(b.tags, strings.TrimSuffix(path.Base(name), ".toml"))
		if err := b.add(len(b.tags)-1, f); err != nil {
			problems = append(problems, fmt.Errorf("locale %s: %w", name, err))
		}
	}
	if err := errors.Join(problems...); err != nil {
		return nil, err
	}
	b.index()
	return b, nil
}

// Tags lists the languages, sorted.
func (b *Book) Tags() []string { return slices.Clone(b.tags) }

// Parser reads messages of a chat in the language of tag ("de", "de-AT"); words of the other
// languages are understood after its own, English first. An unknown tag reads English first.
func (b *Book) Parser(tag string) *Parser {
	base, _, _ := strings.Cut(strings.ToLower(tag), "-")
	var order []int
	for _, want := range []string{base, "en"} {
		if i := slices.Index(b.tags, want); i >= 0 && !slices.Contains(order, i) {
			order = append(order, i)
		}
	}
	for i := range b.tags {
		if !slices.Contains(order, i) {
			order = append(order, i)
		}
	}
	return &Parser{book: b, order: order}
}

// adder adds the phrases of one language.
type adder struct {
	book     *Book
	lang     int
	file     file
	shared   map[string]bool
	problems []error

	toks   []token // buffers of phrase
	folded []byte
}

func (b *Book) add(lang int, f file) error {
	a := &adder{book: b, lang: lang, file: f, shared: map[string]bool{}}
	b.endings = append(b.endings, f.Language.Endings)
	for _, phrases := range f.Words["shared"] {
		for _, p := range phrases {
			a.shared[p] = true
		}
	}
	for _, section := range slices.Sorted(maps.Keys(f.Words)) {
		if section == "shared" {
			continue
		}
		for _, id := range slices.Sorted(maps.Keys(f.Words[section])) {
			m, ok := meaningOf(section, id)
			if !ok {
				a.problems = append(a.problems, fmt.Errorf("%w: no [words.%s] %s", ErrVocabulary, section, id))
				continue
			}
			for _, p := range f.Words[section][id] {
				a.phrase(p, m)
			}
		}
	}
	a.entries(f.Food, "food", meaning{kind: kindFood})
	a.entries(f.Doneness, "doneness", meaning{kind: kindDoneness})
	a.entries(f.Refused, "refused", meaning{kind: kindRefused})
	a.entries(f.Vague, "vague", meaning{kind: kindVague})
	return errors.Join(a.problems...)
}

// entries adds a section of things with names.
func (a *adder) entries(section map[string]entry, what string, m meaning) {
	for _, id := range slices.Sorted(maps.Keys(section)) {
		e := section[id]
		m.id = id
		if m.kind == kindVague {
			v, ok := a.book.foods.Vague(food.ID(id))
			if !ok {
				a.problems = append(a.problems, fmt.Errorf("%w: [vague.%s] is not in the catalogue", ErrVocabulary, id))
				continue
			}
			a.book.vague[id] = append([]food.ID{v.Food}, v.Others...)
		}
		if m.kind == kindRefused {
			if _, ok := a.book.foods.Refused(food.ID(id)); !ok {
				a.problems = append(a.problems, fmt.Errorf("%w: [refused.%s] is not in the catalogue", ErrVocabulary, id))
				continue
			}
		}
		if m.kind == kindFood {
			if _, ok := a.book.foods.Food(food.ID(id)); !ok {
				a.problems = append(a.problems, fmt.Errorf("%w: [food.%s] is not in the catalogue", ErrVocabulary, id))
				continue
			}
		}
		if len(e.Words) == 0 && e.Name == "" {
			a.problems = append(a.problems, fmt.Errorf("%w: [%s.%s] has no words", ErrVocabulary, what, id))
		}
		for _, p := range append([]string{e.Name, e.Plural}, e.Words...) {
			if p != "" {
				a.phrase(p, m)
			}
		}
	}
}

// phrase adds p, its spelling without umlauts and, for names, its words run together.
func (a *adder) phrase(p string, m meaning) {
	variants := [2]string{p, a.retyped(p)}
	for i, v := range variants {
		if i > 0 && v == p {
			break
		}
		toks, folded := cut(v, a.toks[:0], a.folded[:0])
		a.toks, a.folded = toks, folded
		words := make([]string, 0, maxPhrase)
		for _, t := range toks {
			switch t.sort {
			case sortWord:
				words = append(words, string(folded[t.a:t.b]))
			case sortSymbol: // hyphens and the like join words as spaces do
			default:
				a.problems = append(a.problems, fmt.Errorf("%w: digits in %q", ErrVocabulary, p))
				return
			}
		}
		if len(words) == 0 || len(words) > maxPhrase {
			a.problems = append(a.problems, fmt.Errorf("%w: %q has %d words", ErrVocabulary, p, len(words)))
			return
		}
		a.path(words, p, m)
		if joined := strings.Join(words, ""); len(words) > 1 && m.named() && len(joined) >= 6 {
			if _, taken := a.book.ids[joined]; !taken {
				a.path([]string{joined}, p, m)
			}
		}
	}
}

// retyped replaces letters by what people type for them.
func (a *adder) retyped(p string) string {
	for from, to := range a.file.Language.TypedAs {
		if lower := strings.ToLower(p); strings.Contains(lower, from) {
			p = strings.ReplaceAll(lower, from, to)
		}
	}
	return p
}

// path adds one phrase to the tree.
func (a *adder) path(words []string, typed string, m meaning) {
	b := a.book
	at := phraseID(0)
	for _, w := range words {
		id, ok := b.ids[w]
		if !ok {
			id = wordID(len(b.words))
			b.ids[w] = id
			rs := []rune(w)
			b.words = append(b.words, word{runes: rs, mask: letters(rs)})
		}
		entry := &b.words[id]
		entry.langs |= 1 << a.lang
		if m.kind == kindFood && len(entry.foods) < maxSuggestions && !slices.Contains(entry.foods, food.ID(m.id)) {
			entry.foods = append(entry.foods, food.ID(m.id))
		}
		n, ok := b.next[edge(at, id)]
		if !ok {
			n = phraseID(len(b.nodes))
			b.nodes = append(b.nodes, node{})
			b.next[edge(at, id)] = n
		}
		at = n
	}
	n := &b.nodes[at]
	for len(n.means) <= a.lang {
		n.means = append(n.means, nil)
	}
	if slices.Contains(n.means[a.lang], m) {
		return
	}
	if len(n.means[a.lang]) > 0 && !a.shared[strings.Join(words, " ")] {
		a.problems = append(a.problems, fmt.Errorf("%w: %q means both %v and %v", ErrVocabulary, typed, n.means[a.lang][0], m))
		return
	}
	n.means[a.lang] = append(n.means[a.lang], m)
}

func edge(at phraseID, w wordID) uint64 { return uint64(at)<<32 | uint64(uint32(w)) }

// letters is a bit set of the runes of a word, modulo 64. Two words at distance d differ in
// at most 2d bits of it.
func letters(rs []rune) uint64 {
	var m uint64
	for _, r := range rs {
		m |= 1 << (uint32(r) % 64)
	}
	return m
}

func differing(a, b uint64) int { return bits.OnesCount64(a ^ b) }

// index groups the words by length for the search of misspelt ones.
func (b *Book) index() {
	for id, w := range b.words {
		n := len(w.runes)
		for len(b.byLength) <= n {
			b.byLength = append(b.byLength, nil)
		}
		b.byLength[n] = append(b.byLength[n], wordID(id))
	}
}

// number reads the key of a number word.
func number(s string) (float64, bool) {
	v, err := strconv.ParseFloat(s, 64)
	return v, err == nil && v > 0 && v <= 1000
}

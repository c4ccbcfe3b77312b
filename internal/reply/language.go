package reply

import (
	"errors"
	"fmt"
	"io/fs"
	"path"
	"slices"
	"strings"

	"github.com/BurntSushi/toml"
	"github.com/nicksnyder/go-i18n/v2/i18n"
	"golang.org/x/text/language"
	"golang.org/x/text/message"

	"bagwatch/internal/food"
)

// ErrLanguage reports a locale file that cannot be used.
var ErrLanguage = errors.New("reply: bad locale file")

// Name is a food's or a doneness's name in one language.
type Name struct {
	One  string `toml:"name"`
	Many string `toml:"plural"`
}

// Library holds every language. It is safe for concurrent use.
type Library struct {
	languages map[string]*Language
	tags      []language.Tag
	matcher   language.Matcher
}

// Language is one language's texts. It is safe for concurrent use.
type Language struct {
	Tag  string // BCP 47
	Name string // in its own words

	localizer *i18n.Localizer
	templates map[string]*i18n.MessageTemplate // own, then the fallback's
	printer   *message.Printer
	foods     map[food.ID]Name
	doneness  map[food.Doneness]Name
	refused   map[string]Name
	ids       map[string]bool
	onMissing func(id string)
}

type localeFile struct {
	Language struct {
		Tag  string `toml:"tag"`
		Name string `toml:"name"`
	} `toml:"language"`
	Food     map[food.ID]Name       `toml:"food"`
	Doneness map[food.Doneness]Name `toml:"doneness"`
	Refused  map[string]Name        `toml:"refused"`
	Message  map[string]any         `toml:"message"`
}

// Fallback is the language whose text stands in for a missing one.
const Fallback = "en"

// Load reads every *.toml file of fsys. onMissing, when not nil, hears of each text that had to be
// taken from the fallback language.
func Load(fsys fs.FS, onMissing func(tag, id string)) (*Library, error) {
	names, err := fs.Glob(fsys, "*.toml")
	if err != nil {
		return nil, fmt.Errorf("%w: %w", ErrLanguage, err)
	}
	bundle := i18n.NewBundle(language.MustParse(Fallback))
	lib := &Library{languages: make(map[string]*Language)}
	for _, name := range names {
		data, err := fs.ReadFile(fsys, name)
		if err != nil {
			return nil, fmt.Errorf("%w: %w", ErrLanguage, err)
		}
		var file localeFile
		if err := toml.Unmarshal(data, &file); err != nil {
			return nil, fmt.Errorf("%w: %s: %w", ErrLanguage, name, err)
		}
		want := strings.TrimSuffix(path.Base(name), ".toml")
		if file.Language.Tag != want {
			return nil, fmt.Errorf("%w: %s: language.tag is %q, the file name says %q", ErrLanguage, name, file.Language.Tag, want)
		}
		tag, err := language.Parse(want)
		if err != nil {
			return nil, fmt.Errorf("%w: %s: %w", ErrLanguage, name, err)
		}
		messages, err := flatten("", file.Message, nil)
		if err != nil {
			return nil, fmt.Errorf("%w: %s: %w", ErrLanguage, name, err)
		}
		if err := bundle.AddMessages(tag, messages...); err != nil {
			return nil, fmt.Errorf("%w: %s: %w", ErrLanguage, name, err)
		}
		l := &Language{
			Tag: want, Name: file.Language.Name,
			printer: message.NewPrinter(tag),
			foods:   file.Food, doneness: file.Doneness, refused: file.Refused,
			ids: make(map[string]bool, len(messages)), templates: make(map[string]*i18n.MessageTemplate, len(messages)),
		}
		for _, m := range messages {
			l.ids[m.ID] = true
			l.templates[m.ID] = i18n.NewMessageTemplate(m)
		}
		if onMissing != nil {
			l.onMissing = func(id string) { onMissing(want, id) }
		}
		lib.languages[want] = l
		lib.tags = append(lib.tags, tag)
	}
	if lib.languages[Fallback] == nil {
		return nil, fmt.Errorf("%w: no %s.toml", ErrLanguage, Fallback)
	}
	// The matcher's first tag is what nothing matches falls to.
	slices.SortStableFunc(lib.tags, func(a, b language.Tag) int {
		if (a.String() == Fallback) != (b.String() == Fallback) {
			if a.String() == Fallback {
				return -1
			}
			return 1
		}
		return strings.Compare(a.String(), b.String())
	})
	lib.matcher = language.NewMatcher(lib.tags)
	fallback := lib.languages[Fallback]
	for tag, l := range lib.languages {
		l.localizer = i18n.NewLocalizer(bundle, tag, Fallback)
		l.foods = filled(l.foods, fallback.foods)
		l.doneness = filled(l.doneness, fallback.doneness)
		for id, t := range fallback.templates {
			if l.templates[id] == nil {
				l.templates[id] = t
			}
		}
		l.refused = filled(l.refused, fallback.refused)
	}
	return lib, nil
}

// filled gives names with the fallback's for the keys it lacks.
func filled[K comparable](names, fallback map[K]Name) map[K]Name {
	out := make(map[K]Name, len(fallback))
	for k, n := range fallback {
		out[k] = n
	}
	for k, n := range names {
		if n.One != "" {
			out[k] = n
		}
	}
	return out
}

// flatten turns nested tables into messages with dotted ids; a table that holds "other" is a message.
func flatten(prefix string, table map[string]any, into []*i18n.Message) ([]*i18n.Message, error) {
	for key, value := range table {
		id := key
		if prefix != "" {
			id = prefix + "." + key
		}
		sub, ok := value.(map[string]any)
		if !ok {
			return nil, fmt.Errorf("message.%s is not a table", id)
		}
		if _, isMessage := sub["other"].(string); !isMessage {
			var err error
			if into, err = flatten(id, sub, into); err != nil {
				return nil, err
			}
			continue
		}
		m := &i18n.Message{ID: id}
		for form, text := range sub {
			s, ok := text.(string)
			if !ok {
				return nil, fmt.Errorf("message.%s.%s is not a string", id, form)
			}
			switch form {
			case "description":
				m.Description = s
			case "zero":
				m.Zero = s
			case "one":
				m.One = s
			case "two":
				m.Two = s
			case "few":
				m.Few = s
			case "many":
				m.Many = s
			case "other":
				m.Other = s
			default:
				return nil, fmt.Errorf("message.%s has an unknown form %q", id, form)
			}
		}
		into = append(into, m)
	}
	return into, nil
}

// Language gives the language that serves a person best: the first of the tags that is known, else
// the nearest, else English. Empty tags are skipped.
func (lib *Library) Language(tags ...string) *Language {
	for _, want := range tags {
		if want == "" {
			continue
		}
		tag, err := language.Parse(strings.ReplaceAll(want, "_", "-"))
		if err != nil {
			continue
		}
		_, index, confidence := lib.matcher.Match(tag)
		if confidence >= language.High {
			return lib.languages[lib.tags[index].String()]
		}
	}
	return lib.languages[Fallback]
}

// Tags lists the languages, English first.
func (lib *Library) Tags() []string {
	tags := make([]string, len(lib.tags))
	for i, t := range lib.tags {
		tags[i] = t.String()
	}
	return tags
}

// Data are the named values of a message's placeholders.
type Data map[string]any

// Say gives one sentence. A count for plural forms is Data["Count"], an int.
// A text that is missing everywhere comes back as its id in brackets, never as an empty string.
func (l *Language) Say(id ID, data Data) string {
	if !l.ids[string(id)] && l.onMissing != nil {
		l.onMissing(string(id))
	}
	count, counted := data["Count"]
	if t := l.templates[string(id)]; t != nil && !counted {
		// A sentence without a count has one form, and is put together without asking which language
		// serves it: that is known, and asking costs more than the sentence.
		if s, err := t.Execute("other", map[string]any(data), nil); err == nil {
			return s
		}
	}
	config := i18n.LocalizeConfig{MessageID: string(id), TemplateData: map[string]any(data)}
	if counted {
		config.PluralCount = count
	}
	s, err := l.localizer.Localize(&config)
	if err != nil && s == "" {
		return "[" + string(id) + "]"
	}
	return s
}

// Has reports whether the language itself has the text.
func (l *Language) Has(id ID) bool { return l.ids[string(id)] }

// FoodName gives the food's name, in the plural for more than one piece.
func (l *Language) FoodName(id food.ID, pieces int) string {
	return pick(l.foods[id], pieces, string(id))
}

// DonenessName gives the doneness's name.
func (l *Language) DonenessName(id food.Doneness) string {
	return pick(l.doneness[id], 1, string(id))
}

// RefusedName gives the name of a food that is known only to be refused.
func (l *Language) RefusedName(id string) string { return pick(l.refused[id], 1, id) }

func pick(n Name, count int, fallback string) string {
	switch {
	case count > 1 && n.Many != "":
		return n.Many
	case n.One != "":
		return n.One
	}
	return fallback
}

// GroupName gives the name of a part of the counter.
func (l *Language) GroupName(g food.Group) string { return l.Say(ID("group."+string(g)), nil) }

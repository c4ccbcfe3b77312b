// The tests of this directory are for whoever writes a language: they name each thing that is
// missing, too long, or has other placeholders or plural forms than English, with the English
// text beside it. Start with TestLanguageIsComplete.
package locales_test

import (
	"fmt"
	"io/fs"
	"maps"
	"slices"
	"strings"
	"testing"
	"unicode/utf16"

	"github.com/BurntSushi/toml"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/internal/food"
	"bagwatch/internal/phrase"
	"bagwatch/internal/reply"
	"bagwatch/locales"
)

// source is the language the others are written after.
const source = "en"

// What the chat service takes, in its own count. Source: Telegram Bot API, sendMessage,
// BotCommand, answerCallbackQuery, setMyDescription, setMyShortDescription.
const (
	longestText        = 4096 // UTF-16 units after rendering
	longestCommand     = 256
	longestNotice      = 200
	longestDescription = 512
	longestShort       = 120
)

// House rules: two buttons a row stay readable on a phone, and a food's name stands on a button.
const (
	longestButton = 20
	longestName   = 34
)

// file is a language file as its writer sees it.
type file struct {
	Language struct {
		Tag     string   `toml:"tag"`
		Name    string   `toml:"name"`
		Endings []string `toml:"endings"`
	} `toml:"language"`
	Food     map[string]name                `toml:"food"`
	Doneness map[string]name                `toml:"doneness"`
	Refused  map[string]name                `toml:"refused"`
	Vague    map[string]name                `toml:"vague"`
	Words    map[string]map[string][]string `toml:"words"`
	Message  map[string]any                 `toml:"message"`

	messages map[string]message // by dotted id
}

type name struct {
	Name   string `toml:"name"`
	Plural string `toml:"plural"`
}

// message is form → text; "description" is one of the forms.
type message map[string]string

// parsed reads a language file. Its messages are tables that hold "other".
func parsed(text []byte) (file, error) {
	var f file
	if err := toml.Unmarshal(text, &f); err != nil {
		return file{}, err
	}
	f.messages = map[string]message{}
	return f, f.flatten("", f.Message)
}

func (f file) flatten(prefix string, table map[string]any) error {
	if _, ok := table["other"].(string); ok {
		m := message{}
		for form, text := range table {
			s, ok := text.(string)
			if !ok {
				return fmt.Errorf("[message.%s] %s is no text", prefix, form)
			}
			m[form] = s
		}
		f.messages[prefix] = m
		return nil
	}
	for key, value := range table {
		sub, ok := value.(map[string]any)
		if !ok {
			return fmt.Errorf("[message.%s] has no \"other\"", prefix)
		}
		if err := f.flatten(strings.TrimPrefix(prefix+"."+key, "."), sub); err != nil {
			return err
		}
	}
	return nil
}

// languages reads all files that are there, English among them.
func languages(t *testing.T) map[string]file {
	t.Helper()
	names, err := fs.Glob(locales.FS, "*.toml")
	require.NoError(t, err)
	out := map[string]file{}
	for _, name := range names {
		text, err := fs.ReadFile(locales.FS, name)
		require.NoError(t, err)
		f, err := parsed(text)
		require.NoError(t, err, name)
		out[strings.TrimSuffix(name, ".toml")] = f
	}
	require.Contains(t, out, source)
	return out
}

func TestLanguageIsComplete(t *testing.T) {
	files := languages(t)
	for tag, f := range files {
		t.Run(tag, func(t *testing.T) { report(t, tag, missing(files[source], f, tag)) })
	}
}

func TestLanguageHasThePlaceholdersOfEnglish(t *testing.T) {
	files := languages(t)
	for tag, f := range files {
		t.Run(tag, func(t *testing.T) { report(t, tag, placeholders(files[source], f)) })
	}
}

func TestLanguageHasItsPluralForms(t *testing.T) {
	files := languages(t)
	for tag, f := range files {
		t.Run(tag, func(t *testing.T) { report(t, tag, plurals(files[source], f, tag)) })
	}
}

func TestLanguageIsShortEnough(t *testing.T) {
	files := languages(t)
	for tag, f := range files {
		t.Run(tag, func(t *testing.T) { report(t, tag, tooLong(files[source], f)) })
	}
}

func TestNoEnglishIsLeft(t *testing.T) {
	files := languages(t)
	for tag, f := range files {
		if tag != source {
			t.Run(tag, func(t *testing.T) { report(t, tag, untranslated(files[source], f)) })
		}
	}
}

// report names the problems of a language, one a line.
func report(t *testing.T, tag string, problems []string) {
	t.Helper()
	if len(problems) > 0 {
		slices.Sort(problems)
		t.Errorf("%s.toml, %d to do:\n  %s", tag, len(problems), strings.Join(problems, "\n  "))
	}
}

// TestExamplesAreUnderstood: the messages that are given as examples are ones the parser reads whole.
func TestExamplesAreUnderstood(t *testing.T) {
	foods, err := food.Load()
	require.NoError(t, err)
	book, err := phrase.Load(locales.FS, foods)
	require.NoError(t, err)
	for tag, f := range languages(t) {
		examples := 0
		for _, id := range slices.Sorted(maps.Keys(f.messages)) {
			if !strings.HasPrefix(id, "bot.example.") && id != "inline.empty.text" {
				continue
			}
			examples++
			text := f.messages[id]["other"]
			u := book.Parser(tag).Parse(text)
			assert.Nil(t, u.Problem, "%s: [message.%s] %q", tag, id, text)
			assert.Empty(t, u.Unplaced, "%s: [message.%s] %q", tag, id, text)
			assert.NotEmpty(t, u.Request.Food, "%s: [message.%s] %q", tag, id, text)
		}
		assert.True(t, examples > 0 || tag != source, "no examples in English, so this checks nothing")
	}
}

// TestEveryMessageReads: each text renders with its placeholders filled, for one and for many.
func TestEveryMessageReads(t *testing.T) {
	lib, err := reply.Load(locales.FS, nil)
	require.NoError(t, err)
	for tag, f := range languages(t) {
		for id, m := range f.messages {
			_, plural := m["one"]
			for _, count := range []int{1, 2, 21, 1_000_000} {
				data := reply.Data{}
				names, err := fields(m["other"])
				require.NoError(t, err)
				for _, p := range names {
					data[p] = longName
				}
				if delete(data, counted); plural || slices.Contains(names, counted) {
					data[counted] = count
				}
				said := lib.Language(tag).Say(reply.ID(id), data)
				assert.NotContains(t, said, "<no value>", "%s: [message.%s]", tag, id)
				assert.NotContains(t, said, "{{", "%s: [message.%s]", tag, id)
				assert.NotEqual(t, "["+id+"]", said, tag)
				assert.LessOrEqual(t, len(utf16.Encode([]rune(said))), longestText, "%s: [message.%s]", tag, id)
			}
		}
	}
}

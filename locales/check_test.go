package locales_test

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"testing"
	"text/template"
	"text/template/parse"
	"unicode/utf16"

	"github.com/nicksnyder/go-i18n/v2/i18n"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/text/language"
)

// optional are word ids a language may do without: ounces and pounds are read in every chat as
// English writes them, and not every language has these small words.
var optional = map[string]bool{
	"unit.ounce": true, "unit.pound": true, "unit.metric-pound": true, "flag.at-risk-unless-before-food": true,
	"unit.oclock": true, "cue.am": true, "cue.pm": true, "cue.of": true,
}

// open are sections whose ids are numbers, which each language has its own words for.
var open = map[string]bool{"shared": true, "number": true, "multiple": true, "fraction": true}

// missing names what f lacks of the source, or has beyond it.
func missing(en, f file, tag string) (problems []string) {
	add := func(format string, args ...any) { problems = append(problems, fmt.Sprintf(format, args...)) }
	if f.Language.Tag != tag || f.Language.Name == "" || len(f.Language.Endings) == 0 {
		add("[language] needs tag = %q, a name in its own words, and endings", tag)
	}
	for section, tables := range map[string][2]map[string]name{
		"food": {en.Food, f.Food}, "doneness": {en.Doneness, f.Doneness}, "refused": {en.Refused, f.Refused}, "vague": {en.Vague, f.Vague},
	} {
		for id, want := range tables[0] {
			switch have := tables[1][id]; {
			case have.Name == "":
				add("[%s.%s] has no name (English: %q)", section, id, want.Name)
			case want.Plural != "" && have.Plural == "":
				add("[%s.%s] has no plural (English: %q)", section, id, want.Plural)
			}
		}
		for id := range tables[1] {
			if _, known := tables[0][id]; !known {
				add("[%s.%s] is not in English: misspelt?", section, id)
			}
		}
	}
	for section, ids := range en.Words {
		if len(f.Words[section]) == 0 {
			add("[words.%s] is missing", section)
			continue
		}
		for id, words := range ids {
			if !open[section] && !optional[section+"."+id] && len(f.Words[section][id]) == 0 {
				add("[words.%s] has nothing for %s (English: %q)", section, id, words[:min(3, len(words))])
			}
		}
	}
	for id, want := range en.messages {
		if f.messages[id]["other"] == "" {
			add("[message.%s] is missing (English: %q; %s)", id, want["other"], want["description"])
		}
	}
	for id := range f.messages {
		if _, known := en.messages[id]; !known {
			add("[message.%s] is not in English: misspelt, or no longer used?", id)
		}
	}
	return problems
}

// counted is the placeholder of the plural forms; "one bag" need not hold it.
const counted = "Count"

// placeholders names the messages whose placeholders differ from the source's.
func placeholders(en, f file) (problems []string) {
	for id, m := range f.messages {
		english, known := en.messages[id]
		if !known {
			continue // named by missing
		}
		want, err := fields(english["other"])
		if err != nil {
			problems = append(problems, fmt.Sprintf("[message.%s] English: %v", id, err))
			continue
		}
		for form, text := range m {
			if form == "description" {
				continue
			}
			have, err := fields(text)
			if err != nil {
				problems = append(problems, fmt.Sprintf("[message.%s] %s: %v", id, form, err))
				continue
			}
			exempt := func(p string) bool { return p == counted && (form == "one" || form == "zero") }
			for _, p := range want {
				if !slices.Contains(have, p) && !exempt(p) {
					problems = append(problems, fmt.Sprintf("[message.%s] %s lacks {{.%s}}: %q (English: %q)", id, form, p, text, english["other"]))
				}
			}
			for _, p := range have {
				if !slices.Contains(want, p) {
					problems = append(problems, fmt.Sprintf("[message.%s] %s has {{.%s}}, which is never filled: %q", id, form, p, text))
				}
			}
		}
	}
	return problems
}

// fields gives the placeholders of a text, sorted. Nothing but {{.Name}} is a placeholder.
func fields(text string) ([]string, error) {
	t, err := template.New("").Parse(text)
	if err != nil {
		return nil, fmt.Errorf("no valid text: %w", err)
	}
	var out []string
	if t.Tree == nil || t.Root == nil {
		return nil, nil
	}
	for _, node := range t.Root.Nodes {
		switch n := node.(type) {
		case *parse.TextNode:
		case *parse.ActionNode:
			p, ok := strings.CutPrefix(n.String(), "{{.")
			p, closed := strings.CutSuffix(p, "}}")
			if !ok || !closed || strings.ContainsAny(p, " .|()") {
				return nil, fmt.Errorf("%s is no placeholder", n)
			}
			out = append(out, p)
		default:
			return nil, fmt.Errorf("%s is no placeholder", n)
		}
	}
	slices.Sort(out)
	return slices.Compact(out), nil
}

// plurals names the counted messages that lack a plural form of their language, and those with
// forms that no count ever chooses.
func plurals(en, f file, tag string) (problems []string) {
	forms := pluralForms(tag)
	for id, m := range f.messages {
		_, plural := en.messages[id]["one"]
		for _, form := range forms {
			if plural && m[form] == "" {
				problems = append(problems, fmt.Sprintf("[message.%s] lacks the plural form %q, which the language has", id, form))
			}
		}
		for form := range m {
			if form != "description" && form != "other" && !(plural && slices.Contains(forms, form)) {
				problems = append(problems, fmt.Sprintf("[message.%s] has the form %q, which nothing chooses", id, form))
			}
		}
	}
	return problems
}

// pluralForms asks the message library which forms whole numbers take in a language, so that
// the rules (CLDR) are the ones that are used: up to 300 every number, then the powers of ten.
func pluralForms(tag string) []string {
	all := []string{"zero", "one", "two", "few", "many", "other"}
	bundle := i18n.NewBundle(language.MustParse(tag))
	bundle.MustAddMessages(language.MustParse(tag), &i18n.Message{
		ID: "form", Zero: "zero", One: "one", Two: "two", Few: "few", Many: "many", Other: "other",
	})
	localizer := i18n.NewLocalizer(bundle, tag)
	seen := map[string]bool{}
	try := func(n int) {
		seen[localizer.MustLocalize(&i18n.LocalizeConfig{MessageID: "form", PluralCount: n})] = true
	}
	for n := range 301 {
		try(n)
	}
	for n := 1000; n <= 1_000_000_000; n *= 10 {
		try(n)
	}
	return slices.DeleteFunc(all, func(form string) bool { return !seen[form] })
}

var placeholder = regexp.MustCompile(`\{\{\.\w+\}\}`)

// tooLong names the texts that would be refused or cut off where they are shown.
func tooLong(en, f file) (problems []string) {
	check := func(id, what, text string, limit int) {
		if n := len(utf16.Encode([]rune(text))); n > limit {
			problems = append(problems, fmt.Sprintf("[message.%s] is %d long, as %s it may be %d: %q", id, n, what, limit, text))
		}
	}
	for id, m := range f.messages {
		english := en.messages[id]
		for form, text := range m {
			if form == "description" {
				continue
			}
			bare := placeholder.ReplaceAllString(text, "")
			switch what := english["description"]; {
			case strings.HasPrefix(id, "command."):
				check(id, "a command's menu text", text, longestCommand)
			case id == "profile.description":
				check(id, "the page's text", text, longestDescription)
			case id == "profile.short":
				check(id, "the page's short text", text, longestShort)
			case strings.HasPrefix(id, "button."), strings.Contains(id, ".button."):
				check(id, "a button", bare, max(longestButton, len(placeholder.ReplaceAllString(english["other"], ""))))
			case strings.HasPrefix(what, "Notice"), strings.Contains(what, "over a pressed button"):
				check(id, "a notice", placeholder.ReplaceAllString(text, longName), longestNotice)
			}
			check(id, "a message with long names", placeholder.ReplaceAllString(text, strings.Repeat(longName, 4)), longestText)
		}
	}
	for section, names := range map[string]map[string]name{"food": f.Food, "doneness": f.Doneness} {
		for id, n := range names {
			for _, text := range []string{n.Name, n.Plural} {
				if len([]rune(text)) > longestName {
					problems = append(problems, fmt.Sprintf("[%s.%s] %q is too long for a button: %d at most", section, id, text, longestName))
				}
			}
		}
	}
	return problems
}

// longName is a name as long as the bot repeats one: 40 runes.
var longName = strings.Repeat("Wörtlich", 5)

// untranslated names messages that are the same as in English and hold three words or more.
func untranslated(en, f file) (problems []string) {
	for id, m := range f.messages {
		words := strings.FieldsFunc(placeholder.ReplaceAllString(m["other"], " "), func(r rune) bool {
			return !('a' <= r && r <= 'z' || 'A' <= r && r <= 'Z')
		})
		words = slices.DeleteFunc(words, func(w string) bool { return len(w) < 3 })
		if m["other"] == en.messages[id]["other"] && len(words) >= 3 {
			problems = append(problems, fmt.Sprintf("[message.%s] is still English: %q", id, m["other"]))
		}
	}
	return problems
}

// small is a source with one of each kind; faulty is a translation with one of each fault.
const (
	small = `
[language]
tag = "en"
name = "English"
endings = ["s"]
[food.egg]
name = "egg"
plural = "eggs"
[doneness.set]
name = "set"
[words.start]
frozen = ["frozen"]
room = ["room"]
[words.unit]
ounce = ["oz"]
[words.cue]
for = ["for"]
[message.button.pull]
other = "Pull"
[message.command.help]
other = "How to talk to me"
[message.trouble.late]
description = "Notice: too late."
other = "Too late"
[message.trouble.who]
description = "Notice: somebody was first. Who."
other = "{{.Who}} was first"
[message.bag.count]
one = "one bag of {{.Food}}"
other = "{{.Count}} bags of {{.Food}}"
[message.bag.same]
other = "taken from the fridge"
[message.profile.short]
other = "Tells when it is ready"
`
	faulty = `
[language]
tag = "it"
[food.egg]
name = "uovo in camicia molto ben fatto e lungo"
[food.unicorn]
name = "unicorno"
plural = "unicorni"
[words.start]
frozen = ["surgelato"]
[message.button.pull]
one = "Tira"
other = "Tirare fuori dal bagno"
[message.trouble.late]
other = "{{.Who}}: {{if .Late}}tardi{{end}}"
[message.bag.count]
one = "un sacchetto"
other = "{{.Count}} sacchetti"
[message.bag.same]
other = "taken from the fridge"
[message.bag.tale]
other = "c'era"
`
)

func TestTheChecksFindWhatIsWrong(t *testing.T) {
	en, err := parsed([]byte(small))
	require.NoError(t, err)
	long := func(id, text string) string { return fmt.Sprintf("[message.%s]\nother = %q\n", id, text) }
	it, err := parsed([]byte(faulty + long("command.help", strings.Repeat("aiuto ", 50)) + long("profile.short", strings.Repeat("x", 121)) +
		long("trouble.who", "{{.Who}}"+strings.Repeat("x", 161))))
	require.NoError(t, err)
	for what, c := range map[string]struct {
		found []string
		want  []string
	}{
		"missing": {missing(en, it, "it"), []string{
			`[language] needs`, `[food.egg] has no plural`, `[food.unicorn] is not in English`, `[doneness.set] has no name`,
			`[words.start] has nothing for room`, `[words.unit] is missing`, `[words.cue] is missing`, `[message.bag.tale] is not in English`,
		}},
		"placeholders": {placeholders(en, it), []string{
			`[message.trouble.late] other: {{if .Late}}`, `[message.bag.count] one lacks {{.Food}}`, `[message.bag.count] other lacks {{.Food}}`,
		}},
		"plurals": {plurals(en, it, "it"), []string{
			`[message.button.pull] has the form "one", which nothing chooses`, `[message.bag.count] lacks the plural form "many"`,
		}},
		"too long": {tooLong(en, it), []string{
			`[message.button.pull] is 22 long`, `[message.command.help] is 300 long`, `[message.profile.short] is 121 long`, `[message.trouble.who] is 201 long`,
			`[food.egg] "uovo in camicia`,
		}},
		"untranslated": {untranslated(en, it), []string{`[message.bag.same] is still English`}},
	} {
		t.Run(what, func(t *testing.T) {
			assert.Len(t, c.found, len(c.want), strings.Join(c.found, "\n"))
			for _, want := range c.want {
				assert.True(t, slices.ContainsFunc(c.found, func(s string) bool { return strings.HasPrefix(s, want) }),
					"%s is not among:\n%s", want, strings.Join(c.found, "\n"))
			}
		})
	}
	for what, found := range map[string][]string{
		"missing": missing(en, en, "en"), "placeholders": placeholders(en, en), "plurals": plurals(en, en, "en"), "too long": tooLong(en, en),
	} {
		assert.Empty(t, found, "English beside itself: %s", what)
	}
	gone, err := parsed([]byte("[language]\ntag = \"it\"\nname = \"italiano\"\nendings = [\"i\"]\n"))
	require.NoError(t, err)
	assert.Contains(t, strings.Join(missing(en, gone, "it"), "\n"), `[message.button.pull] is missing (English: "Pull"`)
}

func TestPluralFormsAreThoseOfTheLanguage(t *testing.T) {
	for tag, want := range map[string][]string{
		"en": {"one", "other"}, "de": {"one", "other"}, "es": {"one", "many", "other"}, "fr": {"one", "many", "other"}, "it": {"one", "many", "other"},
		"pl": {"one", "few", "many"}, "ja": {"other"},
	} {
		assert.Equal(t, want, pluralForms(tag), tag)
	}
}

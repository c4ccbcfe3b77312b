package phrase_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/internal/cook"
	"bagwatch/internal/phrase"
)

// german are messages in a German chat, English and French words among them.
var german = []message{
	{"2 entrecôtes 3 cm medium rare", request(ribeye, n(2), mm(30), done(mr)), nil},
	{"Entrecote 450 g rosa", request(ribeye, g(450), done(medium)), nil},
	{"Ribeye, 3,5 cm, blutig", request(ribeye, mm(35), done(rare)), nil},
	{"zwei Rinderfilets je 200 Gramm", request("beef-tenderloin", n(2), g(200), each), nil},
	{"2 x 180 g Lachsfilet glasig", request(salmon, n(2), g(180), each, done("glassy")), nil},
	{"Hähnchenbrust 65 Grad", request(breast, c(65)), nil},
	{"Haehnchenbrust 65 °C", request(breast, c(65)), nil},
	{"Hahnchenbrust 3 cm", request(breast, mm(30)), nil},
	{"hänchenbrust 3cm", request(breast, mm(30)), nil},
	{"Hähnchenbrüste tiefgefroren", request(breast, start(cook.StartFrozen)), nil},
	{"ein Rumpsteak ca. 3 cm dick", request("beef-strip-steak", n(1), mm(30), about), nil},
	{"anderthalb Kilo Schweineschulter bei 74", request("pork-shoulder", g(1500), c(74)), nil},
	{"ein halbes Kilo Garnelen", request("shrimp", g(500)), nil},
	{"ein Pfund Garnelen", request("shrimp", g(500)), nil},
	{"ein Dutzend Eier", request(egg, n(12)), nil},
	{"6 Eier wachsweich", request(egg, n(6), done("custard")), nil},
	{"Entenbrust aus dem Kühlschrank", request("duck-breast", start(cook.StartFridge)), nil},
	{"Entenbrust aus dem Tiefkühler", request("duck-breast", start(cook.StartFrozen)), nil},
	{"Lachs von 12 °C", request(salmon, from(12)), nil},
	{"Lachs für Oma", request(salmon, atRisk), nil},
	{"Steak für meine schwangere Frau", request(ribeye, atRisk), nil},
	{"Rollbraten vom Schwein", request("pork-chop", nonIntact), nil},
	{"Hähnchenkeule anderthalb Stunden", request("chicken-leg", span(90*time.Minute)), nil},
	{"Ochsenbacke 57 Grad zwei Tage", request("beef-cheek", c(57), span(48*time.Hour)), nil},
	{"Möhren 85 Grad", request("carrot", c(85)), nil},
	{"rote bete 53 mm", request("beet", mm(53)), nil},
	{"Weißer Spargel 12mm", request("asparagus", mm(12)), nil},
	{"Kabeljau zwischen 2 und 3 cm", request("cod", mm(30), about), nil},
	{"Lammkarree 4 bis 5 cm rosé", request("lamb-rack", mm(50), about, done(mr)), nil},
	{"Flanksteak anderthalb Zoll", request("beef-flank", in(1.5)), nil},
	{"salmon 2,5 cm just set bitte", request(salmon, mm(25), done(justSet)), nil},
	{"frozen chicken breast 3 cm", request(breast, mm(30), start(cook.StartFrozen)), nil},
	{"Hähnchenbrust mit Käse 3 cm", request(breast, mm(30)), []string{"Käse"}},
	{"3 Hähnchenbrüste à 180g 65°C", request(breast, n(3), g(180), each, c(65)), nil},
	{"Lachs aus dem Tiefkühlfach", request(salmon, start(cook.StartFrozen)), nil},
	{"Brust vom Hähnchen 3 cm", request(breast, mm(30)), nil},
}

func TestGermanMessagesAreUnderstood(t *testing.T) {
	p := book(t).Parser("de-AT")
	for _, m := range german {
		t.Run(m.typed, func(t *testing.T) { check(t, p, m) })
	}
	assert.GreaterOrEqual(t, len(german), 25)
}

func TestEnglishStaysUnderstoodInAGermanChat(t *testing.T) {
	p := book(t).Parser("de")
	for _, m := range english {
		t.Run(m.typed, func(t *testing.T) {
			u := p.Parse(m.typed)
			require.Nil(t, u.Problem)
			assert.Equal(t, rounded(m.want), rounded(u.Request))
		})
	}
}

// Pike-perch is two letters from beef fillet, and saithe ends in salmon.
func TestGermanNeighboursAreNotTaken(t *testing.T) {
	p := book(t).Parser("de")
	for _, typed := range []string{"Zanderfilet 2 cm", "Seelachs 2 cm", "Ziegenkeule 3 cm", "Keule vom Zicklein"} {
		t.Run(typed, func(t *testing.T) {
			u := p.Parse(typed)
			assert.Empty(t, u.Request.Food)
			assert.NotNil(t, u.Problem)
		})
	}
}

func TestGermanClockTimes(t *testing.T) {
	p := book(t).Parser("de")
	for typed, want := range map[string]phrase.Understood{
		"sicher? Hähnchenbrust 3 cm 60 Grad drin seit 17:10": {Intent: phrase.IntentSafe, Question: true, Since: &phrase.ClockTime{Hour: 17, Minute: 10}},
		"Hähnchenbrust seit 17 Uhr 10":                       {Since: &phrase.ClockTime{Hour: 17, Minute: 10}},
		"Hähnchenbrust seit 17.10 Uhr":                       {Since: &phrase.ClockTime{Hour: 17, Minute: 10}},
		"Hähnchenbrust zum Abendessen um 19:30":              {ServeAt: &phrase.ClockTime{Hour: 19, Minute: 30}},
		"Hähnchenbrust fertig um 7 Uhr":                      {ServeAt: &phrase.ClockTime{Hour: 7, Either: true}},
		"Hähnchenbrust vor 20 Minuten":                       {Ago: 20 * time.Minute},
		"Hähnchenbrust für 4 Personen":                       {Guests: 4},
		"wie lange Hähnchenbrust":                            {Intent: phrase.IntentAsk},
		"Leber 3 cm":                                         {RefusedFood: "liver", RefusedTyped: "Leber"},
	} {
		t.Run(typed, func(t *testing.T) {
			u := p.Parse(typed)
			assert.Nil(t, u.Problem)
			assert.Empty(t, u.Unplaced)
			want.Request, want.Food = u.Request, u.Food // checked by the other table
			assert.Equal(t, want, u)
		})
	}
}

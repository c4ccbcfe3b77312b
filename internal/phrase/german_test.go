package phrase_test

import (
	"bufio"
	"os"
	"strings"
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

	// Austria
	{"Beiried 3 cm, medium", request("beef-strip-steak", mm(30), done(medium)), nil},
	{"Rostbraten 2,5cm rosa", request(ribeye, mm(25), done(medium)), nil},
	{"Lungenbraten 1/2 kg zartrosa", request("beef-tenderloin", g(500), done(medium)), nil},
	{"Faschierte Laibchen 2 cm, 4 Stück", request("beef-patty", mm(20), n(4)), nil},
	{"Faschiertes vom Rind 25mm durch", request("beef-patty", mm(25), done("well-done")), nil},
	{"faschierte Putenbrust 3cm", request("turkey-breast", nonIntact, mm(30)), nil},
	{"2 Hendlhaxerl aus dem Eiskasten", request("chicken-leg", n(2), start(cook.StartFridge)), nil},
	{"Erdäpfel zum Pürieren", request("potato", done("tender")), nil},
	{"Schopfbraten 1,5 kg butterweich", request("pork-shoulder", g(1500), done("fork-tender")), nil},
	{"Lammschlögel fein rosa", request("lamb-leg", done(medium)), nil},
	{"Fisolen knackig", request("green-bean", done("firm")), nil},
	{"Kukuruz 85 °", request("corn", c(85)), nil},
	{"an schönes Hüferscherzel, bluadig", request("beef-sirloin", done(rare)), nil},

	// Switzerland
	{"Rindshuft 3 cm à point", request("beef-sirloin", mm(30), done(medium)), nil},
	{"Entrecôte saignant 300 g", request(ribeye, done(rare), g(300)), nil},
	{"3 Schweinsplätzli je 120 g bien cuit", request("pork-chop", n(3), g(120), each, done("well-done")), nil},
	{"Kalbskarree für 6 Personen", request("veal-chop"), nil},
	{"Poulet 3 cm 63 Grad", request(breast, mm(30), c(63)), nil},
	{"Pouletflügeli tiefgekühlt", request("chicken-wing", start(cook.StartFrozen)), nil},
	{"12 Crevetten zum Znacht um 19 Uhr", request("shrimp", n(12)), nil},
	{"Randen 5 cm 85°", request("beet", mm(50), c(85)), nil},
	{"Rüebli mit Biss", request("carrot", done("firm")), nil},

	// Germany
	{"moin, 2 Nackensteaks 2cm bei 60 bitte", request("pork-chop", n(2), mm(20), c(60)), nil},
	{"Kasten... nein, Schellfisch 150 Gramm", request("haddock", g(150)), []string{"Kasten"}},
	{"hab ne Entenbrust 350 gr, medium bitte", request("duck-breast", n(1), g(350), done(medium)), nil},
	{"mein Bürgermeisterstück wiegt 1 kg", request("beef-tri-tip", g(1000)), nil},
	{"Spareribs 74 Grad achtzehn Stunden", request("pork-ribs", c(74), span(18*time.Hour)), nil},
	{"wie lange Rinderbäckchen bei 68 Grad", request("beef-cheek", c(68)), nil},
	{"Eier kernweich, 8 Stück", request(egg, done("custard"), n(8)), nil},
	{"10 Eier Größe M bei 64,5 Grad", request(egg, n(10), c(64.5)), []string{"M"}},
	{"Rumpsteak fünfundzwanzig mm", request("beef-strip-steak", mm(25)), nil},
	{"Hähnchenbrust ~3cm, im ganzen 600g", request(breast, mm(30), about, g(600)), nil},
	{"Roastbeef am Stück 1,2 kg, 6 cm stark", request("beef-sirloin", g(1200), mm(60)), nil},
	{"Schweinebauch 36 h bei siebzig Grad", request("pork-belly", span(36*time.Hour), c(70)), nil},
	{"Seeteufel 4cm just set", request("monkfish", mm(40), done(justSet)), nil},
	{"Pulpo gabelzart", request("octopus", done("fork-tender")), nil},
	{"Kürbisspalten 2 cm weich gegart", request("squash", mm(20), done("tender")), nil},
	{"Rinderfilet am Stück 800 g 6,5 cm blutig bis rosa", request("beef-tenderloin", g(800), mm(65), done(mr)), nil},
	{"Lachs, 2 Tranchen je 140 g, nicht gefroren", request(salmon, n(2), g(140), each), nil},

	{"2 Koteletts zu 300 g", request("pork-chop", n(2), g(300), each), nil},
	{"4 Stück Lachs zu je 150 g, 2 cm", request(salmon, n(4), g(150), each, mm(20)), nil},
	{"Lachs bis zu 3 cm dick zu Spargel", request(salmon, mm(30)), []string{"Spargel"}},

	// people and treatments
	{"Lachs für mich und die Enkel", request(salmon, atRisk), nil},
	{"Hähnchenbrust fürs Baby 2cm", request(breast, atRisk, mm(20)), nil},
	{"Babykarotten 85 Grad", request("carrot", c(85)), nil},
	{"Entrecote, niemand schwanger", request(ribeye), nil},
	{"Rumpsteak gesteakert 2 cm", request("beef-strip-steak", nonIntact, mm(20)), nil},
	{"gefüllte Hähnchenbrust 4 cm", request(breast, nonIntact, mm(40)), nil},
	{"Schweinebauch gesurt", request("pork-belly", cured), nil},
	{"Hähnchenbrust auf Vorrat pasteurisieren", request(breast, kept), nil},

	// misspelt, without umlauts, other languages among them
	{"rinderfillet 4 cm medium", request("beef-tenderloin", mm(40), done(medium)), nil},
	{"Schweinefillet 5cm", request("pork-tenderloin", mm(50)), nil},
	{"haehnchenkeulen tiefgefrohren", request("chicken-leg", start(cook.StartFrozen)), nil},
	{"Blumenkol knackig", request("cauliflower", done("firm")), nil},
	{"Huhn? nein: Putenbrust 4cm", request("turkey-breast", mm(40)), []string{"Huhn"}},
	{"chicken breast 2,5 cm aus der Truhe", request(breast, mm(25), start(cook.StartFrozen)), nil},
	{"Kabeljau 1 inch flaky", request("cod", in(1), done("flaking")), nil},
}

func TestGermanMessagesAreUnderstood(t *testing.T) {
	p := book(t).Parser("de-AT")
	for _, m := range german {
		t.Run(m.typed, func(t *testing.T) { check(t, p, m) })
	}
	assert.GreaterOrEqual(t, len(german), 90)
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
	for _, typed := range []string{"Zanderfilet 2 cm", "Seelachs 2 cm", "Ziegenkeule 3 cm", "Keule vom Zicklein", "Saibling 2 cm", "Egli 1 cm", "schwarzer Heilbutt 3 cm", "Schweinshaxe", "2 Stelzen"} {
		t.Run(typed, func(t *testing.T) {
			u := p.Parse(typed)
			assert.Empty(t, u.Request.Food)
			assert.NotNil(t, u.Problem)
		})
	}
}

// Each of these is one letter, or two in long words, from a food, a number or a treatment.
func TestGermanEverydayWordsAreNotMisspeltFoods(t *testing.T) {
	p := book(t).Parser("de")
	want := p.Parse("Lachs 2 cm")
	for word, neighbour := range map[string]string{
		"nein": "neun", "mögen": "Magen", "holen": "Hoden", "Ende": "Ente", "Herd": "Herz", "brauch": "Bauch", "scharf": "Schaf",
		"Ruhe": "Rehe", "hast": "Hase", "Rand": "Rande", "Runde": "Rande", "Lage": "Lake", "gekocht": "gelocht", "gefällt": "gefüllt",
		"geheizt": "gebeizt", "gewollt": "gerollt", "passen": "Pansen", "schicken": "Schinken", "lieber": "Leber", "ganz": "Gans",
		"Hammer": "Hummer", "riechen": "Rochen", "Kern": "Kren", "Teller": "Zeller", "welch": "weich", "eher": "Eier",
	} {
		t.Run(word+" is no "+neighbour, func(t *testing.T) {
			u := p.Parse("Lachs 2 cm, " + word)
			assert.Equal(t, want, u)
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
		"Hähnchenbrust seit 20 Minuten drin":                 {Ago: 20 * time.Minute},
		"Hähnchenbrust, Gäste kommen um 19.30 Uhr":           {ServeAt: &phrase.ClockTime{Hour: 19, Minute: 30}},
		"Hähnchenbrust bis spätestens 19 Uhr":                {ServeAt: &phrase.ClockTime{Hour: 19}},
		"Hähnchenbrust zum Essen um 7 Uhr abends":            {ServeAt: &phrase.ClockTime{Hour: 19}},
		"Hähnchenbrust zum Znacht in 2 Stunden":              {ServeIn: 2 * time.Hour},
		"Hähnchenbrust rein um 17:10":                        {Since: &phrase.ClockTime{Hour: 17, Minute: 10}},
		"kann man das noch essen? Hähnchenbrust seit 17:10":  {Intent: phrase.IntentSafe, Question: true, Since: &phrase.ClockTime{Hour: 17, Minute: 10}},
		"Hähnchenbrust raus":                                 {Intent: phrase.IntentPull},
		"vergiss die Hähnchenbrust":                          {Intent: phrase.IntentDrop},
		"ganzes Poulet 1,5 kg":                               {RefusedFood: "whole-bird", RefusedTyped: "ganzes Poulet"},
		"Gams 3 cm":                                          {RefusedFood: "wild-venison", RefusedTyped: "Gams"},
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

// germanUnseenFloor is how many of the forty messages that were not tuned for have to be understood. On
// the first run it was 35: three lines of the list forget the size that stands beside a refused food,
// "weich" is read for eggs only, and "2 Stück zu 300g" halved the mass, which has been mended since. One
// is left for what words of further languages may change.
const germanUnseenFloor = 34

// TestGermanMessagesThatWereNotTunedFor reads the list that was written before the vocabulary was
// extended. What it misses is logged, not tuned for.
func TestGermanMessagesThatWereNotTunedFor(t *testing.T) { heldOut(t, "de", germanUnseenFloor) }

// TestEnglishMessagesThatWereNotTunedFor: the list was run once when it was written; the floor is what was right
// then.
func TestEnglishMessagesThatWereNotTunedFor(t *testing.T) { heldOut(t, "en", englishUnseenFloor) }

// heldOut reads a list of messages that nobody tuned for and asks for the number that was right at first.
func heldOut(t *testing.T, tag string, floor int) {
	t.Helper()
	file, err := os.Open("testdata/unseen_" + tag + ".txt")
	require.NoError(t, err)
	defer file.Close()
	p := book(t).Parser(tag)
	right, all := 0, 0
	for s := bufio.NewScanner(file); s.Scan(); {
		typed, want, ok := strings.Cut(s.Text(), " => ")
		if strings.HasPrefix(s.Text(), "#") || !ok {
			continue
		}
		all++
		u := p.Parse(typed)
		problem, unplaced := "", ""
		var request []string
		for field := range strings.SplitSeq(want, ", ") {
			switch key, value, _ := strings.Cut(field, "="); key {
			case "problem":
				problem = value
			case "unplaced":
				unplaced = value
			default:
				request = append(request, field)
			}
		}
		got := ""
		if u.Problem != nil {
			got = string(u.Problem.ID)
		}
		if got != problem {
			t.Logf("%q: problem %q, not %q", typed, got, problem)
			continue
		}
		if problem == "" {
			if got, want := spanishOutcome(u), spanishOutcome(unseenWanted(t, strings.Join(request, ", "))); got != want {
				t.Logf("%q: %s, not %s", typed, got, want)
				continue
			}
		}
		if unplaced != "" && strings.Join(texts(u.Unplaced), " ") != unplaced {
			t.Logf("%q: %q is unused, not %q", typed, texts(u.Unplaced), unplaced)
			continue
		}
		right++
	}
	t.Logf("%d of %d messages understood", right, all)
	assert.Equal(t, 40, all)
	assert.GreaterOrEqual(t, right, floor)
}

// englishUnseenFloor is how many of the forty English messages came out as the list says on its only run before
// it was looked at: three misses are pounds rounded in the list, two forget the setpoint beside a refused food,
// one forgets that mince is not intact. None was misread.
const englishUnseenFloor = 34

package phrase_test

import (
	"bufio"
	"fmt"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/internal/cook"
	"bagwatch/internal/food"
	"bagwatch/internal/phrase"
)

// italian are messages in an Italian chat, English, French and German words among them.
var italian = []message{
	// names, regional ones too
	{"2 entrecôtes 3 cm medium rare", request(ribeye, n(2), mm(30), done(mr)), nil},
	{"costata 5 cm al sangue", request(ribeye, mm(50), done(rare)), nil},
	{"una costata di manzo di 1 kg", request(ribeye, n(1), g(1000)), nil},
	{"Controfiletto 3,5 cm, media", request("beef-strip-steak", mm(35), done(medium)), nil},
	{"fiorentina alta 5 cm al sangue", request("beef-strip-steak", mm(50), done(rare)), nil},
	{"filetto di manzo medio al sangue 4cm", request("beef-tenderloin", mm(40), done(mr)), nil},
	{"picanha ben cotta", request("beef-sirloin", done("well-done")), nil},
	{"bavetta 2cm rosata", request("beef-flank", mm(20), done(medium)), nil},
	{"cappello del prete 24 ore a 65", request("beef-chuck-roast", span(24*time.Hour), c(65)), nil},
	{"biancostato 48h 60 gradi", request("beef-short-rib", span(48*time.Hour), c(60)), nil},
	{"guance di manzo fondenti", request("beef-cheek", done("fork-tender")), nil},
	{"due hamburger di manzo da 180 g", request("beef-patty", n(2), g(180), each), nil},
	{"nodini di vitello 3 cm rosa", request("veal-chop", mm(30), done(medium)), nil},
	{"carre' d'agnello rosa", request("lamb-rack", done(medium)), nil},
	{"costolette di agnello 2 cm", request("lamb-chop", mm(20)), nil},
	{"agnello scottadito 1,5 cm", request("lamb-chop", mm(15)), nil},
	{"stinco d'agnello 80° per 12 ore", request("lamb-shank", c(80), span(12*time.Hour)), nil},
	{"arista di maiale 62 gradi", request("pork-loin-roast", c(62)), nil},
	{"filetto di maiale appena rosa", request("pork-tenderloin", done("medium-well")), nil},
	{"coppa di maiale da sfilacciare", request("pork-shoulder", done("falling-apart")), nil},
	{"spuntature 70 gradi 18h", request("pork-ribs", c(70), span(18*time.Hour)), nil},
	{"luganega 65°", request("sausage", c(65)), nil},
	{"4 sovracosce di pollo", request("chicken-thigh", n(4)), nil},
	{"fusi di pollo 74", request("chicken-leg", c(74)), nil},
	{"fesa di tacchino succosa 4 cm", request("turkey-breast", done("springy"), mm(40)), nil},
	{"cosce di anatra 10 ore a 75 gradi", request("duck-leg", span(10*time.Hour), c(75)), nil},
	{"spigola 2 cm", request("sea-bass", mm(20)), nil},
	{"pescatrice 3cm", request("monkfish", mm(30)), nil},
	{"tonno 3 cm cuore traslucido", request("tuna", mm(30), done("glassy")), nil},
	{"mazzancolle mezzo chilo", request("shrimp", g(500)), nil},
	{"cappesante appena cotte", request("scallop", done(justSet)), nil},
	{"polipo 77 gradi", request("octopus", c(77)), nil},
	{"una dozzina di uova", request(egg, n(12)), nil},
	{"6 uova barzotte", request(egg, n(6), done("custard")), nil},
	{"uova sode", request(egg, done("set")), nil},
	{"12 uova di quaglia", request("quail-egg", n(12)), nil},
	{"cornetti 85 gradi", request("green-bean", c(85)), nil},
	{"patate tenere 85°", request("potato", c(85), done("tender")), nil},
	{"asparagi al dente", request("asparagus", done("firm")), nil},
	{"cuori di carciofo 85 gradi", request("artichoke", c(85)), nil},
	{"cuore di merluzzo 3 cm", request("cod", mm(30)), nil},
	{"rapa rossa 5 cm", request("beet", mm(50)), nil},

	// counts, masses, thicknesses
	{"2 petti di pollo da 180 g", request(breast, n(2), g(180), each), nil},
	{"tre tranci di salmone da duecento grammi l'uno", request(salmon, n(3), g(200), each), nil},
	{"4 x 125g salmone surgelato", request(salmon, n(4), g(125), each, start(cook.StartFrozen)), nil},
	{"gamberoni 12 pezzi", request("shrimp", n(12)), nil},
	{"un chilo e mezzo di spalla di maiale", request("pork-shoulder", g(1500)), nil},
	{"spalla d'agnello 1,8 kg", request("lamb-shoulder", g(1800)), nil},
	{"2 petti d'anatra 700 g in tutto", request("duck-breast", n(2), g(700)), nil},
	{"duecentocinquanta grammi di salmone", request(salmon, g(250)), nil},
	{"salmone tre centimetri", request(salmon, mm(30)), nil},
	{"salmone due centimetri e mezzo", request(salmon, mm(25)), nil},
	{"salmone spesso 25 mm", request(salmon, mm(25)), nil},
	{"lonza spessore 6 cm", request("pork-loin-roast", mm(60)), nil},
	{"halibut da 2 a 3 cm", request("halibut", mm(30), about), nil},
	{"halibut 2-3 cm", request("halibut", mm(30), about), nil},
	{"nasello tra 2 e 3 cm", request("hake", mm(30), about), nil},
	{"salmone circa 3 cm", request(salmon, mm(30), about), nil},
	{"entrecôte un pollice e mezzo", request(ribeye, in(1.5)), nil},
	{"filetto di manzo 4 cm, lungo 20 cm", request("beef-tenderloin", mm(40)), []string{"20 cm"}},

	// water, start, people, treatments, spans
	{"petto di pollo a 63", request(breast, c(63)), nil},
	{"petto di pollo 63,5 °C", request(breast, c(63.5)), nil},
	{"petto di pollo a sessantatré gradi", request(breast, c(63)), nil},
	{"petto di pollo 145 F", request(breast, f(145)), nil},
	{"salmone dal congelatore", request(salmon, start(cook.StartFrozen)), nil},
	{"salmone tolto dal frigo", request(salmon, start(cook.StartFridge)), nil},
	{"salmone dal frigo", request(salmon, start(cook.StartFridge)), nil},
	{"salmone dal frigo a 4 gradi, acqua a 50", request(salmon, from(4), c(50)), nil},
	{"bistecca di scamone a temperatura ambiente", request("beef-sirloin", start(cook.StartRoom)), nil},
	{"pollo petto non congelato", request(breast), nil},
	{"salmone per la nonna", request(salmon, atRisk), nil},
	{"salmone, mia figlia è incinta", request(salmon, atRisk), nil},
	{"salmone, nessuno è incinta", request(salmon), nil},
	{"petto di tacchino ripieno 5 cm", request("turkey-breast", nonIntact, mm(50)), nil},
	{"bistecca di manzo intenerita 3 cm", request(ribeye, nonIntact, mm(30)), nil},
	{"petto di pollo in salamoia", request(breast, cured), nil},
	{"petto di pollo pastorizzato", request(breast, kept), nil},
	{"uova mezz'ora a 64", request(egg, span(30*time.Minute), c(64)), nil},
	{"uova tre quarti d'ora a 64", request(egg, span(45*time.Minute), c(64)), nil},
	{"brasato due giorni a 60 gradi", request("beef-chuck-roast", span(48*time.Hour), c(60)), nil},
	{"manzo 1 ora e mezza", request(ribeye, span(90*time.Minute)), nil},
	{"polpo 5h30", request("octopus", span(5*time.Hour+30*time.Minute)), nil},

	// as typed: greetings, misspelt, run together, side dishes, other languages
	{"ciao, vorrei cuocere 2 controfiletti alti 3 cm al sangue per favore", request("beef-strip-steak", n(2), mm(30), done(rare)), nil},
	{"peto di pollo 3cm", request(breast, mm(30)), nil},
	{"pettodipollo 3 cm", request(breast, mm(30)), nil},
	{"salmome 2 cm", request(salmon, mm(20)), nil},
	{"tachino petto 4 cm", request("turkey-breast", mm(40)), nil},
	{"asparaggi verdi", request("asparagus"), nil},
	{"petto di pollo con funghi 3 cm", request(breast, mm(30)), []string{"funghi"}},
	{"salmone al limone 2 cm", request(salmon, mm(20)), []string{"limone"}},
	{"costata alla brace 4 cm scottata 60 s per lato", request(ribeye, mm(40)), []string{"60 s"}},
	{"petto di pollo 65 gradi al cuore", request(breast, c(65)), nil},
	{"ribeye 450 g medium rare", request(ribeye, g(450), done(mr)), nil},
	{"chicken breast 3 cm dal freezer", request(breast, mm(30), start(cook.StartFrozen)), nil},
	{"magret rosé 2 cm", request("duck-breast", mm(20), done(medium)), nil},
	{"2 Rindsfilets 4 cm al sangue", request("beef-tenderloin", n(2), mm(40), done(rare)), nil},
	{"salmone medium rare", request(salmon, done(justSet)), nil},
	{"manzo marinato 3 cm", request(ribeye, mm(30)), nil},
	{"uova a bassa temperatura 63 gradi", request(egg, c(63)), nil},
	{"costine che si staccano dall'osso", request("pork-ribs", done("falling-apart")), nil},
	{"costata 450", request(ribeye), []string{"450"}},
}

func TestItalianMessagesAreUnderstood(t *testing.T) {
	p := book(t).Parser("it-CH")
	for _, m := range italian {
		t.Run(m.typed, func(t *testing.T) { check(t, p, m) })
	}
	assert.GreaterOrEqual(t, len(italian), 60)
}

func TestEnglishStaysUnderstoodInAnItalianChat(t *testing.T) {
	p := book(t).Parser("it")
	for _, m := range english {
		if strings.HasPrefix(m.typed, "a ") || strings.Contains(m.typed, " a ") || strings.Contains(m.typed, " a5 ") {
			continue // in Italian "a" is no article but "at"
		}
		t.Run(m.typed, func(t *testing.T) {
			u := p.Parse(m.typed)
			require.Nil(t, u.Problem)
			assert.Equal(t, rounded(m.want), rounded(u.Request))
		})
	}
}

// Words that mean another animal, or a cut of another animal, are not taken for the nearest one that is known.
func TestItalianNeighboursAreNotTaken(t *testing.T) {
	p := book(t).Parser("it")
	for _, typed := range []string{
		"orata 2 cm", "filetto di orata 2 cm", "filetto di persico 2 cm", "spalla di capra 75", "coscia di capretto", "bistecca di cavallo 3 cm",
		"stinco di maiale 80 gradi", "guancia di maiale 75", "ossobuco 80 gradi", "cosce di rana", "coda di bue 85", "torta 3 cm",
		"cavolo 85 gradi", "palombo 2 cm", "seppia 60", "scampi 55", "miele", "spalla di giraffa 75",
	} {
		t.Run(typed, func(t *testing.T) {
			u := p.Parse(typed)
			assert.Empty(t, u.Request.Food)
			assert.NotNil(t, u.Problem)
		})
	}
	// Hen and octopus are one letter apart, and so are what is neither.
	assert.Equal(t, food.ID("octopus"), p.Parse("polpo").Request.Food)
	assert.Equal(t, breast, p.Parse("pollo").Request.Food)
	assert.Empty(t, p.Parse("polo").Request.Food)
}

func TestItalianRefusedFoodsAreNamed(t *testing.T) {
	p := book(t).Parser("it")
	for typed, id := range map[string]string{
		"cozze":                                  "mussel",
		"vongole veraci 60 gradi":                "clam",
		"fegatini di pollo 65":                   "liver",
		"animelle":                               "sweetbread",
		"cuore di vitello 60":                    "heart",
		"coscia di coniglio 65":                  "rabbit",
		"lombo di cervo 55 gradi":                "wild-venison",
		"cinghiale 70":                           "wild-boar",
		"petto di faraona 62":                    "game-bird",
		"aglio sott'olio":                        "garlic-in-oil",
		"olio al rosmarino":                      "infused-oil",
		"fagioli cannellini":                     "kidney-bean",
		"ceci":                                   "chickpea",
		"pancetta affumicata 2 cm":               "cured-meat",
		"guanciale":                              "cured-meat",
		"baccalà 50 gradi":                       "cured-meat",
		"pollo intero 1,5 kg":                    "whole-bird",
		"yogurt 43 gradi":                        "yoghurt",
		"petto d'oca 58":                         "goose",
		"granchio":                               "crab",
		"pancetta fresca 68 gradi":               "", // pork belly
		"coppa di maiale 75 gradi":               "", // pork neck
		"uova di quaglia":                        "",
		"cuore di filetto 54 gradi":              "",
		"lombo di cervo d'allevamento al sangue": "",
		"entrecôte 55 gradi al cuore":            "",
	} {
		t.Run(typed, func(t *testing.T) { assert.Equal(t, id, p.Parse(typed).RefusedFood) })
	}
}

func TestItalianClockTimesAndIntents(t *testing.T) {
	p := book(t).Parser("it")
	at := func(h, m int) *phrase.ClockTime { return &phrase.ClockTime{Hour: h, Minute: m} }
	for typed, want := range map[string]phrase.Understood{
		"è sicuro? petto di pollo 3 cm 60 gradi dentro dalle 17:10": {Intent: phrase.IntentSafe, Question: true, Since: at(17, 10)},
		"petto di pollo dalle 17.10":                                {Since: at(17, 10)},
		"petto di pollo in acqua dalle 17h10":                       {Since: at(17, 10)},
		"petto di pollo messo in acqua alle 17.10":                  {Since: at(17, 10)},
		"petto di pollo dalle 5 del pomeriggio":                     {Since: at(17, 0)},
		"petto di pollo in acqua da 40 minuti":                      {Ago: 40 * time.Minute},
		"petto di pollo dentro da mezz'ora":                         {Ago: 30 * time.Minute},
		"petto di pollo messo dentro 20 minuti fa":                  {Ago: 20 * time.Minute},
		"petto di pollo per cena alle 19.30":                        {Intent: phrase.IntentDinner, ServeAt: at(19, 30)},
		"petto di pollo pronto alle 19:30":                          {ServeAt: at(19, 30)},
		"petto di pollo per le 19.30":                               {ServeAt: at(19, 30)},
		"petto di pollo per le ore 20":                              {ServeAt: at(20, 0)},
		"petto di pollo entro le 8 di sera":                         {ServeAt: at(20, 0)},
		"petto di pollo alle 19:30":                                 {ServeAt: at(19, 30)},
		"petto di pollo per mezzogiorno":                            {ServeAt: at(12, 0)},
		"petto di pollo per le 7":                                   {ServeAt: &phrase.ClockTime{Hour: 7, Either: true}},
		"petto di pollo, cena tra 2 ore":                            {Intent: phrase.IntentDinner, ServeIn: 2 * time.Hour},
		"petto di pollo per 4 persone":                              {Guests: 4},
		"inizia petto di pollo alle 17:10":                          {Intent: phrase.IntentStart, Since: at(17, 10)},
		"quanto tempo petto di pollo":                               {Intent: phrase.IntentAsk},
		"il petto di pollo è pronto?":                               {Intent: phrase.IntentReady, Question: true},
		"tolto":                                                     {Intent: phrase.IntentPull},
		"tolto dall'acqua il petto di pollo":                        {Intent: phrase.IntentPull},
		"cosa c'è in acqua?":                                        {Intent: phrase.IntentBags, Question: true},
		"alimenti":                                                  {Intent: phrase.IntentFoods},
		"aiuto":                                                     {Intent: phrase.IntentHelp},
		"fegato 3 cm":                                               {RefusedFood: "liver", RefusedTyped: "fegato"},
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

// A time out of the fridge is no time in the water, and the length of a recipe does not say that it has begun.
func TestItalianTimesThatAreNotInTheWater(t *testing.T) {
	p := book(t).Parser("it")
	u := p.Parse("costata fuori dal frigo da un'ora")
	assert.Zero(t, u.Ago)
	assert.Equal(t, []string{"un'ora"}, texts(u.Unplaced))
	u = p.Parse("petto di pollo, cottura da 2 ore")
	assert.Zero(t, u.Ago)
	assert.Equal(t, 2*time.Hour, u.Request.Span)
}

func TestItalianAmendments(t *testing.T) {
	p := book(t).Parser("it")
	base := request(ribeye, g(450), done(mr))
	for typed, want := range map[string]cook.Request{
		"3 cm":                   request(ribeye, g(450), done(mr), mm(30)),
		"alta 3,5 cm":            request(ribeye, g(450), done(mr), mm(35)),
		"meglio al sangue":       request(ribeye, g(450), done(rare)),
		"parte da 8 °C":          request(ribeye, g(450), done(mr), from(8)),
		"da congelato":           request(ribeye, g(450), done(mr), start(cook.StartFrozen)),
		"4 pezzi":                request(ribeye, g(450), done(mr), n(4)),
		"per la nonna":           request(ribeye, g(450), done(mr), atRisk),
		"da 300 g l'una":         request(ribeye, g(300), each, done(mr)),
		"a 57,5 gradi":           request(ribeye, g(450), c(57.5)),
		"due ore":                request(ribeye, g(450), done(mr), span(2*time.Hour)),
		"è stata intenerita":     request(ribeye, g(450), done(mr), nonIntact),
		"actually 3.5 cm":        request(ribeye, g(450), done(mr), mm(35)),
		"a temperatura ambiente": request(ribeye, g(450), done(mr), start(cook.StartRoom)),
	} {
		t.Run(typed, func(t *testing.T) {
			u, ok := p.Amend(base, typed)
			assert.True(t, ok)
			assert.Equal(t, rounded(want), rounded(u.Request))
		})
	}
}

// italianUnseenFloor is how many of the forty messages nobody tuned for have to be understood. 36 were on
// the first and only run; one is left for what words of further languages may change.
const italianUnseenFloor = 35

// The list was written before the vocabulary; what it misses is logged, not tuned for.
func TestItalianUnseenMessages(t *testing.T) {
	file, err := os.Open("testdata/unseen_it.txt")
	require.NoError(t, err)
	defer file.Close()
	p := book(t).Parser("it")
	right, all := 0, 0
	lines := bufio.NewScanner(file)
	for lines.Scan() {
		typed, fields, ok := strings.Cut(lines.Text(), " => ")
		if strings.HasPrefix(lines.Text(), "#") || !ok {
			continue
		}
		all++
		want, u := unseenWanted(t, fields), p.Parse(typed)
		if want.Intent == "" {
			u.Intent = "" // compared only where the list names one
		}
		if got := italianOutcome(u); got == italianOutcome(want) {
			right++
		} else {
			t.Logf("%q: %s, not %s", typed, got, italianOutcome(want))
		}
	}
	require.NoError(t, lines.Err())
	t.Logf("%d of %d unseen messages understood", right, all)
	assert.Equal(t, 40, all)
	assert.GreaterOrEqual(t, right, italianUnseenFloor)
}

// italianOutcome is what the list compares of a message that was read. "Each" says nothing of one piece,
// and a refused food's size does not matter.
func italianOutcome(u phrase.Understood) string {
	clock := func(c *phrase.ClockTime) string {
		if c == nil {
			return "-"
		}
		return fmt.Sprintf("%02d:%02d", c.Hour, c.Minute)
	}
	r := rounded(u.Request)
	r.MassEach = r.MassEach && r.Pieces != 1
	if u.RefusedFood != "" {
		r = cook.Request{}
	}
	return fmt.Sprintf("%+v refused %q intent %q since %s serve %s ago %s guests %d",
		r, u.RefusedFood, u.Intent, clock(u.Since), clock(u.ServeAt), u.Ago, u.Guests)
}

func BenchmarkItalianParse(b *testing.B) {
	p := book(b).Parser("it")
	for name, text := range map[string]string{
		"usual":    "costata 450 g 3 cm al sangue",
		"question": "è sicuro? petto di pollo 3 cm 60 gradi dentro dalle 17:10",
		"misspelt": "2 peti di polo 3 cm congellati",
		"long":     "ciao, vorrei cuocere due controfiletti da 350 grammi l'uno, alti tre centimetri e mezzo, al sangue per cena alle 19:30",
	} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				p.Parse(text)
			}
		})
	}
}

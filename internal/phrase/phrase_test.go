package phrase_test

import (
	"math"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/internal/cook"
	"bagwatch/internal/food"
	"bagwatch/internal/phrase"
	"bagwatch/internal/quantity"
	"bagwatch/locales"
)

func book(t testing.TB) *phrase.Book {
	t.Helper()
	foods, err := food.Load()
	require.NoError(t, err)
	b, err := phrase.Load(locales.FS, foods)
	require.NoError(t, err)
	return b
}

// want builds the expected request.
type want func(*cook.Request)

func request(id food.ID, wants ...want) cook.Request {
	r := cook.Request{Food: id}
	for _, w := range wants {
		w(&r)
	}
	return r
}

func n(pieces int) want { return func(r *cook.Request) { r.Pieces = pieces } }
func g(grams float64) want {
	return func(r *cook.Request) { r.Mass = quantity.Grams(grams) }
}
func oz(ounces float64) want {
	return func(r *cook.Request) { r.Mass = quantity.Ounces(ounces) }
}
func each(r *cook.Request) { r.MassEach = true }
func mm(l float64) want {
	return func(r *cook.Request) { r.Thickness = quantity.Millimetres(l) }
}
func in(l float64) want {
	return func(r *cook.Request) { r.Thickness = quantity.Inches(l) }
}
func about(r *cook.Request) { r.ThicknessVague = true }
func c(t float64) want {
	return func(r *cook.Request) { r.Setpoint, r.HasSetpoint = quantity.Temperature(t), true }
}
func f(t float64) want {
	return func(r *cook.Request) { r.Setpoint, r.HasSetpoint = quantity.FromFahrenheit(t), true }
}
func done(d food.Doneness) want { return func(r *cook.Request) { r.Doneness = d } }
func start(s cook.StartKind) want {
	return func(r *cook.Request) { r.Start = s }
}
func from(t float64) want {
	return func(r *cook.Request) { r.Start, r.StartAt = cook.StartGiven, quantity.Temperature(t) }
}
func span(d time.Duration) want { return func(r *cook.Request) { r.Span = d } }
func atRisk(r *cook.Request)    { r.AtRisk = true }
func nonIntact(r *cook.Request) { r.NonIntact = true }
func cured(r *cook.Request)     { r.Cured = true }
func kept(r *cook.Request)      { r.Pasteurised = true }
func shape(s cook.ShapeOverride) want {
	return func(r *cook.Request) { r.Shape = s }
}

// rounded drops what the order of two multiplications does to the last digits: a nanometre,
// a microgram, a microkelvin.
func rounded(r cook.Request) cook.Request {
	r.Mass = quantity.Mass(math.Round(float64(r.Mass)*1e9) / 1e9)
	r.Thickness = quantity.Length(math.Round(float64(r.Thickness)*1e9) / 1e9)
	r.Setpoint = quantity.Temperature(math.Round(float64(r.Setpoint)*1e6) / 1e6)
	r.StartAt = quantity.Temperature(math.Round(float64(r.StartAt)*1e6) / 1e6)
	return r
}

// message is a line of a table: what is typed and what it has to come to. Whatever is not
// used has to be said, so the unplaced tokens are part of the expectation.
type message struct {
	typed    string
	want     cook.Request
	unplaced []string
}

func check(t *testing.T, p *phrase.Parser, m message) {
	t.Helper()
	u := p.Parse(m.typed)
	require.Nil(t, u.Problem)
	assert.Equal(t, rounded(m.want), rounded(u.Request))
	assert.Equal(t, m.unplaced, texts(u.Unplaced))
}

func texts(tokens []phrase.Token) []string {
	var s []string
	for _, tok := range tokens {
		s = append(s, tok.Text)
	}
	return s
}

const (
	ribeye  = food.ID("beef-ribeye")
	breast  = food.ID("chicken-breast")
	salmon  = food.ID("salmon")
	egg     = food.ID("egg")
	mr      = food.Doneness("medium-rare")
	rare    = food.Doneness("rare")
	medium  = food.Doneness("medium")
	justSet = food.Doneness("just-set")
)

// english are messages as people type them on a phone.
var english = []message{
	// the documented examples
	{"ribeye 450 g 3 cm medium rare", request(ribeye, g(450), mm(30), done(mr)), nil},
	{"ribeye 450g medium rare", request(ribeye, g(450), done(mr)), nil},
	{"chicken breast 30 mm 60C", request(breast, mm(30), c(60)), nil},
	{"ribeye 1in", request(ribeye, in(1)), nil},
	{"2 entrecôtes 3 cm medium rare", request(ribeye, n(2), mm(30), done(mr)), nil},

	// order, case, punctuation
	{"Medium Rare RIBEYE, 3 CM, 450 G", request(ribeye, g(450), mm(30), done(mr)), nil},
	{"3cm ribeye medium-rare", request(ribeye, mm(30), done(mr)), nil},
	{"ribeye;3cm;medium rare.", request(ribeye, mm(30), done(mr)), nil},
	{"ribeye - 3 cm - 450 g", request(ribeye, g(450), mm(30)), nil},
	{"ribeye-3cm-rare", request(ribeye, mm(30), done(rare)), nil},
	{"ribeye\n3 cm\nrare", request(ribeye, mm(30), done(rare)), nil},
	{"(ribeye) [3cm] rare!!!", request(ribeye, mm(30), done(rare)), nil},
	{"hey, could you please cook my ribeye to medium rare? it's 3 cm thick, thanks", request(ribeye, mm(30), done(mr)), nil},
	{"how long for a 3 cm ribeye", request(ribeye, n(1), mm(30)), nil},

	// names: plural, run together, apart, misspelt
	{"ribeyes", request(ribeye), nil},
	{"rib eye", request(ribeye), nil},
	{"rib-eye steak", request(ribeye), nil},
	{"ribeey 3cm", request(ribeye, mm(30)), nil},
	{"ribye", request(ribeye), nil},
	{"chiken breast", request(breast), nil},
	{"chicken brest 3cm", request(breast, mm(30)), nil},
	{"chickn breasts 65C", request(breast, c(65)), nil},
	{"chickenbreast", request(breast), nil},
	{"breast of chicken", request(breast), nil},
	{"samon 2.5 cm", request(salmon, mm(25)), nil},
	{"slamon", request(salmon), nil},
	{"aspargus", request("asparagus"), nil},
	{"tendrloin beef", request("beef-tenderloin"), nil},
	{"medum rare ribeye", request(ribeye, done(mr)), nil},
	{"entrecote", request(ribeye), nil},
	{"ENTRECÔTE", request(ribeye), nil},
	{"tri tip", request("beef-tri-tip"), nil},
	{"tri-tip 5cm", request("beef-tri-tip", mm(50)), nil},
	{"rack of lamb", request("lamb-rack"), nil},
	{"pork chops", request("pork-chop"), nil},
	{"baby carrots", request("carrot"), nil},
	{"ribeye steak", request(ribeye), nil},
	{"chicken, 2 breasts 3 cm", request(breast, n(2), mm(30)), nil},
	{"lamb shank 80C", request("lamb-shank", c(80)), nil},

	// counts
	{"2 ribeyes", request(ribeye, n(2)), nil},
	{"two ribeyes", request(ribeye, n(2)), nil},
	{"ribeye x3", request(ribeye, n(3)), nil},
	{"3x ribeye", request(ribeye, n(3)), nil},
	{"3 x ribeye", request(ribeye, n(3)), nil},
	{"ribeye × 3", request(ribeye, n(3)), nil},
	{"a dozen eggs", request(egg, n(12)), nil},
	{"dozen eggs", request(egg, n(12)), nil},
	{"half a dozen eggs", request(egg, n(6)), nil},
	{"2 dozen eggs", request(egg, n(24)), nil},
	{"24 eggs", request(egg, n(24)), nil},
	{"a pair of ribeyes", request(ribeye, n(2)), nil},
	{"a couple of duck breasts", request("duck-breast", n(2)), nil},
	{"twenty-four eggs", request(egg, n(24)), nil},
	{"a ribeye", request(ribeye, n(1)), nil},
	{"4 pieces of salmon", request(salmon, n(4)), nil},
	{"salmon, 4 pcs", request(salmon, n(4)), nil},
	{"2 frozen salmon fillets", request(salmon, n(2), start(cook.StartFrozen)), nil},
	{"2 medium rare ribeyes", request(ribeye, n(2), done(mr)), nil},
	{"2 big thick ribeyes", request(ribeye, n(2)), nil},
	{"30 shrimp", request("shrimp", n(30)), nil},
	{"60 shrimp at 60C", request("shrimp", n(60), c(60)), nil},

	// masses
	{"ribeye 450g", request(ribeye, g(450)), nil},
	{"ribeye 1.2kg", request(ribeye, g(1200)), nil},
	{"ribeye 1,2 kg", request(ribeye, g(1200)), nil},
	{"brisket 1.250 kg", request("beef-brisket", g(1250)), nil},
	{"ribeye 16 oz", request(ribeye, oz(16)), nil},
	{"ribeye 1 lb", request(ribeye, oz(16)), nil},
	{"ribeye 1lb 4oz", request(ribeye, oz(20)), nil},
	{"ribeye 1 lb 4 oz", request(ribeye, oz(20)), nil},
	{"ribeye 2lbs", request(ribeye, oz(32)), nil},
	{"ribeye 1.5 pounds", request(ribeye, oz(24)), nil},
	{"1 1/2 lb ribeye", request(ribeye, oz(24)), nil},
	{"a pound of shrimp", request("shrimp", oz(16)), nil},
	{"half a pound of shrimp", request("shrimp", oz(8)), nil},
	{"half a kilo of shrimp", request("shrimp", g(500)), nil},
	{"a pound and a half of shrimp", request("shrimp", oz(24)), nil},
	{"two and a half pounds of shrimp", request("shrimp", oz(40)), nil},
	{"three quarters of a pound of shrimp", request("shrimp", oz(12)), nil},
	{"¾ lb shrimp", request("shrimp", oz(12)), nil},
	{"2 x 200 g ribeye", request(ribeye, n(2), g(200), each), nil},
	{"2x200g ribeye", request(ribeye, n(2), g(200), each), nil},
	{"ribeye 200 g x 2", request(ribeye, n(2), g(200), each), nil},
	{"2 ribeyes 8 oz each", request(ribeye, n(2), oz(8), each), nil},
	{"2 ribeyes, each 8 oz", request(ribeye, n(2), oz(8), each), nil},
	{"2 8oz ribeyes", request(ribeye, n(2), oz(8), each), nil},
	{"two 200 g salmon fillets", request(salmon, n(2), g(200), each), nil},
	{"2 ribeyes 900 g total", request(ribeye, n(2), g(900)), nil},
	{"four salmon fillets, 170 g apiece", request(salmon, n(4), g(170), each), nil},
	{"ribeye 450 g (1 lb)", request(ribeye, g(450)), nil},
	{"ribeye 400-500 g", request(ribeye, g(500)), []string{"400"}},
	{"40 kg of shrimp", request("shrimp", g(40000)), nil},

	// thicknesses
	{"ribeye 30 mm", request(ribeye, mm(30)), nil},
	{"ribeye 3cm", request(ribeye, mm(30)), nil},
	{"ribeye 3,5 cm", request(ribeye, mm(35)), nil},
	{"ribeye .5 in", request(ribeye, in(0.5)), nil},
	{`ribeye 1.5"`, request(ribeye, in(1.5)), nil},
	{"ribeye 1.5”", request(ribeye, in(1.5)), nil},
	{"ribeye 1.5''", request(ribeye, in(1.5)), nil},
	{"ribeye 1 1/2 inch", request(ribeye, in(1.5)), nil},
	{`ribeye 1½"`, request(ribeye, in(1.5)), nil},
	{`ribeye 1-1/2"`, request(ribeye, in(1.5)), nil},
	{"ribeye 1 ½ in", request(ribeye, in(1.5)), nil},
	{"ribeye ¾ in", request(ribeye, in(0.75)), nil},
	{"ribeye 3/4 inch", request(ribeye, in(0.75)), nil},
	{"ribeye 1⁄2 inch", request(ribeye, in(0.5)), nil},
	{"ribeye about an inch", request(ribeye, in(1), about), nil},
	{"ribeye an inch and a half", request(ribeye, in(1.5)), nil},
	{"ribeye inch and a half thick", request(ribeye, in(1.5)), nil},
	{"inch thick ribeye", request(ribeye, in(1)), nil},
	{"ribeye half an inch", request(ribeye, in(0.5)), nil},
	{"2-inch ribeye", request(ribeye, in(2)), nil},
	{"ribeye 2 cm thick", request(ribeye, mm(20)), nil},
	{"ribeye thickness: 2 cm", request(ribeye, mm(20)), nil},
	{"ribeye ~3 cm", request(ribeye, mm(30), about), nil},
	{"ribeye approx. 3 cm", request(ribeye, mm(30), about), nil},
	{"ribeye 3ish cm", request(ribeye, mm(30), about), nil},
	{"ribeye 3 cm or so", request(ribeye, mm(30), about), nil},
	{"ribeye 2-3 cm", request(ribeye, mm(30), about), nil},
	{"ribeye 2–3cm", request(ribeye, mm(30), about), nil},
	{"ribeye 2 to 3 cm", request(ribeye, mm(30), about), nil},
	{"ribeye 2cm to 3cm", request(ribeye, mm(30), about), nil},
	{"ribeye between 2 and 3 cm", request(ribeye, mm(30), about), nil},
	{"ribeye 25 mm (1 in)", request(ribeye, mm(25)), nil},
	{"ribeye 3 cm thick, 20 cm long", request(ribeye, mm(30)), []string{"20 cm"}},
	{"ribeye 3 x 8 x 20 cm", request(ribeye, mm(30)), []string{"8", "20 cm"}},
	{"2 3cm ribeyes", request(ribeye, n(2), mm(30)), nil},
	{"ribeye ３ｃｍ", request(ribeye, mm(30)), nil},
	{"ribeye three centimeters", request(ribeye, mm(30)), nil},

	// setpoints
	{"ribeye 140F", request(ribeye, f(140)), nil},
	{"ribeye 140 °F", request(ribeye, f(140)), nil},
	{"ribeye 60 °C", request(ribeye, c(60)), nil},
	{"ribeye 60ºC", request(ribeye, c(60)), nil},
	{"ribeye 60℃", request(ribeye, c(60)), nil},
	{"ribeye 60C", request(ribeye, c(60)), nil},
	{"ribeye 60 degrees", request(ribeye, c(60)), nil},
	{"ribeye 60°", request(ribeye, c(60)), nil},
	{"ribeye 140 degrees", request(ribeye, f(140)), nil},
	{"ribeye 140 degrees F", request(ribeye, f(140)), nil},
	{"ribeye at 60", request(ribeye, c(60)), nil},
	{"ribeye @60", request(ribeye, c(60)), nil},
	{"ribeye at 140", request(ribeye, f(140)), nil},
	{"ribeye 54.5", request(ribeye, c(54.5)), nil},
	{"ribeye 54,5", request(ribeye, c(54.5)), nil},
	{"ribeye 131", request(ribeye, f(131)), nil},
	{"54.5 ribeye", request(ribeye, c(54.5)), nil},
	{"ribeye a hundred and forty degrees", request(ribeye, f(140)), nil},
	{"ribeye fifty-five degrees", request(ribeye, c(55)), nil},
	{"ribeye 60 °C (140 °F)", request(ribeye, c(60)), nil},
	{"ribeye 140F/60C", request(ribeye, f(140)), nil},
	{"ribeye 54-56C", request(ribeye, c(54)), []string{"56C"}},
	{"steak at 40C for 3 days", request(ribeye, c(40), span(72*time.Hour)), nil},
	{"eggs 63 degrees", request(egg, c(63)), nil},

	// doneness
	{"salmon just set", request(salmon, done(justSet)), nil},
	{"salmon 50 just set", request(salmon, c(50), done(justSet)), nil},
	{"well done ribeye", request(ribeye, done("well-done")), nil},
	{"ribeye medium well", request(ribeye, done("medium-well")), nil},
	{"MR ribeye", request(ribeye, done(mr)), nil},
	{"custard eggs", request(egg, done("custard")), nil},
	{"6 eggs soft yolk", request(egg, n(6), done("custard")), nil},
	{"hard boiled eggs", request(egg, done("set")), nil},
	{"ribeye, not too rare", request(ribeye), nil},
	{"ribeye rare or medium rare", request(ribeye, done(rare)), []string{"medium rare"}},
	{"salmon medium rare", request(salmon), []string{"medium rare"}},

	// start states
	{"ribeye from frozen", request(ribeye, start(cook.StartFrozen)), nil},
	{"frozen ribeye", request(ribeye, start(cook.StartFrozen)), nil},
	{"ribeye straight from the freezer", request(ribeye, start(cook.StartFrozen)), []string{"straight"}},
	{"ribeye from the fridge", request(ribeye, start(cook.StartFridge)), nil},
	{"ribeye at room temperature", request(ribeye, start(cook.StartRoom)), nil},
	{"ribeye from 12 °C", request(ribeye, from(12)), nil},
	{"ribeye from 12", request(ribeye, from(12)), nil},
	{"ribeye at 8C start", request(ribeye, from(8)), nil},
	{"ribeye starting at 10 C, 55C", request(ribeye, from(10), c(55)), nil},
	{"ribeye frozen -18C", request(ribeye, from(-18)), nil},
	{"ribeye from -18 °C", request(ribeye, from(-18)), nil},
	{"ribeye from minus 20", request(ribeye, from(-20)), nil},
	{"ribeye not frozen", request(ribeye), nil},

	// people and treatments
	{"ribeye for grandma", request(ribeye, atRisk), nil},
	{"salmon for my pregnant wife", request(salmon, atRisk), nil},
	{"salmon for a pregnent friend", request(salmon, atRisk), nil},
	{"ribeye, grandma's birthday", request(ribeye, atRisk), nil},
	{"chicken breast for the baby", request(breast, atRisk), nil},
	{"ribeye, nobody pregnant", request(ribeye), nil},
	{"eggs for immune compromised guests", request(egg, atRisk), []string{"compromised"}},
	{"ribeye mechanically tenderized", request(ribeye, nonIntact), nil},
	{"tenderised ribeye 3cm", request(ribeye, nonIntact, mm(30)), nil},
	{"rolled pork belly", request("pork-belly", nonIntact), nil},
	{"stuffed chicken breast", request(breast, nonIntact), nil},
	{"brined chicken breast", request(breast, cured), nil},
	{"dry-brined ribeye", request(ribeye, cured), nil},
	{"salmon pasteurised", request(salmon, kept), nil},
	{"salmon, not pasteurised", request(salmon), nil},
	{"ribeye in one block", request(ribeye, shape(cook.ShapeBlock)), nil},
	{"pork tenderloin cylinder 55 mm", request("pork-tenderloin", shape(cook.ShapeCylinder), mm(55)), nil},

	// spans
	{"ribeye for 2 h", request(ribeye, span(2*time.Hour)), nil},
	{"chuck roast 57C 72h", request("beef-chuck-roast", c(57), span(72*time.Hour)), nil},
	{"ribeye 90 min", request(ribeye, span(90*time.Minute)), nil},
	{"ribeye 1 h 30", request(ribeye, span(90*time.Minute)), nil},
	{"ribeye 1h30", request(ribeye, span(90*time.Minute)), nil},
	{"ribeye 1h30m", request(ribeye, span(90*time.Minute)), nil},
	{"ribeye 1 hr 15 min", request(ribeye, span(75*time.Minute)), nil},
	{"ribeye 1:30 h", request(ribeye, span(90*time.Minute)), nil},
	{"ribeye an hour and a half", request(ribeye, span(90*time.Minute)), nil},
	{"ribeye two and a half hours", request(ribeye, span(150*time.Minute)), nil},
	{"ribeye half an hour", request(ribeye, span(30*time.Minute)), nil},
	{"chuck roast for two days", request("beef-chuck-roast", span(48*time.Hour)), nil},
	{"ribeye 2h 55C", request(ribeye, c(55), span(2*time.Hour)), nil},
	{"ribeye 2-3 h", request(ribeye, span(2*time.Hour)), []string{"3 h"}},

	// not placed, and said
	{"ribeye 450", request(ribeye), []string{"450"}},
	{"ribeye 6", request(ribeye), []string{"6"}},
	{"ribeye 1,200 g", request(ribeye), []string{"1,200 g"}},
	{"ribeye 1.200,5 g", request(ribeye), []string{"1.200,5 g"}},
	{"ribeye flibbertigibbet 3 cm", request(ribeye, mm(30)), []string{"flibbertigibbet"}},
	{"ribeye and asparagus", request(ribeye), []string{"asparagus"}},
	{"ribeye 3 cm sear 60 s a side", request(ribeye, mm(30)), []string{"60 s"}},
	{"ribeye 3% salt", request(ribeye), []string{"3"}},
	{"ribeye dinner at half 7", request(ribeye), []string{"half", "7"}},

	{"striploin a5 2cm", request("beef-strip-steak", mm(20)), []string{"5"}},
	{"haddock fillets 2 @ 150g", request("haddock", n(2), g(150), each), nil},
	{"salmon 125g portions x4", request(salmon, n(4), g(125), each), nil},
	{"2 ribeyes (450g and 500g)", request(ribeye, n(2), g(500), each), []string{"450g"}},
	{"30mm ribeye medium, sear in butter 1 min per side", request(ribeye, mm(30), done(medium)), []string{"1 min"}},
	{"put in 2 ribeyes 20 minutes ago at 56", request(ribeye, n(2), c(56)), nil},
	{"lemon chicken breast 65C", request(breast, c(65)), []string{"lemon"}},

	// dirt
	{"\u200fribeye\u200b 3\u00a0cm\ufeff", request(ribeye, mm(30)), nil},
	{"🥩 ribeye 🔥 3 cm 👍🏽", request(ribeye, mm(30)), nil},
	{"ribeye 2️⃣ cm", request(ribeye, mm(20)), nil},
	{"/cook ribeye 3 cm", request(ribeye, mm(30)), nil},
}

func TestEnglishMessagesAreUnderstood(t *testing.T) {
	p := book(t).Parser("en")
	for _, m := range english {
		t.Run(m.typed, func(t *testing.T) { check(t, p, m) })
	}
	assert.GreaterOrEqual(t, len(english), 120)
}

func TestVagueWordsTakeTheLikeliestFoodAndNameTheOthers(t *testing.T) {
	p := book(t).Parser("en")

	u := p.Parse("steak 3 cm")
	assert.Equal(t, ribeye, u.Food.ID)
	assert.True(t, u.Food.Vague)
	assert.Contains(t, u.Food.Alternatives, food.ID("beef-strip-steak"))
	assert.NotContains(t, u.Food.Alternatives, ribeye)

	u = p.Parse("beef, fork tender")
	assert.Equal(t, food.Doneness("fork-tender"), u.Request.Doneness, "the beef that can be fork tender")
	assert.NotEqual(t, ribeye, u.Request.Food)
	assert.Equal(t, u.Request.Food, u.Food.ID)
	assert.Contains(t, u.Food.Alternatives, ribeye)

	u = p.Parse("duck leg")
	assert.False(t, u.Food.Vague)
	assert.Equal(t, food.ID("duck-leg"), u.Food.ID)

	u = p.Parse("chicken 3 cm, breast")
	assert.Equal(t, breast, u.Food.ID, "two vague words leave one food")
	assert.False(t, u.Food.Vague)
	assert.Empty(t, u.Food.Alternatives)
}

func TestFoodIsReportedAsTyped(t *testing.T) {
	p := book(t).Parser("en")
	u := p.Parse("2 Chiken BREASTS 3cm")
	assert.Equal(t, "Chiken BREASTS", u.Food.Typed)
	assert.True(t, u.Food.Corrected)
	assert.False(t, p.Parse("chicken breasts").Food.Corrected)
}

func TestRefusedFoodsAreNamedAndNeverTakenForNeighbours(t *testing.T) {
	p := book(t).Parser("en")
	for typed, id := range map[string]string{
		"liver 3 cm":          "liver",
		"chicken liver 65C":   "liver",
		"musels":              "mussel",
		"wild boar chop 60C":  "wild-boar",
		"rabit leg":           "rabbit",
		"garlic in oil 80 C":  "garlic-in-oil",
		"ribeye with oysters": "oyster",
	} {
		t.Run(typed, func(t *testing.T) {
			u := p.Parse(typed)
			assert.Equal(t, id, u.RefusedFood)
			assert.NotEmpty(t, u.RefusedTyped)
			assert.Nil(t, u.Problem)
		})
	}
}

func TestCorrectionStopsWhereItWouldGuess(t *testing.T) {
	p := book(t).Parser("en")
	for typed, why := range map[string]string{
		"code":  "cod is too short to be corrected to",
		"fork":  "pork begins with another letter",
		"cak":   "three letters",
		"beaf":  "beef and bear are equally near",
		"gost":  "goat is not in the catalogue and nothing else is near",
		"trxxt": "two letters off in five",
	} {
		t.Run(why, func(t *testing.T) {
			u := p.Parse(typed)
			assert.Empty(t, u.Food.ID)
			assert.Empty(t, u.RefusedFood)
			require.NotNil(t, u.Problem)
			assert.Equal(t, phrase.ProblemNoFood, u.Problem.ID)
		})
	}
	assert.Contains(t, p.Parse("balmon").Problem.Suggestions, salmon, "what is not corrected is suggested")
	assert.Contains(t, p.Parse("code").Problem.Suggestions, food.ID("cod"))
}

func TestACutOfAnUnknownAnimalIsNoFood(t *testing.T) {
	p := book(t).Parser("en")
	for typed, cut := range map[string]string{
		"yak shoulder 75C":       "yak shoulder",
		"leg of koala 60C":       "leg of koala",
		"2 giraffe steaks, 3 cm": "giraffe steaks",
		"ghost fish 50C":         "ghost fish",
	} {
		t.Run(typed, func(t *testing.T) {
			u := p.Parse(typed)
			assert.Empty(t, u.Request.Food)
			require.NotNil(t, u.Problem)
			assert.Equal(t, phrase.ProblemNoFood, u.Problem.ID)
			assert.Equal(t, cut, u.Problem.Typed)
			assert.NotEmpty(t, u.Problem.Suggestions)
		})
	}
	assert.Equal(t, breast, p.Parse("lemon chicken").Request.Food, "the animal is known")

	for typed, want := range map[string]string{
		"catfish 2 cm":       "catfish", // codfish is two letters off
		"shark 50C":          "shark",   // and shank one
		"bison ribeye 3 cm":  "bison ribeye",
		"goat shoulder 75C":  "goat shoulder",
		"leg of goat 75C":    "leg of goat",
		"tilapia, fish, 3cm": "tilapia",
		"tofu 80":            "tofu",
	} {
		t.Run(typed, func(t *testing.T) {
			u := p.Parse(typed)
			assert.Empty(t, u.Request.Food)
			require.NotNil(t, u.Problem)
			assert.Equal(t, phrase.ProblemUnlisted, u.Problem.ID)
			assert.Equal(t, want, u.Problem.Typed)
		})
	}
	assert.Equal(t, breast, p.Parse("chicken breast with mushrooms").Request.Food, "a side dish")
}

func TestProblemsSayWhatIsWrong(t *testing.T) {
	p := book(t).Parser("en")
	for typed, want := range map[string]phrase.Problem{
		"asdf":                       {ID: phrase.ProblemNoFood, Typed: "asdf"},
		"":                           {ID: phrase.ProblemEmpty},
		" \n\t\u200b ":               {ID: phrase.ProblemEmpty},
		"🥩":                          {ID: phrase.ProblemEmpty},
		strings.Repeat("a", 10_000):  {ID: phrase.ProblemTooLong, Count: 500},
		strings.Repeat("ä", 501):     {ID: phrase.ProblemTooLong, Count: 500},
		"steak 5000 C":               {ID: phrase.ProblemTemperature, Typed: "5000 C", Temperature: 5000},
		"steak at 120C":              {ID: phrase.ProblemTemperature, Typed: "120C", Temperature: 120},
		"steak -5 C":                 {ID: phrase.ProblemTemperature, Typed: "-5 C", Temperature: -5},
		"steak -3 cm":                {ID: phrase.ProblemNotPositive, Typed: "-3 cm"},
		"steak −3 cm":                {ID: phrase.ProblemNotPositive, Typed: "−3 cm"},
		"steak minus 3 cm":           {ID: phrase.ProblemNotPositive, Typed: "minus 3 cm"},
		"steak 0 cm":                 {ID: phrase.ProblemNotPositive, Typed: "0 cm"},
		"steak 0 g":                  {ID: phrase.ProblemNotPositive, Typed: "0 g"},
		"0 eggs":                     {ID: phrase.ProblemNotPositive, Typed: "0"},
		"-2 eggs":                    {ID: phrase.ProblemNotPositive, Typed: "-2"},
		"ribeye 54C or 60C":          {ID: phrase.ProblemTwoSetpoint, Typed: "54C", Other: "60C", Temperature: 60},
		"ribeye 50C rare, then 70 C": {ID: phrase.ProblemTwoSetpoint, Typed: "50C", Other: "70 C", Temperature: 70},
		"ribeye 5000 kg":             {ID: phrase.ProblemTooMuch, Typed: "5000 kg"},
		"ribeye 20000 mm":            {ID: phrase.ProblemTooMuch, Typed: "20000 mm"},
		"ribeye for 300 days":        {ID: phrase.ProblemTooMuch, Typed: "300 days"},
		"3 cm medium rare":           {ID: phrase.ProblemNoFood},
	} {
		t.Run(typed[:min(len(typed), 30)], func(t *testing.T) {
			u := p.Parse(typed)
			require.NotNil(t, u.Problem)
			assert.Equal(t, want, *u.Problem)
		})
	}
	assert.Nil(t, p.Parse("ribeye "+strings.Repeat("ä", 493)).Problem, "500 runes are read, however many bytes")
}

func TestTooLongMessagesAreNotReadAtAll(t *testing.T) {
	u := book(t).Parser("en").Parse("ribeye 3 cm " + strings.Repeat("x", 10_000))
	assert.Equal(t, cook.Request{}, u.Request)
	assert.Empty(t, u.Unplaced)
}

func TestClockTimesAndIntents(t *testing.T) {
	p := book(t).Parser("en")
	at := func(h, m int) *phrase.ClockTime { return &phrase.ClockTime{Hour: h, Minute: m} }
	either := func(h, m int) *phrase.ClockTime { return &phrase.ClockTime{Hour: h, Minute: m, Either: true} }
	for typed, want := range map[string]phrase.Understood{
		"safe? chicken breast 30 mm 60C in since 17:10": {Intent: phrase.IntentSafe, Question: true, Since: at(17, 10)},
		"chicken breast in since 5pm":                   {Since: at(17, 0)},
		"chicken breast went in at 5:30 pm":             {Since: at(17, 30)},
		"chicken breast went in 17.10":                  {Since: at(17, 10)},
		"chicken breast since 1710":                     {Since: at(17, 10)},
		"chicken breast started at 7":                   {Since: either(7, 0)},
		"chicken breast in since 07:05":                 {Since: at(7, 5)},
		"chicken breast in 17:10":                       {Since: at(17, 10)},
		"start chicken breast at 17:10":                 {Intent: phrase.IntentStart, Since: at(17, 10)},
		"chicken breast for dinner at 19:30":            {Intent: phrase.IntentDinner, ServeAt: at(19, 30)},
		"chicken breast ready by 7pm":                   {ServeAt: at(19, 0)},
		"chicken breast ready at 19:30":                 {ServeAt: at(19, 30)},
		"chicken breast at 19:30":                       {ServeAt: at(19, 30)},
		"chicken breast for 8 o'clock":                  {ServeAt: either(8, 0)},
		"chicken breast by noon":                        {ServeAt: at(12, 0)},
		"chicken breast by midnight":                    {ServeAt: at(0, 0)},
		"chicken breast 12 am, lunch at 12 p.m.":        {ServeAt: at(12, 0)},
		"chicken breast 20 min ago":                     {Ago: 20 * time.Minute},
		"chicken breast dropped in half an hour ago":    {Ago: 30 * time.Minute},
		"chicken breast dinner in 2 hours":              {Intent: phrase.IntentDinner, ServeIn: 2 * time.Hour},
		"chicken breast for 4 people":                   {Guests: 4},
		"is the chicken breast ready?":                  {Intent: phrase.IntentReady, Question: true},
		"how long for chicken breast":                   {Intent: phrase.IntentAsk},
		"bags":                                          {Intent: phrase.IntentBags},
		"help":                                          {Intent: phrase.IntentHelp},
		"ready?":                                        {Intent: phrase.IntentReady, Question: true},
	} {
		t.Run(typed, func(t *testing.T) {
			u := p.Parse(typed)
			assert.Nil(t, u.Problem)
			assert.Equal(t, want.Since, u.Since, "since")
			assert.Equal(t, want.ServeAt, u.ServeAt, "serve at")
			assert.Equal(t, want.Ago, u.Ago, "ago")
			assert.Equal(t, want.ServeIn, u.ServeIn, "serve in")
			assert.Equal(t, want.Guests, u.Guests, "guests")
			assert.Equal(t, want.Intent, u.Intent, "intent")
			assert.Equal(t, want.Question, u.Question, "question")
			assert.False(t, u.Request.HasSetpoint && u.Request.Setpoint != 60, "no clock time is a setpoint")
		})
	}
	u := p.Parse("ribeye 3 cm 19:30")
	assert.Equal(t, []phrase.Token{{Text: "19:30", Why: phrase.WhyClock}}, u.Unplaced, "nothing says what happens then")
}

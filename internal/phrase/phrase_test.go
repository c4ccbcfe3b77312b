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
		"gnuu":  "nothing is near",
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

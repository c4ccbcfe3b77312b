package phrase_test

import (
	"bufio"
	"fmt"
	"os"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/internal/cook"
	"bagwatch/internal/food"
	"bagwatch/internal/phrase"
	"bagwatch/internal/quantity"
)

// spanish are messages in a Spanish chat, of Spain and of Latin America, English and French words among them.
var spanish = []message{
	// foods by their regional names
	{"2 entrecôtes 3 cm medium rare", request(ribeye, n(2), mm(30), done(mr)), nil},
	{"Chuletón 1 kg 5 cm poco hecho", request(ribeye, g(1000), mm(50), done(rare)), nil},
	{"ojo de bife 3cm jugoso", request(ribeye, mm(30), done(mr)), nil},
	{"lomo vetado 4 cm a punto", request(ribeye, mm(40), done(medium)), nil},
	{"2 bifes de chorizo, cada uno de 400 g", request("beef-strip-steak", n(2), g(400), each), nil},
	{"lomo liso 3 cm", request("beef-strip-steak", mm(30)), nil},
	{"solomillo de ternera 200 gramos", request("beef-tenderloin", g(200)), nil},
	{"vacío 2 cm bien cocido", request("beef-flank", mm(20), done("well-done")), nil},
	{"arrachera término medio", request("beef-skirt", done(medium)), nil},
	{"arrachera 3/4 pulgada, tres cuartos", request("beef-skirt", in(0.75), done("medium-well")), nil},
	{"picaña jugosa", request("beef-sirloin", done(mr)), nil},
	{"picaña al punto", request("beef-sirloin", done(medium)), nil},
	{"colita de cuadril 5 cm", request("beef-tri-tip", mm(50)), nil},
	{"tira de asado 57 °C 48 h", request("beef-short-rib", c(57), span(48*time.Hour)), nil},
	{"carrilleras de ternera que se deshagan", request("beef-cheek", done("falling-apart")), nil},
	{"hamburguesas de res 2 cm bien cocidas", request("beef-patty", mm(20), done("well-done")), nil},
	{"paletilla de cordero 80ºC", request("lamb-shoulder", c(80)), nil},
	{"costillar de cordero 4 a 5 cm rosado", request("lamb-rack", mm(50), about, done(mr)), nil},
	{"bondiola de cerdo para desmenuzar", request("pork-shoulder", done("falling-apart")), nil},
	{"costillas de puerco deshebradas", request("pork-ribs", done("falling-apart")), nil},
	{"contramuslos de pollo 74", request("chicken-thigh", c(74)), nil},
	{"magret de pato al punto menos", request("duck-breast", done(mr)), nil},
	{"huachinango 2 cm", request("snapper", mm(20)), nil},
	{"medio kilo de camarones", request("shrimp", g(500)), nil},
	{"gambas 1/2 kg", request("shrimp", g(500)), nil},
	{"papas 85 grados", request("potato", c(85)), nil},
	{"patatas nuevas tiernas", request("potato", done("tender")), nil},
	{"camote 4 cm", request("sweet-potato", mm(40)), nil},
	{"ejotes al dente", request("green-bean", done("firm")), nil},
	{"judías verdes crujientes", request("green-bean", done("firm")), nil},
	{"choclo 85 °C", request("corn", c(85)), nil},

	// amounts: decimal comma, number words, fractions, each or together
	{"Salmón 2,5 cm nacarado", request(salmon, mm(25), done(justSet)), nil},
	{"SALMON 170 GR", request(salmon, g(170)), nil},
	{"kilo y medio de paletilla de cerdo a 74", request("pork-shoulder", g(1500), c(74)), nil},
	{"dos kilos y medio de pulpo", request("octopus", g(2500)), nil},
	{"un cuarto de kilo de vieiras", request("scallop", g(250)), nil},
	{"tres cuartos de kilo de gambas", request("shrimp", g(750)), nil},
	{"doscientos cincuenta gramos de atún", request("tuna", g(250)), nil},
	{"entrecot de tres centímetros y medio", request(ribeye, mm(35)), nil},
	{"ribeye pulgada y media", request(ribeye, in(1.5)), nil},
	{"ribeye de una pulgada y cuarto de grosor", request(ribeye, in(1.25)), nil},
	{"una docena de huevos de yema cremosa", request(egg, n(12), done("custard")), nil},
	{"media docena de huevos duros", request(egg, n(6), done("set")), nil},
	{"seis huevos, duros", request(egg, n(6), done("set")), nil},
	{"2 pechugas de pollo de 180 g cada una", request(breast, n(2), g(180), each), nil},
	{"4 pechugas de pollo 200g c/u", request(breast, n(4), g(200), each), nil},
	{"3 uds de salmón, 150 g por pieza", request(salmon, n(3), g(150), each), nil},
	{"dos lomos de merluza, 360 g en total", request("hake", n(2), g(360)), nil},
	{"unos 3 cm de entrecot", request(ribeye, mm(30), about), nil},
	{"bacalao entre 2 y 3 cm", request("cod", mm(30), about), nil},
	{"un lomo de atún de 4 cm más o menos", request("tuna", n(1), mm(40), about), nil},
	{"2 libras de camarones", request("shrimp", oz(32)), nil},
	{"entrecot 20 cm de largo, 3 cm de grosor", request(ribeye, mm(30)), []string{"20 cm"}},

	// temperatures and spans
	{"pechuga de pollo a 63 grados", request(breast, c(63)), nil},
	{"pechuga de pollo a sesenta y tres grados", request(breast, c(63)), nil},
	{"entrecot a 54,5", request(ribeye, c(54.5)), nil},
	{"entraña 131 F", request("beef-skirt", f(131)), nil},
	{"carrillera de ternera 57 grados dos días", request("beef-cheek", c(57), span(48*time.Hour)), nil},
	{"muslos de pollo hora y media", request("chicken-leg", span(90*time.Minute)), nil},
	{"lomo de cerdo 60°C durante 2 horas", request("pork-loin-roast", c(60), span(2*time.Hour)), nil},
	{"zanahorias 85 grados centígrados 45 min", request("carrot", c(85), span(45*time.Minute)), nil},

	// start, guests, treatment
	{"entrecot congelado 3 cm", request(ribeye, mm(30), start(cook.StartFrozen)), nil},
	{"salmón recién sacado del congelador", request(salmon, start(cook.StartFrozen)), []string{"recién"}},
	{"salmón de la nevera", request(salmon, start(cook.StartFridge)), nil},
	{"salmón de la heladera", request(salmon, start(cook.StartFridge)), nil},
	{"entrecot a temperatura ambiente", request(ribeye, start(cook.StartRoom)), nil},
	{"entrecot no congelado", request(ribeye), nil},
	{"entrecot sin congelar", request(ribeye), nil},
	{"atún sellado 3 cm", request("tuna", mm(30)), nil},
	{"salmón desde 12 °C", request(salmon, from(12)), nil},
	{"pechuga de pollo para la abuela", request(breast, atRisk), nil},
	{"pechuga de pollo para mi mujer, que está embarazada", request(breast, atRisk), nil},
	{"pechuga de pollo, nadie está embarazada", request(breast), nil},
	{"salmón para los niños", request(salmon, atRisk), nil},
	{"pechuga de pollo rellena 4 cm", request(breast, mm(40), nonIntact), nil},
	{"chuletas de cerdo en salmuera", request("pork-chop", cured), nil},
	{"salmón pasteurizado", request(salmon, kept), nil},

	// as typed: no accents, slips, chatter, mixed languages
	{"hola! quiero hacer un entrecot de 3 cm, lo quiero poco hecho, gracias", request(ribeye, n(1), mm(30), done(rare)), nil},
	{"pechga de pollo 3cm", request(breast, mm(30)), nil},
	{"salmom 2cm", request(salmon, mm(20)), nil},
	{"esparagos verdes 12mm", request("asparagus", mm(12)), nil},
	{"entrecot poco echo", request(ribeye, done(rare)), nil},
	{"ribeye 1in término medio", request(ribeye, in(1), done(medium)), nil},
	{"pollo pechuga 3 cm del freezer", request(breast, mm(30), start(cook.StartFrozen)), nil},
	{"chicken breast 3 cm congelada", request(breast, mm(30), start(cook.StartFrozen)), nil},
	{"pechuga de pollo con champiñones 3 cm", request(breast, mm(30)), []string{"champiñones"}},
	{"¿cuánto tiempo el salmón de 3 cm?", request(salmon, mm(30)), nil},
}

func TestSpanishMessagesAreUnderstood(t *testing.T) {
	p := book(t).Parser("es-MX")
	for _, m := range spanish {
		t.Run(m.typed, func(t *testing.T) { check(t, p, m) })
	}
	assert.GreaterOrEqual(t, len(spanish), 60)
}

func TestEnglishStaysUnderstoodInASpanishChat(t *testing.T) {
	p := book(t).Parser("es")
	for _, m := range english {
		if m.typed == "striploin a5 2cm" {
			continue // in Spanish the a before a number is "at"
		}
		t.Run(m.typed, func(t *testing.T) {
			u := p.Parse(m.typed)
			require.Nil(t, u.Problem)
			assert.Equal(t, rounded(m.want), rounded(u.Request))
		})
	}
}

// Words that mean another animal, or a cut of another animal, are not taken for the nearest one that is known.
func TestSpanishNeighboursAreNotTaken(t *testing.T) {
	p := book(t).Parser("es")
	for _, typed := range []string{
		"dorada 2 cm", "corvina 2 cm", "filete de lenguado 2 cm", "pierna de cabrito 75", "carrilleras ibéricas 80", "secreto ibérico 2 cm",
		"osobuco 80 grados", "rabo de toro 80", "bonito 3 cm", "codillo de cerdo 75", "lomo de canguro 55", "flan",
	} {
		t.Run(typed, func(t *testing.T) {
			u := p.Parse(typed)
			assert.Empty(t, u.Request.Food)
			assert.NotNil(t, u.Problem)
		})
	}
}

func TestSpanishRefusedFoodsAreNamed(t *testing.T) {
	p := book(t).Parser("es")
	for typed, id := range map[string]string{
		"mejillones":                "mussel",
		"ostiones 60 grados":        "oyster",
		"hígado de pollo 65":        "liver",
		"higaditos":                 "liver",
		"conejo 3 cm":               "rabbit",
		"lomo de ciervo 55 grados":  "wild-venison",
		"jabali 60":                 "wild-boar",
		"ajo confitado 85":          "garlic-confit",
		"frijoles":                  "dried-bean",
		"habichuelas 85 grados":     "dried-bean",
		"yogurt 43 grados":          "yoghurt",
		"chorizo":                   "cured-meat",
		"panceta ahumada 2 cm":      "cured-meat",
		"bacalao desalado 2 cm":     "cured-meat",
		"pollo entero 1,5 kg":       "whole-bird",
		"pechuga de pichón 2 cm":    "game-bird",
		"chuletas de cerdo adobada": "",
	} {
		t.Run(typed, func(t *testing.T) { assert.Equal(t, id, p.Parse(typed).RefusedFood) })
	}
	// A game bird's eggs, and what only shares a word with a refused food, are something else.
	assert.Empty(t, p.Parse("huevos de codorniz").RefusedFood)
	assert.Empty(t, p.Parse("corazones de alcachofa").RefusedFood)
	assert.Empty(t, p.Parse("callo de hacha 2 cm").RefusedFood)
	assert.Empty(t, p.Parse("entrecot 55 grados en el corazón").RefusedFood)
}

func TestSpanishClockTimes(t *testing.T) {
	p := book(t).Parser("es")
	for typed, want := range map[string]phrase.Understood{
		"¿es segura? pechuga de pollo 3 cm 60 grados dentro desde las 17:10": {Intent: phrase.IntentSafe, Question: true, Since: &phrase.ClockTime{Hour: 17, Minute: 10}},
		"pechuga de pollo metida a las 17.10":                                {Since: &phrase.ClockTime{Hour: 17, Minute: 10}},
		"pechuga de pollo, la metí a las 5 de la tarde":                      {Since: &phrase.ClockTime{Hour: 17}},
		"pechuga de pollo desde las 17h10":                                   {Since: &phrase.ClockTime{Hour: 17, Minute: 10}},
		"pechuga de pollo para cenar a las 19:30":                            {Intent: phrase.IntentDinner, ServeAt: &phrase.ClockTime{Hour: 19, Minute: 30}},
		"pechuga de pollo para las 21:30":                                    {ServeAt: &phrase.ClockTime{Hour: 21, Minute: 30}},
		"pechuga de pollo para comer a las 2":                                {ServeAt: &phrase.ClockTime{Hour: 2, Either: true}},
		"pechuga de pollo hace 20 minutos":                                   {Ago: 20 * time.Minute},
		"pechuga de pollo desde hace media hora":                             {Ago: 30 * time.Minute},
		"pechuga de pollo, cena en 2 horas":                                  {Intent: phrase.IntentDinner, ServeIn: 2 * time.Hour},
		"pechuga de pollo para 4 personas":                                   {Guests: 4},
		"cuánto tiempo pechuga de pollo":                                     {Intent: phrase.IntentAsk},
		"¿está lista la pechuga de pollo?":                                   {Intent: phrase.IntentReady, Question: true},
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

// spanishUnseenFloor is how many of the forty messages nobody tuned for have to be understood. 35 were
// on the first and only run; one is left for what words of further languages may change.
const spanishUnseenFloor = 34

// The list was written before the vocabulary; what it misses is logged, not tuned for.
func TestSpanishUnseenMessages(t *testing.T) {
	file, err := os.Open("testdata/unseen_es.txt")
	require.NoError(t, err)
	defer file.Close()
	p := book(t).Parser("es")
	right, all := 0, 0
	for s := bufio.NewScanner(file); s.Scan(); {
		typed, want, ok := strings.Cut(s.Text(), " => ")
		if strings.HasPrefix(s.Text(), "#") || !ok {
			continue
		}
		all++
		u := p.Parse(typed)
		if got := spanishOutcome(u); got == spanishOutcome(unseenWanted(t, want)) {
			right++
		} else {
			t.Logf("%q: %s, not %s", typed, got, want)
		}
	}
	t.Logf("%d of %d unseen messages understood", right, all)
	assert.Equal(t, 40, all)
	assert.GreaterOrEqual(t, right, spanishUnseenFloor)
}

// unseenWanted reads the right side of a line of a list of unseen messages; the heads of the lists say the fields.
func unseenWanted(t *testing.T, line string) (u phrase.Understood) {
	t.Helper()
	r := &u.Request
	clock := func(s string) *phrase.ClockTime {
		at, err := time.Parse("15:04", s)
		require.NoError(t, err, line)
		return &phrase.ClockTime{Hour: at.Hour(), Minute: at.Minute()}
	}
	for field := range strings.SplitSeq(line, ", ") {
		key, value, _ := strings.Cut(field, "=")
		number, _ := strconv.ParseFloat(value, 64)
		switch key {
		case "food":
			r.Food = food.ID(value)
		case "pieces":
			r.Pieces = int(number)
		case "mass_g":
			r.Mass = quantity.Grams(number)
		case "each":
			r.MassEach = true
		case "thickness_mm":
			r.Thickness = quantity.Millimetres(number)
		case "about":
			r.ThicknessVague = true
		case "setpoint_c":
			r.Setpoint, r.HasSetpoint = quantity.Temperature(number), true
		case "setpoint_f":
			r.Setpoint, r.HasSetpoint = quantity.FromFahrenheit(number), true
		case "doneness":
			r.Doneness = food.Doneness(value)
		case "start":
			r.Start = cook.StartKind(value)
		case "start_c":
			r.Start, r.StartAt = cook.StartGiven, quantity.Temperature(number)
		case "span_min":
			r.Span = time.Duration(number) * time.Minute
		case "at_risk":
			r.AtRisk = true
		case "non_intact":
			r.NonIntact = true
		case "cured":
			r.Cured = true
		case "pasteurised":
			r.Pasteurised = true
		case "refused":
			u.RefusedFood = value
		case "intent":
			u.Intent = phrase.Intent(value)
		case "since":
			u.Since = clock(value)
		case "serve":
			u.ServeAt = clock(value)
		case "ago_min":
			u.Ago = time.Duration(number) * time.Minute
		case "guests":
			u.Guests = int(number)
		default:
			require.Fail(t, "no such field", "%q in %q", key, line)
		}
	}
	return u
}

// spanishOutcome is what the list compares of a message that was read.
func spanishOutcome(u phrase.Understood) string {
	clock := func(c *phrase.ClockTime) string {
		if c == nil {
			return "-"
		}
		return fmt.Sprintf("%02d:%02d", c.Hour, c.Minute)
	}
	return fmt.Sprintf("%+v refused %q since %s serve %s ago %s guests %d",
		rounded(u.Request), u.RefusedFood, clock(u.Since), clock(u.ServeAt), u.Ago, u.Guests)
}

package kitchen_test

import (
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"bagwatch/internal/cook"
	"bagwatch/internal/food"
	"bagwatch/internal/kitchen"
	"bagwatch/internal/quantity"
)

var (
	ada   = kitchen.Who{ID: 5512345678, Name: "Ada Quill"}
	bruno = kitchen.Who{ID: 7001234567, Name: "Bruno Tarn"}
	cleo  = kitchen.Who{ID: 42, Name: "Cleo"}
)

// evening is when most tests begin: hours before the clocks of Berlin go forward.
var evening = time.Date(2026, 3, 28, 18, 20, 0, 0, time.UTC)

var model = sync.OnceValues(func() (*cook.Model, error) {
	c, err := food.Load()
	if err != nil {
		return nil, err
	}
	return cook.New(c), nil
})

func plan(t require.TestingT, r cook.Request) *cook.Plan {
	m, err := model()
	require.NoError(t, err)
	p, err := m.Plan(r)
	require.NoError(t, err)
	return p
}

func ask(id food.ID, mm, setpoint float64) cook.Request {
	return cook.Request{Food: id, Pieces: 1, Thickness: quantity.Millimetres(mm), HasSetpoint: true, Setpoint: quantity.Temperature(setpoint)}
}

var (
	ribeye = ask("beef-ribeye", 32, 55.5)
	salmon = ask("salmon", 25, 50.5)
	breast = ask("chicken-breast", 30, 63.5)
	chuck  = ask("beef-chuck-roast", 60, 57)
	carrot = ask("carrot", 20, 85)
)

// put starts a bag of r.
func put(t require.TestingT, d *kitchen.Document, r cook.Request, started, now time.Time, who kitchen.Who) kitchen.Bag {
	b, err := kitchen.NewBag(plan(t, r), started, who, "")
	require.NoError(t, err)
	b, err = d.StartBag(b, now)
	require.NoError(t, err)
	return b
}

func encode(t require.TestingT, d kitchen.Document) []byte {
	b, err := kitchen.Encode(d)
	require.NoError(t, err)
	return b
}

// sampleV1 is the document of testdata/v1.bin: every field of version 1 set. It never changes; a later
// version gets a sample of its own.
func sampleV1() kitchen.Document {
	at := func(minutes int) time.Time { return evening.Add(time.Duration(minutes) * time.Minute) }
	request := cook.Request{
		Food: "beef-ribeye", Pieces: 2, Mass: quantity.Grams(450.5), MassEach: true, Thickness: quantity.Millimetres(32.25),
		ThicknessVague: true, Shape: cook.ShapeBlock, Start: cook.StartGiven, StartAt: -3.5, Doneness: "medium-rare",
		Setpoint: 55.5, HasSetpoint: true, Pasteurised: true, AtRisk: true, NonIntact: true, Cured: true,
		Span: 95 * time.Minute, Country: "DE", Bath: cook.BathStill, Altitude: 540, ThermometerError: 0.75,
	}
	return kitchen.Document{
		Settings: kitchen.Settings{
			Kind: kitchen.Kitchen, Title: "Quay Street", Language: "de", Units: kitchen.Imperial, AtRisk: true, Country: "DE",
			Litres: 12.5, Watts: 1200, ThermometerError: 0.25, StillPot: true, Altitude: 540, Zone: "Europe/Berlin",
			Quiet: kitchen.Quiet{From: 22 * 60, To: 7*60 + 30},
		},
		Recents: []kitchen.Recent{{Person: bruno.ID, At: at(-3), Request: request}},
		Bags: []kitchen.Bag{
			{
				ID: 1, Request: request, Name: "the big one", Starter: ada, Started: at(0),
				Times: kitchen.Times{
					Early: at(60), Ready: at(75), LastCall: at(217), BestBefore: at(240), Limit: at(526),
					Pasteurised: at(306).Add(20 * time.Second), Serve: cook.ServeRare,
				},
				Closed: at(100), ClosedBy: bruno, Thrown: true,
				Trouble: cook.RefuseComeUp, Unsafe: at(90), Told: kitchen.LastCall, ToldTrouble: true,
			},
			{
				ID: 2, Request: cook.Request{Food: "salmon"}, Starter: bruno, Started: at(5).Add(7 * time.Second),
				Times: kitchen.Times{Early: at(45), Ready: at(45), LastCall: at(80), BestBefore: at(85), Limit: at(125)},
			},
		},
		LastBag: 2,
		Diary: []kitchen.Entry{{
			Kind: kitchen.PowerOut, At: at(20), Until: at(60), Temperature: 52.25, Count: 3, Litres: 1.5, Bag: 1, By: cleo,
		}},
		Kept: []kitchen.Kept{{
			ID: 7, Bag: 1, Food: "salmon", Name: "for Tuesday", Pieces: 2, Since: at(200), Until: at(200 + 2*24*60),
			Frozen: true, By: cleo, Told: 1,
		}},
		LastKept: 7,
		Steps:    []kitchen.Step{{At: at(30), What: "heat-water", Ref: "beef-ribeye", By: ada, Told: true}},
		Card:     kitchen.Card{Message: 991, Topic: 12},
		Keys:     []kitchen.Key{{Digest: [6]byte{1, 2, 3, 4, 5, 0xff}, At: at(-1)}},
		Groups:   []kitchen.ChatID{-1001234567890},
		Log: []kitchen.Cook{{
			Bag: 1, Food: "beef-ribeye", Name: "the big one", Setpoint: 55.5, Thickness: quantity.Millimetres(32.25),
			Doneness: "medium-rare", Started: at(0), Pulled: at(100), Starter: ada.ID, Rating: 4, Note: "more salt", By: bruno.ID,
		}},
		Counts:   []kitchen.Count{{Person: cleo.ID, What: 3, Since: at(-10), N: 5}},
		ToppedUp: at(1), Held: at(2), Parked: at(3), Forgetting: at(4), MovedTo: -1009, MergedFrom: -77, Retry: at(5),
	}
}

// sampleV2 is the document of testdata/v2.bin: every field of version 2 set.
func sampleV2() kitchen.Document {
	d := sampleV1()
	d.Dinner = kitchen.Dinner{
		Made: evening.Add(-time.Hour), Serve: evening.Add(3 * time.Hour), Going: evening.Add(-50 * time.Minute), By: ada,
		Card:   kitchen.Card{Message: 1002, Topic: 12},
		Dishes: []cook.Request{d.Recents[0].Request, {Food: "carrot", Pieces: 4}},
		Baths:  2, Litres: 12.5, Watts: 1200, NoIce: true,
		Shifts: []kitchen.Shift{{At: evening, Late: 15 * time.Minute, Guests: time.Hour, Serve: evening.Add(4 * time.Hour)}},
		Marks:  []kitchen.Mark{{What: "in.0", By: bruno, Done: evening.Add(-time.Minute)}},
	}
	return d
}

// fresh is an empty kitchen.
func fresh() kitchen.Document { return kitchen.New(kitchen.Kitchen, "Quay Street") }

// tell applies what is due and returns it.
func tell(t testing.TB, d *kitchen.Document, now time.Time) kitchen.News {
	t.Helper()
	news, next := kitchen.Due(*d, now)
	*d = next
	return news
}

// kinds are the kinds of items, in order.
func kinds(n kitchen.News) []kitchen.ItemKind {
	var out []kitchen.ItemKind
	for _, i := range n.Items {
		out = append(out, i.Kind)
	}
	return out
}

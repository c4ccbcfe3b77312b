package kitchen_test

import (
	"bytes"
	"errors"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"bagwatch/internal/cook"
	"bagwatch/internal/food"
	"bagwatch/internal/kitchen"
	"bagwatch/internal/quantity"
)

// menu is what bags of the random kitchens hold: short and long windows, guessed thickness, frozen,
// never pasteurised, plants.
var menu = sync.OnceValues(func() ([]*cook.Plan, error) {
	m, err := model()
	if err != nil {
		return nil, err
	}
	var plans []*cook.Plan
	for _, r := range []cook.Request{
		ribeye, salmon, breast, chuck, carrot, {Food: "egg"}, {Food: "beef-ribeye", Mass: quantity.Grams(450)},
		{Food: "chicken-breast", Thickness: quantity.Millimetres(25), Start: cook.StartFrozen}, {Food: "salmon"},
	} {
		p, err := m.Plan(r)
		if err != nil {
			return nil, err
		}
		plans = append(plans, p)
	}
	return plans, nil
})

// told is one thing said of a bag. A bag that was moved or recomputed is a new life of it.
type told struct {
	bag  kitchen.BagID
	life int
	kind kitchen.ItemKind
}

// world runs one random kitchen and remembers what people were told.
type world struct {
	t     *rapid.T
	d     kitchen.Document
	now   time.Time
	plans []*cook.Plan
	lives map[kitchen.BagID]int
	said  map[told]bool
}

// Plan is the planner of recomputations: it refuses, breaks, or answers with another item of the menu.
func (w *world) Plan(cook.Request) (*cook.Plan, error) {
	switch rapid.IntRange(0, 5).Draw(w.t, "planner") {
	case 0:
		return nil, &cook.Refusal{Rule: cook.RefuseComeUp}
	case 1:
		return nil, errors.New("no solution")
	}
	return rapid.SampledFrom(w.plans).Draw(w.t, "plan"), nil
}

// anyBag is the id of a bag, or sometimes of none.
func (w *world) anyBag() kitchen.BagID {
	if len(w.d.Bags) == 0 || rapid.IntRange(0, 9).Draw(w.t, "stray") == 0 {
		return kitchen.BagID(rapid.IntRange(0, 70000).Draw(w.t, "id"))
	}
	return rapid.SampledFrom(w.d.Bags).Draw(w.t, "bag").ID
}

func (w *world) who() kitchen.Who {
	return rapid.SampledFrom([]kitchen.Who{ada, bruno, cleo}).Draw(w.t, "who")
}

func (w *world) actor() kitchen.Actor {
	return kitchen.Actor{Who: w.who(), Admin: rapid.Bool().Draw(w.t, "admin")}
}

func (w *world) span(most time.Duration) time.Duration {
	return time.Duration(rapid.Int64Range(0, int64(most)).Draw(w.t, "span"))
}

// operations are what can happen; what happens most stands in twice.
func (w *world) operations() map[string]func(*rapid.T) {
	ops := map[string]func(*rapid.T){
		"": func(t *rapid.T) { w.check() },
		"time passes": func(t *rapid.T) {
			w.now = w.now.Add(w.span(rapid.SampledFrom([]time.Duration{time.Minute, time.Hour, 10 * time.Hour, 80 * time.Hour}).Draw(t, "most")))
		},
		"to the next event": func(t *rapid.T) {
			if next := kitchen.Next(w.d); next.After(w.now) {
				w.now = next.Add(time.Duration(rapid.IntRange(-1, 1).Draw(t, "ns")))
			}
			w.due()
		},
		"the clock is set back": func(t *rapid.T) { w.now = w.now.Add(-w.span(3 * time.Hour)) },
		"start": func(t *rapid.T) {
			b, err := kitchen.NewBag(rapid.SampledFrom(w.plans).Draw(t, "plan"), w.now.Add(-w.span(5*time.Hour)), w.who(), "")
			require.NoError(t, err)
			b, err = w.d.StartBag(b, w.now)
			if err == nil {
				w.lives[b.ID]++ // an id can come round again
			}
		},
		"pull": func(t *rapid.T) { w.d.Pull(w.anyBag(), w.who(), w.now) },
		"undo": func(t *rapid.T) { w.d.UndoPull(w.anyBag(), w.now) },
		"drop": func(t *rapid.T) { w.d.Drop(w.anyBag(), w.actor(), w.now) },
		"move": func(t *rapid.T) {
			if b, err := w.d.Move(w.anyBag(), w.now.Add(-w.span(6*time.Hour)), w.actor(), w.now); err == nil {
				w.lives[b.ID]++
			}
		},
		"replan": func(t *rapid.T) {
			if b, err := w.d.Replan(w.anyBag(), rapid.SampledFrom(w.plans).Draw(t, "plan"), w.actor(), w.now); err == nil {
				w.lives[b.ID]++
			}
		},
		"recompute": func(t *rapid.T) {
			for _, c := range w.d.Recompute(w, w.now) {
				w.lives[c.After.ID]++
			}
		},
		"doubt": func(t *rapid.T) {
			if b, err := w.d.Doubt(w.anyBag(), "sagged", w.now.Add(w.span(4*time.Hour))); err == nil {
				w.lives[b.ID]++
			}
		},
		"settings": func(t *rapid.T) {
			s := w.d.Settings
			s.Zone = rapid.SampledFrom([]string{"", "Europe/Berlin", "America/St_Johns", "Australia/Lord_Howe"}).Draw(t, "zone")
			s.Quiet = kitchen.Quiet{
				From: kitchen.TimeOfDay(rapid.IntRange(0, 1439).Draw(t, "from")), To: kitchen.TimeOfDay(rapid.IntRange(0, 1439).Draw(t, "to")),
			}
			if rapid.Bool().Draw(t, "off") {
				s.Quiet = kitchen.Quiet{}
			}
			require.NoError(t, w.d.SetSettings(s))
		},
		"diary": func(t *rapid.T) {
			kind := rapid.SampledFrom([]kitchen.EntryKind{kitchen.WaterAdded, kitchen.PowerOut}).Draw(t, "kind")
			_ = w.d.AddDiary(kitchen.Entry{Kind: kind, At: w.now.Add(-w.span(time.Hour)), By: w.who()}, w.now)
		},
		"keep": func(t *rapid.T) {
			_, _ = w.d.Keep(kitchen.Kept{Food: "salmon", Since: w.now, Until: w.now.Add(w.span(80 * time.Hour)), By: w.who()}, w.now)
		},
		"park":   func(t *rapid.T) { w.d.Park(w.now) },
		"unpark": func(t *rapid.T) { w.d.Unpark() },
		"forget": func(t *rapid.T) { w.d.Forget(w.who().ID) },
		"expire": func(t *rapid.T) {
			if rapid.IntRange(0, 3).Draw(t, "seldom") == 0 {
				w.d.Expire(w.now)
			}
		},
		"due": func(t *rapid.T) { w.due() },
	}
	for _, often := range []string{"start", "to the next event"} {
		ops[often+" again"] = ops[often]
		ops[often+" once more"] = ops[often]
	}
	return ops
}

// check holds after every operation: what is stored is what there is, and Next and Due agree.
func (w *world) check() {
	w.store()
	next := kitchen.Next(w.d)
	if next.IsZero() {
		news, after := kitchen.Due(w.d, w.now.Add(1000*time.Hour))
		require.True(w.t, news.Empty(), "no next event, and yet news")
		require.Equal(w.t, w.d, after)
		return
	}
	for _, before := range []time.Duration{1, time.Duration(rapid.Int64Range(1, int64(30*time.Hour)).Draw(w.t, "before"))} {
		news, _ := kitchen.Due(w.d, next.Add(-before))
		require.True(w.t, news.Empty(), "news %v before the next event", before)
	}
	news, after := kitchen.Due(w.d, next)
	require.False(w.t, news.Empty(), "the next event at %v is nothing", next)
	if again := kitchen.Next(after); !again.IsZero() {
		require.True(w.t, again.After(next), "after telling, the next event lies ahead")
	}
}

// store writes the document and goes on with what is read.
func (w *world) store() {
	b, err := kitchen.Encode(w.d)
	require.NoError(w.t, err)
	require.LessOrEqual(w.t, len(b), kitchen.MaxBytes)
	back, err := kitchen.Decode(b)
	require.NoError(w.t, err)
	again, err := kitchen.Encode(back)
	require.NoError(w.t, err)
	require.True(w.t, bytes.Equal(b, again), "written and read and written")
	w.d = back
}

// due carries out what is due now and judges every item.
func (w *world) due() {
	before, err := kitchen.Encode(w.d)
	require.NoError(w.t, err)
	news, after := kitchen.Due(w.d, w.now)
	same, err := kitchen.Encode(w.d)
	require.NoError(w.t, err)
	require.Equal(w.t, before, same, "Due changed the document it was given")
	if next := kitchen.Next(after); !next.IsZero() {
		require.True(w.t, next.After(w.now), "the next event lies ahead once all is told")
	}
	bags := map[kitchen.BagID]bool{}
	for _, it := range news.Items {
		require.False(w.t, it.At.After(w.now), "early")
		require.GreaterOrEqual(w.t, it.Late, time.Duration(0))
		require.LessOrEqual(w.t, it.Late, w.now.Sub(it.At))
		require.True(w.t, news.Urgent || !it.Urgent)
		if w.asleep() {
			require.True(w.t, it.Urgent, "told in quiet hours")
		}
		if it.Kind <= kitchen.BagReady {
			require.False(w.t, bags[it.Bag.ID], "two items of one bag")
			bags[it.Bag.ID] = true
			w.judge(it)
		}
	}
	w.d = after
}

// judge checks an item about a bag against what was said of it before.
func (w *world) judge(it kitchen.Item) {
	b, ok := w.d.Bag(it.Bag.ID)
	require.True(w.t, ok)
	require.True(w.t, b.Running(), "a bag that is out is silent")
	life := w.lives[b.ID]
	for kind := kitchen.BagUnsafe; kind <= it.Kind; kind++ { // more pressing, or the same
		require.False(w.t, w.said[told{b.ID, life, kind}], "kind %d after kind %d", it.Kind, kind)
	}
	w.said[told{b.ID, life, it.Kind}] = true
	state := b.StateAt(w.now)
	want := map[kitchen.ItemKind]kitchen.State{
		kitchen.BagUnsafe: kitchen.Doubtful, kitchen.BagPast: kitchen.Past, kitchen.BagLastCall: kitchen.LastCall, kitchen.BagReady: kitchen.Ready,
	}[it.Kind]
	require.Equal(w.t, want, state, "the newest state is told")
	if it.Kind == kitchen.BagPast && it.Unpasteurised {
		require.True(w.t, it.Urgent)
	}
}

// asleep tells by itself whether it is quiet now.
func (w *world) asleep() bool {
	q := w.d.Settings.Quiet
	zone, err := time.LoadLocation(w.d.Settings.Zone)
	require.NoError(w.t, err)
	at := kitchen.TimeOfDay(w.now.In(zone).Hour()*60 + w.now.In(zone).Minute())
	if q.From <= q.To {
		return at >= q.From && at < q.To
	}
	return at >= q.From || at < q.To
}

func TestRandomKitchens(t *testing.T) {
	plans, err := menu()
	require.NoError(t, err)
	items := 0
	rapid.Check(t, func(t *rapid.T) {
		w := &world{
			t: t, d: fresh(), plans: plans, lives: map[kitchen.BagID]int{}, said: map[told]bool{},
			// In the days around a change of the clocks in Berlin.
			now: evening.Add(-time.Duration(rapid.IntRange(0, 48).Draw(t, "hours")) * time.Hour),
		}
		t.Repeat(w.operations())
		// In the end everything that is still in is told of.
		w.d.Unpark()
		for range 300 {
			next := kitchen.Next(w.d)
			if next.IsZero() {
				break
			}
			if next.After(w.now) {
				w.now = next
			}
			w.due()
		}
		require.Zero(t, kitchen.Next(w.d), "it comes to an end")
		for _, b := range w.d.Running() {
			require.True(t, b.Told == kitchen.Past || b.ToldTrouble, "bag %d was forgotten", b.ID)
		}
		items += len(w.said)
	})
	t.Logf("%d items told", items)
	least := 100
	if testing.Short() { // a fifth of the kitchens
		least = 10
	}
	require.Greater(t, items, least, "something happened")
}

// TestZonesDoNotMoveTimes: a bag's times are spans after its start, whatever the clocks on the wall do.
func TestZonesDoNotMoveTimes(t *testing.T) {
	berlin, err := time.LoadLocation("Europe/Berlin")
	require.NoError(t, err)
	for name, started := range map[string]time.Time{
		"clocks go forward": time.Date(2026, 3, 29, 1, 30, 0, 0, berlin),
		"clocks go back":    time.Date(2026, 10, 25, 1, 30, 0, 0, berlin),
		"an ordinary night": time.Date(2026, 6, 25, 1, 30, 0, 0, berlin),
	} {
		t.Run(name, func(t *testing.T) {
			p := plan(t, cook.Request{Food: food.ID("beef-ribeye"), Thickness: quantity.Millimetres(32)})
			b, err := kitchen.NewBag(p, started, ada, "")
			require.NoError(t, err)
			usual, err := kitchen.NewBag(p, evening.AddDate(0, 3, 0), ada, "")
			require.NoError(t, err)
			require.Equal(t, usual.Times.Ready.Sub(usual.Started), b.Times.Ready.Sub(started), "an hour is an hour")
			require.Equal(t, usual.Times.BestBefore.Sub(usual.Started), b.Times.BestBefore.Sub(started))
			require.Equal(t, time.UTC, b.Times.Ready.Location())
			d := fresh()
			quietFrom(t, &d, "Europe/Berlin", 0, 0)
			b, err = d.StartBag(b, started)
			require.NoError(t, err)
			require.Equal(t, b.Times.Ready, kitchen.Next(d))
		})
	}
}

package kitchen_test

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/internal/cook"
	"bagwatch/internal/kitchen"
	"bagwatch/internal/quantity"
)

func TestSettings(t *testing.T) {
	good := sampleV1().Settings
	for name, tt := range map[string]struct {
		change func(*kitchen.Settings)
		want   error
	}{
		"all of them":               {func(*kitchen.Settings) {}, nil},
		"none":                      {func(s *kitchen.Settings) { *s = kitchen.Settings{} }, nil},
		"a zone nobody knows":       {func(s *kitchen.Settings) { s.Zone = "Europe/Quay" }, kitchen.ErrZone},
		"the zone of this machine":  {func(s *kitchen.Settings) { s.Zone = "Local" }, kitchen.ErrZone},
		"a path for a zone":         {func(s *kitchen.Settings) { s.Zone = "../../etc/passwd" }, kitchen.ErrZone},
		"a bath of minus two":       {func(s *kitchen.Settings) { s.Litres = -2 }, kitchen.ErrValue},
		"a bath that is no number":  {func(s *kitchen.Settings) { s.Litres = quantity.Volume(math.NaN()) }, kitchen.ErrValue},
		"a power station":           {func(s *kitchen.Settings) { s.Watts = 1e9 }, kitchen.ErrValue},
		"a kitchen in orbit":        {func(s *kitchen.Settings) { s.Altitude = 400_000 }, kitchen.ErrValue},
		"a useless thermometer":     {func(s *kitchen.Settings) { s.ThermometerError = 40 }, kitchen.ErrValue},
		"twenty-five o'clock":       {func(s *kitchen.Settings) { s.Quiet.To = 25 * 60 }, kitchen.ErrValue},
		"a language that is a text": {func(s *kitchen.Settings) { s.Language = "please speak slowly" }, kitchen.ErrValue},
	} {
		t.Run(name, func(t *testing.T) {
			d, s := fresh(), good
			tt.change(&s)
			before := d.Settings
			err := d.SetSettings(s)
			require.ErrorIs(t, err, tt.want)
			if tt.want != nil {
				assert.Equal(t, before, d.Settings, "nothing changed")
				return
			}
			assert.Equal(t, s, d.Settings)
			encode(t, d)
		})
	}
	d, s := fresh(), good
	s.Altitude, s.ThermometerError, s.Title = 540.2, 0.251, strings.Repeat("x", 500)
	require.NoError(t, d.SetSettings(s))
	assert.InDelta(t, 541, float64(d.Settings.Altitude), 1e-9, "rounded up: water boils cooler there")
	assert.InDelta(t, 0.26, float64(d.Settings.ThermometerError), 1e-9, "rounded up: the careful bath is cooler")
	assert.Len(t, d.Settings.Title, kitchen.MaxTitle)
}

func TestFill(t *testing.T) {
	s := sampleV1().Settings
	got := s.Fill(cook.Request{Food: "salmon"})
	assert.Equal(t, cook.Request{
		Food: "salmon", AtRisk: true, Country: "DE", Bath: cook.BathStill, Altitude: 540, ThermometerError: 0.25,
	}, got)
	said := cook.Request{Food: "salmon", Country: "US", Bath: cook.BathCirculating, Altitude: 10, ThermometerError: 1}
	got = s.Fill(said)
	said.AtRisk = true // never taken back by leaving it out
	assert.Equal(t, said, got, "what was said stands")
	assert.Equal(t, cook.Request{Food: "egg"}, kitchen.Settings{}.Fill(cook.Request{Food: "egg"}))
}

func TestRememberAndLast(t *testing.T) {
	d := fresh()
	require.NoError(t, d.Remember(ada.ID, ribeye, evening))
	require.NoError(t, d.Remember(bruno.ID, salmon, evening))
	require.NoError(t, d.Remember(ada.ID, breast, evening.Add(time.Minute)))
	got, ok := d.Last(ada.ID, evening.Add(31*time.Minute))
	require.True(t, ok)
	assert.Equal(t, breast, got, "each person's own, and the newest")
	_, ok = d.Last(bruno.ID, evening.Add(31*time.Minute))
	assert.False(t, ok, "half an hour is over")
	require.ErrorIs(t, d.Remember(ada.ID, cook.Request{Food: "salmon", Mass: quantity.Mass(math.Inf(1))}, evening), kitchen.ErrValue)
	for i := range 20 {
		require.NoError(t, d.Remember(kitchen.PersonID(100+i), salmon, evening))
	}
	assert.Len(t, d.Recents, kitchen.MaxRecents)
	_, ok = d.Last(119, evening)
	assert.True(t, ok, "the newest stay")
}

func TestAppliedKeys(t *testing.T) {
	d := fresh()
	assert.False(t, d.Applied("7/1"))
	d.MarkApplied("7/1", evening)
	d.MarkApplied("7/1", evening)
	assert.True(t, d.Applied("7/1"))
	assert.False(t, d.Applied("7/2"))
	assert.Len(t, d.Keys, 1)
	d.Expire(evening.Add(24 * time.Hour))
	assert.True(t, d.Applied("7/1"), "for a day")
	d.Expire(evening.Add(24*time.Hour + time.Second))
	assert.False(t, d.Applied("7/1"))
	for i := range 1000 {
		d.MarkApplied(fmt.Sprint(i), evening)
	}
	assert.True(t, d.Applied("999"))
	assert.False(t, d.Applied("0"), "the oldest gave way")
	encode(t, d)
}

func TestDiary(t *testing.T) {
	now := evening.Add(time.Hour)
	d := fresh()
	put(t, &d, chuck, evening, evening, ada)
	add := func(e kitchen.Entry) error { e.By = ada; return d.AddDiary(e, now) }
	require.NoError(t, add(kitchen.Entry{Kind: kitchen.BathAt, At: evening.Add(10 * time.Minute), Temperature: 52}))
	require.NoError(t, add(kitchen.Entry{Kind: kitchen.ColdBags, At: now, Count: 2}))
	require.NoError(t, add(kitchen.Entry{Kind: kitchen.PowerOut, At: evening, Until: evening.Add(40 * time.Minute)}))
	require.NoError(t, add(kitchen.Entry{Kind: kitchen.LidOff, At: evening.Add(50 * time.Minute)}))
	order := []kitchen.EntryKind{}
	for _, e := range d.Diary {
		order = append(order, e.Kind)
	}
	assert.Equal(t, []kitchen.EntryKind{kitchen.PowerOut, kitchen.BathAt, kitchen.LidOff, kitchen.ColdBags}, order, "by time")
	require.ErrorIs(t, d.EndDiary(kitchen.PowerOut, now, now), kitchen.ErrNone, "that one was closed")
	require.ErrorIs(t, d.EndDiary(kitchen.LidOff, evening, now), kitchen.ErrTime, "before it came off")
	require.NoError(t, d.EndDiary(kitchen.LidOff, now, now))
	for name, tt := range map[string]struct {
		entry kitchen.Entry
		want  error
	}{
		"to come":             {kitchen.Entry{At: now.Add(time.Hour)}, kitchen.ErrTime},
		"last month":          {kitchen.Entry{At: now.Add(-30 * 24 * time.Hour)}, kitchen.ErrTime},
		"over before it came": {kitchen.Entry{Kind: kitchen.PowerOut, At: now, Until: evening}, kitchen.ErrTime},
		"boiling over":        {kitchen.Entry{At: now, Temperature: 300}, kitchen.ErrValue},
		"no number":           {kitchen.Entry{At: now, Temperature: quantity.Temperature(math.NaN())}, kitchen.ErrValue},
		"a bag nobody knows":  {kitchen.Entry{Kind: kitchen.CoreAt, At: now, Bag: 77}, kitchen.ErrNoBag},
		"a kind nobody knows": {kitchen.Entry{Kind: 99, At: now}, kitchen.ErrValue},
	} {
		assert.ErrorIs(t, add(tt.entry), tt.want, name)
	}
	for range kitchen.MaxDiary - 4 {
		require.NoError(t, add(kitchen.Entry{At: now, Temperature: 57}))
	}
	require.ErrorIs(t, add(kitchen.Entry{At: now, Temperature: 57}), kitchen.ErrFull)
	encode(t, d)
	d.Expire(now.Add(24 * time.Hour))
	assert.Len(t, d.Diary, kitchen.MaxDiary, "the roast lived through it")
	d.Bags = nil
	d.Expire(now.Add(25 * time.Hour))
	assert.Empty(t, d.Diary)
}

func TestExpire(t *testing.T) {
	d := fresh()
	pulled := put(t, &d, ribeye, evening, evening, ada)
	forgotten := put(t, &d, salmon, evening, evening, ada)
	_, err := d.Pull(pulled.ID, bruno, evening.Add(time.Hour))
	require.NoError(t, err)
	_, err = d.Rate(pulled.ID, 5, "more salt", bruno.ID)
	require.NoError(t, err)
	require.NoError(t, d.Remember(ada.ID, ribeye, evening))
	d.Expire(evening.Add(25 * time.Hour))
	assert.Len(t, d.Bags, 2)
	assert.Empty(t, d.Recents)
	d.Expire(evening.Add(25*time.Hour + time.Second))
	_, ok := d.Bag(pulled.ID)
	assert.False(t, ok, "a day after it was pulled")
	assert.Len(t, d.Log, 1, "the log keeps it")

	week := evening.Add(7 * 24 * time.Hour)
	d.Expire(week)
	_, ok = d.Bag(forgotten.ID)
	assert.True(t, ok, "not before people were told")
	require.Len(t, tell(t, &d, week).Items, 1)
	d.Expire(week)
	assert.Empty(t, d.Bags)
	d.Expire(evening.Add(367 * 24 * time.Hour))
	assert.Empty(t, d.Log)

	now := evening
	assert.Equal(t, now.Add(kitchen.KeptFor().IdleChat), kitchen.Expires(d, now))
	d.Park(now)
	d.Park(now.Add(time.Hour))
	assert.Equal(t, now.Add(kitchen.KeptFor().ParkedChat), kitchen.Expires(d, now.Add(time.Hour)))
}

func TestHeldByAWrongClockLetsGo(t *testing.T) {
	d := fresh()
	quietFrom(t, &d, "UTC", 22*60, 7*60)
	b := put(t, &d, breast, evening, evening, ada)
	_, wrong := kitchen.Due(d, time.Date(2031, 1, 1, 23, 0, 0, 0, time.UTC))
	require.True(t, kitchen.Next(wrong).After(evening.Add(365*24*time.Hour)))
	wrong.Expire(evening)
	assert.Equal(t, b.Times.Ready, kitchen.Next(wrong))
}

func TestMigration(t *testing.T) {
	old := fresh()
	quietFrom(t, &old, "Europe/Berlin", 22*60, 7*60)
	a := put(t, &old, ribeye, evening, evening, ada)
	b := put(t, &old, ribeye, evening, evening, ada) // the very same again: two bags all the same
	old.MarkApplied("7/1", evening)
	old.Card = kitchen.Card{Message: 5}
	require.NoError(t, old.AddDiary(kitchen.Entry{Kind: kitchen.CoreAt, At: evening, Temperature: 20, Bag: a.ID, By: ada}, evening))
	_, err := old.Keep(kitchen.Kept{Food: "salmon", Since: evening, Until: evening.Add(time.Hour), By: ada}, evening)
	require.NoError(t, err)
	old.MoveTo(-100, evening)

	into := kitchen.New(kitchen.Kitchen, "Quay Street II")
	other := put(t, &into, salmon, evening, evening, bruno)
	require.Equal(t, a.ID, other.ID, "the ids clash")
	into.Card = kitchen.Card{Message: 9}
	moved, err := into.Merge(old, -9, evening)
	require.NoError(t, err)
	require.Len(t, into.Running(), 3)
	require.Len(t, moved, 2)
	assert.NotEqual(t, moved[a.ID], moved[b.ID])
	for _, was := range []kitchen.Bag{a, b} {
		got, ok := into.Bag(moved[was.ID])
		require.True(t, ok)
		was.ID = got.ID
		assert.Equal(t, was, got)
	}
	assert.Equal(t, moved[a.ID], into.Diary[0].Bag, "what is said of a bag goes with it")
	assert.True(t, into.Applied("7/1"))
	assert.Len(t, into.Kept, 1)
	assert.EqualValues(t, 9, into.Card.Message)
	assert.Equal(t, old.Settings.Quiet, into.Settings.Quiet, "the new chat had chosen nothing")
	assert.Equal(t, "Quay Street II", into.Settings.Title)

	again := into.Clone()
	_, err = again.Merge(old, -9, evening)
	require.NoError(t, err)
	assert.Equal(t, into, again, "a restart half-way merges once")
	assert.Len(t, old.Running(), 2, "the old one is left as it was")

	full := fresh()
	for range kitchen.MaxRunning {
		put(t, &full, salmon, evening, evening, ada)
	}
	most := full.Clone()
	most.LastBag = 500
	for i := range most.Bags {
		most.Bags[i].ID += 100
	}
	_, err = most.Merge(full, -9, evening)
	require.NoError(t, err)
	assert.Len(t, most.Running(), 2*kitchen.MaxRunning, "no bag is lost to the cap")
	encode(t, most)
}

func TestLogAndCounts(t *testing.T) {
	d := fresh()
	for range kitchen.MaxLog + 5 {
		b := put(t, &d, ribeye, evening, evening, ada)
		_, err := d.Pull(b.ID, ada, evening)
		require.NoError(t, err)
	}
	assert.Len(t, d.Log, kitchen.MaxLog)
	last := d.Log[len(d.Log)-1].Bag
	_, err := d.Rate(last, kitchen.MaxRating+1, "", ada.ID)
	require.ErrorIs(t, err, kitchen.ErrValue)
	_, err = d.Rate(1, 3, "", ada.ID)
	require.ErrorIs(t, err, kitchen.ErrNone)
	c, err := d.Rate(last, 0, strings.Repeat("ü", 1000), ada.ID)
	require.NoError(t, err)
	assert.Len(t, c.Note, kitchen.MaxNote)

	allowed := 0
	for range 5 {
		if d.Allow(ada.ID, 1, 3, time.Hour, evening) {
			allowed++
		}
	}
	assert.Equal(t, 3, allowed)
	assert.True(t, d.Allow(bruno.ID, 1, 3, time.Hour, evening), "each person for themselves")
	assert.True(t, d.Allow(ada.ID, 2, 3, time.Hour, evening), "each thing for itself")
	assert.True(t, d.Allow(ada.ID, 1, 3, time.Hour, evening.Add(time.Hour)), "and anew after the span")

	for i := range kitchen.MaxGroups {
		require.True(t, d.Join(kitchen.ChatID(-i)))
	}
	assert.False(t, d.Join(-5000))
	assert.True(t, d.Join(-3))
	d.Leave(-3)
	assert.True(t, d.Join(-5000))
	encode(t, d)
}

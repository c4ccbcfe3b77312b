package kitchen_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/internal/kitchen"
)

func TestOneBagIsToldThreeTimes(t *testing.T) {
	d := fresh()
	b := put(t, &d, ribeye, evening, evening, ada)
	for _, tt := range []struct {
		at      time.Time
		kind    kitchen.ItemKind
		urgent  bool
		untold  bool
		notYet  bool
		comment string
	}{
		{b.Times.Ready, kitchen.BagReady, false, true, false, "ready"},
		{b.Times.LastCall, kitchen.BagLastCall, false, false, false, "last call"},
		{b.Times.BestBefore, kitchen.BagPast, true, false, true, "past, and pasteurised only an hour later"},
	} {
		require.Equal(t, tt.at, kitchen.Next(d), tt.comment)
		news := tell(t, &d, tt.at.Add(-time.Nanosecond))
		require.True(t, news.Empty(), "never early")
		news = tell(t, &d, tt.at)
		require.Equal(t, []kitchen.ItemKind{tt.kind}, kinds(news), tt.comment)
		it := news.Items[0]
		assert.Equal(t, tt.at, it.At)
		assert.Zero(t, it.Late)
		assert.Equal(t, tt.urgent, it.Urgent, tt.comment)
		assert.Equal(t, tt.untold, it.Untold, tt.comment)
		assert.Equal(t, tt.notYet, it.Unpasteurised, tt.comment)
		require.True(t, tell(t, &d, tt.at).Empty(), "not twice")
	}
	assert.Zero(t, kitchen.Next(d))
}

func TestPastAndSafeIsNotUrgent(t *testing.T) {
	for name, r := range map[string]struct{ pasteurised bool }{"chicken": {true}, "vegetables": {false}} {
		t.Run(name, func(t *testing.T) {
			d := fresh()
			q := breast
			if !r.pasteurised {
				q = carrot
			}
			b := put(t, &d, q, evening, evening, ada)
			news := tell(t, &d, b.Times.BestBefore)
			require.Equal(t, []kitchen.ItemKind{kitchen.BagPast}, kinds(news))
			assert.False(t, news.Urgent)
			assert.False(t, news.Items[0].Unpasteurised)
		})
	}
}

func TestAfterAnOutageOnlyTheNewestIsTold(t *testing.T) {
	d := fresh()
	steak := put(t, &d, ribeye, evening, evening, ada)
	fish := put(t, &d, salmon, evening.Add(time.Hour), evening.Add(time.Hour), bruno)
	roast := put(t, &d, chuck, evening, evening, cleo)
	now := fish.Times.LastCall.Add(90 * time.Second)
	require.Equal(t, kitchen.Ready, steak.StateAt(now))
	news := tell(t, &d, now)
	require.Equal(t, []kitchen.ItemKind{kitchen.BagLastCall, kitchen.BagReady}, kinds(news), "the more pressing first")
	assert.Equal(t, fish.ID, news.Items[0].Bag.ID)
	assert.Equal(t, 90*time.Second, news.Items[0].Late)
	assert.True(t, news.Items[0].Untold, "that it turned ready was not said")
	assert.Equal(t, steak.ID, news.Items[1].Bag.ID)
	assert.Equal(t, now.Sub(steak.Times.Ready), news.Items[1].Late)
	assert.True(t, tell(t, &d, now).Empty())
	got, _ := d.Bag(roast.ID)
	assert.Equal(t, kitchen.Warming, got.Told)
}

func TestAStartLongAgoIsNotToldTwice(t *testing.T) {
	d := fresh()
	now := evening.Add(3 * time.Hour)
	b := put(t, &d, ribeye, evening, now, ada)
	require.Equal(t, kitchen.Ready, b.StateAt(now))
	assert.True(t, tell(t, &d, now).Empty(), "the answer to the start said so")
	assert.Equal(t, b.Times.LastCall, kitchen.Next(d))
	moved, err := d.Move(b.ID, now, starter(ada), now)
	require.NoError(t, err)
	assert.Equal(t, moved.Times.Ready, kitchen.Next(d), "moved ahead, it turns ready once more")
}

func TestPulledBagsAreSilent(t *testing.T) {
	d := fresh()
	a := put(t, &d, ribeye, evening, evening, ada)
	b := put(t, &d, salmon, evening, evening, ada)
	_, err := d.Pull(a.ID, bruno, evening)
	require.NoError(t, err)
	_, err = d.Drop(b.ID, starter(ada), evening)
	require.NoError(t, err)
	assert.Zero(t, kitchen.Next(d))
	assert.True(t, tell(t, &d, evening.Add(24*time.Hour)).Empty())
}

// quietFrom sets quiet hours.
func quietFrom(t *testing.T, d *kitchen.Document, zone string, from, to kitchen.TimeOfDay) {
	t.Helper()
	s := d.Settings
	s.Zone, s.Quiet = zone, kitchen.Quiet{From: from, To: to}
	require.NoError(t, d.SetSettings(s))
}

func TestQuietHours(t *testing.T) {
	// Berlin is an hour ahead of UTC until 01:00 UTC on 29 March 2026, then two.
	morning := time.Date(2026, 3, 29, 5, 0, 0, 0, time.UTC) // 07:00 there
	d := fresh()
	quietFrom(t, &d, "Europe/Berlin", 22*60, 7*60)
	chicken := put(t, &d, breast, evening.Add(100*time.Minute), evening.Add(100*time.Minute), ada) // in at 21:00 there
	steak := put(t, &d, ribeye, evening.Add(100*time.Minute), evening.Add(100*time.Minute), ada)
	require.True(t, chicken.Times.Ready.After(evening.Add(160*time.Minute)), "ready in the night")
	require.True(t, steak.Times.BestBefore.Before(morning), "past in the night")

	require.Equal(t, steak.Times.BestBefore, kitchen.Next(d), "only what is urgent gets out")
	news := tell(t, &d, steak.Times.BestBefore)
	require.Equal(t, []kitchen.ItemKind{kitchen.BagPast}, kinds(news))
	assert.Equal(t, steak.ID, news.Items[0].Bag.ID)
	assert.True(t, news.Urgent)

	require.Equal(t, morning, kitchen.Next(d), "across the change of the clocks")
	require.True(t, tell(t, &d, morning.Add(-time.Second)).Empty())
	require.Equal(t, morning, kitchen.Next(d))
	news = tell(t, &d, morning)
	require.Equal(t, []kitchen.ItemKind{kitchen.BagPast}, kinds(news))
	assert.Equal(t, chicken.ID, news.Items[0].Bag.ID)
	assert.Equal(t, chicken.Times.BestBefore, news.Items[0].At)
	assert.Zero(t, news.Items[0].Late, "it is told when it should be")
	assert.True(t, news.Items[0].Untold)
	assert.Zero(t, kitchen.Next(d))
}

func TestQuietHoursAfterAnOutage(t *testing.T) {
	d := fresh()
	quietFrom(t, &d, "Europe/Berlin", 22*60, 7*60)
	b := put(t, &d, breast, evening, evening, ada)
	require.Equal(t, b.Times.Ready, kitchen.Next(d), "ready before the night")
	night := time.Date(2026, 3, 28, 22, 0, 0, 0, time.UTC) // 23:00 there, and only now the program is back
	morning := time.Date(2026, 3, 29, 5, 0, 0, 0, time.UTC)
	news, held := kitchen.Due(d, night)
	assert.True(t, news.Empty(), "people sleep")
	assert.Equal(t, morning, kitchen.Next(held), "so the document changed and has to be committed")
	news = tell(t, &held, morning.Add(3*time.Minute))
	require.Len(t, news.Items, 1)
	assert.Equal(t, 3*time.Minute, news.Items[0].Late)

	quietFrom(t, &d, "Europe/Berlin", 0, 0)
	assert.Len(t, tell(t, &d, night).Items, 1, "switched off, nothing is held")
}

func TestQuietHoursByClock(t *testing.T) {
	for name, tt := range map[string]struct {
		zone     string
		from, to kitchen.TimeOfDay
		at, want string // UTC
	}{
		"before them":             {"Europe/Berlin", 22 * 60, 7 * 60, "2026-07-01T19:59:59Z", "2026-07-01T19:59:59Z"},
		"as they begin":           {"Europe/Berlin", 22 * 60, 7 * 60, "2026-07-01T20:00:00Z", "2026-07-02T05:00:00Z"},
		"at their end":            {"Europe/Berlin", 22 * 60, 7 * 60, "2026-07-02T05:00:00Z", "2026-07-02T05:00:00Z"},
		"within a day":            {"Europe/Berlin", 13 * 60, 15 * 60, "2026-07-01T11:30:30Z", "2026-07-01T13:00:00Z"},
		"without a zone":          {"", 22 * 60, 7 * 60, "2026-07-01T23:00:00Z", "2026-07-02T07:00:00Z"},
		"half an hour off":        {"Asia/Kolkata", 22 * 60, 7 * 60, "2026-07-01T17:00:00Z", "2026-07-02T01:30:00Z"},
		"an end that is skipped":  {"Europe/Berlin", 22 * 60, 2*60 + 30, "2026-03-28T23:00:00Z", "2026-03-29T01:00:00Z"},
		"an end that comes twice": {"Europe/Berlin", 22 * 60, 2*60 + 30, "2026-10-24T23:00:00Z", "2026-10-25T00:30:00Z"},
		"the second time of it":   {"Europe/Berlin", 22 * 60, 2*60 + 30, "2026-10-25T01:00:00Z", "2026-10-25T01:30:00Z"},
		"a longer night":          {"Europe/Berlin", 22 * 60, 7 * 60, "2026-10-24T21:00:00Z", "2026-10-25T06:00:00Z"},
	} {
		t.Run(name, func(t *testing.T) {
			at, err := time.Parse(time.RFC3339, tt.at)
			require.NoError(t, err)
			want, err := time.Parse(time.RFC3339, tt.want)
			require.NoError(t, err)
			d := fresh()
			quietFrom(t, &d, tt.zone, tt.from, tt.to)
			require.NoError(t, d.SetSteps([]kitchen.Step{{At: at, What: "heat-water"}}, at))
			assert.Equal(t, want, kitchen.Next(d))
		})
	}
}

func TestTopUp(t *testing.T) {
	d := fresh()
	roast := put(t, &d, chuck, evening, evening, ada)
	put(t, &d, chuck, evening.Add(2*time.Hour), evening.Add(2*time.Hour), ada)
	require.Greater(t, roast.Times.Ready.Sub(evening), 30*time.Hour)
	now, count := evening, 0
	for {
		next := kitchen.Next(d)
		news := tell(t, &d, next)
		if len(news.Items) == 0 || news.Items[0].Kind != kitchen.TopUp {
			assert.False(t, news.Silent)
			break
		}
		assert.True(t, news.Silent)
		assert.Equal(t, 8*time.Hour, next.Sub(now), "once for the bath, not for each bag")
		now = next
		count++
	}
	assert.Equal(t, 4, count, "in the 33 hours until it is ready")

	d = fresh()
	put(t, &d, chuck, evening, evening, ada)
	added := evening.Add(5 * time.Hour)
	require.NoError(t, d.AddDiary(kitchen.Entry{Kind: kitchen.WaterAdded, At: added, By: ada}, added))
	assert.Equal(t, added.Add(8*time.Hour), kitchen.Next(d), "topped up of one's own accord")
	d = fresh()
	put(t, &d, ribeye, evening, evening, ada)
	assert.NotEqual(t, evening.Add(8*time.Hour), kitchen.Next(d))

	d = fresh()
	put(t, &d, chuck, evening, evening, ada)
	late := evening.Add(20 * time.Hour)
	assert.Len(t, tell(t, &d, late).Items, 1)
	assert.Equal(t, late.Add(8*time.Hour), kitchen.Next(d), "after an outage it is not caught up with")
}

func TestKeptFoodAndSteps(t *testing.T) {
	d := fresh()
	until := evening.Add(4 * 24 * time.Hour)
	k, err := d.Keep(kitchen.Kept{Food: "chicken-breast", Name: "for Tuesday", Since: evening, Until: until, By: ada}, evening)
	require.NoError(t, err)
	short, err := d.Keep(kitchen.Kept{Food: "salmon", Since: evening, Until: evening.Add(12 * time.Hour), By: ada}, evening)
	require.NoError(t, err)
	require.NoError(t, d.SetSteps([]kitchen.Step{{At: evening.Add(time.Hour), What: "heat-water"}}, evening))

	require.Equal(t, []kitchen.ItemKind{kitchen.DinnerStep}, kinds(tell(t, &d, kitchen.Next(d))))
	news := tell(t, &d, kitchen.Next(d))
	require.Equal(t, []kitchen.ItemKind{kitchen.KeepOver}, kinds(news), "no reminder a day ahead of half a day")
	assert.Equal(t, short.ID, news.Items[0].Kept.ID)
	require.Equal(t, until.Add(-24*time.Hour), kitchen.Next(d))
	after := d.Clone()
	require.Equal(t, []kitchen.ItemKind{kitchen.KeepSoon}, kinds(tell(t, &after, until.Add(-24*time.Hour))))
	require.Equal(t, []kitchen.ItemKind{kitchen.KeepOver}, kinds(tell(t, &after, until)))
	require.Equal(t, []kitchen.ItemKind{kitchen.KeepOver}, kinds(tell(t, &d, until.Add(time.Hour))), "late: the end only")
	_, err = d.TakeKept(k.ID)
	require.NoError(t, err)
	_, err = d.TakeKept(k.ID)
	require.ErrorIs(t, err, kitchen.ErrNone)
}

func TestUnsafeToCome(t *testing.T) {
	d := fresh()
	quietFrom(t, &d, "UTC", 0, 23*60+59)
	b := put(t, &d, breast, evening, evening, ada)
	from := b.Times.Ready.Add(10 * time.Minute)
	_, err := d.Doubt(b.ID, "sagged", from)
	require.NoError(t, err)
	require.Equal(t, from, kitchen.Next(d), "quiet hours do not hold it")
	news := tell(t, &d, from)
	require.Equal(t, []kitchen.ItemKind{kitchen.BagUnsafe}, kinds(news))
	assert.True(t, news.Urgent)
	assert.Zero(t, kitchen.Next(d), "it is not called ready afterwards")
}

func TestParkedMovedAndForgetting(t *testing.T) {
	d := fresh()
	b := put(t, &d, ribeye, evening, evening, ada)
	d.Park(evening)
	assert.Zero(t, kitchen.Next(d))
	late := b.Times.LastCall.Add(time.Hour / 4)
	assert.True(t, tell(t, &d, late).Empty())
	d.Unpark()
	news := tell(t, &d, late)
	require.Equal(t, []kitchen.ItemKind{kitchen.BagLastCall}, kinds(news))
	assert.Equal(t, 15*time.Minute, news.Items[0].Late)

	for name, begin := range map[kitchen.Resume]func(*kitchen.Document){
		kitchen.ResumeMove:   func(d *kitchen.Document) { d.MoveTo(-1009, late) },
		kitchen.ResumeForget: func(d *kitchen.Document) { d.StartForgetting(late) },
	} {
		d := d.Clone()
		begin(&d)
		next := kitchen.Next(d)
		require.True(t, next.After(late), "whoever began it goes on first")
		for range 3 {
			require.True(t, tell(t, &d, next.Add(-time.Second)).Empty())
			news := tell(t, &d, next)
			require.Equal(t, kitchen.News{Resume: name}, news)
			require.True(t, kitchen.Next(d).After(next), "tried again, but not at once")
			next = kitchen.Next(d)
		}
	}
}

func TestDueLeavesItsDocumentAlone(t *testing.T) {
	d := fresh()
	b := put(t, &d, ribeye, evening, evening, ada)
	before := encode(t, d)
	kitchen.Due(d, b.Times.BestBefore)
	assert.Equal(t, before, encode(t, d))
}

package kitchen_test

import (
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/internal/cook"
	"bagwatch/internal/kitchen"
	"bagwatch/internal/quantity"
)

func starter(who kitchen.Who) kitchen.Actor { return kitchen.Actor{Who: who} }

func TestBagTimesNeverContradictThePlan(t *testing.T) {
	started := evening.Add(300 * time.Millisecond)
	for name, r := range map[string]cook.Request{
		"a steak":                {Food: "beef-ribeye", Thickness: quantity.Millimetres(32)},
		"a mass only":            {Food: "beef-ribeye", Mass: quantity.Grams(450)},
		"nothing but the name":   {Food: "chicken-breast"},
		"fish in cool water":     {Food: "salmon", Thickness: quantity.Millimetres(25)},
		"an egg":                 {Food: "egg"},
		"frozen":                 {Food: "chicken-breast", Thickness: quantity.Millimetres(25), Start: cook.StartFrozen},
		"from a warm kitchen":    {Food: "pork-chop", Thickness: quantity.Inches(1), Start: cook.StartRoom},
		"degrees Fahrenheit":     {Food: "pork-chop", Thickness: quantity.Inches(1.125), HasSetpoint: true, Setpoint: quantity.FromFahrenheit(141)},
		"two days":               {Food: "beef-short-rib"},
		"vegetables":             {Food: "carrot", Thickness: quantity.Millimetres(20)},
		"at risk":                {Food: "salmon", AtRisk: true},
		"several round in a bag": {Food: "sausage", Pieces: 4},
		"in a pot on the hill":   {Food: "beef-strip-steak", Bath: cook.BathStill, Altitude: 1650.4, ThermometerError: 0.8},
	} {
		t.Run(name, func(t *testing.T) {
			p := plan(t, r)
			b, err := kitchen.NewBag(p, started, ada, "")
			require.NoError(t, err)
			start, times := b.Started, b.Times
			assert.False(t, start.Before(started), "in no earlier than it was")

			assert.False(t, times.Ready.Before(start.Add(p.Ready)), "ready")
			assert.False(t, times.Ready.Before(start.Add(p.ReadyLate)), "ready at the late end of a guess")
			assert.False(t, times.Early.Before(start.Add(p.Ready)), "early")
			assert.False(t, times.Early.After(times.Ready), "early before ready")
			assert.False(t, times.LastCall.Before(times.Ready), "last call")
			assert.False(t, times.BestBefore.Before(times.LastCall), "best before")
			assert.False(t, times.BestBefore.After(start.Add(max(p.BestBefore, p.ReadyLate+time.Minute))), "best before is not put off")
			assert.False(t, times.Limit.Before(times.BestBefore), "limit")
			if p.Pasteurised.Never {
				assert.Zero(t, times.Pasteurised)
			} else {
				assert.False(t, times.Pasteurised.Before(start.Add(p.Pasteurised.After)), "pasteurised")
			}
			assert.Equal(t, p.Serve, times.Serve)

			got := b.Request
			assert.Equal(t, p.Pieces, got.Pieces)
			assert.Equal(t, p.Doneness, got.Doneness)
			assert.Equal(t, p.Start, got.Start)
			assert.True(t, got.HasSetpoint)
			// What is stored is a step off at most, to the safe side.
			assert.InDelta(t, float64(p.Setpoint), float64(got.Setpoint), 0.01)
			assert.LessOrEqual(t, float64(got.Setpoint), float64(p.Setpoint)+1e-6, "no warmer")
			assert.InDelta(t, p.Thickness.Millimetres(), got.Thickness.Millimetres(), 0.01)
			assert.GreaterOrEqual(t, got.Thickness.Millimetres(), p.Thickness.Millimetres()-1e-6, "no thinner")

			// Planning what the bag holds gives the same bag, within what the stored steps round to the safe side.
			again, err := kitchen.NewBag(plan(t, b.Request), started, ada, "")
			require.NoError(t, err)
			assert.Equal(t, b.Request, again.Request, "what is decided stays decided")
			assert.False(t, again.Times.Ready.Before(times.Ready), "never earlier")
			assert.LessOrEqual(t, again.Times.Ready.Sub(times.Ready), 30*time.Minute, "a step of long cooks at most")
			assert.Equal(t, times.Serve, again.Times.Serve)
		})
	}
}

func TestStateFollowsTheClock(t *testing.T) {
	d := fresh()
	b := put(t, &d, ribeye, evening, evening, ada)
	for _, tt := range []struct {
		at   time.Time
		want kitchen.State
	}{
		{evening, kitchen.Warming},
		{b.Times.Ready.Add(-time.Nanosecond), kitchen.Warming},
		{b.Times.Ready, kitchen.Ready},
		{b.Times.LastCall.Add(-time.Nanosecond), kitchen.Ready},
		{b.Times.LastCall, kitchen.LastCall},
		{b.Times.BestBefore, kitchen.Past},
		{b.Times.Limit.Add(time.Hour), kitchen.Past},
	} {
		assert.Equal(t, tt.want.String(), b.StateAt(tt.at).String(), tt.at.String())
	}
}

func TestRights(t *testing.T) {
	for name, tt := range map[string]struct {
		by   kitchen.Actor
		kind kitchen.Kind
		want error
	}{
		"the starter":                      {starter(ada), kitchen.Kitchen, nil},
		"an admin":                         {kitchen.Actor{Who: bruno, Admin: true}, kitchen.Kitchen, nil},
		"somebody else":                    {starter(bruno), kitchen.Kitchen, kitchen.ErrNotYours},
		"nobody in particular":             {kitchen.Actor{}, kitchen.Kitchen, kitchen.ErrNotYours},
		"whoever is in a private chat":     {starter(bruno), kitchen.Private, nil},
		"a name that looks like hers":      {kitchen.Actor{Who: kitchen.Who{ID: 9, Name: ada.Name}}, kitchen.Kitchen, kitchen.ErrNotYours},
		"the starter under a changed name": {kitchen.Actor{Who: kitchen.Who{ID: ada.ID, Name: "Ada Q."}}, kitchen.Kitchen, nil},
	} {
		t.Run(name, func(t *testing.T) {
			begin := func() (kitchen.Document, kitchen.BagID) {
				d := kitchen.New(tt.kind, "")
				return d, put(t, &d, ribeye, evening, evening, ada).ID
			}
			d, id := begin()
			_, err := d.Drop(id, tt.by, evening)
			assert.ErrorIs(t, err, tt.want, "drop")
			d, id = begin()
			_, err = d.Move(id, evening.Add(-time.Minute), tt.by, evening)
			assert.ErrorIs(t, err, tt.want, "move")
			_, err = d.Rename(id, "x", tt.by)
			assert.ErrorIs(t, err, tt.want, "rename")
			_, err = d.Replan(id, plan(t, salmon), tt.by, evening)
			assert.ErrorIs(t, err, tt.want, "replan")
			_, err = d.Pull(id, tt.by.Who, evening)
			assert.NoError(t, err, "anybody may pull")
		})
	}
	d := fresh()
	id := put(t, &d, ribeye, evening, evening, ada).ID
	require.True(t, d.Forget(ada.ID))
	_, err := d.Drop(id, kitchen.Actor{}, evening)
	assert.ErrorIs(t, err, kitchen.ErrNotYours, "a forgotten starter is not whoever has no number")
}

func TestPullAndUndo(t *testing.T) {
	d := fresh()
	id := put(t, &d, ribeye, evening, evening, ada).ID
	at := evening.Add(80 * time.Minute)
	b, err := d.Pull(id, bruno, at)
	require.NoError(t, err)
	assert.Equal(t, kitchen.Pulled, b.StateAt(at))
	assert.Equal(t, bruno, b.ClosedBy)
	assert.Len(t, d.Log, 1)

	first, err := d.Pull(id, cleo, at.Add(time.Second))
	require.ErrorIs(t, err, kitchen.ErrClosed)
	assert.Equal(t, bruno, first.ClosedBy, "who was first")
	_, err = d.Drop(id, starter(ada), at)
	require.ErrorIs(t, err, kitchen.ErrClosed)

	b, err = d.UndoPull(id, at.Add(kitchen.Undo))
	require.NoError(t, err)
	assert.True(t, b.Running())
	assert.Empty(t, d.Log)
	_, err = d.UndoPull(id, at.Add(kitchen.Undo))
	require.NoError(t, err, "twice is once")

	_, err = d.Pull(id, bruno, at)
	require.NoError(t, err)
	_, err = d.UndoPull(id, at.Add(kitchen.Undo+time.Second))
	require.ErrorIs(t, err, kitchen.ErrTooLate)

	other := put(t, &d, salmon, evening, evening, ada).ID
	_, err = d.Drop(other, starter(ada), evening)
	require.NoError(t, err)
	_, err = d.UndoPull(other, evening)
	require.ErrorIs(t, err, kitchen.ErrTooLate, "a dropped bag was not pulled")
	assert.Len(t, d.Log, 1, "and is not a cook")
	for _, id := range []kitchen.BagID{0, 99} {
		_, err = d.Pull(id, ada, evening)
		require.ErrorIs(t, err, kitchen.ErrNoBag)
	}
}

func TestMoveTakesAllTimesAlong(t *testing.T) {
	d := fresh()
	b := put(t, &d, ribeye, evening, evening, ada)
	moved, err := d.Move(b.ID, evening.Add(-40*time.Minute), starter(ada), evening)
	require.NoError(t, err)
	assert.Equal(t, b.Times.Ready.Add(-40*time.Minute), moved.Times.Ready)
	assert.Equal(t, b.Times.LastCall.Add(-40*time.Minute), moved.Times.LastCall)
	assert.Equal(t, b.Times.BestBefore.Add(-40*time.Minute), moved.Times.BestBefore)
	assert.Equal(t, b.Times.Pasteurised.Add(-40*time.Minute), moved.Times.Pasteurised)
	assert.Equal(t, b.Times.Limit.Add(-40*time.Minute), moved.Times.Limit)
	for name, at := range map[string]time.Time{"to come": evening.Add(2 * time.Minute), "last week": evening.Add(-7 * 24 * time.Hour)} {
		_, err = d.Move(b.ID, at, starter(ada), evening)
		assert.ErrorIs(t, err, kitchen.ErrTime, name)
	}
	bag, err := kitchen.NewBag(plan(t, ribeye), evening.Add(time.Hour), ada, "")
	require.NoError(t, err)
	_, err = d.StartBag(bag, evening)
	assert.ErrorIs(t, err, kitchen.ErrTime, "a bag that is not in yet")
}

func TestCapOnBags(t *testing.T) {
	d := fresh()
	seen := map[kitchen.BagID]bool{}
	for range kitchen.MaxRunning {
		seen[put(t, &d, salmon, evening, evening, ada).ID] = true
	}
	assert.Len(t, seen, kitchen.MaxRunning, "ids differ")
	bag, err := kitchen.NewBag(plan(t, ribeye), evening, ada, "")
	require.NoError(t, err)
	_, err = d.StartBag(bag, evening)
	require.ErrorIs(t, err, kitchen.ErrFull)
	for id := range seen {
		_, err := d.Pull(id, ada, evening)
		require.NoError(t, err)
		bag, err := d.StartBag(bag, evening)
		require.NoError(t, err, "one out, one in")
		require.False(t, seen[bag.ID], "ids are not given out again")
	}
	for range 10 { // a day of coming and going does not overfill it
		for _, b := range d.Running() {
			_, err := d.Pull(b.ID, ada, evening)
			require.NoError(t, err)
			_, err = d.StartBag(bag, evening)
			require.NoError(t, err)
		}
	}
	assert.Len(t, d.Running(), kitchen.MaxRunning)
	encode(t, d)
}

func TestIDsGoRound(t *testing.T) {
	d := fresh()
	stays := put(t, &d, chuck, evening, evening, ada).ID
	d.LastBag = 65534
	assert.EqualValues(t, 65535, put(t, &d, salmon, evening, evening, ada).ID)
	assert.EqualValues(t, 2, put(t, &d, salmon, evening, evening, ada).ID, "0 is none and 1 is taken")
	assert.EqualValues(t, 1, stays)
}

func TestConflicts(t *testing.T) {
	d := fresh()
	assert.Nil(t, kitchen.Conflicts(d))
	a := put(t, &d, ask("beef-ribeye", 30, 55.5), evening, evening, ada).ID
	b := put(t, &d, ask("beef-strip-steak", 30, 55.56), evening, evening, ada).ID // 132 °F
	assert.Nil(t, kitchen.Conflicts(d), "one bath does for both")
	c := put(t, &d, salmon, evening, evening, bruno).ID
	assert.Equal(t, []kitchen.Shared{
		{Setpoint: 50.5, Bags: []kitchen.BagID{c}},
		{Setpoint: 55.5, Bags: []kitchen.BagID{a, b}},
	}, kitchen.Conflicts(d))
	_, err := d.Pull(c, bruno, evening)
	require.NoError(t, err)
	assert.Nil(t, kitchen.Conflicts(d))
}

// rulebook refuses or breaks as told, and plans otherwise.
type rulebook struct {
	err error
	t   *testing.T
}

func (r rulebook) Plan(q cook.Request) (*cook.Plan, error) {
	if r.err != nil {
		return nil, r.err
	}
	return plan(r.t, q), nil
}

func TestRecompute(t *testing.T) {
	later := evening.Add(20 * time.Minute)
	begin := func() (kitchen.Document, kitchen.Bag) {
		d := fresh()
		return d, put(t, &d, breast, evening, evening, ada)
	}
	t.Run("nothing changed", func(t *testing.T) {
		d, _ := begin()
		assert.Empty(t, d.Recompute(rulebook{t: t}, later))
	})
	t.Run("a still pot and a thermometer that is off take longer", func(t *testing.T) {
		d, b := begin()
		s := d.Settings
		s.StillPot, s.ThermometerError = true, 1
		require.NoError(t, d.SetSettings(s))
		changes := d.Recompute(rulebook{t: t}, later)
		require.Len(t, changes, 1)
		assert.Equal(t, b, changes[0].Before)
		assert.True(t, changes[0].After.Times.Ready.After(b.Times.Ready))
		assert.GreaterOrEqual(t, changes[0].Moved(), changes[0].After.Times.Ready.Sub(b.Times.Ready))
		got, _ := d.Bag(b.ID)
		assert.Equal(t, changes[0].After, got)
	})
	t.Run("what lies ahead again is told again", func(t *testing.T) {
		d, b := begin()
		require.Len(t, tell(t, &d, b.Times.Ready).Items, 1)
		s := d.Settings
		s.StillPot = true
		require.NoError(t, d.SetSettings(s))
		changes := d.Recompute(rulebook{t: t}, b.Times.Ready.Add(time.Minute))
		require.Len(t, changes, 1)
		assert.Equal(t, changes[0].After.Times.Ready, kitchen.Next(d))
	})
	for name, tt := range map[string]struct {
		err  error
		want cook.RuleID
	}{
		"a rule refuses it":    {&cook.Refusal{Rule: cook.RefuseComeUp}, cook.RefuseComeUp},
		"the model has failed": {errors.New("no solution"), kitchen.TroubleUnknown},
	} {
		t.Run(name, func(t *testing.T) {
			d, b := begin()
			require.Len(t, d.Recompute(rulebook{err: tt.err, t: t}, later), 1)
			got, ok := d.Bag(b.ID)
			require.True(t, ok, "flagged, not lost")
			assert.Equal(t, tt.want, got.Trouble)
			assert.Equal(t, kitchen.Doubtful, got.StateAt(later))
			assert.Equal(t, kitchen.Warming, got.StateAt(later.Add(-time.Second)))
			assert.False(t, got.PasteurisedBy(b.Times.Pasteurised), "no claim is left")
			assert.Empty(t, d.Recompute(rulebook{err: tt.err, t: t}, later.Add(time.Minute)), "refused once")

			news := tell(t, &d, later)
			require.Equal(t, []kitchen.ItemKind{kitchen.BagUnsafe}, kinds(news))
			assert.True(t, news.Urgent)
			assert.Zero(t, kitchen.Next(d), "a bag that may not be eaten is not called ready")

			require.Len(t, d.Recompute(rulebook{t: t}, later.Add(2*time.Minute)), 1, "and back")
			got, _ = d.Bag(b.ID)
			assert.Empty(t, got.Trouble)
			assert.Equal(t, got.Times.Ready, kitchen.Next(d))
		})
	}
}

func TestReplanAndRename(t *testing.T) {
	d := fresh()
	b := put(t, &d, ribeye, evening, evening, ada)
	thick := ribeye
	thick.Thickness = quantity.Millimetres(45)
	got, err := d.Replan(b.ID, plan(t, thick), starter(ada), evening.Add(time.Minute))
	require.NoError(t, err)
	assert.Equal(t, b.Started, got.Started)
	assert.True(t, got.Times.Ready.After(b.Times.Ready))

	got, err = d.Rename(b.ID, "  the\nbig\x00 one  ", starter(ada))
	require.NoError(t, err)
	assert.Equal(t, "the big  one", got.Name)
	got, err = d.Rename(b.ID, strings.Repeat("ü", 100), starter(ada))
	require.NoError(t, err)
	assert.Equal(t, strings.Repeat("ü", kitchen.MaxName/2), got.Name, "cut between letters")
	encode(t, d)
}

func TestSetTimes(t *testing.T) {
	d := fresh()
	b := put(t, &d, ribeye, evening, evening, ada)
	tell(t, &d, b.Times.Ready)
	want := b.Times
	want.Ready, want.Early = b.Times.Ready.Add(20*time.Minute), b.Times.Ready.Add(20*time.Minute)
	now := b.Times.Ready.Add(time.Minute)
	_, err := d.SetTimes(b.ID, want, now)
	require.NoError(t, err)
	assert.Equal(t, want.Ready, kitchen.Next(d), "what lies ahead again is told again")
	want.LastCall = want.BestBefore.Add(time.Second)
	_, err = d.SetTimes(b.ID, want, now)
	require.ErrorIs(t, err, kitchen.ErrTime)
	want.Serve = "raw"
	_, err = d.SetTimes(b.ID, want, now)
	require.ErrorIs(t, err, kitchen.ErrValue)
}

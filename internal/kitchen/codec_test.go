package kitchen_test

import (
	"bytes"
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/internal/cook"
	"bagwatch/internal/food"
	"bagwatch/internal/kitchen"
	"bagwatch/internal/quantity"
)

var update = flag.Bool("update", false, "write the sample of the present version anew")

// TestSamples holds every version ever written to what it meant.
func TestSamples(t *testing.T) {
	for name, want := range map[string]kitchen.Document{"v1.bin": sampleV1(), "v2.bin": sampleV2()} {
		t.Run(name, func(t *testing.T) {
			path := filepath.Join("testdata", name)
			if *update && name == "v2.bin" {
				require.NoError(t, os.WriteFile(path, encode(t, want), 0o644))
			}
			b, err := os.ReadFile(path)
			require.NoError(t, err)
			got, err := kitchen.Decode(b)
			require.NoError(t, err)
			assert.Equal(t, want, got)
			if name == "v2.bin" { // the version written now: its bytes are fixed as well
				assert.Equal(t, b, encode(t, got))
			}
		})
	}
}

// TestEveryFieldIsStored zeroes each field of the full document in turn: what is left must come back
// unchanged, and must not be stored as the full document is.
func TestEveryFieldIsStored(t *testing.T) {
	full := encode(t, sampleV2())
	tried := 0
	leaves(t, func(path string, zero func(*kitchen.Document)) {
		d := sampleV2()
		zero(&d)
		b, err := kitchen.Encode(d)
		if err != nil {
			require.ErrorIs(t, err, kitchen.ErrValue, path)
			return // such as a bag without a start: no document
		}
		tried++
		assert.False(t, bytes.Equal(full, b), path)
		back, err := kitchen.Decode(b)
		assert.NoError(t, err, path)
		assert.True(t, reflect.DeepEqual(d, back), "%s: not what was written", path)
	})
	assert.Greater(t, tried, 90, "most fields can be empty")
}

// leaves visits every field of the full document that holds a value, and fails where the full document
// leaves one empty.
func leaves(t *testing.T, visit func(path string, zero func(*kitchen.Document))) {
	t.Helper()
	sample := sampleV2()
	var walk func(path string, v reflect.Value, at func(*kitchen.Document) reflect.Value)
	walk = func(path string, v reflect.Value, at func(*kitchen.Document) reflect.Value) {
		_, isTime := v.Interface().(time.Time)
		switch {
		case v.Kind() == reflect.Struct && !isTime:
			for i := range v.NumField() {
				walk(path+"."+v.Type().Field(i).Name, v.Field(i), func(d *kitchen.Document) reflect.Value { return at(d).Field(i) })
			}
		case v.Kind() == reflect.Slice && v.Type().Elem().Kind() == reflect.Struct:
			require.NotZero(t, v.Len(), path)
			walk(path, v.Index(0), func(d *kitchen.Document) reflect.Value { return at(d).Index(0) })
		default:
			require.False(t, v.IsZero(), "%s is empty in the sample: set it, in a new sample of a new version", path)
			visit(path, func(d *kitchen.Document) { at(d).SetZero() })
		}
	}
	// The diary's first kind is 0; the sample has another. Nothing else is exempt.
	walk("Document", reflect.ValueOf(sample), func(d *kitchen.Document) reflect.Value { return reflect.ValueOf(d).Elem() })
}

func TestSize(t *testing.T) {
	d := fresh()
	d.Settings.Zone, d.Settings.Language = "Europe/Berlin", "de"
	empty := len(encode(t, d))
	bag := func(r cook.Request, who kitchen.Who, name string) {
		b, err := kitchen.NewBag(plan(t, r), evening, who, name)
		require.NoError(t, err)
		_, err = d.StartBag(b, evening)
		require.NoError(t, err)
	}
	bag(ribeye, ada, "the big one")
	one := len(encode(t, d)) - empty
	bag(cook.Request{Food: "chicken-breast", Mass: quantity.Grams(620), Pieces: 3, Start: cook.StartFrozen}, bruno, "Sunday")
	for i := range 8 {
		d.MarkApplied(fmt.Sprintf("1234567/%d", i), evening.Add(time.Duration(i)*time.Minute))
	}
	d.Card = kitchen.Card{Message: 1204}
	two := len(encode(t, d))
	t.Logf("empty %d, a bag with name and starter %d, two bags with 8 keys and a card %d bytes", empty, one, two)
	assert.LessOrEqual(t, one, 150, "the target for a bag")
	assert.LessOrEqual(t, two, 450, "the target for two")
}

// TestCapsBoundTheSize fills every list to its cap with the longest that may be in it.
func TestCapsBoundTheSize(t *testing.T) {
	id, long := food.ID(strings.Repeat("f", 40)), strings.Repeat("ü", kitchen.MaxName/2)
	sample := sampleV2()
	d := sample
	d.Dinner.Dishes, d.Dinner.Shifts, d.Dinner.Marks = nil, nil, nil
	d.Bags, d.Diary, d.Kept, d.Steps, d.Log, d.Recents, d.Groups, d.Keys, d.Counts = nil, nil, nil, nil, nil, nil, nil, nil, nil
	person := math.MinInt64
	who := func() kitchen.Who {
		person++
		return kitchen.Who{ID: kitchen.PersonID(person), Name: long}
	}
	for i := range 64 {
		b := sample.Bags[0]
		b.ID, b.Name, b.Starter, b.ClosedBy = kitchen.BagID(65000+i), long, who(), who()
		b.Request.Food, b.Request.Doneness = id, food.Doneness(id)
		d.Bags = append(d.Bags, b)
	}
	for range kitchen.MaxDiary {
		e := sample.Diary[0]
		e.By = who()
		d.Diary = append(d.Diary, e)
	}
	for range kitchen.MaxKept {
		k := sample.Kept[0]
		k.By, k.Name, k.Food = who(), long, id
		d.Kept = append(d.Kept, k)
	}
	for range kitchen.MaxSteps {
		s := sample.Steps[0]
		s.By, s.Ref, s.What = who(), long, string(id)
		d.Steps = append(d.Steps, s)
		d.Dinner.Marks = append(d.Dinner.Marks, kitchen.Mark{What: string(id), By: who(), Done: evening})
	}
	for range kitchen.MaxDishes {
		r := sample.Dinner.Dishes[0]
		r.Food, r.Doneness = id, food.Doneness(id)
		d.Dinner.Dishes = append(d.Dinner.Dishes, r)
	}
	for range kitchen.MaxShifts {
		d.Dinner.Shifts = append(d.Dinner.Shifts, sample.Dinner.Shifts[0])
	}
	for range kitchen.MaxLog {
		c := sample.Log[0]
		c.Name, c.Note, c.Food = long, strings.Repeat("x", kitchen.MaxNote), id
		d.Log = append(d.Log, c)
	}
	for i := range 256 {
		d.Keys = append(d.Keys, kitchen.Key{Digest: [6]byte{byte(i)}, At: evening})
	}
	for i := range kitchen.MaxGroups {
		d.Groups = append(d.Groups, kitchen.ChatID(math.MinInt64+i))
	}
	for range kitchen.MaxRecents {
		d.Recents = append(d.Recents, sample.Recents[0])
	}
	b := encode(t, d)
	t.Logf("%d bytes of at most %d", len(b), kitchen.MaxBytes)
	assert.Greater(t, len(b), 30_000, "the lists were filled")
	back, err := kitchen.Decode(b)
	require.NoError(t, err)
	assert.Equal(t, d, back)
}

func TestDecodeRefuses(t *testing.T) {
	good := encode(t, sampleV2())
	for name, tt := range map[string]struct {
		bytes []byte
		want  error
	}{
		"nothing":                    {nil, kitchen.ErrCorrupt},
		"version nought":             {[]byte{0, 0}, kitchen.ErrCorrupt},
		"a later version":            {append([]byte{3}, good[1:]...), kitchen.ErrNewer},
		"more than a document holds": {make([]byte, kitchen.MaxBytes+1), kitchen.ErrCorrupt},
		"something after the end":    {append(append([]byte{}, good...), 1), kitchen.ErrCorrupt},
		"an unknown section":         {[]byte{1, 0, 200, 1, 0}, kitchen.ErrCorrupt},
		"a list longer than its cap": {[]byte{1, 0, 3, 2, 200, 1}, kitchen.ErrCorrupt},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := kitchen.Decode(tt.bytes)
			assert.ErrorIs(t, err, tt.want)
		})
	}
	for n := range good {
		d, err := kitchen.Decode(good[:n])
		if err == nil { // cut between two sections: shorter, but whole
			assert.NotEqual(t, sampleV2(), d)
			continue
		}
		require.ErrorIs(t, err, kitchen.ErrCorrupt, "cut after %d bytes", n)
	}
}

func TestEncodeRefuses(t *testing.T) {
	for name, spoil := range map[string]func(*kitchen.Document){
		"a figure off its step":          func(d *kitchen.Document) { d.Bags[0].Request.Setpoint = 55.503 },
		"no number":                      func(d *kitchen.Document) { d.Settings.Litres = quantity.Volume(math.NaN()) },
		"a temperature beyond all":       func(d *kitchen.Document) { d.Diary[0].Temperature = quantity.Temperature(math.Inf(1)) },
		"a name too long":                func(d *kitchen.Document) { d.Bags[0].Name = strings.Repeat("n", kitchen.MaxName+1) },
		"a name that is no text":         func(d *kitchen.Document) { d.Bags[0].Name = "\xff" },
		"times out of order":             func(d *kitchen.Document) { d.Bags[0].Times.LastCall = evening },
		"part of a second":               func(d *kitchen.Document) { d.Bags[0].Started = evening.Add(time.Millisecond) },
		"a way to serve nobody knows":    func(d *kitchen.Document) { d.Bags[0].Times.Serve = "raw" },
		"more bags than a chat can hold": func(d *kitchen.Document) { d.Bags = make([]kitchen.Bag, 100) },
	} {
		t.Run(name, func(t *testing.T) {
			d := sampleV1()
			spoil(&d)
			_, err := kitchen.Encode(d)
			assert.ErrorIs(t, err, kitchen.ErrValue)
		})
	}
}

// FuzzDecode: never panics, and what it reads it writes and reads again as the same.
func FuzzDecode(f *testing.F) {
	f.Add(encode(f, sampleV1()))
	f.Add(encode(f, sampleV2()))
	f.Add(encode(f, fresh()))
	d := fresh()
	put(f, &d, ribeye, evening, evening, ada)
	put(f, &d, chuck, evening, evening, ada)
	f.Add(encode(f, d))
	f.Fuzz(func(t *testing.T, b []byte) {
		d, err := kitchen.Decode(b)
		if err != nil {
			return
		}
		again, err := kitchen.Encode(d)
		require.NoError(t, err)
		require.LessOrEqual(t, len(again), kitchen.MaxBytes)
		back, err := kitchen.Decode(again)
		require.NoError(t, err)
		require.Equal(t, d, back)
		// Nor does any document make the rest panic.
		next := kitchen.Next(d)
		_, after := kitchen.Due(d, next)
		_, err = kitchen.Export(after)
		require.NoError(t, err)
		after = after.Clone()
		after.Expire(evening)
		_, err = kitchen.Encode(after)
		require.NoError(t, err)
	})
}

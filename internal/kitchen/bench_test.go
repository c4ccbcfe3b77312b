package kitchen_test

import (
	"fmt"
	"testing"
	"time"

	"bagwatch/internal/kitchen"
)

// pair is a kitchen with two bags and a day's keys, as many are.
func pair(b *testing.B) kitchen.Document {
	d := fresh()
	put(b, &d, ribeye, evening, evening, ada)
	put(b, &d, breast, evening, evening, bruno)
	for i := range 8 {
		d.MarkApplied(fmt.Sprint(i), evening)
	}
	return d
}

func BenchmarkEncode(b *testing.B) {
	d := pair(b)
	b.ReportAllocs()
	for b.Loop() {
		data, err := kitchen.Encode(d)
		if err != nil {
			b.Fatal(err)
		}
		b.SetBytes(int64(len(data)))
	}
}

func BenchmarkDecode(b *testing.B) {
	data := encode(b, pair(b))
	b.SetBytes(int64(len(data)))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := kitchen.Decode(data); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkDue(b *testing.B) {
	d := pair(b)
	next := kitchen.Next(d)
	night := d.Clone()
	night.Settings.Zone, night.Settings.Quiet = "Europe/Berlin", kitchen.Quiet{From: 22 * 60, To: 7 * 60}
	for _, bb := range []struct {
		name string
		d    kitchen.Document
		at   time.Time
		some bool
	}{
		{"nothing", d, next.Add(-1), false},
		{"one bag", d, next, true},
		{"one bag, with quiet hours", night, next, true},
	} {
		b.Run(bb.name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				news, after := kitchen.Due(bb.d, bb.at)
				if news.Empty() == bb.some || kitchen.Next(after).IsZero() {
					b.Fatal("not what was to be measured")
				}
			}
		})
	}
}

package store_test

import (
	"context"
	"errors"
	"fmt"
	"time"

	"bagwatch/internal/store"
)

// A change is loaded, made and saved; a conflict starts it over.
func ExampleMemory_Save() {
	ctx := context.Background()
	now := time.Date(2031, 5, 1, 18, 0, 0, 0, time.UTC)
	s := store.NewMemory(func() time.Time { return now })
	const quayStreet = store.ChatID(-100123)
	for {
		doc, err := s.Load(ctx, quayStreet)
		if err != nil && !errors.Is(err, store.ErrNone) {
			fmt.Println(err)
			return
		}
		doc.Data = append(doc.Data, "ribeye;"...)
		doc.Next = now.Add(75 * time.Minute)
		if _, err = s.Save(ctx, quayStreet, doc, store.Fence{}); errors.Is(err, store.ErrConflict) {
			continue
		}
		break
	}
	due, _, _ := s.Due(ctx, []int{store.Partition(quayStreet)}, now.Add(2*time.Hour), 10)
	fmt.Println(due[0].Chat, due[0].At.Format(time.TimeOnly))
	// Output: -100123 19:15:00
}

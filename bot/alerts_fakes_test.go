package bot_test

import (
	"context"
	"fmt"
	"sync"
	"sync/atomic"
	"time"

	"bagwatch/bot"
	"bagwatch/internal/store"
)

// outage is a store that can go away; for good it is what a killed process has.
type outage struct {
	bot.AlertStore
	down  atomic.Bool
	calls atomic.Int64
}

func (o *outage) err() error {
	o.calls.Add(1)
	if o.down.Load() {
		return fmt.Errorf("fake: %w", store.ErrUnavailable)
	}
	return nil
}

func (o *outage) Load(ctx context.Context, chat store.ChatID) (store.Document, error) {
	if err := o.err(); err != nil {
		return store.Document{}, err
	}
	return o.AlertStore.Load(ctx, chat)
}

func (o *outage) Save(ctx context.Context, chat store.ChatID, doc store.Document, f store.Fence) (uint64, error) {
	if err := o.err(); err != nil {
		return 0, err
	}
	return o.AlertStore.Save(ctx, chat, doc, f)
}

func (o *outage) Due(ctx context.Context, p []int, now time.Time, limit int) ([]store.DueEntry, time.Time, error) {
	if err := o.err(); err != nil {
		return nil, time.Time{}, err
	}
	return o.AlertStore.Due(ctx, p, now, limit)
}

func (o *outage) Acquire(ctx context.Context, holder string, p []int, ttl time.Duration) ([]store.Lease, error) {
	if err := o.err(); err != nil {
		return nil, err
	}
	return o.AlertStore.Acquire(ctx, holder, p, ttl)
}

func (o *outage) Renew(ctx context.Context, l []store.Lease, ttl time.Duration) ([]store.Lease, error) {
	if err := o.err(); err != nil {
		return nil, err
	}
	return o.AlertStore.Renew(ctx, l, ttl)
}

func (o *outage) Release(ctx context.Context, l []store.Lease) error {
	if err := o.err(); err != nil {
		return err
	}
	return o.AlertStore.Release(ctx, l)
}

func (o *outage) Holders(ctx context.Context) ([store.Partitions]string, error) {
	if err := o.err(); err != nil {
		return [store.Partitions]string{}, err
	}
	return o.AlertStore.Holders(ctx)
}

// sealed is a store whose chats were sealed with another key.
type sealed struct{ *store.Memory }

func (s sealed) Load(ctx context.Context, chat store.ChatID) (store.Document, error) {
	if chat == 0 { // who shares the work
		return s.Memory.Load(ctx, chat)
	}
	return store.Document{}, fmt.Errorf("fake: %w", store.ErrKey)
}

// slowly lets one message out every gap.
type slowly struct {
	bot.Messenger
	gap time.Duration

	mu   sync.Mutex
	next time.Time
}

func (s *slowly) Send(ctx context.Context, to bot.Chat, m bot.Message) (bot.MessageID, error) {
	s.mu.Lock()
	now := time.Now()
	if s.next.Before(now) {
		s.next = now
	}
	wait := s.next.Sub(now)
	s.next = s.next.Add(s.gap)
	s.mu.Unlock()
	time.Sleep(wait)
	return s.Messenger.Send(ctx, to, m)
}

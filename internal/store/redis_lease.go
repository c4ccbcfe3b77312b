package store

import (
	"context"
	"fmt"
	"strconv"
	"time"

	"github.com/redis/go-redis/v9"
)

// Acquire takes the leases of those partitions that are free, or held by this holder
// already, for ttl, and returns the leases gained; the others belong to somebody else.
// An error comes with the leases that were gained nevertheless.
func (r *Redis) Acquire(ctx context.Context, holder string, partitions []int, ttl time.Duration) ([]Lease, error) {
	if err := checkLease(holder, partitions, ttl); err != nil {
		return nil, fmt.Errorf("acquire leases: %w", err)
	}
	asked := make([]Lease, len(partitions))
	for i, p := range partitions {
		asked[i] = Lease{Fence{Partition: p}, holder}
	}
	got, err := r.leases(ctx, "acquire", asked, ttl)
	if err != nil {
		return got, fmt.Errorf("acquire leases: %w", err)
	}
	return got, nil
}

// Renew extends the leases by ttl from now and returns those still held, even if they
// had run out, as long as nobody else took them. Without an error, a lease that is
// missing from the answer is lost; with one, it is not known.
func (r *Redis) Renew(ctx context.Context, leases []Lease, ttl time.Duration) ([]Lease, error) {
	if err := checkHeld(leases, ttl); err != nil {
		return nil, fmt.Errorf("renew leases: %w", err)
	}
	kept, err := r.leases(ctx, "renew", leases, ttl)
	if err != nil {
		return kept, fmt.Errorf("renew leases: %w", err)
	}
	return kept, nil
}

// Release gives the leases back, so that another can take them at once, and fences
// whatever was still to be committed under them. Leases lost already are passed over.
func (r *Redis) Release(ctx context.Context, leases []Lease) error {
	if err := checkHeld(leases, time.Second); err != nil {
		return fmt.Errorf("release leases: %w", err)
	}
	if _, err := r.leases(ctx, "release", leases, time.Second); err != nil {
		return fmt.Errorf("release leases: %w", err)
	}
	return nil
}

// leases runs lease.lua for each lease in one pipeline and returns those held after it.
// The script is sent as text each time: that is some hundred bytes every few seconds
// and spares the answer "no such script" within a pipeline.
func (r *Redis) leases(ctx context.Context, action string, leases []Lease, ttl time.Duration) ([]Lease, error) {
	if len(leases) == 0 {
		return nil, nil
	}
	call, cancel := context.WithTimeout(ctx, r.timeout)
	defer cancel()
	pipe := r.client.Pipeline()
	answers := make([]*redis.Cmd, len(leases))
	for i, l := range leases {
		epoch := ""
		if action != "acquire" {
			epoch = strconv.FormatUint(l.Epoch, 10)
		}
		answers[i] = pipe.Eval(call, leaseSource, []string{r.keys.lease(l.Partition), r.keys.epoch(l.Partition)},
			action, l.Holder, ttl.Milliseconds(), epoch)
	}
	_, err := pipe.Exec(call)
	var held []Lease
	for i, l := range leases {
		if epoch, err := answers[i].Uint64(); err == nil && epoch > 0 {
			held = append(held, Lease{Fence{l.Partition, epoch}, l.Holder})
		}
	}
	return held, r.outcome(ctx, err)
}

// Holders names who holds each partition, "" for nobody.
func (r *Redis) Holders(ctx context.Context) ([Partitions]string, error) {
	var names [Partitions]string
	call, cancel := context.WithTimeout(ctx, r.timeout)
	defer cancel()
	pipe := r.client.Pipeline()
	var answers [Partitions]*redis.StringCmd
	for p := range names {
		answers[p] = pipe.Get(call, r.keys.lease(p))
	}
	_, err := pipe.Exec(call)
	if err == redis.Nil { //nolint:errorlint // the pipeline reports its first error, and an absent lease is none
		err = nil
	}
	for p, a := range answers {
		names[p] = a.Val()
		if e := a.Err(); e != nil && e != redis.Nil {
			err = e
		}
	}
	if err := r.outcome(ctx, err); err != nil {
		return names, fmt.Errorf("list holders: %w", err)
	}
	return names, nil
}

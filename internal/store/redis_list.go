package store

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strconv"
	"sync"
	"time"

	"github.com/redis/go-redis/v9"
)

// Due lists the chats of the partitions whose next event is at or before now, oldest
// first and at most limit of them, and when the first of the others falls due (the
// zero time: never; not after now: there are more, ask again). It is one pipeline.
// When part of a cluster does not answer, the error comes with what the rest told.
func (r *Redis) Due(ctx context.Context, partitions []int, now time.Time, limit int) ([]DueEntry, time.Time, error) {
	if err := checkDue(partitions, limit); err != nil {
		return nil, time.Time{}, fmt.Errorf("list due: %w", err)
	}
	if len(partitions) == 0 {
		return nil, time.Time{}, nil
	}
	call, cancel := context.WithTimeout(ctx, r.timeout)
	defer cancel()
	pipe := r.client.Pipeline()
	due, later := make([]*redis.ZSliceCmd, len(partitions)), make([]*redis.ZSliceCmd, len(partitions))
	at := strconv.FormatInt(now.UnixMilli(), 10)
	for i, p := range partitions {
		key := r.keys.due(p)
		due[i] = pipe.ZRangeByScoreWithScores(call, key, &redis.ZRangeBy{Min: "-inf", Max: at, Count: int64(limit) + 1})
		later[i] = pipe.ZRangeByScoreWithScores(call, key, &redis.ZRangeBy{Min: "(" + at, Max: "+inf", Count: 1})
	}
	_, err := pipe.Exec(call)
	var entries []DueEntry
	var next time.Time
	for i := range partitions {
		for _, z := range due[i].Val() {
			e, ok := dueEntry(z)
			if !ok {
				r.log.Error("due list holds no chat", "partition", partitions[i])
				continue
			}
			entries = append(entries, e)
		}
		for _, z := range later[i].Val() {
			next = earliest(next, fromScore(z.Score))
		}
	}
	entries, next = cut(entries, next, limit)
	if err := r.outcome(ctx, err); err != nil {
		return entries, next, fmt.Errorf("list due: %w", err)
	}
	return entries, next, nil
}

func dueEntry(z redis.Z) (DueEntry, bool) {
	member, _ := z.Member.(string)
	id, err := strconv.ParseInt(member, 10, 64)
	return DueEntry{ChatID(id), fromScore(z.Score)}, err == nil
}

// fromScore reads a score, an integer below 2^53, exactly.
func fromScore(score float64) time.Time { return fromMillis(int64(math.Ceil(score))) }

// scanBatch is about how many keys one SCAN looks at, so that no call holds up the
// server for long.
const scanBatch = 1000

// Scan calls visit for every chat that has a document, in no order, and stops at its
// first error. A chat can come twice; one that comes or goes meanwhile may or may not
// be seen. visit may use the store.
func (r *Redis) Scan(ctx context.Context, visit func(ChatID) error) error {
	cluster, ok := r.client.(*redis.ClusterClient)
	if !ok {
		return r.scan(ctx, r.client, visit)
	}
	var one sync.Mutex // the nodes are read at the same time, the visits come one by one
	err := cluster.ForEachMaster(ctx, func(ctx context.Context, node *redis.Client) error {
		return r.scan(ctx, node, func(chat ChatID) error {
			one.Lock()
			defer one.Unlock()
			return visit(chat)
		})
	})
	if err != nil {
		return fmt.Errorf("scan chats: %w", err)
	}
	return nil
}

func (r *Redis) scan(ctx context.Context, node redis.Cmdable, visit func(ChatID) error) error {
	for cursor := uint64(0); ; {
		names, next, err := r.scanPage(ctx, node, cursor)
		if err != nil {
			return fmt.Errorf("scan chats: %w", err)
		}
		for _, name := range names {
			if chat, ok := r.keys.chat(name); ok {
				if err := visit(chat); err != nil {
					return err
				}
			}
		}
		if cursor = next; cursor == 0 {
			return nil
		}
	}
}

func (r *Redis) scanPage(ctx context.Context, node redis.Cmdable, cursor uint64) ([]string, uint64, error) {
	call, cancel := context.WithTimeout(ctx, r.timeout)
	defer cancel()
	names, next, err := node.Scan(call, cursor, r.keys.docs(), scanBatch).Result()
	return names, next, r.outcome(ctx, err)
}

// Rotate seals every document that is plain or sealed with an older key with the first
// key (or makes it plain if there is none), and returns how many it changed. It can run
// beside everything else, and again after it was stopped. When it returns without an
// error, the older keys are not needed any more, backups aside.
func (r *Redis) Rotate(ctx context.Context) (int, error) {
	changed := 0
	err := r.Scan(ctx, func(chat ChatID) error {
		for {
			value, err := r.value(ctx, chat)
			if errors.Is(err, ErrNone) || err == nil && current(r.data, value) {
				return nil
			}
			if err != nil {
				return fmt.Errorf("rotate chat %d: %w", chat, err)
			}
			rec, err := decode(r.data, chat, value)
			if err != nil {
				return fmt.Errorf("rotate chat %d: %w", chat, err)
			}
			_, err = r.Save(ctx, chat, rec.document(), Fence{})
			if errors.Is(err, ErrConflict) {
				continue // somebody else saved it, with the first key if they have it
			}
			if err == nil {
				changed++
			}
			return err
		}
	})
	return changed, err
}

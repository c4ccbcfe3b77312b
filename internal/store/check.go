package store

import (
	"context"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"sync"

	"github.com/redis/go-redis/v9"
)

// Health is what a store says about its own safety. Of a cluster it shows the worst of
// the nodes.
type Health struct {
	Version     string // of the server; "" when there is none
	AppendOnly  bool   // commits are written to a log
	AppendFsync string // when that log reaches the disk; "" when it may not be read
	Eviction    string // what is thrown out when memory is full; noeviction is right
	// Problems are sentences for operators, worst first; empty when all is well.
	Problems []string
	// Advice are the lines for the server's configuration that solve them.
	Advice []string
}

// Check asks the server, or each master of a cluster, whether it is of version 7.0 or
// later and keeps what it acknowledges. It returns [ErrVersion], [ErrVolatile] (which
// an operator may accept), or [ErrUnavailable]; the error's text holds the advice. A
// log that reaches the disk only once a second is a problem shown, not an error: it
// survives the end of the process, not that of the machine.
func (r *Redis) Check(ctx context.Context) (Health, error) {
	call, cancel := context.WithTimeout(ctx, r.timeout)
	defer cancel()
	var h Health
	var err error
	if cluster, ok := r.client.(*redis.ClusterClient); ok {
		var one sync.Mutex
		all := []Health{}
		err = cluster.ForEachMaster(call, func(ctx context.Context, node *redis.Client) error {
			h, err := examine(ctx, node)
			one.Lock()
			defer one.Unlock()
			all = append(all, h)
			return err
		})
		for i, node := range all {
			if i == 0 || severity(node) > severity(h) {
				h = node
			}
		}
	} else {
		h, err = examine(call, r.client)
	}
	if err := r.outcome(ctx, err); err != nil {
		return Health{}, fmt.Errorf("check store: %w", err)
	}
	switch severity(h) {
	case 3:
		return h, fmt.Errorf("check store: %w: version %s, need 7.0", ErrVersion, h.Version)
	case 2:
		return h, fmt.Errorf("check store: %w: %s; set %s", ErrVolatile,
			strings.Join(h.Problems, ", "), strings.Join(h.Advice, " and "))
	}
	return h, nil
}

// severity ranks: 3 unusable, 2 volatile, 1 could be better, 0 well.
func severity(h Health) int {
	major, _, _ := strings.Cut(h.Version, ".")
	n, err := strconv.Atoi(major)
	switch {
	case err != nil || n < 7:
		return 3
	case !h.AppendOnly || h.Eviction != "noeviction":
		return 2
	case len(h.Problems) > 0:
		return 1
	}
	return 0
}

// errInfo reports a server whose INFO lacks what every Redis 7 tells.
var errInfo = errors.New("store: INFO tells no version, persistence or eviction policy")

// examine reads INFO, and the one setting INFO does not tell if CONFIG is allowed.
func examine(ctx context.Context, node redis.Cmdable) (Health, error) {
	text, err := node.Info(ctx).Result()
	if err != nil {
		return Health{}, err
	}
	info := map[string]string{}
	for line := range strings.Lines(text) {
		if name, value, ok := strings.Cut(strings.TrimSpace(line), ":"); ok {
			info[name] = value
		}
	}
	h := Health{Version: info["redis_version"], AppendOnly: info["aof_enabled"] == "1", Eviction: info["maxmemory_policy"]}
	if h.Version == "" || info["aof_enabled"] == "" || h.Eviction == "" {
		return Health{}, errInfo
	}
	if set, err := node.ConfigGet(ctx, "appendfsync").Result(); err == nil { // often forbidden
		h.AppendFsync = set["appendfsync"]
	}
	if !h.AppendOnly {
		h.Problems = append(h.Problems, "commits are not written to an append-only log")
		h.Advice = append(h.Advice, "appendonly yes", "appendfsync always")
	} else if h.AppendFsync != "" && h.AppendFsync != "always" {
		h.Problems = append(h.Problems, "the last second can be lost if the machine stops")
		h.Advice = append(h.Advice, "appendfsync always")
	}
	if h.Eviction != "noeviction" {
		h.Problems = append(h.Problems, "documents are thrown out when memory is full")
		h.Advice = append(h.Advice, "maxmemory-policy noeviction")
	}
	if s := info["aof_last_write_status"]; h.AppendOnly && s != "" && s != "ok" {
		h.Problems = append(h.Problems, "the append-only log could not be written last time: look at the disk")
	}
	return h, nil
}

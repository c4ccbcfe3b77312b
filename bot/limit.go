package bot

import (
	"sync"
	"time"
)

// limiter is a token bucket for each person or chat.
type limiter[K comparable] struct {
	burst float64
	every time.Duration // one token

	mu      sync.Mutex
	buckets map[K]*bucket
}

func newLimiter[K comparable](burst int, every time.Duration) *limiter[K] {
	return &limiter[K]{burst: float64(burst), every: every, buckets: map[K]*bucket{}}
}

type bucket struct {
	tokens float64
	at     time.Time
	told   bool
}

// Bounds of what the limiter remembers. Full buckets say nothing and are let go first.
const mostBuckets = 10_000

// allow takes a token; tell is true for the first refusal since the rate was last kept to.
func (l *limiter[K]) allow(who K, now time.Time) (ok, tell bool) {
	if l.burst <= 0 {
		return true, false
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	b := l.buckets[who]
	if b == nil {
		if len(l.buckets) >= mostBuckets {
			l.sweep(now)
		}
		b = &bucket{tokens: l.burst, at: now}
		l.buckets[who] = b
	}
	if gone := now.Sub(b.at); gone > 0 {
		b.tokens = min(l.burst, b.tokens+float64(gone)/float64(l.every))
		b.at = now
	}
	if b.tokens < 1 {
		tell = !b.told
		b.told = true
		return false, tell
	}
	b.tokens--
	if b.tokens >= l.burst/2 {
		b.told = false
	}
	return true, false
}

// sweep lets go of buckets that are full by now, and of some others when all are in use.
func (l *limiter[K]) sweep(now time.Time) {
	for who, b := range l.buckets {
		if b.tokens+float64(now.Sub(b.at))/float64(l.every) >= l.burst {
			delete(l.buckets, who)
		}
	}
	for who := range l.buckets {
		if len(l.buckets) < mostBuckets {
			return
		}
		delete(l.buckets, who)
	}
}

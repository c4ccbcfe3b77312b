package telegram

import "sync"

// recentSize is how many entries each half of a recent keeps; house rule, some hundred kilobytes.
const recentSize = 4096

// recent remembers the newest entries: when the young half is full it becomes the old one, which goes.
// The zero value is empty.
type recent[K comparable, V any] struct {
	mu         sync.Mutex
	young, old map[K]V
}

func (r *recent[K, V]) put(k K, v V) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.young == nil || len(r.young) >= recentSize {
		r.old, r.young = r.young, map[K]V{}
	}
	r.young[k] = v
}

func (r *recent[K, V]) at(k K) (V, bool) {
	r.mu.Lock()
	defer r.mu.Unlock()
	v, ok := r.young[k]
	if !ok {
		v, ok = r.old[k]
	}
	return v, ok
}

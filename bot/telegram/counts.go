package telegram

import "sync/atomic"

// counters count since the start.
type counters struct {
	updates, skipped, ignored, handled, failed, panics, strangers atomic.Int64
	calls, retries, busy, dropped                                 atomic.Int64
}

// Counts says what an Adapter did since it was made.
type Counts struct {
	Updates   int64 // came in
	Skipped   int64 // of these could not be decoded
	Ignored   int64 // of these were not for us
	Handled   int64 // went to the handler, repeats included
	Failed    int64 // of these came back with an error
	Panics    int64 // of these panicked
	Strangers int64 // webhook requests with a wrong secret
	Calls     int64 // requests to the platform, each try
	Retries   int64 // of these repeated after a failure
	Busy      int64 // answers that told us to wait
	Dropped   int64 // buttons that could not be sent
}

// Counts reads the counters.
func (a *Adapter) Counts() Counts {
	c := &a.counts
	return Counts{
		Updates: c.updates.Load(), Skipped: c.skipped.Load(), Ignored: c.ignored.Load(), Handled: c.handled.Load(),
		Failed: c.failed.Load(), Panics: c.panics.Load(), Strangers: c.strangers.Load(),
		Calls: c.calls.Load(), Retries: c.retries.Load(), Busy: c.busy.Load(), Dropped: c.dropped.Load(),
	}
}

package bot

import "sync/atomic"

// botCounters count since the start.
type botCounters struct {
	answers, refused, unread, limited, broken atomic.Int64
}

// Counts says what a Bot did since it was made.
type Counts struct {
	Answers int64 // plans, each result of an inline query counted
	Refused int64 // requests that a rule refused
	Unread  int64 // messages that were not understood
	Limited int64 // messages and presses left out, since they came too fast
	Broken  int64 // of what came in, ended with an apology and a code
}

// Counts reads the counters.
func (b *Bot) Counts() Counts {
	c := b.counts
	return Counts{
		Answers: c.answers.Load(), Refused: c.refused.Load(), Unread: c.unread.Load(),
		Limited: c.limited.Load(), Broken: c.broken.Load(),
	}
}

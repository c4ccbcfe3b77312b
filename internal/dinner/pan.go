package dinner

import (
	"time"

	"bagwatch/internal/cook"
)

// The work at the pan. Common practice, no source: two pieces to a pan, a minute to dry and to bring the pan
// back to heat, half a minute for the edges.
const (
	perPan   = 2
	panDry   = time.Minute
	panEdges = 30 * time.Second
)

// slot is a dish's turn at the pan.
type slot struct {
	sears  bool
	work   int // minutes at the pan
	rest   int // minutes it should rest at least
	before int // minutes from the start of its work to serving
	extra  int // minutes it rests beyond that
	done   bool
}

// newSlot says how long the cook is at the pan with a dish.
func newSlot(plan *cook.Plan, pans int) slot {
	if plan.Sear == nil {
		return slot{}
	}
	at := perPan * max(1, pans)
	rounds := time.Duration((max(1, plan.Pieces) + at - 1) / at)
	return slot{sears: true, work: ceil(rounds*(2*plan.Sear.PerSideMax+panEdges) + panDry), rest: ceil(plan.Sear.Rest)}
}

// settlePan orders the sears so that the food rests least beyond what it needs: the exact minimum of the sum
// over all orders, found by depth-first search backwards from the table. Turns do not overlap, since there is
// one cook. Among equal orders the first in order of shorter rest, shorter work and the menu is taken.
func settlePan(slots []*slot) {
	var turns []*slot
	for _, s := range slots {
		if s.sears && !s.done {
			turns = append(turns, s)
		}
	}
	for i := range turns { // insertion sort: stable, and there are at most eight
		for j := i; j > 0 && (turns[j].rest < turns[j-1].rest || turns[j].rest == turns[j-1].rest && turns[j].work < turns[j-1].work); j-- {
			turns[j], turns[j-1] = turns[j-1], turns[j]
		}
	}
	best, order, found := never, make([]int, 0, len(turns)), []int(nil)
	used := make([]bool, len(turns))
	var place func(next, sum int)
	place = func(next, sum int) { // next: minutes before serving at which the turn after this one begins
		if sum >= best {
			return
		}
		if len(order) == len(turns) {
			best, found = sum, append([]int(nil), order...)
			return
		}
		for i, t := range turns {
			if used[i] {
				continue
			}
			if i > 0 && !used[i-1] && turns[i-1].rest == t.rest && turns[i-1].work == t.work {
				continue // the same again
			}
			end := max(next, t.rest)
			used[i], order = true, append(order, i)
			place(end+t.work, sum+end-t.rest)
			used[i], order = false, order[:len(order)-1]
		}
	}
	place(0, 0)
	next := 0
	for _, i := range found {
		t := turns[i]
		end := max(next, t.rest)
		t.before, t.extra = end+t.work, end-t.rest
		next = t.before
	}
}

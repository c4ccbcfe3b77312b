package heat_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/internal/heat"
)

// The required accuracy is 0.1 K, 1 % or 2 s of the time to reach, 1 % of the log reduction.
func TestSolutionAgreesWithReferenceSolutions(t *testing.T) {
	for _, r := range references(t) {
		t.Run(r.row["id"], func(t *testing.T) {
			until := secondsSpan(r.number(t, "t5_s"))
			s, err := heat.Solve(r.piece, r.history, until)
			require.NoError(t, err)
			assertReference(t, r, s, 0.1)
			last := r.history[len(r.history)-1].Bath
			reach, ok := s.Settle(last, 0.5)
			require.True(t, ok)
			want := r.number(t, "t_reach_s")
			assert.InDelta(t, want, reach.Seconds(), max(2, 0.01*want))
			d60, z := r.number(t, "D60_min"), r.number(t, "z_K")
			assert.InEpsilon(t, r.number(t, "LR_core_at_t_reach"), logReduction(s, s.Times(), reach, d60, z), 0.01)
			assert.InEpsilon(t, r.number(t, "LR_core_at_t5"), logReduction(s, s.Times(), until, d60, z), 0.01)
		})
	}
}

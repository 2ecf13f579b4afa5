package sim_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/plan"
	"pitwise/engine/sim"
	"pitwise/engine/trail"
)

// TestARecordedUnitReplaysToWhatThePolicyBelieved plays units by a habit and replays what was
// recorded of them: the belief at the end is the one the policy had.
func TestARecordedUnitReplaysToWhatThePolicyBelieved(t *testing.T) {
	s, p := topLoader(t)
	ends := map[string]int{}
	for n := range 40 {
		u, intake := sim.Draw(s, 9, n)
		var last *sim.Bench
		policy := watching{sim.NewChecklist(p), &last}
		tr, run, err := sim.Record(p, policy, u, intake, fmt.Sprint("unit ", n))
		require.NoError(t, err)
		require.NoError(t, tr.Check(s.Model()))
		again, err := trail.Load(tr.Encode())
		require.NoError(t, err, "what was recorded is a trail")
		account, err := trail.Replay(s, again)
		require.NoError(t, err)
		assert.Empty(t, account.Warnings)
		assert.InDelta(t, last.Belief.LogEvidence(), account.Final.LogEvidence(), 1e-9)
		assert.Equal(t, last.Setup, account.Setup)
		end := tr.Events[len(tr.Events)-1]
		assert.Equal(t, trail.End, end.Kind)
		ends[string(end.As)]++
		switch {
		case !run.SignedOff:
			assert.Equal(t, trail.WrittenOff, end.As)
		case run.Faulty:
			assert.Equal(t, trail.Returned, end.As)
		default:
			assert.Equal(t, trail.SignedOff, end.As)
		}
	}
	assert.GreaterOrEqual(t, len(ends), 2, "%v", ends)
}

// watching keeps the bench it last saw.
type watching struct {
	sim.Policy
	last **sim.Bench
}

func (w watching) Next(b *sim.Bench) (plan.Step, error) {
	*w.last = b
	return w.Policy.Next(b)
}

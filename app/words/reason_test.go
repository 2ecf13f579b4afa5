package words

import (
	"math"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/bench"
	"pitwise/engine/model"
	"pitwise/engine/plan"
	"pitwise/engine/trail"
)

// TestOnlyAProofThatIsWorthItIsSpokenOf holds the sentence on one more proof to what is true: none where it
// costs more than it saves, or cannot be run.
func TestOnlyAProofThatIsWorthItIsSpokenOf(t *testing.T) {
	text, err := os.ReadFile("../../engine/model/testdata/example.json")
	require.NoError(t, err)
	m, err := model.Load(text)
	require.NoError(t, err)
	u := &bench.Unit{Model: m, Trail: &trail.Trail{Terms: bench.DefaultTerms(m)}}
	for _, l := range Languages() {
		w := In(l.ID)
		said := func(proof float64) bool {
			p := plan.Proposal{Step: plan.Step{Kind: plan.SignOff}, Reason: plan.Reason{Proof: proof}}
			for _, line := range w.Reasons(u, p) {
				if line == w.Say(ReasonProof, w.About(proof, "EUR")) {
					return true
				}
			}
			return false
		}
		assert.True(t, said(12), l.Name)
		for _, none := range []float64{-12, -1, 0, 0.001, math.NaN()} {
			assert.False(t, said(none), "%s: %v", l.Name, none)
		}
	}
}

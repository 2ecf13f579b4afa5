package plan

import (
	"fmt"
	"math/rand/v2"
	"os"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"pitwise/engine/belief"
	"pitwise/engine/internal/random"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

// small makes the problem of a random small model.
func small(t testing.TB, seed uint64) *Problem {
	text, terms := random.Small(rand.New(rand.NewPCG(seed, 7)))
	m, err := model.Load(text)
	require.NoError(t, err)
	all := trail.Terms{
		MinuteValue: terms.MinuteValue, WorkingValue: terms.WorkingValue, AsIsValue: terms.AsIsValue, ComebackCost: terms.ComebackCost,
	}
	for _, id := range terms.Tools {
		all.Tools = append(all.Tools, model.ToolID(id))
	}
	return problem(t, m, all)
}

func problem(t testing.TB, m *model.Model, terms trail.Terms) *Problem {
	s, err := belief.NewSpace(m)
	require.NoError(t, err)
	return NewProblem(s, terms)
}

// number reads a number from the environment, for a longer run of a test.
func number(t testing.TB, name string, otherwise float64) float64 {
	text, ok := os.LookupEnv(name)
	if !ok {
		return otherwise
	}
	x, err := strconv.ParseFloat(text, 64)
	require.NoError(t, err, name)
	return x
}

type object = map[string]any

func outcomes(n int) (all []object) {
	for i := range n {
		all = append(all, object{"id": fmt.Sprintf("o%d", i), "title": "Outcome"})
	}
	return all
}

package model

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestAWayGoesOverTheCommonAncestor(t *testing.T) {
	m, err := Load(edited(t, change{setupsField, `"setups": [
		{"id": "open", "inside": "closed"}, {"id": "closed"}, {"id": "drive-out", "inside": "open"},
		{"id": "probe", "inside": "open"}, {"id": "bare", "inside": "drive-out"}]`}))
	require.NoError(t, err)
	const open, closed, out, probe, bare = 0, 1, 2, 3, 4
	assert.Equal(t, closed, m.Root)
	assert.Equal(t, []int{1, 0, 2, 2, 3}, []int{m.Setups[open].Depth, m.Setups[closed].Depth, m.Setups[out].Depth, m.Setups[probe].Depth, m.Setups[bare].Depth})
	for _, row := range []struct {
		name         string
		from, to     int
		leave, enter []int
	}{
		{"from the root to the deepest", closed, bare, nil, []int{open, out, bare}},
		{"from the deepest to the root", bare, closed, []int{bare, out, open}, nil},
		{"between branches", bare, probe, []int{bare, out}, []int{probe}},
		{"between branches, the other way", probe, bare, []int{probe}, []int{out, bare}},
		{"to where it is", out, out, nil, nil},
	} {
		t.Run(row.name, func(t *testing.T) {
			var leave, enter []int
			at := row.from
			for _, mv := range m.Way(row.from, row.to) {
				work, to := m.Move(mv)
				if mv.Leave {
					leave = append(leave, mv.Setup)
					assert.Equal(t, at, mv.Setup, "left from where one stands")
					assert.Same(t, &m.Setups[mv.Setup].Leave, work)
				} else {
					enter = append(enter, mv.Setup)
					assert.Equal(t, at, m.Setups[mv.Setup].Inside, "entered from what is around it")
					assert.Same(t, &m.Setups[mv.Setup].Enter, work)
				}
				at = to
			}
			assert.Equal(t, row.to, at)
			assert.Equal(t, row.leave, leave)
			assert.Equal(t, row.enter, enter)
		})
	}
}

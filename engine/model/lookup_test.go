package model

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestPathsGoOverTheCommonAncestor(t *testing.T) {
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
			leave, enter := m.Path(row.from, row.to)
			assert.Equal(t, row.leave, leave)
			assert.Equal(t, row.enter, enter)
		})
	}
}

func TestPartsAreFoundByTheirIds(t *testing.T) {
	m, err := Load(exampleText(t))
	require.NoError(t, err)
	source, ok := m.Source("disc-std")
	require.True(t, ok)
	assert.Equal(t, Published, source.Kind)
	caution, ok := m.Caution("mains")
	require.True(t, ok)
	assert.Equal(t, "Mains voltage inside", caution.Title)
	tool, ok := m.Tool("multimeter")
	require.True(t, ok)
	assert.Equal(t, "Multimeter", tool.Title)
	setup, ok := m.Setup("open")
	require.True(t, ok)
	assert.Equal(t, 1, setup.Index)
	component, ok := m.Component("supply")
	require.True(t, ok)
	assert.Equal(t, 2, component.Index)
	mode, ok := m.Mode("supply.low")
	require.True(t, ok)
	assert.Equal(t, 2, mode.Index)
	test, ok := m.Test("rail")
	require.True(t, ok)
	outcome, ok := test.Outcome("high")
	require.True(t, ok)
	assert.Equal(t, 2, outcome)
	repair, ok := m.Repair("clean-lens")
	require.True(t, ok)
	assert.Same(t, &m.Repairs[0], repair)

	for _, found := range []bool{
		second(m.Source("mains")), second(m.Caution("rail")), second(m.Tool("")), second(m.Setup("lid")), second(m.Component("open")),
		second(m.Mode("lid")), second(m.Mode("lid.dirty")), second(m.Test("clean-lens")), second(m.Repair("rail")),
	} {
		assert.False(t, found)
	}
	_, ok = test.Outcome("boots")
	assert.False(t, ok)
}

func second[T any](_ T, ok bool) bool { return ok }

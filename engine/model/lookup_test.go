package model

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

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

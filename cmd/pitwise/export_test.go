package main

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/catalog"
)

func TestAModelIsWrittenAsANetwork(t *testing.T) {
	m, err := catalog.Load("tray")
	require.NoError(t, err)
	id := string(m.Tests[0].ID)
	status, out, said := called(t, "", "export", "-as", "bif", "tray")
	require.Zero(t, status, said)
	assert.Empty(t, said)
	assert.True(t, strings.HasPrefix(out, "network tray {\n}\n"), out[:40])
	assert.Equal(t, len(m.Components), strings.Count(out, "variable component_"))
	assert.Equal(t, strings.Count(out, "variable "), strings.Count(out, "probability ( "))

	status, out, said = called(t, "", "export", "-as", "uai", "-single", "-tests", id, "tray")
	require.Zero(t, status, said)
	lines := strings.SplitN(out, "\n", 4)
	assert.Equal(t, []string{"BAYES", "2"}, lines[:2])
	assert.Len(t, strings.Split(strings.TrimSpace(said), "\n"), 2, "a line for each variable")
	assert.Contains(t, said, "0 fault: sound mode_")
}

func TestExportSaysWhatIsWrong(t *testing.T) {
	for _, each := range []struct {
		args []string
		want string
	}{
		{[]string{"export", "tray"}, `-as "" is neither bif nor uai`},
		{[]string{"export", "-as", "bif", "-tests", "no-such", "tray"}, `the model tray has no test "no-such"`},
		{[]string{"export", "-as", "bif", "no-such"}, "neither a file nor the id of a shipped model"},
	} {
		status, out, said := called(t, "", each.args...)
		assert.NotZero(t, status)
		assert.Empty(t, out)
		assert.Contains(t, said, each.want)
	}
}

package main

import (
	"os"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/model"
	"pitwise/engine/trail"
)

func TestBegin(t *testing.T) {
	const name = "../../engine/catalog/authors/shelf-player.json"
	text, err := os.ReadFile(name)
	require.NoError(t, err)
	m, err := model.Load(text)
	require.NoError(t, err)
	t.Run("the trail carries its model and has no events", func(t *testing.T) {
		status, out, message := called(t, "", "begin", "-model", name, "-label", "Green player, shelf 2")
		require.Zero(t, status, message)
		tr, err := trail.Load([]byte(out))
		require.NoError(t, err)
		require.NoError(t, tr.Check(m))
		assert.Empty(t, tr.Events)
		assert.Equal(t, string(text), tr.ModelText, "byte for byte")
		assert.Equal(t, m.SHA256, tr.Model.SHA256)
		assert.Equal(t, "Green player, shelf 2", tr.Unit.Label)
		assert.Equal(t, []model.ToolID{"multimeter"}, tr.Terms.Tools)
	})
	t.Run("the other verbs need no model beside it", func(t *testing.T) {
		_, out, _ := called(t, "", "begin", "-model", name)
		unit := file(t, "unit.trail.json", out)
		status, said, message := called(t, "", "check", unit)
		assert.Zero(t, status, said+message)
		assert.Contains(t, said, "nothing wrong")
		status, said, message = called(t, "", "propose", unit)
		assert.Zero(t, status, message)
		assert.Contains(t, said, "Start with a good disc")
		assert.Contains(t, said, "Small player with a door", "the title where there is no label")
	})
	t.Run("the terms are those of the file", func(t *testing.T) {
		terms := file(t, "terms.json", `{"minute_value": 1, "currency": "CHF", "tools": [], "working_value": 90, "as_is_value": 5, "comeback_cost": 30}`)
		_, out, _ := called(t, "", "begin", "-model", "tray", "-terms", terms)
		tr, err := trail.Load([]byte(out))
		require.NoError(t, err)
		assert.Equal(t, "CHF", tr.Terms.Currency)
		assert.Equal(t, 90.0, tr.Terms.WorkingValue)
		assert.Equal(t, "tray", tr.Model.ID)
	})
	t.Run("units begun one after another have ids of their own", func(t *testing.T) {
		now := time.Date(2026, 3, 4, 19, 0, 0, 1, time.UTC)
		one, two := begun(m, "a", trail.Terms{}, now), begun(m, "a", trail.Terms{}, now.Add(time.Nanosecond))
		assert.NotEqual(t, one.ID, two.ID)
		assert.Equal(t, "2026-03-04T19:00:00Z", one.Created)
	})
	t.Run("a defect of the model is told, and nothing printed", func(t *testing.T) {
		status, out, message := called(t, "", "begin", "-model", file(t, "mine.json", `{"format": "pitwise/model"}`))
		assert.Equal(t, 1, status)
		assert.Empty(t, out)
		assert.Contains(t, message, "missing")
	})
	t.Run("without a model it is wrong use", func(t *testing.T) {
		status, out, message := called(t, "", "begin")
		assert.Equal(t, 2, status)
		assert.Empty(t, out)
		assert.Contains(t, message, "-model is missing")
	})
}

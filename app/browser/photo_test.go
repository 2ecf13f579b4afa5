package browser_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/app/browser"
)

func photoRecord(id string) browser.PhotoRecord {
	return browser.PhotoRecord{Unit: someTrail().ID, ID: id, At: "2026-03-04T10:11:12Z", Of: 2, Caption: "the <b>lens</b>",
		Width: 3, Height: 4, Image: "\xff\xd8\xff large", Small: "\xff\xd8\xff small"}.Sealed()
}

// The contract of Photographs, on the fake. The browser tests hold IndexedDB to it.
func TestPhotographs(t *testing.T) {
	open := func(t *testing.T) *browser.Memory {
		m := browser.NewMemory()
		u, events := records(t, someTrail())
		require.NoError(t, m.Create(u, browser.ModelRecord{}, events, browser.CardRecord{}))
		require.NoError(t, m.AddPhoto(photoRecord("B")))
		require.NoError(t, m.AddPhoto(photoRecord("A")))
		return m
	}
	unit := someTrail().ID
	t.Run("they come back as they were stored, in order of their ids", func(t *testing.T) {
		m := open(t)
		ids, err := m.PhotoIDs(unit)
		require.NoError(t, err)
		assert.Equal(t, []string{"A", "B"}, ids)
		p, err := m.Photo(unit, "B")
		require.NoError(t, err)
		assert.Equal(t, photoRecord("B"), p)
		assert.True(t, p.Intact())
	})
	t.Run("an id is used once, and a unit has to be there", func(t *testing.T) {
		m := open(t)
		require.ErrorIs(t, m.AddPhoto(photoRecord("A")), browser.ErrExists)
		other := photoRecord("C")
		other.Unit = "other"
		require.ErrorIs(t, m.AddPhoto(other.Sealed()), browser.ErrGone)
		_, err := m.Photo("other", "C")
		require.ErrorIs(t, err, browser.ErrGone)
	})
	t.Run("a unit has so many and no more", func(t *testing.T) {
		m := open(t)
		for i := range browser.PhotosMost - 2 {
			require.NoError(t, m.AddPhoto(photoRecord(fmt.Sprintf("N%02d", i))))
		}
		require.ErrorIs(t, m.AddPhoto(photoRecord("Z")), browser.ErrMany)
		require.NoError(t, m.RemovePhoto(unit, "A"))
		require.NoError(t, m.AddPhoto(photoRecord("Z")))
	})
	t.Run("one is changed in its place, and gone when it is removed", func(t *testing.T) {
		m := open(t)
		p := photoRecord("A")
		p.Caption = "another"
		require.NoError(t, m.ChangePhoto(p.Sealed()))
		got, err := m.Photo(unit, "A")
		require.NoError(t, err)
		assert.Equal(t, "another", got.Caption)
		require.NoError(t, m.RemovePhoto(unit, "A"))
		require.NoError(t, m.RemovePhoto(unit, "A"))
		require.ErrorIs(t, m.ChangePhoto(p), browser.ErrGone)
		_, events, err := m.Unit(unit)
		require.NoError(t, err)
		assert.Len(t, events, 4, "the trail has nothing to do with it")
	})
}

func TestAPhotographTellsItsDamage(t *testing.T) {
	for name, spoil := range map[string]func(*browser.PhotoRecord){
		"unit": func(p *browser.PhotoRecord) { p.Unit = "other" }, "id": func(p *browser.PhotoRecord) { p.ID += "x" },
		"time": func(p *browser.PhotoRecord) { p.At = "" }, "step": func(p *browser.PhotoRecord) { p.Of++ },
		"caption": func(p *browser.PhotoRecord) { p.Caption = "" }, "width": func(p *browser.PhotoRecord) { p.Width++ },
		"height": func(p *browser.PhotoRecord) { p.Height++ }, "checksum": func(p *browser.PhotoRecord) { p.Sum = "" },
		"one bit of the picture":       func(p *browser.PhotoRecord) { p.Image = "\xff\xd8\xfe" + p.Image[3:] },
		"the small picture cut":        func(p *browser.PhotoRecord) { p.Small = p.Small[:2] },
		"a byte from one to the other": func(p *browser.PhotoRecord) { p.Image, p.Small = p.Image+p.Small[:1], p.Small[1:] },
	} {
		p := photoRecord("A")
		require.True(t, p.Intact())
		spoil(&p)
		assert.False(t, p.Intact(), name)
	}
}

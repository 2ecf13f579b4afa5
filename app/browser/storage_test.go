package browser

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestWindowsTellEachOtherWhatChanged(t *testing.T) {
	for _, c := range []Change{{UnitChanged, "U1"}, {PhotosChanged, "U1"}, {PhotosChanged, Intake}, {UnitChanged, "photos"}} {
		assert.Equal(t, c, changeTold(c.told()))
	}
	assert.Equal(t, Change{PhotosChanged, "U1"}, changeTold("photos/U1"), "as windows of earlier versions tell it")
	for _, told := range []string{"", "U1", "photos"} {
		assert.Equal(t, Change{UnitChanged, told}, changeTold(told), "%q", told)
	}
}

package document

import (
	"errors"
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestEveryErrorIsMadeOfDefects(t *testing.T) {
	of := Defects{Kind: errors.New("a kind"), List: []Defect{{Place: "a", Found: "wrong"}}, More: 2}
	assert.Equal(t, of, DefectsOf(fmt.Errorf("in a file: %w", of)))
	assert.Equal(t, Defects{List: []Defect{{Found: "out of paper"}}}, DefectsOf(errors.New("out of paper")), "nothing is passed over")
	assert.Zero(t, DefectsOf(nil))
}

package story

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/model"
	"pitwise/engine/trail"
)

func TestAStoryIsReadLineByLine(t *testing.T) {
	all, err := Read(strings.NewReader(`# a remark
story One unit   # and another
truth lens.dirty sled.dry
brought flex.unseated
slip 2
tell It spun, then gave up.
result first-boot asks
result logic-volts 4.61

setup open
repair clean-lens
void 2
leads lens.dirty laser.weak
sound 0.75
story Another
result first-boot still
`), "some.txt")
	require.NoError(t, err)
	require.Len(t, all, 2)
	s := all[0]
	assert.Equal(t, "One unit", s.Title)
	assert.Equal(t, "some.txt:2", s.Where)
	assert.Equal(t, "It spun, then gave up.", s.Tell)
	assert.Equal(t, []model.ModeID{"lens.dirty", "sled.dry"}, s.Truth)
	assert.Equal(t, []model.ModeID{"flex.unseated"}, s.Brought)
	assert.Equal(t, []int{2}, s.Slips)
	require.Len(t, s.Events, 5)
	assert.Equal(t, model.OutcomeID("asks"), s.Events[0].Outcome)
	require.NotNil(t, s.Events[1].Reading)
	assert.Equal(t, 4.61, *s.Events[1].Reading)
	assert.Equal(t, model.SetupID("open"), s.Events[2].Setup)
	assert.Equal(t, model.RepairID("clean-lens"), s.Events[3].Repair)
	assert.Equal(t, 2, s.Events[4].Of)
	for i, e := range s.Events {
		assert.Equal(t, i+1, e.N)
	}
	assert.Equal(t, []Claim{
		{"some.txt:13", 5, "leads", []string{"lens.dirty", "laser.weak"}},
		{"some.txt:14", 5, "sound", []string{"0.75"}},
	}, s.Claims)
	m := &model.Model{ID: "m", Revision: "1", SHA256: strings.Repeat("0", 64)}
	_, err = trail.Load(s.Trail(m, 5).Encode())
	assert.NoError(t, err, "it is a trail")
}

func TestAStoryThatCannotBeReadSaysWhere(t *testing.T) {
	for _, test := range []struct{ text, want string }{
		{"truth lens.dirty", `x.txt:1: "truth" before the first story`},
		{"story A\nresult first-boot", `x.txt:2: 1 words after "result", want 2`},
		{"story A\nperhaps so", `x.txt:2: unknown kind of line "perhaps"`},
		{"story A\nleads", `x.txt:2: nothing after "leads"`},
		{"story A\nvoid first", `x.txt:2: `},
		{"story A\nslip last", `x.txt:2: `},
	} {
		_, err := Read(strings.NewReader(test.text), "x.txt")
		require.ErrorIs(t, err, ErrForm)
		assert.ErrorContains(t, err, test.want)
	}
}

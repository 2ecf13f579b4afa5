package stories_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/app/state"
	"pitwise/cmd/dev/stories"
)

func TestEveryStoryCanBeTold(t *testing.T) {
	seen := map[string]bool{}
	for _, s := range stories.All {
		t.Run(s.Name, func(t *testing.T) {
			assert.False(t, seen[s.Name], "two stories have this name")
			seen[s.Name] = true
			st := s.State()
			require.True(t, st.Ready)
			if u := st.Unit; u != nil && u.Model != nil {
				if st.Route.Screen != state.ScreenReport && !strings.HasSuffix(s.Name, "-thinking") {
					assert.Equal(t, s.Name == "step-contradiction" || s.Name == "step-blurred", len(u.Proposals) == 0, "there is nothing to do")
				}
				if strings.HasSuffix(s.Name, "-thinking") {
					assert.Empty(t, u.Proposals, "what is not settled is not put to anyone")
				}
				if strings.Contains(s.Name, "-forty") {
					assert.GreaterOrEqual(t, len(u.Trail.Events), 40)
				}
				require.NoError(t, u.Trail.Check(u.Model), "the trail does not fit its model")
				if s.Name != "step-contradiction" && s.Name != "step-blurred" {
					assert.Equal(t, state.NoConflict, u.Conflict.Kind, u.Conflict.Detail)
				}
			}
		})
	}
}

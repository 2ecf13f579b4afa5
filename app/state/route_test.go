package state_test

import (
	"cmp"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/app/state"
)

func TestRoutesReadBack(t *testing.T) {
	for path, want := range map[string]state.Route{
		"/":                        {Screen: state.ScreenBench},
		"/index.html":              {Screen: state.ScreenBench},
		"/new":                     {Screen: state.ScreenIntake},
		"/new/":                    {Screen: state.ScreenIntake},
		"/settings":                {Screen: state.ScreenSettings},
		"/unit/01J8":               {Screen: state.ScreenUnit, Unit: "01J8", Pane: state.PaneStep},
		"/unit/01J8/odds":          {Screen: state.ScreenUnit, Unit: "01J8", Pane: state.PaneOdds},
		"/unit/01J8/report":        {Screen: state.ScreenReport, Unit: "01J8"},
		"/unit/01J8/nothing":       {Screen: state.ScreenLost},
		"/unit/":                   {Screen: state.ScreenLost},
		"/unit/<script>":           {Screen: state.ScreenLost},
		"/worth":                   {Screen: state.ScreenWorth},
		"/figures/slot-in":         {Screen: state.ScreenFigures, Model: "slot-in"},
		"/figures/tray/mode/a.b-c": {Screen: state.ScreenFigures, Model: "tray", About: state.SubjectMode, Of: "a.b-c"},
		"/figures/tray/test/x":     {Screen: state.ScreenFigures, Model: "tray", About: state.SubjectTest, Of: "x"},
		"/figures/tray/repair/x":   {Screen: state.ScreenFigures, Model: "tray", About: state.SubjectRepair, Of: "x"},
		"/figures":                 {Screen: state.ScreenLost},
		"/figures/tray/tool/x":     {Screen: state.ScreenLost},
		"/figures/tray/mode/a/b":   {Screen: state.ScreenLost},
		"/elsewhere":               {Screen: state.ScreenLost},
		"/unit/01J8/odds/too/deep": {Screen: state.ScreenLost},
	} {
		got := state.ParseRoute(path)
		assert.Equal(t, want, got, path)
		if want.Screen != state.ScreenLost {
			assert.Equal(t, want, state.ParseRoute(got.Path()), "%s written and read again", path)
		}
	}
}

// TestAddressesAreThoseOfThePatterns reads every address of up to four pieces.
func TestAddressesAreThoseOfThePatterns(t *testing.T) {
	unit := regexp.MustCompile(`^/unit/([0-9A-Za-z][0-9A-Za-z-]{0,63})(?:/(step|odds|trail|other|report))?$`)
	figures := regexp.MustCompile(`^/figures/([0-9a-z-]{1,64})(?:/(mode|test|repair)/([0-9a-z.-]{1,130}))?$`)
	want := func(path string) state.Route {
		path = "/" + strings.Trim(path, "/")
		if m := figures.FindStringSubmatch(path); m != nil {
			return state.Route{Screen: state.ScreenFigures, Model: m[1], About: state.Subject(m[2]), Of: m[3]}
		}
		switch m := unit.FindStringSubmatch(path); {
		case m == nil:
			return state.Route{Screen: state.ScreenLost}
		case m[2] == "report":
			return state.Route{Screen: state.ScreenReport, Unit: m[1]}
		default:
			return state.Route{Screen: state.ScreenUnit, Unit: m[1], Pane: cmp.Or(state.Pane(m[2]), state.PaneStep)}
		}
	}
	pieces := []string{
		"", "a", "-", "Z9-", "-9", "a.b-c", ".", "é", "\x80", "a\n", "A B", "odds", "report", "lost", "mode", "test", "repair", "tool",
		strings.Repeat("a", 64), strings.Repeat("a", 65), strings.Repeat("a", 130), strings.Repeat("a", 131),
	}
	found := map[state.Screen]int{}
	read := func(path string) {
		got := state.ParseRoute(path)
		require.Equal(t, want(path), got, "%q", path)
		found[got.Screen]++
	}
	for _, first := range []string{"unit", "figures", "Unit", "/unit", "x/figures"} {
		read(first)
		for _, a := range pieces {
			read(first + "/" + a)
			for _, b := range pieces {
				read(first + "/" + a + "/" + b)
				for _, c := range pieces {
					read(first + "/" + a + "/" + b + "/" + c)
				}
			}
		}
	}
	for _, screen := range []state.Screen{state.ScreenUnit, state.ScreenReport, state.ScreenFigures, state.ScreenLost} {
		require.Positive(t, found[screen], screen)
	}
}

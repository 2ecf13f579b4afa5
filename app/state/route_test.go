package state_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

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

package stories

import (
	"fmt"
	"strings"

	"pitwise/app/state"
)

// stand is a picture that is served anyway; it stands in for photographs.
const stand = "/web/icons/pitwise-192.png"

// shots are photographs of every kind: named and not, hostile, unsaved, damaged.
func shots(n int) []state.Photo {
	var photos []state.Photo
	for i := range n {
		p := state.Photo{ID: fmt.Sprintf("P%02d", i), At: fmt.Sprintf("2026-03-04T10:%02d:00Z", i), Of: i / 2, Width: 1600, Height: 1200, Small: stand, Large: stand}
		switch i {
		case 1:
			p.Caption = "Cracked hinge, from the left"
		case 2:
			p.Caption = hostile
		case 3:
			p.Caption = longWords
		case 4:
			p.Unsaved = true
		case 5:
			p = state.Photo{ID: p.ID, Damaged: true}
		}
		photos = append(photos, p)
	}
	return photos
}

// pictured is an evening's unit with photographs.
func pictured(n int) *stage {
	return evening().send(state.PhotosRead{Unit: storyID, Photos: shots(n)})
}

func init() {
	All = append(All, []Story{
		{"photos", func() *stage {
			s := pictured(6).pane(state.PaneTrail)
			return s.send(state.PhotoRefused{Unit: storyID, Refusal: state.Refusal{Name: "IMG.jpg", Why: state.PhotoFull}})
		}},
		{"photos-many", func() *stage { return pictured(40).pane(state.PaneTrail) }},
		{"photo-large", func() *stage {
			return pictured(4).pane(state.PaneTrail).send(state.ShowPhoto{ID: "P03"}, state.PhotoShown{Unit: storyID, ID: "P03", Address: stand})
		}},
		{"photo-large-loading", func() *stage { return pictured(2).pane(state.PaneTrail).send(state.ShowPhoto{ID: "P01"}) }},
		{"photo-remove", func() *stage {
			return pictured(6).pane(state.PaneTrail).send(state.ShowPhoto{ID: "P05"}, state.AskRemove{On: true})
		}},
		{"photos-refused", func() *stage {
			s := pictured(1).pane(state.PaneTrail).send(state.TakePhotos{Field: "photo-files"})
			refused := []state.Refusal{{Why: state.PhotoOther}, {Name: strings.Repeat("x", 300) + ".jpg", Why: state.PhotoCut}, {Name: hostile, Why: state.PhotoFormat},
				{Name: "a.png", Why: state.PhotoPixels}, {Name: "b.jpg", Why: state.PhotoLong}, {Name: "c.jpg", Why: state.PhotoMany}}
			return s.send(state.PhotosTaken{Unit: storyID, Refused: refused}, state.TakePhotos{Field: "photo-files"}, state.PhotosTaken{Unit: storyID, Refused: refused})
		}},
		{"photos-intake", func() *stage {
			s := newStage().send(state.Navigated{Path: "/new"}, state.TakePhotos{Field: "photo-camera"})
			for _, p := range shots(3) {
				s.send(state.PhotoTaken{Photo: p})
			}
			return s
		}},
		{"sheet-note-photos", func() *stage { return pictured(3).send(state.OpenSheet{Sheet: state.SheetNote}) }},
		{"sheet-export-photos", func() *stage {
			return pictured(3).send(state.WithPhotos{On: true}, state.OpenSheet{Sheet: state.SheetExport})
		}},
		{"report-photos", func() *stage {
			s := pictured(5)
			s.state.Route = state.Route{Screen: state.ScreenReport, Unit: storyID}
			return s
		}},
		{"imported-photos", func() *stage {
			return fullBench().send(state.Imported{New: 12, Photos: 7, Refused: 2, Bench: true})
		}},
		{"bench-ask", func() *stage {
			s := fullBench()
			s.state.Storage, s.state.Count.Changed = state.Storage{Asked: true}, "2026-03-04T10:00:00Z"
			return s
		}},
		{"bench-cleared", func() *stage { return fullBench().send(state.StorageLost{}) }},
		{"step-cleared", func() *stage { return evening().pane(state.PaneStep).send(state.StorageLost{}) }},
		{"unit-headless", func() *stage {
			return newStage().send(state.Navigated{Path: "/unit/" + storyID}, state.OpenFailed{ID: storyID, Trouble: state.TroubleRead, Detail: "browser: damaged record"})
		}},
		{"photos-too-large", func() *stage {
			return fullBench().send(state.Navigated{Path: "/settings"}, state.TakeFailed{Trouble: state.TroubleLarge})
		}},
	}...)
}

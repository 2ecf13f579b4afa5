package view

import (
	"github.com/maxence-charriere/go-app/v9/pkg/app"

	"pitwise/app/state"
	"pitwise/app/words"
	"pitwise/engine/trail"
)

// Notice is the passing sentence. On a unit's screen it has a place of its own below the heading,
// which is always there and says what was done last, so that nothing moves when a sentence
// comes or goes, and what was done last can always be taken back with one tap. Its region
// is always there too, so that a screen reader speaks what comes into it.
type Notice struct {
	app.Compo
	Rev int
}

// Render implements app.Composer.
func (v *Notice) Render() app.UI {
	s := at.shown
	text, n := noticeText(s), s.Notice
	var last string
	var undo []app.UI
	if working(s) {
		last, undo = lastDone(s.Unit)
	}
	said := text != ""
	// Its own words stand in for the sentence once that has passed.
	mine := undo != nil && (n.Kind == state.NoNotice || n.Kind == state.NoticeRecorded || n.Kind == state.NoticeVoided || n.Kind == state.NoticeRestored)
	return app.Div().Class("notices").Body(
		app.Div().Role("status").Aria("live", "polite").Body(
			app.If(said, app.P().Class("notice", "notice-"+string(n.Kind)).Text(text)),
			app.If(!said && undo != nil, app.P().Class("notice", "notice-last").Body(
				icon("done"), app.Span().Class("notice-words").Text(last))),
		),
		app.If(s.Reading && s.ReadingAll > 1, button("button-small", say(words.ReadingStop), state.StopImport{})),
		app.If(said && !s.Reading && !mine, closer(n.Serial)),
		app.If(mine, undo...),
	)
}

// lastDone is what was done last on a unit, and the way to take it back; no way if only its
// intake is there. What the unit came in with is taken back on the trail.
func lastDone(u *state.Unit) (title string, undo []app.UI) {
	n := len(u.Trail.Events)
	if n < 2 {
		return "", nil
	}
	e := u.Trail.Events[n-1]
	act := say(words.TakeBack)
	if e.Kind == trail.Void {
		act = say(words.BringBack)
	}
	return short(eventTitle(u.Model, u.Trail, e), labelShown), []app.UI{button("button-small", act, state.TakeBack{N: e.N}).Disabled(u.Saving)}
}

// closer makes the notice go.
func closer(serial int) app.UI {
	h, s := tap(state.Dismiss{Serial: serial})
	return app.Button().Type("button").Class("button", "button-icon").Aria("label", say(words.Close)).OnClick(h, s).Body(icon("close"))
}

func noticeText(s state.State) string {
	n := s.Notice
	if s.Reading {
		if s.ReadingAll > 1 {
			return say(words.ReadingFile) + " " + say(words.ReadingShare, 100*s.ReadingDone/s.ReadingAll)
		}
		return say(words.ReadingFile)
	}
	if s.Refused != nil && n.Trouble == state.TroubleImport {
		return "" // the screen says it
	}
	switch n.Kind {
	case state.NoticeRecorded:
		return say(words.NoticeRecorded, n.N)
	case state.NoticeVoided:
		return say(words.NoticeVoided, n.N)
	case state.NoticeRestored:
		return say(words.NoticeRestored, n.N)
	case state.NoticeDeleted:
		return say(words.NoticeDeleted, n.Detail)
	case state.NoticeCopied:
		return say(words.NoticeCopied)
	case state.NoticeSaved:
		return say(words.NoticeSaved)
	case state.NoticeShared:
		return say(words.NoticeShared)
	case state.NoticeImported:
		return say(words.NoticeImported, n.N)
	case state.NoticePhotos:
		text := say(words.NoticePhotos, n.N, n.Photos)
		if n.Refused > 0 {
			text += " " + say(words.NoticePhotosRefused, n.Refused)
		}
		return text
	case state.NoticeStopped:
		return say(words.NoticeStopped)
	case state.NoticeSame:
		return say(words.NoticeSame)
	case state.NoticeModel:
		return say(words.NoticeModel)
	case state.NoticeListed:
		return say(words.NoticeListed, n.N)
	case state.NoticeModelSame:
		return say(words.NoticeModelSame)
	case state.NoticeElsewhere:
		return say(words.NoticeElsewhere)
	case state.NoticeClash:
		return say(words.NoticeClash)
	case state.NoticeTimeUp:
		return say(words.NoticeTimeUp)
	case state.NoticeTrouble:
		return say(troubleWords[n.Trouble]) + " " + short(n.Detail, labelShown)
	}
	return ""
}

var troubleWords = map[state.Trouble]words.Key{
	state.TroubleDenied: words.TroubleDenied,
	state.TroubleFull:   words.TroubleFull,
	state.TroubleOld:    words.TroubleOld,
	state.TroubleNewer:  words.TroubleNewer,
	state.TroubleClash:  words.NoticeClash,
	state.TroubleRead:   words.TroubleRead,
	state.TroubleOther:  words.TroubleOther,
	state.TroubleModel:  words.TroubleModel,
	state.TroubleImport: words.TroubleImport,
	state.TroubleGone:   words.UnitGone,
	state.TroubleShare:  words.TroubleShare,
	state.TroubleLarge:  words.TroubleLarge,
	state.TroubleLost:   words.TroubleLost,
}

// Banners are what stays until it is mended.
type Banners struct {
	app.Compo
	Rev int
}

// Render implements app.Composer.
func (v *Banners) Render() app.UI {
	s := at.shown
	unsaved := s.Unsaved()
	trouble := s.Storage.Trouble != state.NoTrouble
	return app.Aside().Class("banners").Aria("label", say(words.BannersName)).Hidden(!trouble && !s.Update).Body(
		app.If(trouble, app.Section().Class("alarm").Role("alert").Body(
			app.P().Text(say(troubleWords[s.Storage.Trouble])),
			app.If(unsaved > 0, app.P().Body(app.B().Text(say(words.Unsaved, unsaved)))),
			app.Div().Class("row").Body(
				app.If(unsaved > 0, button("button-plain", say(words.SaveAgain), state.SaveAgain{})),
				app.If(s.Unit != nil, button("button-plain", say(words.Export), state.OpenSheet{Sheet: state.SheetExport})),
			),
			app.If((s.Unit == nil || len(s.Pending) > 0) && (s.Count.Units > 0 || unsaved > 0), backUps(s)),
		)),
		app.If(s.Update, app.Section().Class("note-box").Body(
			app.P().Text(say(words.UpdateWaits)),
			button("button-plain", say(words.UpdateTake), state.Renew{}),
		)),
	)
}

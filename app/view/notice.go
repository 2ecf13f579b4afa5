package view

import (
	"github.com/maxence-charriere/go-app/v9/pkg/app"

	"pitwise/app/state"
	"pitwise/app/words"
	"pitwise/engine/trail"
)

// notice is the passing sentence. On a unit's screen it has a place of its own above the work,
// which is always there and says what was done last, so that nothing moves when a sentence
// comes or goes, and what was done last can always be taken back with one tap. Its region
// is always there too, so that a screen reader speaks what comes into it.
func (v *pen) notice(s state.State) app.UI {
	text, n := v.noticeText(s), s.Notice
	var last string
	var undo []app.UI
	if working(s) {
		last, undo = v.lastDone(s.Unit)
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
		app.If(s.Reading && s.ReadingAll > 1, v.button("button-small", v.say(words.ReadingStop), state.StopImport{})),
		app.If(said && !s.Reading && !mine, v.closer(n.Serial)),
		app.If(mine, undo...),
	)
}

// lastDone is what was done last on a unit, and the way to take it back; no way if only its
// intake is there. What the unit came in with is taken back on the trail.
func (v *pen) lastDone(u *state.Unit) (title string, undo []app.UI) {
	n := len(u.Trail.Events)
	if n < 2 {
		return "", nil
	}
	e := u.Trail.Events[n-1]
	act := v.say(words.TakeBack)
	if e.Kind == trail.Void && u.Trail.Events[e.Of-1].Kind != trail.Void {
		act = v.say(words.BringBack)
	}
	return short(v.eventTitle(u.Model, u.Trail, e), lastShown), []app.UI{v.button("button-small", act, state.TakeBack{N: e.N}).Disabled(u.Saving)}
}

// closer makes the notice go.
func (v *pen) closer(serial int) app.UI {
	return v.act(app.Button().Type("button").Class("button", "button-icon").Aria("label", v.say(words.Close)), state.Dismiss{Serial: serial}).Body(icon("close"))
}

func (v *pen) noticeText(s state.State) string {
	n := s.Notice
	if s.Reading {
		if s.ReadingAll > 1 {
			return v.say(words.ReadingFile) + " " + v.say(words.ReadingShare, 100*s.ReadingDone/s.ReadingAll)
		}
		return v.say(words.ReadingFile)
	}
	if s.Refused != nil && n.Trouble == state.TroubleImport || s.Unit == nil && s.Absent != state.NoTrouble && n.Trouble == s.Absent {
		return "" // the screen says it
	}
	switch n.Kind {
	case state.NoticeRecorded:
		if u := s.Unit; n.Step > 0 && u != nil && n.N <= len(u.Trail.Events) {
			step, seen := v.words.Told(u.Model, u.Trail, u.Trail.Events[n.N-1])
			if seen != "" {
				step = seen // what it was asked for stood there a moment ago
			}
			return v.say(words.NoticeRecorded, n.Step, short(step, recordedShown))
		}
		return v.say(words.NoticeRecordedOther)
	case state.NoticeDeleted:
		return v.say(words.NoticeDeleted, n.Detail)
	case state.NoticeVoided:
		if n.Step == 0 {
			return v.say(words.NoticeVoidedOther)
		}
		return v.say(words.NoticeVoided, n.Step)
	case state.NoticeRestored:
		if n.Step == 0 {
			return v.say(words.NoticeRestoredOther)
		}
		return v.say(words.NoticeRestored, n.Step)
	case state.NoticeCopied:
		return v.say(words.NoticeCopied)
	case state.NoticeSaved:
		return v.say(words.NoticeSaved)
	case state.NoticeShared:
		return v.say(words.NoticeShared)
	case state.NoticeImported:
		return v.say(words.NoticeImported, n.N)
	case state.NoticePhotos:
		text := v.say(words.NoticePhotos, n.N, n.Photos)
		if n.Refused > 0 {
			text += " " + v.say(words.NoticePhotosRefused, n.Refused)
		}
		return text
	case state.NoticeStopped:
		return v.say(words.NoticeStopped)
	case state.NoticeSame:
		return v.say(words.NoticeSame)
	case state.NoticeModel:
		return v.say(words.NoticeModel)
	case state.NoticeListed:
		return v.say(words.NoticeListed, n.N)
	case state.NoticeLent:
		return v.say(words.NoticeLent, n.N)
	case state.NoticeModelSame:
		return v.say(words.NoticeModelSame)
	case state.NoticeElsewhere:
		return v.say(words.NoticeElsewhere)
	case state.NoticeClash:
		return v.say(words.NoticeClash)
	case state.NoticeTimeUp:
		return v.say(words.NoticeTimeUp)
	case state.NoticeTook:
		if r := s.Photos.Refused; n.Refused > 0 && len(r) > 0 {
			return v.refusal(r[len(r)-1])
		}
		return v.say(words.NoticeTook)
	case state.NoticeTrouble:
		return v.say(troubleWords[n.Trouble]) + " " + short(n.Detail, labelShown)
	}
	return ""
}

var troubleWords = map[state.Trouble]words.Key{
	state.TroubleDenied: words.TroubleDenied,
	state.TroubleFull:   words.TroubleFull,
	state.TroubleSilent: words.TroubleSilent,
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
	state.TroubleWords:  words.TroubleWords,
}

// banners are what stays until it is mended. They lie under the heading on every screen, above all
// that comes and goes, so that nothing moves them from under a finger.
func (v *pen) banners(s state.State) app.UI {
	unsaved := s.Unsaved()
	trouble := s.Storage.Trouble != state.NoTrouble
	return app.Aside().Class("banners").Aria("label", v.say(words.BannersName)).Hidden(!trouble && !s.Update).Body(
		app.If(trouble, app.Section().Class("alarm").Role("alert").Body(
			app.P().Text(v.say(troubleWords[s.Storage.Trouble])),
			app.If(unsaved > 0, app.P().Body(app.B().Text(v.say(words.Unsaved, unsaved)))),
			app.If(unsaved > 0 || s.Unit != nil, app.Div().Class("row").Body(
				app.If(unsaved > 0, v.button("button-plain", v.say(words.SaveAgain), state.SaveAgain{})),
				app.If(s.Unit != nil, v.button("button-plain", v.say(words.Export), state.OpenSheet{Sheet: state.SheetExport})),
			)),
			app.If((s.Unit == nil || len(s.Pending) > 0) && (s.Count.Units > 0 || unsaved > 0), v.backUps(s)),
		)),
		app.If(s.Update, app.Section().Class("note-box").Body(
			app.P().Text(v.say(words.UpdateWaits)),
			v.button("button-plain", v.say(words.UpdateTake), state.Renew{}),
		)),
	)
}

package view

import (
	"strings"

	"github.com/maxence-charriere/go-app/v9/pkg/app"

	"pitwise/app/browser"
	"pitwise/app/report"
	"pitwise/app/state"
	"pitwise/app/words"
)

// photos is the photographs of the unit on the screen, or of the one that is being
// taken in: to take more, to look at one, to name it, to remove it.
func (v *pen) photos(a *state.Album) app.UI {
	if a == nil {
		return app.Div()
	}
	damaged := 0
	for _, p := range a.Photos {
		if p.Damaged {
			damaged++
		}
	}
	n := len(a.Photos)
	shown := a.Photo(a.Shown)
	return app.Section().Class("photos").Aria("label", v.say(words.PhotosName)).Body(
		app.H2().Text(v.say(words.PhotosName)),
		app.If(n > 0, app.Ul().Class("photo-list").Body(app.Range(a.Photos).Slice(func(i int) app.UI {
			return v.thumb(a, a.Photos[n-1-i]) // the latest first, as on the trail
		}))),
		app.If(shown.ID != "", v.large(a, shown)),
		app.If(damaged > 0, app.P().Class("wrong").Text(v.say(words.PhotosDamaged, damaged))),
		app.If(a.Unsaved() > 0, app.Div().Class("row").Body(v.button("button-plain", v.say(words.SaveAgain), state.StorePhotos{}))),
		app.Div().Class("row").Body(
			v.photoButton(browser.CameraField, v.say(words.PhotoTake), true),
			v.photoButton(browser.PhotoField, v.say(words.PhotoChoose), false),
		),
		app.Div().Role("status").Aria("live", "polite").Body(
			app.If(a.Busy > 0, app.P().Class("quiet").Text(v.say(words.PhotosBusy))),
			app.Range(a.Refused).Slice(func(i int) app.UI {
				return app.P().Class("wrong").Text(v.refusal(a.Refused[i]))
			}),
		),
		app.If(n == 0, app.P().Class("quiet").Text(v.say(words.PhotosHelp))),
	)
}

// photoButton is a file field that looks like a button. The camera takes one picture in
// whatever form; where files are chosen the forms are named, so that a phone offers
// what can be read and turns others into one of them.
func (v *pen) photoButton(id, label string, camera bool) app.UI {
	h, s := v.tap(state.TakePhotos{Field: id})
	field := app.Input().ID(id).Type("file").OnChange(h, s)
	if camera {
		field = fromCamera(field)
	} else {
		field = field.Accept("image/jpeg,image/png,image/webp,image/gif").Multiple(true)
	}
	return app.Label().Class("button", "button-plain", "button-file").For(id).Body(field, app.Span().Text(label))
}

func fromCamera(field app.HTMLInput) app.HTMLInput {
	return field.Accept("image/*").Attr("capture", "environment")
}

// stepPhoto takes a photograph of the step at hand.
func (v *pen) stepPhoto(title string) app.UI {
	h, s := v.tap(state.TakePhotos{Field: browser.StepField, Step: title})
	return app.Label().Class("button", "fold", "fold-icon", "button-file").For(browser.StepField).Body(
		fromCamera(app.Input().ID(browser.StepField).Type("file")).OnChange(h, s), icon("camera"), app.Span().Class("unseen").Text(v.say(words.PhotoOfThis)))
}

// photoName is what a photograph is called: its caption, or when it was taken.
func (v *pen) photoName(p state.Photo) string {
	if caption := strings.TrimSpace(report.Plain(p.Caption)); caption != "" {
		return short(caption, labelShown)
	}
	return report.Taken(v.words, p.Step)
}

// thumb is a photograph in the gallery.
func (v *pen) thumb(a *state.Album, p state.Photo) app.UI {
	open := "false"
	if p.ID == a.Shown {
		open = "true"
	}
	w := v.words
	return app.Li().Class("photo").Body(
		v.act(app.Button().Type("button").Class("photo-button").Aria("expanded", open), state.ShowPhoto{ID: p.ID}).Body(
			app.If(p.Damaged, app.Span().Class("photo-damaged").Text(v.say(words.PhotoDamaged))),
			app.If(!p.Damaged, app.Img().Class("photo-small").Src(p.Small).Alt(v.say(words.PhotoAlt, v.photoName(p))).Attr("decoding", "async")),
			app.Span().Class("photo-words").Body(
				app.If(strings.TrimSpace(p.Caption) != "", app.Span().Text(short(v.photoName(p), captionShown))),
				app.If(p.At != "", app.Span().Class("photo-when").Text(report.Taken(w, p.Step)+" · "+w.Clock(p.At, v.zone))),
				app.If(p.Unsaved, app.B().Class("wrong").Text(v.say(words.PhotoUnsaved))),
			),
		),
	)
}

// large is a photograph in full, below the gallery.
func (v *pen) large(a *state.Album, p state.Photo) app.UI {
	caption, scope := v.typed(func(text string) state.Msg { return state.SetCaption{Text: text} }, "caption "+p.ID)
	enter, enterScope := v.onEnter(state.KeepCaption{})
	return app.Div().Class("photo-large").Body(
		app.If(!p.Damaged && a.Large != "", app.Img().Class("photo-whole").Src(a.Large).Alt(v.say(words.PhotoAlt, v.photoName(p))).Width(p.Width).Height(p.Height)),
		app.If(!p.Damaged && a.Large == "", app.P().Class("quiet").Role("status").Text(v.say(words.Loading))),
		app.If(!p.Damaged, field("photo-caption", v.say(words.PhotoCaption), "",
			app.Input().ID("photo-caption").Class("input").Type("text").MaxLength(browser.CaptionMost).Value(v.value("photo-caption", a.Caption)).AutoComplete(false).
				OnInput(caption, scope).OnKeyDown(enter, enterScope))),
		app.If(a.Asked, app.P().Role("alert").Text(v.say(words.PhotoRemoveAsk))),
		app.Div().Class("row").Body(
			app.If(!a.Asked && !p.Damaged, v.button("button-plain", v.say(words.PhotoKeepCaption), state.KeepCaption{})),
			app.If(!a.Asked, v.button("button-plain", v.say(words.PhotoRemove), state.AskRemove{On: true})),
			app.If(a.Asked, v.button("button-plain", v.say(words.PhotoRemoveYes), state.RemovePhoto{})),
			app.If(a.Asked, v.button("button-plain", v.say(words.PhotoRemoveNo), state.AskRemove{On: false})),
			app.If(!a.Asked, v.button("button-plain", v.say(words.Close), state.ShowPhoto{ID: p.ID})),
		),
	)
}

var photoTroubles = map[state.PhotoTrouble]words.Key{
	state.PhotoFormat: words.PhotoFormat, state.PhotoCut: words.PhotoCut, state.PhotoPixels: words.PhotoPixels,
	state.PhotoLong: words.PhotoLong, state.PhotoMany: words.PhotoMany, state.PhotoFull: words.PhotoFull, state.PhotoOther: words.PhotoOther,
}

// refusal says what became of a file.
func (v *pen) refusal(r state.Refusal) string {
	name := short(report.Plain(r.Name), 60)
	if name == "" {
		name = v.say(words.PhotoNameless)
	}
	return v.say(photoTroubles[r.Why], name)
}

// photoPrint is the photographs of the unit on the screen as a report shows them: whole,
// with their captions, and nothing to tap.
func (v *pen) photoPrint(a *state.Album) app.UI {
	var photos []state.Photo
	if a != nil {
		for _, p := range a.Photos {
			if p.Large != "" {
				photos = append(photos, p)
			}
		}
	}
	if len(photos) == 0 {
		return app.Div()
	}
	w := v.words
	return app.Section().Class("report-section", "report-photos").Body(
		app.H2().Text(v.say(words.PhotosName)),
		app.Div().Class("photo-prints").Body(app.Range(photos).Slice(func(i int) app.UI {
			p := photos[i]
			return app.Figure().Class("photo-print").Body(
				app.Img().Src(p.Large).Alt(v.say(words.PhotoAlt, v.photoName(p))).Width(p.Width).Height(p.Height),
				app.FigCaption().Body(
					app.If(p.Caption != "", app.Span().Text(report.Plain(p.Caption))),
					app.Span().Class("quiet").Text(report.Taken(w, p.Step)+" · "+w.Clock(p.At, v.zone)),
				),
			)
		})),
	)
}

// withPhotos is the check that puts photographs into what is taken away.
func (v *pen) withPhotos(on bool, help words.Key) app.UI {
	return app.Div().Class("with-photos").Body(
		v.check("toggle", "with-photos", v.say(words.WithPhotos), on,
			func(on bool) state.Msg { return state.WithPhotos{On: on} }, "with-photos"),
		app.P().Class("field-help").Text(v.say(help)),
	)
}

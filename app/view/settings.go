package view

import (
	"cmp"

	"github.com/maxence-charriere/go-app/v9/pkg/app"

	"pitwise/app/state"
	"pitwise/app/words"
)

var themeNames = map[state.Theme]words.Key{
	state.ThemeAuto: words.ThemeAuto, state.ThemeLight: words.ThemeLight,
	state.ThemeDark: words.ThemeDark, state.ThemeContrast: words.ThemeContrast,
}

// settings is language, light and storage, and what the app is and is not.
func (v *pen) settings(s state.State) app.UI {
	languages := words.Languages()
	w := v.words
	return app.Main().Class("main", "settings").Body(
		app.FieldSet().Class("block").Body(
			app.Legend().Text(v.say(words.LanguageName)),
			app.Div().Class("choices").Body(app.Range(languages).Slice(func(i int) app.UI {
				l := languages[i]
				return v.choice("lang", "lang-"+l.ID, l.Name, "", l.ID == cmp.Or(s.Wanted, s.Lang), state.ChooseLang{Lang: l.ID})
			})),
		),
		app.FieldSet().Class("block").Body(
			app.Legend().Text(v.say(words.ThemeName)),
			app.Div().Class("choices").Body(app.Range(state.Themes).Slice(func(i int) app.UI {
				t := state.Themes[i]
				return v.choice("theme", "theme-"+string(t), v.say(themeNames[t]), "", t == s.Theme, state.ChooseTheme{Theme: t})
			})),
		),
		app.Section().Class("block").Body(
			app.H2().Text(v.say(words.StorageName)),
			app.If(s.Storage.Persisted, app.P().Text(v.say(words.StoragePersisted))),
			app.If(!s.Storage.Persisted && !s.Storage.Forgets, app.P().Text(v.say(words.StorageNotPersisted))),
			app.If(s.Storage.Forgets, app.P().Text(v.say(words.StorageForgets))),
			app.If(!s.Storage.Persisted, v.button("button-plain", v.say(words.StorageAsk), state.Persist{})),
			app.If(s.Storage.Room > 0, app.P().Class("quiet").Text(v.say(words.StorageRoom, w.Decimal(s.Storage.Used/1e6, 1), w.Decimal(s.Storage.Room/1e6, 0)))),
		),
		app.Section().Class("block").Body(
			app.H2().Text(v.say(words.NumbersName)),
			app.A().Class("button", "button-plain").Href(v.link(state.Route{Screen: state.ScreenNumbers})).Body(app.Span().Text(v.say(words.NumbersName))),
			app.A().Class("button", "button-plain").Href(v.link(state.Route{Screen: state.ScreenWorth})).Body(app.Span().Text(v.say(words.WorthName))),
		),
		app.If(s.Count.Units > 0, app.Section().Class("block").Body(
			app.H2().Text(v.say(words.BackUpName)),
			app.P().Text(v.say(words.BackUpHelp)),
			v.withPhotos(s.WithPhotos, words.WithPhotosAll),
			v.backUps(s),
		)),
		app.Section().Class("block").Body(
			app.H2().Text(v.say(words.MoveTitle)),
			app.P().Text(v.say(words.MoveLead)),
			app.A().Class("button", "button-plain").Href(v.link(state.Route{Screen: state.ScreenMove})).Body(app.Span().Text(v.say(words.MoveTitle))),
		),
		app.Section().Class("block").Body(
			app.H2().Text(v.say(words.AboutName)),
			app.P().Text(v.say(words.AboutWhat)),
			app.P().Text(v.say(words.WelcomePrivate)),
			app.P().Text(v.say(words.SafetyShort)),
			app.P().Class("quiet").Text(v.say(words.AboutVersion, app.Getenv("GOAPP_VERSION"))),
		),
	)
}

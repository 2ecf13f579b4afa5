package view

import (
	"github.com/maxence-charriere/go-app/v9/pkg/app"

	"pitwise/app/state"
	"pitwise/app/words"
)

// Settings is language, light and storage, and what the app is and is not.
type Settings struct {
	app.Compo
	Rev int
}

var themeNames = map[state.Theme]words.Key{
	state.ThemeAuto: words.ThemeAuto, state.ThemeLight: words.ThemeLight,
	state.ThemeDark: words.ThemeDark, state.ThemeContrast: words.ThemeContrast,
}

// Render implements app.Composer.
func (v *Settings) Render() app.UI {
	s := at.shown
	languages := words.Languages()
	w := speech()
	return app.Main().Class("main", "settings").Body(
		app.FieldSet().Class("block").Body(
			app.Legend().Text(say(words.LanguageName)),
			app.Div().Class("choices").Body(app.Range(languages).Slice(func(i int) app.UI {
				l := languages[i]
				return choice("lang", "lang-"+l.ID, l.Name, "", l.ID == s.Lang, state.ChooseLang{Lang: l.ID})
			})),
		),
		app.FieldSet().Class("block").Body(
			app.Legend().Text(say(words.ThemeName)),
			app.Div().Class("choices").Body(app.Range(state.Themes).Slice(func(i int) app.UI {
				t := state.Themes[i]
				return choice("theme", "theme-"+string(t), say(themeNames[t]), "", t == s.Theme, state.ChooseTheme{Theme: t})
			})),
		),
		app.Section().Class("block").Body(
			app.H2().Text(say(words.StorageName)),
			app.If(s.Storage.Persisted, app.P().Text(say(words.StoragePersisted))),
			app.If(!s.Storage.Persisted && !s.Storage.Forgets, app.P().Text(say(words.StorageNotPersisted))),
			app.If(s.Storage.Forgets, app.P().Text(say(words.StorageForgets))),
			app.If(!s.Storage.Persisted, button("button-plain", say(words.StorageAsk), state.Persist{})),
			app.If(s.Storage.Room > 0, app.P().Class("quiet").Text(say(words.StorageRoom, w.Decimal(s.Storage.Used/1e6, 1), w.Decimal(s.Storage.Room/1e6, 0)))),
		),
		app.If(s.Count.Units > 0, app.Section().Class("block").Body(
			app.H2().Text(say(words.BackUpName)),
			app.P().Text(say(words.BackUpHelp)),
			withPhotos(words.WithPhotosAll),
			backUps(s),
		)),
		app.Section().Class("block").Body(
			app.H2().Text(say(words.AboutName)),
			app.P().Text(say(words.AboutWhat)),
			app.P().Text(say(words.WelcomePrivate)),
			app.P().Text(say(words.SafetyShort)),
			app.P().Class("quiet").Text(say(words.AboutVersion, app.Getenv("GOAPP_VERSION"))),
		),
	)
}

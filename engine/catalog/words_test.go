package catalog

import (
	"embed"
	"encoding/json"
	"io/fs"
	"path"
	"regexp"
	"slices"
	"strings"
	"testing"
	"unicode"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/document"
	"pitwise/engine/model"
)

var spoken = []string{"de", "es", "ja"}

// texts gathers every text of a part or family by the key that its translation has.
func texts(root document.Value) wording {
	all := wording{}
	var block func(key string, v document.Value)
	each := func(kind string, list document.Value) {
		for _, v := range list.Items() {
			block(kind+"/"+textOf(v.Get("id")), v)
		}
	}
	block = func(key string, v document.Value) {
		for _, field := range []string{"title", "text", "why"} {
			if s := textOf(v.Get(field)); s != "" {
				all[strings.TrimPrefix(key+"/"+field, "/")] = phrase{s}
			}
		}
		if steps := v.Get("steps"); steps.Len() > 0 {
			var p phrase
			for _, s := range steps.Items() {
				p = append(p, textOf(s))
			}
			all[key+"/steps"] = p
		}
		each(key+"/outcomes", v.Get("outcomes"))
		for id, band := range v.Get("bands").Members() {
			block(key+"/outcomes/"+id, band)
		}
		for _, way := range []string{"enter", "leave"} {
			if v.Get(way).Exists() {
				block(key+"/"+way, v.Get(way))
			}
		}
	}
	if textOf(root.Get("format")) == "pitwise/family" {
		block("", root)
	}
	for name, v := range root.Get("words").Members() {
		if name != "switch-place" { // an id, no text
			all["words/"+name] = phrase{textOf(v)}
		}
	}
	for _, kind := range []string{"cautions", "tools", "setups", "components", "tests", "repairs"} {
		each(kind, root.Get(kind))
	}
	each("tests", root.Get("twins"))
	for id, mode := range modes(root) {
		block("modes/"+id, mode)
	}
	for _, kind := range []string{"modes", "tests", "repairs"} {
		for id, v := range root.Get("change").Get(kind).Members() {
			block(kind+"/"+id, v)
		}
	}
	return all
}

func eachPart(t *testing.T, f func(t *testing.T, id string, english wording)) {
	t.Helper()
	names, err := fs.Glob(files, "*/*.json")
	require.NoError(t, err)
	require.Greater(t, len(names), len(families))
	for _, name := range names {
		text, err := files.ReadFile(name)
		require.NoError(t, err)
		form := partForm
		if strings.HasPrefix(name, "families/") {
			form = familyForm
		}
		english := texts(read(name, text, form).root)
		require.NotEmpty(t, english)
		id := strings.TrimSuffix(path.Base(name), ".json")
		t.Run(id, func(t *testing.T) { f(t, id, english) })
	}
}

var (
	braces  = regexp.MustCompile(`\{[^}]*\}`)
	aNumber = regexp.MustCompile(`\d+(?:[.,]\d+)?`)
	bare    = regexp.MustCompile(`^\{[^}]*\}$`) // a family's word and nothing else
)

// figures are the numbers of a text, whatever stands for the decimal point.
func figures(s string) []string {
	all := aNumber.FindAllString(s, -1)
	for i := range all {
		all[i] = strings.ReplaceAll(all[i], ",", ".")
	}
	slices.Sort(all)
	return all
}

func TestEveryTextIsInEveryLanguage(t *testing.T) {
	for _, lang := range spoken {
		t.Run(lang, func(t *testing.T) {
			same, all := 0, 0
			eachPart(t, func(t *testing.T, id string, english wording) {
				f, err := readWords(lang, id)
				require.NoError(t, err)
				assert.Equal(t, []string{"pitwise/words", lang, id}, []string{f.Format, f.Lang, f.Of})
				for key, want := range english {
					got, ok := f.Texts[key]
					if !assert.True(t, ok, "%s is missing", key) || !assert.Len(t, got, len(want), "%s", key) {
						continue
					}
					for i := range want {
						all++
						assert.NotEmpty(t, strings.TrimSpace(got[i]), "%s", key)
						assert.Equal(t, strings.TrimSpace(got[i]), got[i], "%s: spaces around it", key)
						assert.False(t, strings.ContainsFunc(got[i], func(r rune) bool { return unicode.In(r, unicode.Cc, unicode.Cf, unicode.Co) }), "%s: a sign that does not show", key)
						assert.ElementsMatch(t, braces.FindAllString(want[i], -1), braces.FindAllString(got[i], -1), "%s: words in braces", key)
						for _, x := range figures(want[i]) { // a number in words may become a figure
							assert.Contains(t, figures(got[i]), x, "%s: numbers: %s / %s", key, want[i], got[i])
						}
						if got[i] == want[i] && !bare.MatchString(want[i]) {
							same++
						}
					}
				}
				for key := range f.Texts {
					assert.Contains(t, english, key, "left over")
				}
			})
			t.Logf("%d texts, %d the same as in English", all, same)
			assert.Less(t, same, all/50, "the same as in English")
		})
	}
}

func TestWordFilesAreThoseOfParts(t *testing.T) {
	names, err := fs.Glob(wordFiles, "words/*/*.json")
	require.NoError(t, err)
	for _, name := range names {
		lang, part := path.Base(path.Dir(name)), strings.TrimSuffix(path.Base(name), ".json")
		assert.Contains(t, spoken, lang)
		if !slices.Contains(families, part) {
			s, err := embedded()
			require.NoError(t, err)
			assert.NotNil(t, s.part(part), name)
		}
		text, err := wordFiles.ReadFile(name)
		require.NoError(t, err)
		// The strict reader finds keys that stand twice, which encoding/json lets pass.
		report := document.NewReport(text)
		_, ok := report.Read(limits)
		assert.True(t, ok, name)
		assert.Empty(t, report.Defects().List, name)
	}
}

func TestSpeak(t *testing.T) {
	for _, id := range families {
		m, err := Load(id)
		require.NoError(t, err)
		for _, lang := range spoken {
			s := Speak(m, lang)
			require.NotSame(t, m, s)
			t.Run(id+" in "+lang+": the texts change and nothing else", func(t *testing.T) {
				assert.Equal(t, m.Text, s.Text)
				assert.Equal(t, m.SHA256, s.SHA256)
				assert.Equal(t, wordless(t, m), wordless(t, s))
				assert.Same(t, m, s.Original())
				assert.Same(t, m, Speak(s, "en"))
				assert.Equal(t, s.Words.Title, Title(id, m.Title, lang))
			})
			t.Run(id+" in "+lang+": no brace and nearly no English is left", func(t *testing.T) {
				theirs := map[string]bool{}
				for _, text := range shownTexts(m) {
					theirs[text] = true
				}
				same, all := 0, 0
				for _, text := range shownTexts(s) {
					all++
					assert.NotContains(t, text, "{")
					if theirs[text] {
						same++
					}
				}
				assert.Greater(t, all, 700)
				assert.Less(t, same, all/50)
			})
		}
	}
	m, err := Load("tray")
	require.NoError(t, err)
	t.Run("a language that there is none for", func(t *testing.T) { assert.Same(t, m, Speak(m, "fr")) })
	t.Run("a text that was changed stays as its author wrote it", func(t *testing.T) {
		text := strings.Replace(string(m.Text), `"title": "`+m.Tests[3].Title+`"`, `"title": "As I call it"`, 1)
		text = strings.Replace(text, `"revision": "2"`, `"revision": "2-mine"`, 1)
		mine, err := model.Load([]byte(text))
		require.NoError(t, err)
		s, shipped := Speak(mine, "de"), Speak(m, "de")
		assert.Equal(t, "As I call it", s.Tests[3].Title)
		assert.Equal(t, shipped.Tests[4].Title, s.Tests[4].Title)
		assert.NotEqual(t, m.Tests[4].Title, s.Tests[4].Title)
		assert.Equal(t, mine.SHA256, s.SHA256)
	})
	t.Run("a model of one's own stays as it is", func(t *testing.T) {
		mine, err := model.Load([]byte(strings.Replace(string(m.Text), `"id": "tray"`, `"id": "my-tray"`, 1)))
		require.NoError(t, err)
		assert.Same(t, mine, Speak(mine, "de"))
		assert.Equal(t, "My drive", Title("my-tray", "My drive", "de"))
		assert.Equal(t, "Tray, as I changed it", Title("tray", "Tray, as I changed it", "de"))
	})
}

// shownTexts are the texts of a model as it stands, reworded or not.
func shownTexts(m *model.Model) []string {
	var all []string
	add := func(w model.Words) {
		for _, s := range append([]string{w.Title, w.Text, w.Why}, w.Steps...) {
			if s != "" {
				all = append(all, s)
			}
		}
	}
	add(m.Words)
	for _, c := range m.Cautions {
		add(c.Words)
	}
	for _, t := range m.Tools {
		add(t.Words)
	}
	for _, s := range m.Setups {
		add(s.Words)
		add(s.Enter.Words)
		add(s.Leave.Words)
	}
	for _, c := range m.Components {
		add(c.Words)
	}
	for _, x := range m.Modes {
		add(x.Words)
	}
	for _, t := range m.Tests {
		add(t.Words)
		for _, o := range t.Outcomes {
			add(o.Words)
		}
	}
	for _, r := range m.Repairs {
		add(r.Words)
	}
	return all
}

// wordless is a model as it stands, as JSON without its texts.
func wordless(t *testing.T, m *model.Model) any {
	t.Helper()
	bounded := *m
	bounded.Tests = slices.Clone(m.Tests)
	for i := range bounded.Tests { // JSON has no infinity
		outcomes := slices.Clone(bounded.Tests[i].Outcomes)
		for k := range outcomes {
			outcomes[k].From, outcomes[k].To = max(outcomes[k].From, -1e300), min(outcomes[k].To, 1e300)
		}
		bounded.Tests[i].Outcomes = outcomes
	}
	text, err := json.Marshal(bounded)
	require.NoError(t, err)
	var v any
	require.NoError(t, json.Unmarshal(text, &v))
	var strip func(v any)
	strip = func(v any) {
		switch v := v.(type) {
		case map[string]any:
			for _, field := range []string{"Title", "Text", "Steps", "Why"} {
				delete(v, field)
			}
			for _, each := range v {
				strip(each)
			}
		case []any:
			for _, each := range v {
				strip(each)
			}
		}
	}
	strip(v)
	require.NotEmpty(t, v.(map[string]any)["Tests"])
	return v
}

func TestWordsThatAreTakenAreThoseThatWereInside(t *testing.T) {
	inside := wordFiles
	defer func() {
		wordFiles = inside
		clear(takenWords)
		clear(wordings)
		clear(titles)
	}()
	for _, lang := range spoken {
		m, err := Load("tray")
		require.NoError(t, err)
		lines, want, title := Words(lang), Speak(m, lang), Title(m.ID, m.Title, lang)
		wordFiles = embed.FS{}
		clear(wordings)
		clear(titles)
		assert.Equal(t, m.Title, Title(m.ID, m.Title, lang), "without its words a model speaks English")
		assert.Equal(t, m.Text, Speak(m, lang).Text)
		assert.Equal(t, m.Title, Speak(m, lang).Title)
		TakeWords(lines)
		assert.Equal(t, title, Title(m.ID, m.Title, lang))
		assert.Equal(t, want, Speak(m, lang))
		wordFiles = inside
	}
}

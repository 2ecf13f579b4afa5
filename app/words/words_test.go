package words

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// keys reads the constants of keys.go: name to key.
func keys(t *testing.T) map[string]Key {
	t.Helper()
	f, err := parser.ParseFile(token.NewFileSet(), "keys.go", nil, 0)
	require.NoError(t, err)
	found := map[string]Key{}
	ast.Inspect(f, func(n ast.Node) bool {
		if v, ok := n.(*ast.ValueSpec); ok {
			found[v.Names[0].Name] = Key(strings.Trim(v.Values[0].(*ast.BasicLit).Value, `"`))
		}
		return true
	})
	require.NotEmpty(t, found)
	return found
}

func TestEveryLanguageSaysEveryKeyAndNoOther(t *testing.T) {
	want := map[Key]bool{}
	for _, k := range keys(t) {
		assert.False(t, want[k], "%s is the key of two names", k)
		want[k] = true
	}
	for _, l := range Languages() {
		for k := range want {
			assert.Contains(t, In(l.ID).texts, k, "%s lacks %s", l.Name, k)
		}
		for k := range In(l.ID).texts {
			assert.True(t, want[k], "%s has %s, which is no key", l.Name, k)
		}
	}
}

func TestEverySentenceCanBeSaid(t *testing.T) {
	for _, l := range Languages() {
		w := In(l.ID)
		for name, k := range keys(t) {
			said := w.Say(k, 1, 2, 3, 4, 5)
			assert.NotEmpty(t, said, "%s: %s", l.Name, name)
			assert.NotRegexp(t, `%[^ ]|[^0-9 ] ?%`, said, "%s: %s", l.Name, name)
		}
	}
}

func TestNoKeyIsLeftOver(t *testing.T) {
	used := map[string]bool{}
	require.NoError(t, filepath.WalkDir("..", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
			return err
		}
		text, err := os.ReadFile(path)
		pattern := `\bwords\.([A-Z]\w*)`
		if path == filepath.Base(path) || filepath.Base(filepath.Dir(path)) == "words" {
			if slices.Contains([]string{"keys.go", "en.go", "de.go", "es.go", "ja.go"}, filepath.Base(path)) {
				return nil
			}
			pattern = `\b([A-Z]\w*)` // the package itself
		}
		for _, m := range regexp.MustCompile(pattern).FindAllStringSubmatch(string(text), -1) {
			used[m[1]] = true
		}
		return err
	}))
	for name := range keys(t) {
		assert.True(t, used[name], "nothing says words.%s", name)
	}
}

var verb = regexp.MustCompile(`%(\[\d+\])?[a-z]`)

// verbs returns the placeholders of a sentence, sorted, each with the number of its argument.
func verbs(sentence string) []string {
	all := verb.FindAllString(sentence, -1)
	for i, v := range all {
		if !strings.Contains(v, "[") {
			all[i] = "%[" + string(rune('1'+i)) + "]" + v[1:]
		}
	}
	slices.Sort(all)
	return slices.Compact(all)
}

func TestPlaceholdersAgree(t *testing.T) {
	assert.Len(t, verbs(english()[MovedUp].Say), 4)
	for _, l := range Languages() {
		for k, text := range In(l.ID).texts {
			want := verbs(english()[k].Say)
			assert.Equal(t, want, verbs(text.Say), "%s: %s", l.Name, k)
			assert.Subset(t, want, verbs(text.One), "%s: %s", l.Name, k)
			assert.Subset(t, want, verbs(text.None), "%s: %s", l.Name, k)
			assert.Equal(t, text.Of > 0, text.One+text.None != "", "%s: %s", l.Name, k)
		}
	}
}

func TestPlurals(t *testing.T) {
	w := In("en")
	assert.Equal(t, "1 step", w.Say(Steps, 1))
	assert.Equal(t, "2 steps", w.Say(Steps, 2))
	assert.Equal(t, "1,200 steps", w.Say(Steps, 1200))
	assert.Equal(t, "Nothing wrong", w.Say(Faults, 0))
	assert.Equal(t, "One fault", w.Say(Faults, 1))
	assert.Equal(t, "3 faults", w.Say(Faults, 3))
}

func TestNumberReadsWhatAPersonTypes(t *testing.T) {
	comma := In("de")
	for _, row := range []struct {
		name  string
		words *Words
		typed string
		want  float64
		err   error
	}{
		{"a point", In("en"), "4.74", 4.74, nil},
		{"a comma where the point is usual", In("en"), "4,74", 4.74, nil},
		{"a point where the comma is usual", comma, "4.74", 4.74, nil},
		{"spaces around", In("en"), "  12 ", 12, nil},
		{"a true minus", In("en"), "−0.5", -0.5, nil},
		{"full-width digits", In("en"), "４．７４", 4.74, nil},
		{"no digit before the point", In("en"), ".5", 0.5, nil},
		{"no digit after the point", In("en"), "5.", 5, nil},
		{"three digits after a comma might group thousands", In("en"), "1,234", 0, ErrAmbiguous},
		{"three digits after a point might group thousands", comma, "1.234", 0, ErrAmbiguous},
		{"three digits after the person's own sign are decimals", comma, "1,234", 1.234, nil},
		{"a zero before it cannot group thousands", In("en"), "0,234", 0.234, nil},
		{"both signs", In("en"), "1,234.5", 0, ErrNumber},
		{"nothing", In("en"), "", 0, ErrNumber},
		{"a unit", In("en"), "4.7 V", 0, ErrNumber},
		{"an exponent", In("en"), "1e3", 0, ErrNumber},
		{"not a number", In("en"), "NaN", 0, ErrNumber},
		{"infinity", In("en"), "Inf", 0, ErrNumber},
		{"hexadecimal", In("en"), "0x10", 0, ErrNumber},
		{"underscores", In("en"), "1_000", 0, ErrNumber},
		{"far too long", In("en"), strings.Repeat("9", 400), 0, ErrNumber},
	} {
		t.Run(row.name, func(t *testing.T) {
			got, err := row.words.Number(row.typed)
			if row.err != nil {
				require.ErrorIs(t, err, row.err)
				return
			}
			require.NoError(t, err)
			assert.Equal(t, row.want, got)
		})
	}
}

func TestTypedReadsBack(t *testing.T) {
	for _, w := range []*Words{In("en"), In("de")} {
		for _, x := range []float64{0, 0.4, 60, 1234.5, -3.25} {
			got, err := w.Number(w.Typed(x))
			require.NoError(t, err)
			assert.Equal(t, x, got)
		}
	}
}

func TestPercentNeverLooksSurerThanItIs(t *testing.T) {
	w := In("en")
	for p, want := range map[float64]string{
		0: "0%", 1: "100%", 1e-9: "<\u20090.1%", 0.0009: "<\u20090.1%", 0.001: "0.1%", 0.0314: "3.1%",
		0.0995: "10%", 0.5: "50%", 0.9: "90%", 0.951: "95.1%", 0.9989: "99.9%", 0.99999: ">\u200999.9%",
	} {
		assert.Equal(t, want, w.Percent(p), "%g", p)
	}
}

func TestOfHundredIsAsFineAsItIsWorth(t *testing.T) {
	w := In("en")
	for p, want := range map[float64]string{
		0: "0", 0.00001: "<\u20090.01", 0.0004: "0.04", 0.031: "3.1", 0.42: "42", 0.96: "96.0", 0.9996: "99.96", 0.99999: ">\u200999.99", 1: "100",
	} {
		assert.Equal(t, want, w.OfHundred(p), "%g", p)
	}
	assert.Equal(t, "42.3", w.OfHundred(0.423, 0.419), "told from what stands beside it")
	assert.Equal(t, "41.9", w.OfHundred(0.419, 0.423))
	assert.Equal(t, "42", w.OfHundred(0.423, 0.41))
	assert.Equal(t, "0.20", w.OfHundred(0.002, 0.0017))
	assert.Equal(t, "42", w.OfHundred(0.42, 0.42), "the same is the same")
	assert.Equal(t, "4,2", In("de").OfHundred(0.042))
}

func TestMinutes(t *testing.T) {
	w := In("en")
	for m, want := range map[float64]string{
		0: "0\u00a0min", 0.5: "30\u00a0s", 1: "1\u00a0min", 1.5: "1.5\u00a0min", 12.4: "12\u00a0min",
		60: "1\u00a0h", 80: "1\u00a0h 20\u00a0min", -3: "−3\u00a0min",
	} {
		assert.Equal(t, want, w.Minutes(m), "%g", m)
	}
}

func TestMoney(t *testing.T) {
	w := In("en")
	assert.Equal(t, "€12.50", w.Money(12.5, "EUR"))
	assert.Equal(t, "−€0.20", w.Money(-0.2, "EUR"))
	assert.Equal(t, "€0.00", w.Money(-0.001, "EUR"), "what rounds to nothing has no sign")
	assert.Equal(t, "¥1,250", w.Money(1250, "JPY"), "yen have no decimals (ISO 4217)")
	assert.Equal(t, "CHF\u00a03.00", w.Money(3, "CHF"))
	assert.Equal(t, "XQX\u00a03.00", w.Money(3, "XQX"), "a code that nobody knows stands as it is")
	for _, l := range Languages() {
		assert.NotPanics(t, func() { assert.NotEmpty(t, In(l.ID).Money(3, "")) }, "no code at all, in %s", l.Name)
	}
}

func TestWhatLiesAheadIsSaidNoFinerThanItIsKnown(t *testing.T) {
	en, de, ja := In("en"), In("de"), In("ja")
	assert.Equal(t, "€4", en.About(4.37, "EUR"))
	assert.Equal(t, "€72", en.About(71.93, "EUR"))
	assert.Equal(t, "€240", en.About(243, "EUR"))
	assert.Equal(t, "4\u00a0€", de.About(4.37, "EUR"))
	assert.Equal(t, "￥400", ja.About(437, "JPY"))
	assert.False(t, Counts(0.37, "EUR"))
	assert.True(t, Counts(-0.6, "EUR"))
	assert.False(t, Counts(37, "JPY"))
}

func TestTimes(t *testing.T) {
	w := In("en")
	assert.Equal(t, "4 Mar 2026", w.Day("2026-03-04T10:11:12Z", time.UTC))
	assert.Equal(t, "10:11", w.Clock("2026-03-04T10:11:12Z", time.UTC))
	assert.Equal(t, "yesterday", w.Day("yesterday", time.UTC), "what is no time stands as it is")
}

func TestBest(t *testing.T) {
	assert.Equal(t, "en", Best("fr-FR", "en-GB"))
	assert.Equal(t, "en", Best())
}

func TestFormsOfOtherLanguages(t *testing.T) {
	de, es, ja := In("de"), In("es"), In("ja")
	assert.Equal(t, "1.234,50\u00a0€", de.Money(1234.5, "EUR"))
	assert.Equal(t, "12,50\u00a0€", es.Money(12.5, "EUR"))
	assert.Equal(t, "￥1,250", ja.Money(1250, "JPY"))
	assert.Equal(t, "3,1\u00a0%", de.Percent(0.0314))
	assert.Equal(t, "26%", ja.Percent(0.26))
	assert.Equal(t, "1\u00a0Std. 20\u00a0Min.", de.Minutes(80))
	assert.Equal(t, "4.3.2026", de.Day("2026-03-04T10:11:12Z", time.UTC))
	assert.Equal(t, "2026年3月4日", ja.Day("2026-03-04T10:11:12Z", time.UTC))
	assert.Equal(t, "Ein Fehler", de.Say(Faults, 1))
	assert.Equal(t, "2 averías", es.Say(Faults, 2))
	assert.Equal(t, "故障なし", ja.Say(Faults, 0))
	assert.Equal(t, "故障1件", ja.Say(Faults, 1))
	assert.Equal(t, "手順 3 では 0.1% も動きませんでした。", ja.Say(MovedNothing, 3))
	assert.Equal(t, "a, b und c", de.List("a", "b", "c"))
	assert.Equal(t, "ja", Best("ja-JP", "en"))
}

func TestAMonthIsWrittenInTheLanguage(t *testing.T) {
	for lang, want := range map[string]string{"en": "Mar 2026", "de": "3/2026", "es": "3/2026", "ja": "2026年3月"} {
		assert.Equal(t, want, In(lang).Month("2026-03"))
	}
	assert.Equal(t, "some day", In("en").Month("some day"))
}

// TestAUnitIsNoPhoneInGerman: "Gerät" is what lies on the bench, and stands where the English has a unit, never where it
// has the device that shows the page.
func TestAUnitIsNoPhoneInGerman(t *testing.T) {
	german := In("de").texts
	unit, device := regexp.MustCompile(`(?i)gerät`), regexp.MustCompile(`(?i)\bdevice`)
	phones := 0
	for k, text := range english() {
		if !device.MatchString(text.Say) {
			continue
		}
		phones++
		units := len(regexp.MustCompile(`(?i)\bunits?\b`).FindAllString(text.Say, -1))
		assert.LessOrEqual(t, len(unit.FindAllString(german[k].Say, -1)), units, "%s: %s", k, german[k].Say)
	}
	assert.Greater(t, phones, 20)
}

// TestTheWordsOfThePageFitEveryFamily: what belongs to one kind of drive alone stands in its model.
func TestTheWordsOfThePageFitEveryFamily(t *testing.T) {
	for l, part := range map[string]string{"en": "(?i)\\bpegs?\\b", "de": "(?i)\\bNase\\b", "es": "(?i)pestaña", "ja": "突起"} {
		for k, text := range In(l).texts {
			assert.NotRegexp(t, part, text.Say, "%s: %s", l, k)
		}
	}
}

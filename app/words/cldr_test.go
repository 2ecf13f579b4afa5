package words

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	cldr "golang.org/x/text/currency"
	"golang.org/x/text/feature/plural"
	"golang.org/x/text/language"
	"golang.org/x/text/message"
	"golang.org/x/text/message/catalog"
	"golang.org/x/text/number"
)

// What golang.org/x/text writes with the data of Unicode's CLDR is what Words are checked against.

// entry is a sentence as the catalog of x/text takes it.
func (t Text) entry() catalog.Message {
	if t.Of == 0 {
		return catalog.String(t.Say)
	}
	var cases []any
	if t.None != "" {
		cases = append(cases, "=0", t.None)
	}
	if t.One != "" {
		cases = append(cases, "one", t.One)
	}
	return plural.Selectf(t.Of, "%d", append(cases, "other", t.Say)...)
}

func TestSentencesAreFilledAsXTextFillsThem(t *testing.T) {
	for _, l := range Languages() {
		w, tag := In(l.ID), language.Make(l.ID)
		b := catalog.NewBuilder(catalog.Fallback(tag))
		p := message.NewPrinter(tag, message.Catalog(b))
		for k, text := range In(l.ID).texts {
			require.NoError(t, b.Set(tag, string(k), text.entry()))
			for _, n := range []int{0, 1, 2, 1234, 1234567} {
				var args []any
				for i, verb := range verbs(text.Say) {
					args = append(args, any(n+i))
					if verb[len(verb)-1] == 's' {
						args[i] = "50 %"
					}
				}
				assert.Equal(t, p.Sprintf(string(k), args...), w.Say(k, args...), "%s: %s with %v", l.Name, k, args)
			}
		}
	}
}

func TestNumbersAreWrittenAsXTextWritesThem(t *testing.T) {
	chance := rand.New(rand.NewPCG(1, 2))
	for _, l := range Languages() {
		w, p := In(l.ID), message.NewPrinter(language.Make(l.ID))
		for range 500 {
			x := (chance.Float64() - 0.5) * math.Pow10(chance.IntN(12))
			for decimals := range 4 {
				assert.Equal(t, p.Sprint(number.Decimal(x, number.Scale(decimals))), w.Decimal(x, decimals), "%s: %g", l.Name, x)
			}
			assert.Equal(t, p.Sprint(number.Decimal(x, number.MaxFractionDigits(9))), w.Quantity(x, ""), "%s: %g", l.Name, x)
		}
	}
}

func TestCurrenciesAreWrittenAsXTextWritesThem(t *testing.T) {
	for _, l := range Languages() {
		w, p := In(l.ID), message.NewPrinter(language.Make(l.ID))
		for _, code := range Currencies {
			assert.Contains(t, w.Money(5, code), p.Sprint(cldr.NarrowSymbol(cldr.MustParseISO(code))), l.Name)
		}
	}
	// Where ISO 4217 has hundredths the CLDR leaves them out of some that are worth little.
	for q := cldr.Query(); q.Next(); {
		code := q.Unit().String()
		if decimals, _ := cldr.Standard.Rounding(q.Unit()); decimals != 0 || decimalsOf(code) == 0 {
			assert.Equal(t, decimals, currencyOf(code).decimals, code)
		}
	}
}

package words

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"
)

// A Form is how a language writes what is not words.
type Form struct {
	Point, Group rune              // decimal and grouping sign
	Currency     string            // ISO 4217, the first one offered
	Symbols      map[string]string // of currencies that the language writes in a way of its own
	AmountFirst  bool              // 12.50 € rather than €12.50
	PercentGap   string            // between a number and %
	Day          string            // time layout of a day
	Month        string            // time layout of a month
	Clock        string            // time layout of an hour and minute
	Hours        string            // of a duration, with one %s
	Minutes      string            // of a duration, with one %s
	Seconds      string            // of a duration, with one %s
	Owner        string            // whom a unit may wait for that waits for no part
	List         string            // between the parts of a list
	Last         string            // before the last part of a list
}

// ErrNumber is wrapped by every error of Number; its text has what was typed.
var ErrNumber = errors.New("words: not a number")

// ErrAmbiguous is ErrNumber for a form that could be read two ways.
var ErrAmbiguous = fmt.Errorf("%w: could be read two ways", ErrNumber)

// Number reads a number as a person types it: with the decimal sign of the
// language or the other of comma and point, full-width digits, a sign in front.
// "1,234" where the comma groups thousands is refused rather than guessed at.
func (w *Words) Number(typed string) (float64, error) {
	var b strings.Builder
	signs := 0
	var sign rune
	for _, r := range strings.TrimSpace(typed) {
		switch {
		case r >= '０' && r <= '９':
			r = r - '０' + '0'
		case r == '．':
			r = '.'
		case r == '，':
			r = ','
		case r == '−' || r == '－':
			r = '-'
		case r == '＋':
			r = '+'
		case unicode.IsSpace(r) || r == '\'' || r == '’':
			return 0, fmt.Errorf("%w: %q", ErrNumber, typed)
		}
		if r == '.' || r == ',' {
			signs++
			sign = r
			b.WriteByte('.')
			continue
		}
		if (r < '0' || r > '9') && r != '-' && r != '+' {
			return 0, fmt.Errorf("%w: %q", ErrNumber, typed)
		}
		b.WriteRune(r)
	}
	s := b.String()
	if signs > 1 {
		return 0, fmt.Errorf("%w: %q", ErrNumber, typed)
	}
	if signs == 1 && sign == w.form.Group && sign != w.form.Point {
		whole, part, _ := strings.Cut(strings.TrimLeft(s, "+-"), ".")
		if len(part) == 3 && whole != "" && strings.TrimLeft(whole, "0") != "" {
			return 0, fmt.Errorf("%w: %q", ErrAmbiguous, typed)
		}
	}
	if len(s) > 24 {
		return 0, fmt.Errorf("%w: %q", ErrNumber, typed[:24])
	}
	x, err := strconv.ParseFloat(s, 64)
	if err != nil || math.IsInf(x, 0) || math.IsNaN(x) {
		return 0, fmt.Errorf("%w: %q", ErrNumber, typed)
	}
	return x, nil
}

// Typed writes a number as a person would type it: no grouping, the language's
// decimal sign, only the digits it needs.
func (w *Words) Typed(x float64) string {
	s := strconv.FormatFloat(x, 'f', -1, 64)
	return strings.Replace(s, ".", string(w.form.Point), 1)
}

// Decimal writes a number with a fixed number of decimals.
func (w *Words) Decimal(x float64, decimals int) string {
	return w.grouped(strconv.FormatFloat(x, 'f', decimals, 64))
}

// grouped writes a number, as strconv has it, with the signs of the language: a grouping one
// before every three digits of the whole part.
func (w *Words) grouped(s string) string {
	digits, rest, broken := strings.Cut(strings.TrimPrefix(s, "-"), ".")
	var b strings.Builder
	if s[0] == '-' {
		b.WriteByte('-')
	}
	for i, d := range digits {
		if left := len(digits) - i; i > 0 && left%3 == 0 {
			b.WriteRune(w.form.Group)
		}
		b.WriteRune(d)
	}
	if broken {
		b.WriteRune(w.form.Point)
		b.WriteString(rest)
	}
	return b.String()
}

// Quantity writes a measured number as it is, to nine decimals, with grouping, and its unit.
func (w *Words) Quantity(x float64, unit string) string {
	s := strconv.FormatFloat(x, 'f', 9, 64)
	s = w.grouped(strings.TrimSuffix(strings.TrimRight(s, "0"), "."))
	if unit == "" {
		return s
	}
	return s + "\u00a0" + unit
}

// Percent writes a probability so that it never looks surer than it is: more
// decimals near 0 and 1, and "below" or "above" at the very ends.
func (w *Words) Percent(p float64) string {
	percent := func(x float64, decimals int) string {
		return w.Decimal(x, decimals) + w.form.PercentGap + "%"
	}
	switch x := p * 100; {
	case math.IsNaN(p):
		return "–"
	case p <= 0:
		return percent(0, 0)
	case p >= 1:
		return percent(100, 0)
	case x < 0.1:
		return "<\u2009" + percent(0.1, 1)
	case x > 99.9:
		return ">\u2009" + percent(99.9, 1)
	case x < 9.95 || x > 90.05:
		return percent(x, 1)
	default:
		return percent(x, 0)
	}
}

// OfHundred writes a share as so many of 100, with as many decimals as it is worth and as it takes, up to two, to tell it
// from the others that stand beside it; "below" or "above" at the very ends.
func (w *Words) OfHundred(p float64, others ...float64) string {
	x, rare := 100*p, 100*min(p, 1-p)
	decimals := 0
	switch {
	case rare <= 0:
		return w.Decimal(x, 0)
	case rare < 0.005 && p < 0.5:
		return "<\u2009" + w.Decimal(0.01, 2)
	case rare < 0.005:
		return ">\u2009" + w.Decimal(99.99, 2)
	case rare < 0.095:
		decimals = 2
	case rare < 9.5:
		decimals = 1
	}
	for _, q := range others {
		for decimals < 2 && p != q && w.Decimal(x, decimals) == w.Decimal(100*q, decimals) {
			decimals++
		}
	}
	return w.Decimal(x, decimals)
}

// Minutes writes a duration in minutes: "45 s", "3 min", "1 h 20 min".
func (w *Words) Minutes(m float64) string {
	unit := func(form string, x float64, decimals int) string {
		return strings.Replace(form, "%s", w.Decimal(x, decimals), 1)
	}
	switch {
	case math.IsNaN(m) || math.IsInf(m, 0):
		return "–"
	case m < 0:
		return "−" + w.Minutes(-m)
	case m == 0:
		return unit(w.form.Minutes, 0, 0)
	case m < 0.995:
		return unit(w.form.Seconds, math.Round(m*60), 0)
	case m < 9.95 && math.Abs(m-math.Round(m)) > 0.05:
		return unit(w.form.Minutes, m, 1)
	case m < 59.5:
		return unit(w.form.Minutes, m, 0)
	}
	whole := math.Round(m)
	s := unit(w.form.Hours, math.Floor(whole/60), 0)
	if rest := math.Mod(whole, 60); rest > 0 {
		s += " " + unit(w.form.Minutes, rest, 0) // where there is no room the line breaks here
	}
	return s
}

// Money writes an amount in a currency, with as many decimals as it has.
func (w *Words) Money(x float64, code string) string {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return "–"
	}
	c := currencyOf(code)
	if code == "" {
		return w.Decimal(x, c.decimals) // a unit whose terms cannot be read
	}
	symbol := c.symbol
	if own, ok := w.form.Symbols[code]; ok {
		symbol = own
	}
	minus := ""
	amount := w.Decimal(math.Abs(x), c.decimals)
	if x < 0 && strings.Trim(amount, "0.,") != "" {
		minus = "−"
	}
	if w.form.AmountFirst {
		return minus + amount + "\u00a0" + symbol
	}
	if last := symbol[len(symbol)-1]; last >= 'A' && last <= 'Z' || last >= 'a' && last <= 'z' {
		symbol += "\u00a0"
	}
	return minus + symbol + amount
}

// About writes an amount only as finely as anybody knows what lies ahead: to a digit below ten,
// to two above, in whole units.
func (w *Words) About(x float64, code string) string {
	scale := CurrencyScale(code)
	size := math.Abs(x) / scale
	step := 1.0
	for size >= 100*step {
		step *= 10
	}
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return "–"
	}
	s := w.Money(math.Round(x/scale/step)*step*scale, code)
	// Whole units: what stands behind the decimal sign says nothing.
	return strings.Replace(s, string(w.form.Point)+"00", "", 1)
}

// Counts reports whether an amount is large enough to speak of: half a unit of a currency
// of about a euro.
func Counts(x float64, code string) bool { return math.Abs(x) >= 0.5*CurrencyScale(code) }

// Owner is what a unit waits for that waits for its owner's word.
func (w *Words) Owner() string { return w.form.Owner }

// IsOwner reports whether that is what a unit waits for, in any language.
func IsOwner(wait string) bool {
	return slices.ContainsFunc(languages, func(l Language) bool { return strings.EqualFold(l.form.Owner, wait) })
}

// Currency is the currency offered first.
func (w *Words) Currency() string { return w.form.Currency }

// Day writes the day of an RFC 3339 time, as it is if it is not one.
func (w *Words) Day(at string, zone *time.Location) string { return w.time(at, zone, w.form.Day) }

// Month writes a month that is given as 2026-03, as it is if it is none.
func (w *Words) Month(month string) string {
	t, err := time.Parse("2006-01", month)
	if err != nil {
		return month
	}
	return t.Format(w.form.Month)
}

// Clock writes the hour and minute of an RFC 3339 time, as it is if it is not one.
func (w *Words) Clock(at string, zone *time.Location) string { return w.time(at, zone, w.form.Clock) }

func (w *Words) time(at string, zone *time.Location, layout string) string {
	t, err := time.Parse(time.RFC3339, at)
	if err != nil {
		return at
	}
	return t.In(zone).Format(layout)
}

// List joins the parts of a list.
func (w *Words) List(parts ...string) string {
	if len(parts) < 2 {
		return strings.Join(parts, "")
	}
	return strings.Join(parts[:len(parts)-1], w.form.List) + w.form.Last + parts[len(parts)-1]
}

// Clocked is a duration as a clock shows it: 4:05, 1:04:05.
func Clocked(seconds int) string {
	if seconds < 3600 {
		return fmt.Sprintf("%d:%02d", seconds/60, seconds%60)
	}
	return fmt.Sprintf("%d:%02d:%02d", seconds/3600, seconds/60%60, seconds%60)
}

package model

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"pitwise/engine/document"
)

// tolerance is how far a row may be from a sum of 1, and a ratio of cumulative sums
// from the rule: 1e-9, and a little for the rounding of the decimals themselves, so
// that a row that says 0.999999999 passes.
const tolerance = 1e-9 + 1e-15

// rows reads healthy and given, and reports rows that are not of the right length,
// do not add up or break the ratio rule.
func (l *loader) rows(t *Test, v document.Value) {
	n := v.Get("outcomes").Len()
	if v.Get("outcomes").Kind() != document.List {
		n = -1
	}
	healthy, ok := l.row(v.Get("healthy"), n)
	t.Healthy = healthy
	for name, each := range v.Get("given").Members() {
		given, whole := l.row(each, n)
		// Without outcomes to count, two rows may differ in length.
		if whole && ok && len(given) == len(healthy) && !follows(healthy, given) {
			l.report.Add(each, "%s", broken(t.Outcomes, healthy, given))
		}
		if !ModeForm.Match(name) {
			continue
		}
		if mode := l.find("mode", name, each); mode >= 0 {
			t.Given = append(t.Given, Row{Mode: mode, P: given})
		}
	}
	slices.SortStableFunc(t.Given, func(a, b Row) int { return cmp.Compare(a.Mode, b.Mode) })
}

// row reads one row of probabilities for n outcomes, of any number if n is below 0;
// ok is false if anything is wrong with it.
func (l *loader) row(v document.Value, n int) (p []float64, ok bool) {
	if v.Kind() != document.List {
		return nil, false
	}
	ok = true
	sum, numbers := 0.0, true
	for _, each := range v.Items() {
		x, finite := each.Float()
		numbers = numbers && finite
		ok = ok && finite && x > 0
		p = append(p, x)
		sum += x
	}
	if n >= 0 && len(p) != n {
		l.report.Add(v, "row has %d entries, want %d, one for each outcome", len(p), n)
		ok = false
	}
	if numbers && len(p) > 0 && !sumsToOne(sum) {
		l.report.Add(v, "row sums to %s, want 1", document.Number64(sum))
		ok = false
	}
	return p, ok && numbers && len(p) > 0
}

func sumsToOne(sum float64) bool { return math.Abs(sum-1) <= tolerance }

// ratios returns Q_f(k)/Q_h(k) of all outcomes but the last, whose ratio is 1
// because both rows sum to 1.
func ratios(healthy, given []float64) []float64 {
	all := make([]float64, len(healthy)-1)
	qh, qf := 0.0, 0.0
	for k := range all {
		qh += healthy[k]
		qf += given[k]
		all[k] = qf / qh
	}
	return all
}

// follows reports whether given obeys the ratio rule: each ratio at most 1 and none
// below the one before, both within the tolerance.
func follows(healthy, given []float64) bool {
	_, found := breach(healthy, given)
	return !found
}

// breach returns the first outcome at which given breaks the ratio rule.
func breach(healthy, given []float64) (k int, found bool) {
	r := ratios(healthy, given)
	for k := range r {
		if !(r[k] <= 1+tolerance) || k > 0 && !(r[k] >= r[k-1]-tolerance) {
			return k, true
		}
	}
	return 0, false
}

// broken says how a row breaks the ratio rule, and which row would not.
func broken(outcomes []Outcome, healthy, given []float64) string {
	k, _ := breach(healthy, given)
	r := ratios(healthy, given)
	var b strings.Builder
	b.WriteString("up to outcome ")
	if k < len(outcomes) {
		b.WriteString(document.Quote(string(outcomes[k].ID)))
	} else {
		b.WriteString(document.Number64(float64(k)))
	}
	if !(r[k] <= 1+tolerance) {
		b.WriteString(" it adds up to ")
		b.WriteString(short(r[k], 1))
		b.WriteString(" times what healthy does, want at most 1")
	} else {
		b.WriteString(" it adds up to ")
		b.WriteString(short(r[k], r[k-1]))
		b.WriteString(" times what healthy does, and to ")
		b.WriteString(short(r[k-1], r[k]))
		b.WriteString(" up to the outcome before; the ratio may not fall")
	}
	b.WriteString("; nearest row that would pass: [")
	for i, x := range printable(healthy, given) {
		if i > 0 {
			b.WriteString(", ")
		}
		b.WriteString(document.Number64(x))
	}
	b.WriteString("]")
	return b.String()
}

// short writes x to as many digits, from four, as tell it from other.
func short(x, other float64) string {
	for digits := 4; digits < 17; digits++ {
		if round(x, digits) != round(other, digits) {
			return document.Number64(round(x, digits))
		}
	}
	return document.Number64(x)
}

// A block is a run of outcomes that share a ratio.
type block struct {
	ratio  float64
	size   int
	spread float64 // between the largest and the least ratio that were pooled
}

// blocks returns the ratios of the row that obeys the ratio rule for healthy and is
// nearest to given: of all rows that do, the one whose ratios of cumulative sums
// have the least sum of squared differences from given's. They cover all outcomes
// but the last, whose ratio is 1. A block of one outcome with a ratio below 1 is as
// it was.
//
// That is an isotonic regression, by pooling adjacent violators, cut off at 1; the
// cut keeps it the nearest (Barlow et al. 1972, from memory).
func blocks(healthy, given []float64) []block {
	var all []block
	var low, high []float64 // of the ratios in each block
	for _, r := range ratios(healthy, given) {
		all, low, high = append(all, block{ratio: r, size: 1}), append(low, r), append(high, r)
		for n := len(all); n > 1 && all[n-2].ratio > all[n-1].ratio; n = len(all) {
			a, b := all[n-2], all[n-1]
			low[n-2], high[n-2] = min(low[n-2], low[n-1]), max(high[n-2], high[n-1])
			pooled := block{size: a.size + b.size, spread: high[n-2] - low[n-2]}
			pooled.ratio = (float64(a.ratio*float64(a.size)) + float64(b.ratio*float64(b.size))) / float64(pooled.size)
			all, low, high = append(all[:n-2], pooled), low[:n-1], high[:n-1]
		}
	}
	for i := range all {
		all[i].ratio = min(all[i].ratio, 1)
	}
	return all
}

// unfold returns the row with those ratios. Between two outcomes that both keep
// their ratio, the entry of given stays to the last bit.
func unfold(healthy, given []float64, all []block) []float64 {
	row := make([]float64, 0, len(healthy))
	qh, before, kept := 0.0, 0.0, true
	add := func(r float64, keeps bool) {
		k := len(row)
		qh += healthy[k]
		if kept && keeps {
			row = append(row, given[k])
		} else {
			// r*Q_h less before*(Q_h-h), as a sum of terms that are not
			// negative, so that small entries keep their digits.
			row = append(row, float64(before*healthy[k])+float64((r-before)*qh))
		}
		before, kept = r, keeps
	}
	for _, b := range all {
		for range b.size {
			add(b.ratio, b.size == 1 && b.ratio < 1)
		}
	}
	add(1, true)
	return row
}

// printable returns the row of blocks with its pooled ratios rounded, so that it prints short
// and still passes: to four digits, or as many more as the rule needs and as keep the
// rounding below a quarter of what was wrong.
func printable(healthy, given []float64) []float64 {
	all := blocks(healthy, given)
	rounded := make([]block, len(all))
	for digits := 4; digits < 17; digits++ {
		for i, b := range all {
			rounded[i] = b
			for d := digits; d < 17 && b.size > 1; d++ {
				rounded[i].ratio = round(b.ratio, d)
				if math.Abs(rounded[i].ratio-b.ratio) <= b.spread/4 {
					break
				}
			}
		}
		row := unfold(healthy, given, rounded)
		for i := range row {
			row[i] = round(row[i], 12)
		}
		if passes(healthy, row) {
			return row
		}
	}
	return unfold(healthy, given, all)
}

// passes reports whether a row is fit to be shown as one that Load takes.
func passes(healthy, row []float64) bool {
	sum := 0.0
	for _, x := range row {
		if !(x > 0) {
			return false
		}
		sum += x
	}
	return sumsToOne(sum) && follows(healthy, row)
}

package model

import (
	"bytes"
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"iter"
	"math"
	"slices"
	"strings"

	"pitwise/engine/document"
)

// Load reads a model file. The error is Defects: everything that is wrong with it,
// in document order. Load keeps a copy of text.
func Load(text []byte) (*Model, error) {
	l := loader{report: document.NewReport(text), m: &Model{ids: map[string]int{}}}
	root, ok := l.report.Read(document.Limits{Bytes: MaxBytes, Depth: maxDepth, Values: maxValues})
	if ok && l.format(root) {
		l.m.Version, _ = root.Get("version").Int()
		if l.m.Version < 1 || l.m.Version > Newest {
			l.m.Version = Newest // for the rest of the defects
		}
		document.CheckVersion(l.report, root, modelShape, l.m.Version)
		l.model(root)
	}
	if err := l.report.Err(ErrInvalid); err != nil {
		return nil, err
	}
	l.m.Text = bytes.Clone(text)
	sum := sha256.Sum256(text)
	l.m.SHA256 = hex.EncodeToString(sum[:])
	return l.m, nil
}

// A loader fills a model from values that document.Check has looked at. What is of
// the wrong form is already reported: here it reads as zero and is passed over.
type loader struct {
	report *document.Report
	m      *Model
}

// format reports a file that is of another kind altogether, for which a list of all
// differences would help nobody.
func (l *loader) format(root document.Value) bool {
	name := l.text(root.Get("format"))
	if name == formatName || !strings.HasPrefix(name, "pitwise/") {
		return true
	}
	l.report.Add(root.Get("format"), "%s, want %q", document.Quote(name), formatName)
	return false
}

func (l *loader) text(v document.Value) string {
	s, _ := v.Text()
	return s
}

func (l *loader) number(v document.Value) float64 {
	x, _ := v.Float()
	return x
}

func (l *loader) words(v document.Value) Words {
	w := Words{Title: l.text(v.Get("title")), Text: l.text(v.Get("text")), Why: l.text(v.Get("why"))}
	for _, step := range v.Get("steps").Items() {
		w.Steps = append(w.Steps, l.text(step))
	}
	return w
}

// define gives the id of v to the part of that kind at index, and reports an id
// that is taken. where is the list the parts stand in.
func (l *loader) define(kind string, v document.Value, where string, index int) string {
	name, ok := v.Text()
	if !ok || !IDForm.Match(name) {
		return name
	}
	key := kind + "/" + name
	if first, taken := l.m.ids[key]; taken {
		l.report.Add(v, "id %s is that of %s[%d] already", document.Quote(name), where, first)
		return name
	}
	l.m.ids[key] = index
	return name
}

// refer returns the index of the part that v names, -1 and a defect if there is
// none.
func (l *loader) refer(kind string, v document.Value) int {
	name, ok := v.Text()
	if !ok || !IDForm.Match(name) {
		return -1
	}
	return l.find(kind, name, v)
}

// find is refer for a name that stands somewhere else than in v.
func (l *loader) find(kind, name string, v document.Value) int {
	if i, ok := l.m.ids[kind+"/"+name]; ok {
		return i
	}
	l.report.Add(v, "no %s has the id %s", kind, document.Quote(name))
	return -1
}

func (l *loader) source(v document.Value) SourceID {
	v = v.Get("source")
	l.refer("source", v)
	return SourceID(l.text(v))
}

// names reads a list of references.
func names[ID ~string](l *loader, kind string, v document.Value) []ID {
	var all []ID
	seen := map[string]bool{}
	for _, each := range v.Items() {
		name, ok := each.Text()
		if !ok {
			continue
		}
		l.refer(kind, each)
		if seen[name] {
			l.report.Add(each, "%s is in the list already", document.Quote(name))
		}
		seen[name] = true
		all = append(all, ID(name))
	}
	return all
}

func (l *loader) model(v document.Value) {
	m := l.m
	m.ID = l.text(v.Get("id"))
	m.Revision = l.text(v.Get("revision"))
	m.Words = l.words(v)
	m.MostFaults, _ = v.Get("most_faults").Int()
	m.Currency = l.text(v.Get("currency"))

	for name, each := range v.Get("sources").Members() {
		if IDForm.Match(name) {
			m.ids["source/"+name] = len(m.Sources)
		}
		s := Source{ID: SourceID(name), Kind: SourceKind(l.text(each.Get("kind"))), Cite: l.text(each.Get("cite")), Words: l.words(each)}
		s.Weight = s.Kind.weight()
		if w := each.Get("weight"); w.Exists() {
			s.Weight = l.number(w)
		}
		m.Sources = append(m.Sources, s)
	}
	for i, each := range upTo(v.Get("cautions"), maxNamed) {
		name := l.define("caution", each.Get("id"), "cautions", i)
		m.Cautions = append(m.Cautions, Caution{ID: CautionID(name), Words: l.words(each)})
	}
	for i, each := range upTo(v.Get("tools"), maxNamed) {
		name := l.define("tool", each.Get("id"), "tools", i)
		m.Tools = append(m.Tools, Tool{ID: ToolID(name), Words: l.words(each)})
	}
	for i, each := range upTo(v.Get("components"), beyond*MaxComponents) {
		l.component(i, each)
	}
	l.kept(v)
	l.setups(v.Get("setups"))
	l.tests(v.Get("tests"))
	for i, each := range upTo(v.Get("repairs"), beyond*MaxRepairs) {
		name := l.define("repair", each.Get("id"), "repairs", i)
		m.Repairs = append(m.Repairs, Repair{
			Index: i, ID: RepairID(name), Words: l.words(each),
			At:       l.refer("setup", each.Get("at")),
			Minutes:  l.number(each.Get("minutes")),
			Money:    l.number(each.Get("money")),
			Needs:    names[ToolID](l, "tool", each.Get("needs")),
			Cautions: names[CautionID](l, "caution", each.Get("cautions")),
			Change:   l.change(each),

			Steadiness: l.number(each.Get("steadiness")),
			OnlyAfter:  l.onlyAfter(each.Get("only_after")),
			Source:     l.source(each),
		})
	}
}

// onlyAfter reads what has to be seen before a repair is on offer.
func (l *loader) onlyAfter(v document.Value) OnlyAfter {
	var o OnlyAfter
	o.Strict, _ = v.Get("strict").Bool()
	for _, each := range v.Get("any").Items() {
		at := l.refer("test", each.Get("test"))
		seen := Seen{Test: at}
		given := map[string]bool{}
		for _, outcome := range each.Get("outcomes").Items() {
			name, ok := outcome.Text()
			switch {
			case !ok || !IDForm.Match(name): // reported
			case given[name]:
				l.report.Add(outcome, "%s is in the list already", document.Quote(name))
			case at >= 0:
				t := &l.m.Tests[at]
				if k, ok := t.Outcome(OutcomeID(name)); ok {
					seen.Outcomes = append(seen.Outcomes, k)
				} else {
					l.report.Add(outcome, "no outcome of the test %s has the id %s", document.Quote(string(t.ID)), document.Quote(name))
				}
			}
			given[name] = true
		}
		slices.Sort(seen.Outcomes)
		o.Any = append(o.Any, seen)
	}
	return o
}

func (l *loader) component(index int, v document.Value) {
	m := l.m
	c := Component{
		Index: index, ID: ComponentID(l.define("component", v.Get("id"), "components", index)),
		Words: l.words(v), Place: l.text(v.Get("place")), FirstMode: len(m.Modes),
	}
	sum := 0.0 // of the priors that are none of the defects
	seen := map[string]int{}
	for i, each := range upTo(v.Get("modes"), beyond*MaxModes) {
		name := l.text(each.Get("id"))
		mode := Mode{
			Index: len(m.Modes), Component: index, ID: ModeID(string(c.ID) + "." + name),
			Words: l.words(each), Prior: l.number(each.Get("prior")), Source: l.source(each),
		}
		if first, taken := seen[name]; taken && IDForm.Match(name) {
			l.report.Add(each.Get("id"), "id %s is that of components[%d].modes[%d] already", document.Quote(name), index, first)
		} else {
			seen[name] = i
		}
		key := "mode/" + string(mode.ID)
		if _, taken := m.ids[key]; !taken && ModeForm.Match(string(mode.ID)) {
			m.ids[key] = mode.Index
		}
		if x, ok := each.Get("prior").Float(); ok && x > 0 {
			sum += x
		}
		m.Modes = append(m.Modes, mode)
	}
	if !(sum < 1) {
		l.report.Add(v.Get("modes"), "the priors add up to %s, want less than 1", document.Number64(sum))
	}
	c.ModeCount = len(m.Modes) - c.FirstMode
	m.Components = append(m.Components, c)
}

// kept counts the hypotheses with at most MostFaults faults: the sum of the
// elementary symmetric polynomials of the components' numbers of modes.
func (l *loader) kept(v document.Value) {
	most := v.Get("most_faults")
	if m := l.m; m.MostFaults >= 1 && m.MostFaults <= MaxFaults {
		if n := hypotheses(m.Components, m.MostFaults); n > MaxHypotheses {
			at := "at least "
			if n < countCap {
				at = ""
			}
			l.report.Add(most, "%d keeps %s%d hypotheses, want at most %d", m.MostFaults, at, n, MaxHypotheses)
		}
	}
}

// countCap ends the counting of hypotheses.
const countCap = int64(1) << 40

// hypotheses returns how many hypotheses have at most so many faults, countCap if
// they are more than that.
func hypotheses(components []Component, most int) int64 {
	count := make([]int64, most+1) // by number of faults
	count[0] = 1
	for _, c := range components {
		for f := most; f >= 1; f-- {
			more := min(count[f-1], countCap) * int64(min(c.ModeCount, 1<<16))
			count[f] = min(count[f]+more, countCap)
		}
	}
	total := int64(0)
	for _, n := range count {
		total = min(total+n, countCap)
	}
	return total
}

// change reads the fixes and risks of a repair or a setup step.
func (l *loader) change(v document.Value) Change {
	fixes, risks := v.Get("fixes"), v.Get("risks")
	first := map[int]string{} // by component: the mode in risks
	for name, each := range risks.Members() {
		mode, ok := l.m.ids["mode/"+name]
		if !ok {
			continue
		}
		c := l.m.Modes[mode].Component
		if other, taken := first[c]; taken {
			l.report.Add(each, "a second mode of the component %s, after %s", document.Quote(string(l.m.Components[c].ID)), document.Quote(other))
			continue
		}
		first[c] = name
	}
	return Change{Fixes: l.chances(fixes), Risks: l.chances(risks)}
}

func (l *loader) chances(v document.Value) []Chance {
	var all []Chance
	for name, each := range v.Members() {
		if !ModeForm.Match(name) {
			continue
		}
		if mode := l.find("mode", name, each); mode >= 0 {
			all = append(all, Chance{Mode: mode, P: l.number(each)})
		}
	}
	slices.SortStableFunc(all, func(a, b Chance) int { return cmp.Compare(a.Mode, b.Mode) })
	return all
}

func (l *loader) setups(v document.Value) {
	m := l.m
	for i, each := range upTo(v, maxSetups) {
		l.define("setup", each.Get("id"), "setups", i)
	}
	m.Root = -1
	known := true // whether inside is a text wherever it is there
	m.Setups = make([]Setup, 0, min(v.Len(), maxSetups))
	for i, each := range upTo(v, maxSetups) {
		inside := each.Get("inside")
		s := Setup{
			Index: i, ID: SetupID(l.text(each.Get("id"))), Inside: -1, Words: l.words(each),
			Cautions: names[CautionID](l, "caution", each.Get("cautions")),
			Enter:    l.step(each.Get("enter")),
			Leave:    l.step(each.Get("leave")),
		}
		switch {
		case inside.Exists():
			s.Inside = l.refer("setup", inside)
			known = known && inside.Kind() == document.String
		case each.Kind() != document.Object: // reported
		case m.Root >= 0:
			l.report.Add(each, "a second root: neither it nor setups[%d] is inside another setup", m.Root)
		default:
			m.Root = i
			for _, name := range []string{"enter", "leave"} {
				if step := each.Get(name); step.Exists() {
					l.report.Add(step, "the root setup is neither entered nor left")
				}
			}
		}
		m.Setups = append(m.Setups, s)
	}
	if m.Root < 0 && len(m.Setups) > 0 && known {
		l.report.Add(v, "no root: every setup is inside another")
	}
	l.depths(v)
}

// depths works out how deep each setup is, and reports cycles once each.
func (l *loader) depths(v document.Value) {
	m := l.m
	const fresh, active = 0, 1
	state := make([]uint8, len(m.Setups)) // 2: done
	values := slices.AppendSeq(make([]document.Value, 0, v.Len()), entries(v))
	var way []int
	for i := range m.Setups {
		way = way[:0]
		at := i
		for at >= 0 && state[at] == fresh {
			state[at] = active
			way = append(way, at)
			at = m.Setups[at].Inside
		}
		if at >= 0 && state[at] == active {
			// Report at the member of the cycle that stands first.
			first, n := at, 1
			for s := m.Setups[at].Inside; s != at; s = m.Setups[s].Inside {
				first = min(first, s)
				n++
			}
			l.report.Add(values[first].Get("inside"), "a cycle of %d: %s is inside itself", n, document.Quote(string(m.Setups[first].ID)))
		}
		for k := len(way) - 1; k >= 0; k-- {
			s := &m.Setups[way[k]]
			if s.Inside >= 0 {
				s.Depth = m.Setups[s.Inside].Depth + 1
			}
			state[way[k]] = 2
		}
	}
}

// A list longer than the format allows is a defect by itself. So that a hostile one
// takes little room, its entries are decoded (and held to all rules) only up to
// beyond times the limit; where there is no limit, up to the number of entries of
// their shortest form ({"id":"a"} and a comma) that fit in a file.
const (
	beyond    = 4
	maxNamed  = MaxBytes / len(`{"id":"a"},`)
	maxSetups = MaxBytes / len(`{"id":"a","inside":"b"},`)
)

// upTo yields the first entries of a list, at most so many.
func upTo(v document.Value, most int) iter.Seq2[int, document.Value] {
	return func(yield func(int, document.Value) bool) {
		for i, each := range v.Items() {
			if i >= most || !yield(i, each) {
				return
			}
		}
	}
}

// entries yields the entries of a list.
func entries(v document.Value) iter.Seq[document.Value] {
	return func(yield func(document.Value) bool) {
		for _, each := range v.Items() {
			if !yield(each) {
				return
			}
		}
	}
}

func (l *loader) step(v document.Value) Step {
	return Step{
		Minutes: l.number(v.Get("minutes")), Money: l.number(v.Get("money")), Words: l.words(v),
		Change:   l.change(v),
		Cautions: names[CautionID](l, "caution", v.Get("cautions")),
		Source:   l.source(v),
	}
}

func (l *loader) tests(v document.Value) {
	m := l.m
	m.Intake, m.Proof = -1, -1
	known := true
	var told document.Value // of the intake test
	for i, each := range upTo(v, beyond*MaxTests) {
		m.Tests = append(m.Tests, l.test(i, each))
		mark := each.Get("intake")
		intake, ok := mark.Bool()
		if mark.Exists() && !ok || each.Kind() != document.Object {
			known = false
		}
		switch {
		case !intake:
		case m.Intake >= 0:
			l.report.Add(mark, "a second intake test, after tests[%d]", m.Intake)
		default:
			m.Intake = i
			told = each.Get("told")
		}
		t := &m.Tests[i]
		switch {
		case !t.Proof || t.Told: // of a told test it has been reported
		case m.Proof >= 0:
			l.report.Add(each.Get("proof"), "a second proof, after tests[%d]", m.Proof)
		default:
			m.Proof = i
		}
	}
	if m.Proof < 0 {
		m.Proof = m.Intake
		if m.Intake >= 0 && m.Tests[m.Intake].Told {
			l.report.Add(told, "the intake test is told, and no test is the proof: want one with \"proof\": true")
		}
	}
	if m.Intake < 0 && known && v.Kind() == document.List {
		l.report.Add(v, "no intake test, want exactly one with \"intake\": true")
	}
}

func (l *loader) test(index int, v document.Value) Test {
	t := Test{
		Index: index, ID: TestID(l.define("test", v.Get("id"), "tests", index)), Words: l.words(v),
		At:         l.refer("setup", v.Get("at")),
		Minutes:    l.number(v.Get("minutes")),
		Money:      l.number(v.Get("money")),
		Needs:      names[ToolID](l, "tool", v.Get("needs")),
		Cautions:   names[CautionID](l, "caution", v.Get("cautions")),
		Steadiness: l.number(v.Get("steadiness")),
		Source:     l.source(v),
	}
	t.Intake, _ = v.Get("intake").Bool()
	t.Proof, _ = v.Get("proof").Bool()
	if t.Told, _ = v.Get("told").Bool(); t.Told {
		t.At = max(l.m.Root, 0)
		t.Minutes, t.Money, t.Needs, t.Cautions = 0, 0, nil, nil
	}
	if r := v.Get("reading"); r.Exists() {
		t.Reading = &Reading{Unit: l.text(r.Get("unit")), Percent: l.number(r.Get("percent")), Absolute: l.number(r.Get("absolute"))}
		if x, ok := r.Get("nominal").Float(); ok {
			t.Reading.Nominal = &x
		}
	}
	l.outcomes(&t, v)
	l.rows(&t, v)
	return t
}

func (l *loader) outcomes(t *Test, v document.Value) {
	seen := map[string]int{}
	measured := v.Get("reading").Exists()
	whole := v.Get("outcomes").Len() > 0
	for i, each := range upTo(v.Get("outcomes"), beyond*MaxOutcomes) {
		id := each.Get("id")
		name := l.text(id)
		if first, taken := seen[name]; taken && IDForm.Match(name) {
			l.report.Add(id, "id %s is that of tests[%d].outcomes[%d] already", document.Quote(name), t.Index, first)
		} else {
			seen[name] = i
		}
		o := Outcome{ID: OutcomeID(name), Words: l.words(each), From: math.Inf(-1), To: math.Inf(1)}
		if each.Kind() != document.Object {
			whole = false
		}
		for _, end := range []struct {
			name string
			x    *float64
		}{{"from", &o.From}, {"to", &o.To}} {
			b := each.Get(end.name)
			x, ok := b.Float()
			switch {
			case !b.Exists():
			case !measured:
				l.report.Add(b, "only a test with a reading has outcomes with bounds")
			case !ok:
				whole = false
			default:
				*end.x = x
			}
		}
		if measured && !(o.From < o.To) {
			l.report.Add(each, "no reading is from %s and below %s", document.Number64(o.From), document.Number64(o.To))
			whole = false
		}
		t.Outcomes = append(t.Outcomes, o)
	}
	if measured && whole && len(t.Outcomes) == v.Get("outcomes").Len() {
		l.partition(t.Outcomes, v.Get("outcomes"))
	}
}

// partition reports where the outcomes' intervals leave a gap or overlap. They need
// not stand in the order of their values: outcomes are listed best first.
func (l *loader) partition(outcomes []Outcome, v document.Value) {
	order := make([]int, len(outcomes))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(outcomes[a].From, outcomes[b].From) })
	values := slices.AppendSeq(make([]document.Value, 0, v.Len()), entries(v))
	end := func(i int, name string) document.Value {
		if b := values[i].Get(name); b.Exists() {
			return b
		}
		return values[i]
	}
	num := document.Number64
	first := order[0]
	if from := outcomes[first].From; !math.IsInf(from, -1) {
		l.report.Add(end(first, "from"), "no outcome has readings below %s", num(from))
	}
	reach, last := outcomes[first].To, first
	for _, i := range order[1:] {
		o := &outcomes[i]
		switch {
		case o.From > reach:
			l.report.Add(end(i, "from"), "a gap: no outcome has readings from %s to %s", num(reach), num(o.From))
		case o.From < reach && math.IsInf(min(reach, o.To), 1):
			l.report.Add(end(i, "from"), "an overlap: readings from %s on are outcomes[%d] as well", bound(o.From), last)
		case o.From < reach:
			l.report.Add(end(i, "from"), "an overlap: readings from %s to %s are outcomes[%d] as well", bound(o.From), num(min(reach, o.To)), last)
		}
		if o.To > reach {
			reach, last = o.To, i
		}
	}
	if !math.IsInf(reach, 1) {
		l.report.Add(end(last, "to"), "no outcome has readings from %s on", num(reach))
	}
}

// bound writes an end of an interval.
func bound(x float64) string {
	if math.IsInf(x, -1) {
		return "minus infinity"
	}
	return document.Number64(x)
}

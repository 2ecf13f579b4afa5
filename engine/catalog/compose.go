package catalog

import (
	"fmt"
	"iter"
	"maps"
	"slices"
	"strings"

	"pitwise/engine/document"
)

// limits bound one file of the catalog.
var limits = document.Limits{Bytes: 1 << 20, Depth: 16, Values: 1 << 18}

// A file is one part or family, read.
type file struct {
	name   string // as in parts/optics.json
	report *document.Report
	root   document.Value
}

func read(name string, text []byte, shape document.Shape) *file {
	f := &file{name: name, report: document.NewReport(text)}
	root, ok := f.report.Read(limits)
	if ok {
		f.root = root
		document.Check(f.report, root, shape)
	}
	return f
}

// A shelf holds every part there is, read once.
type shelf struct {
	order []string
	parts map[string]*file
	ids   map[string]bool // kind/id of every mode, test and repair; nil until asked
}

func (s *shelf) part(id string) *file { return s.parts[id] }

// has reports whether any part has a mode, test or repair of that id.
func (s *shelf) has(kind, id string) bool {
	if s.ids == nil {
		s.ids = map[string]bool{}
		for _, name := range s.order {
			root := s.parts[name].root
			for mode := range modes(root) {
				s.ids["mode/"+mode] = true
			}
			for _, v := range root.Get("tests").Items() {
				s.ids["test/"+textOf(v.Get("id"))] = true
			}
			for _, v := range root.Get("repairs").Items() {
				s.ids["repair/"+textOf(v.Get("id"))] = true
			}
		}
	}
	return s.ids[kind+"/"+id]
}

// modes yields the modes of a file's components as component.mode.
func modes(root document.Value) iter.Seq2[string, document.Value] {
	return func(yield func(string, document.Value) bool) {
		for _, component := range root.Get("components").Items() {
			id := textOf(component.Get("id"))
			for _, mode := range component.Get("modes").Items() {
				if !yield(id+"."+textOf(mode.Get("id")), mode) {
					return
				}
			}
		}
	}
}

func textOf(v document.Value) string {
	s, _ := v.Text()
	return s
}

// An addition is a map by modes that one file adds to another's block.
type addition struct {
	file *file
	rows document.Value
}

// A composer makes one plain model out of a family and the parts that it takes.
type composer struct {
	family  *file
	taken   []*file // in the order of the family's takes, the family itself last
	shelf   *shelf
	dangers map[string]document.Value // by place of work: a list of cautions
	words   map[string]document.Value // by name
	used    map[string]bool           // names of words that some text used
	setups  map[string]bool
	where   map[string]string         // place of work to setup
	modes   map[string]document.Value // by component.mode, of the family
	tests   map[string]bool
	repairs map[string]bool
	twins   map[string][]document.Value // by test: the same at another place of work
	rows    map[string][]addition       // by test: rows from other blocks
	fixes   map[string][]addition       // by repair
	risks   map[string][]addition       // by repair
	change  map[string]document.Value   // by kind/id: what the family says otherwise
	refers  map[string]bool             // kind/id of sources, cautions and tools that some block names
	second  bool                        // something of version 2 of the format was written
	out     writer
}

// compose returns the text of the family's model. The error holds every defect,
// each with its file and place.
func compose(family *file, s *shelf) ([]byte, error) {
	c := &composer{
		family: family, shelf: s,
		setups: map[string]bool{}, dangers: map[string]document.Value{}, words: map[string]document.Value{}, used: map[string]bool{}, where: map[string]string{},
		modes: map[string]document.Value{}, tests: map[string]bool{}, repairs: map[string]bool{},
		twins: map[string][]document.Value{}, rows: map[string][]addition{}, fixes: map[string][]addition{}, risks: map[string][]addition{},
		change: map[string]document.Value{}, refers: map[string]bool{}, out: newWriter(),
	}
	c.take()
	if err := c.defects(); err != nil {
		return nil, err
	}
	for _, v := range c.family.root.Get("setups").Items() {
		c.setups[textOf(v.Get("id"))] = true
	}
	c.index()
	if err := c.defects(); err != nil {
		return nil, err
	}
	c.write()
	if err := c.defects(); err != nil {
		return nil, err
	}
	return append(c.out.Bytes(), '\n'), nil
}

// take reads the family's head and gathers the parts.
func (c *composer) take() {
	f := c.family
	seen := map[string]bool{}
	for _, v := range f.root.Get("takes").Items() {
		id, _ := v.Text()
		part := c.shelf.part(id)
		switch {
		case seen[id]:
			f.report.Add(v, "%s is taken twice", document.Quote(id))
		case part == nil:
			f.report.Add(v, "no part has the id %s", document.Quote(id))
		default:
			if own, _ := part.root.Get("id").Text(); part.root.Exists() && own != id {
				part.report.Add(part.root.Get("id"), "%s, want %s as the file's name", document.Quote(own), document.Quote(id))
			}
			c.taken = append(c.taken, part)
		}
		seen[id] = true
	}
	c.taken = append(c.taken, f)
	for name, v := range f.root.Get("words").Members() {
		c.words[name] = v
	}
	for name, v := range f.root.Get("dangers").Members() {
		c.dangers[name] = v
		if !f.root.Get("where").Get(name).Exists() {
			f.report.Add(v, "where has no such place of work")
		}
	}
	for name, v := range f.root.Get("where").Members() {
		c.where[name], _ = v.Text()
	}
}

// index notes what there is to refer to, and who adds rows to whom.
func (c *composer) index() {
	for _, f := range c.taken {
		for id, mode := range modes(f.root) {
			c.modes[id] = mode
		}
		for _, v := range f.root.Get("tests").Items() {
			id := textOf(v.Get("id"))
			c.tests[id] = true
		}
		for _, v := range f.root.Get("repairs").Items() {
			id := textOf(v.Get("id"))
			c.repairs[id] = true
		}
	}
	for _, f := range c.taken {
		c.additions(f, "rows", "test", c.tests, c.rows)
		c.additions(f, "fixes", "repair", c.repairs, c.fixes)
		c.additions(f, "risks", "repair", c.repairs, c.risks)
	}
	f := c.family
	for _, v := range f.root.Get("twins").Items() {
		of := textOf(v.Get("of"))
		switch {
		case !c.tests[of]:
			f.report.Add(v.Get("of"), "no part taken has such a test")
		case changesMoreThanRows(f.root.Get("change").Get("tests").Get(of)):
			f.report.Add(v.Get("of"), "the family changes this test, and of such a one there is no twin")
		}
		c.twins[of] = append(c.twins[of], v)
	}
	for _, v := range f.root.Get("twins").Items() {
		id := textOf(v.Get("id"))
		if c.tests[id] {
			f.report.Add(v, "another test of this family has that id")
		}
		c.tests[id] = true
	}
	for _, kind := range []struct {
		name string
		has  func(id string) bool
	}{
		{"tests", func(id string) bool { return c.tests[id] }},
		{"repairs", func(id string) bool { return c.repairs[id] }},
		{"modes", func(id string) bool { return c.modes[id].Exists() }},
	} {
		for id, v := range f.root.Get("change").Get(kind.name).Members() {
			if !kind.has(id) {
				f.report.Add(v, "no part taken has it, nothing to change")
			}
			c.change[kind.name+"/"+id] = v
		}
	}
}

func (c *composer) additions(f *file, field, kind string, known map[string]bool, to map[string][]addition) {
	for id, v := range f.root.Get(field).Members() {
		if !known[id] && !c.elsewhere(f, kind, id) {
			f.report.Add(v, "no part has such a %s", kind)
		}
		to[id] = append(to[id], addition{f, v})
	}
}

// elsewhere reports whether some part that the family does not take has a mode, test
// or repair of that id: such a reference falls away, any other unknown one is a slip.
func (c *composer) elsewhere(f *file, kind, id string) bool {
	if f == c.family {
		return false // a family knows what it takes
	}
	return c.shelf.has(kind, id)
}

// Fields of each kind of block, in the order in which they are written.
var (
	wordOrder      = []string{"title", "text", "steps", "why"}
	setupOrder     = []string{"id", "title", "text", "inside", "cautions", "steps", "why", "enter", "leave"}
	componentOrder = []string{"id", "title", "text", "why", "place"}
	modeOrder      = []string{"id", "title", "text", "why", "prior", "source"}
	testOrder      = []string{"id", "title", "text", "why", "intake", "told", "proof", "at", "minutes", "money", "needs", "cautions", "steps", "reading", "outcomes", "healthy", "given", "steadiness", "source"}
	twinOrder      = slices.DeleteFunc(slices.Clone(testOrder), func(name string) bool { return name == "intake" || name == "told" || name == "proof" })
	repairOrder    = []string{"id", "title", "text", "why", "at", "minutes", "money", "needs", "cautions", "steps", "fixes", "risks", "steadiness", "only_after", "source"}
)

// write writes the model. What is referred to is known only after the blocks that
// refer, so sources, cautions and tools are chosen in a first pass.
func (c *composer) write() {
	for _, f := range c.taken {
		for _, kind := range []string{"setups", "components", "tests", "repairs"} {
			c.note(f, f.root.Get(kind))
		}
	}
	c.note(c.family, c.family.root.Get("twins"))
	for _, v := range c.change {
		c.note(c.family, v)
	}
	for _, v := range c.dangers {
		for _, id := range v.Items() {
			c.refers["caution/"+textOf(id)] = true
		}
	}
	w := &c.out
	w.open('{')
	w.Key("format")
	w.Raw(`"pitwise/model"`)
	w.Key("version")
	version := len(w.Bytes())
	w.Raw("1")
	for _, name := range []string{"id", "revision", "title", "text", "most_faults", "currency"} {
		if v := c.family.root.Get(name); v.Exists() {
			c.second = c.second || name == "currency"
			w.Key(name)
			c.value(c.family, name, v)
		}
	}
	w.Key("sources")
	w.open('{')
	seen := map[string]bool{}
	for _, f := range c.taken {
		for id, v := range f.root.Get("sources").Members() {
			c.once(f, v, seen, id)
			if c.refers["source/"+id] {
				c.second = c.second || v.Get("weight").Exists()
				w.Key(id)
				c.value(f, "", v)
			}
		}
	}
	c.missing("source", seen)
	w.End()
	for _, kind := range [][2]string{{"cautions", "caution"}, {"tools", "tool"}} {
		w.Key(kind[0])
		w.open('[')
		seen := map[string]bool{}
		for _, f := range c.taken {
			for _, v := range f.root.Get(kind[0]).Items() {
				id := textOf(v.Get("id"))
				c.once(f, v, seen, id)
				if c.refers[kind[1]+"/"+id] {
					c.value(f, "", v)
				}
			}
		}
		c.missing(kind[1], seen)
		w.End()
	}
	c.list("setups", func(f *file, v document.Value) { c.block(f, v, "setups", setupOrder) })
	c.list("components", c.component)
	c.list("tests", c.test)
	c.list("repairs", func(f *file, v document.Value) { c.block(f, v, "repairs", repairOrder) })
	w.End()
	if c.second {
		w.Bytes()[version] = '2'
	}
	for name, v := range c.words {
		if !c.used[name] {
			c.family.report.Add(v, "no text uses this word")
		}
	}
}

// note gathers the ids of sources, cautions and tools that a value names.
func (c *composer) note(f *file, v document.Value) {
	for _, each := range v.Items() {
		c.note(f, each)
	}
	for key, each := range v.Members() {
		switch key {
		case "source":
			id, _ := each.Text()
			c.refers["source/"+id] = true
		case "cautions", "needs":
			kind := map[string]string{"cautions": "caution/", "needs": "tool/"}[key]
			for _, name := range each.Items() {
				id, _ := name.Text()
				c.refers[kind+id] = true
			}
		case "given", "fixes", "risks", "reading", "only_after":
		default:
			c.note(f, each)
		}
	}
}

func (c *composer) missing(kind string, seen map[string]bool) {
	for _, id := range slices.Sorted(maps.Keys(c.refers)) {
		if name, ok := strings.CutPrefix(id, kind+"/"); ok && !seen[name] {
			c.family.report.Add(c.family.root, "no part has the %s %s", kind, document.Quote(name))
		}
	}
}

func (c *composer) once(f *file, v document.Value, seen map[string]bool, id string) {
	if seen[id] {
		f.report.Add(v, "another part of this family has one of that id")
	}
	seen[id] = true
}

func (c *composer) list(kind string, block func(*file, document.Value)) {
	c.out.Key(kind)
	c.out.open('[')
	seen := map[string]bool{}
	for _, f := range c.taken {
		for _, v := range f.root.Get(kind).Items() {
			id := textOf(v.Get("id"))
			c.once(f, v, seen, id)
			block(f, v)
		}
	}
	c.out.End()
}

func (c *composer) component(f *file, v document.Value) {
	w := &c.out
	w.open('{')
	for _, name := range componentOrder {
		if field := v.Get(name); field.Exists() {
			w.Key(name)
			c.value(f, name, field)
		}
	}
	id := textOf(v.Get("id"))
	w.Key("modes")
	w.open('[')
	for _, mode := range v.Get("modes").Items() {
		name, _ := mode.Get("id").Text()
		c.fields(f, mode, c.change["modes/"+id+"."+name], modeOrder, nil)
	}
	w.End()
	w.End()
}

// test writes a test and behind it its twins, which are written as it is but for what they say otherwise: neither intake nor proof.
func (c *composer) test(f *file, v document.Value) {
	c.block(f, v, "tests", testOrder)
	id := textOf(v.Get("id"))
	for _, twin := range c.twins[id] {
		c.fields(f, v, twin, twinOrder, c.added("tests", id))
	}
}

// block writes a setup, a test or a repair.
func (c *composer) block(f *file, v document.Value, kind string, order []string) {
	id := textOf(v.Get("id"))
	c.fields(f, v, c.change[kind+"/"+id], order, c.added(kind, id))
}

// changesMoreThanRows reports whether a change of a test is about more than what its outcomes say of the faults.
func changesMoreThanRows(change document.Value) bool {
	for name := range change.Members() {
		if name != "given" {
			return true
		}
	}
	return false
}

// added returns what others add to the fields of a block.
func (c *composer) added(kind, id string) func(field string) []addition {
	return func(field string) []addition {
		switch {
		case kind == "tests" && field == "given":
			return c.rows[id]
		case kind == "repairs" && field == "fixes":
			return c.fixes[id]
		case kind == "repairs" && field == "risks":
			return c.risks[id]
		}
		return nil
	}
}

// fields writes an object's fields in order: those of change in the place of its own,
// and what others add to its maps of modes.
func (c *composer) fields(f *file, v, change document.Value, order []string, more func(field string) []addition) {
	w := &c.out
	w.open('{')
	for _, name := range order {
		field, from := v.Get(name), f
		if otherwise := change.Get(name); otherwise.Exists() {
			if name != "given" && name != "fixes" && name != "risks" {
				field, from = otherwise, c.family
			}
		}
		var added []addition
		if more != nil {
			added = more(name)
		}
		if !field.Exists() && len(added) == 0 && (name != "cautions" || c.dangers[c.place(v, change)].Len() == 0) {
			continue
		}
		if name == "only_after" && c.afterLess(from, field) {
			continue
		}
		if name == "told" || name == "proof" || name == "only_after" || name == "steadiness" && v.Get("fixes").Exists() {
			c.second = true
		}
		w.Key(name)
		switch name {
		case "only_after":
			c.onlyAfter(field)
		case "given", "fixes", "risks":
			rows := change.Get(name)
			if of := change.Get("of"); of.Exists() && !rows.Exists() { // a twin has the rows of its test
				rows = c.change["tests/"+textOf(of)].Get(name)
			}
			c.chances(from, field, rows, added)
		case "cautions":
			c.cautions(from, field, c.dangers[c.place(v, change)])
		case "at":
			c.at(from, field)
		case "enter", "leave":
			c.fields(from, field, document.Value{}, []string{"title", "text", "minutes", "money", "cautions", "fixes", "risks", "steps", "why", "source"}, nil)
		case "outcomes":
			c.outcomes(from, field, change.Get("bands"))
		default:
			c.value(from, name, field)
		}
	}
	w.End()
}

// chances writes a map by modes: its own entries, those that the family gives
// otherwise, those that others add; modes of parts that are not taken fall away.
func (c *composer) chances(f *file, own, otherwise document.Value, added []addition) {
	w := &c.out
	w.open('{')
	seen := map[string]bool{}
	one := func(f *file, mode string, v document.Value) {
		switch {
		case c.modes[mode].Exists():
			if seen[mode] {
				f.report.Add(v, "another part of this family gives this one")
				return
			}
			seen[mode] = true
			if changed := otherwise.Get(mode); changed.Exists() {
				f, v = c.family, changed
			}
			w.Key(mode)
			c.value(f, "", v)
		case !c.elsewhere(f, "mode", mode):
			f.report.Add(v, "no part has such a mode")
		}
	}
	for mode, v := range own.Members() {
		one(f, mode, v)
	}
	for _, a := range added {
		for mode, v := range a.rows.Members() {
			one(a.file, mode, v)
		}
	}
	for mode, v := range otherwise.Members() {
		if !seen[mode] {
			c.family.report.Add(v, "nothing to change: no part gives it; a new one belongs in rows, fixes or risks")
		}
	}
	w.End()
}

// afterLess reports whether a part's only_after falls away because the family has none of the
// tests that it names, as if no tool allowed them; where it is strict that is a slip.
func (c *composer) afterLess(f *file, v document.Value) bool {
	known := false
	for _, seen := range v.Get("any").Items() {
		id := textOf(seen.Get("test"))
		known = known || c.tests[id]
		if !c.tests[id] && !c.elsewhere(f, "test", id) {
			f.report.Add(seen, "no part has such a test")
			return false
		}
	}
	if strict, _ := v.Get("strict").Bool(); strict && !known {
		f.report.Add(v, "strict, and the family takes none of the tests")
	}
	return !known
}

// onlyAfter writes what a repair asks for, without the tests of parts that are not taken.
func (c *composer) onlyAfter(v document.Value) {
	w := &c.out
	w.flat++
	w.open('{')
	w.Key("any")
	w.open('[')
	for _, seen := range v.Get("any").Items() {
		if c.tests[textOf(seen.Get("test"))] {
			c.value(c.family, "", seen)
		}
	}
	w.End()
	if strict := v.Get("strict"); strict.Exists() {
		w.Key("strict")
		w.Raw(strict.Raw())
	}
	w.End()
	w.flat--
}

// place returns where a test or repair is done, "" for other blocks.
func (c *composer) place(v, change document.Value) string {
	if otherwise := change.Get("at"); otherwise.Exists() {
		v = change
	}
	return textOf(v.Get("at"))
}

// cautions writes a block's own cautions and those that its place of work adds.
func (c *composer) cautions(f *file, own, added document.Value) {
	w := &c.out
	w.flat++
	w.open('[')
	seen := map[string]bool{}
	for _, list := range []document.Value{own, added} {
		for _, v := range list.Items() {
			if id := textOf(v); !seen[id] {
				seen[id] = true
				w.String(id)
			}
		}
	}
	w.End()
	w.flat--
}

// at writes the setup that a place of work stands for in this family. The family's
// own blocks may name a setup itself.
func (c *composer) at(f *file, v document.Value) {
	place, _ := v.Text()
	setup, ok := c.where[place]
	if !ok && f == c.family {
		setup, ok = place, c.setups[place]
	}
	if !ok {
		f.report.Add(v, "the family's where does not say which setup %s is", document.Quote(place))
	}
	c.out.String(setup)
}

// outcomes writes a test's outcomes, with the family's bands in the place of their own.
func (c *composer) outcomes(f *file, v, bands document.Value) {
	w := &c.out
	w.open('[')
	seen := map[string]bool{}
	for _, o := range v.Items() {
		id, _ := o.Get("id").Text()
		seen[id] = true
		band := bands.Get(id)
		w.flat++
		if band.Exists() {
			c.fields(f, o, band, []string{"id", "title", "text", "why", "from", "to"}, nil)
		} else {
			c.value(f, "", o)
		}
		w.flat--
	}
	for id, band := range bands.Members() {
		if !seen[id] {
			c.family.report.Add(band, "the test has no such outcome")
		}
	}
	w.End()
}

// value writes any value, with words put in where a person reads.
func (c *composer) value(f *file, key string, v document.Value) {
	w := &c.out
	switch v.Kind() {
	case document.String:
		s, _ := v.Text()
		if slices.Contains(wordOrder, key) || key == "place" {
			s = c.fill(f, v, s)
		}
		w.String(s)
	case document.List:
		flat := key != "steps" && v.Len() > 0
		if flat {
			w.flat++
		}
		w.open('[')
		for _, each := range v.Items() {
			c.value(f, key, each)
		}
		w.End()
		if flat {
			w.flat--
		}
	case document.Object:
		w.flat++
		w.open('{')
		for name, each := range v.Members() {
			w.Key(name)
			c.value(f, name, each)
		}
		w.End()
		w.flat--
	default:
		w.Raw(v.Raw())
	}
}

// fill puts the family's words in: {load} becomes the text of words.load.
func (c *composer) fill(f *file, v document.Value, s string) string {
	var b strings.Builder
	for {
		before, rest, found := strings.Cut(s, "{")
		b.WriteString(before)
		if !found {
			return b.String()
		}
		name, after, closed := strings.Cut(rest, "}")
		word := c.words[name]
		if !closed || !word.Exists() {
			f.report.Add(v, "the family has no word %s", document.Quote("{"+name+"}"))
			return b.String()
		}
		c.used[name] = true
		text, _ := word.Text()
		b.WriteString(text)
		s = after
	}
}

// Defects is what is wrong with the files of a family, each with file and place.
type Defects []string

// Error returns all of them, one a line.
func (d Defects) Error() string {
	return "catalog: " + strings.Join(d, "\ncatalog: ")
}

func (c *composer) defects() error {
	var all Defects
	for _, f := range c.taken {
		found := f.report.Defects()
		for _, d := range found.List {
			all = append(all, f.name+": "+d.String())
		}
		if found.More > 0 {
			all = append(all, fmt.Sprintf("%s: and %d more", f.name, found.More))
		}
	}
	if all == nil {
		return nil
	}
	return all
}

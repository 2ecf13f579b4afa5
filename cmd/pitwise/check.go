package main

import (
	"flag"
	"fmt"
	"strings"

	"pitwise/engine/catalog"
	"pitwise/engine/document"
	"pitwise/engine/lint"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

var checkCommand = &command{
	name:  "check",
	args:  "[-model FILE-or-ID] [-deep [-terms FILE] [-units N] [-exceptions FILE]] FILE…",
	short: "check models and trails, and list every defect",
	long: `
Reads each FILE, tells a model from a trail by its field "format", and lists all
that is wrong with it, one defect a line, in the order of the file:

  FILE:LINE:COLUMN: PLACE: what was found, and what was wanted

A FILE may be the id of a shipped model, and - is standard input. A trail is
checked by its form, and against the model whose SHA-256 it names: the text it
carries, the one that -model gives, one among the FILEs before it, or the shipped
one. Where none fits, its form is checked alone, and the line says so.

  pitwise check mine.json shelf-3.trail.json
  pitwise check -model mine.json shelf-3.trail.json

The exit status is 1 if anything is wrong with any FILE.

With -deep it also lists what the author of a model would want to look at. These
findings are no defects and leave the status as it is:

  twins            two modes that no test tells apart
  rare-outcome     an outcome rarer than 1 in 10,000 whatever is wrong
  healthier        a row that looks healthier than healthy
  idle-row         a row that says what healthy says
  no-test          a mode that no test shows
  no-repair        a mode that no repair takes away
  steep-row        an outcome that a fault makes over ten times likelier, or rarer, with no
                   why at the test or the outcome
  blind-repair     over 15 minutes of work, or under a caution mains or laser, and no
                   only_after
  renewing-risk    a risk under 2 in 100 by which another repair of that mode forgets that
                   it failed
  beaten-repair    a repair that another one beats in every respect
  idle-test        a test that never changed the advice
  unworthy-repair  a repair that was never worth doing

then what the priors add up to, how many faults a unit that comes in has, and, for
each trail among the FILEs that was recorded under the model, which of its odds
one more fault at once would move most.

The last two kinds of findings come from playing -units units and from asking the
planner about every test and repair that was not of use in them or in the trails,
with every tool at hand; that takes a minute or more, and the more trails the
better. What is worth its price depends on the terms, which the output tells:
those of -terms, in the form that "pitwise help simulate" shows, or else 0.25 EUR a
minute, 80 working, 10 as it is, 25 a comeback. A finding that is meant is explained
in the file that -exceptions gives, those of the shipped models in their own:

  [{"model": ID, "kind": "twins", "of": [IDS of the finding], "why": "…"}]

  pitwise check -deep mine.json shelf-*.trail.json`,
	run: check,
}

func check(d *desk, flags *flag.FlagSet, args []string) error {
	named := flags.String("model", "", "check trails against the model in `FILE`, or the shipped one of that id, if they name it")
	deep := flags.Bool("deep", false, "list also what the author of a model would want to look at")
	units := flags.Int("units", 4, "with -deep, play `N` units (4)")
	terms := flags.String("terms", "", "with -deep, ask the planner by the terms in `FILE`, with every tool of the model besides")
	exceptions := flags.String("exceptions", "", "with -deep, leave out the findings that `FILE` explains")
	args, err := d.parse(flags, args, 1, -1)
	if err != nil {
		return err
	}
	if *units < 0 || *units > mostUnits {
		return misuse{fmt.Sprintf("-units %d is not from 0 to %d", *units, mostUnits)}
	}
	c := checker{desk: d}
	var meant []lint.Exception
	if *exceptions != "" {
		text, err := d.read(*exceptions)
		if err != nil {
			return err
		}
		if meant, err = lint.ReadExceptions(text); err != nil {
			return fmt.Errorf("%s: %w", *exceptions, err)
		}
	}
	if *named != "" {
		m, err := d.model(*named)
		if err != nil {
			return err
		}
		c.models = append(c.models, m)
	}
	for _, name := range args {
		if err := c.file(name); err != nil {
			return err
		}
	}
	for i := range c.given {
		if !*deep {
			break
		}
		if err := c.deep(&c.given[i], *terms, *units, meant); err != nil {
			return err
		}
	}
	if c.wrong {
		return errTold
	}
	return nil
}

// A checker goes through files.
type checker struct {
	desk   *desk
	models []*model.Model // of -model and of the files so far
	given  []given        // the models among the files
	trails []*trail.Trail // those among the files with nothing wrong
	wrong  bool
}

// file checks one file. The error is of the output alone.
func (c *checker) file(name string) error {
	text, shipped := catalog.Text(name)
	if !shipped {
		var err error
		if text, err = c.desk.read(name); err != nil {
			c.wrong = true
			fmt.Fprintf(c.desk.err, "pitwise check: %v\n", err)
			return nil
		}
	}
	defects, found := c.text(name, text)
	var b strings.Builder
	for _, line := range defectLines(name, defects) {
		b.WriteString(line + "\n")
	}
	if defects.Len() == 0 {
		b.WriteString(plain(name+": "+found) + "\n")
	} else {
		c.wrong = true
	}
	// One write a file, so that no list is cut in two by another program's output.
	_, err := c.desk.out.Write([]byte(b.String()))
	return err
}

// text checks one text. Where nothing is wrong, found says what it is.
func (c *checker) text(name string, text []byte) (defects document.Defects, found string) {
	switch format := document.Format(text, trail.Limits); format {
	case "pitwise/model":
		m, err := model.Load(text)
		if err != nil {
			return document.DefectsOf(err), ""
		}
		c.models = append(c.models, m)
		c.given = append(c.given, given{name, m})
		return defects, fmt.Sprintf("model %s revision %s, %s: nothing wrong", m.ID, m.Revision, size(m))
	case "pitwise/trail":
		return c.trail(text)
	default:
		r := document.NewReport(text)
		if root, ok := r.Read(trail.Limits); ok {
			switch v := root.Get("format"); {
			case root.Kind() != document.Object:
				r.Add(root, "%s, want an object that is a model or a trail", root.Kind())
			case !v.Exists():
				r.AddMissing(root, "format")
			default:
				r.Add(v, "%s, want \"pitwise/model\" or \"pitwise/trail\"", document.Quote(format))
			}
		}
		return r.Defects(), ""
	}
}

func (c *checker) trail(text []byte) (defects document.Defects, found string) {
	t, err := trail.Load(text)
	if err != nil {
		return document.DefectsOf(err), ""
	}
	m, whence, defects := c.modelOf(t)
	if defects.Len() > 0 {
		return document.Located(text, trail.Limits, defects), ""
	}
	found = "trail of " + many(len(t.Events), "event")
	if m == nil {
		return defects, fmt.Sprintf("%s: nothing wrong with its form; the model that it names, %s, is not at hand to check it against (-model gives one)",
			found, modelName(t.Model))
	}
	if err := t.Check(m); err != nil {
		return document.Located(text, trail.Limits, document.DefectsOf(err)), ""
	}
	c.trails = append(c.trails, t)
	return defects, fmt.Sprintf("%s, checked against %s %s revision %s: nothing wrong", found, whence, m.ID, m.Revision)
}

// modelOf returns the model whose digest a trail names, and where it is from; nil if it
// is not at hand.
func (c *checker) modelOf(t *trail.Trail) (m *model.Model, whence string, defects document.Defects) {
	if t.ModelText != "" { // has the digest, or Load would have refused it
		m, err := model.Load([]byte(t.ModelText))
		defects = document.DefectsOf(err)
		for i := range defects.List {
			each := &defects.List[i]
			each.Found = "in the model, " + each.String()
			each.Place = "model_text"
		}
		return m, "the model it carries,", defects
	}
	for _, m := range c.models {
		if m.SHA256 == t.Model.SHA256 {
			return m, "the model", defects
		}
	}
	for _, e := range catalog.Models() {
		if e.SHA256 == t.Model.SHA256 {
			if m, err := catalog.Load(e.ID); err == nil {
				return m, "the shipped model", defects
			}
		}
	}
	return nil, "", defects
}

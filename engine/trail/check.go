package trail

import (
	"fmt"
	"math"

	"pitwise/engine/document"
	"pitwise/engine/model"
)

// Check reports what in the trail does not fit the model m: ids that it does not
// have, outcomes of another test, readings of a test that takes none, voids that
// name no earlier event, and events that are not as Load would let them be. It does
// not ask whether m is the model that the trail names. The error is Defects, or nil.
func (t *Trail) Check(m *model.Model) error {
	c := checker{m: m, found: Defects{Kind: ErrInvalid}}
	c.tools("terms", &t.Terms)
	before := 0
	for i := range t.Events {
		c.event(i, before, &t.Events[i])
		before = t.Events[i].N
	}
	if c.found.Len() > 0 {
		return c.found
	}
	return nil
}

type checker struct {
	m     *model.Model
	found Defects
}

func (c *checker) add(place, format string, args ...any) {
	if len(c.found.List) >= document.MaxDefects {
		c.found.More++
		return
	}
	c.found.List = append(c.found.List, Defect{Place: place, Found: fmt.Sprintf(format, args...)})
}

// tools reports the tools of terms that the model does not have.
func (c *checker) tools(place string, t *Terms) {
	for i, id := range t.Tools {
		if _, ok := c.m.Tool(id); !ok {
			c.add(fmt.Sprintf("%s.tools[%d]", place, i), "no tool has the id %s", document.Quote(string(id)))
		}
	}
}

func (c *checker) event(i, before int, e *Event) {
	at := func(field string) string { return fmt.Sprintf("events[%d].%s", i, field) }
	if outOfStep(e.N, i, before) {
		c.add(at("n"), "%d, want %d: n counts from 1 without gaps", e.N, i+1)
	}
	switch e.Kind {
	case Result:
		c.result(i, e)
	case Skip:
		if _, ok := c.m.Test(e.Test); !ok {
			c.add(at("test"), "no test has the id %s", document.Quote(string(e.Test)))
		}
	case Setup:
		if _, ok := c.m.Setup(e.Setup); !ok {
			c.add(at("setup"), "no setup has the id %s", document.Quote(string(e.Setup)))
		}
	case Repair:
		if _, ok := c.m.Repair(e.Repair); !ok {
			c.add(at("repair"), "no repair has the id %s", document.Quote(string(e.Repair)))
		}
	case Note, Wait:
	case NewTerms:
		if e.Terms == nil {
			c.add(at("terms"), "missing")
		} else {
			c.tools(at("terms"), e.Terms)
		}
	case Void:
		if e.Of < 1 || e.Of > i {
			c.add(at("of"), "%d, want an event before this one, which is %d", e.Of, i+1)
		}
	case End:
		switch e.As {
		case SignedOff, WrittenOff, Returned:
		default:
			c.add(at("as"), "%s, want %q, %q or %q", document.Quote(string(e.As)), SignedOff, WrittenOff, Returned)
		}
		for k, id := range e.Causes {
			if _, ok := c.m.Mode(id); !ok {
				c.add(at(fmt.Sprintf("causes[%d]", k)), "no mode has the id %s", document.Quote(string(id)))
			}
		}
	default:
		c.add(at("kind"), "%s is no kind of event", document.Quote(string(e.Kind)))
	}
}

func (c *checker) result(i int, e *Event) {
	at := func(field string) string { return fmt.Sprintf("events[%d].%s", i, field) }
	if named, measured := e.Outcome != "", e.Reading != nil; named == measured {
		n := 0
		if named {
			n = 2
		}
		c.add(fmt.Sprintf("events[%d]", i), "%d of the fields \"outcome\" and \"reading\", want exactly one", n)
	}
	test, ok := c.m.Test(e.Test)
	if !ok {
		c.add(at("test"), "no test has the id %s", document.Quote(string(e.Test)))
	}
	if e.Outcome != "" && ok {
		if _, ok := test.Outcome(e.Outcome); !ok {
			c.add(at("outcome"), "no outcome of the test %s has the id %s", document.Quote(string(e.Test)), document.Quote(string(e.Outcome)))
		}
	}
	if e.Reading == nil {
		return
	}
	if math.IsNaN(*e.Reading) || math.IsInf(*e.Reading, 0) {
		c.add(at("reading"), "%v is not finite", *e.Reading)
	}
	if ok && test.Reading == nil {
		c.add(at("reading"), "the test %s takes no number, want an outcome", document.Quote(string(e.Test)))
	}
}

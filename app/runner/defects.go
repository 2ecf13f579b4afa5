package runner

import (
	"cmp"
	"errors"
	"slices"

	"pitwise/app/browser"
	"pitwise/app/state"
	"pitwise/engine/document"
	"pitwise/engine/learn"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

// limits bound what a file is read for when it is only looked at: the loaders have
// their own.
var limits = document.Limits{Bytes: FileLimit, Depth: trail.Limits.Depth, Values: trail.Limits.Values}

// A partError is an error in a text that stands inside a file as a string.
type partError struct {
	part string // its place in the file
	err  error
}

func (e *partError) Error() string { return e.part + ": " + e.err.Error() }
func (e *partError) Unwrap() error { return e.err }

// A refusal is all that is wrong with a file.
type refusal struct {
	cause   error // the first of it
	defects []state.Defect
	more    int
}

func (e *refusal) Error() string { return e.cause.Error() }
func (e *refusal) Unwrap() error { return e.cause }

// add adds the defects of err, which are of what r is of; place is where that stands in the file, ""
// for the whole of it. The report is only looked at for places without lines.
func (e *refusal) add(err error, r *document.Report, place string) {
	e.cause = cmp.Or(e.cause, err)
	found, in := document.DefectsOf(err), ""
	var part *partError
	switch {
	case errors.As(err, &part):
		if found, in = document.DefectsOf(part.err), part.part; place != "" {
			in = place + "." + in
		}
	case slices.ContainsFunc(found.List, func(d document.Defect) bool { return d.Line == 0 && (d.Place != "" || place != "") }):
		found = r.Locate(limits, found)
	}
	e.more += found.More
	for _, d := range found.List {
		if len(e.defects) >= document.MaxDefects {
			e.more++
			continue
		}
		e.defects = append(e.defects, state.Defect{Defect: d, In: in})
	}
}

// refused sends what is wrong with a file that was not read in, or not all of it.
func (r *Runner) refused(f browser.File, err error, partly bool) {
	if !ofFile(err) {
		r.Send(state.ImportFailed{Detail: err.Error()})
		return
	}
	var all *refusal
	if !errors.As(err, &all) {
		all = &refusal{}
		all.add(err, document.NewReport([]byte(f.Text)), "")
	}
	kind := kindOf(f)
	switch {
	case kind != state.FileCounts: // of a whole bench every defect is told
	case errors.Is(err, learn.ErrOtherCounts):
		kind = state.FileOther
	case errors.Is(err, errMany):
		kind = state.FileMany
	}
	r.Send(state.ImportFailed{File: state.RefusedFile{File: f.Name, Kind: kind, Defects: all.defects, More: all.more, Partly: partly}})
}

// ofFile reports whether an error is about what stands in a file, and not about where it
// was to be stored.
func ofFile(err error) bool {
	for _, about := range []error{model.ErrInvalid, trail.ErrInvalid, ErrBackup, ErrOther, browser.ErrRecord, learn.ErrCounts, learn.ErrOtherCounts, errMany} {
		if errors.Is(err, about) {
			return true
		}
	}
	return false
}

// unknownKind says that a file is none of those that the page reads in.
func unknownKind(text []byte) error {
	r := document.NewReport(text)
	if root, ok := r.Read(limits); ok {
		const want = `want "pitwise/model", "pitwise/trail", "pitwise/counts" or "pitwise/bench"`
		switch v := root.Get("format"); {
		case root.Kind() != document.Object:
			r.Add(root, "%s, want an object that is a model, a trail, counts or a bench", root.Kind())
		case !v.Exists():
			r.Add(root, "no field \"format\", %s", want)
		default:
			name, _ := v.Text()
			r.Add(v, "%s, %s", document.Quote(name), want)
		}
	}
	return r.Err(trail.ErrInvalid)
}

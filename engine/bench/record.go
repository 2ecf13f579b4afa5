package bench

import (
	"math"
	"slices"

	"pitwise/engine/model"
	"pitwise/engine/plan"
	"pitwise/engine/trail"
)

// live returns the live events, in order.
func (u *Unit) live() []*trail.Event {
	var all []*trail.Event
	for i, live := range u.Trail.Live() {
		if live {
			all = append(all, &u.Trail.Events[i])
		}
	}
	return all
}

// Ended returns the event by which the unit left the bench, if it has. Notes and the owner's answers
// may come after it; any other live event says that it is back.
func (u *Unit) Ended() (trail.Event, bool) {
	all := u.live()
	for i := len(all) - 1; i >= 0; i-- {
		switch e := all[i]; {
		case e.Kind == trail.End:
			return *e, true
		case e.Kind == trail.Note, e.Kind == trail.Void, e.Kind == trail.Result && u.Told(e.Test):
		default:
			return trail.Event{}, false
		}
	}
	return trail.Event{}, false
}

// CameBack returns how the unit left the bench the last time, if it is on it again.
func (u *Unit) CameBack() (trail.Event, bool) {
	if _, ended := u.Ended(); ended {
		return trail.Event{}, false
	}
	all := u.live()
	for i := len(all) - 1; i >= 0; i-- {
		if all[i].Kind == trail.End {
			return *all[i], true
		}
	}
	return trail.Event{}, false
}

// back returns the last outcome of each test since the unit came back from a sign-off, -1 for none; nil if it did not, or
// was mended since.
func (u *Unit) back() []int {
	end, back := u.CameBack()
	mended := func(e *trail.Event) bool { return e.Kind == trail.Repair && e.N > end.N }
	if !back || end.As != trail.SignedOff || slices.ContainsFunc(u.live(), mended) {
		return nil
	}
	return u.seenAfter(end.N)
}

// Unseen reports whether the unit came back from a sign-off and nobody has seen since what the proof
// shows: then the sign-off is not to be trusted, and neither are odds that speak for it.
func (u *Unit) Unseen() bool {
	end, back := u.CameBack()
	_, due := u.Proof()
	return back && due && end.As == trail.SignedOff
}

// Sighting returns the run by which anybody can say what the unit does, away from the bench too: the proof if it
// needs no tools of the bench, or else a test that needs none and has the proof's outcomes. None where it asks for a disc that did not come
// with the unit: nobody has started it.
func (u *Unit) Sighting() (*model.Test, bool) {
	proof, seen := &u.Model.Tests[u.Model.Proof], u.seen()
	fits := func(t *model.Test) bool {
		return u.Model.Bare(t) && len(u.Model.Missing(t, seen)) == 0 && !t.Told && t.At == proof.At && u.Model.SaysAsProof(t)
	}
	if fits(proof) {
		return proof, true
	}
	for i := range u.Model.Tests {
		if t := &u.Model.Tests[i]; fits(t) {
			return t, true
		}
	}
	return nil, false
}

// Told reports whether a test of that id is a question to the owner.
func (u *Unit) Told(id model.TestID) bool {
	if u.Model == nil {
		return false
	}
	t, ok := u.Model.Test(id)
	return ok && t.Told
}

// Skipped tells, by test index, what the person said they cannot do now: a live skip with
// no live result of that test since.
func (u *Unit) Skipped() []bool { return u.Trail.Skipped(u.Model) }

// Skip returns the skip that holds a test, if one does.
func (u *Unit) Skip(test int) (trail.Event, bool) {
	id := u.Model.Tests[test].ID
	all := u.live()
	for i := len(all) - 1; i >= 0; i-- {
		if e := all[i]; e.Test == id && (e.Kind == trail.Skip || e.Kind == trail.Result) {
			return *e, e.Kind == trail.Skip
		}
	}
	return trail.Event{}, false
}

// Proof returns the run that proves the unit, and whether it is due: since it was last run a repair was
// done, or the unit was signed off, so that one that came back is started before it is signed off again.
func (u *Unit) Proof() (s plan.Step, due bool) {
	s = plan.Step{Kind: plan.DoTest, Index: u.Model.Proof}
	id := u.Model.Tests[u.Model.Proof].ID
	for _, e := range u.live() {
		switch {
		case e.Kind == trail.Repair, e.Kind == trail.End && e.As == trail.SignedOff:
			due = true
		case e.Kind == trail.Result && e.Test == id:
			due = false
		}
	}
	return s, due
}

// Started reports whether the unit was started, by whatever test that ends as the proof does, since a repair was last done.
func (u *Unit) Started() (started bool) {
	for _, e := range u.live() {
		switch {
		case e.Kind == trail.Repair:
			started = false
		case e.Kind == trail.Result:
			t, ok := u.Model.Test(e.Test)
			started = started || ok && u.Model.EndsAsProof(t)
		}
	}
	return started
}

// Runs returns how many results of a test count together: those since the last change that
// touched it. The next one is the n-th, with n one more. 0 while there is no account.
func (u *Unit) Runs(test int) int {
	if u.Account == nil || u.Account.Final == nil {
		return 0
	}
	sum := 0.0
	for _, n := range u.Account.Final.Counts(test) {
		sum += n
	}
	return int(math.Round(sum))
}

// Tries returns how often a repair was done, taken back tries aside.
func (u *Unit) Tries(repair int) int {
	n := 0
	for _, e := range u.live() {
		if e.Kind == trail.Repair && e.Repair == u.Model.Repairs[repair].ID {
			n++
		}
	}
	return n
}

// A Question is a told test with the owner's answer.
type Question struct {
	Test   int          // index in Model.Tests
	Answer *trail.Event // the last live one; nil while it was not asked or not known
}

// Questions returns what the owner may be asked, in the model's order, with what was said. An
// answer is welcome at any time.
func (u *Unit) Questions() []Question {
	answers := map[model.TestID]*trail.Event{}
	for _, e := range u.live() {
		if e.Kind == trail.Result {
			answers[e.Test] = e
		}
	}
	var all []Question
	for i := range u.Model.Tests {
		if t := &u.Model.Tests[i]; t.Told {
			all = append(all, Question{i, answers[t.ID]})
		}
	}
	return all
}

// Waiting returns the event that says what the unit waits for, if it does.
func (u *Unit) Waiting() (trail.Event, bool) { return u.Trail.Waiting() }

// Terms returns the terms that stand.
func (u *Unit) Terms() trail.Terms { return u.Trail.Standing() }

// Found returns what was found to be wrong, as somebody said when the unit left the
// bench; nil if nobody did. Ids that the model does not have are left out.
func (u *Unit) Found() []int {
	e, _ := u.Ended()
	var all []int
	for _, id := range e.Causes {
		if mode, ok := u.Model.Mode(id); ok {
			all = append(all, mode.Index)
		}
	}
	return all
}

// StepAt returns the number of the last step up to an event, 0 if there is none yet.
func (u *Unit) StepAt(n int) int {
	for n = min(n, len(u.Trail.Events)); n > 0; n-- {
		if k := u.Number(n); k > 0 {
			return k
		}
	}
	return 0
}

// Number returns which step of the unit an event is: results, repairs, setup steps, skips and ends are
// counted, from 1, also those that were taken back, so that a number stays what it is. 0 is an
// event that is no step: a note, what the owner tells, new terms, a wait, what takes back.
func (u *Unit) Number(n int) int {
	if n < 1 || n > len(u.Trail.Events) || !u.isStep(&u.Trail.Events[n-1]) {
		return 0
	}
	return u.stepsTo(n)
}

// Steps returns how many steps the unit has, counted as Number does.
func (u *Unit) Steps() int { return u.stepsTo(len(u.Trail.Events)) }

func (u *Unit) stepsTo(n int) int {
	count := 0
	for i := range u.Trail.Events[:n] {
		if u.isStep(&u.Trail.Events[i]) {
			count++
		}
	}
	return count
}

func (u *Unit) isStep(e *trail.Event) bool {
	switch e.Kind {
	case trail.Setup, trail.Repair, trail.Skip, trail.End:
		return true
	case trail.Result:
		return !u.Told(e.Test)
	}
	return false
}

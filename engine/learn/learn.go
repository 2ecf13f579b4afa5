package learn

import (
	"bytes"
	"cmp"
	"errors"
	"sort"

	"pitwise/engine/model"
	"pitwise/engine/trail"
)

// A Learner takes trails in, one at a time, and keeps of each no more than what bears on the
// numbers: some tens of bytes. It is not safe for concurrent use.
type Learner struct {
	frame  *frame
	trails map[string]kept // by id
	others []Bench
	left   []Left
}

type kept struct {
	events int
	shape  shape
}

// A Left is a trail that could not be learnt from.
type Left struct {
	ID  string // of the trail
	Err error
}

// ErrLearnt says that a model was itself learnt: to learn again from the same units would
// count them twice.
var ErrLearnt = errors.New("learn: the model was learnt already; start from the one it was learnt from")

// New returns a learner for a model as it was shipped or written.
func New(m *model.Model) (*Learner, error) {
	if From(m) {
		return nil, ErrLearnt
	}
	f, err := newFrame(m)
	if err != nil {
		return nil, err
	}
	return &Learner{frame: f, trails: map[string]kept{}}, nil
}

// From reports whether a model's numbers were learnt from units.
func From(m *model.Model) bool {
	_, ok := m.Source(learntSource)
	return ok
}

// Add takes a trail in. Of two trails with one id the later counts: the one with more events,
// for a trail only grows. The order in which trails come does not matter. A trail of another
// model, or one that cannot be worked with, is left out; the error says why, and Fit lists it.
func (l *Learner) Add(t *trail.Trail) error {
	s, err := l.frame.shapeOf(t)
	if err == nil {
		_, err = l.frame.stages(s)
	}
	if err != nil {
		l.left = append(l.left, Left{t.ID, err})
		return err
	}
	old, known := l.trails[t.ID]
	now := kept{len(t.Events), s}
	if !known || cmp.Or(cmp.Compare(now.events, old.events), bytes.Compare(now.shape, old.shape)) > 0 {
		l.trails[t.ID] = now
	}
	return nil
}

// Remove forgets the trail with that id.
func (l *Learner) Remove(id string) { delete(l.trails, id) }

// Len returns how many units the learner has.
func (l *Learner) Len() int { return len(l.trails) }

// A group is the trails of one shape. It holds what is small: there may be very many.
type group struct {
	shape shape
	n     float64
	act   packed // the hypotheses that matter to it
}

// groups sorts the trails by shape, so that their order is that of the set.
func (l *Learner) groups() []group {
	shapes := make([]shape, 0, len(l.trails))
	for _, k := range l.trails {
		shapes = append(shapes, k.shape)
	}
	sort.Slice(shapes, func(i, j int) bool { return bytes.Compare(shapes[i], shapes[j]) < 0 })
	var all []group
	for i, s := range shapes {
		if i == 0 || !bytes.Equal(s, shapes[i-1]) {
			all = append(all, group{shape: s})
		}
		all[len(all)-1].n++
	}
	return all
}

// ErrStopped says that whoever asked no longer waits.
var ErrStopped = errors.New("learn: stopped")

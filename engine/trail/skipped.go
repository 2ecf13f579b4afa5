package trail

import "pitwise/engine/model"

// Skipped tells, by test index, what the person cannot do now: a live skip of the test
// with no live result of it since.
func (t *Trail) Skipped(m *model.Model) []bool {
	skipped := make([]bool, len(m.Tests))
	live := t.Live()
	for i := range t.Events {
		e := &t.Events[i]
		if !live[i] || e.Kind != Skip && e.Kind != Result {
			continue
		}
		if test, ok := m.Test(e.Test); ok {
			skipped[test.Index] = e.Kind == Skip
		}
	}
	return skipped
}

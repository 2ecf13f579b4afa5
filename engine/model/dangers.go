package model

// Dangers are cautions of one model, gathered for what is about to be done. The zero value is
// of no use; Model.Dangers makes one.
type Dangers struct {
	model *Model
	has   []bool // by index in Model.Cautions
}

// Dangers returns an empty set of the model's cautions.
func (m *Model) Dangers() Dangers { return Dangers{m, make([]bool, len(m.Cautions))} }

// Add adds cautions by their ids; an id that the model does not have is passed over.
func (d Dangers) Add(ids []CautionID) {
	for _, id := range ids {
		for i := range d.model.Cautions {
			if d.model.Cautions[i].ID == id {
				d.has[i] = true
			}
		}
	}
}

// Around adds what is dangerous in a setup: its cautions and those of all around it.
func (d Dangers) Around(setup int) {
	for s := setup; s >= 0; s = d.model.Setups[s].Inside {
		d.Add(d.model.Setups[s].Cautions)
	}
}

// Way adds what is dangerous at both ends of a way and on it.
func (d Dangers) Way(from, to int) {
	d.Around(from)
	d.Around(to)
	for _, mv := range d.model.Way(from, to) {
		work, _ := d.model.Move(mv)
		d.Add(work.Cautions)
	}
}

// Cautions returns what was gathered, in the model's order; nil if nothing was.
func (d Dangers) Cautions() []Caution {
	var all []Caution
	for i, has := range d.has {
		if has {
			all = append(all, d.model.Cautions[i])
		}
	}
	return all
}

// Worst is 0 without any caution, else larger the nearer to the front of the model's list the first
// of those gathered stands.
func (d Dangers) Worst() int {
	for i, has := range d.has {
		if has {
			return len(d.has) - i
		}
	}
	return 0
}

package runner

import (
	"encoding/json"
	"maps"
	"slices"

	"pitwise/app/browser"
	"pitwise/app/state"
	"pitwise/engine/belief"
	"pitwise/engine/catalog"
	"pitwise/engine/learn"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

// A modelNote is what is kept beside a listed model, so that the list can be shown
// without loading every text.
type modelNote struct {
	ID       string `json:"id"`
	Title    string `json:"title,omitempty"`
	Revision string `json:"revision"`
	Added    string `json:"added"` // RFC 3339
	Learnt   bool   `json:"learnt,omitempty"`
	Mine     bool   `json:"mine,omitempty"`
}

// noteLimit is how many characters of a title or a revision a note keeps.
const noteLimit = 200

func (r *Runner) noteOf(m *model.Model) string {
	text, _ := json.Marshal(modelNote{ID: m.ID, Title: cut(m.Title, noteLimit), Revision: cut(m.Revision, noteLimit), Added: r.stamp(), Learnt: learn.From(m), Mine: learn.Owned(m)})
	return string(text)
}

// own lists the models that the person brought in. A note that does not read is that of
// no model.
func (r *Runner) own() ([]state.OwnModel, error) {
	notes, err := r.Storage.Models()
	if err != nil {
		return nil, err
	}
	var all []state.OwnModel
	for _, sha256 := range slices.Sorted(maps.Keys(notes)) {
		var n modelNote
		if json.Unmarshal([]byte(notes[sha256]), &n) != nil {
			continue
		}
		title := n.Title
		if title == "" {
			title = n.ID
		}
		all = append(all, state.OwnModel{ID: n.ID, Title: title, Revision: n.Revision, SHA256: sha256, Added: n.Added, Learnt: n.Learnt, Mine: n.Mine})
	}
	state.SortModels(all)
	return all, nil
}

// readModels answers with the list of own models.
func (r *Runner) readModels() {
	all, err := r.own()
	if err != nil {
		return // the list stays as it is
	}
	r.Send(state.OwnRead{Models: all})
}

// takeInModel lists a model that a person wrote, to begin units with. The shipped ones
// are on the list already.
func (r *Runner) takeInModel(text []byte) (state.Imported, error) {
	m, err := model.Load(text)
	if err != nil {
		return state.Imported{}, err
	}
	r.Device.Yield()
	// Loading counts the hypotheses; making them shows that there is room for them.
	if _, err := belief.NewSpace(m); err != nil {
		return state.Imported{}, model.Defects{Kind: model.ErrInvalid, List: []model.Defect{{Place: "most_faults", Found: err.Error()}}}
	}
	r.Device.Yield()
	taken := &state.TakenModel{Choice: m.SHA256}
	same := false
	for _, e := range catalog.Models() {
		if e.SHA256 == m.SHA256 {
			taken.Choice, same = e.ID, true
		}
	}
	if !same {
		if same, err = r.list(m); err != nil {
			return state.Imported{}, err
		}
	}
	if taken.Own, err = r.own(); err != nil {
		return state.Imported{}, err
	}
	return state.Imported{Same: same, Model: taken}, nil
}

// list puts a model on the list of own models, and reports whether it was on it.
func (r *Runner) list(m *model.Model) (same bool, err error) {
	notes, err := r.Storage.Models()
	if err != nil {
		return false, err
	}
	r.cache(m)
	if _, same = notes[m.SHA256]; same {
		return true, nil
	}
	return false, r.Storage.KeepModel(browser.OfModel(m), r.noteOf(m))
}

// forgetModel takes a model off the list. Units that were begun with it keep its text.
func (r *Runner) forgetModel(sha256 string) {
	if err := r.Storage.DropModel(sha256); err != nil {
		r.Send(state.StorageChanged{Trouble: troubleOf(err)})
		return
	}
	r.readModels()
}

// chosen loads the model that a choice at intake names: a shipped one by its id, one's
// own by its SHA-256.
func (r *Runner) chosen(id string) (*model.Model, error) {
	if trail.DigestForm.Match(id) {
		return r.modelOf(trail.ModelRef{SHA256: id})
	}
	return r.shipped(id)
}

package runner

import (
	"sync"
	"time"

	"pitwise/app/browser"
	"pitwise/app/state"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

// An order is what the page asks of the engine's thread.
type order struct {
	Reckon, Grow bool // without any of these: rest
	Hang, Weigh  bool
	Terms        trail.Terms // of Weigh
	ID           string
	Turn         int
	SHA256       string // of the model
	Text         string // of the model, where the thread does not have it yet
	Trail        *trail.Trail
	Found        bool   // else: what the thread wanted
	Saved        []byte // of Found, nil if there is none
}

// An answer is what the thread tells: one of the messages of an Engine.
type answer struct {
	ID       string
	Turn     int
	Reckoned bool
	Account  *account
	Conflict state.Conflict
	Thought  *state.Thought
	Looked   *state.Looked
	Hung     *state.Hung
	Weighed  *state.Weighed
	Wants    string // the key of what was kept: the page says what there is
	Keeps    string // the key of what is to be kept
	Advice   bool   // it is advice, and not what a planner grew
	Saved    []byte // of Keeps
}

// An account is a trail.Account without the belief, which stays where it is worked with.
type account struct {
	Lines    []trail.Line
	Setup    int
	Warnings []trail.Warning
	Tries    [][]int
	Seen     []int
}

// beside is an Engine in a thread of its own. If the thread ends, or cannot be had, the
// work goes on here.
type beside struct {
	tell func(state.Msg)
	here *sliced // where the work goes on

	mu    sync.Mutex
	post  func([]byte)    // nil once the thread has ended
	known map[string]bool // models that the thread has, by SHA-256
	last  func(Engine)    // the Reckon or Weigh that was asked last, and is not done
	turn  int
	hang  func(Engine) // the Hang that was asked last, and is not done
}

// newEngine returns the engine of the page: beside it where the browser has threads.
func newEngine(tell func(state.Msg), yield func(), grown, advised store) Engine {
	here := &sliced{tell: tell, yield: yield, work: slice, kept: grown, advised: advised}
	b := &beside{tell: tell, here: here, known: map[string]bool{}}
	post, ok := browser.Beside(b.hear, b.over)
	if !ok {
		return here
	}
	b.mu.Lock()
	b.post = post
	b.mu.Unlock()
	return b
}

// Reckon implements Engine.
func (b *beside) Reckon(e state.Reckon) {
	b.ask(order{Reckon: true, ID: e.ID, Turn: e.Turn, Trail: e.Trail}, e.Model, func(in Engine) { in.Reckon(e) })
}

// Grow implements Engine.
func (b *beside) Grow(e state.Grow) {
	b.ask(order{Grow: true, Trail: e.Trail}, e.Model, func(in Engine) { in.Grow(e) })
}

// Hang implements Engine.
func (b *beside) Hang(e state.Hang) {
	b.ask(order{Hang: true, ID: e.ID, Turn: e.Turn, Trail: e.Trail}, e.Model, func(in Engine) { in.Hang(e) })
}

// Weigh implements Engine.
func (b *beside) Weigh(e Weigh) {
	b.ask(order{Weigh: true, Turn: e.Turn, Terms: e.Terms}, e.Model, func(in Engine) { in.Weigh(e) })
}

// Rest implements Engine.
func (b *beside) Rest() { b.ask(order{}, nil, func(in Engine) { in.Rest() }) }

func (b *beside) ask(o order, m *model.Model, again func(Engine)) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.post == nil {
		again(b.here)
		return
	}
	switch {
	case o.Hang:
		b.hang = again
	case !o.Grow:
		b.last, b.turn, b.hang = again, o.Turn, nil
	}
	if m != nil {
		if o.SHA256 = m.SHA256; !b.known[m.SHA256] {
			// The thread keeps as many texts as it is told: they are small, its hypotheses are not.
			b.known[m.SHA256] = true
			o.Text = string(m.Text)
		}
	}
	b.post(ToWire(o))
}

// hear takes an answer of the thread.
func (b *beside) hear(text []byte) {
	var a answer
	if FromWire(text, &a) != nil {
		return // of another program: there is none
	}
	switch {
	case a.Wants != "":
		go func() {
			found := b.of(a).load(a.Wants)
			b.mu.Lock()
			defer b.mu.Unlock()
			if b.post != nil {
				b.post(ToWire(order{Found: true, Saved: found}))
			}
		}()
	case a.Keeps != "":
		b.of(a).keep(a.Keeps, a.Saved)
	case a.Reckoned:
		msg := state.Reckoned{ID: a.ID, Turn: a.Turn, Conflict: a.Conflict}
		if a.Account != nil {
			msg.Account = &trail.Account{Lines: a.Account.Lines, Setup: a.Account.Setup, Warnings: a.Account.Warnings, Tries: a.Account.Tries, Seen: a.Account.Seen}
		}
		b.tell(msg)
	case a.Thought != nil:
		b.tell(*a.Thought)
	case a.Looked != nil:
		b.tell(*a.Looked)
	case a.Hung != nil:
		b.tell(*a.Hung)
	case a.Weighed != nil:
		b.tell(*a.Weighed)
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	switch {
	case a.Hung != nil:
		b.hang = nil
	case a.Looked != nil || a.Conflict.Kind != state.NoConflict || a.Weighed != nil && (a.Weighed.Over || a.Weighed.Failed):
		if a.Turn == b.turn {
			b.last = nil // done
		}
	}
}

// of is where what an answer speaks of is kept.
func (b *beside) of(a answer) store {
	if a.Advice {
		return b.here.advised
	}
	return b.here.kept
}

// over goes on here with what the thread has not done.
func (b *beside) over() {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.post == nil {
		return
	}
	b.post = nil
	for _, again := range []func(Engine){b.last, b.hang} {
		if again != nil {
			again(b.here)
		}
	}
}

// threadSlice is how many units of work the thread does before it looks whether something
// newer was asked of it.
const threadSlice = 16

// foreseeAfter is how long a person is at a step before what may be asked next is worked out: who taps on
// at once is not to wait for it.
const foreseeAfter = 400 * time.Millisecond

// ServeEngine is the program of the engine's thread. It does not return.
func ServeEngine() {
	found := make(chan []byte, 1)
	engine := &sliced{yield: browser.Yield, work: threadSlice, shipped: sync.OnceValue(browser.Grown), kept: asked{found, false}, advised: asked{found, true}, ahead: foreseeAfter}
	engine.tell = func(m state.Msg) { browser.Answer(ToWire(answerOf(m))) }
	models := map[string]*model.Model{}
	orders := make(chan order, 64)
	browser.Listen(func(text []byte) {
		var o order
		if FromWire(text, &o) == nil {
			orders <- o
		}
	})
	for o := range orders {
		if o.Found {
			found <- o.Saved
			continue
		}
		m := models[o.SHA256]
		if m == nil && o.Text != "" {
			loaded, err := model.Load([]byte(o.Text))
			if err != nil {
				engine.tell(state.Reckoned{ID: o.ID, Turn: o.Turn, Conflict: conflictOf(err)})
				continue
			}
			m = loaded
			models[o.SHA256] = m
		}
		switch {
		case m == nil:
			engine.Rest()
		case o.Reckon:
			engine.Reckon(state.Reckon{ID: o.ID, Turn: o.Turn, Trail: o.Trail, Model: m})
		case o.Hang:
			engine.Hang(state.Hang{ID: o.ID, Turn: o.Turn, Trail: o.Trail, Model: m})
		case o.Weigh:
			engine.Weigh(Weigh{Turn: o.Turn, Model: m, Terms: o.Terms})
		case o.Grow:
			engine.Grow(state.Grow{Trail: o.Trail, Model: m})
		}
	}
}

// answerOf writes a message of an Engine as an answer.
func answerOf(m state.Msg) answer {
	switch m := m.(type) {
	case state.Reckoned:
		a := answer{ID: m.ID, Turn: m.Turn, Reckoned: true, Conflict: m.Conflict}
		if m.Account != nil {
			a.Account = &account{Lines: m.Account.Lines, Setup: m.Account.Setup, Warnings: m.Account.Warnings, Tries: m.Account.Tries, Seen: m.Account.Seen}
		}
		return a
	case state.Thought:
		return answer{Thought: &m}
	case state.Looked:
		return answer{Turn: m.Turn, Looked: &m}
	case state.Hung:
		return answer{Turn: m.Turn, Hung: &m}
	case state.Weighed:
		return answer{Turn: m.Turn, Weighed: &m}
	}
	return answer{}
}

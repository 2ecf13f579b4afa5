package plan

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"fmt"
	"math"
)

// ErrLibrary says that a saved library is damaged or of another planner.
var ErrLibrary = errors.New("plan: not a library of this planner")

// edition changes with anything that makes a planner grow other plans of the same model and terms.
const edition = "pitwise plans 3"

// Key is a digest of the model, the terms and the edition of the planner.
func (p *planner) Key() string {
	sum := sha256.New()
	t := &p.Terms
	fmt.Fprintf(sum, "%s\n%s\n", edition, p.model.SHA256)
	for _, x := range []float64{t.MinuteValue, t.WorkingValue, t.AsIsValue, t.ComebackCost, t.Rate()} {
		fmt.Fprintf(sum, "%016x\n", math.Float64bits(x))
	}
	// Which tools are at hand bears on plans by what is on offer alone.
	fmt.Fprintf(sum, "%v %v %v\n", p.tests, p.repairs, p.anyway)
	return hex.EncodeToString(sum.Sum(nil))
}

// Save writes the plans without their costs, which follow from the rest: each after those that may
// follow it.
//
//	library = key, number of plans, plans, by setup the plans of it
//	plan    = kind, index, setup, flags, next, [shown], [had], [opens]
//
// Numbers are unsigned varints; a sum of SHA-256 over all stands at the end.
func (p *planner) Save() []byte {
	p.mu.Lock()
	l := p.grown
	p.mu.Unlock()
	if l == nil {
		return nil
	}
	number := map[*plan]int{}
	var order []*plan
	var visit func(q *plan)
	visit = func(q *plan) {
		if _, ok := number[q]; ok {
			return
		}
		for _, next := range q.next {
			visit(next)
		}
		number[q] = len(order)
		order = append(order, q)
	}
	for _, plans := range l.plans {
		for _, q := range plans {
			visit(q)
		}
	}
	b := []byte(p.Key())
	put := func(x int) { b = binary.AppendUvarint(b, uint64(x)) }
	put(len(order))
	for _, q := range order {
		put(rankOf(q.step.Kind))
		put(q.step.Index)
		put(q.setup)
		put(flag(q.kept, 1) | flag(q.shown != nil, 2) | flag(q.had != nil, 4) | flag(q.opens != nil, 8))
		put(len(q.next))
		for _, next := range q.next {
			put(number[next])
		}
		if q.shown != nil {
			put(len(q.shown))
			for _, x := range q.shown {
				put(int(x))
			}
		}
		if q.had != nil {
			put(len(q.had))
			for _, x := range q.had {
				put(x)
			}
		}
		if q.opens != nil {
			put(q.opens[0].test)
			put(int(q.opens[0].outcomes))
		}
	}
	for _, plans := range l.plans {
		put(len(plans))
		for _, q := range plans {
			put(number[q])
		}
	}
	sum := sha256.Sum256(b)
	return append(b, sum[:]...)
}

func flag(is bool, bit int) int {
	if is {
		return bit
	}
	return 0
}

// Restore reads what Save wrote, and works out the costs anew.
func (p *planner) Restore(saved []byte) (err error) {
	if len(saved) < sha256.Size {
		return fmt.Errorf("%w: %d bytes", ErrLibrary, len(saved))
	}
	body := saved[:len(saved)-sha256.Size]
	if sum := sha256.Sum256(body); !bytes.Equal(sum[:], saved[len(body):]) {
		return fmt.Errorf("%w: its sum does not match", ErrLibrary)
	}
	rest, ok := bytes.CutPrefix(body, []byte(p.Key()))
	if !ok {
		return fmt.Errorf("%w: another model, other terms or another edition", ErrLibrary)
	}
	bad := false
	get := func(below int) int {
		x, n := binary.Uvarint(rest)
		if n <= 0 || x >= uint64(below) {
			bad, rest = true, nil
			return 0
		}
		rest = rest[n:]
		return int(x)
	}
	l := newLibrary(p.Problem)
	m := p.model
	all := make([]*plan, get(1<<20))
	for i := range all {
		q := &plan{step: Step{Kind: [...]StepKind{SignOff, WriteOff, DoRepair, DoTest}[get(4)]}}
		q.step.Index = get(max(len(m.Tests), len(m.Repairs)))
		q.setup = get(len(m.Setups))
		flags := get(16)
		q.kept = flags&1 != 0
		q.next = make([]*plan, get(13))
		for j := range q.next {
			if i == 0 || bad {
				return fmt.Errorf("%w: plan %d", ErrLibrary, i)
			}
			q.next[j] = all[get(i)]
		}
		if flags&2 != 0 {
			q.shown = make([]float64, get(13))
			for j := range q.shown {
				q.shown[j] = float64(get(1 << 20))
			}
		}
		if flags&4 != 0 {
			q.had = make([]int, get(1<<10))
			for j := range q.had {
				q.had[j] = get(1 << 20)
			}
		}
		if flags&8 != 0 {
			q.opens = []need{{test: get(len(m.Tests)), outcomes: uint16(get(1 << 16))}}
		}
		if bad || !p.whole(q) {
			return fmt.Errorf("%w: plan %d", ErrLibrary, i)
		}
		switch q.step.Kind {
		case SignOff:
			q.cost = p.signOff(l.net, q.setup)
		case WriteOff:
			q.cost = make([]float64, l.net.n)
			for h := range q.cost {
				q.cost[h] = p.Loss
			}
		default:
			l.work(q)
		}
		all[i] = q
	}
	for range l.plans {
		for range get(1 << 20) {
			if q := all[get(len(all))]; !bad {
				l.add(q)
			}
		}
	}
	if bad || len(rest) > 0 {
		return fmt.Errorf("%w: it ends too early or too late", ErrLibrary)
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	p.grown, p.growth, p.done = l, nil, true
	return nil
}

// whole reports whether a plan that was read has what its step asks for.
func (p *Problem) whole(q *plan) bool {
	m := p.model
	switch q.step.Kind {
	case DoTest:
		return q.step.Index < len(m.Tests) && len(q.next) == len(m.Tests[q.step.Index].Outcomes) &&
			(q.shown == nil || len(q.shown) == len(q.next))
	case DoRepair:
		return q.step.Index < len(m.Repairs) && len(q.next) == 1 && (q.had == nil || len(q.had) == len(m.Repairs[q.step.Index].Change.Fixes))
	}
	return len(q.next) == 0
}

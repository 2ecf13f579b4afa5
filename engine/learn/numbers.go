package learn

import (
	"math"

	"pitwise/engine/belief"
	"pitwise/engine/model"
)

// Kind is what a block of numbers is about.
type Kind string

const (
	// Prior is how often a component is sound or has each of its modes.
	Prior Kind = "prior"
	// Healthy is what a test shows when nothing that matters to it is wrong: the leak of the
	// noisy MAX.
	Healthy Kind = "healthy"
	// Link is what one mode alone would make a test show, without the leak.
	Link Kind = "link"
	// Fix is whether a change takes a mode away, or leaves it.
	Fix Kind = "fix"
	// Risk is whether a change brings a mode in, or does not.
	Risk Kind = "risk"
	// Record is whether the causes that a person writes down at the end are wrong, or right.
	Record Kind = "record"
	// Answer is whether a person who signs a unit off for good, and knows what was wrong with it, says so.
	Answer Kind = "answer"
	// Return is whether a unit that was signed off comes back: of one with a fault, or of a sound one.
	Return Kind = "return"
)

// ofTheBench says that a block is about who keeps the trails and for whom, not about units.
func (k Kind) ofTheBench() bool { return k == Record || k == Answer || k == Return }

// A Block is one probability distribution of a model: the smallest thing that is learnt as
// a whole. Of the indices only those that its Kind needs are set, the others are -1.
type Block struct {
	Kind      Kind
	Component int // of Prior
	Test      int // of Healthy and Link
	Repair    int // of Fix and Risk of a repair
	Setup     int // of Fix and Risk of a setup step
	Leave     bool
	Mode      int            // of Link, Fix and Risk
	Source    model.SourceID // "" if the model names none
	Weight    float64        // to how many watched units the shipped numbers are worth
	Len       int            // entries

	at int // of its first entry among all numbers
}

// What a person writes down at the end of a unit is taken to be wrong as often as
// recordWrong, which is worth recordWeight records; how often it truly is, is learnt. So is how often
// anything is written down: nothing is known of that before.
const (
	recordWrong  = 0.1
	recordWeight = 10
	answerWeight = 2
)

// A unit that was signed off with a fault comes back, and is recorded as such, as returned or by work
// on it after the sign-off, as often as cameBack; one that was sound is brought back all the same as often as
// cameBackSound. From memory, and learnt too.
const (
	cameBack      = 0.5
	cameBackSound = 0.01
)

// A frame is a model laid out for learning: its hypotheses, and one place for each of its
// numbers. It does not change.
type frame struct {
	model  *model.Model
	space  *belief.Space
	blocks []Block
	ship   []float64 // the shipped numbers, block by block, each summing to 1
	prior  []int     // by component: its block
	leak   []int     // by test: its block of kind Healthy
	links  [][]int   // by test, in the order of Given
	change []moves   // repairs, then entering each setup, then leaving each
	record int       // the block of kind Record
	answer int       // the block of kind Answer: says so, or does not
	back   [2]int    // the blocks of kind Return, of a faulty unit and of a sound one: comes back, or does not
	laws   []law     // by test
	full   [][]int32 // by component: the hypotheses of the largest size in which it is sound
}

// moves is a change as blocks.
type moves struct {
	fixes  []int
	risks  []int
	change model.Change
	kappa  float64 // of a repair that remembers its failures; 0: none
	repair int     // -1 if this is a setup step
	touch  []bool  // by test
}

func newFrame(m *model.Model) (*frame, error) {
	s, err := belief.NewSpace(m)
	if err != nil {
		return nil, err
	}
	f := &frame{model: m, space: s}
	for c := range m.Components {
		comp := &m.Components[c]
		modes := m.Modes[comp.FirstMode : comp.FirstMode+comp.ModeCount]
		sum, weighed := 0.0, 0.0
		row := []float64{0}
		for i := range modes {
			sum += modes[i].Prior
			weighed += float64(modes[i].Prior * f.weight(modes[i].Source))
			row = append(row, modes[i].Prior)
		}
		row[0] = 1 - sum
		f.prior = append(f.prior, f.add(Block{Kind: Prior, Component: c, Source: modes[0].Source, Weight: weighed / sum}, row))
	}
	for t := range m.Tests {
		test := &m.Tests[t]
		f.leak = append(f.leak, f.add(Block{Kind: Healthy, Test: t, Source: test.Source}, scaled(test.Healthy)))
		var links []int
		for _, g := range test.Given {
			links = append(links, f.add(Block{Kind: Link, Test: t, Mode: g.Mode, Source: test.Source}, linkOf(test.Healthy, g.P)))
		}
		f.links = append(f.links, links)
	}
	for r := range m.Repairs {
		f.moves(m.Repairs[r].Change, Block{Repair: r, Setup: -1, Source: m.Repairs[r].Source}, m.Repairs[r].Steadiness)
	}
	for s := range m.Setups {
		f.moves(m.Setups[s].Enter.Change, Block{Repair: -1, Setup: s, Source: m.Setups[s].Enter.Source}, 0)
	}
	for s := range m.Setups {
		f.moves(m.Setups[s].Leave.Change, Block{Repair: -1, Setup: s, Leave: true, Source: m.Setups[s].Leave.Source}, 0)
	}
	f.record = f.add(Block{Kind: Record, Weight: recordWeight}, []float64{recordWrong, 1 - recordWrong})
	f.answer = f.add(Block{Kind: Answer, Weight: answerWeight}, []float64{0.5, 0.5})
	for i, p := range []float64{cameBack, cameBackSound} {
		f.back[i] = f.add(Block{Kind: Return, Weight: memoryWeight}, []float64{p, 1 - p})
	}
	for t := range m.Tests {
		f.laws = append(f.laws, newLaw(f, t))
	}
	f.fill()
	return f, nil
}

// fill finds where a mode cannot enter without being cut.
func (f *frame) fill() {
	m := f.model
	f.full = make([][]int32, len(m.Components))
	brought := make([]bool, len(m.Components))
	for c := range f.change {
		for _, x := range f.change[c].change.Risks {
			brought[m.Modes[x.Mode].Component] = true
		}
	}
	size := min(m.MostFaults, len(m.Components))
	there := make([]bool, len(m.Components))
	for h := f.space.FirstOf(size); h < f.space.Len(); h++ {
		clear(there)
		for _, i := range f.space.Modes(h) {
			there[m.Modes[i].Component] = true
		}
		for c, b := range brought {
			if b && !there[c] {
				f.full[c] = append(f.full[c], int32(h))
			}
		}
	}
}

// weight returns to how many units the numbers of a source are worth; a block without one is
// taken as from memory.
func (f *frame) weight(id model.SourceID) float64 {
	if s, ok := f.model.Source(id); ok {
		return s.Weight
	}
	return memoryWeight
}

// memoryWeight is what numbers from memory weigh (formats.md, section 6).
const memoryWeight = 8

// add lays a block out and returns its index.
func (f *frame) add(b Block, row []float64) int {
	if b.Kind != Prior {
		b.Component = -1
	}
	if b.Kind != Healthy && b.Kind != Link {
		b.Test = -1
	}
	if b.Kind != Fix && b.Kind != Risk {
		b.Repair, b.Setup = -1, -1
	}
	if b.Kind == Prior || b.Kind == Healthy || b.Kind.ofTheBench() {
		b.Mode = -1
	}
	if b.Weight == 0 {
		b.Weight = f.weight(b.Source)
	}
	b.at, b.Len = len(f.ship), len(row)
	f.ship = append(f.ship, row...)
	f.blocks = append(f.blocks, b)
	return len(f.blocks) - 1
}

func (f *frame) moves(c model.Change, b Block, kappa float64) {
	m := moves{change: c, kappa: kappa, repair: b.Repair, touch: make([]bool, len(f.model.Tests))}
	for _, x := range c.Fixes {
		b.Kind, b.Mode = Fix, x.Mode
		m.fixes = append(m.fixes, f.add(b, []float64{x.P, 1 - x.P}))
	}
	for _, x := range c.Risks {
		b.Kind, b.Mode = Risk, x.Mode
		m.risks = append(m.risks, f.add(b, []float64{x.P, 1 - x.P}))
	}
	for t := range m.touch {
		m.touch[t] = !f.model.Tests[t].Told && f.space.Touches(c, t)
	}
	f.change = append(f.change, m)
}

// move is where a setup step stands among the changes.
func (f *frame) move(mv model.Move) int {
	if mv.Leave {
		return f.leave(mv.Setup)
	}
	return f.enter(mv.Setup)
}

// enter and leave are where setup steps stand among the changes.
func (f *frame) enter(setup int) int { return len(f.model.Repairs) + setup }
func (f *frame) leave(setup int) int { return len(f.model.Repairs) + len(f.model.Setups) + setup }

// kappas returns what changes remember as shipped, by change.
func (f *frame) kappas() []float64 {
	kappa := make([]float64, len(f.change))
	for c := range kappa {
		kappa[c] = f.change[c].kappa
	}
	return kappa
}

// row returns a block's entries among numbers laid out as ship.
func (f *frame) row(numbers []float64, block int) []float64 {
	b := &f.blocks[block]
	return numbers[b.at : b.at+b.Len]
}

// scaled returns a row scaled to sum to 1 as well as its entries allow.
func scaled(row []float64) []float64 {
	sum := 0.0
	for _, p := range row {
		sum += p
	}
	out := make([]float64, len(row))
	for k, p := range row {
		out[k] = p / sum
	}
	return out
}

// linkOf returns what a mode by itself makes a test show, from the rows of a model, which
// include the leak (Henrion's convention). With r(k) = Q_f(k)/Q_h(k),
//
//	c(0) = r(0),  c(k) = r(k) - r(k-1) = (p_f(k) Q_h(k-1) - Q_f(k-1) p_h(k)) / (Q_h(k) Q_h(k-1))
//
// which sums to 1, the last ratio being 1. An entry that the rule's tolerance leaves below 0 is 0.
func linkOf(healthy, given []float64) []float64 {
	c := make([]float64, len(given))
	qh, qf := 0.0, 0.0
	for k := range given {
		all := qh + healthy[k]
		if k == 0 {
			c[k] = given[k] / healthy[k]
		} else {
			c[k] = max(0, (float64(given[k]*qh)-float64(qf*healthy[k]))/float64(all*qh))
		}
		qh, qf = all, qf+given[k]
	}
	return scaled(c)
}

// rowOf is the way back: the row of a model that a leak and a link give,
//
//	p_f(k) = r(k) p_h(k) + Q_h(k-1) c(k),  r(k) = c(0) + … + c(k)
//
// whose ratios to the leak rise from c(0) to 1, so that the rule of the noisy MAX holds.
func rowOf(healthy, link []float64) []float64 {
	p := make([]float64, len(link))
	r, qh := 0.0, 0.0
	for k := range link {
		r += link[k]
		p[k] = float64(min(r, 1)*healthy[k]) + float64(qh*link[k])
		qh += healthy[k]
	}
	return scaled(p)
}

// memorySpread returns the standard deviation of log kappa that a repair's memory is
// shipped with: a factor of e for a number from memory, less for what is better known.
func memorySpread(weight float64) float64 { return math.Sqrt(memoryWeight / weight) }

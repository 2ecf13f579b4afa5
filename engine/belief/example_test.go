package belief_test

import (
	"fmt"
	"os"

	"pitwise/engine/belief"
	"pitwise/engine/model"
)

func must[T any](x T, err error) T {
	if err != nil {
		panic(err)
	}
	return x
}

// threeParts is the example of the format's description: a lid's switch, a lens, a supply.
func threeParts() *belief.Space {
	return must(belief.NewSpace(must(model.Load(must(os.ReadFile("../model/testdata/example.json"))))))
}

func tell(b *belief.Belief) {
	m := b.Space().Model()
	fmt.Printf("sound %.3f", b.Sound())
	for i, p := range b.Modes(nil) {
		fmt.Printf(", %s %.3f", m.Modes[i].ID, p)
	}
	fmt.Println()
}

// A result moves the odds, a reading does so by how much of it counts as each outcome, and a
// repair takes faults away.
func Example() {
	space := threeParts() // once for a model
	m := space.Model()
	b := space.Prior()
	tell(b)

	boot, _ := m.Test("first-boot")
	asks, _ := boot.Outcome("asks")
	fmt.Println("it asks for a disc:", b.Observe(boot.Index, belief.Named(boot, asks)) == nil)
	tell(b)

	rail, _ := m.Test("rail")
	fmt.Println("the supply reads 4.74 V:", b.Observe(rail.Index, belief.Weights(rail, 4.74)) == nil)
	tell(b)

	clean, _ := m.Repair("clean-lens")
	fmt.Println("the lens is cleaned:", b.Apply(clean.Change) == nil)
	tell(b)
	// Output:
	// sound 0.714, lid.misaligned 0.080, lens.dirty 0.200, supply.low 0.030
	// it asks for a disc: true
	// sound 0.100, lid.misaligned 0.031, lens.dirty 0.832, supply.low 0.060
	// the supply reads 4.74 V: true
	// sound 0.096, lid.misaligned 0.030, lens.dirty 0.811, supply.low 0.092
	// the lens is cleaned: true
	// sound 0.800, lid.misaligned 0.030, lens.dirty 0.081, supply.low 0.092
}

// What a test would show, and what it would tell, changes nothing.
func ExampleBelief_Foresee() {
	b := threeParts().Prior()
	m := b.Space().Model()
	for i := range m.Tests {
		odds, bits := b.Foresee(i)
		fmt.Printf("%s: best outcome %.0f %%, %.2f bits\n", m.Tests[i].ID, 100*odds[0], bits)
	}
	// Output:
	// first-boot: best outcome 75 %, 0.61 bits
	// rail: best outcome 95 %, 0.15 bits
}

// A repair that remembers its failures takes less and less away.
func ExampleBelief_Apply_memory() {
	m := must(model.Load(must(os.ReadFile("../model/testdata/second.json"))))
	b := must(belief.NewSpace(m)).Prior()
	clean, _ := m.Repair("clean-lens")
	dirty, _ := m.Mode("lens.dirty")
	tries := m.Untried()
	for range 3 {
		if err := b.Apply(clean.After(tries[clean.Index])); err != nil {
			panic(err)
		}
		tries = m.Tried(tries, clean.Index)
		fmt.Printf("%.4f\n", b.Modes(nil)[dirty.Index])
	}
	// Output:
	// 0.0200
	// 0.0140
	// 0.0115
}

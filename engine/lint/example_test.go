package lint_test

import (
	"fmt"
	"os"

	"pitwise/engine/belief"
	"pitwise/engine/lint"
	"pitwise/engine/model"
)

func must[T any](x T, err error) T {
	if err != nil {
		panic(err)
	}
	return x
}

// An author reads what the tables of a model show, and says of a finding that it is meant.
func Example() {
	m := must(model.Load(must(os.ReadFile("../model/testdata/example.json"))))
	space := must(belief.NewSpace(m))
	found := append(lint.Rows(space), lint.Unasked(m)...)
	fmt.Println(found[0])
	fmt.Println(found[len(found)-1])
	meant := must(lint.ReadExceptions([]byte(`[
	  {"model": "example", "kind": "no-repair", "of": ["lid.misaligned"], "why": "The example has one repair alone."}]`)))
	left, unused := lint.Apply(m.ID, found, meant)
	fmt.Println(len(found), "found,", len(left), "left,", len(unused), "exceptions of nothing")
	// Output:
	// steep-row first-boot boots: lid.misaligned makes it 19.4 times rarer, and no why says how that is known
	// no-repair supply.low: no repair takes it away
	// 7 found, 6 left, 0 exceptions of nothing
}

package model_test

import (
	"errors"
	"fmt"
	"strings"

	"pitwise/engine/model"
)

const small = `{
  "format": "pitwise/model", "version": 1, "id": "small", "revision": "1", "most_faults": 1,
  "setups": [{"id": "closed"}, {"id": "open", "inside": "closed"}, {"id": "drive-out", "inside": "open"}],
  "components": [{"id": "lens", "modes": [{"id": "dirty", "prior": 0.2}]}],
  "tests": [{"id": "boot", "intake": true, "at": "closed", "minutes": 2, "money": 0,
    "outcomes": [{"id": "boots"}, {"id": "asks"}], "healthy": [0.97, 0.03],
    "given": {"lens.dirty": [0.3, 0.7]}, "steadiness": 3}]
}`

// A model that is valid loads whole.
func ExampleLoad() {
	m, err := model.Load([]byte(small))
	if err != nil {
		fmt.Println(err)
		return
	}
	test, _ := m.Test("boot")
	for _, row := range test.Given {
		fmt.Println(m.Modes[row.Mode].ID, row.P)
	}
	fmt.Println(m.Way(m.Root, 2))
	// Output:
	// lens.dirty [0.3 0.7]
	// [{1 false} {2 false}]
}

// A model that is not valid comes back as all of its defects, in the order of the
// file.
func ExampleLoad_defects() {
	text := strings.NewReplacer(
		`"inside": "closed"`, `"inside": "shut"`,
		`[0.97, 0.03]`, `[0.97, 0.02]`,
		`"lens.dirty": [`, `"lens.dusty": [`,
		`"steadiness": 3`, `"steadyness": 3`,
	).Replace(small)
	_, err := model.Load([]byte(text))
	var defects model.Defects
	if errors.As(err, &defects) {
		for _, d := range defects.List {
			fmt.Printf("%d:%d %s: %s\n", d.Line, d.Column, d.Place, d.Found)
		}
	}
	// Output:
	// 3:47 setups[1].inside: no setup has the id "shut"
	// 5:13 tests[0].steadiness: missing
	// 6:52 tests[0].healthy: row sums to 0.99, want 1
	// 7:15 tests[0].given["lens.dusty"]: no mode has the id "lens.dusty"
	// 7:42 tests[0].steadyness: unknown field
}

// A fault that makes the best outcome likelier than a healthy unit has it is a
// mistake in the table; the defect shows the nearest row without it.
func ExampleLoad_ratio() {
	_, err := model.Load([]byte(strings.Replace(small, `[0.3, 0.7]`, `[0.98, 0.02]`, 1)))
	fmt.Println(err)
	// Output:
	// model: tests[0].given["lens.dirty"]: up to outcome "boots" it adds up to 1.01 times what healthy does, want at most 1; nearest row that would pass: [0.97, 0.03]
}

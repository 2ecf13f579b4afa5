package document_test

import (
	"errors"
	"fmt"

	"pitwise/engine/document"
)

// Every defect of a text at once, each with its place.
func ExampleReport() {
	text := []byte(`{
  "minutes": 3,
  "money": "much"
}`)
	r := document.NewReport(text)
	root, ok := r.Read(document.Limits{Bytes: 1 << 10, Depth: 4, Values: 100})
	if !ok {
		fmt.Println(r.Err(errors.New("terms")))
		return
	}
	if _, ok := root.Get("money").Float(); !ok {
		r.Add(root.Get("money"), "want a number")
	}
	if !root.Get("steps").Exists() {
		r.AddMissing(root, "steps")
	}
	fmt.Println(r.Err(errors.New("terms")))
	// Output:
	// steps: missing
	// money: want a number
}

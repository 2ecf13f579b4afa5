package network_test

import (
	"fmt"
	"os"
	"strings"

	"pitwise/engine/model"
	"pitwise/engine/network"
)

// A model of one's own as a network for another program: here the single-fault one with the intake
// test alone, in BIF.
func ExampleSingle() {
	text, err := os.ReadFile("../model/testdata/example.json")
	if err != nil {
		fmt.Println(err)
		return
	}
	m, err := model.Load(text)
	if err != nil {
		fmt.Println(err)
		return
	}
	bif := string(network.Single(m, []int{m.Intake}).BIF())
	for line := range strings.Lines(bif) {
		if strings.HasPrefix(line, "variable") || strings.HasPrefix(line, "probability") {
			fmt.Print(line)
		}
	}
	// Output:
	// variable fault {
	// variable test_first_boot {
	// probability ( fault ) {
	// probability ( test_first_boot | fault ) {
}

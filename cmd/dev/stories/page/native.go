//go:build !js

package main

import (
	"fmt"
	"os"
)

func main() {
	fmt.Fprintln(os.Stderr, "stories/page is the program of a page; go run ./cmd/dev stories serves it")
	os.Exit(2)
}

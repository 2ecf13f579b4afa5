//go:build !js

package main

// It runs in a browser alone: "go run ./cmd/dev stories" serves it.
func main() {}

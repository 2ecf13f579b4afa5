//go:build !js

package main

// It runs in a browser alone: package cmd/dev/flows serves it.
func main() {}

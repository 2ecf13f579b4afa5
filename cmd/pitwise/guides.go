package main

import _ "embed"

// A guide is a page that help prints as it is.
type guide struct {
	name, short, text string
}

var (
	//go:embed FIRST-UNIT.md
	firstUnit string
	//go:embed FAQ.md
	questions string
	//go:embed CHANGELOG.md
	changes string
)

// guides are in the order in which help lists them.
var guides = []guide{
	{"first-unit", "what to have on the bench, and a first unit in ten minutes", firstUnit},
	{"faq", "what went wrong for others, and what helped", questions},
	{"changes", "as was and now", changes},
}

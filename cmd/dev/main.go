// Command dev does developers' chores. Run it from anywhere in the source tree:
//
//	go run ./cmd/dev test            everything that must hold
//	go run ./cmd/dev test wasm       one part: form, vet, go, wasm or browser
//	go run ./cmd/dev screens         photographs of the page, into testdata/screens
//	go run ./cmd/dev stories         every screen in every awkward state, served
//	go run ./cmd/dev figures         sizes, Lighthouse's scores, waiting times
//	go run ./cmd/dev mutate ./PKG    small changes of a package that its tests do not notice
//	go run ./cmd/dev release         the desk program with the page inside, for six targets
//	go run ./cmd/dev icons           the icons' PNG forms, drawn from their SVG
package main

import (
	"context"
	"fmt"
	"os"
	"os/signal"
	"syscall"

	"pitwise/web/site"
)

// chores are the verbs.
var chores = []struct {
	name, short string
	run         func(ctx context.Context, root string, args []string) error
}{
	{"test", "run everything that must hold, or the parts named: " + partNames(), test},
	{"screens", "photograph the page in its states, into testdata/screens", screens},
	{"stories", "serve every screen in every awkward state; the list is the first page", serveStories},
	{"figures", "measure sizes, Lighthouse's scores and waiting times", figures},
	{"mutate", "change a package in small ways, one at a time, and list what its tests do not notice", mutate},
	{"release", "make the desk program with the page inside, for six targets, into build/release", release},
	{"icons", "draw the PNG icons from the SVG ones", icons},
}

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	if len(os.Args) > 1 {
		for _, c := range chores {
			if c.name != os.Args[1] {
				continue
			}
			tree, err := site.FindTree(".")
			if err == nil {
				err = c.run(ctx, tree.Root, os.Args[2:])
			}
			if err != nil {
				fmt.Fprintf(os.Stderr, "dev %s: %v\n", c.name, err)
				os.Exit(1)
			}
			return
		}
	}
	fmt.Fprintln(os.Stderr, "Developers' chores:")
	for _, c := range chores {
		fmt.Fprintf(os.Stderr, "  go run ./cmd/dev %-8s %s\n", c.name, c.short)
	}
	os.Exit(2)
}

// Command pitwise is the desk program: it builds and serves the page, and works
// on models and trails at a desk.
//
//	pitwise                 build the page if need be and serve it to this machine
//	pitwise help            every verb
//	pitwise help VERB       one of them
//
// Results go to standard output, messages to standard error. The exit status is
// 0 when all went well, 1 when what was given is not right or something failed,
// and 2 when the program was called wrongly.
package main

import (
	"context"
	"os"
	"os/signal"
	"syscall"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	context.AfterFunc(ctx, stop) // a second Ctrl+C ends what the first one does not
	d := &desk{ctx: ctx, in: os.Stdin, out: os.Stdout, err: os.Stderr}
	status := d.run(os.Args[1:])
	stop()
	os.Exit(status)
}

package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"net"
	"net/http"
	"net/netip"
	"os"
	"strings"
	"time"

	"pitwise/web/host"
	"pitwise/web/site"
)

var serveCommand = &command{
	name:  "serve",
	args:  "[-addr HOST:PORT] [-page DIR] [-name HOST]",
	short: "build the page if need be, and serve it to this machine",
	long: `
Builds the page if it is not built for this source yet (a release has it inside),
serves it, and prints its address. Once a browser has been there, the page works without the server.

It listens to this machine alone unless -addr says otherwise. Browsers keep a
page for offline use only from HTTPS or from the machine itself, so for a phone
put the folder that "pitwise build" makes on an HTTPS host.`,
	run: serve,
}

func serve(d *desk, flags *flag.FlagSet, args []string) error {
	addr := flags.String("addr", "127.0.0.1:8787", "listen at `HOST:PORT`; port 0 takes a free one (127.0.0.1:8787)")
	page := flags.String("page", "", "serve the page that \"pitwise build\" made in `DIR`, with prefix /")
	name := flags.String("name", "", "answer to the name `HOST` too, not just to localhost and numbers")
	if _, err := d.parse(flags, args, 0, 0); err != nil {
		return err
	}
	bind, _, err := net.SplitHostPort(*addr)
	if err != nil {
		return misuse{fmt.Sprintf("-addr %s is not HOST:PORT", *addr)}
	}
	var names []string
	if *name != "" {
		names = append(names, *name)
	}
	if bind != "" && !numeric(bind) {
		names = append(names, bind)
	}
	h, err := d.host(*page, !loopback(bind), names)
	if err != nil {
		return err
	}
	l, err := net.Listen("tcp", *addr)
	if err != nil {
		return fmt.Errorf("cannot listen: %w", err)
	}
	if !loopback(bind) {
		fmt.Fprintf(d.err, "Listening beyond this machine, as -addr %s says: anyone on the network can load the page.\n", *addr)
	}
	fmt.Fprintf(d.out, "http://%s/\n", l.Addr())
	fmt.Fprintf(d.err, "Pitwise is at http://%s/ (Ctrl+C stops it).\n", l.Addr())
	return d.answer(h.Server(), l)
}

// answer serves until the context ends, then lets running answers finish.
func (d *desk) answer(s *http.Server, l net.Listener) error {
	failed := make(chan error, 1)
	go func() { failed <- s.Serve(l) }()
	select {
	case err := <-failed:
		return err
	case <-d.ctx.Done():
	}
	fmt.Fprintln(d.err, "Stopping.")
	ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
	defer cancel()
	if err := s.Shutdown(ctx); err != nil {
		return errors.Join(fmt.Errorf("some answers were cut off: %w", err), s.Close())
	}
	return nil
}

// host answers for the page in a folder or, without one, for the page of this program: the
// one inside a release, else the one built from the source around the working folder.
func (d *desk) host(dir string, open bool, names []string) (*host.Host, error) {
	if dir == "" && released != nil {
		s, err := released("/", 0)
		if err != nil {
			return nil, err
		}
		return host.Of(s, open, names...)
	}
	if dir == "" {
		var err error
		if dir, err = d.builtPage(); err != nil {
			return nil, err
		}
	}
	return host.Load(dir, open, names...)
}

// released assembles the page that a release carries, for a prefix and with that effort of
// compression; nil in a program that was built without one.
var released func(prefix string, quality int) (*site.Site, error)

// builtPage returns the folder of the page for the source around the working
// folder, building it if need be.
func (d *desk) builtPage() (string, error) {
	tree, err := d.tree()
	if err != nil {
		return "", err
	}
	var done func()
	dir, err := tree.Ready(d.ctx, func() { done = d.progress("Building the page for this source (a minute the first time)") })
	if done != nil {
		done()
	}
	return dir, err
}

// tree finds the source, and says what to do where there is none.
func (d *desk) tree() (site.Tree, error) {
	tree, err := site.FindTree(".")
	if errors.Is(err, site.ErrNoTree) {
		return tree, fmt.Errorf("%w\nThe page is built from its source: run this inside the source tree of Pitwise,\n"+
			"or serve a page that was built before with \"pitwise serve -page DIR\"", err)
	}
	return tree, err
}

// progress shows that something long goes on, until the returned function is
// called. On a terminal the line counts the seconds.
func (d *desk) progress(what string) func() {
	begun := time.Now()
	terminal := false
	if f, ok := d.err.(*os.File); ok {
		info, err := f.Stat()
		terminal = err == nil && info.Mode()&os.ModeCharDevice != 0
	}
	end, ended := make(chan struct{}), make(chan struct{})
	fmt.Fprintf(d.err, "%s …", what)
	go func() {
		defer close(ended)
		tick := time.NewTicker(time.Second)
		defer tick.Stop()
		for {
			select {
			case <-end:
				return
			case <-tick.C:
				if terminal {
					fmt.Fprintf(d.err, "\r%s … %d s", what, int(time.Since(begun).Seconds()))
				}
			}
		}
	}()
	return func() {
		close(end)
		<-ended
		if terminal {
			fmt.Fprintf(d.err, "\r%s …", what)
		}
		fmt.Fprintf(d.err, " %.0f s\n", time.Since(begun).Seconds())
	}
}

func numeric(host string) bool {
	_, err := netip.ParseAddr(host)
	return err == nil
}

// loopback reports whether listening at the host reaches this machine alone.
func loopback(host string) bool {
	if a, err := netip.ParseAddr(host); err == nil {
		return a.Unmap().IsLoopback()
	}
	return strings.EqualFold(host, "localhost")
}

package main

import (
	"context"
	"crypto/tls"
	"errors"
	"flag"
	"fmt"
	"net"
	"net/http"
	"net/netip"
	"os"
	"path/filepath"
	"strings"
	"time"

	"pitwise/web/host"
	"pitwise/web/site"
)

var serveCommand = &command{
	name:  "serve",
	args:  "[-addr HOST:PORT] [-lan] [-authority | -cert FILE -key FILE] [-page DIR] [-name HOST]",
	short: "build the page if need be, and serve it to this machine",
	long: `
Builds the page if it is not built for this source yet (a release has it inside),
serves it, and prints its address. Once a browser has been there, the page works without the server.

It listens to this machine alone unless -addr or -lan says otherwise. With -lan the
phone in the same room reaches it: its address is printed and drawn as a QR code.
Browsers keep a page for offline use only from HTTPS or from the machine itself.
For that, give a certificate and its key, or -authority: a private authority is
made once in your configuration folder, which can vouch for private networks alone;
a second address shows the phone how to trust it. Or put the folder that
"pitwise build" makes on an HTTPS host.

  pitwise serve -lan
  pitwise serve -lan -authority`,
	run: serve,
}

func serve(d *desk, flags *flag.FlagSet, args []string) error {
	addr := flags.String("addr", "127.0.0.1:8787", "listen at `HOST:PORT`; port 0 takes a free one (127.0.0.1:8787)")
	page := flags.String("page", "", "serve the page that \"pitwise build\" made in `DIR`, with prefix /")
	name := flags.String("name", "", "answer to the name `HOST` too, not just to localhost and numbers")
	room := flags.Bool("lan", false, "serve to the network this machine is in")
	authority := flags.Bool("authority", false, "with -lan: over HTTPS, by a private authority of your own")
	cert := flags.String("cert", "", "over HTTPS, by the certificate in `FILE`, PEM")
	key := flags.String("key", "", "the key of -cert in `FILE`, PEM")
	if _, err := d.parse(flags, args, 0, 0); err != nil {
		return err
	}
	bind, port, err := net.SplitHostPort(*addr)
	switch {
	case err != nil:
		return misuse{fmt.Sprintf("-addr %s is not HOST:PORT", *addr)}
	case (*cert == "") != (*key == ""):
		return misuse{"-cert and -key go together"}
	case *authority && *cert != "":
		return misuse{"-authority makes its own certificate: leave out -cert and -key"}
	case *authority && !*room:
		return misuse{"-authority goes with -lan"}
	}
	if *room && loopback(bind) {
		bind = "0.0.0.0"
		*addr = net.JoinHostPort(bind, port)
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
	scheme, addresses := "http", []string{l.Addr().String()}
	if !loopback(bind) {
		fmt.Fprintf(d.err, "Listening beyond this machine, as -addr %s says: anyone on the network can load the page.\n", *addr)
	}
	var all []netip.Addr
	if *room {
		if all, err = roomAddresses(); err != nil {
			return err
		}
		if len(all) == 0 {
			return errors.New("this machine is in no network")
		}
		addresses = nil
		for _, a := range all {
			addresses = append(addresses, netip.AddrPortFrom(a, uint16(l.Addr().(*net.TCPAddr).Port)).String())
		}
	}
	var ca *anAuthority
	switch {
	case *cert != "":
		pair, err := tls.LoadX509KeyPair(*cert, *key)
		if err != nil {
			return err
		}
		scheme, l = "https", secure(l, pair)
	case *authority:
		dir, err := os.UserConfigDir()
		if err != nil {
			return err
		}
		if ca, err = authorityIn(filepath.Join(dir, "pitwise"), time.Now()); err != nil {
			return err
		}
		pair, err := ca.forHosts(all, names, time.Now())
		if err != nil {
			return err
		}
		scheme, l = "https", secure(l, pair)
	}
	for _, a := range addresses {
		fmt.Fprintf(d.out, "%s://%s/\n", scheme, a)
	}
	shown := fmt.Sprintf("%s://%s/", scheme, addresses[0])
	fmt.Fprintf(d.err, "Pitwise is at %s (Ctrl+C stops it).\n", shown)
	if !*room {
		return d.answer(h.Server(), l)
	}
	if ca != nil {
		first, err := d.introduce(ca, bind, all[0], shown)
		if err != nil {
			return err
		}
		shown = first
	} else if scheme == "http" {
		fmt.Fprint(d.err, withoutHTTPS)
	}
	code, err := drawQR(shown)
	if err != nil {
		return err
	}
	fmt.Fprintf(d.err, "\n%s\n%s\n", code, shown)
	return d.answer(h.Server(), l)
}

func secure(l net.Listener, pair tls.Certificate) net.Listener {
	return tls.NewListener(l, &tls.Config{Certificates: []tls.Certificate{pair}, MinVersion: tls.VersionTLS12})
}

// introduce serves, at a free port over plain HTTP, what a phone needs to trust the authority, and
// returns the address.
func (d *desk) introduce(ca *anAuthority, bind string, a netip.Addr, page string) (string, error) {
	l, err := net.Listen("tcp", net.JoinHostPort(bind, "0"))
	if err != nil {
		return "", fmt.Errorf("cannot listen: %w", err)
	}
	s := &http.Server{Handler: ca.trust(page), ReadHeaderTimeout: 5 * time.Second, ReadTimeout: 10 * time.Second, WriteTimeout: time.Minute}
	context.AfterFunc(d.ctx, func() { s.Close() })
	go s.Serve(l)
	first := fmt.Sprintf("http://%s/", netip.AddrPortFrom(a, uint16(l.Addr().(*net.TCPAddr).Port)))
	fmt.Fprintf(d.err, "A phone that is here for the first time opens %s to learn to trust it; the authority is %s.\n", first, ca.file)
	return first, nil
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

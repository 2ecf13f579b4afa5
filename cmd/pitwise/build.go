package main

import (
	"errors"
	"flag"
	"fmt"

	"pitwise/web/site"
)

var buildCommand = &command{
	name:  "build",
	args:  "[-prefix /PATH/] [-force] DIR",
	short: "make the page as a folder of static files",
	long: `
Makes DIR with the page in it, for any host that serves files over HTTPS. No
file asks for anything from another host. Files that never change lie below v/
and may be cached for ever; the others must be asked for anew each time. Next to
each file lie its .br and .gz forms, for hosts that can send those.

The folder appears whole or not at all. A DIR that holds a page built before is
replaced only with -force, one that holds anything else never.`,
	run: build,
}

func build(d *desk, flags *flag.FlagSet, args []string) error {
	prefix := flags.String("prefix", "/", "the `PATH` that the folder will have on its host, such as /tools/ (/)")
	force := flags.Bool("force", false, "replace a page built before")
	args, err := d.parse(flags, args, 1, 1)
	if err != nil {
		return err
	}
	// What is wrong is told before the long work, not after it.
	if err := site.Ready(args[0], *force); err != nil {
		if errors.Is(err, site.ErrExists) {
			return fmt.Errorf("%w (-force replaces it)", err)
		}
		return err
	}
	if err := site.CheckPrefix(*prefix); err != nil {
		return misuse{err.Error()}
	}
	make := released
	if make == nil {
		tree, err := d.tree()
		if err != nil {
			return err
		}
		make = func(prefix string, quality int) (*site.Site, error) {
			return tree.Build(d.ctx, site.Page, prefix, quality)
		}
	}
	done := d.progress("Building the page and its small forms (a minute or two)")
	s, err := make(*prefix, 11)
	done()
	if err != nil {
		return err
	}
	if err := s.Write(args[0], *force); err != nil {
		return err
	}
	p := s.Program()
	fmt.Fprintf(d.out, "%s: version %s, program %.2f MB, %.2f MB with gzip, %.2f MB with Brotli\n", args[0], s.Version,
		float64(len(p.Body))/1e6, float64(len(p.Gzip))/1e6, float64(len(p.Brotli))/1e6)
	return nil
}

package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net"
	"os"
	"path/filepath"
	"strings"

	"pitwise/cmd/dev/browser"
	"pitwise/web/host"
	"pitwise/web/site"
)

// figures measures what the notes report: sizes, Lighthouse's scores, and how
// long a person waits for the page.
func figures(ctx context.Context, root string, args []string) error {
	chromium, err := browser.Find()
	if err != nil {
		return err
	}
	r := &runner{ctx: ctx, root: root}
	if err := r.node("npm"); err != nil {
		return err
	}
	tree := site.Tree{Root: root}
	s, err := tree.Build(ctx, site.Page, "/", 11)
	if err != nil {
		return err
	}
	if err := sizes(ctx, tree, s); err != nil {
		return err
	}
	scratch, err := os.MkdirTemp("", "pitwise-figures-*")
	if err != nil {
		return err
	}
	defer os.RemoveAll(scratch)
	page := filepath.Join(scratch, "page")
	if err := s.Write(page, false); err != nil {
		return err
	}
	if err := lighthouse(r, chromium, page, filepath.Join(scratch, "report.json")); err != nil {
		return err
	}
	return errors.Join(
		r.do(nil, "go", "test", "-tags", "browser", "-count", "1", "-v", "-run", "TestStartIsFast", "./cmd/dev/browser"),
		r.do(nil, "go", "test", "-tags", "browser", "-count", "1", "-v", "-parallel", "1", "-run", "TestAnEveningInEveryEngine", "./cmd/dev/flows"),
	)
}

// sizes prints what a first visit fetches until the first screen can be used, what the
// worker keeps in all, and where the bytes of the program are.
func sizes(ctx context.Context, tree site.Tree, s *site.Site) error {
	p := s.Program()
	fmt.Printf("program: %d bytes, %d with gzip, %d with Brotli\n", len(p.Body), len(p.Gzip), len(p.Brotli))
	sent := func(f site.File) int {
		if f.Brotli != nil {
			return len(f.Brotli)
		}
		return len(f.Body)
	}
	var raw, small, first, other int
	for _, f := range s.Files {
		if strings.HasPrefix(f.Path, site.Frozen) || f.Path == "index.html" || f.Path == "worker.js" {
			raw += len(f.Body)
			small += sent(f)
			// The worker fetches icons, other languages, grown plans and itself once the page can be used.
			switch {
			case strings.Contains(f.Path, "/words/"):
				other = max(other, sent(f))
			case !strings.Contains(f.Path, "/web/icons/") && !strings.HasSuffix(f.Path, "/grown.bin") && f.Path != "worker.js":
				first += sent(f)
			}
		}
	}
	fmt.Printf("first visit until it can be used: %d bytes with Brotli, in another language than English up to %d more; in all %d, %d with Brotli\n", first, other, raw, small)
	code, data, err := tree.Sizes(ctx, site.Page)
	if err != nil {
		return err
	}
	fmt.Println("where the bytes of the program are, before compression:")
	fmt.Printf("  %9d data: texts, tables, what is told at run time of types and functions\n", data)
	const shown = 25
	rest := 0
	for i, share := range code {
		if i < shown {
			fmt.Printf("  %9d %s\n", share.Bytes, share.Package)
		} else {
			rest += share.Bytes
		}
	}
	fmt.Printf("  %9d in %d more\n", rest, max(0, len(code)-shown))
	return nil
}

// tries is how often Lighthouse may miss the start of a page, which says nothing of it.
const tries = 4

// missed is what Lighthouse then says.
const missed = "NO_NAVSTART"

// lighthouse serves the page and prints the scores that Lighthouse gives it.
func lighthouse(r *runner, chromium, page, report string) error {
	dir := filepath.Join(r.root, "testdata", "lighthouse")
	if err := r.install(dir); err != nil {
		return err
	}
	h, err := host.Load(page, false)
	if err != nil {
		return err
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return err
	}
	server := h.Server()
	go server.Serve(l)
	defer server.Close()
	flags := "--headless=new --disable-gpu --disable-quic --no-first-run --disable-background-networking --disable-component-update --disable-sync"
	if os.Geteuid() == 0 {
		flags += " --no-sandbox"
	}
	var text []byte
	for try := 1; ; try++ {
		cmd := r.command("node", filepath.Join(dir, "node_modules", "lighthouse", "cli", "index.js"),
			"http://"+l.Addr().String()+"/", "--quiet", "--output=json", "--output-path="+report, "--no-enable-error-reporting",
			"--only-categories=performance,accessibility,best-practices", "--chrome-flags="+flags)
		cmd.Env = append(os.Environ(), "CHROME_PATH="+chromium)
		said, failed := cmd.CombinedOutput()
		if text, err = os.ReadFile(report); err != nil && failed == nil {
			return err
		}
		if try < tries && (strings.Contains(string(said), missed) || strings.Contains(string(text), `"code": "`+missed)) {
			fmt.Println("Lighthouse missed the start of the page; once more.")
			continue
		}
		if failed != nil {
			return fmt.Errorf("lighthouse: %w\n%s", failed, said)
		}
		break
	}
	var got struct {
		LighthouseVersion string
		RuntimeError      *struct{ Message string }
		Categories        map[string]struct {
			Title     string
			Score     *float64
			AuditRefs []struct {
				ID     string
				Weight float64
			}
		}
		Audits map[string]struct {
			Title        string
			Score        *float64
			DisplayValue string
		}
	}
	if err := json.Unmarshal(text, &got); err != nil {
		return err
	}
	if got.RuntimeError != nil {
		return fmt.Errorf("lighthouse: %s", got.RuntimeError.Message)
	}
	fmt.Printf("Lighthouse %s:", got.LighthouseVersion)
	for _, name := range []string{"performance", "accessibility", "best-practices"} {
		c := got.Categories[name]
		if c.Score == nil {
			return fmt.Errorf("lighthouse: no score for %s", name)
		}
		fmt.Printf(" %s %.0f", name, *c.Score*100)
	}
	fmt.Println()
	for _, id := range []string{"first-contentful-paint", "largest-contentful-paint", "total-blocking-time", "cumulative-layout-shift", "speed-index", "interactive"} {
		a := got.Audits[id]
		fmt.Printf("  %s %s\n", a.Title, a.DisplayValue)
	}
	for _, c := range got.Categories {
		for _, ref := range c.AuditRefs {
			a := got.Audits[ref.ID]
			if ref.Weight > 0 && a.Score != nil && *a.Score < 0.9 {
				fmt.Printf("  %.2f %s: %s %s\n", *a.Score, ref.ID, a.Title, a.DisplayValue)
			}
		}
	}
	return nil
}

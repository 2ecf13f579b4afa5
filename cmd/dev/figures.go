package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net"
	"os"
	"os/exec"
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
	if _, err := exec.LookPath("node"); err != nil {
		return errors.New("node is not installed; Lighthouse needs Node.js 20 or newer")
	}
	tree := site.Tree{Root: root}
	s, err := tree.Build(ctx, site.Page, "/", 11)
	if err != nil {
		return err
	}
	p := s.Program()
	fmt.Printf("program: %d bytes, %d with gzip, %d with Brotli\n", len(p.Body), len(p.Gzip), len(p.Brotli))
	var raw, small int
	for _, f := range s.Files {
		if strings.HasPrefix(f.Path, site.Frozen) || f.Path == "index.html" || f.Path == "worker.js" {
			raw += len(f.Body)
			if f.Brotli != nil {
				small += len(f.Brotli)
			} else {
				small += len(f.Body)
			}
		}
	}
	fmt.Printf("first visit in all: %d bytes, %d with Brotli\n", raw, small)

	scratch, err := os.MkdirTemp("", "pitwise-figures-*")
	if err != nil {
		return err
	}
	defer os.RemoveAll(scratch)
	page := filepath.Join(scratch, "page")
	if err := s.Write(page, false); err != nil {
		return err
	}
	if err := lighthouse(ctx, root, chromium, page, filepath.Join(scratch, "report.json")); err != nil {
		return err
	}
	cmd := exec.CommandContext(ctx, "go", "test", "-tags", "browser", "-count", "1", "-v", "-run", "TestStartIsFast", "./cmd/dev/browser")
	cmd.Dir = root
	cmd.Stdout, cmd.Stderr = os.Stdout, os.Stderr
	return cmd.Run()
}

// lighthouse serves the page and prints the scores that Lighthouse gives it.
func lighthouse(ctx context.Context, root, chromium, page, report string) error {
	dir := filepath.Join(root, "testdata", "lighthouse")
	if err := (&runner{ctx: ctx, root: root}).install(dir); err != nil {
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
	cmd := exec.CommandContext(ctx, "node", filepath.Join(dir, "node_modules", "lighthouse", "cli", "index.js"),
		"http://"+l.Addr().String()+"/", "--quiet", "--output=json", "--output-path="+report, "--no-enable-error-reporting",
		"--only-categories=performance,accessibility,best-practices", "--chrome-flags="+flags)
	cmd.Env = append(os.Environ(), "CHROME_PATH="+chromium)
	if out, err := cmd.CombinedOutput(); err != nil {
		return fmt.Errorf("lighthouse: %w\n%s", err, out)
	}
	text, err := os.ReadFile(report)
	if err != nil {
		return err
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

package main

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"time"

	"pitwise/cmd/dev/browser"
)

// run is one run of the tests: its steps share the summary.
type runner struct {
	ctx     context.Context
	root    string
	summary bytes.Buffer // Go's own lines, repeated at the end
}

// parts are what "dev test" runs, in this order. A part that fails does not stop
// the next, but for those that need it.
var parts = []struct {
	name string
	run  func(r *runner) error
}{
	{"form", (*runner).form},
	{"vet", (*runner).vet},
	{"go", (*runner).native},
	{"wasm", (*runner).wasm},
	{"browser", (*runner).browser},
}

func partNames() string {
	var names []string
	for _, p := range parts {
		names = append(names, p.name)
	}
	return strings.Join(names, ", ")
}

func test(ctx context.Context, root string, args []string) error {
	wanted := map[string]bool{}
	for _, a := range args {
		wanted[a] = true
	}
	r := &runner{ctx: ctx, root: root}
	begun := time.Now()
	var failed []string
	ran := 0
	for _, p := range parts {
		if len(args) > 0 && !wanted[p.name] {
			continue
		}
		delete(wanted, p.name)
		ran++
		since := time.Now()
		fmt.Printf("\n=== %s\n", p.name)
		if err := p.run(r); err != nil {
			failed = append(failed, p.name)
			fmt.Printf("--- %s failed after %.0f s: %v\n", p.name, time.Since(since).Seconds(), err)
			continue
		}
		fmt.Printf("--- %s passed in %.0f s\n", p.name, time.Since(since).Seconds())
		if ctx.Err() != nil {
			return ctx.Err()
		}
	}
	if len(wanted) > 0 || ran == 0 {
		return fmt.Errorf("the parts are %s", partNames())
	}
	fmt.Printf("\n=== %d parts in %.0f s", ran, time.Since(begun).Seconds())
	if len(failed) > 0 {
		fmt.Printf(", failed: %s", strings.Join(failed, ", "))
	}
	fmt.Printf("\n%s", r.summary.String())
	if len(failed) > 0 {
		return errors.New("not everything passed")
	}
	return nil
}

// form checks that gofmt would change nothing.
func (r *runner) form() error {
	goroot, err := r.output("go", "env", "GOROOT")
	if err != nil {
		return err
	}
	files, err := r.output("git", "ls-files", "-co", "--exclude-standard", "--deduplicate", "*.go")
	if err != nil {
		return err
	}
	var there []string
	for _, name := range strings.Fields(files) {
		if _, err := os.Stat(filepath.Join(r.root, name)); err == nil {
			there = append(there, name)
		}
	}
	if len(there) == 0 {
		return errors.New("found no Go files")
	}
	bad, err := r.output(filepath.Join(strings.TrimSpace(goroot), "bin", "gofmt"), append([]string{"-l"}, there...)...)
	if err != nil {
		return err
	}
	if bad != "" {
		return fmt.Errorf("gofmt would change:\n%s", bad)
	}
	return nil
}

// vet runs go vet over all there is, on every target it is built for.
func (r *runner) vet() error {
	return errors.Join(
		r.do(nil, "go", "vet", "./..."),
		r.do(nil, "go", "vet", "-tags", "browser", "./cmd/dev/..."),
		r.do([]string{"GOOS=js", "GOARCH=wasm"}, "go", "vet", "./engine/...", "./app/...", "./cmd/page"),
	)
}

// native runs the Go tests.
func (r *runner) native() error {
	if err := r.npm(); err != nil {
		return err
	}
	// With the variable set, a test that misses its library fails.
	return r.do([]string{"PITWISE_NPM=" + r.libraries()}, "go", "test", "-timeout", "15m", "./...")
}

// libraries is the folder of the npm libraries that tests check against.
func (r *runner) libraries() string { return filepath.Join(r.root, "testdata", "npm") }

// npm installs the libraries that tests check against, as the lock file says.
func (r *runner) npm() error { return r.install(r.libraries()) }

// install runs npm ci in a folder, unless it did for the same lock file.
func (r *runner) install(dir string) error {
	for _, need := range []string{"node", "npm"} {
		if _, err := exec.LookPath(need); err != nil {
			return fmt.Errorf("%s is not installed; the checks against outside libraries need Node.js 20 or newer with npm", need)
		}
	}
	lock, err := os.ReadFile(filepath.Join(dir, "package-lock.json"))
	if err != nil {
		return err
	}
	done := filepath.Join(dir, "node_modules", ".pitwise-lock")
	if have, err := os.ReadFile(done); err == nil && bytes.Equal(have, lock) {
		return nil
	}
	if err := r.do(nil, "npm", "--prefix", dir, "ci", "--ignore-scripts"); err != nil {
		return err
	}
	return os.WriteFile(done, lock, 0o644)
}

// wasm runs the engine's tests as WebAssembly under node, the program that the
// browser will run. It is several times slower than native, so tests that try
// many random cases try fewer of them under -short.
func (r *runner) wasm() error {
	if _, err := exec.LookPath("node"); err != nil {
		return errors.New("node is not installed; the engine's tests as WebAssembly need Node.js 20 or newer")
	}
	goroot, err := r.output("go", "env", "GOROOT")
	if err != nil {
		return err
	}
	exe := filepath.Join(strings.TrimSpace(goroot), "lib", "wasm", "go_js_wasm_exec")
	return r.do([]string{"GOOS=js", "GOARCH=wasm"}, "go", "test", "-short", "-timeout", "15m", "-exec", exe, "./engine/...")
}

// browser runs the tests that drive the page in Chromium.
func (r *runner) browser() error {
	if _, err := browser.Find(); err != nil {
		fmt.Println("There is no Chromium; trying to install Debian's.")
		if err := browser.Install(os.Stdout); err != nil {
			return err
		}
		if _, err := browser.Find(); err != nil {
			return err
		}
	}
	if err := r.npm(); err != nil {
		return err
	}
	// Two at a time, however many cores: each starts browsers of its own.
	return r.do(nil, "go", "test", "-timeout", "40m", "-p", "2", "-count", "1", "-tags", "browser",
		"./cmd/dev/browser", "./cmd/dev/flows", "./cmd/dev/stories")
}

// goLine is a line of Go's own summary.
var goLine = regexp.MustCompile(`^(ok  \t|FAIL\t|--- FAIL|panic: )`)

// do runs a command in the root of the tree. Standard output and standard error
// are shown as they come; Go's summary lines are kept too.
func (r *runner) do(env []string, name string, args ...string) error {
	fmt.Printf("%s\n", strings.Join(append(append([]string{}, env...), append([]string{filepath.Base(name)}, args...)...), " "))
	cmd := exec.CommandContext(r.ctx, name, args...)
	cmd.Dir = r.root
	cmd.Env = append(smallEnv(), env...)
	read, write := io.Pipe()
	cmd.Stdout, cmd.Stderr = write, write
	done := make(chan struct{})
	go func() {
		defer close(done)
		lines := bufio.NewReader(read)
		for {
			line, err := lines.ReadString('\n')
			fmt.Print(line)
			if goLine.MatchString(line) {
				r.summary.WriteString(line)
			}
			if err != nil {
				return
			}
		}
	}()
	err := cmd.Run()
	write.Close()
	<-done
	return err
}

func (r *runner) output(name string, args ...string) (string, error) {
	cmd := exec.CommandContext(r.ctx, name, args...)
	cmd.Dir = r.root
	var said bytes.Buffer
	cmd.Stderr = &said
	out, err := cmd.Output()
	if err != nil {
		return "", fmt.Errorf("%s %s: %w\n%s", filepath.Base(name), args[0], err, said.String())
	}
	return string(out), nil
}

// smallEnv is what the commands need of the environment. Go's runtime under
// node fails where arguments and environment exceed 12 kB together.
func smallEnv() []string {
	var kept []string
	for _, pair := range os.Environ() {
		name, _, _ := strings.Cut(pair, "=")
		switch {
		case strings.HasPrefix(name, "GO"), strings.HasPrefix(name, "npm_config_"), strings.HasSuffix(strings.ToLower(name), "_proxy"),
			strings.HasPrefix(name, "PITWISE_"), strings.HasPrefix(name, "XDG_"), strings.HasPrefix(name, "LC_"), strings.HasPrefix(name, "SSL_"):
			kept = append(kept, pair)
		}
		switch name {
		case "PATH", "HOME", "USER", "LANG", "TMPDIR", "TZ", "CHROMIUM", "CC", "NODE_EXTRA_CA_CERTS":
			kept = append(kept, pair)
		}
	}
	return kept
}

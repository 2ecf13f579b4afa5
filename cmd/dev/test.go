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
	goruntime "runtime"
	"slices"
	"strings"
	"sync"
	"syscall"
	"time"

	"pitwise/cmd/dev/browser"
)

// runner is one run of the tests: its parts share the summary.
type runner struct {
	ctx  context.Context
	root string

	lanes   int // how many run beside each other
	mu      sync.Mutex
	summary bytes.Buffer // Go's own lines, repeated at the end
}

// part is a named piece of what must hold.
type part struct {
	name string
	run  func(r *runner) error
}

// parts are what "dev test" runs, in this order. A part that fails does not stop
// the next.
var parts = []part{
	{"form", (*runner).form},
	{"vet", (*runner).vet},
	{"lint", (*runner).lint},
	{"go", (*runner).native},
	{"browser", (*runner).browser},
	{"wasm", (*runner).wasm},
	{"race", (*runner).race},
}

func partNames() string {
	var names []string
	for _, p := range parts {
		names = append(names, p.name)
	}
	return strings.Join(names, ", ")
}

// chosen returns the parts with the names, in the order of parts; all without names.
func chosen(names []string) ([]part, error) {
	if len(names) == 0 {
		return parts, nil
	}
	var wanted []part
	for _, p := range parts {
		if slices.Contains(names, p.name) {
			wanted = append(wanted, p)
		}
	}
	for _, name := range names {
		if !slices.ContainsFunc(parts, func(p part) bool { return p.name == name }) {
			return nil, fmt.Errorf("there is no part %q; the parts are %s", name, partNames())
		}
	}
	return wanted, nil
}

func test(ctx context.Context, root string, args []string) error {
	wanted, err := chosen(args)
	if err != nil {
		return err
	}
	return (&runner{ctx: ctx, root: root}).all(wanted, os.Stdout)
}

// lanes are the parts that follow each other; the lanes run beside each other, so that one
// computes while another waits for browsers or ends with a single long test. A part of none is
// taken by the lane that is done first.
var lanes = [][]string{
	{"form", "vet", "lint", "go"},
	{"browser"},
}

// inLanes sorts parts by their lanes; rest are those of none.
func inLanes(wanted []part) (byLane [][]part, rest []part) {
	for _, lane := range lanes {
		own := slices.DeleteFunc(slices.Clone(wanted), func(p part) bool { return !slices.Contains(lane, p.name) })
		if len(own) > 0 {
			byLane = append(byLane, own)
		}
	}
	rest = slices.DeleteFunc(slices.Clone(wanted), func(p part) bool {
		return slices.ContainsFunc(lanes, func(l []string) bool { return slices.Contains(l, p.name) })
	})
	if len(byLane) == 0 {
		byLane = [][]part{nil}
	}
	return byLane, rest
}

// all runs the parts, lane beside lane, and then tells how long each took, which failed,
// and Go's own summary. Once the run is interrupted no further part starts.
func (r *runner) all(wanted []part, out io.Writer) error {
	begun := time.Now()
	byLane, rest := inLanes(wanted)
	r.lanes = len(byLane)
	next := func() (p part, ok bool) {
		r.mu.Lock()
		defer r.mu.Unlock()
		if len(rest) > 0 {
			p, ok, rest = rest[0], true, rest[1:]
		}
		return p, ok
	}
	var wait sync.WaitGroup
	var failed, took []string
	say := func(format string, args ...any) { // one at a time
		r.mu.Lock()
		defer r.mu.Unlock()
		fmt.Fprintf(out, format, args...)
	}
	for _, lane := range byLane {
		wait.Go(func() {
			for {
				p, ok := part{}, len(lane) > 0
				if ok {
					p, lane = lane[0], lane[1:]
				} else {
					p, ok = next()
				}
				if !ok || r.ctx.Err() != nil {
					return
				}
				since := time.Now()
				say("\n=== %s\n", p.name)
				err := p.run(r)
				seconds := time.Since(since).Seconds()
				r.mu.Lock()
				took = append(took, fmt.Sprintf("%s %.0f s", p.name, seconds))
				if err != nil {
					failed = append(failed, p.name)
				}
				r.mu.Unlock()
				if err != nil {
					say("--- %s failed after %.0f s: %v\n", p.name, seconds, err)
				} else {
					say("--- %s passed in %.0f s\n", p.name, seconds)
				}
			}
		})
	}
	wait.Wait()
	fmt.Fprintf(out, "\n=== %d of %d parts in %.0f s: %s", len(took), len(wanted), time.Since(begun).Seconds(), strings.Join(took, ", "))
	if len(failed) > 0 {
		fmt.Fprintf(out, "; failed: %s", strings.Join(failed, ", "))
	}
	fmt.Fprintf(out, "\n%s", r.summary.String())
	if err := r.ctx.Err(); err != nil {
		return fmt.Errorf("interrupted: %w", err)
	}
	if len(failed) > 0 {
		return errors.New("not everything passed")
	}
	return nil
}

// packages says how many packages a lane tests at a time: together the lanes fill the
// machine.
func (r *runner) packages() string {
	return fmt.Sprint(max(1, goruntime.NumCPU()/max(1, r.lanes)))
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

// vet runs go vet over all there is: each file by the first build that has it, with all of its package. So the parts that test do not,
// as "go test" does by itself, each with what it depends on down to the standard library.
func (r *runner) vet() error {
	all, err := r.reads()
	if err != nil {
		return err
	}
	var errs []error
	for i, b := range builds {
		if len(all[i]) > 0 {
			errs = append(errs, r.do(b.env, "go", slices.Concat([]string{"vet"}, b.flags(), all[i])...))
		}
	}
	return errors.Join(errs...)
}

// concurrent names the tests that do something on more than one goroutine; a test of what is
// safe for concurrent use has such a name. All tests would take an hour under the race
// detector, and most have one goroutine.
const concurrent = "AtOnce|Concurrent|Goroutines|Serve|Window|Thread|StorageThat|DeviceThat"

// race runs under Go's race detector what more than one goroutine does.
func (r *runner) race() error {
	if err := r.compiler(); err != nil {
		return err
	}
	packages, err := r.holding(concurrent, "engine", "app", "cmd/pitwise")
	if err != nil {
		return err
	}
	args := []string{"test", "-vet=off", "-race", "-short", "-timeout", "40m", "-p", r.packages(), "-run", concurrent}
	return r.do([]string{"CGO_ENABLED=1"}, "go", append(args, packages...)...)
}

// holding lists the packages below some folders that hold a test whose name the pattern matches, so that no other is built for it.
func (r *runner) holding(pattern string, folders ...string) ([]string, error) {
	found, err := r.output("git", append([]string{"grep", "--untracked", "-lE", "^func (Test|Example|Fuzz)[A-Za-z0-9_]*(" + pattern + ")", "--"}, folders...)...)
	if err != nil {
		return nil, fmt.Errorf("no test has a name of %s: %w", pattern, err)
	}
	var packages []string
	for _, name := range strings.Fields(found) {
		packages = append(packages, "./"+filepath.ToSlash(filepath.Dir(name)))
	}
	slices.Sort(packages)
	return slices.Compact(packages), nil
}

// compiler sees to it that there is a C compiler, which the race detector is linked with.
func (r *runner) compiler() error {
	cc, err := r.output("go", "env", "CC")
	if err != nil {
		return err
	}
	if _, err := exec.LookPath(strings.TrimSpace(cc)); err == nil {
		return nil
	}
	fmt.Println("There is no C compiler; trying to install Debian's.")
	if err := browser.Install(r.ctx, os.Stdout, "gcc", "libc6-dev"); err != nil {
		return fmt.Errorf("the race detector needs a C compiler: %w", err)
	}
	return nil
}

// native runs the Go tests.
func (r *runner) native() error {
	if err := r.npm(); err != nil {
		return err
	}
	for _, program := range []string{"qrencode", "zbarimg"} {
		if _, err := exec.LookPath(program); err != nil {
			if err := browser.Install(r.ctx, os.Stdout, "qrencode", "zbar-tools"); err != nil {
				return fmt.Errorf("the codes are checked against %s: %w", program, err)
			}
			break
		}
	}
	// With the variables set, a test that misses its library or program fails.
	return r.do([]string{"PITWISE_NPM=" + r.libraries(), "PITWISE_QR=1"}, "go", "test", "-vet=off", "-timeout", "25m", "-p", r.packages(), "./...")
}

// libraries is the folder of the npm libraries that tests check against.
func (r *runner) libraries() string { return filepath.Join(r.root, "testdata", "npm") }

// npm installs the libraries that tests check against, as the lock file says.
func (r *runner) npm() error { return r.install(r.libraries()) }

// install runs npm ci in a folder, unless it did for the same lock file.
func (r *runner) install(dir string) error {
	if err := r.node("npm"); err != nil {
		return err
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

// oldestNode is the first release of Node.js that everything here is known to run on.
const oldestNode = 20

// node checks that Node.js is there and new enough, and so are the programs that come
// with it.
func (r *runner) node(also ...string) error {
	for _, need := range append([]string{"node"}, also...) {
		if _, err := exec.LookPath(need); err != nil {
			return fmt.Errorf("%s is not installed; the tests need Node.js %d or newer with npm", need, oldestNode)
		}
	}
	version, err := r.output("node", "--version")
	if err != nil {
		return err
	}
	return nodeIsNew(strings.TrimSpace(version))
}

func nodeIsNew(version string) error {
	var major int
	if _, err := fmt.Sscanf(version, "v%d.", &major); err != nil {
		return fmt.Errorf("node says that its version is %q; want v%d or newer", version, oldestNode)
	}
	if major < oldestNode {
		return fmt.Errorf("node is %s; the tests need Node.js %d or newer", version, oldestNode)
	}
	return nil
}

// wasm runs the tests of what the page's program has of the engine as WebAssembly under node, but for what
// reads texts alone: numbers are what another machine may work out otherwise. It is several times slower than
// native, so tests that try many random cases try fewer of them under -short.
func (r *runner) wasm() error {
	if err := r.node(); err != nil {
		return err
	}
	goroot, err := r.output("go", "env", "GOROOT")
	if err != nil {
		return err
	}
	packages, err := r.ofThePage()
	if err != nil {
		return err
	}
	exe := filepath.Join(strings.TrimSpace(goroot), "lib", "wasm", "go_js_wasm_exec")
	args := append([]string{"test", "-vet=off", "-short", "-timeout", "25m", "-p", r.packages(), "-skip", strings.Join(slices.Concat(drawn, texts), "|"), "-exec", exe}, packages...)
	return r.do(asThePage, "go", args...)
}

// drawn are the tests that draw hundreds of units, models or situations to see whether a method is right, as it is or is not
// whatever machine works it out; that numbers are the same as WebAssembly other tests see.
var drawn = []string{
	"TestIntervalsCover", "TestOddsOfRightNumbersAreRight", "TestRightNumbersAreTrustedAndWrongOnesAreNot", "TestCountsOfAnotherBenchHelp",
	"TestUnitsThatAreNeverBroughtInDoNotBiasThePriors", "TestWrongCausesAreFoundOut", "TestNobodyDoesBetterThanTheClairvoyant",
	"TestEveryTotalIsATrueOne", "TestNoUnitGoesOnForEver", "TestReplayAgreesWithTheOracleOnRandomModelsAndTrails",
	"TestTheAnswerDoesNotDependOnTheNumberOfGoroutines", // of which a wasm has one
}

// texts are the tests of packages that compute which read thousands of texts and work nothing out.
var texts = []string{
	"TestSpoiledTrailsAreRefusedOrReadBackAndNeverLessStrictlyThanTheirSchema", "TestFormsMatchWhatTheirPatternsSay",
}

// ofTexts are the packages that read texts and work nothing out.
var ofTexts = []string{"pitwise/engine/catalog", "pitwise/engine/document", "pitwise/engine/model"}

// ofThePage lists the packages of the engine that the page's program has, without those of texts.
func (r *runner) ofThePage() ([]string, error) {
	all, err := r.run(asThePage, "go", "list", "-deps", "./cmd/page")
	if err != nil {
		return nil, err
	}
	packages := slices.DeleteFunc(strings.Fields(all), func(name string) bool {
		return !strings.HasPrefix(name, "pitwise/engine/") || slices.Contains(ofTexts, name)
	})
	if len(packages) == 0 {
		return nil, errors.New("the page's program has nothing of the engine")
	}
	return packages, nil
}

// browser runs the tests that drive the page in Chromium, Firefox and WebKit.
func (r *runner) browser() error {
	for _, e := range browser.Engines {
		if err := e.Ready(r.ctx, os.Stdout); err != nil {
			return err
		}
	}
	if err := r.npm(); err != nil {
		return err
	}
	// At most two at a time, however many cores: each starts browsers of its own.
	at := "1"
	if r.packages() != "1" {
		at = "2"
	}
	return r.do(nil, "go", "test", "-vet=off", "-timeout", "55m", "-p", at, "-count", "1", "-tags", "browser",
		"./cmd/dev/browser", "./cmd/dev/flows")
}

// goLine is a line of Go's own summary.
var goLine = regexp.MustCompile(`^(ok  \t|FAIL\t|--- FAIL|panic: )`)

// do runs a command in the root of the tree. Standard output and standard error
// are shown as they come; Go's summary lines are kept too.
func (r *runner) do(env []string, name string, args ...string) error {
	return r.feed("", env, name, args...)
}

// feed is do for a command that reads the text.
func (r *runner) feed(text string, env []string, name string, args ...string) error {
	fmt.Printf("%s\n", strings.Join(append(append([]string{}, env...), append([]string{filepath.Base(name)}, args...)...), " "))
	cmd := r.command(name, args...)
	cmd.Env = append(smallEnv(), env...)
	read, write := io.Pipe()
	cmd.Stdin = strings.NewReader(text)
	cmd.Stdout, cmd.Stderr = write, write
	done := make(chan struct{})
	go func() {
		defer close(done)
		lines := bufio.NewReader(read)
		for {
			line, err := lines.ReadString('\n')
			fmt.Print(line)
			if goLine.MatchString(line) {
				r.mu.Lock()
				r.summary.WriteString(line)
				r.mu.Unlock()
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

// command is a program in the root of the tree that ends with the run, and everything
// that it started with it.
func (r *runner) command(name string, args ...string) *exec.Cmd {
	cmd := exec.CommandContext(r.ctx, name, args...)
	cmd.Dir = r.root
	cmd.SysProcAttr = &syscall.SysProcAttr{Setpgid: true}
	cmd.Cancel = func() error { return syscall.Kill(-cmd.Process.Pid, syscall.SIGKILL) }
	// What left the group may hold on to the output.
	cmd.WaitDelay = 2 * time.Second
	return cmd
}

func (r *runner) output(name string, args ...string) (string, error) {
	return r.run(nil, name, args...)
}

// run runs a command and returns what it prints.
func (r *runner) run(env []string, name string, args ...string) (string, error) {
	cmd := r.command(name, args...)
	cmd.Env = append(os.Environ(), env...)
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

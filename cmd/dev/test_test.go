package main

import (
	"bytes"
	"context"
	"errors"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestAfterAnInterruptNoFurtherPartStarts(t *testing.T) {
	for name, end := range map[string]error{"the part under way fails by it": errors.New("killed"), "the part under way ends well": nil} {
		t.Run(name, func(t *testing.T) {
			ctx, interrupt := context.WithCancel(t.Context())
			var mu sync.Mutex
			var ran []string
			step := func(name string, do func() error) part {
				return part{name, func(*runner) error {
					mu.Lock()
					ran = append(ran, name)
					mu.Unlock()
					return do()
				}}
			}
			var out bytes.Buffer
			err := (&runner{ctx: ctx}).all([]part{
				step("first", func() error { return nil }),
				step("second", func() error { interrupt(); return end }),
				step("third", func() error { return nil }),
				step("fourth", func() error { return nil }),
			}, &out)
			assert.ErrorIs(t, err, context.Canceled)
			assert.Equal(t, []string{"first", "second"}, ran)
			assert.Contains(t, out.String(), "2 of 4 parts")
		})
	}
}

func TestAPartThatFailsDoesNotStopTheNext(t *testing.T) {
	var ran int
	count := func(err error) part { return part{"p", func(*runner) error { ran++; return err }} }
	var out bytes.Buffer
	err := (&runner{ctx: t.Context()}).all([]part{count(nil), count(errors.New("no")), count(nil)}, &out)
	assert.EqualError(t, err, "not everything passed")
	assert.Equal(t, 3, ran)
	assert.Contains(t, out.String(), "failed: p")
}

// TestAnInterruptEndsWhatWasStarted starts a program that starts another one, which
// would hold the output for minutes.
func TestAnInterruptEndsWhatWasStarted(t *testing.T) {
	dir := t.TempDir()
	note := filepath.Join(dir, "pid")
	ctx, interrupt := context.WithCancel(t.Context())
	done := make(chan error)
	go func() {
		done <- (&runner{ctx: ctx, root: dir}).do(nil, "sh", "-c", "sleep 300 & echo $! > pid.new; mv pid.new pid; wait")
	}()
	var pid int
	require.Eventually(t, func() bool {
		text, err := os.ReadFile(note)
		if err == nil {
			pid, err = strconv.Atoi(strings.TrimSpace(string(text)))
		}
		return err == nil
	}, 10*time.Second, 5*time.Millisecond)
	interrupt()
	select {
	case err := <-done:
		assert.Error(t, err)
	case <-time.After(10 * time.Second):
		t.Fatal("the part still waits for a program that was to end")
	}
	require.Eventually(t, func() bool { return gone(pid) }, 10*time.Second, 5*time.Millisecond, "process %d is alive", pid)
}

// gone reports whether a process has ended; one that nobody waited for yet has.
func gone(pid int) bool {
	if syscall.Kill(pid, 0) != nil {
		return true
	}
	stat, err := os.ReadFile(filepath.Join("/proc", strconv.Itoa(pid), "stat"))
	return err == nil && strings.Contains(string(stat), ") Z ")
}

func TestTheVersionOfNodeIsChecked(t *testing.T) {
	for version, fits := range map[string]bool{"v20.0.0": true, "v24.1.3": true, "v18.19.0": false, "v9.9.9": false, "20.1": false, "": false} {
		assert.Equal(t, fits, nodeIsNew(version) == nil, version)
	}
}

func TestPartsAreChosenByName(t *testing.T) {
	all, err := chosen(nil)
	require.NoError(t, err)
	assert.Len(t, all, len(parts))
	some, err := chosen([]string{"wasm", "form"})
	require.NoError(t, err)
	require.Len(t, some, 2)
	assert.Equal(t, []string{"form", "wasm"}, []string{some[0].name, some[1].name})
	_, err = chosen([]string{"form", "nonsense"})
	assert.ErrorContains(t, err, "nonsense")
}

func TestAFunctionIsDeadWhereEveryTargetSaysSo(t *testing.T) {
	reach := func(place string) unused { return unused{strings.SplitN(place, ":", 2)[0], place} }
	both, native, web := reach("a.go:1: both"), reach("a.go:2: native"), reach("b_js.go:3: web")
	assert.Equal(t, []string{both.place, web.place}, deadEverywhere([]look{
		{files: []string{"a.go"}, dead: []unused{both, native}},
		{files: []string{"a.go", "b_js.go"}, dead: []unused{both, web}},
	}))
	found, err := unreached("/r", `[{"Name":"p","Path":"x/p","Funcs":[{"Name":"F","Position":{"File":"p/f.go","Line":7,"Col":6},"Generated":false}]}]`)
	require.NoError(t, err)
	assert.Equal(t, []unused{{"/r/p/f.go", "p/f.go:7: F"}}, found)
}

func TestAFileIsReadByTheFirstBuildThatHasItAndWithAllOfItsPackage(t *testing.T) {
	once, several := readBy([]map[string][]string{
		{"p": {"p/a.go", "p/a_native.go"}, "q": {"q/a.go", "q/a_test.go"}},
		{"p": {"p/a.go", "p/a_js.go"}, "q": {"q/a.go"}, "web": {"web/main.go"}, "r": {"r/a.go"}},
		{"r": {"r/a.go", "r/deep.go"}, "s": {"s/a.go"}},
	})
	assert.Equal(t, [][]string{{"q"}, {"web"}, {"s"}}, once)
	assert.Equal(t, []shared{{[]int{0, 1}, []string{"p"}}, {[]int{1, 2}, []string{"r"}}}, several)
}

// No file that a build has is left out by it.
func TestEveryFileIsReadByABuildThatHasIt(t *testing.T) {
	r := &runner{ctx: t.Context(), root: filepath.Join("..", "..")}
	reads, err := r.reads()
	require.NoError(t, err)
	all, read := map[string]bool{}, map[string]bool{}
	for i, b := range builds {
		files, err := r.filesOf(b)
		require.NoError(t, err)
		for name, of := range files {
			for _, file := range of {
				all[file] = true
				read[file] = read[file] || slices.Contains(reads[i], name)
			}
		}
	}
	assert.NotEmpty(t, all)
	assert.Equal(t, all, read)
	assert.Less(t, len(reads[1])+len(reads[2]), len(reads[0])/2, "most is the same for all builds")
}

func TestNoPartIsLeftOutOrRunTwice(t *testing.T) {
	byLane, rest := inLanes(parts)
	require.Len(t, byLane, len(lanes))
	var names, all []string
	for _, lane := range append(byLane, rest) {
		for _, p := range lane {
			all = append(all, p.name)
		}
	}
	for _, p := range parts {
		names = append(names, p.name)
	}
	assert.ElementsMatch(t, names, all)
	assert.NotEmpty(t, rest)
}

// TestALaneThatIsDoneTakesWhatIsLeft has one lane wait until the other has done all parts that are of none.
func TestALaneThatIsDoneTakesWhatIsLeft(t *testing.T) {
	left := make(chan string, 9)
	rest := func(name string) part { return part{name, func(*runner) error { left <- name; return nil }} }
	var out bytes.Buffer
	require.NoError(t, (&runner{ctx: t.Context()}).all([]part{
		{lanes[0][0], func(*runner) error {
			for _, want := range []string{"one", "two"} {
				select {
				case name := <-left:
					if name != want {
						return errors.New(name)
					}
				case <-time.After(10 * time.Second):
					return errors.New("nobody takes " + want)
				}
			}
			return nil
		}},
		{lanes[1][0], func(*runner) error { return nil }},
		rest("one"), rest("two"),
	}, &out), out.String())
	assert.Empty(t, left)
}

// TestLanesRunBesideEachOther has a part of each lane wait for the other.
func TestLanesRunBesideEachOther(t *testing.T) {
	left, right := make(chan bool), make(chan bool)
	meet := func(mine, other chan bool) func(*runner) error {
		return func(*runner) error {
			close(mine)
			select {
			case <-other:
				return nil
			case <-time.After(10 * time.Second):
				return errors.New("alone")
			}
		}
	}
	var out bytes.Buffer
	require.NoError(t, (&runner{ctx: t.Context()}).all([]part{{"go", meet(left, right)}, {"browser", meet(right, left)}}, &out))
	assert.Contains(t, out.String(), "2 of 2 parts")
}

// What the wasm part leaves out is there, so that no name of a test that is gone stays in its list.
func TestWhatTheWasmPartLeavesOutIsThere(t *testing.T) {
	var all bytes.Buffer
	for _, name := range []string{"engine/learn", "engine/plan", "engine/sim", "engine/trail"} {
		files, err := filepath.Glob(filepath.Join("..", "..", filepath.FromSlash(name), "*_test.go"))
		require.NoError(t, err)
		for _, file := range files {
			text, err := os.ReadFile(file)
			require.NoError(t, err)
			all.Write(text)
		}
	}
	for _, name := range slices.Concat(drawn, texts) {
		assert.Contains(t, all.String(), "func "+name+"(")
	}
}

// TestWhatIsSafeForConcurrentUseIsTestedForIt looks in each package that promises it for a
// test that the race part runs.
func TestWhatIsSafeForConcurrentUseIsTestedForIt(t *testing.T) {
	named := regexp.MustCompile(`func Test\w*(` + concurrent + `)`)
	promises := regexp.MustCompile(`(?i)\bis( immutable)?( once loaded)? (and )?safe for concurrent|and is safe for concurrent|any number of goroutines`)
	found := 0
	for _, part := range []string{"engine", "app"} {
		require.NoError(t, filepath.WalkDir(filepath.Join("..", "..", part), func(dir string, d os.DirEntry, err error) error {
			if err != nil || !d.IsDir() {
				return err
			}
			files, err := filepath.Glob(filepath.Join(dir, "*.go"))
			if err != nil {
				return err
			}
			promised, tested := false, false
			for _, name := range files {
				text, err := os.ReadFile(name)
				if err != nil {
					return err
				}
				if strings.HasSuffix(name, "_test.go") {
					tested = tested || named.Match(text)
				} else {
					promised = promised || promises.Match(text)
				}
			}
			if promised {
				found++
				assert.True(t, tested, "%s promises to be safe for concurrent use, and no test named for it shows so", dir)
			}
			return nil
		}))
	}
	assert.Positive(t, found)
}

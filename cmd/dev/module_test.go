package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/catalog"
	"pitwise/engine/model"
	"pitwise/web/site"
)

// stranger is a program of somebody else's that uses the engine by its front door.
const stranger = `package main

import (
	"fmt"
	"log"

	"pitwise/engine/belief"
	"pitwise/engine/bench"
	"pitwise/engine/catalog"
	"pitwise/engine/trail"
)

func main() {
	m, err := catalog.Load("top-loader")
	check(err)
	space, err := belief.NewSpace(m)
	check(err)
	t := &trail.Trail{
		ID: "one", Created: "2026-01-02T19:00:00Z", Terms: bench.DefaultTerms(m),
		Model: trail.ModelRef{ID: m.ID, Revision: m.Revision, SHA256: m.SHA256},
		Events: []trail.Event{{N: 1, Kind: trail.Result, Test: m.Tests[m.Intake].ID, Outcome: m.Tests[m.Intake].Outcomes[1].ID}},
	}
	u, err := bench.Open(space, t)
	check(err)
	planner, err := u.Planner(space)
	check(err)
	search := u.Advise(planner)
	for !search.Work(64) {
	}
	first := search.Proposals()[0]
	fmt.Println(bench.TaskOf(m, first.Step).Title)
}

func check(err error) {
	if err != nil {
		log.Fatal(err)
	}
}
`

// TestTheEngineWorksInAnotherModule builds and runs a program of another module that has the engine
// and, for want of a network and of any sum of its own, nothing else.
func TestTheEngineWorksInAnotherModule(t *testing.T) {
	tree, err := site.FindTree(".")
	require.NoError(t, err)
	folder := t.TempDir()
	write := func(name, text string) {
		require.NoError(t, os.WriteFile(filepath.Join(folder, name), []byte(text), 0o600))
	}
	write("main.go", stranger)
	write("go.mod", "module stranger\n\ngo 1.26\n\nrequire pitwise v0.0.0\n\nreplace pitwise => "+tree.Root+"\n")
	run := func(args ...string) string {
		cmd := exec.Command("go", args...)
		cmd.Dir = folder
		cmd.Env = append(os.Environ(), "GOFLAGS=-mod=mod", "GOPROXY=off", "GOWORK=off")
		out, err := cmd.CombinedOutput()
		require.NoError(t, err, "go %v: %s", args, out)
		return string(out)
	}
	said := run("run", ".")
	m, err := catalog.Load("top-loader")
	require.NoError(t, err)
	assert.True(t, slices.ContainsFunc(m.Tests, func(test model.Test) bool { return test.Title == strings.TrimSpace(said) }),
		"it says %q, which is no test of the model", said)

	linked := strings.Fields(run("list", "-deps", "-f", "{{if not .Standard}}{{.ImportPath}}{{end}}", "."))
	assert.Contains(t, linked, "pitwise/engine/bench")
	for _, p := range linked {
		assert.True(t, p == "stranger" || strings.HasPrefix(p, "pitwise/engine/"), "it links %s", p)
	}
	sums, err := os.ReadFile(filepath.Join(folder, "go.sum"))
	if err == nil {
		assert.NotContains(t, string(sums), "go-app")
	}
}

// TestTheEngineNeedsNothingOfTheApp looks through all that the engine's packages link, but for the
// one that only tests use to read the published schemas with.
func TestTheEngineNeedsNothingOfTheApp(t *testing.T) {
	seen := 0
	for _, p := range list(t, "linux", "amd64", "-deps", "./engine/...") {
		if p.Standard {
			continue
		}
		seen++
		assert.NotRegexp(t, `^pitwise/(app|web|cmd)/|go-app`, p.ImportPath)
		if strings.HasPrefix(p.ImportPath, "pitwise/") && p.ImportPath != "pitwise/engine/internal/schema" {
			for _, d := range p.Deps {
				assert.False(t, strings.Contains(strings.Split(d, "/")[0], "."), "%s links %s", p.ImportPath, d)
			}
		}
	}
	assert.Greater(t, seen, 15)
}

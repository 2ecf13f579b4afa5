package main

import (
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/web/site"
)

// pages are what is written for people, from the root of the tree.
var pages = []string{"README.md", "DEVELOPERS.md", "engine/DECISIONS.md", "cmd/dev/MEASUREMENTS.md",
	"engine/catalog/AUTHORS.md", "engine/worked/odds.md", "web/hosts/README.md",
	"cmd/pitwise/FIRST-UNIT.md", "cmd/pitwise/FAQ.md", "cmd/pitwise/CHANGELOG.md"}

// source is the text of every Go file of the tree, one after another.
func source(t *testing.T, root string) string {
	t.Helper()
	var all strings.Builder
	require.NoError(t, filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case d.IsDir() && (d.Name() == "node_modules" || d.Name() == ".git"):
			return filepath.SkipDir
		case filepath.Ext(path) != ".go":
			return nil
		}
		text, err := os.ReadFile(path)
		all.Write(text)
		return err
	}))
	return all.String()
}

var (
	testNames  = regexp.MustCompile("`((?:Test|Benchmark|Fuzz)[A-Z]\\w*)`")
	variables  = regexp.MustCompile(`\bPITWISE_[A-Z_]+[A-Z]\b`)
	devVerbs   = regexp.MustCompile(`(?:\./cmd/dev|\bdev) ([a-z]+)\b`)
	deskVerbs  = regexp.MustCompile(`(?:\./cmd/pitwise|\bpitwise) ([a-z]+)\b`)
	places     = regexp.MustCompile("`((?:engine|app|web|cmd|testdata)/[\\w./*-]*)`")
	runs       = regexp.MustCompile(`-(?:run|bench) '?([\w^$]+)`)
	pageLinks  = regexp.MustCompile(`\]\(([^)#:]+)(#[^)]*)?\)`)
	commandsOf = regexp.MustCompile("(?m)^    .*$|`[^`\n]+`")
)

// TestThePagesForDevelopersNameWhatThereIs looks up every test, variable, verb, place and link that
// the pages tell.
func TestThePagesForDevelopersNameWhatThereIs(t *testing.T) {
	tree, err := site.FindTree(".")
	require.NoError(t, err)
	code := source(t, tree.Root)
	verbs := deskNames(t, tree.Root)
	for _, page := range pages {
		t.Run(page, func(t *testing.T) {
			b, err := os.ReadFile(filepath.Join(tree.Root, page))
			require.NoError(t, err)
			text := string(b)
			for _, m := range testNames.FindAllStringSubmatch(text, -1) {
				assert.True(t, strings.Contains(code, "func "+m[1]+"("), "%s: no such test", m[1])
			}
			for _, name := range variables.FindAllString(text, -1) {
				assert.True(t, strings.Contains(code, `"`+name+`"`), "%s: nothing reads it", name)
			}
			for _, m := range places.FindAllStringSubmatch(text, -1) {
				found, err := filepath.Glob(filepath.Join(tree.Root, strings.TrimSuffix(m[1], "/...")))
				assert.NoError(t, err)
				assert.NotEmpty(t, found, "%s: no such place", m[1])
			}
			for _, m := range pageLinks.FindAllStringSubmatch(text, -1) {
				assert.FileExists(t, filepath.Join(tree.Root, filepath.Dir(page), m[1]), "a link that leads nowhere")
			}
			for _, command := range commandsOf.FindAllString(text, -1) {
				for _, m := range devVerbs.FindAllStringSubmatch(command, -1) {
					assert.True(t, isChore(m[1]), "%q: no chore has that name", command)
				}
				for _, m := range deskVerbs.FindAllStringSubmatch(command, -1) {
					assert.Contains(t, verbs, m[1], "%q: no verb has that name", command)
				}
				for _, m := range runs.FindAllStringSubmatch(command, -1) {
					named := regexp.MustCompile(`func \w*` + m[1])
					assert.True(t, m[1] == "^$" || named.MatchString(code), "%q: no test has that name", command)
				}
			}
		})
	}
}

// deskNames are the verbs that the desk program lists.
func deskNames(t *testing.T, root string) []string {
	cmd := exec.Command("go", "run", "./cmd/pitwise", "help")
	cmd.Dir = root
	out, err := cmd.CombinedOutput()
	require.NoError(t, err, "%s", out)
	var names []string
	for _, m := range regexp.MustCompile(`(?m)^  pitwise ([a-z]+) `).FindAllStringSubmatch(string(out), -1) {
		names = append(names, m[1])
	}
	require.Greater(t, len(names), 10)
	return append(names, "help")
}

func isChore(name string) bool {
	for _, c := range chores {
		if c.name == name {
			return true
		}
	}
	return false
}

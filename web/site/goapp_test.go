package site_test

import (
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// asked finds the functions and the variables that go-app's runtime wants of
// the page it runs in.
var asked = regexp.MustCompile(`(?:Call|Get)\("(goapp[A-Za-z]+)"|Getenv\("(GOAPP_[A-Z_]+)"\)`)

// TestLoaderGivesWhatTheRuntimeAsksFor reads the source of the very release
// that is linked, so that another release cannot ask for more unseen.
func TestLoaderGivesWhatTheRuntimeAsksFor(t *testing.T) {
	out, err := exec.Command("go", "list", "-f", "{{.Dir}}", "github.com/maxence-charriere/go-app/v9/pkg/app").Output()
	require.NoError(t, err)
	files, err := filepath.Glob(filepath.Join(strings.TrimSpace(string(out)), "*.go"))
	require.NoError(t, err)
	loader := string(assemble(t, parts("/")).Find("v/" + assemble(t, parts("/")).Version + "/start.js").Body)

	// Called only by functions that the app does not call; guarded below.
	unused := map[string]string{
		"goappKeepBodyClean":              "KeepBodyClean",
		"goappNewNotification":            "Notifications()",
		"goappSubscribePushNotifications": "Notifications()",
	}
	found := map[string]bool{}
	for _, name := range files {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		text, err := os.ReadFile(name)
		require.NoError(t, err)
		for _, m := range asked.FindAllStringSubmatch(string(text), -1) {
			found[m[1]+m[2]] = true
		}
	}
	require.Contains(t, found, "goappGetenv", "the search finds what is known to be there")
	require.Contains(t, found, "GOAPP_ROOT_PREFIX")
	for name := range found {
		if _, ok := unused[name]; ok {
			continue
		}
		assert.Contains(t, loader, name, "go-app asks the page for it")
	}
	app := filepath.Join("..", "..", "app")
	for _, name := range goFiles(t, app) {
		text, err := os.ReadFile(name)
		require.NoError(t, err)
		for _, function := range unused {
			assert.NotContains(t, string(text), "."+function, name)
		}
	}
}

// TestAppKeepsToThePolicy finds at once what the browser would refuse later:
// inline styles and markup from strings.
func TestAppKeepsToThePolicy(t *testing.T) {
	forbidden := regexp.MustCompile(`\.Styles?\(|app\.Raw\(|"innerHTML"|"outerHTML"|insertAdjacentHTML|"style",|\beval\b\(`)
	for _, name := range goFiles(t, filepath.Join("..", "..", "app")) {
		text, err := os.ReadFile(name)
		require.NoError(t, err)
		assert.Empty(t, forbidden.FindAllString(string(text), -1), name)
	}
}

// goFiles lists the Go files of the app that are part of the program.
func goFiles(t *testing.T, dir string) []string {
	t.Helper()
	var names []string
	require.NoError(t, filepath.WalkDir(dir, func(name string, d os.DirEntry, err error) error {
		if err == nil && strings.HasSuffix(name, ".go") && !strings.HasSuffix(name, "_test.go") {
			names = append(names, name)
		}
		return err
	}))
	require.NotEmpty(t, names)
	return names
}

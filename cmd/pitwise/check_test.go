package main

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/catalog"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

// example is the model of the format's description.
var example = filepath.Join("..", "..", "engine", "model", "testdata", "example.json")

const vectors = "../../testdata/vectors"

// trailOf makes a trail of the model with these events, each an object without n and at.
func trailOf(t *testing.T, m *model.Model, events ...string) string {
	t.Helper()
	var all []string
	for i, e := range events {
		all = append(all, fmt.Sprintf(`{"n": %d, "at": "2026-03-04T10:%02d:00Z", %s}`, i+1, i, e))
	}
	var tools []string
	for _, tool := range m.Tools {
		tools = append(tools, `"`+string(tool.ID)+`"`)
	}
	return fmt.Sprintf(`{
  "format": "pitwise/trail", "version": 1, "id": "unit-3", "created": "2026-03-04T10:00:00Z",
  "model": {"id": %q, "revision": %q, "sha256": %q},
  "unit": {"label": "Grey one, shelf 3", "notes": ""},
  "terms": {"minute_value": 0.5, "currency": "EUR", "tools": [%s],
    "working_value": 60, "as_is_value": 10, "comeback_cost": 40},
  "events": [
    %s
  ]
}
`, m.ID, m.Revision, m.SHA256, strings.Join(tools, ", "), strings.Join(all, ",\n    "))
}

func exampleModel(t *testing.T) *model.Model {
	t.Helper()
	text, err := os.ReadFile(example)
	require.NoError(t, err)
	m, err := model.Load(text)
	require.NoError(t, err)
	return m
}

// file writes a file into a folder of the test's own.
func file(t *testing.T, name, text string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	require.NoError(t, os.WriteFile(path, []byte(text), 0o644))
	return path
}

func TestCheckListsEveryDefectWithItsPlaceAndLine(t *testing.T) {
	text, err := os.ReadFile(example)
	require.NoError(t, err)
	spoiled := strings.NewReplacer(
		`"prior": 0.08`, `"prior": 1.08`,
		`"healthy": [0.97, 0.02, 0.01]`, `"healthy": [0.97, 0.02, 0.02]`,
		`"needs": ["multimeter"]`, `"needs": ["voltmeter"]`,
		`"title": "Clean the lens"`, `"titel": "Clean the lens"`,
	).Replace(string(text))
	require.NotEqual(t, string(text), spoiled)
	status, out, message := called(t, spoiled, "check", "-")
	assert.Equal(t, 1, status)
	assert.Empty(t, message)
	golden(t, "check-model", out)

	status, out, message = called(t, `{
  "format": "pitwise/trail", "version": 1, "created": "yesterday",
  "model": {"id": "example", "revision": "1", "sha256": "12"},
  "unit": {"label": "x"},
  "terms": {"minute_value": -1, "currency": "EUR", "working_value": 60, "as_is_value": 10, "comeback_cost": 40},
  "events": [
    {"n": 2, "at": "2026-03-04T10:12:00Z", "kind": "result", "test": "rail"},
    {"n": 3, "at": "2026-03-04T10:12:00Z", "kind": "void", "of": 9}
  ]
}`, "check", "-")
	assert.Equal(t, 1, status)
	assert.Empty(t, message)
	golden(t, "check-trail", out)
}

func TestCheckHoldsATrailAgainstItsModel(t *testing.T) {
	m := exampleModel(t)
	bad := trailOf(t, m,
		`"kind": "result", "test": "first-boot", "outcome": "sings"`,
		`"kind": "result", "test": "first-boot", "reading": 4`,
		`"kind": "setup", "setup": "ajar"`,
		`"kind": "end", "as": "signed-off", "causes": ["lens.dirty", "lens.gone"]`)

	t.Run("ids it does not have are listed with their line", func(t *testing.T) {
		status, out, message := called(t, bad, "check", "-model", example, "-")
		assert.Equal(t, 1, status)
		assert.Empty(t, message)
		golden(t, "check-fit", out)
	})
	t.Run("the model may stand among the files before it", func(t *testing.T) {
		status, out, _ := called(t, bad, "check", example, "-")
		assert.Equal(t, 1, status)
		assert.Contains(t, out, "nothing wrong\n-:8:84: events[0].outcome: ")
	})
	t.Run("without the model only the form is checked, and that is said", func(t *testing.T) {
		status, out, message := called(t, bad, "check", "-")
		assert.Zero(t, status)
		assert.Empty(t, message)
		assert.Contains(t, out, "form")
		assert.Contains(t, out, "not at hand")
		assert.Contains(t, out, m.SHA256[:12])
	})
	t.Run("another model than it names does not count", func(t *testing.T) {
		status, out, _ := called(t, bad, "check", "-model", "top-loader", "-")
		assert.Zero(t, status)
		assert.Contains(t, out, "not at hand")
	})
	t.Run("a shipped model is found by its digest", func(t *testing.T) {
		shipped, err := catalog.Load("top-loader")
		require.NoError(t, err)
		status, out, _ := called(t, trailOf(t, shipped, `"kind": "repair", "repair": "no-such"`), "check", "-")
		assert.Equal(t, 1, status)
		assert.Regexp(t, `^-:8:\d+: events\[0\]\.repair: .*no-such`, out)
	})
	t.Run("the model that it carries is checked too", func(t *testing.T) {
		tr, err := trail.Load([]byte(trailOf(t, m)))
		require.NoError(t, err)
		tr.ModelText = strings.Replace(string(m.Text), `"prior": 0.08`, `"prior": 1.08`, 1)
		tr.Model.SHA256 = digest(tr.ModelText)
		status, out, _ := called(t, string(tr.Encode()), "check", "-")
		assert.Equal(t, 1, status)
		assert.Regexp(t, `^-:\d+:\d+: model_text: in the model, components\[0\]`, out)

		tr.ModelText, tr.Model.SHA256 = string(m.Text), m.SHA256
		status, out, _ = called(t, string(tr.Encode()), "check", "-")
		assert.Zero(t, status)
		assert.Contains(t, out, "the model it carries, example revision 1: nothing wrong")
	})
}

func TestCheckTellsWhatIsNeitherModelNorTrail(t *testing.T) {
	for text, want := range map[string]string{
		"":                             "-: empty",
		"{":                            "-:1:2: the end of the file",
		"[]":                           "want an object",
		"7":                            "want an object",
		"{}":                           "format: missing",
		`{"format": 7}`:                "want \"pitwise/model\" or \"pitwise/trail\"",
		`{"format": "pitwise/terms"}`:  "want \"pitwise/model\" or \"pitwise/trail\"",
		`{"format": "a\u001b[2Jb"}`:    "want \"pitwise/model\" or \"pitwise/trail\"",
		`{"format": "pitwise/model",`:  "-:1:28: the end",
		"{\"format\": \"pitwise/trail": "-:1:12: a string",
	} {
		t.Run(text, func(t *testing.T) {
			status, out, message := called(t, text, "check", "-")
			assert.Equal(t, 1, status)
			assert.Contains(t, out, want)
			assert.Empty(t, message)
			assert.NotContains(t, out, "\x1b")
		})
	}
}

func TestCheckGoesOnAfterAFileItCannotRead(t *testing.T) {
	status, out, message := called(t, "", "check", filepath.Join(t.TempDir(), "gone.json"), t.TempDir(), example)
	assert.Equal(t, 1, status)
	assert.Equal(t, 1, strings.Count(out, "\n"))
	assert.Contains(t, out, "nothing wrong")
	assert.Equal(t, 2, strings.Count(message, "\n"))
	assert.Contains(t, message, "gone.json")
}

func TestCheckFindsNothingWrongWithWhatIsRight(t *testing.T) {
	var args []string
	for _, e := range catalog.Models() {
		args = append(args, e.ID)
	}
	files, err := filepath.Glob(filepath.Join(vectors, "*.model.json"))
	require.NoError(t, err)
	for _, f := range files {
		args = append(args, f, strings.Replace(f, ".model.", ".trail.", 1))
	}
	require.Greater(t, len(args), 40)
	status, out, message := called(t, "", append([]string{"check"}, args...)...)
	assert.Zero(t, status)
	assert.Empty(t, message)
	assert.Equal(t, len(args), strings.Count(out, ": nothing wrong\n"), out)
}

// failing is an output that cannot be written to.
type failing struct{}

func (failing) Write([]byte) (int, error) { return 0, os.ErrClosed }

func TestAnOutputThatFailsIsStatus1(t *testing.T) {
	m := exampleModel(t)
	name := file(t, "unit.json", trailOf(t, m))
	for _, args := range [][]string{
		{"check", example}, {"models"}, {"models", "tray"}, {"schema", "model"},
		{"replay", "-model", example, name}, {"replay", "-json", "-model", example, name},
		{"propose", "-model", example, name}, {"propose", "-json", "-model", example, name},
	} {
		var message strings.Builder
		d := &desk{ctx: t.Context(), in: strings.NewReader(""), out: failing{}, err: &message}
		assert.Equal(t, 1, d.run(args), "%v", args)
		assert.Contains(t, message.String(), os.ErrClosed.Error())
	}
}

func TestDefectsHaveOneLineWhateverTheFileSays(t *testing.T) {
	text, err := json.Marshal(map[string]any{"format": "pitwise/model", "a\nb\x1b[31m\u202e": 1})
	require.NoError(t, err)
	_, out, _ := called(t, string(text), "check", "-")
	for _, line := range strings.Split(strings.TrimSuffix(out, "\n"), "\n") {
		assert.True(t, strings.HasPrefix(line, "-:1:"), line)
	}
	assert.NotContains(t, out, "\x1b")
	assert.NotContains(t, out, "\u202e")
}

func digest(text string) string {
	sum := sha256.Sum256([]byte(text))
	return hex.EncodeToString(sum[:])
}

func contextOf(t *testing.T) (context.Context, context.CancelFunc) {
	return context.WithCancel(t.Context())
}

func TestVerbsOnFilesCalledWronglyAreStatus2(t *testing.T) {
	for _, args := range [][]string{
		{"check"}, {"check", "-mend", example}, {"check", "-deep", "-units", "-1", example},
		{"replay"}, {"replay", "a", "b"}, {"replay", "-xml", "a"},
		{"propose"}, {"propose", "a", "b"}, {"propose", "-top", "-2", "a"}, {"propose", "-top", "many", "a"},
		{"models", "a", "b"}, {"models", "-json"},
	} {
		t.Run(strings.Join(args, " "), func(t *testing.T) {
			status, out, message := called(t, "", args...)
			assert.Equal(t, 2, status)
			assert.Empty(t, out)
			assert.Contains(t, message, "pitwise help "+args[0])
		})
	}
}

func TestVerbsOnFilesThatAreNotThereAreStatus1(t *testing.T) {
	gone := filepath.Join(t.TempDir(), "gone.json")
	for _, args := range [][]string{
		{"check", gone}, {"check", "-model", gone, example}, {"check", "-deep", "-exceptions", gone, example}, {"replay", gone}, {"propose", gone},
		{"simulate", "-model", gone}, {"simulate", "-model", example, "-terms", gone}, {"models", "gone"},
	} {
		t.Run(args[0], func(t *testing.T) {
			status, out, message := called(t, "", args...)
			assert.Equal(t, 1, status)
			assert.Empty(t, out)
			assert.Contains(t, message, "gone")
		})
	}
}

func TestAFileThatIsTooLargeIsRefusedBeforeItIsReadWhole(t *testing.T) {
	var message, out strings.Builder
	endless := &spring{}
	d := &desk{ctx: t.Context(), in: endless, out: &out, err: &message}
	assert.Equal(t, 1, d.run([]string{"check", "-"}))
	assert.Contains(t, out.String(), "want at most")
	assert.Less(t, endless.gave, trail.MaxBytes+1<<20)
}

// spring never runs dry.
type spring struct{ gave int }

func (s *spring) Read(p []byte) (int, error) {
	for i := range p {
		p[i] = ' '
	}
	s.gave += len(p)
	return len(p), nil
}

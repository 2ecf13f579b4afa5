package main

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/model"
)

// hostile is what a stranger may put into any text: colours and a title for the terminal,
// a bell, a carriage return, C1 controls, marks that turn the direction of writing, a
// byte-order mark, zero-width marks, ends of lines, and a made-up line of output.
const hostile = "\x1b[31mred\x1b]0;title\x07\r\u009b2J\u202egnorw\u202c\u2066\u2069\u200b\ufeff\u2028\u2029\x00\x7f\nfake: nothing wrong"

// spoil puts the hostile text into every free text of a file, and counts them.
func spoil(v any, n *int) any {
	free := map[string]bool{"title": true, "text": true, "why": true, "steps": true, "cite": true, "unit": true, "revision": true,
		"label": true, "notes": true, "reason": true}
	switch v := v.(type) {
	case map[string]any:
		for k, x := range v {
			switch s := x.(type) {
			case string:
				if free[k] {
					*n++
					v[k] = s + hostile
				}
			case []any:
				for i := range s {
					if one, ok := s[i].(string); ok && free[k] {
						*n++
						s[i] = one + hostile
					} else {
						s[i] = spoil(s[i], n)
					}
				}
			default:
				v[k] = spoil(x, n)
			}
		}
		return v
	case []any:
		for i := range v {
			v[i] = spoil(v[i], n)
		}
	}
	return v
}

func spoiled(t *testing.T, text string, n *int) string {
	t.Helper()
	var v any
	require.NoError(t, json.Unmarshal([]byte(text), &v))
	out, err := json.Marshal(spoil(v, n))
	require.NoError(t, err)
	return string(out)
}

// steering lists the signs in an output that steer a terminal.
func steering(s string) (found []rune) {
	for _, r := range s {
		if r != '\n' && (unicode.Is(unicode.Cc, r) || unicode.Is(unicode.Cf, r) || unicode.Is(unicode.Zl, r) || unicode.Is(unicode.Zp, r)) {
			found = append(found, r)
		}
	}
	return found
}

func TestSteadyTextReadsBackTheSame(t *testing.T) {
	want := map[string]string{"a": hostile + "\U000e0041\U0001d173 ü 漢 😀"}
	var b bytes.Buffer
	require.NoError(t, json.NewEncoder(steady{&b}).Encode(want))
	assert.Empty(t, steering(b.String()))
	assert.Contains(t, b.String(), "ü 漢 😀")
	var got map[string]string
	require.NoError(t, json.Unmarshal(b.Bytes(), &got))
	assert.Equal(t, want, got)
}

func TestAStrangersTextDoesNotSteerTheTerminal(t *testing.T) {
	text, err := os.ReadFile(example)
	require.NoError(t, err)
	n := 0
	bad := spoiled(t, string(text), &n)
	m, err := model.Load([]byte(bad))
	require.NoError(t, err)
	events := []string{
		`"kind": "result", "test": "first-boot", "outcome": "asks"`, `"kind": "setup", "setup": "open"`, `"kind": "result", "test": "rail", "reading": 4.74`,
		`"kind": "skip", "test": "rail", "reason": "none"`, `"kind": "repair", "repair": "clean-lens"`, `"kind": "note", "text": "a"`,
		`"kind": "void", "of": 3, "reason": "slip"`, `"kind": "end", "as": "signed-off", "causes": ["lens.dirty"]`,
	}
	tr := spoiled(t, trailOf(t, exampleModel(t), events...), &n)
	var doc map[string]any
	require.NoError(t, json.Unmarshal([]byte(tr), &doc))
	doc["model"] = map[string]any{"id": m.ID, "revision": m.Revision, "sha256": m.SHA256}
	whole, err := json.Marshal(doc)
	require.NoError(t, err)
	doc["model"] = map[string]any{"id": m.ID, "revision": m.Revision, "sha256": strings.Repeat("0", 64)}
	other, err := json.Marshal(doc)
	require.NoError(t, err)
	assert.Greater(t, n, 30, "hostile fields")
	t.Logf("%d hostile fields", n)

	dir := t.TempDir()
	file := func(name, text string) string {
		name = filepath.Join(dir, name)
		require.NoError(t, os.WriteFile(name, []byte(text), 0o644))
		return name
	}
	mine, unit, elsewhere := file("model.json", bad), file("unit.json", string(whole)), file("other.json", string(other))
	strange, err := json.Marshal(map[string]any{"format": "pitwise/" + hostile, hostile: hostile})
	require.NoError(t, err)
	wrong := strings.Replace(strings.Replace(bad, `"most_faults":2`, `"most_faults":99`, 1), `"minutes"`, `"minutes\u001b[31m\u202e"`, 2)
	require.NotEqual(t, bad, wrong)
	for _, c := range []struct {
		status int
		args   []string
	}{
		{0, []string{"check", mine, unit}},
		{1, []string{"check", file("strange.json", string(strange))}},
		{1, []string{"check", file("wrong.json", wrong)}},
		{1, []string{"check", file("raw.json", hostile)}},
		{0, []string{"check", "-deep", "-units", "0", mine, unit}},
		{1, []string{"check", "-deep", "-exceptions", file("exceptions.json", string(strange)), mine}},
		{0, []string{"replay", "-model", mine, unit}},
		{0, []string{"replay", "-json", "-model", mine, unit}},
		{1, []string{"replay", "-model", mine, elsewhere}},
		{0, []string{"replay", "-any-revision", "-model", mine, elsewhere}},
		{0, []string{"replay", "-any-revision", "-json", "-model", mine, elsewhere}},
		{0, []string{"propose", "-steps", "-top", "0", "-model", mine, unit}},
		{0, []string{"propose", "-json", "-model", mine, unit}},
		{1, []string{"propose", "-model", mine, elsewhere}},
		{1, []string{"replay", file("wrong-trail.json", strings.Replace(string(whole), `"label"`, `"label\u001b[31m\u202e"`, 1))}},
		{0, []string{"simulate", "-units", "3", "-model", mine}},
		{0, []string{"simulate", "-json", "-units", "3", "-model", mine}},
		{1, []string{"simulate", "-terms", file("terms.json", string(strange)), "-units", "3", "-model", mine}},
	} {
		name := strings.ReplaceAll(strings.Join(c.args, " "), dir+string(filepath.Separator), "")
		t.Run(name, func(t *testing.T) {
			status, out, message := called(t, "", c.args...)
			assert.Equal(t, c.status, status, "%s%q", out, message)
			assert.NotEmpty(t, out+message)
			assert.Empty(t, steering(out), "output %q", out)
			assert.Empty(t, steering(message), "messages %q", message)
			for line := range strings.Lines(out + message) {
				assert.False(t, strings.HasPrefix(line, "fake"), "a line of a stranger's making")
			}
		})
	}
}

package site_test

import (
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"path"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/net/html"

	"pitwise/web/site"
)

// parts stand for the real program, which the browser tests use.
func parts(prefix string) site.Parts {
	return site.Parts{Program: []byte("\x00asm program"), Exec: []byte("// runtime\n"), Prefix: prefix}
}

func assemble(t *testing.T, p site.Parts) *site.Site {
	t.Helper()
	s, err := site.Assemble(p)
	require.NoError(t, err)
	return s
}

func TestVersionFollowsTheContent(t *testing.T) {
	a := assemble(t, parts("/"))
	assert.Regexp(t, `^[0-9a-f]{16}$`, a.Version)
	assert.Equal(t, a, assemble(t, parts("/")), "the same parts at another time")

	other := parts("/")
	other.Program = []byte("\x00asm program.")
	assert.NotEqual(t, a.Version, assemble(t, other).Version, "another program")

	other = parts("/")
	other.Exec = []byte("// runtime.\n")
	assert.NotEqual(t, a.Version, assemble(t, other).Version, "another runtime")

	assert.NotEqual(t, a.Version, assemble(t, parts("/tools/")).Version, "another prefix")

	squeezed := parts("/")
	squeezed.Quality = 1
	assert.Equal(t, a.Version, assemble(t, squeezed).Version, "compression changes no content")
}

// element is one start tag of the index.
type element struct {
	tag   string
	attrs map[string]string
	text  string
}

func elements(t *testing.T, s *site.Site, file string) []element {
	t.Helper()
	root, err := html.Parse(strings.NewReader(string(s.Find(file).Body)))
	require.NoError(t, err)
	var all []element
	for n := range root.Descendants() {
		if n.Type != html.ElementNode {
			continue
		}
		e := element{tag: n.Data, attrs: map[string]string{}}
		for _, a := range n.Attr {
			e.attrs[a.Key] = a.Val
		}
		if n.FirstChild != nil && n.FirstChild.Type == html.TextNode {
			e.text = n.FirstChild.Data
		}
		all = append(all, e)
	}
	return all
}

func one(t *testing.T, all []element, tag, attr, value string) element {
	t.Helper()
	var found []element
	for _, e := range all {
		if e.tag == tag && (attr == "" || e.attrs[attr] == value) {
			found = append(found, e)
		}
	}
	require.Len(t, found, 1, "<%s %s=%q>", tag, attr, value)
	return found[0]
}

func TestIndex(t *testing.T) {
	for _, prefix := range []string{"/", "/tools/", "/a/b-c/"} {
		t.Run("under "+prefix, func(t *testing.T) {
			s := assemble(t, parts(prefix))
			all := elements(t, s, "index.html")

			t.Run("every address leads to a file of the site", func(t *testing.T) {
				seen := 0
				for _, e := range all {
					for _, name := range []string{"src", "href"} {
						address, ok := e.attrs[name]
						if !ok {
							continue
						}
						seen++
						require.True(t, strings.HasPrefix(address, prefix), "<%s %s=%q>", e.tag, name, address)
						if e.tag == "a" {
							continue // a screen of the page
						}
						assert.NotNil(t, s.Find(strings.TrimPrefix(address, prefix)), "<%s %s=%q>", e.tag, name, address)
					}
				}
				assert.GreaterOrEqual(t, seen, 8)
			})
			t.Run("the viewport lets a person zoom", func(t *testing.T) {
				v := one(t, all, "meta", "name", "viewport").attrs["content"]
				assert.Equal(t, "width=device-width, initial-scale=1, viewport-fit=cover", v)
			})
			t.Run("the language is named", func(t *testing.T) {
				assert.Equal(t, "en", one(t, all, "html", "", "").attrs["lang"])
			})
			t.Run("icons for tab and home screen are our own", func(t *testing.T) {
				one(t, all, "link", "type", "image/svg+xml")
				one(t, all, "link", "type", "image/png")
				one(t, all, "link", "rel", "apple-touch-icon")
			})
			t.Run("the empty bench is there in every language", func(t *testing.T) {
				for _, lang := range []string{"de", "en", "es", "ja"} {
					assert.Equal(t, "first-bench", one(t, all, "div", "lang", lang).attrs["class"])
				}
			})
			t.Run("the policy is in the page for hosts that send no headers", func(t *testing.T) {
				assert.Equal(t, site.Policy(false), one(t, all, "meta", "http-equiv", "Content-Security-Policy").attrs["content"])
				assert.Equal(t, "meta", all[2].tag, "charset first")
				assert.Equal(t, "Content-Security-Policy", all[3].attrs["http-equiv"], "the policy stands before all it governs")
			})
			t.Run("nothing in it needs what the policy forbids", func(t *testing.T) {
				for _, e := range all {
					if e.tag == "script" || e.tag == "style" {
						assert.Empty(t, strings.TrimSpace(e.text), "<%s> with text", e.tag)
					}
					for name := range e.attrs {
						assert.False(t, name == "style" || strings.HasPrefix(name, "on"), "<%s %s>", e.tag, name)
					}
				}
			})
			t.Run("the loader knows prefix, files, version and size", func(t *testing.T) {
				e := one(t, all, "script", "src", prefix+"v/"+s.Version+"/start.js")
				assert.Equal(t, prefix, e.attrs["data-prefix"])
				assert.Equal(t, prefix+"v/"+s.Version+"/", e.attrs["data-assets"])
				assert.Equal(t, s.Version, e.attrs["data-version"])
				assert.Equal(t, "12", e.attrs["data-bytes"])
			})
			assert.Equal(t, s.Find("index.html").Body, s.Find("404.html").Body)
		})
	}
}

func TestPolicyIsStrict(t *testing.T) {
	for _, header := range []bool{false, true} {
		p := site.Policy(header)
		for _, word := range []string{"'unsafe-inline'", "'unsafe-eval'", "http:", "https:", "*", "data:"} {
			assert.NotContains(t, strings.Fields(p), word)
			assert.NotContains(t, strings.Fields(p), word+";")
		}
		assert.Contains(t, p, "default-src 'none'")
		assert.Equal(t, header, strings.Contains(p, "frame-ancestors 'none'"))
	}
}

func TestManifestIsRelative(t *testing.T) {
	s := assemble(t, parts("/tools/"))
	var m struct {
		Name, ID string
		StartURL string `json:"start_url"`
		Scope    string
		Icons    []struct{ Src, Type, Sizes, Purpose string }
	}
	require.NoError(t, json.Unmarshal(s.Find("manifest.webmanifest").Body, &m))
	assert.Equal(t, "Pitwise", m.Name)
	for _, address := range []string{m.ID, m.StartURL, m.Scope} {
		assert.Equal(t, "./", address)
	}
	purposes := map[string]int{}
	for _, icon := range m.Icons {
		assert.NotNil(t, s.Find(icon.Src), icon.Src)
		purposes[icon.Purpose]++
	}
	assert.Equal(t, map[string]int{"any": 3, "maskable": 1}, purposes)
}

var workerList = regexp.MustCompile(`(?s)const files = (\[.*?\]);`)

func TestWorkerListsEveryFileWithItsDigest(t *testing.T) {
	s := assemble(t, parts("/tools/"))
	worker := string(s.Find("worker.js").Body)
	assert.Contains(t, worker, `const version = "`+s.Version+`";`)

	m := workerList.FindStringSubmatch(worker)
	require.NotNil(t, m)
	var list []struct{ Path, Integrity string }
	require.NoError(t, json.Unmarshal([]byte(m[1]), &list))
	digests := map[string]string{}
	for _, e := range list {
		digests[e.Path] = e.Integrity
	}
	for _, f := range s.Files {
		name := f.Path
		switch name {
		case "worker.js", "404.html":
			assert.NotContains(t, digests, name)
			continue
		case "index.html":
			name = "./"
		}
		sum := sha256.Sum256(f.Body)
		assert.Equal(t, "sha256-"+base64.StdEncoding.EncodeToString(sum[:]), digests[name], name)
		delete(digests, name)
	}
	assert.Empty(t, digests, "listed, but not of the site")
}

func TestWorkerWaitsForTheYes(t *testing.T) {
	worker := string(assemble(t, parts("/")).Find("worker.js").Body)
	part := func(from, to string) string {
		_, rest, found := strings.Cut(worker, from)
		require.True(t, found, from)
		body, _, found := strings.Cut(rest, to)
		require.True(t, found, from)
		return body
	}
	assert.Equal(t, 1, strings.Count(worker, "skipWaiting"), "in one place")
	assert.Contains(t, part("async function takeOver() {", "\n}"), "skipWaiting")
	assert.Equal(t, 2, strings.Count(worker, "takeOver"), "which is called from one place")
	assert.Contains(t, part(`addEventListener("message"`, "\n});"), "takeOver()", "where the page asks for it")
}

var address = regexp.MustCompile(`(?i)\b(https?|wss?):\\?/\\?/[^\s"'<>)]+`)

func TestNoFileNamesAnotherHost(t *testing.T) {
	s := assemble(t, parts("/"))
	texts := 0
	for _, f := range s.Files {
		switch path.Ext(f.Path) {
		case ".png", ".wasm", ".woff2":
			continue
		}
		texts++
		for _, found := range address.FindAllString(string(f.Body), -1) {
			// The names of XML vocabularies are never asked for.
			assert.Contains(t, []string{"http://www.w3.org/2000/svg", "http://www.w3.org/1999/xlink"}, found, f.Path)
		}
	}
	assert.Greater(t, texts, 5)
}

func TestCompressedFormsAreSmaller(t *testing.T) {
	p := parts("/")
	p.Program = []byte(strings.Repeat("\x00asm program ", 1000))
	p.Quality = 5
	s := assemble(t, p)
	program := s.Program()
	require.NotNil(t, program)
	assert.Less(t, len(program.Brotli), len(program.Body)/10)
	assert.Less(t, len(program.Gzip), len(program.Body)/10)
	for _, f := range s.Files {
		if path.Ext(f.Path) == ".png" {
			assert.Nil(t, f.Brotli, f.Path)
		}
	}
}

func TestCheckPrefix(t *testing.T) {
	for _, row := range []struct {
		name, prefix string
		ok           bool
	}{
		{"the root", "/", true},
		{"one folder", "/tools/", true},
		{"folders in folders", "/a/b.c/~d/", true},
		{"no slash first", "tools/", false},
		{"no slash last", "/tools", false},
		{"empty", "", false},
		{"an empty part", "/a//b/", false},
		{"a host", "//evil.example/", false},
		{"the folder above", "/a/../b/", false},
		{"a quote", `/"/`, false},
		{"a space", "/a b/", false},
		{"a question mark", "/a?/", false},
	} {
		t.Run(row.name, func(t *testing.T) {
			err := site.CheckPrefix(row.prefix)
			if row.ok {
				require.NoError(t, err)
			} else {
				require.ErrorIs(t, err, site.ErrPrefix)
			}
		})
	}
}

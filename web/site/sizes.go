package site

import (
	"cmp"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
)

// Share is how many bytes of a program one package makes, before compression.
type Share struct {
	Package string
	Bytes   int
}

// Sizes compiles a program with its names and returns the bytes of code by package, the
// largest first, and those of data, which hold texts, tables and what is told at run time
// of types and functions.
func (t Tree) Sizes(ctx context.Context, pkg string) (code []Share, data int, err error) {
	dir, err := os.MkdirTemp("", "pitwise-sizes-*")
	if err != nil {
		return nil, 0, fmt.Errorf("site: %w", err)
	}
	defer os.RemoveAll(dir)
	lean, err := t.lean(ctx, dir)
	if err != nil {
		return nil, 0, err
	}
	out := filepath.Join(dir, "page.wasm")
	flags := append(append([]string{"build"}, lean...), flagsOf(pkg)...)
	if _, err := t.goCommand(ctx, append(flags, "-buildvcs=false", "-ldflags=-buildid=", "-o", out, pkg)...); err != nil {
		return nil, 0, err
	}
	program, err := os.ReadFile(out)
	if err != nil {
		return nil, 0, fmt.Errorf("site: %w", err)
	}
	return shares(program)
}

var errWasm = errors.New("site: this is no WebAssembly program with names")

// module reads a WebAssembly program from front to back. What is cut short sets bad.
//
// Source: WebAssembly Core Specification, binary format, and its name section.
type module struct {
	rest []byte
	bad  bool
}

func (m *module) number() int {
	v, n := binary.Uvarint(m.rest)
	if n <= 0 {
		m.bad, m.rest = true, nil
		return 0
	}
	m.rest = m.rest[n:]
	return int(v)
}

func (m *module) bytes(n int) []byte {
	if n < 0 || n > len(m.rest) {
		m.bad, m.rest = true, nil
		return nil
	}
	b := m.rest[:n]
	m.rest = m.rest[n:]
	return b
}

func (m *module) text() string { return string(m.bytes(m.number())) }

// section is the next section: its kind and what it holds.
func (m *module) section() (kind byte, body module) {
	if b := m.bytes(1); len(b) == 1 {
		kind = b[0]
	}
	return kind, module{rest: m.bytes(m.number())}
}

const (
	sectionCustom = 0
	sectionImport = 2
	sectionCode   = 10
	sectionData   = 11
)

func shares(program []byte) (code []Share, data int, err error) {
	m := module{rest: program}
	if string(m.bytes(4)) != "\x00asm" {
		return nil, 0, errWasm
	}
	m.bytes(4)
	imported, sizes, names := 0, []int(nil), map[int]string{}
	for len(m.rest) > 0 {
		kind, s := m.section()
		switch kind {
		case sectionImport:
			imported = importedFunctions(&s)
		case sectionCode:
			for range s.number() {
				n := s.number()
				s.bytes(n)
				sizes = append(sizes, n)
			}
		case sectionData:
			data = len(s.rest)
		case sectionCustom:
			if s.text() == "name" {
				names = functionNames(&s)
			}
		}
		if m.bad = m.bad || s.bad; m.bad {
			return nil, 0, errWasm
		}
	}
	if len(names) == 0 {
		return nil, 0, errWasm
	}
	by := map[string]int{}
	for i, n := range sizes {
		by[packageOf(names[imported+i])] += n
	}
	for p, n := range by {
		code = append(code, Share{p, n})
	}
	slices.SortFunc(code, func(a, b Share) int { return cmp.Or(b.Bytes-a.Bytes, strings.Compare(a.Package, b.Package)) })
	return code, data, nil
}

// importedFunctions counts the functions among the imports; they have the first numbers.
// Go's programs import nothing else.
func importedFunctions(s *module) (count int) {
	for range s.number() {
		s.text()
		s.text()
		if b := s.bytes(1); len(b) == 1 && b[0] != 0 {
			s.bad = true
		}
		s.number()
		count++
	}
	return count
}

// functionNames reads the second part of a name section.
func functionNames(s *module) map[int]string {
	const functions = 1
	names := map[int]string{}
	for len(s.rest) > 0 && !s.bad {
		kind, part := s.section()
		if kind != functions {
			continue
		}
		for range part.number() {
			i := part.number()
			names[i] = part.text()
		}
		s.bad = s.bad || part.bad
	}
	return names
}

// made are the marks before the name of a type for which the linker makes a function.
var made = regexp.MustCompile(`^type_\.(eq|hash)\.(_\d+_|struct___)?`)

// packageOf is the package in the linker's name of a function. What a name section may not
// hold, slashes among it, the linker writes as "_".
func packageOf(name string) string {
	name = made.ReplaceAllString(name, "")
	for begins, whole := range map[string]string{
		"github.com_maxence_charriere_go_app": "go-app", "github.com_google_uuid": "github.com/google/uuid",
	} {
		if strings.HasPrefix(name, begins) {
			return whole
		}
	}
	p, _, _ := strings.Cut(name, ".")
	return strings.ReplaceAll(p, "_", "/")
}

//go:build release

package main

import (
	"bytes"
	_ "embed"
	"fmt"
	"io"

	"github.com/andybalholm/brotli"

	"pitwise/app/words"
	"pitwise/web/site"
)

// "go run ./cmd/dev release" lays these two beside this file for the compiler: the page's
// program and the script of the Go release that runs it.
var (
	//go:embed page.wasm.br
	pageProgram []byte
	//go:embed wasm_exec.js
	pageExec []byte
)

func init() {
	released = func(prefix string, quality int) (*site.Site, error) {
		program, err := io.ReadAll(brotli.NewReader(bytes.NewReader(pageProgram)))
		if err != nil {
			return nil, fmt.Errorf("the page inside this program is damaged: %w", err)
		}
		texts, err := words.Files()
		if err != nil {
			return nil, err
		}
		return site.Assemble(site.Parts{Program: program, Exec: pageExec, Words: texts, Prefix: prefix, Quality: quality})
	}
}

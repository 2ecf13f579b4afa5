// Command words writes, into a folder that is there, the files of the languages that the page's
// program does not have in it and fetches. It is run when the page is built.
package main

import (
	"fmt"
	"os"
	"path/filepath"

	"pitwise/app/words"
)

func main() {
	if err := write(os.Args[1:]); err != nil {
		fmt.Fprintln(os.Stderr, "words:", err)
		os.Exit(1)
	}
}

func write(args []string) error {
	if len(args) != 1 {
		return fmt.Errorf("want one folder, got %q", args)
	}
	files, err := words.Files()
	if err != nil {
		return err
	}
	for name, text := range files {
		if err := os.WriteFile(filepath.Join(args[0], name), text, 0o644); err != nil {
			return err
		}
	}
	return nil
}

package browser

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"
)

// Peak returns the most memory, bytes, that a process of Chromium which draws pages has held so far, threads of its pages
// and all; 0 for other engines, and where there is no /proc.
func (b *Browser) Peak() int {
	c, ok := b.program.(*chromium)
	if !ok {
		return 0
	}
	most := 0
	all, _ := filepath.Glob("/proc/[0-9]*")
	for _, dir := range all {
		line, _ := os.ReadFile(filepath.Join(dir, "cmdline"))
		stat, _ := os.ReadFile(filepath.Join(dir, "stat"))
		_, after, _ := bytes.Cut(stat, []byte(") ")) // behind the program's name, which may be anything
		var state string
		var parent, group int
		if fmt.Sscan(string(after), &state, &parent, &group); group != c.group || !bytes.Contains(line, []byte("--type=renderer")) {
			continue
		}
		status, _ := os.ReadFile(filepath.Join(dir, "status"))
		for row := range strings.Lines(string(status)) {
			var kB int
			if n, _ := fmt.Sscanf(row, "VmHWM: %d kB", &kB); n == 1 {
				most = max(most, kB<<10)
			}
		}
	}
	return most
}

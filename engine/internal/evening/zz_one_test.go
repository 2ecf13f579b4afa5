//go:build one

package evening_test

import (
	"os"
	"strings"
	"testing"

	"pitwise/engine/internal/evening"
)

func TestOne(t *testing.T) {
	for _, w := range strings.Split(os.Getenv("ONE"), ";") {
		x := strings.Split(w, "|")
		fam := x[0][strings.LastIndex(x[0], "/")+1:]
		t.Run(x[0]+"_"+x[2]+"_"+x[1], func(t *testing.T) {
			off, odd := playFile(t, fam, x[0], x[2], func(_ int, e *evening.Evening) bool { return strings.Contains(e.Title, x[1]) })
			t.Log(off, odd)
		})
	}
}

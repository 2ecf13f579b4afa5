package browser

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
)

// ErrNoChromium says that there is no browser to test with.
var ErrNoChromium = errors.New("browser: no Chromium here (set CHROMIUM to its path, or install one; on Debian: apt-get install chromium-headless-shell)")

// shell is Chromium without the parts around the page, which nobody sees in a test and which take their time.
const shell = "chromium-headless-shell"

var names = []string{shell, "chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome"}

// Find returns the path of a Chromium: that of the variable CHROMIUM, or the
// first of the usual names on the PATH, the shell before any.
func Find() (string, error) {
	if path := os.Getenv("CHROMIUM"); path != "" {
		if _, err := exec.LookPath(path); err != nil {
			return "", fmt.Errorf("browser: CHROMIUM: %w", err)
		}
		return path, nil
	}
	for _, name := range names {
		if path, err := exec.LookPath(name); err == nil {
			return path, nil
		}
	}
	for _, path := range []string{
		"/Applications/Chromium.app/Contents/MacOS/Chromium",
		"/Applications/Google Chrome.app/Contents/MacOS/Google Chrome",
	} {
		if _, err := os.Stat(path); err == nil {
			return path, nil
		}
	}
	return "", ErrNoChromium
}

// whole reports whether the Chromium that Find returns is not the shell, though nobody asked for another.
func whole() bool {
	path, err := Find()
	return err == nil && os.Getenv("CHROMIUM") == "" && filepath.Base(path) != shell
}

// ErrNoDebian says that packages are installed only on Debian, and only as root.
var ErrNoDebian = errors.New("browser: packages are installed by themselves only on Debian and as root")

// Install installs packages of Debian, on a Debian machine and as root. Anywhere
// else it returns ErrNoDebian.
func Install(ctx context.Context, progress io.Writer, packages ...string) error {
	release, err := os.ReadFile("/etc/os-release")
	if err != nil || os.Geteuid() != 0 || !debian(string(release)) {
		return fmt.Errorf("%w: apt-get install %s", ErrNoDebian, strings.Join(packages, " "))
	}
	for _, args := range [][]string{
		{"update", "-q"},
		append([]string{"install", "-q", "-y", "--no-install-recommends"}, packages...),
	} {
		cmd := exec.CommandContext(ctx, "apt-get", args...)
		cmd.Env = append(os.Environ(), "DEBIAN_FRONTEND=noninteractive")
		cmd.Stdout, cmd.Stderr = progress, progress
		if err := cmd.Run(); err != nil {
			return fmt.Errorf("browser: apt-get %s: %w", args[0], err)
		}
	}
	return nil
}

func debian(release string) bool {
	for line := range strings.Lines(release) {
		if strings.TrimSpace(line) == "ID=debian" {
			return true
		}
	}
	return false
}

package browser

import (
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"strings"
)

// ErrNoChromium says that there is no browser to test with.
var ErrNoChromium = errors.New("browser: no Chromium here (set CHROMIUM to its path, or install one; on Debian: apt-get install chromium)")

var names = []string{"chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome"}

// Find returns the path of a Chromium: that of the variable CHROMIUM, or the
// first of the usual names on the PATH.
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

// Install installs Debian's Chromium, on a Debian machine and as root. Anywhere
// else it returns ErrNoChromium.
func Install(progress io.Writer) error {
	release, err := os.ReadFile("/etc/os-release")
	if err != nil || os.Geteuid() != 0 || !debian(string(release)) {
		return ErrNoChromium
	}
	for _, args := range [][]string{
		{"update", "-q"},
		{"install", "-q", "-y", "--no-install-recommends", "chromium"},
	} {
		cmd := exec.Command("apt-get", args...)
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

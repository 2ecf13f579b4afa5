package browser

import (
	"io"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestFind(t *testing.T) {
	t.Run("the variable CHROMIUM comes first", func(t *testing.T) {
		path := filepath.Join(t.TempDir(), "mine")
		require.NoError(t, os.WriteFile(path, []byte("#!/bin/sh\n"), 0o755))
		t.Setenv("CHROMIUM", path)
		got, err := Find()
		require.NoError(t, err)
		assert.Equal(t, path, got)
	})
	t.Run("a wrong CHROMIUM is an error and not passed over", func(t *testing.T) {
		t.Setenv("CHROMIUM", filepath.Join(t.TempDir(), "missing"))
		_, err := Find()
		require.Error(t, err)
	})
	t.Run("the shell comes before a whole one, which does where there is no shell", func(t *testing.T) {
		bin := t.TempDir()
		t.Setenv("CHROMIUM", "")
		t.Setenv("PATH", bin)
		for _, name := range []string{"chromium", shell} {
			require.NoError(t, os.WriteFile(filepath.Join(bin, name), []byte("#!/bin/sh\n"), 0o755))
			got, err := Find()
			require.NoError(t, err)
			assert.Equal(t, filepath.Join(bin, name), got)
			assert.Equal(t, name != shell, whole())
		}
		t.Setenv("CHROMIUM", filepath.Join(bin, "chromium"))
		assert.False(t, whole(), "who names one means it")
	})
	t.Run("where there is none, the error says what to install", func(t *testing.T) {
		t.Setenv("CHROMIUM", "")
		t.Setenv("PATH", t.TempDir())
		_, err := Find()
		require.ErrorIs(t, err, ErrNoChromium)
		assert.Contains(t, err.Error(), "apt-get install chromium")
	})
}

func TestDebianIsKnownByItsRelease(t *testing.T) {
	// Source: os-release(5), the field ID.
	assert.True(t, debian("PRETTY_NAME=\"x\"\nID=debian\n"))
	assert.False(t, debian("ID=other\nID_LIKE=debian\n"))
	assert.False(t, debian(""))
}

func TestInstallAsksDebian(t *testing.T) {
	bin := t.TempDir()
	asked := filepath.Join(bin, "asked")
	// Stands in for apt-get: notes what it was asked, and "installs".
	script := "#!/bin/sh\necho \"$@\" >> " + asked + "\nif [ \"$1\" = install ]; then : > " + bin + "/chromium; /bin/chmod +x " + bin + "/chromium; fi\n"
	require.NoError(t, os.WriteFile(filepath.Join(bin, "apt-get"), []byte(script), 0o755))
	t.Setenv("PATH", bin)
	t.Setenv("CHROMIUM", "")
	err := Install(t.Context(), io.Discard, "chromium")
	release, _ := os.ReadFile("/etc/os-release")
	if os.Geteuid() != 0 || !debian(string(release)) {
		require.ErrorIs(t, err, ErrNoDebian, "only on Debian and as root")
		assert.NoFileExists(t, asked)
		return
	}
	require.NoError(t, err)
	text, err := os.ReadFile(asked)
	require.NoError(t, err)
	assert.Equal(t, "update -q\ninstall -q -y --no-install-recommends chromium\n", string(text))
	found, err := Find()
	require.NoError(t, err)
	assert.Equal(t, filepath.Join(bin, "chromium"), found)
}

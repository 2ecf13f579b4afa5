package main

import (
	"crypto/tls"
	"crypto/x509"
	"image"
	"image/color"
	"io"
	"net/http"
	"net/netip"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// seen reads a QR code drawn for a terminal as a camera would see it: white where it is light.
func seen(t *testing.T, drawn string) string {
	t.Helper()
	const scale = 6
	var rows [][]rune
	for _, line := range strings.Split(strings.TrimRight(drawn, "\n"), "\n") {
		rows = append(rows, []rune(line))
	}
	img := image.NewGray(image.Rect(0, 0, scale*len(rows[0]), 2*scale*len(rows)))
	for y := range img.Rect.Dy() {
		for x := range img.Rect.Dx() {
			letter := rows[y/(2*scale)][x/scale]
			upper := y/scale%2 == 0
			if letter == '█' || upper && letter == '▀' || !upper && letter == '▄' {
				img.SetGray(x, y, color.Gray{Y: 255})
			}
		}
	}
	bits, err := gozxing.NewBinaryBitmapFromImage(img)
	require.NoError(t, err)
	read, err := qrcode.NewQRCodeReader().Decode(bits, nil)
	require.NoError(t, err)
	return read.GetText()
}

// Source: gozxing 0.1.1, a reader that shares no code with the one that draws.
func TestTheDrawnCodeIsTheAddress(t *testing.T) {
	for _, address := range []string{"http://192.168.178.23:8787/", "https://[fd12:3456:789a::1]:8787/", "http://10.0.0.1:1/"} {
		drawn, err := drawQR(address)
		require.NoError(t, err)
		assert.Equal(t, address, seen(t, drawn))
	}
}

func TestAnAuthorityVouchesForPrivateNetworksAlone(t *testing.T) {
	now := time.Now()
	dir := filepath.Join(t.TempDir(), "pitwise")
	a, err := authorityIn(dir, now)
	require.NoError(t, err)
	again, err := authorityIn(dir, now)
	require.NoError(t, err)
	assert.Equal(t, a.certificate.Raw, again.certificate.Raw, "it is made once")
	info, err := os.Stat(filepath.Join(dir, "authority.key"))
	require.NoError(t, err)
	assert.Zero(t, info.Mode().Perm()&0o077, "nobody else reads the key")

	roots := x509.NewCertPool()
	roots.AddCert(a.certificate)
	for _, each := range []struct {
		address, name string
		good          bool
	}{
		{"192.168.1.20", "", true}, {"10.1.2.3", "", true}, {"fd00::20", "", true}, {"192.168.1.20", "bench.local", true},
		{"10.1.2.3", "example.com", false},
	} {
		pair, err := a.forHosts([]netip.Addr{netip.MustParseAddr(each.address)}, names(each.name), now)
		require.NoError(t, err)
		leaf, err := x509.ParseCertificate(pair.Certificate[0])
		require.NoError(t, err)
		host := each.name
		if host == "" {
			host = "[" + each.address + "]"
		}
		_, err = leaf.Verify(x509.VerifyOptions{Roots: roots, DNSName: host, CurrentTime: now})
		assert.Equal(t, each.good, err == nil, "%s %s: %v", each.address, each.name, err)
	}
	_, err = a.forHosts([]netip.Addr{netip.MustParseAddr("8.8.8.8"), netip.MustParseAddr("2001:db8::1")}, nil, now)
	assert.ErrorIs(t, err, errNotPrivate)
	_, err = authorityIn(dir, now.AddDate(6, 0, 0))
	assert.ErrorContains(t, err, "no longer valid")
}

func names(name string) []string {
	if name == "" {
		return nil
	}
	return []string{name}
}

func TestThePhoneInTheRoomReachesThePage(t *testing.T) {
	all, err := roomAddresses()
	require.NoError(t, err)
	if len(all) == 0 {
		all = nil
		status, _, said := called(t, "", "serve", "-lan", "-addr", "127.0.0.1:0", "-page", page(t))
		assert.Equal(t, 1, status)
		assert.Contains(t, said, "in no network")
		return
	}
	dir := page(t)
	t.Run("over HTTP it says what does not work", func(t *testing.T) {
		out, messages, end := serving(t, "serve", "-lan", "-addr", "127.0.0.1:0", "-page", dir)
		address := strings.Fields(out)[0]
		assert.True(t, strings.HasPrefix(address, "http://"+all[0].String()) || all[0].Is6(), address)
		require.Eventually(t, func() bool { return strings.Contains(messages.String(), "\n"+address+"\n") }, 10*time.Second, 5*time.Millisecond)
		assert.Contains(t, messages.String(), "does not work")
		answer, err := http.Get(address)
		require.NoError(t, err)
		answer.Body.Close()
		assert.Equal(t, http.StatusOK, answer.StatusCode)
		assert.Zero(t, end())
	})
	t.Run("over HTTPS the authority is what the phone needs", func(t *testing.T) {
		t.Setenv("XDG_CONFIG_HOME", t.TempDir())
		out, messages, end := serving(t, "serve", "-lan", "-authority", "-name", "bench.local", "-addr", "127.0.0.1:0", "-page", dir)
		address := strings.Fields(out)[0]
		require.True(t, strings.HasPrefix(address, "https://"), address)
		var first []string
		require.Eventually(t, func() bool {
			first = regexp.MustCompile(`opens (http://\S+/) to learn`).FindStringSubmatch(messages.String())
			return first != nil
		}, 10*time.Second, 5*time.Millisecond)
		hello, err := http.Get(first[1])
		require.NoError(t, err)
		defer hello.Body.Close()
		text, err := io.ReadAll(hello.Body)
		require.NoError(t, err)
		assert.Contains(t, string(text), address)
		answer, err := http.Get(first[1] + "pitwise-authority.crt")
		require.NoError(t, err)
		defer answer.Body.Close()
		pem, err := io.ReadAll(answer.Body)
		require.NoError(t, err)
		roots := x509.NewCertPool()
		require.True(t, roots.AppendCertsFromPEM(pem))
		client := &http.Client{Transport: &http.Transport{TLSClientConfig: &tls.Config{RootCAs: roots, ServerName: "bench.local"}}}
		secured, err := client.Get(address)
		require.NoError(t, err)
		secured.Body.Close()
		assert.Equal(t, http.StatusOK, secured.StatusCode)
		_, err = http.Get(address)
		assert.Error(t, err, "who was not introduced does not trust it")
		assert.Zero(t, end())
	})
}

func TestTheFlagsOfARoomGoTogether(t *testing.T) {
	for _, args := range [][]string{{"serve", "-cert", "a"}, {"serve", "-authority"}, {"serve", "-lan", "-authority", "-cert", "a", "-key", "b"}} {
		status, out, said := called(t, "", args...)
		assert.Equal(t, 2, status, args)
		assert.Empty(t, out)
		assert.NotEmpty(t, said)
	}
}

package main

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"errors"
	"fmt"
	"io/fs"
	"math/big"
	"net"
	"net/http"
	"net/netip"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"rsc.io/qr"
)

// roomAddresses returns the addresses by which others in the room reach this machine: private
// ones first, without loopback and link-local.
func roomAddresses() ([]netip.Addr, error) {
	all, err := net.InterfaceAddrs()
	if err != nil {
		return nil, err
	}
	var out []netip.Addr
	for _, each := range all {
		if p, err := netip.ParsePrefix(each.String()); err == nil {
			if a := p.Addr().Unmap(); !a.IsLoopback() && !a.IsLinkLocalUnicast() {
				out = append(out, a)
			}
		}
	}
	rank := func(a netip.Addr) int {
		switch {
		case a.Is4() && a.IsPrivate():
			return 0
		case a.Is4():
			return 1
		case a.IsPrivate():
			return 2
		}
		return 3
	}
	slices.SortStableFunc(out, func(a, b netip.Addr) int { return rank(a) - rank(b) })
	return out, nil
}

// drawQR draws a text as a QR code for a terminal: two rows of modules in a line of letters, light
// modules drawn, with the quiet zone of four. Source: ISO/IEC 18004, the quiet zone (from memory).
func drawQR(text string) (string, error) {
	code, err := qr.Encode(text, qr.M)
	if err != nil {
		return "", err
	}
	const quiet = 4
	light := func(x, y int) bool {
		return x < 0 || y < 0 || x >= code.Size || y >= code.Size || !code.Black(x, y)
	}
	var b strings.Builder
	for y := -quiet; y < code.Size+quiet; y += 2 {
		for x := -quiet; x < code.Size+quiet; x++ {
			switch upper, lower := light(x, y), light(x, y+1); {
			case upper && lower:
				b.WriteRune('█')
			case upper:
				b.WriteRune('▀')
			case lower:
				b.WriteRune('▄')
			default:
				b.WriteByte(' ')
			}
		}
		b.WriteByte('\n')
	}
	return b.String(), nil
}

// Without HTTPS a browser treats the page as one that anybody on the network may have altered.
const withoutHTTPS = `Over plain HTTP the page works while this program runs, and units are stored on the phone. What
browsers give to HTTPS pages alone does not work: use without a network, a place on the home
screen that starts offline, the promise to keep the storage, the share sheet, keeping the screen on.
Give -cert and -key, or -authority, for those.
`

// anAuthority is a private certificate authority of this person: a key that signs certificates for
// addresses of private networks and names under .local and .home.arpa, and for nothing else.
type anAuthority struct {
	certificate *x509.Certificate
	key         *ecdsa.PrivateKey
	file        string // of the certificate, PEM
}

// authorityIn reads the authority that lies in a folder, or makes one there.
func authorityIn(dir string, now time.Time) (*anAuthority, error) {
	a := &anAuthority{file: filepath.Join(dir, "authority.crt")}
	keyFile := filepath.Join(dir, "authority.key")
	text, err := os.ReadFile(a.file)
	if errors.Is(err, fs.ErrNotExist) {
		if err := makeAuthority(dir, a.file, keyFile, now); err != nil {
			return nil, err
		}
		text, err = os.ReadFile(a.file)
	}
	if err != nil {
		return nil, err
	}
	keyText, err := os.ReadFile(keyFile)
	if err != nil {
		return nil, err
	}
	block, _ := pem.Decode(text)
	keyBlock, _ := pem.Decode(keyText)
	if block == nil || keyBlock == nil {
		return nil, fmt.Errorf("%s: not a certificate and its key; remove both to have new ones made", dir)
	}
	if a.certificate, err = x509.ParseCertificate(block.Bytes); err != nil {
		return nil, fmt.Errorf("%s: %w", a.file, err)
	}
	if a.key, err = x509.ParseECPrivateKey(keyBlock.Bytes); err != nil {
		return nil, fmt.Errorf("%s: %w", keyFile, err)
	}
	if now.After(a.certificate.NotAfter) {
		return nil, fmt.Errorf("%s is no longer valid; remove it and its key to have new ones made", a.file)
	}
	return a, nil
}

func serial() (*big.Int, error) { return rand.Int(rand.Reader, new(big.Int).Lsh(big.NewInt(1), 120)) }

func makeAuthority(dir, certFile, keyFile string, now time.Time) error {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return err
	}
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return err
	}
	number, err := serial()
	if err != nil {
		return err
	}
	host, _ := os.Hostname()
	var private []*net.IPNet
	for _, p := range []string{"10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "169.254.0.0/16", "fc00::/7", "fe80::/10"} {
		_, each, err := net.ParseCIDR(p)
		if err != nil {
			return err
		}
		private = append(private, each)
	}
	names := []string{"local", "home.arpa"}
	if host != "" && !strings.Contains(host, ".") {
		names = append(names, host)
	}
	template := &x509.Certificate{
		SerialNumber: number, Subject: pkix.Name{CommonName: "Pitwise on " + host},
		NotBefore: now.Add(-time.Hour), NotAfter: now.AddDate(5, 0, 0),
		KeyUsage: x509.KeyUsageCertSign | x509.KeyUsageCRLSign, BasicConstraintsValid: true, IsCA: true, MaxPathLenZero: true,
		PermittedDNSDomainsCritical: true, PermittedDNSDomains: names, PermittedIPRanges: private,
	}
	der, err := x509.CreateCertificate(rand.Reader, template, template, &key.PublicKey, key)
	if err != nil {
		return err
	}
	keyDER, err := x509.MarshalECPrivateKey(key)
	if err != nil {
		return err
	}
	if err := os.WriteFile(keyFile, pem.EncodeToMemory(&pem.Block{Type: "EC PRIVATE KEY", Bytes: keyDER}), 0o600); err != nil {
		return err
	}
	return os.WriteFile(certFile, pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: der}), 0o644)
}

// errNotPrivate says that a machine has no address that a private authority may vouch for.
var errNotPrivate = errors.New("no address of this machine is one of a private network: give -cert and -key")

// forHosts signs a certificate for names and for those of the addresses that are private, valid
// for a year at most.
func (a *anAuthority) forHosts(addresses []netip.Addr, names []string, now time.Time) (tls.Certificate, error) {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return tls.Certificate{}, err
	}
	number, err := serial()
	if err != nil {
		return tls.Certificate{}, err
	}
	template := &x509.Certificate{
		SerialNumber: number, Subject: pkix.Name{CommonName: "Pitwise"}, NotBefore: now.Add(-time.Hour), NotAfter: now.AddDate(1, 0, 0),
		KeyUsage: x509.KeyUsageDigitalSignature, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth}, DNSNames: names,
	}
	if template.NotAfter.After(a.certificate.NotAfter) {
		template.NotAfter = a.certificate.NotAfter
	}
	for _, each := range addresses {
		if !each.IsPrivate() && !each.IsLinkLocalUnicast() {
			continue // one that is not would spoil the whole certificate
		}
		template.IPAddresses = append(template.IPAddresses, each.AsSlice())
	}
	if len(template.IPAddresses)+len(names) == 0 {
		return tls.Certificate{}, errNotPrivate
	}
	der, err := x509.CreateCertificate(rand.Reader, template, a.certificate, &key.PublicKey, a.key)
	if err != nil {
		return tls.Certificate{}, err
	}
	return tls.Certificate{Certificate: [][]byte{der, a.certificate.Raw}, PrivateKey: key}, nil
}

// trust is what the phone asks for first: the authority's certificate, and how to trust it.
func (a *anAuthority) trust(page string) http.Handler {
	mux := http.NewServeMux()
	mux.HandleFunc("GET /pitwise-authority.crt", func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Content-Type", "application/x-x509-ca-cert")
		w.Header().Set("Content-Disposition", `attachment; filename="pitwise-authority.crt"`)
		w.Write(pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: a.certificate.Raw}))
	})
	mux.HandleFunc("GET /{$}", func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Content-Type", "text/html; charset=utf-8")
		w.Header().Set("Content-Security-Policy", "default-src 'none'; style-src 'unsafe-inline'")
		fmt.Fprintf(w, trustPage, page, page)
	})
	return mux
}

const trustPage = `<!doctype html><html lang="en"><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">
<title>Trust this bench</title><style>body{font:18px/1.5 sans-serif;margin:1.5em;max-width:36em}a.go{display:inline-block;padding:.8em 1em;border:2px solid}</style>
<h1>Once on this phone</h1>
<ol>
<li><p><a class="go" href="pitwise-authority.crt">Take the certificate</a></p>
<p>It vouches for addresses of private networks alone, and its key never leaves the machine that made it.</p></li>
<li><p>Trust it. On most Android phones: Settings, search for “CA certificate”, install it. On phones and tablets that ask to download a profile: allow it,
install it under Settings, General, VPN and device management, then switch it on under Settings, General, About, Certificate trust.</p></li>
<li><p>Open <a href="%s">%s</a>. From then on it works with no network too.</p></li>
</ol>
<p>To take the trust back, remove the certificate in the same place.</p></html>
`

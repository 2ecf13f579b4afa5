package host

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"net"
	"net/http"
	"net/netip"
	"os"
	"path"
	"strconv"
	"strings"
	"time"

	"pitwise/web/site"
)

// ErrNoPage says that the folder holds no page.
var ErrNoPage = errors.New("host: no page in the folder")

// Most bytes of one folder that are taken into memory.
const mostBytes = 256 << 20

// types are the content types of everything a site holds. They are written here
// since those of the system differ from one machine to the next.
var types = map[string]string{
	".bin":         "application/octet-stream",
	".css":         "text/css; charset=utf-8",
	".html":        "text/html; charset=utf-8",
	".js":          "text/javascript; charset=utf-8",
	".json":        "application/json",
	".png":         "image/png",
	".svg":         "image/svg+xml",
	".txt":         "text/plain; charset=utf-8",
	".wasm":        "application/wasm",
	".webmanifest": "application/manifest+json",
	".woff2":       "font/woff2",
}

// Headers are sent with every answer.
var Headers = map[string]string{
	"Content-Security-Policy":      site.Policy(true),
	"Cross-Origin-Opener-Policy":   "same-origin",
	"Cross-Origin-Resource-Policy": "same-origin",
	"Permissions-Policy": "accelerometer=(), autoplay=(), bluetooth=(), camera=(self), display-capture=(), encrypted-media=(), " +
		"fullscreen=(self), geolocation=(), gyroscope=(), hid=(), idle-detection=(), magnetometer=(), microphone=(), midi=(), " +
		"payment=(), publickey-credentials-get=(), screen-wake-lock=(self), serial=(), usb=(), web-share=(self)",
	"Referrer-Policy":        "no-referrer",
	"X-Content-Type-Options": "nosniff",
	"X-Frame-Options":        "DENY",
}

// form is one way a file can be sent.
type form struct {
	body []byte
	etag string
}

type file struct {
	plain, br, gz form
	kind, cache   string
}

// Host answers requests for one page, served at the root.
type Host struct {
	files map[string]*file // by path, "/" for the index
	names map[string]bool  // host names that are ours, beside loopback
	open  bool             // whether any address of this machine is ours
}

// Load reads the folder. Names are host names allowed beside those of loopback;
// open allows every numeric address, for when the person chose to listen on them.
func Load(dir string, open bool, names ...string) (*Host, error) {
	root, err := os.OpenRoot(dir)
	if err != nil {
		return nil, fmt.Errorf("host: %w", err)
	}
	defer root.Close()
	bodies := map[string][]byte{}
	var size int64
	err = fs.WalkDir(root.FS(), ".", func(name string, d fs.DirEntry, err error) error {
		// Links and devices are passed over, wherever they lead.
		if err != nil || !d.Type().IsRegular() {
			return err
		}
		info, err := d.Info()
		if err != nil {
			return err
		}
		if size += info.Size(); size > mostBytes {
			return fmt.Errorf("%s: the folder holds more than %d bytes", name, int64(mostBytes))
		}
		bodies[name], err = root.ReadFile(name)
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("host: %w", err)
	}
	h := newHost(bodies, open, names)
	if h == nil {
		return nil, fmt.Errorf("%w: %s", ErrNoPage, dir)
	}
	return h, nil
}

// Of answers for a page that lies in no folder; open and names are as for Load.
func Of(s *site.Site, open bool, names ...string) (*Host, error) {
	bodies := map[string][]byte{}
	for _, f := range s.Files {
		bodies[f.Path] = f.Body
		if f.Brotli != nil {
			bodies[f.Path+".br"] = f.Brotli
		}
		if f.Gzip != nil {
			bodies[f.Path+".gz"] = f.Gzip
		}
	}
	h := newHost(bodies, open, names)
	if h == nil {
		return nil, ErrNoPage
	}
	return h, nil
}

// newHost makes a host of files by their paths; nil if they are no page.
func newHost(bodies map[string][]byte, open bool, names []string) *Host {
	h := &Host{files: map[string]*file{}, names: map[string]bool{"localhost": true}, open: open}
	for _, name := range names {
		h.names[strings.ToLower(name)] = true
	}
	for name, body := range bodies {
		kind, ok := types[path.Ext(name)]
		if !ok {
			continue
		}
		f := &file{kind: kind, cache: "no-cache", plain: newForm(body, "")}
		if strings.HasPrefix(name, site.Frozen) {
			f.cache = "public, max-age=31536000, immutable"
		}
		if b, ok := bodies[name+".br"]; ok {
			f.br = newForm(b, "br")
		}
		if b, ok := bodies[name+".gz"]; ok {
			f.gz = newForm(b, "gzip")
		}
		h.files["/"+name] = f
	}
	index, ok := h.files["/index.html"]
	if !ok || h.files["/worker.js"] == nil {
		return nil
	}
	h.files["/"] = index
	return h
}

func newForm(body []byte, coding string) form {
	sum := sha256.Sum256(body)
	tag := hex.EncodeToString(sum[:12])
	if coding != "" {
		tag += "-" + coding
	}
	return form{body, `"` + tag + `"`}
}

// ServeHTTP answers GET and HEAD for the files of the page, and for any other
// address that a person may open with the page itself.
func (h *Host) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	for k, v := range Headers {
		w.Header().Set(k, v)
	}
	if !h.ours(r.Host) {
		http.Error(w, "This address is not one of Pitwise.", http.StatusMisdirectedRequest)
		return
	}
	if r.Method != http.MethodGet && r.Method != http.MethodHead {
		w.Header().Set("Allow", "GET, HEAD")
		http.Error(w, "Only GET and HEAD.", http.StatusMethodNotAllowed)
		return
	}
	f := h.files[r.URL.Path]
	if f == nil && opensPage(r) {
		f = h.files["/"]
	}
	if f == nil {
		w.Header().Set("Cache-Control", "no-store")
		http.Error(w, "There is no such file.", http.StatusNotFound)
		return
	}
	header := w.Header()
	header.Set("Content-Type", f.kind)
	header.Set("Cache-Control", f.cache)
	sent := f.plain
	if f.br.body != nil || f.gz.body != nil {
		header.Set("Vary", "Accept-Encoding")
		accepted := r.Header.Values("Accept-Encoding")
		switch {
		case f.br.body != nil && accepts(accepted, "br"):
			sent = f.br
			header.Set("Content-Encoding", "br")
		case f.gz.body != nil && accepts(accepted, "gzip"):
			sent = f.gz
			header.Set("Content-Encoding", "gzip")
		}
	}
	header.Set("ETag", sent.etag)
	// Parts of a coded body help nobody.
	r.Header.Del("Range")
	http.ServeContent(w, r, "", time.Time{}, bytes.NewReader(sent.body))
}

// opensPage reports whether a person opens an address that only the page knows.
func opensPage(r *http.Request) bool {
	if strings.HasPrefix(r.URL.Path, "/"+site.Frozen) || path.Ext(r.URL.Path) != "" {
		return false
	}
	if mode := r.Header.Get("Sec-Fetch-Mode"); mode != "" {
		return mode == "navigate"
	}
	return strings.Contains(r.Header.Get("Accept"), "text/html")
}

// ours reports whether a Host header names this machine as the person knows it.
// A numeric address cannot be made to point elsewhere; a name can.
func (h *Host) ours(host string) bool {
	name := host
	if n, _, err := net.SplitHostPort(host); err == nil {
		name = n
	}
	name = strings.TrimSuffix(strings.TrimPrefix(name, "["), "]")
	if a, err := netip.ParseAddr(name); err == nil {
		return h.open || a.Unmap().IsLoopback()
	}
	return h.names[strings.ToLower(name)]
}

// accepts reports whether the coding may be used. Source: RFC 9110, 12.5.3.
func accepts(headers []string, coding string) bool {
	star := false
	for _, field := range headers {
		for _, item := range strings.Split(field, ",") {
			name, rest, _ := strings.Cut(item, ";")
			name = strings.ToLower(strings.TrimSpace(name))
			weight := 1.0
			if _, q, ok := strings.Cut(rest, "="); ok {
				n, err := strconv.ParseFloat(strings.TrimSpace(q), 64)
				if err != nil {
					n = 0
				}
				weight = n
			}
			switch name {
			case coding:
				return weight > 0
			case "*":
				star = weight > 0
			}
		}
	}
	return star
}

// Server returns a server with limits that no honest browser meets and a slow
// or greedy client does.
func (h *Host) Server() *http.Server {
	return &http.Server{
		Handler:           h,
		ReadHeaderTimeout: 5 * time.Second,
		ReadTimeout:       10 * time.Second,
		WriteTimeout:      2 * time.Minute,
		IdleTimeout:       time.Minute,
		MaxHeaderBytes:    16 << 10,
	}
}

package site

import "strings"

// Policy returns the Content-Security-Policy of the page: nothing but its own
// origin, no inline script or style, no markup from strings. A meta tag cannot
// refuse frames, so frame-ancestors is there only for the header.
//
// Source: W3C Content Security Policy Level 3; Trusted Types.
func Policy(header bool) string {
	rules := []string{
		"default-src 'none'",
		"script-src 'self' 'wasm-unsafe-eval'",
		"style-src 'self'",
		"img-src 'self' blob:",
		"font-src 'self'",
		"connect-src 'self' blob:", // WebKit was seen to take a file or photograph that the page made for a connection
		"manifest-src 'self'",
		"worker-src 'self'",
		"base-uri 'none'",
		"form-action 'none'",
		"require-trusted-types-for 'script'",
		"trusted-types pitwise",
	}
	if header {
		rules = append(rules, "frame-ancestors 'none'")
	}
	return strings.Join(rules, "; ")
}

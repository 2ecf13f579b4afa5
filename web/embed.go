package web

import "embed"

// Files holds index.html, manifest.webmanifest and worker.js, which are
// templates, the empty benches of first, and look.js, start.js, engine.js, first.css, grown.bin, css and icons, which are not.
//
//go:embed index.html manifest.webmanifest worker.js look.js start.js engine.js first.css grown.bin
//go:embed all:css all:icons first
var Files embed.FS

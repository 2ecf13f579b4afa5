// Package site turns the page's program and the files of package web into a
// folder that any HTTPS host can serve as it is.
//
// # Shape of the folder
//
//	index.html, 404.html   the page; 404.html serves deep links on hosts that know it
//	manifest.webmanifest   names, icons, all relative
//	worker.js              the offline worker, with the list of files and digests
//	v/<version>/           everything else, under a name that changes with any content
//
// Version is a digest of every file, the templates and the prefix, so the same
// source gives the same version, and any change gives another. Beside each
// text or program file lie its .br and .gz forms, for hosts that use them.
//
// Writing is all or nothing: a folder is made beside the wanted one and renamed.
package site

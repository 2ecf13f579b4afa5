// Package web holds what is served as it is: the first screen, styles, icons,
// the loader and the template of the offline worker.
//
// # What the app may rely on
//
//   - The program is started with one empty page around it. Its first mount
//     takes the place of the first element of the body, which is not shown until
//     its view has a main element without the class "waiting": until then the first
//     screen stands. At the page's own address that is the empty bench, as the
//     program would draw it (first, written by the tests of app/view), so that
//     nothing moves when the program takes over, and what was tapped before is done.
//   - look.js runs before anything is drawn, and start.js remembers for it, in
//     localStorage, the language and theme of the root element, and whether there
//     are units.
//   - Files under css and icons are served below a folder named by the
//     version. The app names them "/web/icons/x.svg" in Src and Href;
//     go-app turns that into the real address. Every file of css is linked by
//     the index, in the order of the file names.
//   - The program has English in it. window.pitwiseWords(lang) is a promise of an
//     ArrayBuffer with another language's file (app/words), of which start.js fetches the
//     person's own while it fetches the program; the worker keeps them all.
//   - grown.bin is what planners grew for the terms that the page offers, written by the tests of
//     app/runner. In the engine's thread pitwiseGrown() is a promise of its ArrayBuffer.
//   - app.Getenv("GOAPP_VERSION") is the version of the page.
//   - The Content-Security-Policy forbids inline styles and inline scripts, and
//     the DOM refuses markup from strings. So no Style("…", "…") and no
//     app.Raw: widths and places go into SVG attributes, <progress>, <meter>,
//     classes, or into the CSSOM (element.style.setProperty), which is allowed.
//   - Links to other origins are not followed by the page itself.
//
// # Updates
//
// start.js keeps window.pitwiseUpdate:
//
//	waiting  true when a newer version is installed and waits for the person's yes
//	ready    true when this version is stored whole and works with no network
//	apply()  the person said yes: the newer version takes over and the page loads anew
//	check()  asks the server now whether there is a newer version
//
// Each change of waiting or ready sends a "pitwise-update" event to window.
// When waiting turns true, go-app's OnAppUpdate is called too. A component that
// mounts later reads the fields. Nothing is ever applied without apply().
//
// # A thread for the engine
//
// Before the program runs, start.js puts a function at window.pitwiseEngine, or null where
// the browser has no workers. It returns a Worker that runs the same program, from the same
// module: the first one is the thread that fetched and compiled it, so that the page was free
// meanwhile; its field listens is true if it posted that message already. At a first visit the page
// begins only then, for a browser compiles a function when it is first called, for both alike. There, globalThis.pitwiseThread is true and
// there is no window; the program is to add its own "message" listener to globalThis and
// to post a message once it listens. If the program ends there, the page gets the message
// {pitwise: "ended"}; an error before that is the Worker's "error" event.
//
// # When the program ends
//
// If the Go program ends, which it never should, the element with the id
// "stopped" is shown above everything, with a button that loads the page anew.
package web

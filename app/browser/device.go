package browser

import "time"

// Device is what a browser has besides storage.
type Device interface {
	// Now is the present time.
	Now() time.Time
	// Random fills b with bytes nobody can guess.
	Random(b []byte) error
	// Wishes returns the person's languages as the browser knows them, best first.
	Wishes() []string
	// Words returns the file of a language that the program does not have in it, for words.Take.
	Words(lang string) ([]byte, error)
	// CanShare reports whether there is a share sheet that takes files.
	CanShare() bool
	// Save hands the person a file.
	Save(f File) error
	// Share opens the share sheet. ErrDismissed says that the person closed it.
	Share(f File) error
	// Copy puts text on the clipboard.
	Copy(text string) error
	// Pick returns the file in the page's file field, of at most limit bytes, and
	// empties the field. ErrDismissed says that none was chosen.
	Pick(limit int) (File, error)
	// Persist asks the browser never to clear the storage by itself.
	Persist() bool
	// Room returns the bytes used and left, and whether the storage is persistent.
	Room() (used, left float64, persisted bool)
	// Forgets reports whether the browser clears the storage after some days without a
	// visit, unless the page is on the home screen.
	Forgets() bool
	// Awake keeps the screen from sleeping, or lets it sleep again.
	Awake(on bool)
	// Buzz makes the device tremble for a moment, if it can.
	Buzz()
	// Yield lets the browser draw and take taps.
	Yield()
	// Wear puts a theme and a language on the page's root element.
	Wear(theme, lang string)
	// Top scrolls the page up and puts the focus on its heading.
	Top()
	// Print lets the person print the page, or save it as a PDF.
	Print()
	// Renew puts a waiting version of the page into force.
	Renew()
	// WatchUpdate and WatchNetwork call f when a newer version waits, and when
	// the network comes or goes.
	WatchUpdate(f func())
	WatchNetwork(f func(offline bool))
	Camera
	CodeReader
	Speaker
}

// FileField is the id of the page's file field.
const FileField = "read-in"

// A File is a text with a name.
type File struct {
	Name string
	Type string // media type
	Text string
}

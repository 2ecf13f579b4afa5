package browser

// DatabaseName is the name of the database in the browser.
const DatabaseName = "pitwise"

// A table is one object store of the database and the path of its key.
type table struct {
	name string
	key  []string
}

// A migration takes the stored data from the version before to its own. Its
// tables are created; nothing is dropped.
type migration struct {
	tables []table
}

// migrations, one a released schema version: version n is migrations[n-1]. A
// released one is never edited; a change is a new one at the end.
var migrations = []migration{
	{tables: []table{
		{name: "units", key: []string{"id"}},
		{name: "events", key: []string{"unit", "n"}},
		{name: "models", key: []string{"sha256"}},
		{name: "kept", key: []string{"key"}},
	}},
	{tables: []table{
		{name: "photos", key: []string{"unit", "id"}},
	}},
}

// SchemaVersion is the version of the stored data that this program writes.
func SchemaVersion() int { return len(migrations) }

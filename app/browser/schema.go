package browser

// DatabaseName is the name of the database in the browser.
const DatabaseName = "pitwise"

// A table is one object store of the database, the path of its key, and its indexes.
type table struct {
	name    string
	key     []string
	indexes []index
}

// An index orders the records of a table by another path.
type index struct {
	name string
	path []string
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
	{tables: []table{
		{name: "cards", key: []string{"id"}, indexes: []index{{name: "listed", path: []string{"version", "away", "order", "id"}}}},
	}},
}

// SchemaVersion is the version of the stored data that this program writes.
func SchemaVersion() int { return len(migrations) }

// The database counts its own versions. From schema 3 on there is room between those of
// two schemas: a database in which a table is missing is mended by going one up, and is
// still no newer one.
const versionsEach = 1000

// databaseVersion is the version of a database with a schema, as it is made first.
func databaseVersion(schema int) int {
	if schema < 3 {
		return schema
	}
	return schema * versionsEach
}

// schemaOf is the schema of a database with a version.
func schemaOf(version int) int {
	if version < 3 {
		return version
	}
	return version / versionsEach
}

// tables returns every table of a schema.
func tables(schema int) (all []table) {
	for _, m := range migrations[:schema] {
		all = append(all, m.tables...)
	}
	return all
}

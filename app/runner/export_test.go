package runner

// Backup makes the text of a backup that holds these trails and models, whatever is
// wrong with them.
func Backup(units []string, models map[string]string) (string, error) {
	b := &backup{version: backupPlain, models: models}
	for _, u := range units {
		b.units = append(b.units, []byte(u))
	}
	f, err := b.sealed("bench")
	return f.Text, err
}

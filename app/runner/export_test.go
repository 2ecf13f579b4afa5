package runner

import "encoding/json"

// Backup makes the text of a backup that holds these trails and models, whatever is
// wrong with them.
func Backup(units []string, models map[string]string) (string, error) {
	b := &backup{Format: backupFormat, Version: backupPlain, Units: []json.RawMessage{}, Archived: []string{}, Models: map[string]string{}}
	for _, u := range units {
		b.Units = append(b.Units, json.RawMessage(u))
	}
	for sum, text := range models {
		b.Models[sum] = text
	}
	f, err := b.sealed("bench")
	return f.Text, err
}

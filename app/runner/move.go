package runner

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"slices"
	"strings"

	"pitwise/app/state"
	"pitwise/engine/learn"
	"pitwise/engine/trail"
)

// An inventory is what a bench holds, by lines that are the same on every device that holds the same:
// units by the SHA-256 of their trails, photographs by their ids, for each device codes their
// pixels anew, own models by their texts, and the counts of other benches.
type inventory struct {
	lines []string
	held  state.Held
}

func (i *inventory) unit(t *trail.Trail) {
	whole := *t
	whole.ModelText = ""
	i.lines = append(i.lines, fmt.Sprintf("unit %s %d %x", t.ID, len(t.Events), sha256.Sum256(whole.Encode())))
	i.held.Units++
	i.held.Steps += len(t.Events)
}

func (i *inventory) photo(unit, id string) {
	i.lines = append(i.lines, "photo "+unit+" "+id)
	i.held.Photos++
}

func (i *inventory) model(sha256 string) {
	i.lines = append(i.lines, "model "+sha256)
	i.held.Models++
}

func (i *inventory) counts(c learn.Counts) {
	for _, b := range c.Benches {
		c.Benches = []learn.Bench{b}
		i.lines = append(i.lines, fmt.Sprintf("counts %x", sha256.Sum256(c.Encode())))
		i.held.Benches++
	}
}

// sum returns the held with its check: eight digits, which two people can compare by eye.
func (i *inventory) sum() *state.Held {
	lines := slices.Sorted(slices.Values(i.lines))
	sum := sha256.Sum256([]byte(strings.Join(slices.Compact(lines), "\n")))
	digits := hex.EncodeToString(sum[:4])
	t := i.held
	t.Check = digits[:4] + " " + digits[4:]
	return &t
}

// A claim is what a file of a bench says that it holds, to be held against the storage.
type claim struct {
	units  []claimed
	photos [][2]string // unit and id
	models []string
	counts []learn.Counts
	lines  map[string]bool
	lost   int // units that could not be read in the file itself
}

type claimed struct {
	id     string
	events int
}

func (c *claim) unit(t *trail.Trail) {
	var one inventory
	one.unit(t)
	if c.lines == nil {
		c.lines = map[string]bool{}
	}
	c.lines[one.lines[0]] = true
	c.units = append(c.units, claimed{t.ID, len(t.Events)})
}

// prove reads back from the storage what a file held, and says what of it is here. A unit that has
// gone on here since is here.
func (r *Runner) prove(c *claim) {
	var here inventory
	lacking := c.lost
	for _, u := range c.units {
		t, _, err := r.read(u.id)
		if err != nil || len(t.Events) < u.events {
			lacking++
			continue
		}
		t.Events = t.Events[:u.events]
		var one inventory
		if one.unit(t); !c.lines[one.lines[0]] {
			lacking++
			continue
		}
		here.unit(t)
		r.Device.Yield()
	}
	for _, p := range c.photos {
		record, err := r.Storage.Photo(p[0], p[1])
		if err != nil || !record.Intact() {
			lacking++
			continue
		}
		here.photo(p[0], p[1])
	}
	own, _ := r.Storage.Models()
	for _, sum := range c.models {
		if _, listed := own[sum]; !listed {
			lacking++
			continue
		}
		here.model(sum)
	}
	for _, c := range c.counts {
		all, _ := r.lent(c.Model)
		kept := c
		kept.Benches = nil
		for _, b := range c.Benches {
			if fuller(all, c.SHA256, b) {
				kept.Benches = append(kept.Benches, b)
			} else {
				lacking++
			}
		}
		here.counts(kept)
	}
	held := here.sum()
	held.Lacking = lacking
	r.Send(state.Moved{Held: *held})
}

// fuller reports whether as much is held of a bench, of that text of a model.
func fuller(all []learn.Counts, sha256 string, b learn.Bench) bool {
	for _, c := range all {
		for _, here := range c.Benches {
			if c.SHA256 == sha256 && here.ID == b.ID && here.Units >= b.Units {
				return true
			}
		}
	}
	return false
}

package state

import (
	"strings"
	"time"
)

// crockford is the digit set of a ULID: no I, L, O, U.
const crockford = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"

// NewID makes the id of a unit from the time and 80 random bits: 26 characters
// that sort by time, as the public ULID layout has them. Both come from outside,
// so that the same inputs give the same id.
func NewID(now time.Time, random [10]byte) string {
	var raw [16]byte
	ms := uint64(now.UnixMilli())
	for i := range 6 {
		raw[i] = byte(ms >> (8 * (5 - i)))
	}
	copy(raw[6:], random[:])

	// 128 bits are 26 digits of 5; the first digit holds the top 3 bits.
	var id [26]byte
	for i := range id {
		var v byte
		for bit := range 5 {
			at := i*5 + bit - 2
			v <<= 1
			if at >= 0 {
				v |= raw[at/8] >> (7 - at%8) & 1
			}
		}
		id[i] = crockford[v]
	}
	return string(id[:])
}

// IsID reports whether a text looks like an id that NewID made.
func IsID(id string) bool { return len(id) == 26 && strings.Trim(id, crockford) == "" }

package parcel

import (
	"errors"
	"strings"
)

const alphabet = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:"

var errBase45 = errors.New("not base45")

// encode writes two bytes as three signs, and a last single one as two. Source: RFC 9285.
func encode(b []byte) string {
	var s strings.Builder
	for ; len(b) > 1; b = b[2:] {
		n := int(b[0])<<8 | int(b[1])
		s.WriteByte(alphabet[n%45])
		s.WriteByte(alphabet[n/45%45])
		s.WriteByte(alphabet[n/(45*45)])
	}
	if len(b) == 1 {
		s.WriteByte(alphabet[int(b[0])%45])
		s.WriteByte(alphabet[int(b[0])/45])
	}
	return s.String()
}

// decode is the way back; signs or numbers that no bytes give are an error.
func decode(s string) ([]byte, error) {
	var b []byte
	for len(s) > 0 {
		take := min(3, len(s))
		n, unit := 0, 1
		for i := range take {
			d := strings.IndexByte(alphabet, s[i])
			if d < 0 {
				return nil, errBase45
			}
			n += d * unit
			unit *= 45
		}
		switch {
		case take == 3 && n < 1<<16:
			b = append(b, byte(n>>8), byte(n))
		case take == 2 && n < 1<<8:
			b = append(b, byte(n))
		default:
			return nil, errBase45
		}
		s = s[take:]
	}
	return b, nil
}

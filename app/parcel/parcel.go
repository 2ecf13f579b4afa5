package parcel

import (
	"bytes"
	"compress/flate"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"fmt"
	"hash/crc32"
	"io"
	"strconv"
	"strings"
)

const (
	mark = "PITWISE:"

	// Piece is how many bytes of the packed text a part holds at most: a code of version 12 at the
	// second level of correction, 65 modules wide, which a phone shows with five points a module.
	Piece = 280
	// MostParts is how many parts a text has at most.
	MostParts = 99
	// MostBytes is how long a text may be, packed or not: no code makes a reader unpack more.
	MostBytes = 1 << 20
)

var (
	// ErrLarge says that a text does not fit MostParts parts.
	ErrLarge = errors.New("parcel: too large for codes")
	// ErrForeign says that a code is none of ours.
	ErrForeign = errors.New("parcel: not a code of a unit")
	// ErrDamaged says that a part was read wrongly.
	ErrDamaged = errors.New("parcel: read wrongly")
	// ErrOther says that a part belongs to another text than those before.
	ErrOther = errors.New("parcel: a code of another unit")
)

// Split returns the parts of a text, the first one first.
func Split(text []byte) ([]string, error) {
	if len(text) > MostBytes {
		return nil, fmt.Errorf("%w: %d bytes", ErrLarge, len(text))
	}
	var packed bytes.Buffer
	w, err := flate.NewWriter(&packed, flate.BestCompression)
	if err != nil {
		return nil, err
	}
	w.Write(text)
	if err := w.Close(); err != nil {
		return nil, err
	}
	whole := packed.Bytes()
	count := (len(whole) + Piece - 1) / Piece
	if count > MostParts {
		return nil, fmt.Errorf("%w: %d codes, at most %d", ErrLarge, count, MostParts)
	}
	// Pieces of one size: no code is harder to read than it has to be.
	size := (len(whole) + count - 1) / count
	var parts []string
	for i := range count {
		head := fmt.Sprintf("%s%s.%d.%d", mark, digest(whole), i+1, count)
		piece := whole[min(i*size, len(whole)):min((i+1)*size, len(whole))]
		parts = append(parts, head+":"+encode(append(check(head, piece), piece...)))
	}
	return parts, nil
}

func digest(whole []byte) string {
	sum := sha256.Sum256(whole)
	return strings.ToUpper(hex.EncodeToString(sum[:4]))
}

func check(head string, piece []byte) []byte {
	sum := crc32.NewIEEE()
	io.WriteString(sum, head)
	sum.Write(piece)
	return binary.BigEndian.AppendUint32(nil, sum.Sum32())
}

// A Collector puts one text together. The zero Collector is ready for its first part.
type Collector struct {
	digest string
	pieces [][]byte // by number; nil for those that are missing
}

// Add takes a part. A part that was there already changes nothing. The error is ErrForeign,
// ErrDamaged or ErrOther, and the parts before stand.
func (c *Collector) Add(part string) error {
	rest, ours := strings.CutPrefix(part, mark)
	if !ours {
		return ErrForeign
	}
	head, body, ok := strings.Cut(rest, ":")
	fields := strings.Split(head, ".")
	if !ok || len(fields) != 3 {
		return ErrDamaged
	}
	number, err := strconv.Atoi(fields[1])
	count, err2 := strconv.Atoi(fields[2])
	if err != nil || err2 != nil || count < 1 || count > MostParts || number < 1 || number > count {
		return ErrDamaged
	}
	whole, err := decode(body)
	if err != nil || len(whole) < 4 || len(whole) > 4+Piece || !bytes.Equal(whole[:4], check(mark+head, whole[4:])) {
		return ErrDamaged
	}
	if c.pieces == nil {
		c.digest, c.pieces = fields[0], make([][]byte, count)
	}
	if c.digest != fields[0] || len(c.pieces) != count {
		return ErrOther
	}
	c.pieces[number-1] = whole[4:]
	return nil
}

// Missing returns the numbers of the parts that have not come yet, and how many there are; 0 before
// the first one came.
func (c *Collector) Missing() (numbers []int, of int) {
	for i, p := range c.pieces {
		if p == nil {
			numbers = append(numbers, i+1)
		}
	}
	return numbers, len(c.pieces)
}

// Text returns the text once no part is missing. The error is ErrDamaged for parts that do not
// belong together, and for what unpacks to more than MostBytes.
func (c *Collector) Text() ([]byte, error) {
	if missing, of := c.Missing(); of == 0 || len(missing) > 0 {
		return nil, fmt.Errorf("parcel: %d of %d codes are missing", len(missing), of)
	}
	whole := bytes.Join(c.pieces, nil)
	if digest(whole) != c.digest {
		return nil, ErrDamaged
	}
	r := flate.NewReader(bytes.NewReader(whole))
	text, err := io.ReadAll(io.LimitReader(r, MostBytes+1))
	if err != nil || len(text) > MostBytes {
		return nil, ErrDamaged
	}
	return text, nil
}

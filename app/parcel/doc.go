// Package parcel takes a text apart into parts that each fit a QR code, and puts it together again
// from parts that come in any order, twice or damaged.
//
// # Grammar of a part
//
//	part    = "PITWISE:" digest "." number "." count ":" body
//	digest  = the first 8 hexadecimal digits, in capitals, of the SHA-256 of the packed text
//	number  = 1 to count, decimal; count = 1 to 99
//	body    = base45 (RFC 9285) of a CRC-32 (IEEE, big-endian) and a piece of the packed text
//
// The packed text is DEFLATE (RFC 1951). Each sign of a part is one of the 45 of a QR code's
// alphanumeric mode (ISO/IEC 18004), which holds twice as many of them as of bytes. The CRC-32 is
// over the part up to its last colon and the piece, so that a piece cannot pass for another's; the
// digest tells one text's parts from another's and is checked again over the whole.
//
// The package draws nothing and reads no pictures. It is safe for concurrent use but for a
// Collector.
package parcel

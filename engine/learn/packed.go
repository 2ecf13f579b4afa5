package learn

import "math/bits"

// packed is rising numbers from 0 on, each as how far it is from the one before, in as many noughts as that
// has binary digits after the first, and its digits: a bit where all numbers follow each other, nine
// where it is every twentieth.
// Source: Elias (1975), IEEE Trans. Inf. Theory 21(2), code gamma.
type packed []byte

func pack(rising []int32) packed {
	var p packed
	used := 0
	put := func(bit uint32) {
		if used%8 == 0 {
			p = append(p, 0)
		}
		p[len(p)-1] |= byte(bit << (used % 8))
		used++
	}
	last := int32(-1)
	for _, x := range rising {
		gap := uint32(x - last)
		last = x
		digits := bits.Len32(gap)
		for range digits - 1 {
			put(0)
		}
		for i := digits - 1; i >= 0; i-- {
			put(gap >> i & 1)
		}
	}
	return append(packed(nil), p...) // no larger than it need be
}

// unpack appends the numbers to dst.
func (p packed) unpack(dst []int32) []int32 {
	last, more, gap := int32(-1), 0, int32(0)
	for _, b := range p {
		for range 8 {
			bit := int32(b & 1)
			b >>= 1
			switch {
			case gap == 0 && bit == 0: // before the first digit; noughts at the end begin none
				more++
				continue
			case gap == 0:
				gap = 1
			default:
				gap = gap<<1 | bit
				more--
			}
			if more == 0 {
				last += gap
				dst = append(dst, last)
				gap = 0
			}
		}
	}
	return dst
}

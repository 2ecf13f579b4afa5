package learn

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestPackedNumbersComeBack(t *testing.T) {
	for _, rising := range [][]int32{{0}, {7}, {0, 1, 2, 130, 131, 40_000}, {127, 128, 1 << 30}} {
		assert.Equal(t, rising, pack(rising).unpack(nil))
	}
	// By hand: gaps of 1, 1, 3 and 2 are 1, 1, 011 and 010, eight bits.
	assert.Equal(t, packed{0b0101_1011}, pack([]int32{0, 1, 4, 6}))
	rng := rand.New(rand.NewPCG(1, 6))
	for range 200 {
		var rising []int32
		for x := int32(0); x < 3000; x += 1 + int32(rng.IntN(40)*rng.IntN(2)) {
			rising = append(rising, x)
		}
		assert.Equal(t, rising, pack(rising).unpack(nil))
	}
}

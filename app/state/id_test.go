package state_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"pitwise/app/state"
)

func TestNewID(t *testing.T) {
	for _, row := range []struct {
		name, source string
		at           int64 // milliseconds
		random       [10]byte
		want         string
	}{
		{
			name: "zero", source: "by hand", want: "00000000000000000000000000",
		},
		{
			name: "the greatest", source: "ULID specification: 7ZZZZZZZZZZZZZZZZZZZZZZZZZ is the greatest; here the 48 bits of time are the greatest that fit",
			at: 1<<48 - 1, random: [10]byte{255, 255, 255, 255, 255, 255, 255, 255, 255, 255}, want: "7ZZZZZZZZZZZZZZZZZZZZZZZZZ",
		},
		{
			name: "a known time", source: "ULID specification: 1469918176385 ms is 01ARYZ6S41",
			at: 1469918176385, want: "01ARYZ6S410000000000000000",
		},
		{
			name: "the last bits", source: "by hand: 1 is the last digit",
			random: [10]byte{9: 33}, want: "00000000000000000000000011",
		},
	} {
		t.Run(row.name, func(t *testing.T) {
			assert.Equal(t, row.want, state.NewID(time.UnixMilli(row.at), row.random), row.source)
			assert.True(t, state.IsID(row.want))
		})
	}
}

func TestIsID(t *testing.T) {
	for _, text := range []string{"", "0000000000000000000000000", "000000000000000000000000000", "0000000000000000000000000I", "0000000000000000000000000a", "0000000000000000000000000\n", "L0000000000000000000000000"} {
		assert.False(t, state.IsID(text), "%q", text)
	}
}

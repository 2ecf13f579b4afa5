package main

import (
	"flag"
	"io"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestFlagsMayStandBeforeAndAfterArguments(t *testing.T) {
	for _, row := range []struct {
		name  string
		args  []string
		plain []string
		model string
		deep  bool
	}{
		{"before", []string{"-model", "m", "-deep", "a", "b"}, []string{"a", "b"}, "m", true},
		{"after", []string{"a", "b", "-model=m", "-deep"}, []string{"a", "b"}, "m", true},
		{"between", []string{"a", "-deep", "b", "-model", "m"}, []string{"a", "b"}, "m", true},
		{"standard input is an argument", []string{"-", "-deep"}, []string{"-"}, "", true},
		{"what follows two dashes is no flag", []string{"-model", "m", "--", "-deep", "a"}, []string{"-deep", "a"}, "m", false},
		{"also behind an argument", []string{"a", "--", "-deep"}, []string{"a", "-deep"}, "", false},
		{"two dashes alone", []string{"a", "--"}, []string{"a"}, "", false},
	} {
		t.Run(row.name, func(t *testing.T) {
			flags := flag.NewFlagSet("x", flag.ContinueOnError)
			flags.SetOutput(io.Discard)
			model := flags.String("model", "", "")
			deep := flags.Bool("deep", false, "")
			plain, err := (&desk{}).parse(flags, row.args, 1, 2)
			require.NoError(t, err)
			assert.Equal(t, row.plain, plain)
			assert.Equal(t, row.model, *model)
			assert.Equal(t, row.deep, *deep)
		})
	}
}

func TestParseCountsArguments(t *testing.T) {
	for _, args := range [][]string{{}, {"-deep"}, {"a", "-deep", "b", "c"}, {"a", "-depp"}, {"-model"}} {
		flags := flag.NewFlagSet("x", flag.ContinueOnError)
		flags.SetOutput(io.Discard)
		flags.String("model", "", "")
		flags.Bool("deep", false, "")
		_, err := (&desk{}).parse(flags, args, 1, 2)
		assert.ErrorAs(t, err, &misuse{}, "%q", args)
	}
}

package random

import (
	"bytes"
	"fmt"
)

// Largest returns the text of a model at the limits of the format: 256 tests with 12
// outcomes each, 256 repairs, 64 setups one inside the other, components of 8 modes each,
// and as many rows as its 4 MiB hold. 64 components with two faults at once make 129,537
// hypotheses, 29 with three 1,897,297.
func Largest(components, mostFaults int) []byte {
	var b bytes.Buffer
	put := func(format string, args ...any) { fmt.Fprintf(&b, format, args...) }
	mode := func(i int) string { return fmt.Sprintf(`"c%d.m%d"`, i/8, i%8) }
	modes := 8 * components
	put(`{"format":"pitwise/model","version":1,"id":"largest","revision":"1","title":"As large as can be","most_faults":%d,"setups":[{"id":"s0"}`, mostFaults)
	for i := 1; i < 64; i++ {
		put(`,{"id":"s%d","inside":"s%d","enter":{"minutes":1,"money":0,"risks":{%s:0.001}},"leave":{"minutes":1,"money":0,"risks":{%s:0.001}}}`,
			i, i-1, mode(i%modes), mode((i+8)%modes))
	}
	put(`],"components":[`)
	for c := range components {
		put(`{"id":"c%d","modes":[`, c)
		for m := range 8 {
			put(`{"id":"m%d","prior":0.00%d},`, m, 1+(c+m)%9)
		}
		trim(&b, `]},`)
	}
	trim(&b, `],"tests":[`)
	// The cumulative ratio of a row is the same for every outcome but the last.
	rows := [...]string{
		"[0.09,0.01,0.01,0.01,0.01,0.01,0.01,0.01,0.01,0.01,0.01,0.81]",
		"[0.18,0.02,0.02,0.02,0.02,0.02,0.02,0.02,0.02,0.02,0.02,0.62]",
		"[0.27,0.03,0.03,0.03,0.03,0.03,0.03,0.03,0.03,0.03,0.03,0.43]",
		"[0.36,0.04,0.04,0.04,0.04,0.04,0.04,0.04,0.04,0.04,0.04,0.24]",
	}
	for t := range 256 {
		put(`{"id":"t%d","intake":%t,"at":"s%d","minutes":1,"money":0,"steadiness":2,"outcomes":[`, t, t == 0, t%4*(t%16))
		for o := range 12 {
			put(`{"id":"o%d"},`, o)
		}
		trim(&b, `],"healthy":[0.45,0.05,0.05,0.05,0.05,0.05,0.05,0.05,0.05,0.05,0.05,0.05],"given":{`)
		for i := range min(205, modes) {
			put(`%s:%s,`, mode((i+7*t)%modes), rows[(i+t)%4])
		}
		trim(&b, `}},`)
	}
	trim(&b, `],"repairs":[`)
	for r := range 256 {
		put(`{"id":"r%d","at":"s%d","minutes":2,"money":1,"fixes":{`, r, r%4*(r%16))
		for i := range 8 {
			put(`%s:0.9,`, mode((i+8*r)%modes))
		}
		trim(&b, `},"risks":{`)
		for i := range 8 {
			put(`%s:0.01,`, mode((8*(r+i+1))%modes))
		}
		trim(&b, `}},`)
	}
	trim(&b, `]}`)
	return b.Bytes()
}

// trim replaces the comma at the end.
func trim(b *bytes.Buffer, by string) {
	b.Truncate(b.Len() - 1)
	b.WriteString(by)
}

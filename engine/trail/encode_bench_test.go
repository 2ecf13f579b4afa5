package trail

import (
	"fmt"
	"testing"
)

// long returns a trail of so many results.
func long(events int) *Trail {
	t := &Trail{
		ID: "long", Created: "2026-03-04T10:11:12Z", Model: ModelRef{ID: "m", Revision: "1", SHA256: digest},
		Terms: Terms{MinuteValue: 0.5, Currency: "EUR", WorkingValue: 60, AsIsValue: 10, ComebackCost: 40},
	}
	for n := 1; n <= events; n++ {
		x := float64(n) / 7
		t.Events = append(t.Events, Event{N: n, At: "2026-03-04T10:11:12.345Z", Kind: Result, Test: "rail", Reading: &x})
	}
	return t
}

// Time a trail file takes, for the table of time against events.
func BenchmarkLoad(b *testing.B) {
	for _, events := range []int{50, 500, 5000, 50000} {
		text := long(events).Encode()
		b.Run(fmt.Sprintf("%d events", events), func(b *testing.B) {
			b.SetBytes(int64(len(text)))
			for b.Loop() {
				if _, err := Load(text); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*events), "ns/event")
		})
	}
}

func BenchmarkEncode(b *testing.B) {
	for _, events := range []int{50, 5000, 50000} {
		t := long(events)
		b.Run(fmt.Sprintf("%d events", events), func(b *testing.B) {
			for b.Loop() {
				t.Encode()
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*events), "ns/event")
		})
	}
}

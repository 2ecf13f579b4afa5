package plan_test

import "time"

var began = time.Now()

// now returns milliseconds since the tests began.
func now() float64 { return float64(time.Since(began)) / 1e6 }

package runner

import (
	"math"
	"time"

	"pitwise/app/state"
)

// runTimer tells every second how much of the bench timer is left. It goes by the
// clock and not by counting, so that a page that was asleep or loaded anew is right.
func (r *Runner) runTimer(e state.RunTimer, turn int64) {
	end, err := time.Parse(time.RFC3339, e.End)
	if err != nil {
		end = r.Device.Now().Add(time.Duration(e.Minutes) * time.Minute)
	}
	r.Device.Awake(true)
	for r.timer.Load() == turn {
		left := int(math.Ceil(end.Sub(r.Device.Now()).Seconds()))
		r.Send(state.Ticked{ID: e.ID, End: end.UTC().Format(time.RFC3339), Left: left})
		if left <= 0 {
			r.Device.Buzz()
			return
		}
		time.Sleep(time.Second)
	}
}

func (r *Runner) stopTimer() {
	r.timer.Add(1)
	go r.Device.Awake(false)
}

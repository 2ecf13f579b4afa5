package runner

import (
	"math"
	"sync/atomic"
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
	r.stayAwake(&r.timing, true)
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
	r.stayAwake(&r.timing, false)
}

// runSoak tells every second how long the counter of runs has been going, by the clock.
func (r *Runner) runSoak(e state.RunSoak, turn int64) {
	since, err := time.Parse(time.RFC3339, e.Since)
	if err != nil {
		since = r.Device.Now()
	}
	r.stayAwake(&r.soaking, true)
	for r.soak.Load() == turn {
		r.Send(state.Soaked{ID: e.ID, Since: since.UTC().Format(time.RFC3339), Seconds: max(0, int(r.Device.Now().Sub(since).Seconds()))})
		time.Sleep(time.Second)
	}
}

func (r *Runner) stopSoak() {
	r.soak.Add(1)
	r.stayAwake(&r.soaking, false)
}

// stayAwake notes that one of the clocks, or the camera, needs the screen or no longer does. The screen
// may sleep when none does.
func (r *Runner) stayAwake(clock *atomic.Bool, on bool) {
	clock.Store(on)
	go func() { r.Device.Awake(r.timing.Load() || r.soaking.Load() || r.codes.awake.Load()) }()
}

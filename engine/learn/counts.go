package learn

type Bench struct{}

func (b *Bench) lend(f *frame, a []float64) {}
func (fit *Fit) lent() int                  { return len(fit.benches) }

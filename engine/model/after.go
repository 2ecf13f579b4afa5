package model

// After returns the repair's change on a unit on which it has been tried before: tries is, for
// each of Change.Fixes, how many tries the fault has outlived, each at least 0. A fix of chance p
// then has
//
//	kappa*p / (kappa + n)
//
// the next draw from a latent rate Beta(kappa*p, kappa*(1-p)) that failed n times. Without
// Steadiness, with nil and for a fault not tried yet the chance is p to the last bit.
// Source: beta-binomial predictive distribution.
func (r *Repair) After(tries []int) Change {
	if r.Steadiness == 0 {
		return r.Change
	}
	c := r.Change
	for i, n := range tries {
		if n == 0 {
			continue
		}
		if &c.Fixes[0] == &r.Change.Fixes[0] {
			c.Fixes = append([]Chance(nil), c.Fixes...)
		}
		c.Fixes[i].P = float64(r.Steadiness*c.Fixes[i].P) / (r.Steadiness + float64(n))
	}
	return c
}

package learn

import "math"

// trusts are how many times what its sources say the shipped numbers may be worth.
var trusts = []float64{1, 4, 16}

const (
	// trustSpread is the standard deviation of the log of trust before any unit is seen: a factor of eight.
	trustSpread = 2.08
	// trustUnits is from how many different trails at most trust is found.
	trustUnits = 400
	// trustClose is Options.Close while it is.
	trustClose = 2e-2
)

// findTrust returns how far the shipped numbers are to be trusted: the one of trusts by which each half of the
// trails is most probable after learning from the other half (cross-validation; Stone 1974, J. R. Stat.
// Soc. B 36), with a normal prior of its log around 0. For one weight cannot serve both
// numbers that are right, where all learning is noise, and such as are off by as much as their
// weights allow: a weight that wins back the share B of what believing costs then, costs B(1-B) as much
// where the numbers are right.
func (l *Learner) findTrust(fit *Fit, numbers, kappa []float64, o Options) (float64, error) {
	o.Close, o.trace = max(trustClose, o.Close), nil
	parts := halves(fit.groups)
	var from [2]Fit
	for h := range from {
		from[h].numbers, from[h].kappa = numbers, kappa
	}
	best, most := 1.0, math.Inf(-1)
	for i := len(trusts) - 1; i >= 0; i-- { // those that move least first: each sets off where the last one ended
		x := math.Log(trusts[i]) / trustSpread
		sum := -float64(x*x) / 2
		for h := range parts {
			half := *fit
			half.groups, half.alpha, half.Rounds = parts[h], l.alpha(trusts[i]), 0
			if err := half.climb(from[h].numbers, from[h].kappa, o); err != nil {
				return 0, err
			}
			from[h] = half
			sum += half.logOf(parts[1-h])
		}
		if sum >= most {
			best, most = trusts[i], sum
		}
	}
	return best, nil
}

// halves deals trails out, one to each in turn, in the order of their shapes; every so many of very many.
func halves(groups []group) (parts [2][]group) {
	step := (len(groups) + trustUnits - 1) / trustUnits
	turn := 0
	for i := 0; i < len(groups); i += step {
		g := groups[i]
		n := int(g.n)
		for h, n := range [2]int{(n + 1 - turn) / 2, (n + turn) / 2} {
			if n > 0 {
				g.n = float64(n)
				parts[h] = append(parts[h], g)
			}
		}
		turn = (turn + n) % 2
	}
	return parts
}

// logOf returns the log likelihood of trails by the learnt numbers.
func (fit *Fit) logOf(groups []group) float64 {
	r := fit.frame.newRound(fit.numbers, fit.kappa, fit.used, false)
	s := r.smoother()
	s.follow(nil)
	sum := 0.0
	for _, g := range groups {
		log, _ := s.smooth(g.stages, nil)
		sum += float64(g.n * (log - math.Log(r.in)))
	}
	return sum
}

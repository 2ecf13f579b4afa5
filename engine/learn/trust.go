package learn

import (
	"math"
	"slices"
)

// trusts are how many times what its sources say the shipped numbers may be worth.
var trusts = []float64{1, 4, 16}

const (
	// trustErrors is by how many standard errors trails must speak for another trust than 1.
	trustErrors = 2
	// trustLeast is from how many trails on they are asked.
	trustLeast = 20
	// trustUnits is how many different trails are asked at most.
	trustUnits = 400
	// trustClose is Options.Close meanwhile.
	trustClose = 2e-2
)

// findTrust returns how far the shipped numbers are to be trusted: as far as their sources say, but where
// each half of the trails is clearly more probable after learning from the other half with more trust, the trust
// by which it is most so (cross-validation; Stone 1974, J. R. Stat. Soc. B 36). For one weight cannot
// serve both numbers that are right, where all learning is noise, and such as are off by as much as
// their weights allow: a weight that wins back the share B of what believing costs then, costs
// B(1-B) as much where the numbers are right.
func (l *Learner) findTrust(fit *Fit, numbers, kappa []float64, o Options) (float64, error) {
	if fit.Units < trustLeast {
		return 1, nil
	}
	o.Close, o.trace = max(trustClose, o.Close), nil
	parts := halves(fit.groups)
	from := [2]Fit{{numbers: numbers, kappa: kappa}, {numbers: numbers, kappa: kappa}}
	judged := slices.Concat(parts[1], parts[0])
	logs := make([][]float64, len(trusts))
	for i := len(trusts) - 1; i >= 0; i-- { // those that move least first: each sets off where the last one ended
		for h := range parts {
			half := *fit
			half.groups, half.alpha, half.Rounds = parts[h], l.alpha(trusts[i]), 0
			if err := half.climb(from[h].numbers, from[h].kappa, o); err != nil {
				return 0, err
			}
			from[h] = half
			r := fit.frame.newRound(half.numbers, half.kappa, fit.used, false)
			other, err := newWorkers(&half, o).logs(r, parts[1-h])
			if err != nil {
				return 0, err
			}
			logs[i] = append(logs[i], other...)
		}
	}
	best, most := 1.0, 0.0
	for i := range trusts {
		if sum, sd := gain(judged, logs[i], logs[0]); sum > most && sum > trustErrors*sd {
			best, most = trusts[i], sum
		}
	}
	return best, nil
}

// gain returns by how much trails are more probable by logs than by base, and the standard error of that.
func gain(trails []group, logs, base []float64) (sum, sd float64) {
	var n, squares float64
	for i, g := range trails {
		x := logs[i] - base[i]
		n += g.n
		sum += float64(g.n * x)
		squares += float64(float64(g.n*x) * x)
	}
	return sum, math.Sqrt(max(0, squares-float64(sum*sum)/n) * n / (n - 1))
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

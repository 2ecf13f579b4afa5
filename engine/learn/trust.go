package learn

import (
	"math"
	"slices"
)

// trusts are how many times what its sources say the shipped numbers may be worth.
var trusts = [4]float64{1, 4, 16, 64}

const (
	// trustLeast is from how many trails on they are asked. Fewer tell nothing: any trust is as good as another.
	trustLeast = 4
	// trustUnits is how many different trails are asked at most.
	trustUnits = 400
	// trustTold is from which trust on it is one beyond what the sources say.
	trustTold = 1.05
	// trustClose is Options.Close meanwhile.
	trustClose = 2e-2
	// trustDraws is of how many resamples the odds of trusts are the mean.
	trustDraws = 400
)

// findTrust returns how far the shipped numbers are to be trusted: each half of the trails is judged after learning from the
// other half (cross-validation; Stone 1974, J. R. Stat. Soc. B 36), that gives each of trusts its odds (weigh), and
// what is returned is their middle. For one weight cannot serve both numbers that are right, where all learning is noise, and
// such as are off by as much as their weights allow: a weight that wins back the share B of what
// believing costs then, costs B(1-B) as much where the numbers are right. It sets off from numbers and kappa, and moves
// them to what was found on the way: a good place to set off from with all trails.
func (l *Learner) findTrust(fit *Fit, numbers, kappa []float64, o Options) (float64, error) {
	switch {
	case fit.Units == 0:
		return 1, nil
	case fit.Units < trustLeast:
		return middle([len(trusts)]float64{0.25, 0.25, 0.25, 0.25}), nil
	}
	o.Close, o.trace, o.rough = max(trustClose, o.Close), nil, true
	parts := halves(fit.groups)
	from := [2]Fit{{numbers: slices.Clone(numbers), kappa: slices.Clone(kappa)}, {numbers: slices.Clone(numbers), kappa: slices.Clone(kappa)}}
	judged := slices.Concat(parts[1], parts[0])
	var logs [len(trusts)][]float64
	var found [len(trusts)][2]Fit
	for i := len(trusts) - 1; i >= 0; i-- { // those that move least first: each sets off where the last one ended
		for h := range parts {
			half := *fit
			half.groups, half.alpha, half.Rounds = parts[h], l.alpha(trusts[i]), 0
			if err := half.climb(from[h].numbers, from[h].kappa, o); err != nil {
				return 0, err
			}
			from[h], found[i][h] = half, half
			r := fit.frame.newRound(half.numbers, half.kappa, fit.used, nil)
			other, err := newWorkers(&half, o).logs(r, parts[1-h])
			if err != nil {
				return 0, err
			}
			logs[i] = append(logs[i], other...)
		}
	}
	trust := middle(weigh(judged, logs))
	near := 0
	for near+1 < len(trusts) && trust*trust > trusts[near]*trusts[near+1] {
		near++
	}
	a, b := &found[near][0], &found[near][1]
	for k := range numbers {
		numbers[k] = (a.numbers[k] + b.numbers[k]) / 2
	}
	for c := range kappa {
		kappa[c] = (a.kappa[c] + b.kappa[c]) / 2
	}
	return trust, nil
}

// weigh returns the odds of each of trusts by how probable each made trails that were not learnt from: in proportion
//
//	exp(sum over trails of log P)
//
// as the mean over resamples in which each trail counts by a random weight, exponential and scaled to the number of
// trails. Without these the odds would hang on the few trails that happen to speak loudest.
// Source: pseudo-BMA+ with the Bayesian bootstrap; Yao, Vehtari, Simpson & Gelman (2018), Bayesian Anal. 13(3).
func weigh(trails []group, logs [len(trusts)][]float64) (shares [len(trusts)]float64) {
	d := newDice(1, 0, 0)
	units := 0.0
	for _, g := range trails {
		units += g.n
	}
	for range trustDraws {
		var sums [len(trusts)]float64
		all := 0.0
		for t, g := range trails {
			w := math.Exp(d.logGamma(g.n)) // of as many exponential ones
			all += w
			for i := range sums {
				sums[i] += float64(w * (logs[i][t] - logs[0][t]))
			}
		}
		most := slices.Max(sums[:])
		odds, whole := sums, 0.0
		for i, x := range sums {
			odds[i] = math.Exp(float64((x - most) * units / all))
			whole += odds[i]
		}
		for i, x := range odds {
			shares[i] += x / float64(whole*trustDraws)
		}
	}
	return shares
}

// middle returns the geometric mean of trusts with those shares, to three digits: its last bits would
// differ between machines.
func middle(shares [len(trusts)]float64) float64 {
	log := 0.0
	for i, x := range shares {
		log += float64(x * math.Log2(trusts[i]))
	}
	return math.Round(float64(math.Exp2(log)*1000)) / 1000
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

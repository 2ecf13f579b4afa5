package belief

import "math"

// The nodes above 0 and the weights of 16-point Gauss-Legendre quadrature on [-1, 1].
// Worked out to 60 digits by Newton's method on the Legendre polynomial.
var legendre = [8][2]float64{
	{0.0950125098376374401853, 0.1894506104550684962853},
	{0.2816035507792589132304, 0.1826034150449235888667},
	{0.4580167776572273863424, 0.1691565193950025381893},
	{0.6178762444026437484466, 0.1495959888165767320815},
	{0.7554044083550030338951, 0.1246289712555338720524},
	{0.8656312023878317438804, 0.0951585116824927848099},
	{0.9445750230732325760779, 0.0622535239386478928628},
	{0.9894009349916499325961, 0.0271524594117540948517},
}

// normalMass returns the probability that a standard normal variable lies in [a, b),
// where a < b and either may be infinite. width is b - a, which the caller may know to
// more digits. The relative error is about 1e-15 near the middle and grows as z*z*1e-16
// towards the tails; beyond 38 the mass is 0.
//
// It integrates the density panel by panel away from the middle, so that a tail or a
// sliver is never the difference of two larger numbers.
func normalMass(a, b, width float64) float64 {
	if width < 0.5 && width*math.Max(math.Abs(a), math.Abs(b)) < 4 {
		return panel(a+float64(width*0.5), float64(width*0.5))
	}
	switch {
	case a < 0 && b > 0:
		return normalTail(0, -a) + normalTail(0, b)
	case b <= 0:
		return normalTail(-b, -a)
	}
	return normalTail(a, b)
}

// normalTail is normalMass for 0 <= a.
func normalTail(a, b float64) float64 {
	sum := 0.0
	for a < b {
		// On a panel of width w at z the density falls as exp(-z w): keep z w small.
		end := a + 1
		if a > 8 {
			end = a + 8/a
		}
		end = math.Min(end, b)
		half := float64((end - a) * 0.5)
		part := panel(a+half, half)
		sum += part
		if part <= float64(sum*1e-18) { // also ends where the density underflows
			break
		}
		a = end
	}
	return sum
}

// panel integrates the normal density over [mid-half, mid+half].
func panel(mid, half float64) float64 {
	sum := 0.0
	for i := len(legendre) - 1; i >= 0; i-- {
		d := float64(half * legendre[i][0])
		sum += float64(legendre[i][1] * (density(mid-d) + density(mid+d)))
	}
	return float64(half * sum)
}

// density returns exp(-z*z/2)/sqrt(2 pi).
func density(z float64) float64 {
	const root = 0.398942280401432677939946059934381868475858631164935
	return float64(root * exp(-float64(float64(z*z)*0.5)))
}

// exp returns e to the x, x at most 0, within 2 units in the last place. Unlike
// math.Exp it gives the same bits on every machine.
func exp(x float64) float64 {
	const (
		high = 0x1.62e42fee00000p-1 // log 2 in two parts; a small integer times high is exact
		low  = 0x1.a39ef35793c76p-33
	)
	if !(x >= -745) {
		return 0
	}
	k := math.Round(float64(x * (1 / math.Ln2)))
	r := (x - float64(k*high)) - float64(k*low)
	// |r| <= log(2)/2: the term in r^15 is below 1e-19.
	sum := 1.0
	for n := 14.0; n >= 1; n-- {
		sum = 1 + float64(float64(r*sum)/n)
	}
	return math.Ldexp(sum, int(k))
}

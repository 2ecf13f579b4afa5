package oracle

import (
	"math"
	"math/big"
)

// bits is the precision of every number: 320 bits are 96 decimal digits.
const bits = 320

type num = *big.Float

func zero() num           { return new(big.Float).SetPrec(bits) }
func exact(x float64) num { return zero().SetFloat64(x) }
func whole(n int) num     { return zero().SetInt64(int64(n)) }
func add(a, b num) num    { return zero().Add(a, b) }
func sub(a, b num) num    { return zero().Sub(a, b) }
func mul(a, b num) num    { return zero().Mul(a, b) }
func quo(a, b num) num    { return zero().Quo(a, b) }
func root(a num) num      { return zero().Sqrt(a) }
func float(a num) float64 { f, _ := a.Float64(); return f }
func half(a num) num      { return zero().SetMantExp(a, -1) }
func negligible(a, b num) bool { // a adds nothing to b
	return a.Sign() == 0 || b.Sign() != 0 && a.MantExp(nil) < b.MantExp(nil)-bits-2
}

// exp is e to the x, by the power series on x over a power of two.
func exp(x num) num {
	const more = bits + 128 // squaring doubles the error each time
	halvings := 0
	if x.Sign() != 0 {
		halvings = max(0, x.MantExp(nil)+16)
	}
	small := new(big.Float).SetPrec(more).SetMantExp(new(big.Float).SetPrec(more).Set(x), -halvings)
	sum := new(big.Float).SetPrec(more).SetInt64(1)
	term := new(big.Float).SetPrec(more).SetInt64(1)
	for n := int64(1); ; n++ {
		term.Mul(term, small)
		term.Quo(term, new(big.Float).SetPrec(more).SetInt64(n))
		if term.Sign() == 0 || term.MantExp(nil) < -more {
			break
		}
		sum.Add(sum, term)
	}
	for range halvings {
		sum.Mul(sum, sum)
	}
	return zero().Set(sum)
}

// ln is the natural logarithm of x > 0, by Halley's steps on exp from a float64 start.
func ln(x num) num {
	mantissa := zero()
	power := x.MantExp(mantissa)
	m, _ := mantissa.Float64()
	y := exact(math.Log(m) + float64(power)*math.Ln2)
	for range 3 { // 50 good bits become 150, 450
		e := exp(y)
		y = add(y, quo(mul(whole(2), sub(x, e)), add(x, e)))
	}
	return y
}

// pi by Machin's formula: 16 atan(1/5) - 4 atan(1/239).
func pi() num {
	return sub(mul(whole(16), arctan(5)), mul(whole(4), arctan(239)))
}

// arctan of 1/n, by its power series.
func arctan(n int) num {
	sum := zero()
	power := quo(whole(1), whole(n))
	for k := 0; ; k++ {
		term := quo(power, whole(2*k+1))
		if negligible(term, sum) {
			return sum
		}
		if k%2 == 0 {
			sum = add(sum, term)
		} else {
			sum = sub(sum, term)
		}
		power = quo(power, whole(n*n))
	}
}

var rootTwoPi = root(mul(whole(2), pi()))

// upper is the normal mass above z >= 0, with small relative error. Sources: the series
// for the mass between 0 and z with positive terms, phi(z) * sum of z^(2n+1)/(2n+1)!!,
// and Laplace's continued fraction for the tail, phi(z)/(z+1/(z+2/(z+3/(...))));
// Abramowitz & Stegun (1964) 26.2.11 and 26.2.14, from memory.
func upper(z num) num {
	density := quo(exp(half(mul(z, z)).Neg(half(mul(z, z)))), rootTwoPi)
	if float(z) < 7 { // above 1e-12, so at most 40 bits cancel below
		sum, term := zero().Set(z), zero().Set(z)
		for n := 1; ; n++ {
			term = quo(mul(term, mul(z, z)), whole(2*n+1))
			if negligible(term, sum) {
				break
			}
			sum = add(sum, term)
		}
		return sub(half(whole(1)), mul(density, sum))
	}
	value := zero()
	for depth := 64; ; depth *= 2 {
		next := zero().Set(z)
		for n := depth; n > 0; n-- {
			next = add(z, quo(whole(n), next))
		}
		if depth > 64 && negligible(zero().SetMantExp(zero().Abs(sub(next, value)), -20), next) {
			return quo(density, next)
		}
		value = next
	}
}

// between is the normal mass from a to b; nil is unbounded.
func between(a, b num) num {
	switch {
	case a == nil && b == nil:
		return whole(1)
	case a == nil && b.Sign() <= 0:
		return upper(zero().Neg(b))
	case a == nil:
		return sub(whole(1), upper(b))
	case b == nil && a.Sign() >= 0:
		return upper(a)
	case b == nil:
		return sub(whole(1), upper(zero().Neg(a)))
	case a.Sign() >= 0:
		return sub(upper(a), upper(b))
	case b.Sign() <= 0:
		return sub(upper(zero().Neg(b)), upper(zero().Neg(a)))
	}
	return sub(sub(whole(1), upper(b)), upper(zero().Neg(a)))
}

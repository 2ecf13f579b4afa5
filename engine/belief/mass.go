package belief

import "math"

// step is the factor between two levels of a mass: a mass m at level e stands for
// m * 2^(-512 e), with m in [2^-256, 2^256), so that levels do not overlap. In a sum, what
// is two levels down is less than 2^-512 of the rest.
const (
	step = 0x1p512
	down = 0x1p-512
	most = 0x1p256
	tiny = 0x1p-256
)

// masses are non-negative numbers, one a hypothesis or a class, whose ratios can be
// far beyond what a float64 holds. m[i] is 0 or in [2^-256, 2^256) at level e[i].
type masses struct {
	m []float64
	e []int32
}

func newMasses(n int) masses { return masses{make([]float64, n), make([]int32, n)} }

func (a masses) clone() masses {
	return masses{append([]float64(nil), a.m...), append([]int32(nil), a.e...)}
}

// ones returns n masses of 1.
func ones(n int) masses {
	a := newMasses(n)
	for i := range a.m {
		a.m[i] = 1
	}
	return a
}

// settle brings m back into its range.
func settle(m float64, e int32) (float64, int32) {
	if m == 0 {
		return 0, 0
	}
	for m < tiny {
		m *= step
		e++
	}
	for m >= most {
		m *= down
		e--
	}
	return m, e
}

// scale multiplies mass i by f at level e.
func (a masses) scale(i int, f float64, e int32) {
	a.m[i], a.e[i] = settle(float64(a.m[i]*f), a.e[i]+e)
}

// plus returns the sum of two masses.
func plus(m float64, e int32, n float64, f int32) (float64, int32) {
	switch {
	case n == 0:
		return m, e
	case m == 0:
		return n, f
	case e == f:
		return settle(m+n, e)
	case e < f && f-e == 1:
		return settle(m+float64(n*down), e)
	case f < e && e-f == 1:
		return settle(n+float64(m*down), f)
	case e < f:
		return m, e
	}
	return n, f
}

// total returns the sum of all masses.
func (a masses) total() (float64, int32) {
	level := int32(math.MaxInt32)
	for i, m := range a.m {
		if m != 0 && a.e[i] < level {
			level = a.e[i]
		}
	}
	var sum, rest neumaier
	for i, m := range a.m {
		switch a.e[i] - level {
		case 0:
			sum.add(m)
		case 1:
			rest.add(m)
		}
	}
	s := sum.value()
	if s == 0 {
		return 0, 0
	}
	return settle(s+float64(rest.value()*down), level)
}

// normalise scales the masses so that they sum to 1 and returns the log of what they
// summed to. It reports false, and changes nothing, if they sum to 0.
func (a masses) normalise() (logTotal float64, ok bool) {
	t, level := a.total()
	if !(t > 0) || math.IsInf(t, 0) {
		return 0, false
	}
	for i, m := range a.m {
		if m != 0 {
			a.m[i], a.e[i] = settle(m/t, a.e[i]-level)
		}
	}
	return logMass(t, level), true
}

func logMass(m float64, e int32) float64 {
	return math.Log(m) - float64(float64(e)*(512*math.Ln2))
}

// plain returns mass i as a float64, 0 if it is too small for one.
func (a masses) plain(i int) float64 { return plain(a.m[i], a.e[i]) }

// plain returns a mass of at most about 1 as a float64, 0 if it is too small for one.
func plain(m float64, e int32) float64 {
	for ; e > 0 && m != 0; e-- {
		m = float64(m * down)
	}
	return m
}

// neumaier is a sum that keeps what rounding takes away.
type neumaier struct{ sum, lost float64 }

func (s *neumaier) add(x float64) {
	t := s.sum + x
	if math.Abs(s.sum) >= math.Abs(x) {
		s.lost += (s.sum - t) + x
	} else {
		s.lost += (x - t) + s.sum
	}
	s.sum = t
}

func (s *neumaier) value() float64 { return s.sum + s.lost }

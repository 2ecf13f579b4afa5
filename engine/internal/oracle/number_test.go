package oracle

import (
	"math/big"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// near fails unless got and want, written in decimals, agree to the given number of
// digits.
func near(t *testing.T, want string, got num, digits int) {
	t.Helper()
	w, _, err := big.ParseFloat(want, 10, bits, big.ToNearestEven)
	require.NoError(t, err)
	bound := zero().Abs(w)
	for range digits {
		bound = quo(bound, whole(10))
	}
	assert.LessOrEqual(t, zero().Abs(sub(w, got)).Cmp(bound), 0, "want %s, got %s", want, got.Text('g', 45))
}

// Source of every number here: mpmath 1.3.0 with 60 digits.
func TestElementaryFunctionsAgreeWithMpmath(t *testing.T) {
	near(t, "2.7182818284590452353602874713526624977572470937", exp(whole(1)), 45)
	near(t, "8.3937567333565545373618582722089350915155016110194e-88", exp(exact(-200.5)), 45)
	near(t, "0.69314718055994530941723212145817656807550013436026", ln(whole(2)), 45)
	near(t, "-1.0986122886681096913952452369225257046474905578227", ln(quo(whole(1), whole(3))), 45)
	near(t, "3.1415926535897932384626433832795028841971693993751", pi(), 45)
}

func TestTheNormalTailAgreesWithMpmath(t *testing.T) {
	for z, want := range map[float64]string{
		0:                 "0.5",
		0.5:               "0.3085375387259868963622953893916622601164",
		1:                 "0.1586552539314570514147674543679620775221",
		1.959963984540054: "0.0250000000000000108761680242231185419938",
		3:                 "0.001349898031630094526651814767594977377829",
		6.9:               "0.000000000002600126965638166335379131613456906259132",
		7:                 "0.000000000001279812543885835004383623690780832998033",
		7.1:               "6.237844463331591140548496684854770245584e-13",
		8:                 "6.220960574271784123515995172588188422489e-16",
		20:                "2.753624118606233695075622780857465332807e-89",
		38:                "2.885428360068784308350970481566904094662e-316",
		100:               "1.344179076744198305073080167135252846623e-2174",
	} {
		near(t, want, upper(exact(z)), 38)
	}
}

func TestMassBetweenTwoPointsIsTheSameFromEitherSide(t *testing.T) {
	for _, c := range [][2]float64{{-1, 2}, {0.5, 0.5000001}, {19, 20}, {-0.001, 0.001}} {
		a, b := exact(c[0]), exact(c[1])
		mirrored := between(zero().Neg(b), zero().Neg(a))
		near(t, between(a, b).Text('g', 60), mirrored, 40)
		all := add(add(between(nil, a), between(a, b)), between(b, nil))
		near(t, "1", all, 80)
	}
	assert.Equal(t, 1.0, float(between(nil, nil)))
}

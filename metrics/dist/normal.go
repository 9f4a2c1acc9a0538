package dist

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// NormalPDF is the standard normal density at x.
func NormalPDF(x float64) float64 {
	if math.IsNaN(x) {
		return 0
	}
	return math.Exp(-0.5*x*x - halfLogTwoPi)
}

// NormalCDF is P(Z <= x) for a standard normal Z, by the complementary error
// function, so that the far lower tail keeps its relative precision.
func NormalCDF(x float64) float64 {
	if math.IsNaN(x) {
		return 0
	}
	return 0.5 * math.Erfc(-x/math.Sqrt2)
}

// NormalTail is P(Z > x) for a standard normal Z.
func NormalTail(x float64) float64 {
	if math.IsNaN(x) {
		return 0
	}
	return 0.5 * math.Erfc(x/math.Sqrt2)
}

// NormalQuantile is the x with P(Z <= x) = p; -Inf at p <= 0 and +Inf at p >= 1.
//
// The start value comes from a general numerical library; one step of Halley's
// method against NormalCDF removes what error it has in the tails.
func NormalQuantile(p float64) float64 {
	p = unit(p)
	switch p {
	case 0:
		return math.Inf(-1)
	case 1:
		return math.Inf(1)
	case 0.5:
		return 0
	}
	if p > 0.5 {
		return -normalLower(1 - p)
	}
	return normalLower(p)
}

// NormalUpperQuantile is the x with P(Z > x) = p, exact for tiny p where 1 - p
// would have been rounded.
func NormalUpperQuantile(p float64) float64 { return -NormalQuantile(p) }

func normalLower(p float64) float64 {
	x := mathext.NormalQuantile(p)
	d := NormalPDF(x)
	if d == 0 {
		return x
	}
	e := (NormalCDF(x) - p) / d
	return x - e/(1+x*e/2)
}

package estimate

import (
	"fmt"
	"math"

	"chestrise/metrics/dist"
)

// RunsPMF is the probability of exactly r runs when a and b points of two kinds lie
// in random order:
//
//	r = 2k:   2 C(a-1,k-1) C(b-1,k-1) / C(a+b,a)
//	r = 2k+1: (C(a-1,k) C(b-1,k-1) + C(a-1,k-1) C(b-1,k)) / C(a+b,a)
//
// 0 for an impossible r. Source: Wald & Wolfowitz 1940; Swed & Eisenhart 1943.
func RunsPMF(r, a, b int) float64 {
	if a < 0 || b < 0 || r < 1 || a+b == 0 {
		return 0
	}
	if a == 0 || b == 0 {
		if r == 1 {
			return 1
		}
		return 0
	}
	all := dist.LogChoose(a+b, a)
	c := func(x, y int) float64 { return math.Exp(dist.LogChoose(a-1, x) + dist.LogChoose(b-1, y) - all) }
	k := r / 2
	if r%2 == 0 {
		return 2 * c(k-1, k-1)
	}
	return c(k, k-1) + c(k-1, k)
}

// RunsCDF is the probability of at most r runs; see RunsPMF.
func RunsCDF(r, a, b int) float64 {
	p := 0.0
	for i := 1; i <= r; i++ {
		p += RunsPMF(i, a, b)
	}
	return math.Min(p, 1)
}

// RunsCritical gives the numbers of runs that are too few (r <= lower) and too many
// (r >= upper) at a chance of at most alpha on each side; 0 where no number of runs
// is rare enough.
func RunsCritical(a, b int, alpha float64) (lower, upper int) {
	below, most := 0.0, 2*min(a, b)+1
	if a == b {
		most = 2 * a
	}
	for r := 1; r <= most; r++ {
		if below += RunsPMF(r, a, b); below > alpha*(1+1e-12) {
			break
		}
		if below > 0 {
			lower = r
		}
	}
	above := 0.0
	for r := most; r >= 1; r-- {
		if above += RunsPMF(r, a, b); above > alpha*(1+1e-12) {
			break
		}
		if above > 0 {
			upper = r
		}
	}
	return lower, upper
}

// RunsTest is the large-sample test for the number of runs.
type RunsTest struct {
	Above, Below, Runs int
	Expected, SD, Z, P float64
}

// RunsAbout tests the number of runs of values above and below a centre, values on it
// dropped; two-sided. False where one side is empty or the spread is 0. Source:
// NIST/SEMATECH e-Handbook 1.3.5.13.
func RunsAbout(x []float64, centre float64) (RunsTest, bool, error) {
	if err := checkNumbers(append([]float64{centre}, x...)); err != nil {
		return RunsTest{}, false, fmt.Errorf("runs test: %w", err)
	}
	var t RunsTest
	last := 0
	for _, v := range x {
		side := 0
		switch {
		case v > centre:
			side = 1
			t.Above++
		case v < centre:
			side = -1
			t.Below++
		default:
			continue
		}
		if side != last {
			t.Runs++
			last = side
		}
	}
	a, b := float64(t.Above), float64(t.Below)
	n := a + b
	if a == 0 || b == 0 || n < 3 {
		return t, false, nil
	}
	t.Expected = 2*a*b/n + 1
	t.SD = math.Sqrt(2 * a * b * (2*a*b - n) / (n * n * (n - 1)))
	if t.SD == 0 {
		return t, false, nil
	}
	t.Z = (float64(t.Runs) - t.Expected) / t.SD
	t.P = math.Min(1, 2*dist.NormalTail(math.Abs(t.Z)))
	return t, true, nil
}

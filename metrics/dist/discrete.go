package dist

import "math"

// BinomialPMF is P(X = k) for the number X of events in n independent trials of
// probability p each.
//
// Formula: saddle-point form of C(n,k) p^k (1-p)^(n-k). Source: Loader (2000),
// from memory.
func BinomialPMF(k, n int, p float64) float64 {
	p = unit(p)
	if n < 0 || k < 0 || k > n {
		return 0
	}
	q := 1 - p
	switch {
	case p == 0:
		return indicator(k == 0)
	case q == 0:
		return indicator(k == n)
	case n == 0:
		return 1
	case k == 0:
		return math.Exp(float64(n) * math.Log1p(-p))
	case k == n:
		return math.Exp(float64(n) * math.Log(p))
	}
	x, m := float64(k), float64(n)
	lc := stirlingError(m) - stirlingError(x) - stirlingError(m-x) -
		devianceTerm(x, m*p) - devianceTerm(m-x, m*q)
	return math.Exp(lc+0.5*math.Log(m/(x*(m-x)))) / math.Sqrt(2*math.Pi)
}

// BinomialCDF is P(X <= k) for n trials of probability p.
func BinomialCDF(k, n int, p float64) float64 {
	lower, _ := binomialSides(k, n, unit(p))
	return lower
}

// BinomialTail is P(X > k) for n trials of probability p, not formed as a
// difference from 1 where that would lose digits.
func BinomialTail(k, n int, p float64) float64 {
	_, upper := binomialSides(k, n, unit(p))
	return upper
}

// binomialSides sums the side of k that is away from the mean and takes the other
// as its complement.
func binomialSides(k, n int, p float64) (lower, upper float64) {
	if n < 0 || k >= n {
		return 1, 0
	}
	if k < 0 {
		return 0, 1
	}
	switch p {
	case 0:
		return 1, 0
	case 1:
		return 0, 1
	}
	odds := p / (1 - p)
	if float64(k) < float64(n)*p {
		term := BinomialPMF(k, n, p)
		for j := k; j >= 0 && term > 0; j-- {
			lower += term
			if term < lower*0x1p-60 {
				break
			}
			term *= float64(j) / float64(n-j+1) / odds
		}
		lower = math.Min(lower, 1)
		return lower, 1 - lower
	}
	term := BinomialPMF(k+1, n, p)
	for j := k + 1; j <= n && term > 0; j++ {
		upper += term
		if term < upper*0x1p-60 {
			break
		}
		term *= float64(n-j) / float64(j+1) * odds
	}
	upper = math.Min(upper, 1)
	return 1 - upper, upper
}

// BinomialQuantile is the smallest k with P(X <= k) >= q for n trials of
// probability p; 0 at q <= 0 and n at q >= 1 (0 where p is 0).
func BinomialQuantile(q float64, n int, p float64) int {
	q, p = unit(q), unit(p)
	if n <= 0 || q == 0 || p == 0 {
		return 0
	}
	if q == 1 || p == 1 {
		return n
	}
	start := float64(n)*p + NormalQuantile(q)*math.Sqrt(float64(n)*p*(1-p))
	return discreteQuantile(int(math.Min(math.Max(start, 0), float64(n))), 0, n, q,
		func(k int) (float64, float64) { return binomialSides(k, n, p) })
}

// PoissonPMF is P(X = k) for a Poisson count of mean lambda.
//
// Formula: saddle-point form of e^-lambda lambda^k / k!. Source: Loader (2000),
// from memory.
func PoissonPMF(k int, lambda float64) float64 {
	lambda = nonNegative(lambda)
	switch {
	case k < 0, math.IsInf(lambda, 1):
		return 0
	case lambda == 0:
		return indicator(k == 0)
	case k == 0:
		return math.Exp(-lambda)
	}
	x := float64(k)
	return math.Exp(-stirlingError(x)-devianceTerm(x, lambda)) / math.Sqrt(2*math.Pi*x)
}

// PoissonCDF is P(X <= k) for a Poisson count of mean lambda.
func PoissonCDF(k int, lambda float64) float64 {
	lower, _ := poissonSides(k, nonNegative(lambda))
	return lower
}

// PoissonTail is P(X > k) for a Poisson count of mean lambda.
func PoissonTail(k int, lambda float64) float64 {
	_, upper := poissonSides(k, nonNegative(lambda))
	return upper
}

func poissonSides(k int, lambda float64) (lower, upper float64) {
	if k < 0 || math.IsInf(lambda, 1) {
		return 0, 1
	}
	if lambda == 0 {
		return 1, 0
	}
	if float64(k) < lambda {
		term := PoissonPMF(k, lambda)
		for j := k; j >= 0 && term > 0; j-- {
			lower += term
			if term < lower*0x1p-60 {
				break
			}
			term *= float64(j) / lambda
		}
		lower = math.Min(lower, 1)
		return lower, 1 - lower
	}
	term := PoissonPMF(k+1, lambda)
	for j := k + 1; term > 0; j++ {
		upper += term
		if term < upper*0x1p-60 {
			break
		}
		term *= lambda / float64(j+1)
	}
	upper = math.Min(upper, 1)
	return 1 - upper, upper
}

// maxCount bounds the counts a quantile may return: past it a count no longer
// fits an exact float64 and the answer would be fiction.
const maxCount = 1 << 53

// PoissonQuantile is the smallest k with P(X <= k) >= q for a Poisson count of
// mean lambda. At q >= 1, where no finite k exists, and for means past 2^53 it
// gives 2^53.
func PoissonQuantile(q, lambda float64) int {
	q, lambda = unit(q), nonNegative(lambda)
	if q == 0 || lambda == 0 {
		return 0
	}
	if q == 1 || lambda >= maxCount/2 {
		return maxCount
	}
	start := lambda + NormalQuantile(q)*math.Sqrt(lambda)
	return discreteQuantile(int(math.Max(start, 0)), 0, maxCount, q,
		func(k int) (float64, float64) { return poissonSides(k, lambda) })
}

// discreteQuantile walks from a start value to the smallest k in [lo, hi] whose
// cumulative probability reaches q; it compares on the smaller side, so that an
// upper quantile of 1 - 1e-12 is found as exactly as a lower one.
func discreteQuantile(k, lo, hi int, q float64, sides func(int) (float64, float64)) int {
	reaches := func(k int) bool {
		lower, upper := sides(k)
		if q > 0.5 {
			return upper <= (1-q)*(1+fuzz)
		}
		return lower >= q*(1-fuzz)
	}
	// Doubling steps bracket the answer, halving finds it.
	a, b := k, k
	for step := 1; a >= lo && reaches(a); step *= 2 {
		b = a
		a -= step
	}
	if a < lo {
		a = lo - 1
	}
	for step := 1; b < hi && !reaches(b); step *= 2 {
		a = b
		b = min(b+step, hi)
	}
	for b-a > 1 {
		m := a + (b-a)/2
		if reaches(m) {
			b = m
		} else {
			a = m
		}
	}
	return b
}

// GeometricCDF is P(X <= k) for the number X of non-events before an event of
// probability p per trial (support 0, 1, 2, ...): 1 - (1-p)^(k+1).
func GeometricCDF(k int, p float64) float64 {
	if k < 0 {
		return 0
	}
	p = unit(p)
	if p == 1 {
		return 1
	}
	return -math.Expm1(float64(k+1) * math.Log1p(-p))
}

// GeometricTail is P(X > k) = (1-p)^(k+1); see GeometricCDF.
func GeometricTail(k int, p float64) float64 {
	if k < 0 {
		return 1
	}
	p = unit(p)
	if p == 1 {
		return 0
	}
	return math.Exp(float64(k+1) * math.Log1p(-p))
}

// GeometricQuantile is the smallest k with P(X <= k) >= q; see GeometricCDF. With
// p = 0 or q = 1, where no finite k exists, it gives 2^53.
func GeometricQuantile(q, p float64) int {
	q, p = unit(q), unit(p)
	switch {
	case q == 0 || p == 1:
		return 0
	case q == 1 || p == 0:
		return maxCount
	}
	start := math.Ceil(math.Log1p(-q)/math.Log1p(-p)) - 1
	if !(start < maxCount) {
		return maxCount
	}
	return discreteQuantile(int(math.Max(start, 0)), 0, maxCount, q, func(k int) (float64, float64) {
		return GeometricCDF(k, p), GeometricTail(k, p)
	})
}

// HypergeometricPMF is P(X = k) for the number X of marked units among n drawn
// without return from total units of which marked are marked.
func HypergeometricPMF(k, marked, total, n int) float64 {
	if k < 0 || k > marked || k > n || n-k > total-marked || marked > total || n > total {
		return 0
	}
	return math.Exp(LogChoose(marked, k) + LogChoose(total-marked, n-k) - LogChoose(total, n))
}

func indicator(b bool) float64 {
	if b {
		return 1
	}
	return 0
}

package compare

import (
	"fmt"
	"math"

	"chestrise/metrics/dist"
)

// Pooled is the share of all units together; false without cases.
func Pooled(events, cases []int) (float64, bool, error) {
	if err := checkUnits(events, cases); err != nil {
		return 0, false, err
	}
	x, n := 0, 0
	for i := range events {
		x += events[i]
		n += cases[i]
	}
	if n == 0 {
		return 0, false, nil
	}
	return float64(x) / float64(n), true, nil
}

// Interpolated is the name of the rule by which exact funnel limits are smoothed
// between counts; others exist (PLoS ONE 7 (2012) e45723), so it is printed.
const Interpolated = "exact binomial, interpolated (Spiegelhalter 2005)"

// Limit is a funnel limit for n cases at a target share: the value under which a share
// p of units lies when nothing differs,
//
//	R = smallest r with P(X <= r) > p,  a = (P(X <= R) - p)/P(X = R),  (R - a)/n
//
// Raw may be below 0 or above 1 for small n; draw Clamped. Source: Spiegelhalter,
// Statistics in Medicine 24 (2005) 1185-1202, appendix A.
func Limit(n int, target, p float64) (raw float64, err error) {
	if err := checkShare(target, "target"); err != nil {
		return 0, err
	}
	if n < 1 || !(p > 0 && p < 1) {
		return 0, fmt.Errorf("funnel limit for %d cases at probability %v", n, p)
	}
	return interpolated(p, func(k int) float64 { return dist.BinomialCDF(k, n, target) },
		func(k int) float64 { return dist.BinomialPMF(k, n, target) }, dist.BinomialQuantile(p, n, target)) / float64(n), nil
}

// RatioLimit is a funnel limit for a ratio of observed to expected at a target of 1: the
// same with a Poisson count of the expected mean, divided by it.
func RatioLimit(expected, p float64) (raw float64, err error) {
	if !(expected > 0 && expected <= 1e9) || !(p > 0 && p < 1) {
		return 0, fmt.Errorf("funnel limit for %v expected at probability %v", expected, p)
	}
	return interpolated(p, func(k int) float64 { return dist.PoissonCDF(k, expected) },
		func(k int) float64 { return dist.PoissonPMF(k, expected) }, dist.PoissonQuantile(p, expected)) / expected, nil
}

// interpolated finds R from the quantile r, which may be one short where the cumulative
// probability equals p exactly.
func interpolated(p float64, cdf, pmf func(int) float64, r int) float64 {
	for cdf(r) <= p && pmf(r+1) > 0 {
		r++
	}
	at := pmf(r)
	if at == 0 {
		return float64(r)
	}
	return float64(r) - (cdf(r)-p)/at
}

// Clamped is a limit as it is drawn: within 0 and 1.
func Clamped(raw float64) float64 { return math.Min(1, math.Max(0, raw)) }

// NormalLimit is the normal-theory limit target + z sqrt(target (1-target)/n) at
// probability p; may lie outside 0 and 1.
func NormalLimit(n int, target, p float64) (float64, error) {
	if err := checkShare(target, "target"); err != nil {
		return 0, err
	}
	if n < 1 || !(p > 0 && p < 1) {
		return 0, fmt.Errorf("funnel limit for %d cases at probability %v", n, p)
	}
	return target + dist.NormalQuantile(p)*math.Sqrt(target*(1-target)/float64(n)), nil
}

// Zs gives the distance of each unit from the target in standard errors,
// (p - t)/sqrt(t(1-t)/n), and variance-stabilised, 2 sqrt(n)(asin sqrt p - asin sqrt t).
// Units without cases, and every unit at a target of 0 or 1, get nil.
func Zs(events, cases []int, target float64) (plain, stabilised []*float64, err error) {
	if err := checkUnits(events, cases); err != nil {
		return nil, nil, err
	}
	if err := checkShare(target, "target"); err != nil {
		return nil, nil, err
	}
	plain, stabilised = make([]*float64, len(events)), make([]*float64, len(events))
	for i := range events {
		if cases[i] == 0 || target == 0 || target == 1 {
			continue
		}
		n := float64(cases[i])
		p := float64(events[i]) / n
		z := (p - target) / math.Sqrt(target*(1-target)/n)
		s := 2 * math.Sqrt(n) * (math.Asin(math.Sqrt(p)) - math.Asin(math.Sqrt(target)))
		plain[i], stabilised[i] = &z, &s
	}
	return plain, stabilised, nil
}

// RatioZ is the variance-stabilised distance of an observed from an expected count,
// 2 (sqrt O - sqrt E).
func RatioZ(observed int, expected float64) (float64, error) {
	if observed < 0 || !(expected >= 0 && expected <= 1e9) {
		return 0, fmt.Errorf("observed %d against expected %v", observed, expected)
	}
	return 2 * (math.Sqrt(float64(observed)) - math.Sqrt(expected)), nil
}

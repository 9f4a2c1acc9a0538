package dist_test

import (
	"testing"

	"chestrise/metrics/dist"
	"chestrise/testdata/reference"
)

func TestGridOfDistributions(t *testing.T) {
	type f = func(a, b, c, d float64) float64
	for family, by := range map[string]map[string]f{
		"normal": {
			"cdf":      func(x, _, _, _ float64) float64 { return dist.NormalCDF(x) },
			"tail":     func(x, _, _, _ float64) float64 { return dist.NormalTail(x) },
			"quantile": func(p, _, _, _ float64) float64 { return dist.NormalQuantile(p) },
		},
		"binomial": {
			"pmf":      func(k, n, p, _ float64) float64 { return dist.BinomialPMF(int(k), int(n), p) },
			"cdf":      func(k, n, p, _ float64) float64 { return dist.BinomialCDF(int(k), int(n), p) },
			"tail":     func(k, n, p, _ float64) float64 { return dist.BinomialTail(int(k), int(n), p) },
			"quantile": func(q, n, p, _ float64) float64 { return float64(dist.BinomialQuantile(q, int(n), p)) },
		},
		"poisson": {
			"cdf":      func(k, m, _, _ float64) float64 { return dist.PoissonCDF(int(k), m) },
			"tail":     func(k, m, _, _ float64) float64 { return dist.PoissonTail(int(k), m) },
			"quantile": func(q, m, _, _ float64) float64 { return float64(dist.PoissonQuantile(q, m)) },
		},
		"geometric": {
			"cdf":      func(k, p, _, _ float64) float64 { return dist.GeometricCDF(int(k), p) },
			"tail":     func(k, p, _, _ float64) float64 { return dist.GeometricTail(int(k), p) },
			"quantile": func(q, p, _, _ float64) float64 { return float64(dist.GeometricQuantile(q, p)) },
		},
		"beta": {
			"cdf":      func(x, a, b, _ float64) float64 { return dist.BetaCDF(x, a, b) },
			"quantile": func(p, a, b, _ float64) float64 { return dist.BetaQuantile(p, a, b) },
		},
		"chisq": {
			"cdf":      func(x, df, _, _ float64) float64 { return dist.ChiSquaredCDF(x, df) },
			"tail":     func(x, df, _, _ float64) float64 { return dist.ChiSquaredTail(x, df) },
			"quantile": func(p, df, _, _ float64) float64 { return dist.ChiSquaredQuantile(p, df) },
		},
		"hypergeometric": {
			"pmf": func(k, m, n, d float64) float64 { return dist.HypergeometricPMF(int(k), int(m), int(n), int(d)) },
		},
	} {
		t.Run(family, func(t *testing.T) {
			for _, v := range reference.GridValues(t, family) {
				v.Same(t, by[v.What](v.Args[0], v.Args[1], v.Args[2], v.Args[3]), 1e-10)
			}
		})
	}
}

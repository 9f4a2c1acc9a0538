package compare

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"chestrise/metrics/estimate"
)

// MinUnits is the number of units under which spread between units is not estimated.
const MinUnits = 12

// ErrTooFewUnits says that the spread between units cannot be judged. Its text may be
// printed: plain limits are drawn instead.
var ErrTooFewUnits = errors.New("too few units to judge spread")

// WinsorRule says how z values are pulled in before the spread is estimated. The
// published method fixes the share, 10 % at each end, and not the quantile rule.
type WinsorRule uint8

const (
	// Type7 sets values beyond the 10 % and 90 % quantiles (type 7) to them; the default.
	Type7 WinsorRule = iota
	// ByRank sets the floor(0.1 I) lowest and highest to their next neighbour.
	ByRank
)

// winsorShare is pulled in at each end. Source: Spiegelhalter 2005.
const winsorShare = 0.1

// Winsorise pulls extreme z values in; the order is kept.
func Winsorise(z []float64, rule WinsorRule) ([]float64, error) {
	for i, v := range z {
		if !finite(v) {
			return nil, fmt.Errorf("z value %d is not finite", i+1)
		}
	}
	out := slices.Clone(z)
	if len(z) == 0 {
		return out, nil
	}
	var lo, hi float64
	if rule == ByRank {
		s := slices.Sorted(slices.Values(z))
		k := int(winsorShare * float64(len(s)))
		lo, hi = s[k], s[len(s)-1-k]
	} else {
		var err error
		if lo, _, err = estimate.Quantile(z, winsorShare, 7); err != nil {
			return nil, err
		}
		if hi, _, err = estimate.Quantile(z, 1-winsorShare, 7); err != nil {
			return nil, err
		}
	}
	for i, v := range out {
		out[i] = math.Min(math.Max(v, lo), hi)
	}
	return out, nil
}

// Phi is the mean of squared z values: 1 if units differ by chance only. 0 for none.
func Phi(z []float64) float64 {
	if len(z) == 0 {
		return 0
	}
	sum := 0.0
	for _, v := range z {
		sum += v * v
	}
	return sum / float64(len(z))
}

// Overdispersion is the spread between units beyond chance.
type Overdispersion struct {
	Phi     float64 // from winsorised z values, as estimated
	Called  bool    // Phi > 1 + 2 sqrt(2/I)
	Tau2    float64 // variance between units, never below 0
	Inflate float64 // sqrt(Phi), never below 1: limits never shrink
}

// Spread estimates overdispersion from the units' z values against the target and
// their standard errors s:
//
//	phi  = mean of winsorised z^2
//	tau2 = max(0, (I phi - (I-1)) / (sum w - sum w^2/sum w)),  w = 1/s^2
//
// Fewer than 12 units give ErrTooFewUnits. Source: Spiegelhalter 2005; DerSimonian &
// Laird 1986.
func Spread(z, s []float64, rule WinsorRule) (Overdispersion, error) {
	if len(z) != len(s) {
		return Overdispersion{}, fmt.Errorf("%d z values, %d standard errors", len(z), len(s))
	}
	if len(z) < MinUnits {
		return Overdispersion{}, fmt.Errorf("%w: %d of at least %d", ErrTooFewUnits, len(z), MinUnits)
	}
	w, err := Winsorise(z, rule)
	if err != nil {
		return Overdispersion{}, err
	}
	n := float64(len(z))
	phi := Phi(w)
	o := Overdispersion{Phi: phi, Called: phi > 1+2*math.Sqrt(2/n), Tau2: 0, Inflate: math.Sqrt(math.Max(1, phi))}
	sum, squares := 0.0, 0.0
	for i, v := range s {
		if !(v > 0 && v <= 1e100) {
			return Overdispersion{}, fmt.Errorf("standard error %d is %v", i+1, v)
		}
		sum += 1 / (v * v)
		squares += 1 / (v * v * v * v)
	}
	if d := sum - squares/sum; d > 0 && finite(squares) {
		o.Tau2 = math.Max(0, (n*o.Phi-(n-1))/d)
	}
	return o, nil
}

// Multiplicative is a z value with limits widened by the estimated factor.
func (o Overdispersion) Multiplicative(z float64) float64 { return z / math.Max(1, o.Inflate) }

// Additive is a distance y - target in standard errors that include the variance
// between units; 0 where both variances are 0.
func (o Overdispersion) Additive(distance, s float64) float64 {
	v := math.Sqrt(s*s + math.Max(0, o.Tau2))
	if !(v > 0) || !finite(distance) {
		return 0
	}
	return distance / v
}

// BenjaminiHochberg marks which P values are called at a false discovery rate q. The P
// values must be independent: those of funnel z values are; signals of run rules have
// none. An invalid P value or rate is an error. Source: Benjamini & Hochberg 1995.
func BenjaminiHochberg(p []float64, q float64) ([]bool, error) {
	if !(q > 0 && q < 1) {
		return nil, fmt.Errorf("false discovery rate %v must lie between 0 and 1", q)
	}
	order := make([]int, len(p))
	for i, v := range p {
		if err := checkShare(v, "P value"); err != nil {
			return nil, err
		}
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		switch {
		case p[a] < p[b]:
			return -1
		case p[a] > p[b]:
			return 1
		}
		return 0
	})
	last := -1
	for i, at := range order {
		if p[at] <= q*float64(i+1)/float64(len(p)) {
			last = i
		}
	}
	out := make([]bool, len(p))
	for _, at := range order[:last+1] {
		out[at] = true
	}
	return out, nil
}

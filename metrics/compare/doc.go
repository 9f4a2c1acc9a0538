// Package compare sets units beside each other and watches rates case by case: funnel
// limits, z values, overdispersion, observed against expected, risk-adjusted and
// Bernoulli cumulative sums. Pure arithmetic over metrics/dist and metrics/estimate.
//
// It never ranks. About one unit in 500 falls outside 99.8 % limits by chance; ratios
// of observed to expected of two units cannot be compared with each other unless their
// mixes of cases agree. Results are finite; impossible input is an error.
package compare

import (
	"fmt"
	"math"
)

func checkShare(p float64, what string) error {
	if !(p >= 0 && p <= 1) {
		return fmt.Errorf("%s %v is no proportion", what, p)
	}
	return nil
}

func checkUnits(events, cases []int) error {
	if len(events) != len(cases) {
		return fmt.Errorf("%d units with events, %d with cases", len(events), len(cases))
	}
	for i := range events {
		if events[i] < 0 || cases[i] < 0 || events[i] > cases[i] {
			return fmt.Errorf("unit %d: %d of %d cases is impossible", i+1, events[i], cases[i])
		}
	}
	return nil
}

func finite(x float64) bool { return math.Abs(x) <= 1e100 }

package compare

import (
	"fmt"
	"math"

	"chestrise/metrics/dist"
	"chestrise/metrics/estimate"
)

// Stratum is one stratum of indirect standardisation: what was observed in the unit,
// its amount (cases or time), and the reference's rate as events over amount.
type Stratum struct {
	Observed        int
	Amount          float64
	ReferenceEvents float64
	ReferenceAmount float64
}

// Standardised is observed against expected.
type Standardised struct {
	Observed  int
	Expected  float64
	Ratio     float64           // Observed/Expected
	Defined   bool              // false where nothing is expected: no ratio
	Exact     estimate.Interval // of the ratio, by Garwood's interval
	Byar      estimate.Interval
	ZLog      float64 // log ratio over 1/sqrt(expected); 0 without events
	ZPearson  float64 // (O - E)/sqrt E
	CrudeRate float64 // of the reference
	Rate      float64 // ratio times the reference's crude rate
	Unmatched int     // strata without a reference: left out, with their events
}

// Standardise is indirect standardisation: E = sum of the unit's amount times the
// reference's rate, stratum by stratum. The reference's rates are taken as known. A
// stratum whose reference has no amount cannot be standardised and is left out,
// counted in Unmatched. Source: Breslow & Day 1987 (from memory).
func Standardise(strata []Stratum, level float64) (Standardised, error) {
	var s Standardised
	events, amount := 0.0, 0.0
	for i, t := range strata {
		if t.Observed < 0 || !(t.Amount >= 0 && finite(t.Amount)) ||
			!(t.ReferenceEvents >= 0 && finite(t.ReferenceEvents)) || !(t.ReferenceAmount >= 0 && finite(t.ReferenceAmount)) {
			return Standardised{}, fmt.Errorf("stratum %d: a negative or infinite number", i+1)
		}
		if t.ReferenceAmount == 0 {
			s.Unmatched++
			continue
		}
		s.Observed += t.Observed
		s.Expected += t.Amount * t.ReferenceEvents / t.ReferenceAmount
		events += t.ReferenceEvents
		amount += t.ReferenceAmount
	}
	if amount > 0 {
		s.CrudeRate = events / amount
	}
	g, err := estimate.Garwood(s.Observed, level)
	if err != nil {
		return Standardised{}, err
	}
	b, err := estimate.Byar(s.Observed, level)
	if err != nil {
		return Standardised{}, err
	}
	if !(s.Expected > 0) {
		return s, nil
	}
	s.Defined = true
	o := float64(s.Observed)
	s.Ratio = o / s.Expected
	s.Exact = estimate.Interval{Lower: g.Lower / s.Expected, Upper: g.Upper / s.Expected}
	s.Byar = estimate.Interval{Lower: b.Lower / s.Expected, Upper: b.Upper / s.Expected}
	if o > 0 {
		s.ZLog = math.Log(s.Ratio) * math.Sqrt(s.Expected)
	}
	s.ZPearson = (o - s.Expected) / math.Sqrt(s.Expected)
	s.Rate = s.Ratio * s.CrudeRate
	return s, nil
}

// LeaveOneOut standardises each unit against all the others: a pool that holds the
// unit hides the largest. units[u][s] is what unit u shows in stratum s; every unit has
// the same strata.
func LeaveOneOut(units [][]Cell, level float64) ([]Standardised, error) {
	out := make([]Standardised, len(units))
	for u := range units {
		if len(units[u]) != len(units[0]) {
			return nil, fmt.Errorf("unit %d has %d strata, the first %d", u+1, len(units[u]), len(units[0]))
		}
		strata := make([]Stratum, len(units[u]))
		for s, own := range units[u] {
			strata[s] = Stratum{Observed: own.Events, Amount: float64(own.Cases), ReferenceEvents: 0, ReferenceAmount: 0}
		}
		for v := range units {
			for s := range strata {
				if v == u || s >= len(units[v]) {
					continue
				}
				c := units[v][s]
				if c.Events < 0 || c.Events > c.Cases {
					return nil, fmt.Errorf("unit %d, stratum %d: %d of %d cases is impossible", v+1, s+1, c.Events, c.Cases)
				}
				strata[s].ReferenceEvents += float64(c.Events)
				strata[s].ReferenceAmount += float64(c.Cases)
			}
		}
		var err error
		if out[u], err = Standardise(strata, level); err != nil {
			return nil, fmt.Errorf("unit %d: %w", u+1, err)
		}
	}
	return out, nil
}

// Cell is what one unit shows in one stratum.
type Cell struct{ Events, Cases int }

// RatioChance is the two-sided mid-P value of observed against expected.
func RatioChance(observed int, expected float64) (float64, error) {
	return estimate.PoissonMidPTest(observed, expected)
}

// OutsideByChance is how many of so many units are expected outside two-sided limits of
// a level when nothing differs, and the chance that at least one is.
func OutsideByChance(units int, level float64) (expected, atLeastOne float64, err error) {
	if units < 0 || !(level > 0 && level < 1) {
		return 0, 0, fmt.Errorf("%d units outside limits of level %v", units, level)
	}
	return float64(units) * (1 - level), 1 - dist.BinomialPMF(0, units, 1-level), nil
}

package compare

import (
	"fmt"
	"math"
)

// Weights are what one case adds to a log-likelihood cumulative sum.
type Weights struct{ Event, NoEvent float64 }

// RiskWeights are the weights of a case of predicted risk p for an odds ratio ra
// against r0 (1: as predicted):
//
//	event    ln( (1-p+r0 p) ra / ((1-p+ra p) r0) )
//	no event ln( (1-p+r0 p) / (1-p+ra p) )
//
// p must come from a frozen reference model whose calibration was checked. A risk of 0
// or 1 is allowed; odds ratios must be positive. Source: Steiner et al., Biostatistics 1
// (2000) 441-452.
func RiskWeights(p, r0, ra float64) (Weights, error) {
	if err := checkShare(p, "predicted risk"); err != nil {
		return Weights{}, err
	}
	if !(r0 > 0 && r0 < 1e6) || !(ra > 0 && ra < 1e6) {
		return Weights{}, fmt.Errorf("odds ratios %v and %v", r0, ra)
	}
	no := math.Log((1 - p + r0*p) / (1 - p + ra*p))
	return Weights{Event: no + math.Log(ra/r0), NoEvent: no}, nil
}

// BernoulliWeights are the weights of a case for a rate p1 against p0: ln(p1/p0) with
// the event, ln((1-p1)/(1-p0)) without. Rates must lie strictly between 0 and 1 and
// differ. Source: Reynolds & Stoumbos 1999 (from memory).
func BernoulliWeights(p0, p1 float64) (Weights, error) {
	if !(p0 > 0 && p0 < 1) || !(p1 > 0 && p1 < 1) || p0 == p1 {
		return Weights{}, fmt.Errorf("rates %v and %v must differ and lie between 0 and 1", p0, p1)
	}
	return Weights{Event: math.Log(p1 / p0), NoEvent: math.Log1p(-p1) - math.Log1p(-p0)}, nil
}

// Trace is a cumulative sum case by case.
type Trace struct {
	Sum     []float64 // after each case
	Signals []int     // cases at which it passed the limit, from 0
}

// Follow adds the weights up, C = max(0, C + W), from a start value, with a signal where
// C > h. After a signal the sum starts again at 0. Weights and outcomes go together; a
// start outside 0 to h or lists of different lengths are errors.
func Follow(weights []Weights, event []bool, h, start float64) (Trace, error) {
	if len(weights) != len(event) || !(h > 0 && finite(h)) || !(start >= 0 && start <= h) {
		return Trace{}, fmt.Errorf("cumulative sum of %d weights and %d outcomes, limit %v, start %v", len(weights), len(event), h, start)
	}
	t := Trace{Sum: make([]float64, len(event)), Signals: []int{}}
	c := start
	for i, w := range weights {
		if event[i] {
			c += w.Event
		} else {
			c += w.NoEvent
		}
		if c = math.Max(0, c); !finite(c) {
			return Trace{}, fmt.Errorf("case %d: a weight is not finite", i+1)
		}
		t.Sum[i] = c
		if c > h {
			t.Signals = append(t.Signals, i)
			c = 0
		}
	}
	return t, nil
}

// ObservedMinusExpected is the running sum of predicted risk minus outcome: descriptive,
// without limits of its own. Lists of different lengths and risks outside 0 to 1 are
// errors.
func ObservedMinusExpected(risk []float64, event []bool) ([]float64, error) {
	if len(risk) != len(event) {
		return nil, fmt.Errorf("%d risks, %d outcomes", len(risk), len(event))
	}
	out := make([]float64, len(risk))
	sum := 0.0
	for i, p := range risk {
		if err := checkShare(p, "predicted risk"); err != nil {
			return nil, fmt.Errorf("case %d: %w", i+1, err)
		}
		sum -= p
		if event[i] {
			sum++
		}
		out[i] = sum
	}
	return out, nil
}

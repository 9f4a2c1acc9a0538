package spc

import (
	"errors"
	"fmt"
	"math"
	"slices"
)

// Watch describes a chart of shares or rates that will be read period after period:
// what its signals cost and what it could see. Probabilities are exact (a Markov
// chain over the run on one side, summed over every centre the baseline could have
// given), so nothing is simulated and nothing needs a seed.
type Watch struct {
	Kind Kind // P, NP, C or U
	// N are the denominators of the periods watched, used in turn. C ignores them.
	N []float64
	// BaselineN are the denominators of the baseline periods from which the centre is
	// estimated (for C their number counts); nil: the centre is known.
	BaselineN []float64
	Limits    LimitMethod
	Rules     RuleSet // beyond-limits and runs on one side; the default has both
}

// maxPeriods bounds how far ahead a Watch looks.
const maxPeriods = 1200

// Power gives, for period 1, 2, ... after the rate changed from from to to, the
// probability that a rule has signalled by then, in the direction of the change (in
// either direction where to equals from). Limits are those of a baseline at from.
//
// The run on one side starts empty: a run that began before the change is not
// credited. Errors: a kind or a rule the chain cannot follow, no denominators, a
// rate out of range, more than 1200 periods.
func (w Watch) Power(from, to float64, periods int) ([]float64, error) {
	out := make([]float64, 0, max(periods, 0))
	err := w.walk(from, to, periods, true, func(_ int, signalled float64) bool {
		out = append(out, signalled)
		return true
	})
	return out, err
}

// PerPeriod gives the probability that a rule is completed in each of the first so
// many periods while nothing changes: what chance alone gives this chart.
func (w Watch) PerPeriod(rate float64, periods int) ([]float64, error) {
	out := make([]float64, 0, max(periods, 0))
	err := w.walk(rate, rate, periods, false, func(_ int, completed float64) bool {
		out = append(out, completed)
		return true
	})
	return out, err
}

// Detection is how long a change takes to show.
type Detection struct {
	From, To float64
	Median   int     // periods until a signal in half of all cases
	Reached  bool    // false: not within Limit periods
	Limit    int     // how far was looked
	WithinN  float64 // probability of a signal within Limit
}

// Detect gives the median number of periods until a change from one rate to another
// signals, looking limit periods ahead.
func (w Watch) Detect(from, to float64, limit int) (Detection, error) {
	d := Detection{From: from, To: to, Median: 0, Reached: false, Limit: limit, WithinN: 0}
	err := w.walk(from, to, limit, true, func(t int, signalled float64) bool {
		d.WithinN = signalled
		if !d.Reached && signalled >= 0.5 {
			d.Median, d.Reached = t, true
		}
		return true
	})
	return d, err
}

// Words says it for a share: "With about 11 newborns a month, a change from 39 % to
// 50 % would take about 26 months to show." Case and period are plain singular words.
func (d Detection) Words(n float64, cases string, period Period) string {
	head := fmt.Sprintf("With about %.0f %s a %s, a change from %.0f%% to %.0f%% would ", n, cases, period, 100*d.From, 100*d.To)
	switch {
	case !d.Reached:
		return head + fmt.Sprintf("most likely not show within %d %ss.", d.Limit, period)
	case d.Median == 1:
		return head + fmt.Sprintf("show within about one %s.", period)
	default:
		return head + fmt.Sprintf("take about %d %ss to show.", d.Median, period)
	}
}

func (w Watch) walk(from, to float64, periods int, absorbing bool, each func(int, float64) bool) error {
	beyondRule, k, err := w.rules()
	if err != nil {
		return err
	}
	if err := w.check(from, to, periods); err != nil {
		return err
	}
	want := Level
	if absorbing && to > from {
		want = Up
	} else if absorbing && to < from {
		want = Down
	}
	sizes := slices.Clone(w.N)
	if w.Kind == C {
		sizes = []float64{1}
	}
	laws := map[float64][]float64{}
	for _, n := range sizes {
		if laws[n] == nil {
			laws[n] = w.law(n, to)
		}
	}
	total := make([]float64, periods)
	for _, c := range w.centres(from) {
		steps := map[float64]step{}
		for n, law := range laws {
			steps[n] = w.step(n, c.rate, law)
		}
		c.run(steps, sizes, beyondRule, k, want, absorbing, total)
	}
	for t, v := range total {
		if !each(t+1, math.Min(v, 1)) {
			break
		}
	}
	return nil
}

func (w Watch) rules() (beyondRule bool, k int, err error) {
	ids := w.Rules.Rules
	if ids == nil {
		ids = ruleSets["default"]
	}
	for _, id := range ids {
		r, ok := RuleByID(id)
		switch {
		case ok && r.class == beyond:
			beyondRule = true
		case ok && r.class == sideRun:
			if k == 0 || r.k < k {
				k = r.k
			}
		default:
			return false, 0, fmt.Errorf("power: the rule %q cannot be followed exactly\nhint: only beyond-limits and runs on one side; simulate the others", id)
		}
	}
	return beyondRule, k, nil
}

func (w Watch) check(from, to float64, periods int) error {
	switch w.Kind {
	case P, NP, C, U:
	default:
		return fmt.Errorf("power: a %s chart cannot be followed exactly", w.Kind)
	}
	top := maxNumber
	if w.Kind == P || w.Kind == NP {
		top = 1
	}
	for _, r := range []float64{from, to} {
		if !(r >= 0 && r <= top) {
			return fmt.Errorf("power: rate %v is out of range", r)
		}
	}
	if periods < 1 || periods > maxPeriods {
		return fmt.Errorf("power: %d periods; 1 to %d can be looked at", periods, maxPeriods)
	}
	if w.Kind != C && len(w.N) == 0 {
		return errors.New("power: no denominators")
	}
	most := 0.0
	for _, n := range append(slices.Clone(w.N), w.BaselineN...) {
		if !(n >= 0) || (w.Kind != U && n != math.Trunc(n)) {
			return fmt.Errorf("power: denominator %v", n)
		}
		m := n * math.Max(1, math.Max(from, to))
		most = math.Max(most, m)
	}
	if most > 1e6 || w.Kind == C && math.Max(from, to) > 1e6 {
		return errors.New("power: counts past a million are beyond what is enumerated")
	}
	return nil
}

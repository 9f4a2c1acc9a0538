package spc

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"chestrise/metrics/dist"
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

// step holds the chances of one period: strictly beyond the upper or lower limit, and
// not beyond but above, below or on the centre.
type step struct{ upper, lower, above, below, on float64 }

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
		return fmt.Errorf("power: no denominators")
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
		return fmt.Errorf("power: counts past a million are beyond what is enumerated")
	}
	return nil
}

// law gives the probabilities of 0, 1, 2, ... events in a period of n at a rate.
func (w Watch) law(n, rate float64) []float64 {
	if w.Kind == P || w.Kind == NP {
		out := make([]float64, int(n)+1)
		for k := range out {
			out[k] = dist.BinomialPMF(k, int(n), rate)
		}
		return out
	}
	m := rate * n
	out := make([]float64, dist.PoissonQuantile(1-1e-13, m)+2)
	for k := range out {
		out[k] = dist.PoissonPMF(k, m)
	}
	return out
}

// centre is a centre the baseline may give, with its probability.
type centre struct{ rate, weight float64 }

func (w Watch) centres(rate float64) []centre {
	if w.BaselineN == nil {
		return []centre{{rate: rate, weight: 1}}
	}
	total := 0.0
	for _, n := range w.BaselineN {
		if w.Kind == C {
			n = 1
		}
		total += n
	}
	if total == 0 {
		return []centre{{rate: rate, weight: 1}}
	}
	var out []centre
	add := func(k int, p float64) {
		if p > 1e-9 {
			out = append(out, centre{rate: float64(k) / total, weight: p})
		}
	}
	if w.Kind == P || w.Kind == NP {
		lo, hi := dist.BinomialQuantile(1e-7, int(total), rate), dist.BinomialQuantile(1-1e-7, int(total), rate)
		for k := lo; k <= hi; k++ {
			add(k, dist.BinomialPMF(k, int(total), rate))
		}
	} else {
		lo, hi := dist.PoissonQuantile(1e-7, rate*total), dist.PoissonQuantile(1-1e-7, rate*total)
		for k := lo; k <= hi; k++ {
			add(k, dist.PoissonPMF(k, rate*total))
		}
	}
	out = thin(out)
	sum := 0.0
	for _, c := range out {
		sum += c.weight
	}
	for i := range out {
		out[i].weight /= sum
	}
	return out
}

// thin groups neighbouring centres of a large baseline, so that no more than some
// two hundred are followed; a group keeps its total weight and mean rate.
func thin(in []centre) []centre {
	const most = 200
	if len(in) <= most {
		return in
	}
	size := (len(in) + most - 1) / most
	var out []centre
	for g := range slices.Chunk(in, size) {
		var c centre
		for _, x := range g {
			c.weight += x.weight
			c.rate += x.weight * x.rate
		}
		c.rate /= c.weight
		out = append(out, c)
	}
	return out
}

// step classifies every count a period can give against the limits that Plot would
// draw for it.
func (w Watch) step(n, rate float64, law []float64) step {
	var s step
	if n == 0 && w.Kind != C {
		return step{upper: 0, lower: 0, above: 0, below: 0, on: 1}
	}
	p := Point{N: n, Has: true}
	b := Baseline{Centre: rate}
	for k, prob := range law {
		p.num, p.Value = float64(k), float64(k)
		if w.Kind.ratio() {
			p.Value = float64(k) / n
		}
		if k == 0 {
			placeAttribute(w.Kind, &p, b, w.Limits)
		}
		switch p.beyondLimit() {
		case Up:
			s.upper += prob
			continue
		case Down:
			s.lower += prob
			continue
		}
		switch p.side() {
		case Up:
			s.above += prob
		case Down:
			s.below += prob
		default:
			s.on += prob
		}
	}
	return s
}

// run follows one centre. State r > 0 is a run of r above, r < 0 below; with k the
// length that signals. Absorbing: the chance of a first signal by each period is
// added up; otherwise the chance that a period completes a rule.
func (c centre) run(steps map[float64]step, sizes []float64, beyondRule bool, k int, want Direction, absorbing bool, total []float64) {
	if k == 0 {
		k = 1 << 20 // no rule of runs: the state never reaches it
	}
	width := min(k, 64)
	state := make([]float64, 2*width+1) // index r + width
	next := make([]float64, len(state))
	state[width] = 1
	done := 0.0
	for t := range total {
		s := steps[sizes[t%len(sizes)]]
		clear(next)
		completed := 0.0
		// move puts probability into the state after a point on a side; beyond tells
		// whether the point itself signals.
		move := func(r int, p float64, side Direction, isBeyond bool) {
			if p == 0 {
				return
			}
			to := r
			switch {
			case side == Up:
				to = max(r, 0) + 1
			case side == Down:
				to = min(r, 0) - 1
			}
			hit := isBeyond && beyondRule || side != Level && k <= width && (to >= k || to <= -k)
			if hit && (want == Level || side == want) {
				completed += p
				if absorbing {
					return
				}
			}
			next[min(max(to, -width), width)+width] += p
		}
		for i, p := range state {
			if p == 0 {
				continue
			}
			r := i - width
			move(r, p*s.upper, Up, true)
			move(r, p*s.lower, Down, true)
			move(r, p*s.above, Up, false)
			move(r, p*s.below, Down, false)
			move(r, p*s.on, Level, false)
		}
		state, next = next, state
		if absorbing {
			done += completed
			total[t] += c.weight * done
		} else {
			total[t] += c.weight * completed
		}
	}
}

// Chance is what simulation says a chart signals while nothing changes.
type Chance struct {
	PerChart  float64 // mean number of signals over the whole chart
	Any       float64 // share of charts with at least one
	PerPoint  float64 // share of points that complete a signal
	StdErr    float64 // standard error of PerChart
	Simulated int
}

// FalseSignals simulates charts in which nothing changes and counts their signals,
// so that any rule set and kind can be asked, with the baseline stored or estimated
// as Plot would. draw makes one series; rng is its only source of chance, so the same
// seed gives the same answer. Fewer than one chart, or a series Plot refuses, is an
// error.
func FalseSignals(rng *rand.Rand, kind Kind, b *Baseline, o Options, charts int, draw func(*rand.Rand) Series) (Chance, error) {
	if charts < 1 {
		return Chance{}, fmt.Errorf("false signals: %d charts to simulate", charts)
	}
	counts := make([]float64, charts)
	var signalled, points, complete float64
	for i := range charts {
		c, err := Plot(kind, draw(rng), b, o)
		if err != nil {
			return Chance{}, err
		}
		counts[i] = float64(len(c.Signals))
		if counts[i] > 0 {
			signalled++
		}
		for _, p := range c.Points {
			points++
			if len(p.Signals) > 0 {
				complete++
			}
		}
	}
	out := Chance{
		PerChart: mean(counts), Any: signalled / float64(charts), PerPoint: 0,
		StdErr: stdDev(counts) / math.Sqrt(float64(charts)), Simulated: charts,
	}
	if points > 0 {
		out.PerPoint = complete / points
	}
	return out, nil
}

package spc

import (
	"fmt"
	"math"
	"slices"
)

// Plot computes the chart of a series.
//
// b is the stored baseline of the first phase; nil computes it from the points
// that the options declare. Later phases carry their own in Options.Phases.
//
// A series without a usable point, or a phase without a baseline, gives a chart
// with points and no centre, and the warning NoBaseline. Errors: an unknown kind,
// rule or label, a value the kind cannot hold (a negative count, more events than
// cases, an infinite number), a constant-denominator chart with varying
// denominators, a stored baseline out of range.
func Plot(kind Kind, s Series, b *Baseline, o Options) (Chart, error) {
	if _, ok := kindNames[kind]; !ok || kind.companion() {
		return Chart{}, fmt.Errorf("%s is no chart type that can be plotted", kind)
	}
	pts, err := s.points(kind)
	if err != nil {
		return Chart{}, err
	}
	c := Chart{Kind: kind, Points: pts, Favourable: o.Favourable, Reason: o.Reason}
	if err := c.prepare(&o); err != nil {
		return Chart{}, err
	}
	if err := c.split(b, o); err != nil {
		return Chart{}, err
	}
	for i := range c.Phases {
		if err := c.fit(i, o); err != nil {
			return Chart{}, err
		}
	}
	if err := c.place(o); err != nil {
		return Chart{}, err
	}
	rules, dropped, err := choose(o.Rules, kind, c.smallCounts())
	if err != nil {
		return Chart{}, err
	}
	c.Rules = rules
	c.judge()
	c.summarise(o)
	c.Warnings = append(c.warn(o), dropped...)
	c.companion(o)
	return c, nil
}

// prepare checks what concerns the series as a whole.
func (c *Chart) prepare(o *Options) error {
	switch c.Kind {
	case NP:
		n := 0.0
		for _, p := range c.Points {
			if p.Has && n == 0 {
				n = p.N
			}
			if p.Has && p.N != n {
				return fmt.Errorf("np chart: row %d (%s) has %v cases, an earlier row %v\nhint: an np chart needs a constant denominator; use a p chart", p.X+1, p.Label, p.N, n)
			}
		}
	case T:
		return c.liftZeros(o.TimeUnit)
	case EWMA, Cusum:
		return o.Memory.fill()
	default: // nothing to check of the series as a whole
	}
	return nil
}

// split makes the phases.
func (c *Chart) split(b *Baseline, o Options) error {
	n := len(c.Points)
	starts := slices.Clone(o.Phases)
	slices.SortStableFunc(starts, func(a, b PhaseStart) int { return a.From - b.From })
	first := PhaseStart{From: 0, Baseline: b}
	if len(starts) > 0 && starts[0].From == 0 {
		first.Reason, first.First = starts[0].Reason, starts[0].First
		if b == nil {
			first.Baseline = starts[0].Baseline
		}
		starts = starts[1:]
	}
	window, err := c.window(o)
	if err != nil {
		return err
	}
	if window > 0 {
		first.First = window
	}
	for _, s := range starts {
		if s.From < 0 || s.From >= n {
			return fmt.Errorf("%s chart: a phase starts at row %d of %d", c.Kind, s.From+1, n)
		}
	}
	starts = append([]PhaseStart{first}, starts...)
	for i, s := range starts {
		to := n - 1
		if i+1 < len(starts) {
			to = starts[i+1].From - 1
		}
		if i > 0 && to < s.From {
			return fmt.Errorf("%s chart: two phases start at row %d", c.Kind, s.From+1)
		}
		if s.First < 0 {
			return fmt.Errorf("%s chart: a baseline of %d rows", c.Kind, s.First)
		}
		ph := Phase{From: s.From, To: to, Reason: s.Reason, Windowed: s.First > 0}
		for j := s.From; j <= to; j++ {
			p := &c.Points[j]
			p.Phase = i
			p.Baseline = p.judged() && (s.First == 0 || j < s.From+s.First)
		}
		if s.Baseline != nil {
			if err := s.Baseline.check(c.Kind); err != nil {
				return err
			}
			ph.Baseline, ph.Stored = *s.Baseline, true
			for j := s.From; j <= to; j++ {
				c.Points[j].Baseline = false
			}
		}
		c.Phases = append(c.Phases, ph)
	}
	return nil
}

// window is the number of rows the first phase is frozen on; 0: no window.
func (c *Chart) window(o Options) (int, error) {
	switch {
	case o.BaselineFirst != 0 && o.BaselineUntil != "":
		return 0, fmt.Errorf("%s chart: the baseline is given both as a number of rows and by a label", c.Kind)
	case o.BaselineFirst < 0:
		return 0, fmt.Errorf("%s chart: a baseline of %d rows", c.Kind, o.BaselineFirst)
	case o.BaselineUntil != "":
		for i, p := range c.Points {
			if p.Label == o.BaselineUntil {
				return i + 1, nil
			}
		}
		return 0, fmt.Errorf("%s chart: no row is labelled %q, where the baseline should end", c.Kind, o.BaselineUntil)
	}
	return o.BaselineFirst, nil
}

func (b Baseline) check(k Kind) error {
	for _, v := range []float64{b.Centre, b.Sigma, b.SigmaZ, b.MeanN} {
		if !usable(v) {
			return fmt.Errorf("%s chart: the stored baseline holds a number that is not finite or beyond 1e100", k)
		}
	}
	switch {
	case k.proportion() && (b.Centre < 0 || b.Centre > 1):
		return fmt.Errorf("%s chart: the stored centre %v is no proportion", k, b.Centre)
	case (k.counts() || k == T) && b.Centre < 0:
		return fmt.Errorf("%s chart: the stored centre %v is negative", k, b.Centre)
	case b.Sigma < 0 || b.SigmaZ < 0:
		return fmt.Errorf("%s chart: a stored spread is negative", k)
	}
	return nil
}

// fit computes the baseline of a phase, unless it was stored.
func (c *Chart) fit(i int, o Options) error {
	ph := &c.Phases[i]
	if ph.Stored {
		ph.Provisional = ph.Baseline.Points > 0 && ph.Baseline.Points < c.firm(ph.Baseline)
		return nil
	}
	base := c.baseline(*ph)
	ph.Baseline.Points = len(base)
	if len(base) == 0 {
		return nil
	}
	ph.Baseline.From, ph.Baseline.To = base[0].Label, base[len(base)-1].Label
	switch c.Kind {
	case P, NP, PPrime, C, U, UPrime:
		fitAttribute(c.Kind, base, &ph.Baseline)
	case Run:
		ph.Baseline.Centre = median(valuesOf(base))
	case XmR, EWMA, Cusum:
		fitIndividuals(base, o.Sigma, &ph.Baseline)
	case XbarR, XbarS:
		fitSubgroups(c.Kind, base, o.Sigma, &ph.Baseline)
	case G:
		ph.Baseline.Centre = mean(valuesOf(base))
	case T:
		fitTimes(base, o, &ph.Baseline)
	default: // companions are made from the fitted chart, not fitted
	}
	if !usable(ph.Baseline.Centre) || !usable(ph.Baseline.Sigma) || !usable(ph.Baseline.SigmaZ) {
		return fmt.Errorf("%s chart: the numbers of phase %d are too large", c.Kind, i+1)
	}
	ph.Provisional = len(base) < c.firm(ph.Baseline)
	return nil
}

// Points wanted for firm limits. Sources: Montgomery, Introduction to Statistical
// Quality Control (20 to 25), Provost & Murray 2011 (12 for a run chart), from
// memory; 24 where denominators are under 30, because a centre from 12 small months
// doubles the false runs of eight (own simulation).
const (
	firmPoints      = 20
	firmSmallPoints = 24
	firmSmallN      = 30
	firmRun         = 12
)

func (c *Chart) firm(b Baseline) int {
	switch {
	case c.Kind == Run:
		return firmRun
	case b.MeanN > 0 && b.MeanN < firmSmallN && c.Kind != XbarR && c.Kind != XbarS:
		return firmSmallPoints
	default:
		return firmPoints
	}
}

func (c *Chart) baseline(ph Phase) []*Point {
	var out []*Point
	for i := ph.From; i <= ph.To; i++ {
		if c.Points[i].Baseline {
			out = append(out, &c.Points[i])
		}
	}
	return out
}

func valuesOf(pts []*Point) []float64 {
	out := make([]float64, len(pts))
	for i, p := range pts {
		out[i] = p.Value
	}
	return out
}

// place gives every point its centre and limits.
func (c *Chart) place(o Options) error {
	for i := range c.Phases {
		ph := &c.Phases[i]
		if ph.Baseline.Points == 0 && !ph.Stored {
			continue
		}
		switch c.Kind {
		case EWMA:
			c.placeEWMA(ph, o.Memory)
			continue
		case Cusum:
			c.placeCusum(ph, o.Memory, Up)
			continue
		default: // no memory: each point is placed by itself
		}
		for j := ph.From; j <= ph.To; j++ {
			c.placePoint(&c.Points[j], ph.Baseline, o)
		}
	}
	for i := range c.Points {
		p := &c.Points[i]
		for _, v := range []*float64{p.Centre, p.LowerRaw, p.UpperRaw, p.Sigma, p.Z} {
			if v != nil && (math.IsNaN(*v) || math.IsInf(*v, 0)) {
				return fmt.Errorf("%s chart: row %d (%s): the limits are beyond double precision", c.Kind, i+1, p.Label)
			}
		}
	}
	return nil
}

func (c *Chart) placePoint(p *Point, b Baseline, o Options) {
	switch c.Kind {
	case P, NP, PPrime, C, U, UPrime:
		placeAttribute(c.Kind, p, b, o.Limits)
	case Run:
		p.Centre = new(b.Centre)
	case XmR:
		p.within(b.Centre, b.Sigma)
	case XbarR, XbarS:
		c.placeSubgroup(p, b)
	case G:
		placeGap(p, b, o.Limits)
	case T:
		placeTime(p, b, o.Limits)
	default: // kinds with memory are placed as a series, companions where they are made
	}
}

// within gives a point the centre and three-sigma limits. A sigma of 0 gives raw
// limits on the centre and no limits: where nothing has varied nothing can be
// judged.
func (p *Point) within(centre, sigma float64) {
	p.Centre, p.Sigma = new(centre), new(sigma)
	p.LowerRaw, p.UpperRaw = new(centre-3*sigma), new(centre+3*sigma)
	if sigma > 0 {
		p.Lower, p.Upper = p.LowerRaw, p.UpperRaw
		if p.Has {
			p.Z = new((p.Value - centre) / sigma)
		}
	}
}

// floor takes away limits that are none: at or below 0, and at or above top.
func (p *Point) floor(top float64) {
	if p.Lower != nil && *p.Lower <= 0 {
		p.Lower = nil
	}
	if p.Upper != nil && *p.Upper >= top {
		p.Upper = nil
	}
}

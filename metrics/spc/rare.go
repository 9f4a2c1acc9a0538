package spc

import (
	"fmt"
	"math"

	"chestrise/metrics/dist"
)

// placeGap gives a point of a g chart its centre and limits. The plotted value is
// the number of cases without the event between two events (0, 1, 2, ...), geometric
// with p = 1/(mean gap + 1).
//
//   - Auto and Exact: centre the median of that law, limits its 0.00135 and 0.99865
//     quantiles. Half the points lie above the median, so runs mean what they say;
//     half above the mean would be false for so skewed a law.
//   - Normal: centre the mean gap g, limits g -/+ 3 sqrt(g (g+1)).
//
// Sources: Kaminsky et al. 1992, Benneyan 2001 (from memory).
func placeGap(p *Point, b Baseline, method LimitMethod) {
	g := b.Centre
	sigma := math.Sqrt(g * (g + 1))
	if method == Normal || g == 0 {
		p.within(g, sigma)
		p.floor(math.Inf(1))
		return
	}
	q := 1 / (g + 1)
	p.Exact = true
	p.Centre, p.Sigma = new(float64(dist.GeometricQuantile(0.5, q))), new(sigma)
	p.LowerRaw = new(float64(dist.GeometricQuantile(tail, q)))
	p.UpperRaw = new(float64(dist.GeometricQuantile(1-tail, q)))
	p.Lower, p.Upper = p.LowerRaw, p.UpperRaw
	p.floor(math.Inf(1))
	if p.Has {
		p.Z = new((p.Value - *p.Centre) / sigma)
	}
}

// Limits of the 1/3.6 power of an exponential time are nearly normal: Nelson, J.
// Quality Technology 26 (1994) 239-243.
const timePower = 3.6

// fitTimes computes the mean time and, for three-sigma limits, the mean and spread
// of the transformed times, which travel in SigmaZ and Sigma.
func fitTimes(base []*Point, o Options, b *Baseline) {
	b.Centre = mean(valuesOf(base))
	if o.Limits != Normal {
		return
	}
	shadow := make([]*Point, len(base))
	for i, p := range base {
		shadow[i] = &Point{X: p.X, Value: math.Pow(p.Value, 1/timePower)}
	}
	y := valuesOf(shadow)
	b.SigmaZ, b.Sigma = mean(y), sigmaOf(y, movingRanges(shadow), o.Sigma)
}

// placeTime gives a point of a t chart its centre and limits, for exponential times
// of mean theta:
//
//   - Auto and Exact: centre theta ln 2 (the median), limits -theta ln(0.99865) and
//     -theta ln(0.00135).
//   - Normal: limits of an individuals chart on t^(1/3.6), turned back; the lower one
//     is set to 0, which is no limit, before turning back.
//
// Source for the quantiles: Xie, Goh & Ranjan 2002.
func placeTime(p *Point, b Baseline, method LimitMethod) {
	theta := b.Centre
	if method == Normal && b.Sigma > 0 {
		back := func(y float64) float64 { return math.Pow(math.Max(0, y), timePower) }
		p.Centre = new(back(b.SigmaZ))
		p.LowerRaw, p.UpperRaw = new(back(b.SigmaZ-3*b.Sigma)), new(back(b.SigmaZ+3*b.Sigma))
		p.Sigma = new(theta)
	} else {
		p.Exact = true
		p.Centre, p.Sigma = new(theta*math.Ln2), new(theta)
		p.LowerRaw, p.UpperRaw = new(-theta*math.Log1p(-tail)), new(-theta*math.Log(tail))
	}
	if theta == 0 {
		return
	}
	p.Lower, p.Upper = p.LowerRaw, p.UpperRaw
	p.floor(math.Inf(1))
	if p.Has {
		p.Z = new((p.Value - *p.Centre) / *p.Sigma)
	}
}

// liftZeros adds half the time unit to times of 0, which no exponential law gives.
func (c *Chart) liftZeros(unit float64) error {
	for i := range c.Points {
		p := &c.Points[i]
		if !p.Has || p.Value > 0 || p.AtLeast {
			continue
		}
		if !(unit > 0) || !usable(unit) {
			return fmt.Errorf("t chart: row %d (%s): two events at one time\nhint: give the resolution of the times; half of it is added to zeros", i+1, p.Label)
		}
		p.Value = unit / 2
		c.Warnings = append(c.Warnings, Warning{Code: ZeroTimes, Text: fmt.Sprintf("%s: two events at one time; half the resolution, %v, is plotted.", p.Label, unit/2), Points: []int{i}})
	}
	return nil
}

package spc

import (
	"fmt"
	"math"
	"strings"
)

// warn collects the cautions that belong on the page.
func (c *Chart) warn(o Options) []Warning {
	out := c.Warnings
	out = append(out, c.warnBaseline()...)
	out = append(out, c.warnSpread(o)...)
	out = append(out, c.warnLimits(o)...)
	return append(out, c.warnPoints()...)
}

// where names a phase in a warning, if there is more than one.
func (c *Chart) where(i int) string {
	if len(c.Phases) == 1 {
		return ""
	}
	return fmt.Sprintf("Phase %d: ", i+1)
}

func (c *Chart) warnBaseline() []Warning {
	var out []Warning
	for i, ph := range c.Phases {
		at := c.where(i)
		if ph.Baseline.Points == 0 && !ph.Stored {
			out = append(out, Warning{Code: NoBaseline, Text: at + "No point can be used for a centre or limits, so nothing is judged."})
			continue
		}
		if c.Kind == Run {
			for _, w := range runWarnings(c.Points, ph) {
				w.Text = at + w.Text
				out = append(out, w)
			}
		}
		if !ph.Provisional {
			continue
		}
		out = append(out, Warning{Code: Provisional, Text: fmt.Sprintf("%sThe baseline rests on %s; limits are provisional under %d.", at, points(ph.Baseline.Points), c.firm(ph.Baseline))})
	}
	return out
}

// wide is how far a ratio of spreads estimated from m points may lie from 1 by
// chance: three of its standard errors, 1.27/sqrt(2(m-1)) each (own simulation).
func wide(m int) float64 { return 3 * 1.27 / math.Sqrt(2*float64(max(m-1, 1))) }

func (c *Chart) warnSpread(o Options) []Warning {
	var out []Warning
	for i, ph := range c.Phases {
		at := c.where(i)
		b := ph.Baseline
		if b.Points == 0 && !ph.Stored {
			continue
		}
		base := c.baseline(ph)
		switch c.Kind {
		case P, NP, C, U, PPrime, UPrime:
			if (c.Kind == P || c.Kind == NP || c.Kind == PPrime) && b.Centre == 1 {
				out = append(out, Warning{Code: AllEvents, Text: at + "Every case of the baseline has the event: there are no limits and nothing can be judged against them."})
				continue
			}
			if b.Centre == 0 {
				out = append(out, c.noEvents(at, base))
				continue
			}
			z, ok := sigmaZ(c.Kind, base, b.Centre)
			prime := c.Kind == PPrime || c.Kind == UPrime
			if !ok || len(base) < 12 {
				continue
			}
			if !prime && z > 1+wide(len(base)) {
				out = append(out, Warning{Code: Overdispersed, Text: fmt.Sprintf("%sSuccessive points differ %.1f times as much as chance among the cases explains: limits from counts alone are too narrow here.", at, z)})
			}
			if z < 1 && (prime || z < math.Max(0.2, 1-wide(len(base)))) {
				text := fmt.Sprintf("%sSuccessive points differ only %.2f times as much as chance explains", at, z)
				if prime {
					text += "; limits are not drawn narrower than chance"
				}
				out = append(out, Warning{Code: Underdispersed, Text: text + ". Check how the counts were made."})
			}
		case XmR, EWMA, Cusum:
			if b.Sigma == 0 {
				out = append(out, Warning{Code: NoVariation, Text: at + "The baseline does not vary from one point to the next: there are no limits."})
			}
			if r, ok := c.serial(ph); ok && c.Kind == XmR {
				m := len(judged(c.Points, ph))
				if m >= 12 && math.Abs(r) > 2/math.Sqrt(float64(m)) {
					text := fmt.Sprintf("%sSuccessive points resemble each other (lag-1 autocorrelation %.2f)", at, r)
					if r < 0 {
						text = fmt.Sprintf("%sSuccessive points swing against each other (lag-1 autocorrelation %.2f)", at, r)
					}
					out = append(out, Warning{Code: Autocorrelated, Text: text + ": limits from moving ranges mislead, and a point beyond them need not be a special cause."})
				}
			}
		case XbarR, XbarS:
			if b.Sigma == 0 {
				out = append(out, Warning{Code: NoVariation, Text: at + "No subgroup shows any spread: there are no limits."})
			}
		case G, T:
			if b.Centre == 0 {
				out = append(out, Warning{Code: NoVariation, Text: at + "Every gap of the baseline is zero: there are no limits."})
			}
		default: // a run chart has no limits; companions are warned of by their chart
		}
	}
	_ = o
	return out
}

// noEvents says what a baseline without any event still shows: with n cases the
// true share may be as high as -ln(0.05)/n. Source: rule of three, exact form.
func (c *Chart) noEvents(at string, base []*Point) Warning {
	n := 0.0
	for _, p := range base {
		if c.Kind == C {
			n++
		} else {
			n += p.N
		}
	}
	text := at + "No event in the baseline: there are no limits."
	if n > 0 {
		text += fmt.Sprintf(" The true rate may still be as high as %.3g (95 %% upper bound).", math.Min(-math.Log(0.05)/n, map[bool]float64{true: 1, false: math.Inf(1)}[c.Kind.proportion() || c.Kind == NP]))
	}
	return Warning{Code: NoEvents, Text: text}
}

func (c *Chart) warnLimits(o Options) []Warning {
	var none, noneUp, exact, risky []int
	limits := 0
	for i := range c.Points {
		p := &c.Points[i]
		if !p.Has || p.UpperRaw == nil || p.Sigma == nil || *p.Sigma == 0 {
			continue
		}
		limits++
		if p.Lower == nil {
			none = append(none, i)
		}
		if p.Upper == nil {
			noneUp = append(noneUp, i)
		}
		if p.Exact {
			exact = append(exact, i)
		}
		if !p.Exact && o.Limits == Normal && (c.Kind == P || c.Kind == NP || c.Kind == C || c.Kind == U) &&
			small(c.Kind, c.Phases[p.Phase].Baseline.Centre, p.N) {
			risky = append(risky, i)
		}
	}
	if limits == 0 {
		return nil
	}
	var out []Warning
	add := func(code Code, idx []int, all, some string) {
		switch len(idx) {
		case 0:
		case limits:
			out = append(out, Warning{Code: code, Text: all, Points: idx})
		default:
			out = append(out, Warning{Code: code, Text: fmt.Sprintf(some, len(idx), limits), Points: idx})
		}
	}
	if c.Kind != Cusum && c.Kind != EWMA {
		add(NoLowerLimit, none, "No lower limit: it would lie at or below zero.", "No lower limit at %d of %d points: it would lie at or below zero.")
		add(NoUpperLimit, noneUp, "No upper limit: it would lie at or above the highest possible value.", "No upper limit at %d of %d points: it would lie at or above the highest possible value.")
	}
	switch c.Kind {
	case P, NP, C, U:
		law := "binomial"
		if c.Kind == C || c.Kind == U {
			law = "Poisson"
		}
		add(ExactLimits, exact, "Limits are exact quantiles of the "+law+" law (0.00135 beyond each).",
			"Limits at %d of %d points are exact quantiles of the "+law+" law (0.00135 beyond each), because fewer than 5 cases are expected on one side; the others are three sigma.")
		add(NormalSmall, risky, "Three-sigma limits although fewer than 5 cases are expected: more false signals than usual.",
			"Three-sigma limits although fewer than 5 cases are expected at %d of %d points: more false signals than usual.")
	case G:
		if len(exact) > 0 {
			out = append(out, Warning{Code: ExactLimits, Text: "Limits are quantiles of the geometric law (0.00135 beyond each), the centre is its median."})
		}
		if len(none) > 0 {
			out = append(out, Warning{Code: NoWorsening, Text: "This chart cannot show events becoming more frequent by a single point."})
		}
	case T:
		if o.Limits == Normal {
			out = append(out, Warning{Code: Transformed, Text: "Limits are those of an individuals chart on the 1/3.6 power of the times, turned back."})
		} else {
			out = append(out, Warning{Code: ExactLimits, Text: "Limits are quantiles of the exponential law (0.00135 beyond each), the centre is its median."})
		}
	default: // three sigma, as a reader expects: nothing to say
	}
	return out
}

func (c *Chart) warnPoints() []Warning {
	var gaps, hollow, aside, open, single []int
	var reasons []string
	for i := range c.Points {
		p := &c.Points[i]
		switch {
		case p.Gap && p.Observed == nil:
			gaps = append(gaps, i)
		case p.Hollow:
			hollow = append(hollow, i)
		}
		if p.SetAside && !p.Gap {
			aside = append(aside, i)
			if p.setReason != "" {
				reasons = append(reasons, fmt.Sprintf("%s: %s", p.Label, p.setReason))
			}
		}
		if p.AtLeast && p.Has {
			open = append(open, i)
		}
		if (c.Kind == XbarR || c.Kind == XbarS) && p.Has && p.spread == nil {
			single = append(single, i)
		}
	}
	var out []Warning
	add := func(code Code, idx []int, text string) {
		if len(idx) > 0 {
			out = append(out, Warning{Code: code, Text: text, Points: idx})
		}
	}
	add(GapsDrawn, gaps, capital(points(len(gaps)))+" without a value: drawn as a gap, not as zero.")
	add(HollowDrawn, hollow, capital(points(len(hollow)))+" drawn hollow: not yet complete or too much unknown, so not judged and not used for limits.")
	text := capital(points(len(aside))) + " set aside: drawn, not used for limits and passed over by run rules."
	if len(reasons) > 0 {
		text += " " + strings.Join(reasons, "; ") + "."
	}
	add(AsideDrawn, aside, text)
	add(IncompleteGaps, open, capital(points(len(open)))+" not seen from event to event: the true value is the plotted one or more. Used for no limit and no run; past the upper limit it is a signal.")
	add(SingleSubgroups, single, capital(points(len(single)))+" from a single value: no spread of its own.")
	return out
}

func capital(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

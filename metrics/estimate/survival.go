package estimate

import (
	"fmt"
	"math"
	"slices"
)

// Time is one observed time: until the event, or until observation ended without it.
type Time struct {
	At    float64
	Event bool
}

// Scale is the scale on which limits of a curve are made.
type Scale uint8

const (
	// Log makes limits on the logarithm of the curve, cut at 1.
	Log Scale = iota
	// LogLog makes them on log(-log), which never leaves 0 to 1.
	LogLog
)

// Step is one drop of a Kaplan-Meier curve.
type Step struct {
	At       float64
	AtRisk   int // just before At
	Events   int
	Survival float64 // from At on
	StdErr   float64 // of Survival
	Limits   Interval
	Limited  bool // false where the curve has reached 0: no limits there
}

// Curve is a Kaplan-Meier curve.
type Curve struct {
	Steps    []Step
	N        int
	Last     float64 // largest time observed
	Level    float64
	LimitsOn Scale
}

// KaplanMeier estimates the share still without the event at each time,
//
//	S = product of (1 - d/n),  Var S = S^2 sum of d/(n (n-d))  (Greenwood)
//
// with limits S exp(-/+ z se) on the log scale, or S^exp(-/+ z se/log S) on log-log.
// At the same time events come before ends of observation. No times give a curve
// without steps. Times must be finite and not negative. Source: Kaplan & Meier 1958;
// Kalbfleisch & Prentice (limits).
func KaplanMeier(times []Time, level float64, scale Scale) (Curve, error) {
	if err := checkLevel(level); err != nil {
		return Curve{}, err
	}
	s, err := sortedTimes(times)
	if err != nil {
		return Curve{}, err
	}
	c := Curve{Steps: []Step{}, N: len(s), Last: 0, Level: level, LimitsOn: scale}
	z := normalWidth(level)
	surv, green := 1.0, 0.0
	for i := 0; i < len(s); {
		at, d, j := s[i].At, 0, i
		for ; j < len(s) && s[j].At == at; j++ {
			if s[j].Event {
				d++
			}
		}
		n := len(s) - i
		i, c.Last = j, at
		if d == 0 {
			continue
		}
		st := Step{At: at, AtRisk: n, Events: d, Survival: 0, StdErr: 0, Limits: Interval{Lower: 0, Upper: 0}, Limited: false}
		if d == n {
			c.Steps = append(c.Steps, st)
			continue
		}
		surv *= 1 - float64(d)/float64(n)
		green += float64(d) / (float64(n) * float64(n-d))
		st.Survival, st.StdErr, st.Limited = surv, surv*math.Sqrt(green), true
		st.Limits = limitsOf(surv, math.Sqrt(green), z, scale)
		c.Steps = append(c.Steps, st)
	}
	return c, nil
}

// limitsOf makes limits from the standard error of log S.
func limitsOf(s, se, z float64, scale Scale) Interval {
	if scale == Log {
		return Interval{s * math.Exp(-z*se), math.Min(1, s*math.Exp(z*se))}
	}
	l := math.Log(s)
	e := z * se / -l
	return Interval{math.Exp(l * math.Exp(e)), math.Exp(l * math.Exp(-e))}
}

func sortedTimes(times []Time) ([]Time, error) {
	s := slices.Clone(times)
	for i, t := range s {
		if !(t.At >= 0 && t.At <= 1e100) {
			return nil, fmt.Errorf("time %d (%v) is negative or not finite", i+1, t.At)
		}
	}
	slices.SortStableFunc(s, func(a, b Time) int {
		switch {
		case a.At < b.At:
			return -1
		case a.At > b.At:
			return 1
		}
		return 0
	})
	return s, nil
}

// At gives the share still without the event at a time.
func (c Curve) At(t float64) float64 {
	s := 1.0
	for _, st := range c.Steps {
		if st.At > t {
			break
		}
		s = st.Survival
	}
	return s
}

// Quantile gives the first time at which at least a share p has had the event, with
// the limits that the limits of the curve give; each may be "not reached". Where the
// curve is exactly 1-p for a while this is the start of the stretch, not its middle.
func (c Curve) Quantile(p float64) (value, lower, upper Reach) {
	const fuzz = 1e-12
	for _, st := range c.Steps {
		if !value.Reached && st.Survival <= 1-p+fuzz {
			value = reached(st.At)
		}
		if !st.Limited {
			continue
		}
		if !lower.Reached && st.Limits.Lower <= 1-p+fuzz {
			lower = reached(st.At)
		}
		if !upper.Reached && st.Limits.Upper <= 1-p+fuzz {
			upper = reached(st.At)
		}
	}
	return value, lower, upper
}

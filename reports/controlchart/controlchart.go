// Package controlchart turns a computed control chart into the model that is
// drawn: points, lines, phases, and every signal with its letter.
package controlchart

import (
	"fmt"
	"slices"
	"strings"

	"chestrise/metrics/spc"
	"chestrise/reports/chart"
)

// Model takes over what the chart itself knows: points with their lines,
// phases, and signals. label names a point in a sentence; nil: the series' own
// labels. Titles, axis, marks and rows are the caller's.
//
// Every pattern has a letter, A, B, C in the order of the chart; the single
// points beyond one limit share a letter and a sentence, because there may be
// dozens of them.
func Model(c *spc.Chart, label func(i int) string) chart.Model {
	if label == nil {
		label = func(i int) string { return c.Points[i].Label }
	}
	m := chart.Model{Kind: Name(c.Kind), CentreIs: centreWord(c.Kind)}
	for i, p := range c.Points {
		q := chart.Point{
			Label: label(i), Short: p.Label, Has: p.Has, Hollow: p.Hollow || p.AtLeast || p.SetAside,
			Centre: p.Centre, Lower: p.Lower, Upper: p.Upper, Phase: p.Phase,
		}
		if p.Has {
			q.Value = p.Value
		}
		if p.AtLeast {
			q.Why = "not seen to its end: this many or more"
		}
		m.Points = append(m.Points, q)
	}
	for _, p := range c.Phases {
		m.Phases = append(m.Phases, chart.Phase{From: p.From, To: p.To, Label: p.Reason, Provisional: p.Provisional})
	}
	for i, s := range gathered(c.Signals) {
		letter := Letter(i)
		m.Signals = append(m.Signals, chart.Signal{Letter: letter, Points: s.Members, Words: sentence(s, label), Sense: sense(s.Verdict)})
		for _, p := range s.Members {
			m.Points[p].Letter += letter
		}
	}
	return m
}

// gathered puts the points beyond one limit into one signal.
func gathered(all []spc.Signal) []spc.Signal {
	var out []spc.Signal
	at := map[spc.Direction]int{}
	for _, s := range all {
		s.Members = slices.Clone(s.Members)
		if s.Rule == spc.BeyondLimits {
			if i, ok := at[s.Direction]; ok {
				out[i].Members = append(out[i].Members, s.Members...)
				continue
			}
			at[s.Direction] = len(out)
		}
		out = append(out, s)
	}
	return out
}

// few is how many points a sentence names one by one.
const few = 6

func sentence(s spc.Signal, label func(int) string) string {
	n := len(s.Members)
	first, last := label(s.Members[0]), label(s.Members[n-1])
	var text string
	switch {
	case s.Rule == spc.BeyondLimits && n > few:
		side := "upper"
		if s.Direction == spc.Down {
			side = "lower"
		}
		text = fmt.Sprintf("%d points beyond the %s limit, the first %s, the last %s", n, side, first, last)
	case s.Rule == spc.BeyondLimits:
		names := make([]string, n)
		for i, p := range s.Members {
			names[i] = label(p)
		}
		text = strings.Replace(s.Words, "one point", "point", 1) + ": " + strings.Join(names, ", ")
	case n == 1:
		text = s.Words + ", " + first
	default:
		text = s.Words + ", " + first + " to " + last
	}
	return strings.ToUpper(text[:1]) + text[1:] + "."
}

// Letter names the i-th signal: A to Z, then AA, AB and so on.
func Letter(i int) string {
	if i < 26 {
		return string(rune('A' + i))
	}
	return Letter(i/26-1) + Letter(i%26)
}

// Name is the kind of chart as a page names it.
func Name(k spc.Kind) string {
	switch k {
	case spc.Run:
		return "run chart"
	case spc.XmR:
		return "individuals chart"
	default: // the others are named by their letter
		return k.String() + " chart"
	}
}

func centreWord(k spc.Kind) string {
	switch k {
	case spc.Run, spc.G, spc.T:
		return "median"
	default:
		return "mean"
	}
}

func sense(v spc.Verdict) chart.Sense {
	switch v {
	case spc.Better:
		return chart.Better
	case spc.Worse:
		return chart.Worse
	default:
		return chart.Neither
	}
}

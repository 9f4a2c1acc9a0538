// Package controlchart turns a computed control chart into the model that is
// drawn: points, lines, phases, and every signal with its letter.
package controlchart

import (
	"slices"

	"chestrise/metrics/spc"
	"chestrise/reports/chart"
)

// Model takes over what the chart itself knows: points with their lines,
// phases, and signals with letters A, B, C in the order of the chart. Labels
// are the series' own; titles, axis, marks and rows are the caller's.
func Model(c *spc.Chart) chart.Model {
	m := chart.Model{Kind: Name(c.Kind), CentreIs: centreWord(c.Kind)}
	for _, p := range c.Points {
		q := chart.Point{
			Label: p.Label, Short: p.Label, Has: p.Has, Hollow: p.Hollow || p.AtLeast || p.SetAside,
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
	for i, s := range c.Signals {
		letter := Letter(i)
		m.Signals = append(m.Signals, chart.Signal{Letter: letter, Points: slices.Clone(s.Members), Words: s.Words, Sense: sense(s.Verdict)})
		for _, p := range s.Members {
			m.Points[p].Letter += letter
		}
	}
	return m
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
	}
	return k.String() + " chart"
}

func centreWord(k spc.Kind) string {
	switch k {
	case spc.Run, spc.G, spc.T:
		return "median"
	}
	return "mean"
}

func sense(v spc.Verdict) chart.Sense {
	switch v {
	case spc.Better:
		return chart.Better
	case spc.Worse:
		return chart.Worse
	}
	return chart.Neither
}

package chart

import "strings"

// headSet is the room above the plot in which the phases are named.
type headSet struct {
	lines [][]Text // of each phase
	most  int
}

func (s headSet) height() float64 {
	if s.most == 0 {
		return 0
	}
	return float64(s.most)*leading(6.5) + 1
}

// phaseHeads names the phases where there are several of them, or where one
// has a name: its label and, except for the last one, whose centre is written
// at the right, the value of its centre. A name that does not fit in three
// lines becomes a number with a note beneath.
func (l *layout) phaseHeads() headSet {
	set := headSet{lines: make([][]Text, len(l.m.Phases))}
	if len(l.m.Phases) == 0 {
		return set
	}
	for i, p := range l.m.Phases {
		to := l.size.W
		if i+1 < len(l.m.Phases) {
			to = l.edge(l.m.Phases[i+1].From)
		}
		width := to - l.edge(p.From) - 1.6
		label := p.Label
		if p.Provisional {
			label = strings.TrimPrefix(label+", provisional", ", ")
		}
		value := ""
		if c := l.m.Points[min(p.To, len(l.m.Points)-1)].Centre; c != nil && i+1 < len(l.m.Phases) {
			value = strings.TrimSpace(l.m.CentreIs + " " + l.n.Text(l.m.Y.Format, *c))
		}
		if label == "" && value == "" {
			continue
		}
		lines, fits := l.headLines(label, value, width)
		if !fits {
			n := note{role: "phase", words: l.m.Points[p.From].Label + ": " + strings.Join(nonEmpty(label, value), ", ")}
			l.numbered++
			n.number = l.numbered
			l.note(n)
			lines = nil
			if t := l.f.Text("phase", n.key(), l.typ.small, true, Ink); t.Width <= width+1 {
				lines = []Text{t}
			}
		}
		set.lines[i] = lines
		set.most = max(set.most, len(lines))
	}
	return set
}

func nonEmpty(words ...string) []string {
	var out []string
	for _, w := range words {
		if w != "" {
			out = append(out, w)
		}
	}
	return out
}

func (l *layout) headLines(label, value string, width float64) ([]Text, bool) {
	var out []Text
	for _, w := range []struct {
		words string
		bold  bool
	}{{label, true}, {value, false}} {
		if w.words == "" {
			continue
		}
		if l.f.Longest(w.words, l.typ.small, w.bold) > width {
			return nil, false
		}
		for _, line := range l.f.Wrap(w.words, l.typ.small, w.bold, width) {
			out = append(out, l.f.Text("phase", line, l.typ.small, w.bold, Soft))
		}
	}
	return out, len(out) <= 3
}

// drawPhases draws the breaks from the names down to the axis.
func (l *layout) drawPhases(set headSet, y, base float64) {
	for i, p := range l.m.Phases {
		x := l.edge(p.From)
		if p.From > 0 {
			l.line(x, y, x, base, breakStroke)
		}
		for k, t := range set.lines[i] {
			l.put(t, x+0.8, y+t.Ascent+float64(k)*leading(l.typ.small), Start)
		}
	}
}

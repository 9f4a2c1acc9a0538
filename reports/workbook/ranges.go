package workbook

import (
	"slices"
	"strings"

	"chestrise/reports/chart"
)

// list is a column of numbers that a chart draws from, and where it stands.
type list struct {
	head  string
	nums  []float64
	has   []bool // false: an empty cell, a gap in the line
	texts []string
	name  span // the heading cell: the name of the series
	where span
}

func (l *list) add(v float64)   { l.nums, l.has = append(l.nums, v), append(l.has, true) }
func (l *list) gap()            { l.nums, l.has = append(l.nums, 0), append(l.has, false) }
func (l *list) len() int        { return max(len(l.nums), len(l.texts)) }
func (l *list) any() bool       { return anyTrue(l.has) }
func (l *list) put(v *float64)  { l.putIf(v != nil, v) }
func (l *list) label(s string)  { l.texts = append(l.texts, s) }
func anyTrue(flags []bool) bool { return indexTrue(flags) >= 0 }

func (l *list) putIf(has bool, v *float64) {
	if has {
		l.add(*v)
		return
	}
	l.gap()
}

func indexTrue(flags []bool) int {
	for i, f := range flags {
		if f {
			return i
		}
	}
	return -1
}

// group is a set of columns of equal length that belong together.
type group struct {
	title string
	lists []*list
}

// ranges are the columns that a chart draws from.
type ranges struct {
	no, value            *list    // on the measure's own sheet, or here for a small chart
	stepX                *list    // places of the lines that run in steps
	settled, provisional [3]*list // lower, upper, centre
	aimX, aim            *list
	boundsX, bounds      *list
	hollowX, hollow      *list
	signalX, signal      [3]*list // by chart.Sense
	marksX, marks        *list
	phasesX, phases      *list
	labelX, labelY       *list
	labelText            *list
	bare                 []bool // points that another list marks
	open                 []bool // points to which a broken line leads
	fresh                []bool // points to which no line leads: a new phase
	groups               []group
}

// phaseGap is how far the lines of neighbouring phases stay apart, in periods.
const phaseGap = 0.12

func newRanges(m *chart.Model, p *plot, small bool) *ranges {
	n := len(m.Points)
	r := &ranges{
		no: &list{head: "period"}, value: &list{head: valueName(m)},
		bare: make([]bool, n), open: make([]bool, n), fresh: make([]bool, n),
	}
	for i := range m.Points {
		q := &m.Points[i]
		r.no.add(float64(i + 1))
		r.value.putIf(q.Has, &q.Value)
		if i > 0 {
			before := &m.Points[i-1]
			r.fresh[i] = q.Phase != before.Phase
			r.open[i] = q.Hollow || before.Hollow
		}
	}
	if small {
		r.groups = append(r.groups, group{"points", []*list{r.no, r.value}})
	}
	r.steps(m)
	r.pick(m)
	if m.Target != nil {
		r.aimX, r.aim = &list{head: "period"}, &list{head: "aim"}
		for _, x := range []float64{0.5, float64(n) + 0.5} {
			r.aimX.add(x)
			r.aim.add(m.Target.Value)
		}
		r.groups = append(r.groups, group{"aim", []*list{r.aimX, r.aim}})
	}
	if !small {
		r.uprights(m, p)
		r.words(p)
	}
	return r
}

// uprights writes the lines at interventions and at new phases.
func (r *ranges) uprights(m *chart.Model, p *plot) {
	upright := func(title, head string, at []float64) (x, y *list) {
		x, y = &list{head: "period"}, &list{head: head}
		for i, v := range at {
			if i > 0 {
				x.gap()
				y.gap()
			}
			x.add(v)
			y.add(p.ymin)
			x.add(v)
			y.add(p.ymax)
		}
		if len(at) > 0 {
			r.groups = append(r.groups, group{title, []*list{x, y}})
		}
		return x, y
	}
	var marks, phases []float64
	for _, k := range m.Marks {
		if k.At >= 0 && k.At < len(m.Points) {
			marks = append(marks, float64(k.At+1))
		}
	}
	for _, ph := range m.Phases {
		if ph.From > 0 && ph.From < len(m.Points) {
			phases = append(phases, float64(ph.From)+0.5)
		}
	}
	r.marksX, r.marks = upright("interventions: upright lines", "intervention", marks)
	r.phasesX, r.phases = upright("new phases: upright lines", "new phase", phases)
}

func (r *ranges) words(p *plot) {
	r.labelX, r.labelY, r.labelText = &list{head: "across"}, &list{head: "up"}, &list{head: "words"}
	for _, l := range p.labels {
		r.labelX.add(l.x)
		r.labelY.add(l.y)
		r.labelText.label(oneLine(join(l.lines)))
	}
	r.groups = append(r.groups, group{"words in the chart and where they stand", []*list{r.labelX, r.labelY, r.labelText}})
}

func valueName(m *chart.Model) string {
	if m.Y.Label == "" {
		return "value"
	}
	return cut(oneLine(m.Y.Label), 60) // it is a heading and a line of the legend
}

// provisional says whether the lines at a point are not settled yet.
func provisional(m *chart.Model, i int) bool {
	for _, p := range m.Phases {
		if i >= p.From && i <= p.To {
			return p.Provisional
		}
	}
	return false
}

// steps writes centre and limits with two places a period, so that they are
// drawn as steps, and a gap between phases. Provisional lines have columns of
// their own.
func (r *ranges) steps(m *chart.Model) {
	r.stepX = &list{head: "period"}
	for k, name := range [3]string{"lower limit", "upper limit", centreTitle(m)} {
		r.settled[k], r.provisional[k] = &list{head: name}, &list{head: name + ", provisional"}
	}
	all := []*list{
		r.stepX, r.settled[2], r.settled[0], r.settled[1], r.provisional[2], r.provisional[0], r.provisional[1],
	}
	for i := range m.Points {
		q := &m.Points[i]
		from, to := float64(i)+0.5, float64(i)+1.5
		if r.fresh[i] {
			for _, l := range all {
				l.gap()
			}
			from += phaseGap
		}
		if i+1 < len(m.Points) && r.fresh[i+1] {
			to -= phaseGap
		}
		drawn, other := &r.settled, &r.provisional
		if provisional(m, i) {
			drawn, other = other, drawn
		}
		for _, x := range []float64{from, to} {
			r.stepX.add(x)
			for k, v := range [3]*float64{q.Lower, q.Upper, q.Centre} {
				drawn[k].put(v)
				other[k].gap()
			}
		}
	}
	g := group{"centre and limits: two places a period, drawn as steps", []*list{r.stepX}}
	for _, l := range all[1:] {
		if l.any() {
			g.lists = append(g.lists, l)
		}
	}
	if len(g.lists) > 1 {
		r.groups = append(r.groups, g)
	}
}

// pick writes the points that are drawn differently.
func (r *ranges) pick(m *chart.Model) {
	r.boundsX, r.bounds = &list{head: "period"}, &list{head: "range if the unknown were known"}
	r.hollowX, r.hollow = &list{head: "period"}, &list{head: "open or thin: not judged"}
	for s, name := range [3]string{chart.Neither: "signal", chart.Better: "signal, favourable", chart.Worse: "signal, unfavourable"} {
		r.signalX[s], r.signal[s] = &list{head: "period"}, &list{head: name}
	}
	for i := range m.Points {
		q := &m.Points[i]
		x := float64(i + 1)
		if q.Low != nil && q.High != nil {
			if r.boundsX.len() > 0 {
				r.boundsX.gap()
				r.bounds.gap()
			}
			r.boundsX.add(x)
			r.bounds.add(*q.Low)
			r.boundsX.add(x)
			r.bounds.add(*q.High)
		}
		if !q.Has {
			continue
		}
		letters, sense := signalAt(m, i)
		r.bare[i] = q.Hollow || letters != ""
		if q.Hollow {
			r.hollowX.add(x)
			r.hollow.add(q.Value)
		}
		if letters != "" {
			r.signalX[sense].add(x)
			r.signal[sense].add(q.Value)
		}
	}
	for _, g := range []group{
		{"lowest and highest possible: two places a period", []*list{r.boundsX, r.bounds}},
		{"hollow points", []*list{r.hollowX, r.hollow}},
		{"points of a signal", []*list{r.signalX[chart.Worse], r.signal[chart.Worse]}},
		{"points of a signal", []*list{r.signalX[chart.Neither], r.signal[chart.Neither]}},
		{"points of a signal", []*list{r.signalX[chart.Better], r.signal[chart.Better]}},
	} {
		if g.lists[1].any() {
			r.groups = append(r.groups, g)
		}
	}
}

// signalAt gives the letters of the signals that a point belongs to, and the
// sense of the one that asks for most attention: an unfavourable signal before
// one without a direction before a favourable one.
func signalAt(m *chart.Model, i int) (letters string, sense chart.Sense) {
	letters = strings.TrimSpace(oneLine(m.Points[i].Letter))
	named, rank := letters, 0
	var lettersSb269 strings.Builder
	for _, s := range m.Signals {
		if !slices.Contains(s.Points, i) {
			continue
		}
		if named == "" {
			lettersSb269.WriteString(oneLine(s.Letter))
		}
		k := map[chart.Sense]int{chart.Better: 1, chart.Neither: 2, chart.Worse: 3}[s.Sense]
		if k > rank {
			rank, sense = k, s.Sense
		}
	}
	letters += lettersSb269.String()
	return letters, sense
}

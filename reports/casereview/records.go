package casereview

import (
	"fmt"
	"sort"
	"strings"

	"chestrise/metrics/cases"
	"chestrise/reports"
	"chestrise/reports/chart"
)

// entry is one record of a case, for lists.
type entry struct {
	at    float64
	place int // of the lane
	when  string
	lane  string
	what  string
}

// entries lists everything on record of a case by time; what has no place on the
// axis follows.
func entries(t *cases.Timeline) []entry {
	var out []entry
	for i := range t.Lanes {
		n := &t.Lanes[i]
		add := func(at float64, when, what string) {
			out = append(out, entry{at: at, place: i, when: when, lane: n.Name, what: what})
		}
		for _, m := range n.Marks {
			add(m.Time.At, m.Time.Words(), m.Words)
		}
		for _, r := range n.Readings {
			add(r.Time.At, r.Time.Words(), reading(n.ID, r))
		}
		for _, s := range n.Spans {
			words := s.Words
			if s.Detail != "" {
				words += ": " + s.Detail
			}
			switch {
			case s.From == nil:
				add(s.To.At, s.To.Words(), words+"; ends, begin not recorded")
			case s.To == nil:
				add(s.From.At, s.From.Words(), words+"; begins, end not recorded")
			case s.Goes:
				add(s.From.At, s.From.Words(), words+"; until "+s.To.Words()+", then continued another way")
			default:
				add(s.From.At, s.From.Words(), words+"; until "+s.To.Words())
			}
		}
	}
	sort.SliceStable(out, func(a, b int) bool {
		if out[a].at != out[b].at {
			return out[a].at < out[b].at
		}
		return out[a].place < out[b].place
	})
	for i := range t.Lanes {
		for _, w := range t.Lanes[i].Notes {
			out = append(out, entry{at: 0, place: i, when: "", lane: t.Lanes[i].Name, what: w})
		}
	}
	return out
}

func reading(id cases.LaneID, r cases.Reading) string {
	unit, name := "/min", "heart rate"
	switch id { //nolint:exhaustive // the other lanes have no unit of their own
	case cases.SaturationLane:
		unit, name = " %", "saturation"
	case cases.OxygenLane:
		unit, name = " %", "oxygen set to"
	}
	words := name + ": sensor without a reading"
	switch {
	case r.Banded && r.High >= 200:
		words = fmt.Sprintf("%s %g%s or more", name, r.Low, unit)
	case r.Banded:
		words = fmt.Sprintf("%s %g to %g%s", name, r.Low, r.High, unit)
	case r.Has:
		words = fmt.Sprintf("%s %g%s", name, r.Value, unit)
	}
	if r.Way != "" {
		words += ", " + r.Way
	}
	return words
}

// recordsOf is the list of a case's records as a table.
func recordsOf(c *cases.Case) reports.Table {
	t := reports.Table{
		Title: fmt.Sprintf("Records of case %d, %s", c.Number, c.Timeline.Axis), Name: fmt.Sprintf("records_%d", c.Number),
		Columns: []reports.Column{{Title: "Time", Text: true, Weight: 1.3, Format: chart.Plain}, {Title: "Lane", Text: true, Weight: 1.2, Format: chart.Plain}, {Title: "On record", Text: true, Weight: 5, Format: chart.Plain}},
		Rows:    nil, Empty: c.Timeline.Nothing,
	}
	for _, e := range entries(&c.Timeline) {
		when := e.when
		if when == "" {
			when = "–"
		}
		t.Rows = append(t.Rows, []reports.Cell{{Text: when, Number: nil, Link: ""}, {Text: e.lane, Number: nil, Link: ""}, {Text: e.what, Number: nil, Link: ""}})
	}
	return t
}

// records lists all records of all cases, so that nothing depends on a picture.
func (b *builder) records() (reports.Section, bool) {
	s := reports.Section{ID: "records", Title: "Records of the cases", Sheet: "", Parent: "packet", Blocks: nil}
	for i := range b.sel.Cases {
		s.Blocks = append(s.Blocks, recordsOf(&b.sel.Cases[i]))
	}
	return s, len(s.Blocks) > 0
}

// published puts recorded devices and doses beside published ranges.
func (b *builder) published() (reports.Section, bool) {
	s := reports.Section{ID: "published", Title: "Devices and doses beside published ranges", Sheet: "Devices and doses", Parent: "packet", Blocks: nil}
	t := reports.Table{
		Title: "", Name: "published", Empty: "Nothing on record to which a published range belongs.",
		Columns: []reports.Column{{Title: "Published", Text: true, Weight: 4, Format: chart.Plain}, {Title: "Source", Text: true, Weight: 2, Format: chart.Plain}, {Title: "Recorded", Text: true, Weight: 3, Format: chart.Plain}},
		Rows:    nil,
	}
	var order []cases.Published
	recorded := map[string][]string{}
	for i := range b.sel.Cases {
		c := &b.sel.Cases[i]
		for _, p := range c.Published {
			if recorded[p.Text] == nil {
				order = append(order, p)
			}
			recorded[p.Text] = append(recorded[p.Text], fmt.Sprintf("Case %d: %s.", c.Number, p.Recorded))
		}
	}
	sort.SliceStable(order, func(i, k int) bool { return order[i].Text < order[k].Text })
	for _, p := range order {
		t.Rows = append(t.Rows, []reports.Cell{{Text: p.Text, Number: nil, Link: ""}, {Text: p.Source, Number: nil, Link: ""}, {Text: strings.Join(recorded[p.Text], " "), Number: nil, Link: ""}})
	}
	s.Blocks = []reports.Block{
		reports.Text{Text: "What is recorded stands beside what is published. It is no recommendation, and a value outside a range says nothing about whether it was right for this newborn; local policy comes first.", Strong: false},
		t,
	}
	return s, len(order) > 0
}

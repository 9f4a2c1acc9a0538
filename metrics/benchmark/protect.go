package benchmark

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"chestrise/metrics/cell"
	"chestrise/metrics/disclosure"
)

// Hiding decides which rows of a table are hidden. disclosure.SuppressRows is the one
// that protects; another one is for showing, under test, that it is needed.
type Hiding func(t disclosure.Table, p disclosure.Policy, must []bool) (disclosure.RowResult, error)

// bandWidths are the ranges to which the mark of a hidden figure may be snapped, the
// narrowest that is safe is taken.
var bandWidths = []float64{0.1, 0.2, 0.25, 0.5}

// Protect makes a comparison fit for the public. What it takes away:
//
//   - a unit's row in a measure where a count of it (met, not met, or both together) is
//     too small: with it the denominator, the share, the limits and every number that
//     follows from them. Its mark is snapped to a band, where a band is wide enough
//     even for a reader who knows the denominator;
//   - further rows, until no hidden count can be worked out from totals, and the same
//     rows in every measure of the same newborns;
//   - totals, where they are too small themselves;
//   - what is small by nature: newborns without an answer (completeness is told in
//     words), excluded, excepted, held back, moved, each per unit;
//   - observed against expected, and sums over months: expected numbers carry the mix
//     of gestation of single units.
//
// The audit of every measure is in the result. A comparison that cannot be protected is
// an error. The comparison handed in is not changed.
func Protect(in *Comparison, s Settings, hide Hiding) (*Comparison, error) {
	if hide == nil {
		hide = disclosure.SuppressRows
	}
	p := s.Public.Policy()
	c := *in
	rule := s.Public
	c.Rule, c.Level, c.Audit = &rule, Public, nil
	c.Units = slices.Clone(in.Units)
	for i := range c.Units {
		u := &c.Units[i]
		u.Unit, u.Named, u.Own = "", false, false
		u.Label = "unit " + s.Units[i].Code
		u.Held, u.Births, u.HasBirth = 0, 0, false
	}
	c.Reader, c.Agreement = "", ""
	c.hideSmall(p)
	hidden, results, err := c.settle(in, s, p, hide)
	if err != nil {
		return nil, err
	}
	c.Measures = slices.Clone(in.Measures)
	for i := range c.Measures {
		m, line, err := protectMeasure(in.Measures[i], p, hidden[i], results[i])
		if err != nil {
			return nil, fmt.Errorf("%s: %w", in.Measures[i].Definition.ID, err)
		}
		for j := range hidden[i] {
			if hidden[i][j] && !results[i].Primary[j] {
				line.Linked++
			}
		}
		line.Linked -= line.Secondary
		c.Measures[i], c.Audit = m, append(c.Audit, line)
	}
	c.Notes = slices.DeleteFunc(slices.Clone(in.Notes), func(n string) bool { return strings.HasPrefix(n, "Newborns held back") })
	zeros := "A zero is shown as 0."
	if s.Public.Zeros {
		zeros = "Zeros are hidden too."
	}
	c.Notes = append(c.Notes, fmt.Sprintf("Counts from 1 to %d are hidden, and sometimes further ones, so that no family can be recognised. A blank is not zero. %s Decided: %s",
		p.Threshold-1, zeros, s.Public.ZerosDecided),
		"Observed against expected is not shown in public: expected numbers carry the mix of gestation of single units.")
	return &c, nil
}

// hideSmall hides what is told of the whole network beside the measures.
func (c *Comparison) hideSmall(p disclosure.Policy) {
	c.Moved = nil
	if p.Hides(c.MovedAll.Moved, max(c.MovedAll.Of, c.MovedAll.Moved)) {
		c.MovedAll = MovedLine{Moved: 0, Of: 0, Unknown: 0, Hidden: true, Text: "Born here, moved within 24 h, outcome unknown: too few to be shown"}
	} else {
		c.MovedAll.Unknown, c.MovedAll.Of = 0, 0
	}
	if c.HeldHidden = p.Hides(int(c.Held), int(c.Held)); c.HeldHidden {
		c.Held = 0
	}
}

// table is a measure's counts, a row a unit; units without a figure have none.
func table(m Measure) disclosure.Table {
	t := disclosure.Table{ //nolint:exhaustruct // everything is published until it is hidden
		Cells: make([][]int, len(m.Figures)),
	}
	for i, f := range m.Figures {
		t.Cells[i] = []int{f.Met, f.NotMet}
	}
	return t
}

// settle hides rows measure by measure until measures of the same newborns hide the
// same units: a share that is left out of one could be worked out from the others.
func (c *Comparison) settle(in *Comparison, s Settings, p disclosure.Policy, hide Hiding) ([][]bool, []disclosure.RowResult, error) {
	group := groups(in.Measures, s.Linked)
	hidden := make([][]bool, len(in.Measures))
	results := make([]disclosure.RowResult, len(in.Measures))
	for i := range hidden {
		hidden[i] = make([]bool, len(in.Units))
	}
	for changed := true; changed; {
		changed = false
		for i, m := range in.Measures {
			r, err := hide(table(m), p, hidden[i])
			if err != nil {
				return nil, nil, fmt.Errorf("%s: %w", m.Definition.ID, err)
			}
			results[i] = r
			for j := range r.Hidden {
				if !r.Hidden[j] {
					continue
				}
				for k := range in.Measures {
					if group[k] == group[i] && !hidden[k][j] && in.Measures[k].Figures[j].Absent == "" {
						hidden[k][j], changed = true, true
					}
				}
			}
		}
	}
	return hidden, results, nil
}

// groups numbers the measures so that those whose counts give each other away have one
// number: those of one population, and those that the settings link.
func groups(all []Measure, linked [][]string) []int {
	out := make([]int, len(all))
	for i := range out {
		out[i] = i
	}
	join := func(a, b int) {
		from, to := out[a], out[b]
		for k := range out {
			if out[k] == from {
				out[k] = to
			}
		}
	}
	for i := range all {
		for j := range i {
			if sameNewborns(all[i].Definition.Population.Condition, all[j].Definition.Population.Condition) {
				join(i, j)
			}
			for _, g := range linked {
				if slices.Contains(g, all[i].Definition.ID) && slices.Contains(g, all[j].Definition.ID) {
					join(i, j)
				}
			}
		}
	}
	return out
}

func sameNewborns(a, b cell.Condition) bool {
	return strings.Join(strings.Fields(a.Text), " ") == strings.Join(strings.Fields(b.Text), " ")
}

// protectMeasure takes the hidden rows out of a measure and audits what is left.
func protectMeasure(m Measure, p disclosure.Policy, hidden []bool, r disclosure.RowResult) (Measure, AuditLine, error) {
	t := table(m)
	line := AuditLine{
		Measure: m.Definition.ID, Rows: 0, Primary: 0, Secondary: r.Secondary, Linked: 0, NoTotals: r.NoTotals, Cells: 0, Least: -1,
		Needed: max(p.Width, 1), Bands: 0, Protected: false, cells: nil,
	}
	known := map[[2]int]disclosure.Range{}
	bands := make([]*Band, len(m.Figures))
	for i, f := range m.Figures {
		if f.Absent == "" {
			line.Rows++
		}
		if r.Primary[i] && f.Absent == "" {
			line.Primary++
		}
		if !hidden[i] || f.Absent != "" || f.Known() == 0 {
			continue
		}
		b, err := snap(t, f, i, hidden, r.NoTotals, known, line.Needed)
		if err != nil {
			return m, line, err
		}
		if bands[i] = b; b != nil {
			line.Bands++
		}
	}
	audit, least, err := disclosure.AuditRows(t, hidden, r.NoTotals, known)
	if err != nil {
		return m, line, err
	}
	line.cells, line.Cells, line.Protected = audit, len(audit), least >= line.Needed || len(audit) == 0
	if least < math.MaxInt {
		line.Least = least
	}
	out := m
	out.Figures = make([]Figure, len(m.Figures))
	for i, f := range m.Figures {
		out.Figures[i] = f.public()
		if hidden[i] && f.Absent == "" {
			out.Figures[i] = Figure{Hidden: true, Band: bands[i]} //nolint:exhaustruct // nothing else is shown
		}
	}
	out.Pooled = m.Pooled.public()
	out.Adjusted, out.Sums = nil, nil
	if r.NoTotals {
		out.Pooled = Figure{Hidden: true} //nolint:exhaustruct // nothing else is shown
		out.Target = nil
		for i := range out.Figures {
			f := &out.Figures[i]
			f.Lower95, f.Upper95, f.Lower998, f.Upper998, f.Z, f.Place, f.Outside = nil, nil, nil, nil, nil, "", false
		}
	}
	// Spread and limits from what is shown: over all units they would tell of the hidden.
	if err := out.funnel(); err != nil {
		return m, line, err
	}
	if r.NoTotals {
		out.Spread.Text = "Too few in the whole network: no target is shown, and nothing is judged."
	}
	return out, line, nil
}

// snap finds the narrowest band for a hidden share that leaves every hidden count wide
// enough even for a reader who knows the unit's denominator; nil: none does.
func snap(t disclosure.Table, f Figure, row int, hidden []bool, noTotals bool, known map[[2]int]disclosure.Range, needed int) (*Band, error) {
	n := float64(f.Known())
	for _, w := range bandWidths {
		low := math.Floor(*f.Share/w+1e-9) * w
		if low+w > 1+1e-9 { // a share of 1 belongs to the last band
			low -= w
		}
		lo, hi := int(math.Ceil(low*n-1e-9)), int(math.Floor((low+w)*n+1e-9))
		known[[2]int{row, 0}] = disclosure.Range{Lo: lo, Hi: hi}
		known[[2]int{row, 1}] = disclosure.Range{Lo: f.Known() - hi, Hi: f.Known() - lo}
		_, least, err := disclosure.AuditRows(t, hidden, noTotals, known)
		if err != nil {
			return nil, err
		}
		if least >= needed {
			return &Band{Low: low, High: low + w}, nil
		}
	}
	delete(known, [2]int{row, 0})
	delete(known, [2]int{row, 1})
	return nil, nil
}

// public is a figure without what is small by nature.
func (f Figure) public() Figure {
	f.CompletenessIn = completeness(f.Completeness)
	f.Unknown, f.Undecided, f.EligibilityUnknown, f.Excluded, f.Exceptions = 0, 0, 0, 0, 0
	f.Completeness, f.Bounds = nil, nil
	return f
}

// completeness in words that give no count away.
func completeness(x *float64) string {
	switch {
	case x == nil:
		return ""
	case *x >= 0.95:
		return "95 % or more known"
	case *x >= 0.8:
		return "80 to 95 % known"
	case *x >= 0.5:
		return "50 to 80 % known"
	}
	return "less than half known"
}

// Unprotected lists the measures whose audit failed.
func (c *Comparison) Unprotected() []string {
	var out []string
	for _, a := range c.Audit {
		if !a.Protected {
			out = append(out, a.Measure)
		}
	}
	return out
}

package metrics

import (
	"fmt"
	"slices"

	"chestrise/etl/record"
	"chestrise/metrics/measure"
)

// newborns is one mark a newborn, of the two years up to the month.
func (b *builder) newborns(all map[string]history) {
	line, d := b.d.Chart.Line, b.d
	if !d.Chart.Newborns {
		return
	}
	if d.Chart.Of != "" {
		d, _ = b.Catalogue.Get(d.Chart.Of)
	}
	if d.Data != measure.Value {
		return
	}
	from := max(b.c.first, b.last-23)
	t := all[d.ID].over(months(from, b.last))
	n := &Newborns{
		Axis: Axis{Title: d.UnitWords, Percent: false, Unit: d.Unit, Aim: nil, AimText: ""}, Log: true, Line: line, LineText: "",
		Marks: nil, From: from, To: b.last, Median: medianSign(d, t.items), Text: "",
	}
	if n.Line > 0 {
		n.LineText = fmt.Sprintf("%s %s", measure.Number(n.Line), d.Unit)
	}
	unordered := 0
	for i, it := range t.items {
		if it.Order == 0 {
			unordered++
		}
		n.Marks = append(n.Marks, Newborn{
			Place: i + 1, Month: it.month, Low: it.Low, High: it.High, Sign: d.Sign(it.End), End: endWords(d, it.End), EndCode: it.End,
			Open: it.High > it.Low, Closed: b.c.closed[it.month],
		})
	}
	n.Text = fmt.Sprintf("%d newborns in order of birth, %s to %s; %s.", len(n.Marks), MonthName(from), MonthName(b.last), medianWords(d, n.Median))
	if unordered > 0 {
		n.Text += fmt.Sprintf(" For %d the order within the month is not known.", unordered)
	}
	b.m.Newborns = n
}

// medianSign is the time by which half of all newborns had a sign: the middle one in
// order of time, where whoever met another end first never has a sign, so that the
// median may not be reached. A time known as an interval counts at its longest. Nil:
// not reached, or no newborn.
//
// Source of the rule: cumulative incidence with competing ends; here every newborn is
// followed to an end, so that it is a plain share.
func medianSign(d measure.Definition, items []item) *float64 {
	var x []float64
	for _, it := range items {
		if d.Sign(it.End) {
			x = append(x, it.High)
		}
	}
	need := (len(items) + 1) / 2
	if len(items) == 0 || len(x) < need {
		return nil
	}
	slices.Sort(x)
	return &x[need-1]
}

func medianWords(d measure.Definition, m *float64) string {
	switch {
	case m == nil:
		return "half did not reach a sign"
	case !d.End.Present():
		return fmt.Sprintf("median %s %s", measure.Number(*m), d.Unit)
	}
	return fmt.Sprintf("half had a sign by %s %s", measure.Number(*m), d.Unit)
}

// rolling is the table of the twelve months up to each closed month.
func (b *builder) rolling() {
	d := b.d
	if d.Chart.Rolling == 0 || d.Data != measure.Value || b.u.Latest == 0 {
		return
	}
	r := &Rolling{Limits: d.Chart.Shares, Rows: nil, Months: d.Chart.Rolling, Unit: d.Unit}
	for to := b.c.first + record.Month(d.Chart.Rolling) - 1; to <= b.u.Latest; to++ {
		from := to - record.Month(d.Chart.Rolling) + 1
		t := b.h.over(months(from, to))
		row := RollingRow{From: from, To: to, Newborns: len(t.items), Within: nil, Straddle: nil, OtherEnds: otherEnds(d, t.items), Median: medianSign(d, t.items), Text: ""}
		for _, l := range d.Chart.Shares {
			var s tally
			s.items = t.items
			s = s.share(d, l)
			row.Within = append(row.Within, int(s.met))
			row.Straddle = append(row.Straddle, int(s.undecided))
		}
		row.Text = medianWords(d, row.Median)
		if len(t.items) == 0 {
			row.Text = "no newborn"
		}
		r.Rows = append(r.Rows, row)
	}
	b.m.Rolling = r
}

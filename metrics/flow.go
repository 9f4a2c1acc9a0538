package metrics

import (
	"fmt"
	"slices"

	"chestrise/etl/record"
	"chestrise/metrics/cell"
	"chestrise/metrics/measure"
	"chestrise/metrics/spc"
)

// flows tell how newborns come down to the answer, for the latest closed point and
// for twelve months.
func (b *builder) flows() {
	if b.u.Latest == 0 {
		return
	}
	from, to := b.u.Latest, b.u.Latest
	name := MonthName(to)
	if b.now >= 0 && b.m.Period == Quarterly {
		p := b.m.Points[b.now]
		from, to, name = p.From, p.To, p.Label
	}
	b.m.Flow = flowOf(b.d, b.h, name, from, to, b.u.Coverage)
	year := max(b.c.first, b.u.Latest-11)
	b.m.Year = flowOf(b.d, b.h, MonthName(year)+" to "+MonthName(b.u.Latest), year, b.u.Latest, b.u.Coverage)
}

// flowOf names and counts every loss on the way. The remaining counts and the
// losses between two of them always add up.
func flowOf(d measure.Definition, h history, name string, from, to record.Month, cov record.Coverage) Flow {
	t := h.over(months(from, to))
	counted := t.counted(d)
	f := Flow{Label: name, From: from, To: to, Steps: nil}
	add := func(kind, name string, n int32, loss bool) {
		f.Steps = append(f.Steps, Step{Name: name, Count: int64(n), Loss: loss, Kind: kind})
	}
	first := map[record.Coverage]string{
		record.EveryBirth: "births on record", record.NewbornTeamAttended: "births attended by a newborn team, on record", record.NewbornHelped: "newborns helped, on record",
	}[cov]
	if first == "" {
		first = "newborns on record"
	}
	add("births", first, t.all(), false)
	add("outside", "outside the population", t.outside, true)
	add("eligibility-unknown", "cannot be told whether they belong", t.eligibilityUnknown, true)
	inside := t.all() - t.outside - t.eligibilityUnknown
	add("population", "in the population", inside, false)
	for i, r := range d.Exclusions {
		add("excluded", "left out: "+r.Reason, at(t.excluded, i), true)
	}
	for i, r := range d.Exceptions {
		add("exception", "not met, with a documented reason: "+r.Reason, at(t.exceptions, i), true)
	}
	if d.Data == measure.RareEvent {
		add("unknown", "births whose outcome is not known (counted as births)", t.unknown+t.undecided, false)
		add("met", "events", t.met, false)
		return f
	}
	add("unknown", "answer not recorded", counted.unknown, true)
	add("undecided", "recorded times allow both answers", counted.undecided, true)
	add("known", "known", counted.known(), false)
	if d.Presumed.Present() {
		add("presumed", "of those, counted as presumed", t.presumed, false)
	}
	switch {
	case d.Data == measure.Value && d.Chart.Kind == "p":
		add("met", fmt.Sprintf("sign within %s %s", measure.Number(d.Chart.Within), d.UnitWords), counted.met, false)
		late := counted.notMet
		ends := otherEnds(d, t.items)
		for _, e := range ends {
			late -= int32(e.Count)
		}
		add("not-met", "sign later", late, false)
		for _, e := range ends {
			add("end", "no sign, ended by "+e.Name, int32(e.Count), false)
		}
	default:
		add("met", "met", counted.met, false)
		add("not-met", "not met", counted.notMet, false)
	}
	return f
}

func at(x []int32, i int) int32 {
	if i < len(x) {
		return x[i]
	}
	return 0
}

// otherEnds counts what came first instead of a sign, in the order of the words.
func otherEnds(d measure.Definition, items []item) []Count {
	by := map[string]int64{}
	for _, it := range items {
		if !d.Sign(it.End) {
			by[endWords(d, it.End)]++
		}
	}
	return counts(by)
}

func endWords(d measure.Definition, end string) string {
	if w := d.Ends[end]; w != "" {
		return w
	}
	if end == "" {
		return "an end without a name"
	}
	return end
}

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

// smallRate is how many known newborns a stratum needs before a rate is printed.
const smallRate = 20

// addBands adds the table by gestation band of the two years up to the latest closed
// month: counts, and a rate only from twenty known newborns on.
func addBands(m *MeasureView, d measure.Definition, cells []cell.Cell, latest record.Month) {
	if m.Absent != "" || latest == 0 || !slices.Contains(d.Strata, "gestation_band") {
		return
	}
	from := latest - 23
	by := map[uint8]tally{}
	first := latest
	for _, c := range cells {
		if c.Month < from || c.Month > latest {
			continue
		}
		first = min(first, c.Month)
		t := by[c.Band]
		t.add(d, c)
		by[c.Band] = t
	}
	s := Stratum{Title: "By gestation", From: first, To: latest, Rows: nil}
	names := record.FactSpecs[record.FactGestationBand].Codes
	for band := 0; band <= len(names); band++ {
		t, ok := by[uint8(band)]
		if !ok || t.all()-t.outside == 0 {
			continue
		}
		t = t.counted(d)
		name := "outside every band"
		if band > 0 {
			name = bandName(names[band-1])
		}
		row := StratumRow{Name: name, Met: t.met, Known: t.known(), Eligible: t.eligible(), Excluded: total(t.excluded) + total(t.exceptions), Rate: nil}
		if t.known() >= smallRate {
			rate := float64(t.met) / float64(t.known())
			row.Rate = &rate
		}
		s.Rows = append(s.Rows, row)
	}
	if len(s.Rows) > 0 {
		m.Strata = append(m.Strata, s)
	}
}

func bandName(code string) string {
	switch code {
	case "unknown":
		return "gestation unknown"
	case "37-plus":
		return "37 weeks or more"
	default:
		return code + " weeks"
	}
}

// restate compares what was issued with what is known now.
func (b *builder) restate(issued []Figure) {
	for _, m := range months(b.c.first, b.last) {
		t, ok := b.h[m]
		if !ok || !b.c.closed[m] {
			continue
		}
		b.m.Figures = append(b.m.Figures, b.figure(m, t.counted(b.d)))
	}
	for _, old := range issued {
		if old.Measure != b.d.ID {
			continue
		}
		now := b.figure(old.Month, b.h[old.Month].counted(b.d))
		if old.Met == now.Met && old.Known == now.Known && old.Eligible == now.Eligible {
			continue
		}
		r := Restated{Month: old.Month, Before: old, After: now, Reason: "late, corrected or withdrawn records", Text: ""}
		if old.Basis != now.Basis {
			r.Reason = "the definition, or how facts are derived, changed"
		}
		r.Text = fmt.Sprintf("%s: %d of %d was issued, %d of %d now (%s).", MonthName(old.Month), old.Met, old.Known, now.Met, now.Known, r.Reason)
		b.m.Restated = append(b.m.Restated, r)
	}
}

func (b *builder) figure(m record.Month, t tally) Figure {
	basis := b.basis(b.d)
	f := Figure{Measure: b.d.ID, Month: m, Met: t.met, Known: t.known(), Eligible: t.eligible(), Value: nil, Basis: fmt.Sprintf("%s:%d", basis.Definition, basis.Derivation)}
	if b.d.Data == measure.RareEvent {
		f.Known, f.Eligible = t.births, t.births
	}
	if f.Known > 0 {
		v := float64(f.Met) / float64(f.Known)
		f.Value = &v
	}
	return f
}

// footnotes gathers the warnings of the chart, the marks and the definition.
func (b *builder) footnotes() {
	m := b.m
	note := func(code, text string, labels ...string) {
		if text != "" {
			m.Notes = append(m.Notes, Note{Code: code, Text: text, Labels: labels})
		}
	}
	note("baseline", m.Baseline.Text)
	note("choice", m.Baseline.Reason)
	if b.plan.anew {
		note("redefined", "The definition, or how facts are derived, has changed: every month was worked out anew, and limits were computed anew from the same months.")
	}
	if w, ok := b.declared(b.c.unit, b.d.ID, b.plan.phases[0].from, end(b.plan.phases, 0, 1<<30)); ok && b.plan.stored[0] != nil && b.plan.period == Monthly && (w.From != b.plan.stored[0].From || w.To != b.plan.stored[0].To) {
		note("window-differs", fmt.Sprintf("The declared window (%s to %s) is not the one whose limits are stored; stored limits stay until a person records a new phase.", MonthName(w.From), MonthName(w.To)))
	}
	for _, k := range m.Marks {
		note("mark", k.Text)
	}
	for _, w := range m.Chart.Warnings {
		if w.Code == spc.HollowDrawn {
			continue // said point by point below
		}
		var labels []string
		for _, i := range w.Points {
			labels = append(labels, m.Points[i].Label)
		}
		note(string(w.Code), w.Text, labels...)
	}
	by := map[string][]string{}
	var order []string
	for _, p := range m.Points {
		if p.Hollow == "" {
			continue
		}
		if by[p.Hollow] == nil {
			order = append(order, p.Hollow)
		}
		by[p.Hollow] = append(by[p.Hollow], p.Label)
	}
	for _, h := range order {
		note("hollow", "Drawn hollow and not judged: "+h+".", by[h]...)
	}
	if len(b.limits) > 0 {
		var labels []string
		for _, i := range b.limits {
			labels = append(labels, m.Points[i].Label)
		}
		note("held-limits", "Not judged against the limits, because beyond or not would hang on newborns without an answer; judged for its side of the centre.", labels...)
	}
	if p := m.latestBounds(); p != "" {
		note("bounds", p)
	}
	note("not-judged", sentenceIf("No verdict: ", m.NotJudged))
	m.Notes = append(m.Notes, notesOf(b.d)...)
}

func sentenceIf(head, s string) string {
	if s == "" {
		return ""
	}
	return head + s + "."
}

func (m *MeasureView) latestBounds() string {
	if m.Latest.Bounds == nil || !m.Latest.Has || !m.Axis.Percent {
		return ""
	}
	return fmt.Sprintf("%s: had none or all of the newborns without an answer been met, the share would lie between %.0f%% and %.0f%%.", m.Latest.Label, 100*m.Latest.Bounds.Low, 100*m.Latest.Bounds.High)
}

// notesOf are the cautions and notes of a definition.
func notesOf(d measure.Definition) []Note {
	var out []Note
	add := func(code, text string) {
		if text != "" {
			out = append(out, Note{Code: code, Text: text, Labels: nil})
		}
	}
	for _, s := range d.Cautions {
		add("caution", s)
	}
	add("limits", d.Limits.Words)
	for _, s := range d.Notes {
		add("note", s)
	}
	return out
}

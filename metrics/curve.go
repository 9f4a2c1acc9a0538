package metrics

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"chestrise/etl/record"
	"chestrise/metrics/cell"
	"chestrise/metrics/estimate"
	"chestrise/metrics/measure"
)

// Curve is how soon ventilation was on record as working: the cumulative share of
// newborns with a sign by each second of ventilation, with the ends that came first
// instead beside it. Whoever met another end stays below the line for good: leaving
// them out would say what might have been had no tube, no compressions and no stop
// existed. It has one side, or two around an intervention.
type Curve struct {
	Measure  string // the value measure it rests on
	Title    string
	Unit     string  // of the time axis
	UnitIn   string  // the same as spoken
	At       float64 // where the two sides are compared
	Level    float64 // of every interval
	Sides    []CurveSide
	Change   *CurveChange // nil: one side
	Absent   string       // not empty: why there is no curve
	Notes    []string
	Followed string // how long newborns are followed, and what becomes of intervals
}

// CurveSide is the curve of some months.
type CurveSide struct {
	Name               string // "before", "after", or "the two years"
	From, To           record.Month
	Months             int // with data, all of them closed
	Newborns           int // followed to a sign, another end, or the end of observation
	Unknown            int // belong, but neither sign nor end can be told
	Undecided          int // the recorded times allow more than one order
	EligibilityUnknown int // it cannot be told whether they belong
	Intervals          int // of Newborns: known as an interval only, drawn at its latest
	Steps              []CurveStep
	Shares             []CurveShare
	Ends               []CurveEnd
	Half               *float64 // by when half had a sign; nil: half never had
	Text               string
}

// CurveStep is one rise of a curve. The share holds from At on.
type CurveStep struct {
	At           float64
	AtRisk       int // without any end just before
	Share        float64
	Lower, Upper *float64 // pointwise interval; nil where the share is 0 or 1
}

// CurveShare is the share with a sign at or under a time. A time that is known as an
// interval around it counts as later, and is counted.
type CurveShare struct {
	At           float64
	Within       int
	Straddle     int // a sign whose interval holds At
	Newborns     int
	Share        float64
	Lower, Upper float64
	Text         string // "9 of 14 by 60 s"
}

// CurveEnd is an end that came first instead of a sign.
type CurveEnd struct {
	Code     string // the fact's word
	Name     string // as printed
	Newborns int
	Steps    []CurveStep // its own cumulative share
}

// CurveChange sets the side after an intervention against the side before.
type CurveChange struct {
	Month        record.Month // the intervention's own month belongs to neither side
	Label        string
	Difference   *float64 // share after less share before at At; nil: not compared
	Lower, Upper *float64
	P            *float64 // nil: fewer than 20 on a side, or not compared
	Why          string   // why something is not said
	Text         string
	Others       []string // what else changed within the two sides
}

// fewOnASide is how many newborns each side needs before a p-value is given.
const fewOnASide = 20

// curveLevel is the level of every interval of a curve.
const curveLevel = 0.95

// curveSpan is how many months a side may cover; without an intervention the curve
// covers twice as many.
const curveSpan = 12

// Curve builds the curve of a value measure with ends, from cells alone, up to the
// last closed month at or before month (0: the last with data). Where the settings
// name an intervention for the unit and measure, the latest one with closed months
// on both sides parts the curve: at most twelve months on either side, no further
// than the next intervention, and its own month in neither.
func (e *Engine) Curve(ctx context.Context, unit, id string, month record.Month) (Curve, error) {
	d, err := e.Catalogue.Named(id)
	if err != nil {
		return Curve{}, err
	}
	if d.Data != measure.Value || !d.End.Present() {
		return Curve{}, fmt.Errorf("measure %s: a curve needs a value with ends", id)
	}
	c, err := e.calendarOf(ctx, unit)
	if err != nil {
		return Curve{}, fmt.Errorf("unit %s: %w", unit, err)
	}
	cells, err := e.Store.Cells(ctx, []string{unit}, id)
	if err != nil {
		return Curve{}, fmt.Errorf("cells of %s: %w", id, err)
	}
	if month == 0 {
		month = c.last
	}
	return e.curveOf(c, d, cells, month)
}

func (e *Engine) curveOf(c calendar, d measure.Definition, cells []cell.Cell, month record.Month) (Curve, error) {
	out := Curve{
		Measure: d.ID, Title: "How soon ventilation was on record as working", Unit: d.Unit, UnitIn: d.UnitWords, At: 60, Level: curveLevel,
		Sides: nil, Change: nil, Absent: "", Notes: nil,
		Followed: "Every newborn is followed to the first sign or to the first other end, at most 20 minutes. A time that is known as an interval is drawn at its latest.",
	}
	latest := c.latest(month)
	switch {
	case latest == 0:
		out.Absent = "No month has closed yet."
		return out, nil
	case absent(c, d) != "":
		out.Absent = absent(c, d)
		return out, nil
	}
	h := newHistory(d, cells)
	sides, change := e.parts(c, d, latest)
	out.Change = change
	var ends [][]estimate.End
	for _, s := range sides {
		full, x, err := s.fill(d, c, h)
		if err != nil {
			return out, err
		}
		out.Sides, ends = append(out.Sides, full), append(ends, x)
	}
	if change == nil {
		return out, nil
	}
	return out, e.compare(c, d, &out, ends)
}

// parts finds the sides of a curve: around the latest intervention with closed months
// on both sides, or the last two years as one.
func (e *Engine) parts(c calendar, d measure.Definition, latest record.Month) ([]CurveSide, *CurveChange) {
	side := func(name string, from, to record.Month) CurveSide {
		return CurveSide{
			Name: name, From: max(c.first, from), To: to, Months: 0, Newborns: 0, Unknown: 0, Undecided: 0, EligibilityUnknown: 0, Intervals: 0,
			Steps: nil, Shares: nil, Ends: nil, Half: nil, Text: "",
		}
	}
	labels := e.labels(c.unit, d.ID)
	for i := len(labels) - 1; i >= 0; i-- {
		l := labels[i]
		from, to := l.From-curveSpan, min(latest, l.From+curveSpan)
		if i > 0 {
			from = max(from, labels[i-1].From+1)
		}
		if i+1 < len(labels) {
			to = min(to, labels[i+1].From-1)
		}
		before, after := side("before", from, l.From-1), side("after", l.From+1, to)
		if before.From > before.To || after.From > after.To || !anyClosed(c, before) || !anyClosed(c, after) {
			continue
		}
		return []CurveSide{before, after}, &CurveChange{
			Month: l.From, Label: l.Label, Difference: nil, Lower: nil, Upper: nil, P: nil, Why: "", Text: "", Others: nil,
		}
	}
	name := "the two years"
	if c.first > latest-2*curveSpan+1 {
		name = "all months"
	}
	return []CurveSide{side(name, latest-2*curveSpan+1, latest)}, nil
}

// labels are the interventions of a unit's measure, one a month, ascending.
func (e *Engine) labels(unit, id string) []Label {
	var out []Label
	for _, l := range e.Settings.Interventions {
		if (l.Unit == "" || l.Unit == unit) && (len(l.Measures) == 0 || slices.Contains(l.Measures, id)) {
			out = append(out, l)
		}
	}
	slices.SortStableFunc(out, func(a, b Label) int { return cmp.Compare(a.From, b.From) })
	return slices.CompactFunc(out, func(a, b Label) bool { return a.From == b.From })
}

func anyClosed(c calendar, s CurveSide) bool {
	return slices.ContainsFunc(months(s.From, s.To), func(m record.Month) bool { return c.closed[m] && c.documents[m] > 0 })
}

// fill counts the side's closed months and draws its curves.
func (s CurveSide) fill(d measure.Definition, c calendar, h history) (CurveSide, []estimate.End, error) {
	var ms []record.Month
	for _, m := range months(s.From, s.To) {
		if _, ok := h[m]; ok && c.closed[m] {
			ms = append(ms, m)
		}
	}
	t := h.over(ms)
	s.Months, s.Newborns = len(ms), len(t.items)
	s.Unknown, s.Undecided, s.EligibilityUnknown = int(t.unknown), int(t.undecided), int(t.eligibilityUnknown)
	causes := otherCauses(d, t.items)
	var ends []estimate.End
	for _, it := range t.items {
		cause := 0 // observation ended: nothing came first
		switch i := slices.Index(causes, it.End); {
		case d.Sign(it.End):
			cause = 1
		case i >= 0:
			cause = i + 2
		}
		ends = append(ends, estimate.End{At: it.High, Cause: cause})
		if it.High > it.Low {
			s.Intervals++
		}
	}
	var err error
	if s.Steps, err = curveSteps(ends, 1); err != nil {
		return s, nil, err
	}
	for i, code := range causes {
		e := CurveEnd{Code: code, Name: endWords(d, code), Newborns: 0, Steps: nil}
		for _, it := range t.items {
			if it.End == code {
				e.Newborns++
			}
		}
		if e.Steps, err = curveSteps(ends, i+2); err != nil {
			return s, nil, err
		}
		s.Ends = append(s.Ends, e)
	}
	for _, limit := range d.Chart.Shares {
		x := CurveShare{At: limit, Within: 0, Straddle: 0, Newborns: len(t.items), Share: 0, Lower: 0, Upper: 1, Text: ""}
		for _, it := range t.items {
			switch {
			case !d.Sign(it.End) || it.Low > limit:
			case it.High <= limit:
				x.Within++
			default:
				x.Straddle++
			}
		}
		if x.Newborns > 0 {
			w, err := estimate.Wilson(x.Within, x.Newborns, curveLevel)
			if err != nil {
				return s, nil, err
			}
			x.Share, x.Lower, x.Upper = float64(x.Within)/float64(x.Newborns), w.Lower, w.Upper
		}
		x.Text = fmt.Sprintf("%d of %d by %s %s", x.Within, x.Newborns, measure.Number(limit), d.Unit)
		if x.Straddle > 0 {
			x.Text += fmt.Sprintf(", for %d more it cannot be told", x.Straddle)
		}
		s.Shares = append(s.Shares, x)
	}
	s.Half = medianSign(d, t.items)
	s.Text = s.words(d)
	return s, ends, nil
}

// observationEnd is the word of the end that is none: nobody watched for longer.
var observationEnd = record.FactSpecs[record.FactFirstEnd].Codes[record.FirstEndObservationEnd-1]

// otherCauses are the ends other than a sign that some item has, in the dictionary's
// order; the end of observation is none.
func otherCauses(d measure.Definition, items []item) []string {
	var out []string
	for _, code := range record.FactSpecs[record.FactFirstEnd].Codes {
		if !d.Sign(code) && code != observationEnd && slices.ContainsFunc(items, func(it item) bool { return it.End == code }) {
			out = append(out, code)
		}
	}
	return out
}

func curveSteps(ends []estimate.End, cause int) ([]CurveStep, error) {
	in, err := estimate.CumulativeIncidence(ends, cause, curveLevel)
	if err != nil {
		return nil, fmt.Errorf("curve: %w", err)
	}
	var out []CurveStep
	for _, st := range in.Steps {
		x := CurveStep{At: st.At, AtRisk: st.AtRisk, Share: st.Share, Lower: nil, Upper: nil}
		if st.Limited {
			l, u := st.Limits.Lower, st.Limits.Upper
			x.Lower, x.Upper = &l, &u
		}
		out = append(out, x)
	}
	return out, nil
}

func (s CurveSide) words(d measure.Definition) string {
	n := int64(s.Newborns)
	text := fmt.Sprintf("%s to %s: %d %s", MonthName(s.From), MonthName(s.To), n, plural(n, "newborn", "newborns"))
	if lost := s.Unknown + s.Undecided; lost > 0 {
		text += fmt.Sprintf(" of %d who belong", s.Newborns+lost)
	}
	if n == 0 {
		return text + "."
	}
	var parts []string
	for _, e := range s.Ends {
		parts = append(parts, fmt.Sprintf("%s %d", e.Name, e.Newborns))
	}
	text += "; " + medianWords(d, s.Half)
	if len(parts) > 0 {
		text += "; came first instead: " + strings.Join(parts, ", ")
	}
	return text + "."
}

// compare sets the two sides against each other: the difference at one time with its
// interval, and from twenty newborns a side a test of the whole curves with the other
// ends competing (Gray). Where times were taken in another way on one side there is
// nothing to compare.
func (e *Engine) compare(c calendar, d measure.Definition, out *Curve, ends [][]estimate.End) error {
	ch, before, after := out.Change, out.Sides[0], out.Sides[1]
	for _, x := range c.changes() {
		if x.moves(d) && x.from > before.From && x.from <= after.To {
			ch.Why = x.text + " The two sides are not on the same footing and are not compared."
		}
	}
	for _, l := range e.Settings.Interventions {
		if (l.Unit == "" || l.Unit == c.unit) && l.From >= before.From && l.From <= after.To && (l.From != ch.Month || l.Label != ch.Label) {
			ch.Others = append(ch.Others, MonthName(l.From)+": "+l.Label)
		}
	}
	head := fmt.Sprintf("%s (%s)", ch.Label, MonthName(ch.Month))
	tail := "Two periods differ in more than one intervention."
	if len(ch.Others) > 0 {
		tail = "Also within these months: " + strings.Join(ch.Others, "; ") + ". " + tail
	}
	switch {
	case ch.Why != "":
		ch.Text = head + ": " + ch.Why
		return nil
	case before.Newborns == 0 || after.Newborns == 0:
		ch.Why = "On one side there is no newborn to compare."
		ch.Text = head + ": " + ch.Why
		return nil
	}
	b, a := before.at(out.At), after.at(out.At)
	diff, err := estimate.Newcombe(a.Within, a.Newborns, b.Within, b.Newborns, curveLevel)
	if err != nil {
		return fmt.Errorf("difference of shares: %w", err)
	}
	ch.Difference, ch.Lower, ch.Upper = &diff.Value, &diff.Lower, &diff.Upper
	ch.Text = fmt.Sprintf("%s: by %s %s of ventilation %d of %d had a sign before and %d of %d after, a difference of %s points (95 %% interval %s to %s).",
		head, measure.Number(out.At), d.Unit, b.Within, b.Newborns, a.Within, a.Newborns, points(diff.Value), points(diff.Lower), points(diff.Upper))
	if before.Newborns < fewOnASide || after.Newborns < fewOnASide {
		ch.Why = fmt.Sprintf("Fewer than %d newborns on a side: no test.", fewOnASide)
		ch.Text += " " + ch.Why + " " + tail
		return nil
	}
	g, err := estimate.Gray(ends[0], ends[1], 1)
	if err != nil {
		return fmt.Errorf("test of the curves: %w", err)
	}
	ch.P = &g.P
	ch.Text += fmt.Sprintf(" Over the whole curve, other ends competing: p %s. %s", pWords(g.P), tail)
	return nil
}

// at is the share at a time; every side has the same times.
func (s CurveSide) at(t float64) CurveShare {
	for _, x := range s.Shares {
		if x.At == t {
			return x
		}
	}
	return CurveShare{At: t, Within: 0, Straddle: 0, Newborns: s.Newborns, Share: 0, Lower: 0, Upper: 1, Text: ""}
}

// points prints a difference of shares in points of a hundred, with its sign.
func points(x float64) string { return strings.Replace(fmt.Sprintf("%+.0f", 100*x), "-", "−", 1) }

func pWords(p float64) string {
	if p < 0.001 {
		return "under 0.001"
	}
	return fmt.Sprintf("%.3f", p)
}

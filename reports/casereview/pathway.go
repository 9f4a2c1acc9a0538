package casereview

import (
	"fmt"
	"strings"

	"chestrise/metrics/cases"
	"chestrise/metrics/estimate"
	"chestrise/reports"
	"chestrise/reports/chart"
)

// fewest is the number of newborns under which no share is printed.
const fewest = 20

// pathway counts corrective steps and what followed them, and draws how soon
// ventilation worked, on both sides of the last training.
func (b *builder) pathway() (reports.Section, bool) {
	p := &b.sel.Pathway
	s := reports.Section{ID: "pathway", Title: "Corrective steps and what followed", Sheet: "Pathway", Parent: "packet", Blocks: nil}
	add := func(x ...reports.Block) { s.Blocks = append(s.Blocks, x...) }
	if p.Training != 0 {
		add(reports.Text{Text: fmt.Sprintf("The last training was in %s; that month belongs to neither side. What else changed then is not known to this page.", b.month(p.Training)), Strong: false})
	}
	slide := stepsDrawing(p, chart.Size{W: 254, H: 142.9}, 1.9, b.f, b.slideNotices())
	page := stepsDrawing(p, chart.Size{W: 174, H: 0}, 1, b.f, nil)
	b.p.Figures = append(b.p.Figures, Figure{Name: "pathway", Drawing: slide})
	add(reports.Picture{Drawing: page, Table: stepsTable(p)}, reports.Footnotes{Items: []string{
		"Followed: chest movement or exhaled CO₂ on record within 10 s of the step. The heart rate answers 20 to 30 s after ventilation begins to work; it is credited to the round below, never to a step.",
		"Counts only: with so few newborns a share would mislead. A blank in a section that is not marked as filled in says nothing; the newborns whose section is marked are counted.",
	}}, endsTable(p))
	curve := b.curves(p)
	page, ok := curveDrawing(curve, chart.Size{W: 174, H: 70}, 1, b.f, nil, b.in.Locale)
	add(reports.Heading{Text: "How soon ventilation was on record as working"})
	if !ok {
		add(reports.Text{Text: "No newborn of the period began ventilation with a heart rate below 100 and has a usable time.", Strong: false})
		return s, true
	}
	foot := append(b.slideNotices(), curveWords(curve)...)
	slide, _ = curveDrawing(curve, chart.Size{W: 254, H: 142.9}, 1.45, b.f, foot, b.in.Locale)
	b.p.Figures = append(b.p.Figures, Figure{Name: "curve", Drawing: slide})
	add(reports.Picture{Drawing: page, Table: curveTable(curve)}, reports.Footnotes{Items: curveWords(curve)})
	return s, true
}

// stepsTable is the pathway as a table, in the order of the steps' names.
func stepsTable(p *cases.Pathway) reports.Table {
	t := reports.Table{Title: "Corrective steps on record", Name: "steps", Columns: []reports.Column{{Title: "Step", Text: true, Weight: 2, Format: 0}}, Rows: nil, Empty: ""}
	for i := range p.Parts {
		name := p.Parts[i].Name
		for _, c := range []string{"newborns", "records", "with a usable time", "followed"} {
			t.Columns = append(t.Columns, reports.Column{Title: name + ": " + c, Format: chart.Count, Weight: 1, Text: false})
		}
	}
	for k := range p.Parts[0].Steps {
		row := []reports.Cell{{Text: p.Parts[0].Steps[k].Name, Number: nil, Link: ""}}
		for i := range p.Parts {
			s := p.Parts[i].Steps[k]
			row = append(row, count(s.Newborns), count(s.Records), count(s.Timed), count(s.Followed))
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

// endsTable is what came first after the first inflation.
func endsTable(p *cases.Pathway) reports.Table {
	t := reports.Table{Title: "What came first after the first inflation", Name: "first_ends", Columns: []reports.Column{{Title: "First on record", Text: true, Weight: 3, Format: 0}}, Rows: nil, Empty: "No newborn was ventilated by mask."}
	for i := range p.Parts {
		t.Columns = append(t.Columns, reports.Column{Title: p.Parts[i].Name, Format: chart.Count, Weight: 1, Text: false})
	}
	for k := range p.Parts[0].Ends {
		row, some := []reports.Cell{{Text: p.Parts[0].Ends[k].Name, Number: nil, Link: ""}}, false
		for i := range p.Parts {
			n := p.Parts[i].Ends[k].Newborns
			row, some = append(row, count(n)), some || n > 0
		}
		if some {
			t.Rows = append(t.Rows, row)
		}
	}
	return t
}

// stepsDrawing draws a bar a step and side: as long as newborns had it, dark as
// far as records were followed, with the counts in words.
func stepsDrawing(p *cases.Pathway, size chart.Size, scale float64, f *chart.Fonts, foot []string) chart.Drawing {
	d := chart.Drawing{W: size.W, H: 0, Title: "Corrective steps and what followed", Alt: "Counts of corrective steps in the order of their names. " + cases.PathwayCaption, Items: nil, Cuts: nil}
	base := 7.5 * scale
	y := 0.0
	text := func(role, words string, x, size float64, bold bool, c chart.Colour) {
		t := f.Text(role, words, size, bold, c)
		t.At = chart.Pos{X: x, Y: y + t.Ascent}
		d.Items = append(d.Items, t)
	}
	lead := func(size float64) float64 { return size * 25.4 / 72 * 1.32 }
	para := func(role, words string, x, right, size float64, bold bool, c chart.Colour) {
		for _, line := range f.Wrap(words, size, bold, right-x) {
			text(role, line, x, size, bold, c)
			y += lead(size)
		}
	}
	if size.H > 0 {
		para("title", "Corrective steps and what followed", 0, size.W, base*1.5, true, chart.Ink)
		y += 2
	}
	names := 0.0
	for _, s := range p.Parts[0].Steps {
		names = max(names, f.Width(s.Name, base, false))
	}
	names += 4
	gap := 6.0
	width := (size.W - names - gap*float64(len(p.Parts)-1)) / float64(len(p.Parts))
	most := 1
	for i := range p.Parts {
		for _, s := range p.Parts[i].Steps {
			most = max(most, s.Newborns)
		}
	}
	top, lowest := y, y
	for i := range p.Parts {
		y = top
		x := names + float64(i)*(width+gap)
		part := &p.Parts[i]
		para("side", part.Name, x, x+width, base, true, chart.Ink)
		para("side", fmt.Sprintf("%s ventilated by mask; %d with the section of steps filled in; %d with a step on record", plural(part.Ventilated, "newborn", "newborns"), part.Charted, part.AnyStep), x, x+width, base*0.9, false, chart.Soft)
		lowest = max(lowest, y)
	}
	y = lowest + 1.5
	words := f.Width("000 newborns; 000 of 000 followed", base*0.9, false) + 2
	for k, s := range p.Parts[0].Steps {
		text("step", s.Name, 0, base, false, chart.Ink)
		for i := range p.Parts {
			s = p.Parts[i].Steps[k]
			x := names + float64(i)*(width+gap)
			room := max(width-words, 8)
			long := room * float64(s.Newborns) / float64(most)
			h := lead(base) * 0.62
			if s.Newborns > 0 {
				d.Items = append(d.Items, chart.Rect{Box: chart.Box{X: x, Y: y + 0.7, W: long, H: h}, Fill: chart.Rule, Stroke: chart.Stroke{}})
			}
			said := "none on record"
			if s.Newborns > 0 {
				said = fmt.Sprintf("%s; %d of %d followed", plural(s.Newborns, "newborn", "newborns"), s.Followed, s.Timed)
			}
			text("count", said, x+long+1, base*0.9, false, chart.Ink)
		}
		y += lead(base) * 1.25
	}
	y++
	para("caption", cases.PathwayCaption, 0, size.W, base, true, chart.Accent)
	for _, w := range foot {
		para("foot", w, 0, size.W, base*0.8, false, chart.Soft)
	}
	d.H = max(y+0.5, size.H)
	return d
}

// curve is the cumulative incidence of one side.
type curve struct {
	name  string
	in    estimate.Incidence
	n     int
	vague int // times that are intervals; drawn at their middle
}

func (b *builder) curves(p *cases.Pathway) []curve {
	var out []curve
	for i := range p.Parts {
		part := &p.Parts[i]
		c := curve{name: part.Name, in: estimate.Incidence{Cause: 1, Steps: nil, N: 0, Last: 0, Level: 0.95}, n: len(part.Answers), vague: 0}
		var ends []estimate.End
		for _, a := range part.Answers {
			cause := 2
			if a.Sign {
				cause = 1
			}
			if a.High > a.Low {
				c.vague++
			}
			ends = append(ends, estimate.End{At: (a.Low + a.High) / 2, Cause: cause})
		}
		in, err := estimate.CumulativeIncidence(ends, 1, 0.95)
		if err != nil || len(ends) == 0 {
			c.n = 0
		}
		c.in = in
		out = append(out, c)
	}
	return out
}

// curveLimits are the seconds of ventilation at which shares are named.
var curveLimits = []float64{30, 60, 120}

// curveWords says what the curves show and what they cannot.
func curveWords(all []curve) []string {
	out := []string{"Newborns whose ventilation began with a heart rate below 100. The line is the share with a sign of effective ventilation on record by then. An airway attempt, compressions, a drug, the end of ventilation or death that came first ends the wait without a sign; such newborns stay below the line."}
	vague, few := 0, false
	for _, c := range all {
		vague += c.vague
		few = few || c.n < fewest
	}
	if vague > 0 {
		out = append(out, plural(vague, "time is", "times are")+" known only as an interval and drawn at its middle.")
	}
	if len(all) == 2 && all[0].n > 0 && all[1].n > 0 {
		if few {
			out = append(out, fmt.Sprintf("Fewer than %d newborns on a side: the curves are not compared.", fewest))
		} else {
			d := estimate.CompareAt(all[0].in, all[1].in, 60)
			out = append(out, fmt.Sprintf("By 60 s of ventilation the share after the training is %s points of a hundred against before (95 %% interval %s to %s). Two periods differ in more than a training.", points(d.Value), points(d.Lower), points(d.Upper)))
		}
	}
	return out
}

// points writes a difference of shares in points of a hundred.
func points(x float64) string { return strings.ReplaceAll(fmt.Sprintf("%+.0f", 100*x), "-", "−") }

// share writes a share at a time: counts where there are few newborns.
func (c *curve) share(t float64, l reports.Locale) string {
	if c.n < fewest {
		return fmt.Sprintf("%.0f of %d", c.in.At(t).Share*float64(c.n), c.n)
	}
	return l.Number(chart.Percent, c.in.At(t).Share)
}

func curveTable(all []curve) reports.Table {
	t := reports.Table{Title: "Share with a sign on record", Name: "curve", Columns: []reports.Column{{Title: "Side", Text: true, Weight: 3, Format: 0}, {Title: "Newborns", Format: chart.Count, Weight: 1, Text: false}}, Rows: nil, Empty: ""}
	for _, s := range curveLimits {
		t.Columns = append(t.Columns, reports.Column{Title: fmt.Sprintf("by %.0f s of ventilation", s), Text: true, Weight: 1.5, Format: 0})
	}
	for i := range all {
		c := &all[i]
		row := []reports.Cell{{Text: c.name, Number: nil, Link: ""}, count(c.n)}
		for _, s := range curveLimits {
			row = append(row, reports.Cell{Text: c.share(s, reports.Locale{}), Number: nil, Link: ""})
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

// Package casereview builds the packet for a case conference: which cases deserve
// the room and why, each second by second, what the record cannot tell, whether
// the unit's charts say one night or the system, and room for what is decided. It
// gives a Document, every figure as a drawing of its own for slides, and a plain
// outline. It computes nothing and sees no key, month or date of a newborn.
//
// The packet blames nobody: it says what is on record and what is not, never that
// something was left out; it asks open questions and gives no verdict.
package casereview

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"chestrise/etl/record"
	"chestrise/metrics"
	"chestrise/metrics/cases"
	"chestrise/reports"
	"chestrise/reports/chart"
	"chestrise/reports/timeline"
)

// Input is all that a packet is built from.
type Input struct {
	Selection *cases.Selection
	Settings  *cases.Settings
	UnitName  string            // as printed
	Charts    *metrics.UnitView // the unit's charts; nil: none at hand
	Locale    reports.Locale
	Synthetic bool // invented records: said on every page and under every figure
}

// Figure is a drawing for a slide.
type Figure struct {
	Name    string // of its file, without ending
	Drawing chart.Drawing
}

// Packet is what the conference gets.
type Packet struct {
	Document *reports.Document
	Figures  []Figure
	Outline  string
}

// The sentences that stand on every packet.
const (
	purpose   = "For learning about the care of newborns at birth. It describes what is on record. It is no evidence about any person, must not be used for appraisal, and does not say how to treat a newborn."
	conduct   = "What is said stays; roles, not names; ask what made sense at the time; look for what the next team will meet again."
	oneCase   = "One case cannot show a rate. Whether this is one night or the system is for the unit's charts to say."
	chosen    = "Cases were chosen for learning. They cannot show how often this happens."
	screened  = "Identifiers were screened by rule. No screen is perfect: in a small unit, or with knowledge from outside, a family may still be recognised. Do not forward."
	noWording = "The hospital has supplied no confidentiality wording. The software makes no document confidential."
	synthetic = "Synthetic data: no newborn in this packet exists."
)

// prompts are open questions, the same for every case.
var prompts = []string{
	"The baby: what was known, and to whom?",
	"The hands: who was there, and for what?",
	"What was to hand: did it fit and work?",
	"The room: space, warmth, light, the way?",
	"The hour: what else was going on?",
	"The rule: was there one, did it fit?",
}

type builder struct {
	in  Input
	sel *cases.Selection
	f   *chart.Fonts
	p   *Packet
}

// Build makes the packet. Without a case it says so and still shows pathway and
// charts.
func Build(in Input) *Packet {
	b := &builder{in: in, sel: in.Selection, f: chart.DejaVu(), p: &Packet{Document: nil, Figures: nil, Outline: ""}}
	d := &reports.Document{
		Title: "Cases for the conference", Subject: "Case review of births with help", Keywords: []string{"newborn", "case review"},
		Unit: in.UnitName, Period: b.period(), Notices: b.notices(), Locale: in.Locale, Sections: nil,
	}
	if d.Unit == "" {
		d.Unit = in.Selection.Unit
	}
	b.p.Document = d
	d.Sections = append(d.Sections, b.front())
	for i := range b.sel.Cases {
		d.Sections = append(d.Sections, b.page(&b.sel.Cases[i]))
	}
	for _, s := range []func() (reports.Section, bool){b.published, b.charts, b.pathway, b.records} {
		if sec, ok := s(); ok {
			d.Sections = append(d.Sections, sec)
		}
	}
	b.p.Outline = b.outline()
	return b.p
}

// notices stand on every page.
func (b *builder) notices() []string {
	var out []string
	if b.in.Synthetic {
		out = append(out, synthetic)
	}
	if w := b.in.Settings.Confidentiality; w != "" {
		out = append(out, w)
	} else {
		out = append(out, noWording)
	}
	return out
}

func (b *builder) period() string {
	from, to := b.month(b.sel.From), b.month(b.sel.To)
	if from == to {
		return from
	}
	return from + " to " + to
}

var english = []string{"Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"}

func (b *builder) month(m record.Month) string {
	names := b.in.Locale.Months
	if len(names) != 12 {
		names = english
	}
	return fmt.Sprintf("%s %d", names[m.Number()-1], m.Year())
}

func caseID(n int) string { return fmt.Sprintf("case-%d", n) }

// why says in a few words how a case came into the packet.
func why(c *cases.Case) string {
	switch c.Why {
	case cases.Picked:
		return "chosen by hand"
	case cases.Triggered:
		return "a trigger holds"
	case cases.Sampled:
		return "drawn at random among those without a trigger"
	}
	return ""
}

// reasons are the triggers of a case in words.
func reasons(c *cases.Case) []string {
	var out []string
	for _, h := range c.Hits {
		out = append(out, h.Title)
	}
	if len(out) == 0 {
		out = append(out, "No trigger holds")
	}
	return out
}

// front is the first page: what is in the packet and how it was chosen.
func (b *builder) front() reports.Section {
	s := reports.Section{ID: "packet", Title: "What is in this packet", Sheet: "Packet", Parent: "", Blocks: nil}
	add := func(x ...reports.Block) { s.Blocks = append(s.Blocks, x...) }
	add(reports.Text{Text: b.headline(), Strong: true})
	if len(b.sel.Cases) > 0 {
		t := reports.Table{
			Title: "Cases, in the order in which they are proposed", Name: "cases",
			Columns: []reports.Column{{Title: "Case", Text: true, Weight: 0.8, Format: 0}, {Title: "Why it is here", Text: true, Weight: 5, Format: 0}, {Title: "Known at birth", Text: true, Weight: 3, Format: 0}},
			Rows:    nil, Empty: "",
		}
		for i := range b.sel.Cases {
			c := &b.sel.Cases[i]
			words := upper(why(c)) + ": " + strings.Join(reasons(c), "; ") + "."
			if c.Why == cases.Sampled {
				words = upper(why(c)) + ": smooth runs and recoveries teach too."
			}
			t.Rows = append(t.Rows, []reports.Cell{
				{Text: fmt.Sprintf("Case %d", c.Number), Link: caseID(c.Number), Number: nil}, {Text: words, Number: nil, Link: ""}, {Text: known(c), Number: nil, Link: ""},
			})
		}
		add(t)
	}
	add(b.tallies(),
		reports.Columns{Cards: []reports.Card{
			{Title: "How the cases were chosen", Lines: []string{
				"A trigger holds only where the record leaves no doubt; a time known as an interval that straddles the limit does not.",
				"Those whose trigger is least expected at their gestation come first, then those with more triggers. Counting triggers alone would always bring the smallest newborns.",
				fmt.Sprintf("At most %d cases rest on the same trigger while there are others. Limits agreed before birth switch off the triggers for the steps they name.", b.in.Settings.Alike),
			}},
			{Title: "What is not shown", Lines: []string{
				fmt.Sprintf("No dates and no times of day. What fewer than %d newborns of the period share is left out, and the page says so. Roles are named only where at least %d people hold one.", b.in.Settings.Rare, b.in.Settings.LeastHolders),
				screened,
			}},
			{Title: "What this is for", Lines: []string{purpose, chosen}},
			{Title: "In the room", Lines: []string{conduct}},
		}},
	)
	return s
}

func (b *builder) headline() string {
	s := b.sel
	if len(s.Cases) == 0 {
		if s.Newborns == 0 {
			return "No newborn is on record for this period."
		}
		return fmt.Sprintf("No case to bring: of %d newborns, %d were helped and no trigger holds for any.", s.Newborns, s.Helped)
	}
	words := fmt.Sprintf("%s from %d newborns, of whom %d were helped; a trigger holds for %d.", plural(len(s.Cases), "case", "cases"), s.Newborns, s.Helped, s.Triggered)
	if n := s.Triggered; n > 0 && b.shown(cases.Triggered)+b.shown(cases.Picked) < n {
		words += " The others with a trigger are counted below."
	}
	return words
}

func (b *builder) shown(w cases.Why) int {
	n := 0
	for i := range b.sel.Cases {
		if b.sel.Cases[i].Why == w {
			n++
		}
	}
	return n
}

// tallies counts every trigger over the period.
func (b *builder) tallies() reports.Table {
	t := reports.Table{
		Title: "Triggers in the period", Name: "triggers", Empty: "No trigger is set.",
		Columns: []reports.Column{
			{Title: "Trigger", Text: true, Weight: 5, Format: 0},
			{Title: "Holds", Format: chart.Count, Weight: 1, Text: false},
			{Title: "In this packet", Format: chart.Count, Weight: 1.2, Text: false},
			{Title: "Cannot be told", Format: chart.Count, Weight: 1.2, Text: false},
			{Title: "Off by agreed limit", Format: chart.Count, Weight: 1.3, Text: false},
		},
		Rows: nil,
	}
	for _, x := range b.sel.Tallies {
		t.Rows = append(t.Rows, []reports.Cell{{Text: x.Title, Number: nil, Link: ""}, count(x.Holds), count(x.Shown), count(x.Unknown), count(x.Off)})
	}
	return t
}

func count(n int) reports.Cell {
	x := float64(n)
	return reports.Cell{Number: &x, Text: "", Link: ""}
}

// known is what is shown of the birth, in one line.
func known(c *cases.Case) string {
	var w []string
	for _, p := range c.Context {
		switch p[0] {
		case "Gestation", "Birth", "Birth weight":
			w = append(w, p[1])
		}
	}
	if len(w) == 0 {
		return "not shown: too few are alike"
	}
	return strings.Join(w, ", ")
}

// page is one case.
func (b *builder) page(c *cases.Case) reports.Section {
	s := reports.Section{ID: caseID(c.Number), Title: fmt.Sprintf("Case %d", c.Number), Sheet: fmt.Sprintf("Case %d", c.Number), Parent: "packet", Blocks: nil}
	add := func(x ...reports.Block) { s.Blocks = append(s.Blocks, x...) }
	laid := timeline.Lay(&c.Timeline, b.alt(c), timeline.OnPage, b.f)
	add(reports.Columns{Cards: []reports.Card{
		{Title: "Why it is here", Lines: b.whyLines(c)},
		{Title: "Known at birth", Lines: pairs(c.Context)},
		{Title: "Agreed, and not shown", Lines: append(append([]string{}, c.Limits...), c.Coarsened...)},
	}}, reports.Picture{Drawing: laid.Drawing, Table: recordsOf(c)})

	b.p.Figures = append(b.p.Figures, Figure{Name: caseID(c.Number) + "-timeline", Drawing: b.slide(c)})

	cards := []reports.Card{
		{Title: "What differed from plan", Lines: orNone(c.Differed, "Nothing on record.")},
		{Title: "What the record cannot tell", Lines: orNone(c.Gaps, "Nothing that was looked for is missing.")},
		{Title: "Equipment", Lines: orNone(c.Equipment, "Nothing on record.")},
	}
	if len(c.Expectation) > 0 {
		cards = append(cards, reports.Card{Title: "Recorded, and the local aim", Lines: c.Expectation})
	}
	cards = append(cards, reports.Card{Title: "To ask", Lines: prompts}, reports.Card{Title: "One night or the system", Lines: b.linked(c)})
	add(reports.Columns{Cards: cards}, b.actions())
	return s
}

// slide is a case's timeline on a slide, with the largest type that lets it fit; a
// record that is too full for the smallest is higher than a slide.
func (b *builder) slide(c *cases.Case) chart.Drawing {
	o := timeline.OnSlide
	o.Title = fmt.Sprintf("Case %d", c.Number)
	o.Foot = strings.Join(append(b.slideNotices(), oneCase), " ")
	var d chart.Drawing
	for _, o.Type = range []float64{1.32, 1.2, 1.1, 1, 0.9} {
		if d = timeline.Lay(&c.Timeline, b.alt(c), o, b.f).Drawing; d.H <= o.H+0.05 {
			break
		}
	}
	return d
}

func (b *builder) slideNotices() []string {
	var out []string
	if b.in.Synthetic {
		out = append(out, synthetic)
	}
	if w := b.in.Settings.Confidentiality; w != "" {
		out = append(out, w)
	}
	return out
}

func (b *builder) whyLines(c *cases.Case) []string {
	out := []string{upper(why(c)) + "."}
	for _, r := range c.Hits {
		out = append(out, r.Title+".")
	}
	if c.Unexpected != "" {
		out = append(out, c.Unexpected)
	}
	for _, w := range c.Switched {
		out = append(out, "Off by a limit agreed before birth: "+w+".")
	}
	if len(c.Siblings) > 0 {
		var w []string
		for _, n := range c.Siblings {
			w = append(w, fmt.Sprintf("case %d", n))
		}
		out = append(out, "A sibling of the same birth is "+strings.Join(w, ", ")+".")
	}
	return out
}

// linked names the unit's charts that belong to the case's triggers.
func (b *builder) linked(c *cases.Case) []string {
	out := []string{oneCase}
	if b.in.Charts == nil {
		return out
	}
	for _, id := range c.Measures {
		for i := range b.in.Charts.Measures {
			if m := &b.in.Charts.Measures[i]; m.Definition.ID == id {
				out = append(out, m.Measured+": "+said(m))
			}
		}
	}
	return out
}

func orNone(lines []string, none string) []string {
	if len(lines) == 0 {
		return []string{none}
	}
	return lines
}

func pairs(all [][2]string) []string {
	var out []string
	for _, p := range all {
		out = append(out, p[0]+": "+p[1])
	}
	if len(out) == 0 {
		return []string{"Nothing can be shown: too few newborns of the period are alike."}
	}
	return out
}

func upper(s string) string {
	if s == "" {
		return s
	}
	r, n := utf8.DecodeRuneInString(s)
	return string(unicode.ToUpper(r)) + s[n:]
}

func plural(n int, one, more string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, more)
}

// alt describes a timeline to a reader who cannot see it.
func (b *builder) alt(c *cases.Case) string {
	t := &c.Timeline
	if t.Nothing != "" {
		return t.Nothing
	}
	words := fmt.Sprintf("Timeline of case %d, %s: %s on record.", c.Number, t.Axis, plural(t.Records, "time", "times"))
	if t.Caption != "" {
		words += " " + t.Caption
	}
	return words
}

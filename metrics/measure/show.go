package measure

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"chestrise/etl/record"
)

// Number prints a number without trailing zeros.
func Number(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

// Show prints the measure as a clinician can read it aloud: words first, each
// followed by its condition, then the worked examples. Lines are at most width
// characters where words allow (0: 100).
func (d Definition) Show(width int) string {
	if width <= 0 {
		width = 100
	}
	w := new(writer)
	w.width = width
	w.line(0, d.Title)
	w.line(0, strings.Repeat("=", len([]rune(d.Title))))
	w.para(0, d.Question)
	w.gap()
	w.para(0, fmt.Sprintf("%s, %s, version %d. %s. %s", d.ID, d.Family, d.Version, tierWords(d.Tier), directionWords(d)))
	w.section("Who is counted", d.Population)
	for i, r := range d.Exclusions {
		w.reason("Left out, and counted", i, r)
	}
	switch d.Data {
	case Value:
		w.section("What is measured", d.Low)
		w.condition("high", d.High.Condition.Text, d.Low.Condition.Text)
		w.ends(d)
	case RareEvent:
		w.section("The event", d.Met)
		w.section("No event", d.Missed)
	default:
		w.section("Met", d.Met)
		w.section("Not met", d.Missed)
	}
	w.section("Presumed", d.Presumed)
	for i, r := range d.Exceptions {
		w.reason("Left out only where not met, and counted", i, r)
	}
	w.words("What is not known", d.Missing.Words)
	w.coverage(d)
	w.words("What the title can bear", d.Limits.Words)
	if d.Limits.Section != record.NoSection && d.Limits.Title != "" && d.Limits.Title != d.Title {
		w.para(2, fmt.Sprintf("Where a source never marks the section %q as charted the title reads: %s.", d.Limits.Section, d.Limits.Title))
	}
	if d.Aim.Text != "" {
		source := d.Aim.Source
		if source == "" {
			source = "common practice, no source"
		}
		w.words("Aim", d.Aim.Text+" ("+source+")")
	}
	w.words("Chart", d.Chart.Words)
	for _, p := range d.Parameters {
		from := ""
		if p.Edition {
			from = ", from the guideline edition in force"
		}
		w.words("Parameter "+p.Name, fmt.Sprintf("%s: %s %s%s", p.Words, Number(p.Value), p.Unit, from))
	}
	w.list("Cautions", d.Cautions)
	w.list("Notes", d.Notes)
	var beside []string
	for _, b := range d.Beside {
		beside = append(beside, b.Measure+": "+b.Why)
	}
	w.list("Read beside", beside)
	var cited []string
	for _, c := range d.Citations {
		cited = append(cited, strings.TrimSpace(c.Text+" "+c.URL))
	}
	w.list("Sources", cited)
	w.examples(d)
	return w.String()
}

func tierWords(t Tier) string {
	if t == Core {
		return "Has a page of its own"
	}
	return "In the workbook only"
}

func directionWords(d Definition) string {
	switch {
	case d.Direction == None:
		return "No good direction: look, do not judge."
	case d.Direction == Up && d.Data == Proportion:
		return "A higher share is better."
	case d.Direction == Down && d.Data == Proportion:
		return "A lower share is better."
	case d.Direction == Up:
		return "More is better."
	default:
		return "Less is better."
	}
}

type writer struct {
	strings.Builder
	width int
}

func (w *writer) gap() { w.WriteByte('\n') }

func (w *writer) line(indent int, s string) {
	w.WriteString(strings.Repeat(" ", indent) + s + "\n")
}

// para breaks words into lines.
func (w *writer) para(indent int, s string) { w.hanging(indent, indent, s) }

func (w *writer) hanging(first, rest int, s string) {
	line, indent := "", first
	for word := range strings.FieldsSeq(s) {
		switch {
		case line == "":
			line = word
		case indent+len([]rune(line))+1+len([]rune(word)) > w.width:
			w.line(indent, line)
			line, indent = word, rest
		default:
			line += " " + word
		}
	}
	w.line(indent, line)
}

func (w *writer) words(title, s string) {
	if s == "" {
		return
	}
	w.gap()
	w.line(0, title)
	w.para(2, s)
}

func (w *writer) section(title string, c Clause) {
	if !c.Present() {
		return
	}
	w.words(title, c.Words)
	w.condition("", c.Condition.Text, "")
}

// condition prints an expression unless it repeats the one before.
func (w *writer) condition(name, text, before string) {
	if text == "" || text == before {
		return
	}
	if name != "" {
		name += ": "
	}
	for i, l := range strings.Split(text, "\n") {
		if i == 0 {
			l = name + l
		}
		w.line(4, "| "+l)
	}
}

func (w *writer) reason(title string, i int, r Reason) {
	w.words(fmt.Sprintf("%s (%d)", title, i+1), strings.TrimSpace(sentenceOf(r.Reason)+" "+r.Why))
	w.condition("", r.Condition.Text, "")
}

func sentenceOf(s string) string {
	if s == "" {
		return ""
	}
	return strings.ToUpper(s[:1]) + s[1:] + "."
}

func (w *writer) ends(d Definition) {
	if !d.End.Present() {
		return
	}
	w.condition("end", d.End.Condition.Text, "")
	w.condition("open", d.Open.Condition.Text, "")
	var signs, others []string
	for code, words := range d.Ends {
		if slices.Contains(d.Signs, code) {
			signs = append(signs, words)
		} else {
			others = append(others, words)
		}
	}
	slices.Sort(signs)
	slices.Sort(others)
	w.para(2, "Signs: "+strings.Join(signs, "; ")+".")
	w.para(2, "Other ends: "+strings.Join(others, "; ")+".")
}

func (w *writer) coverage(d Definition) {
	if d.Coverage.Words == "" {
		return
	}
	s := d.Coverage.Words
	if len(d.Coverage.Needs) > 0 {
		names := make([]string, len(d.Coverage.Needs))
		for i, n := range d.Coverage.Needs {
			names[i] = n.String()
		}
		s = "The source must send " + strings.Join(names, " or ") + ". " + s
	}
	w.words("What the source must send", s)
}

func (w *writer) list(title string, items []string) {
	if len(items) == 0 {
		return
	}
	w.gap()
	w.line(0, title)
	for _, s := range items {
		w.hanging(2, 4, "- "+s)
	}
}

func (w *writer) examples(d Definition) {
	w.gap()
	w.line(0, "Worked examples")
	for _, e := range d.Examples {
		w.hanging(2, 4, fmt.Sprintf("- %s: %s. %s", e.Name, d.answer(e.Expect.Code, e.Expect.Low, e.Expect.High, e.Expect.End, e.Expect.Presumed), e.Why))
		names := make([]string, 0, len(e.Facts))
		for k := range e.Facts {
			names = append(names, k)
		}
		slices.Sort(names)
		for i, k := range names {
			names[i] = k + " " + e.Facts[k]
		}
		w.hanging(4, 6, "("+strings.Join(names, ", ")+")")
	}
}

package workbook

import (
	"fmt"
	"strconv"
	"strings"

	"chestrise/reports"
)

// contents writes the first sheet: the overview, if the document opens with
// one, the list of the sheets, and what the workbook was made from.
func (b *book) contents(opening int, of []*sheet) error {
	s := b.first
	about := reports.Facts{Pairs: b.about()}
	var blocks []reports.Block
	title := b.doc.Title
	if opening >= 0 {
		blocks = b.doc.Sections[opening].Blocks
		if title == "" {
			title = b.doc.Sections[opening].Title
		}
	}
	if title == "" {
		title = "Report"
	}
	if err := s.setColumns(s.columnsFor(append([]reports.Block{about}, blocks...))); err != nil {
		return err
	}
	if err := s.head(title, false); err != nil {
		return err
	}
	if err := s.blocks(blocks); err != nil {
		return err
	}
	sheets := 0
	for i, to := range of {
		if to != nil && i != opening {
			sheets++
		}
	}
	if err := s.keep(40 + lineHeight(bodySize)*1.3*float64(sheets)); err != nil {
		return err
	}
	if err := s.heading("Sheets of this workbook"); err != nil {
		return err
	}
	for i, to := range of {
		if to == nil || i == opening {
			continue
		}
		sec := &b.doc.Sections[i]
		if err := s.entry(to.name, sec.Title, b.depth(sec)); err != nil {
			return err
		}
	}
	if b.data != nil {
		if err := s.entry(b.data.name, "The numbers that the charts draw their lines and labels from", 0); err != nil {
			return err
		}
	}
	if err := s.keep(30 + lineHeight(bodySize)*1.3*float64(len(about.Pairs))); err != nil {
		return err
	}
	if err := s.heading("About this workbook"); err != nil {
		return err
	}
	if err := s.facts(about); err != nil {
		return err
	}
	return s.finish()
}

// entry is a line of the contents.
func (s *sheet) entry(name, title string, depth int) error {
	l := textLook
	l.indent = min(depth, 5)
	if err := s.pair("", oneLine(title), nameLook, l); err != nil {
		return err
	}
	if err := s.link(1, s.row, linkLook, name, name); err != nil {
		return err
	}
	n := len(wrap(name, s.px[0]-12, linkLook.size, false))
	have, err := s.b.f.GetRowHeight(s.name, s.row)
	if err != nil {
		return err
	}
	return s.height(s.row, max(have, float64(n)*lineHeight(bodySize)+4))
}

// depth is the number of sections above one; a loop of parents ends the count.
func (b *book) depth(sec *reports.Section) int {
	parents := map[string]string{}
	for _, s := range b.doc.Sections {
		parents[s.ID] = s.Parent
	}
	n := 0
	for p := sec.Parent; p != "" && n < len(parents); p = parents[p] {
		n++
	}
	return n
}

// about lists what the stamp says, without what it leaves open.
func (b *book) about() [][2]string {
	st := b.stamp
	var out [][2]string
	add := func(name, value string) {
		if value != "" {
			out = append(out, [2]string{name, value})
		}
	}
	if st.Issue > 0 {
		text := strconv.Itoa(st.Issue)
		if st.Replaces > 0 {
			text += fmt.Sprintf(", replaces issue %d", st.Replaces)
		}
		add("Issue", text)
	}
	if !st.Created.IsZero() {
		add("Data as of", b.date())
	}
	if st.Generation > 0 {
		add("Registry generation", strconv.FormatInt(st.Generation, 10))
	}
	add("Coverage", st.Coverage)
	add("Guideline edition", st.Edition)
	add("Measure definitions", st.Catalogue)
	add("Program version", st.Program)
	return out
}

// date writes the time of the data with the month in the reader's language.
func (b *book) date() string {
	t := b.stamp.Created.UTC()
	month := t.Month().String()[:3]
	if m := b.doc.Locale.Months; len(m) == 12 {
		month = strings.TrimSpace(m[t.Month()-1])
	}
	return fmt.Sprintf("%d %s %d, %s UTC", t.Day(), month, t.Year(), t.Format("15:04"))
}

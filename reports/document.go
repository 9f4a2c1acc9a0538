// Package reports holds the one form in which every report exists before it
// is rendered: a Document of sections, paragraphs, tables and charts. What the
// three readers get is built as Documents (dashboard, casereview, network) and
// written by renderers (pdf, workbook, text), so that a number in one file is
// the number in the other.
package reports

import "chestrise/reports/chart"

// Document is a whole report, without the stamp that says when and from what.
type Document struct {
	Title    string
	Subject  string
	Keywords []string
	Unit     string // printed on every page
	Period   string
	Notices  []string // printed on every page: "Synthetic data.", cautions
	Locale   Locale
	Sections []Section
}

// Section is a page of the PDF and a sheet of the workbook.
type Section struct {
	ID     string // stable; links point to it
	Title  string
	Sheet  string // short sheet name (31 characters at most); empty: not in the workbook
	Parent string // ID of the section one level up in the bookmarks; may be empty
	// Headline is printed at the head of the page instead of Title: what was found.
	// Title stays the name in bookmarks and links.
	Headline string
	// SinceLast: the section compares with the last issue. What it says does not
	// itself make a new issue, so it is no part of the digest.
	SinceLast bool
	// SheetOnly: a sheet of the workbook and no page of the PDF.
	SheetOnly bool
	Blocks    []Block
}

// Block is one of Heading, Text, List, Table, Figure, Multiples, Facts, Footnotes,
// Picture, Columns.
type Block interface{ block() }

// Heading is a title inside a section.
type Heading struct{ Text string }

// Text is a paragraph. Strong paragraphs are the ones to be read first.
type Text struct {
	Text   string
	Strong bool
}

// List is a list of short paragraphs.
type List struct {
	Items   []string
	Ordered bool
}

// Facts is a list of name and value pairs ("population", "all newborns ...").
type Facts struct{ Pairs [][2]string }

// Footnotes are printed small, under what they explain.
type Footnotes struct{ Items []string }

// Figure is a chart with the table of its points behind it in the workbook.
type Figure struct {
	Chart  chart.Model
	Height float64 // millimetres on the page; 0: the renderer's choice
	// Brief: the page says elsewhere what shapes and whiskers mean and what the
	// chart's notes say; beneath the chart stand its signals alone.
	Brief bool
}

// Multiples are small charts side by side, each with one line of words.
type Multiples struct{ Items []Multiple }

// Multiple is one line of an overview: name, figures, a small chart, words.
type Multiple struct {
	Title  string
	Link   string // ID of the section with the whole page
	Latest string // "9 of 14 (64 %)"
	Open   string // what the open month holds so far; empty: nothing to say
	Centre string // "mean 39 %"
	// Direction is the favourable one, in words.
	Direction string
	Words     string // the signal in words
	Known     string // completeness
	Chart     chart.Model
}

// Table is a table with typed cells: a number stays a number in the workbook.
type Table struct {
	Title   string
	Name    string // stable name of the table in the workbook
	Columns []Column
	Rows    [][]Cell
	Empty   string // the sentence printed where there are no rows
}

// Column is a table's column. Weight shares the width; 0 counts as 1.
type Column struct {
	Title  string
	Format chart.Format
	Weight float64
	Text   bool // left-aligned words rather than numbers
}

// Cell is one cell: a number, a text, or neither ("not recorded" is a text).
type Cell struct {
	Number *float64
	Text   string
	Link   string // ID of a section
}

// Picture is a drawing that is no chart, with every place decided. Where a
// drawing cannot be shown its table stands for it.
type Picture struct {
	Drawing chart.Drawing
	Lower   []chart.Drawing // the same in less height, for what is left of a page; tried in order
	Table   Table
}

// Columns are short lists, printed small and side by side. A workbook has room:
// it shows Spelled instead, where there is any.
type Columns struct {
	Cards   []Card
	Spelled []Block
}

// Card is one short list with its title: a small chart, rows of names with
// figures, lines of words, each of which may be absent.
type Card struct {
	Title string
	Link  string   // ID of a section
	Heads []string // over the figures of Rows; may be empty
	Rows  []CardRow
	Chart *chart.Model // nil: none
	Lines []string
}

// CardRow is a name with its figures, set in columns at the right.
type CardRow struct {
	Name    string
	Figures []string
	Loss    bool // set in, a loss between two counts
}

func (Heading) block()   {}
func (Text) block()      {}
func (List) block()      {}
func (Facts) block()     {}
func (Footnotes) block() {}
func (Figure) block()    {}
func (Multiples) block() {}
func (Table) block()     {}
func (Picture) block()   {}
func (Columns) block()   {}

// Locale says how dates and numbers are written.
type Locale struct {
	DecimalComma bool
	Months       []string // twelve short names; empty: English
}

package main

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strconv"
	"strings"

	"chestrise/metrics/spc"
)

// chartData is what the chart command read.
type chartData struct {
	series spc.Series
	phases []spc.PhaseStart
}

// The three forms of a chart's file, and what may stand beside them.
var (
	chartForms    = [][]string{{"label", "numerator", "denominator"}, {"label", "value"}, {"subgroup", "value"}}
	chartOptional = []string{"phase", "set_aside"}
)

// readChart reads one of the forms; every bad cell is reported at once. In the
// long form, rows of one subgroup follow each other.
func readChart(path string) (chartData, error) {
	in := io.Reader(os.Stdin)
	if path != "-" {
		f, err := os.Open(path)
		if err != nil {
			return chartData{}, err
		}
		defer f.Close()
		in = f
	}
	r := csv.NewReader(in)
	r.FieldsPerRecord = -1
	header, err := r.Read()
	if err != nil {
		return chartData{}, fmt.Errorf("%s: no header line: %w", path, err)
	}
	for i := range header {
		header[i] = strings.ToLower(strings.TrimSpace(strings.TrimPrefix(header[i], "\ufeff")))
	}
	c := chartReader{path: path, csv: r, header: header, column: map[string]int{}}
	if err := c.form(); err != nil {
		return chartData{}, err
	}
	for {
		row, err := r.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return chartData{}, fmt.Errorf("%s: %w", path, err)
		}
		c.row(row)
	}
	if len(c.errs) > 0 {
		return chartData{}, errors.Join(c.errs...)
	}
	if len(c.data.series.Points) == 0 {
		return chartData{}, fmt.Errorf("%s: a header and no row", path)
	}
	return c.data, nil
}

type chartReader struct {
	path   string
	csv    *csv.Reader
	header []string
	column map[string]int
	long   bool // subgroup, value
	phase  string
	data   chartData
	errs   []error
}

// form finds which form the header is of.
func (c *chartReader) form() error {
	var main []string
	for i, h := range c.header {
		if _, twice := c.column[h]; twice {
			return fmt.Errorf("%s:1: the column %s stands twice", c.path, h)
		}
		c.column[h] = i
		if !slices.Contains(chartOptional, h) {
			main = append(main, h)
		}
	}
	for _, f := range chartForms {
		if slices.Equal(f, main) {
			c.data.series.Ratio = len(f) == 3
			c.long = f[0] == "subgroup"
			return nil
		}
	}
	return fmt.Errorf("%s:1: the columns are %s\nhint: want label,numerator,denominator or label,value or subgroup,value, and perhaps phase,set_aside",
		c.path, strings.Join(c.header, ","))
}

func (c *chartReader) bad(column, format string, args ...any) {
	line, at := c.csv.FieldPos(c.column[column])
	c.errs = append(c.errs, fmt.Errorf("%s:%d:%d: %s", c.path, line, at, fmt.Sprintf(format, args...)))
}

func (c *chartReader) cell(row []string, column string) string {
	i, ok := c.column[column]
	if !ok {
		return ""
	}
	return strings.TrimSpace(row[i])
}

// number reads a cell; false: empty, or bad and reported.
func (c *chartReader) number(row []string, column string) (float64, bool) {
	text := c.cell(row, column)
	if text == "" {
		return 0, false
	}
	x, err := strconv.ParseFloat(text, 64)
	if err != nil {
		c.bad(column, "%s is not a number", column)
		return 0, false
	}
	return x, true
}

func (c *chartReader) row(row []string) {
	line, _ := c.csv.FieldPos(0)
	if len(row) != len(c.header) {
		c.errs = append(c.errs, fmt.Errorf("%s:%d: %d cells, want %d", c.path, line, len(row), len(c.header)))
		return
	}
	points := &c.data.series.Points
	if c.long {
		name := c.cell(row, "subgroup")
		value, ok := c.number(row, "value")
		n := len(*points)
		if n == 0 || (*points)[n-1].Label != name {
			*points = append(*points, spc.Observation{Label: name, Missing: true})
			c.starts(row, n)
			n++
		}
		p := &(*points)[n-1]
		if ok {
			p.Sub, p.Missing = append(p.Sub, value), false
		}
		c.aside(row, p)
		return
	}
	c.starts(row, len(*points))
	o := spc.Observation{Label: c.cell(row, "label")}
	var okNum, okDen bool
	if c.data.series.Ratio {
		o.Num, okNum = c.number(row, "numerator")
		o.N, okDen = c.number(row, "denominator")
		o.Missing = !okNum || !okDen
	} else {
		o.Num, okNum = c.number(row, "value")
		o.Missing = !okNum
	}
	if o.Missing {
		o.Num, o.N = 0, 0
	}
	c.aside(row, &o)
	*points = append(*points, o)
}

// starts begins a phase where the phase column changes.
func (c *chartReader) starts(row []string, at int) {
	if _, ok := c.column["phase"]; !ok {
		return
	}
	name := c.cell(row, "phase")
	if at > 0 && name != c.phase {
		c.data.phases = append(c.data.phases, spc.PhaseStart{From: at, Reason: name})
	}
	c.phase = name
}

// aside sets a point aside where the column says anything but no; a word that
// is not yes is the reason.
func (c *chartReader) aside(row []string, o *spc.Observation) {
	switch why := c.cell(row, "set_aside"); strings.ToLower(why) {
	case "", "no":
	case "yes":
		o.SetAside = true
	default:
		o.SetAside, o.SetReason = true, why
	}
}

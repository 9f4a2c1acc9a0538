package main

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"chestrise/metrics/spc"
	"chestrise/reports"
	"chestrise/reports/chart"
	"chestrise/reports/controlchart"
	"chestrise/reports/pdf"
	"chestrise/reports/svg"
)

// chartFlags are the choices of the chart command.
type chartFlags struct {
	kind, data, until, rules, limits, out, title, axis string
	first                                              int
	centre, sigma                                      float64
	json                                               bool
}

func (a *app) chartCommand() *cobra.Command {
	var f chartFlags
	cmd := &cobra.Command{
		Use:   "chart --type TYPE --data FILE.csv",
		Short: "Draw one control chart or run chart from a file",
		Long: "Reads a CSV file with the columns label, numerator, denominator or label, value and works out the chart. An\n" +
			"empty value is a gap; a row that is not there is none. Types: p, run, xmr (individuals), g (cases between\n" +
			"events), and the others that --type names when it does not know a word.",
		Example: "  chestrise chart --type p --data births.csv --baseline-until 1847-05 --out births.svg\n" +
			"  chestrise chart --type xmr --data pressures.csv --json",
		Args: noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			set := cmd.Flags().Changed
			return a.chart(f, set("centre"), set("sigma"))
		},
	}
	fl := cmd.Flags()
	fl.StringVar(&f.kind, "type", "", "p, run, xmr or g")
	fl.StringVar(&f.data, "data", "", "CSV file, or - for standard input")
	fl.IntVar(&f.first, "baseline", 0, "centre and limits from the first N rows")
	fl.StringVar(&f.until, "baseline-until", "", "centre and limits from the rows up to this label")
	fl.Float64Var(&f.centre, "centre", 0, "stored centre instead of one from the data")
	fl.Float64Var(&f.sigma, "sigma", 0, "stored standard deviation of a single value (xmr)")
	fl.StringVar(&f.rules, "rules", "default", strings.Join(spc.RuleSetNames(), ", "))
	fl.StringVar(&f.limits, "limits", "auto", "auto, normal (three sigma) or exact (probability limits)")
	fl.StringVar(&f.out, "out", "", "write the drawing to FILE.svg or FILE.pdf")
	fl.StringVar(&f.title, "title", "", "title of the drawing (the file's name by default)")
	fl.StringVar(&f.axis, "axis", "", "label of the vertical axis")
	fl.BoolVar(&f.json, "json", false, "print every number in full precision")
	return cmd
}

func (a *app) chart(f chartFlags, hasCentre, hasSigma bool) error {
	if f.kind == "" || f.data == "" {
		return usage("--type and --data are needed\nhint: chestrise chart --help")
	}
	kind, err := spc.KindNamed(f.kind)
	if err != nil {
		return withCode(exitUsage, err)
	}
	o := spc.Options{BaselineFirst: f.first, BaselineUntil: f.until}
	if o.Rules, err = spc.RulesNamed(f.rules); err != nil {
		return withCode(exitUsage, err)
	}
	if o.Limits, err = spc.LimitsNamed(f.limits); err != nil {
		return withCode(exitUsage, err)
	}
	series, err := readSeries(f.data)
	if err != nil {
		return err
	}
	var stored *spc.Baseline
	if hasCentre {
		stored = &spc.Baseline{Centre: f.centre, Sigma: f.sigma}
	} else if hasSigma {
		return usage("--sigma goes with --centre")
	}
	c, err := spc.Plot(kind, series, stored, o)
	if err != nil {
		return fmt.Errorf("%s: %w", f.data, err)
	}
	if f.out != "" {
		if err := draw(f, &c); err != nil {
			return err
		}
	}
	if f.json {
		text, err := json.MarshalIndent(c, "", "  ")
		if err != nil {
			return err
		}
		fmt.Fprintln(a.out, string(text))
		return nil
	}
	return sayChart(a.out, f, &c)
}

// sayChart prints what the chart shows, for a person.
func sayChart(w io.Writer, f chartFlags, c *spc.Chart) error {
	d, err := c.Document()
	if err != nil {
		return err
	}
	fmt.Fprintf(w, "%s of %s: %d points", controlchart.Name(c.Kind), filepath.Base(f.data), len(c.Points))
	if d.Centre != nil {
		fmt.Fprintf(w, ", centre %.6g", *d.Centre)
	}
	fmt.Fprintln(w)
	for _, s := range controlchart.Model(c, nil).Signals {
		fmt.Fprintf(w, "signal %s: %s\n", s.Letter, s.Words)
	}
	if len(c.Signals) == 0 {
		fmt.Fprintln(w, "no signal")
	}
	for _, x := range c.Warnings {
		fmt.Fprintf(w, "note: %s\n", x.Text)
	}
	if f.out != "" {
		fmt.Fprintf(w, "drawn: %s\n", f.out)
	}
	return nil
}

// readSeries reads label, numerator, denominator or label, value; every bad
// cell is reported at once.
func readSeries(path string) (spc.Series, error) {
	in := io.Reader(os.Stdin)
	if path != "-" {
		f, err := os.Open(path)
		if err != nil {
			return spc.Series{}, err
		}
		defer f.Close()
		in = f
	}
	r := csv.NewReader(in)
	r.FieldsPerRecord = -1
	header, err := r.Read()
	if err != nil {
		return spc.Series{}, fmt.Errorf("%s: no header line: %w", path, err)
	}
	for i := range header {
		header[i] = strings.ToLower(strings.TrimSpace(strings.TrimPrefix(header[i], "\ufeff")))
	}
	ratio := false
	switch strings.Join(header, ",") {
	case "label,numerator,denominator":
		ratio = true
	case "label,value":
	default:
		return spc.Series{}, fmt.Errorf("%s:1: the columns are %s\nhint: want label,numerator,denominator or label,value", path, strings.Join(header, ","))
	}
	s := spc.Series{Ratio: ratio}
	var errs []error
	for {
		row, err := r.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return spc.Series{}, fmt.Errorf("%s: %w", path, err)
		}
		line, _ := r.FieldPos(0)
		if len(row) != len(header) {
			errs = append(errs, fmt.Errorf("%s:%d: %d cells, want %d", path, line, len(row), len(header)))
			continue
		}
		o := spc.Observation{Label: strings.TrimSpace(row[0])}
		for i, cell := range row[1:] {
			cell = strings.TrimSpace(cell)
			if cell == "" {
				o.Missing = true
				continue
			}
			x, err := strconv.ParseFloat(cell, 64)
			if err != nil {
				_, column := r.FieldPos(i + 1)
				errs = append(errs, fmt.Errorf("%s:%d:%d: %s is not a number", path, line, column, header[i+1]))
				continue
			}
			if i == 0 {
				o.Num = x
			} else {
				o.N = x
			}
		}
		if o.Missing {
			o.Num, o.N = 0, 0
		}
		s.Points = append(s.Points, o)
	}
	if len(errs) > 0 {
		return spc.Series{}, errors.Join(errs...)
	}
	if len(s.Points) == 0 {
		return spc.Series{}, fmt.Errorf("%s: a header and no row", path)
	}
	return s, nil
}

// draw writes the chart to a file by its ending; the file appears whole or not
// at all.
func draw(f chartFlags, c *spc.Chart) error {
	m := controlchart.Model(c, nil)
	m.ID = "chart"
	m.Title = f.title
	if m.Title == "" {
		m.Title = strings.TrimSuffix(filepath.Base(f.data), filepath.Ext(f.data))
	}
	m.Y = chart.Axis{Label: f.axis, Format: axisFormat(c.Kind)}
	for _, w := range c.Warnings {
		m.Notes = append(m.Notes, w.Text)
	}
	m.Alt = fmt.Sprintf("%s of %d points with %d signals.", m.Kind, len(m.Points), len(m.Signals))
	var b bytes.Buffer
	var err error
	switch filepath.Ext(f.out) {
	case ".svg":
		err = svg.Chart(&b, m, chart.OnPage, chart.Numbers{})
	case ".pdf":
		err = pdf.Chart(&b, m, chart.OnPage, chart.Numbers{}, reports.Stamp{Program: version})
	default:
		return usage("--out %s: want a name that ends in .svg or .pdf", f.out)
	}
	if err != nil {
		return err
	}
	return reports.WriteFile(f.out, b.Bytes())
}

func axisFormat(k spc.Kind) chart.Format {
	switch k {
	case spc.P, spc.PPrime:
		return chart.Percent
	case spc.G:
		return chart.Births
	}
	return chart.Plain
}

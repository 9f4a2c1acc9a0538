package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
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
	"chestrise/reports/workbook"
)

// chartFlags are the choices of the chart command.
type chartFlags struct {
	kind, data, until, rules, without, limits, sigma, out, title, axis string
	first                                                              int
	centre                                                             float64
	json                                                               bool
	memory                                                             spc.Memory
	target                                                             float64
}

func (a *app) chartCommand() *cobra.Command {
	var f chartFlags
	cmd := &cobra.Command{
		Use:   "chart --type TYPE --data FILE.csv",
		Short: "Draw one control chart or run chart from a file",
		Long: "Reads a CSV file with the columns label, numerator, denominator or label, value or, for xbar charts, subgroup,\n" +
			"value, and works out the chart. An empty value is a gap; a row that is not there is none. A column phase starts\n" +
			"new limits where its word changes, a column set_aside leaves a point out of limits and rules. Types: run, xmr\n" +
			"(individuals), xbar-r, xbar-s, p, np, p-prime, c, u, u-prime, g (cases between events), t, ewma, cusum, funnel.",
		Example: "  chestrise chart --type p --data births.csv --baseline-until 1847-05 --out births.svg\n" +
			"  chestrise chart --type xmr --data pressures.csv --json",
		Args: noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			set := cmd.Flags().Changed
			return a.chart(f, set("centre"), set("target"))
		},
	}
	fl := cmd.Flags()
	fl.StringVar(&f.kind, "type", "", "type of chart")
	fl.StringVar(&f.data, "data", "", "CSV file, or - for standard input")
	fl.IntVar(&f.first, "baseline", 0, "centre and limits from the first N rows")
	fl.StringVar(&f.until, "baseline-until", "", "centre and limits from the rows up to this label")
	fl.Float64Var(&f.centre, "centre", 0, "stored centre instead of one from the data")
	fl.StringVar(&f.sigma, "sigma", "mean-mr", "how a single value's spread is estimated: mean-mr, median-mr, screened-mr, sd; or, with --centre, a stored number")
	fl.StringVar(&f.rules, "rules", "default", strings.Join(spc.RuleSetNames(), ", "))
	fl.StringVar(&f.without, "without", "", "rules of the set to switch off, joined by commas")
	fl.Float64Var(&f.memory.Lambda, "lambda", 0, "ewma: weight of the newest point (0.2)")
	fl.Float64Var(&f.memory.Width, "width", 0, "ewma: limits at so many sigma (3)")
	fl.Float64Var(&f.memory.K, "k", 0, "cusum: reference value in sigma (0.5)")
	fl.Float64Var(&f.memory.H, "h", 0, "cusum: decision limit in sigma (5)")
	fl.Float64Var(&f.memory.HeadStart, "head-start", 0, "cusum: share of the decision limit to start at")
	fl.Float64Var(&f.target, "target", 0, "funnel: target share instead of all units together")
	fl.StringVar(&f.limits, "limits", "auto", "auto, normal (three sigma) or exact (probability limits)")
	fl.StringVar(&f.out, "out", "", "write the drawing to FILE.svg, FILE.pdf or FILE.xlsx")
	fl.StringVar(&f.title, "title", "", "title of the drawing (the file's name by default)")
	fl.StringVar(&f.axis, "axis", "", "label of the vertical axis")
	fl.BoolVar(&f.json, "json", false, "print every number in full precision")
	return cmd
}

func (a *app) chart(f chartFlags, hasCentre, hasTarget bool) error {
	if f.kind == "" || f.data == "" {
		return usage("--type and --data are needed\nhint: chestrise chart --help")
	}
	if f.kind == "funnel" {
		return a.funnel(f, hasTarget)
	}
	kind, err := spc.KindNamed(f.kind)
	if err != nil {
		return withCode(exitUsage, err)
	}
	o, stored, err := f.options(hasCentre)
	if err != nil {
		return err
	}
	data, err := readChart(f.data)
	if err != nil {
		return err
	}
	o.Phases = data.phases
	o.Memory = f.memory
	o.Memory.Proportion = data.series.Ratio && kind == spc.EWMA
	c, err := spc.Plot(kind, data.series, stored, o)
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

// options turns flags into a chart's choices and its stored baseline.
func (f chartFlags) options(hasCentre bool) (o spc.Options, stored *spc.Baseline, err error) {
	o = spc.Options{BaselineFirst: f.first, BaselineUntil: f.until}
	var without []spc.RuleID
	for id := range strings.SplitSeq(f.without, ",") {
		if id = strings.TrimSpace(id); id != "" {
			without = append(without, spc.RuleID(id))
		}
	}
	if o.Rules, err = spc.RulesNamed(f.rules, without...); err != nil {
		return o, nil, withCode(exitUsage, err)
	}
	if o.Limits, err = spc.LimitsNamed(f.limits); err != nil {
		return o, nil, withCode(exitUsage, err)
	}
	number, notNumber := strconv.ParseFloat(f.sigma, 64)
	switch {
	case notNumber != nil:
		if o.Sigma, err = spc.SigmaNamed(f.sigma); err != nil {
			return o, nil, withCode(exitUsage, err)
		}
	case !hasCentre:
		return o, nil, usage("--sigma with a number goes with --centre")
	}
	if hasCentre {
		stored = &spc.Baseline{Centre: f.centre, Sigma: number}
	}
	return o, stored, nil
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
	case ".xlsx":
		err = workbook.Renderer{}.Render(&b, &reports.Document{Title: m.Title, Subject: m.Kind, Sections: []reports.Section{
			{ID: "chart", Title: m.Title, Sheet: "Chart", Blocks: []reports.Block{reports.Figure{Chart: m}}},
		}}, reports.Stamp{Program: version})
	default:
		return usage("--out %s: want a name that ends in .svg, .pdf or .xlsx", f.out)
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
	default: // counts, rates, times and measured values
		return chart.Plain
	}
}

package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"path/filepath"
	"strings"

	"chestrise/metrics/compare"
	"chestrise/reports"
	"chestrise/reports/chart"
	"chestrise/reports/funnel"
	"chestrise/reports/pdf"
	"chestrise/reports/svg"
)

// The tails of a funnel's limits: 95 % and 99.8 % of units lie within, where
// nothing differs.
const (
	innerTail = .025
	outerTail = .001
)

// funnelDoc is the funnel as JSON.
type funnelDoc struct {
	Chart  string       `json:"chart"`
	Target float64      `json:"target"`
	Limits string       `json:"limits"`
	Points []funnelUnit `json:"points"`
	Notes  []string     `json:"notes"`
}

type funnelUnit struct {
	Label    string   `json:"label"`
	Value    *float64 `json:"value"`
	N        int      `json:"n"`
	Lower95  *float64 `json:"lower_95"` // as computed, before it is clipped to what a share can be
	Upper95  *float64 `json:"upper_95"`
	Lower998 *float64 `json:"lower_99_8"`
	Upper998 *float64 `json:"upper_99_8"`
	Z        *float64 `json:"z"`
	Outside  bool     `json:"outside_99_8"`
}

// funnel draws units side by side: exact limits, no ranking.
func (a *app) funnel(f chartFlags, hasTarget bool) error {
	data, err := readChart(f.data)
	if err != nil {
		return err
	}
	if !data.series.Ratio {
		return fmt.Errorf("%s: a funnel needs label,numerator,denominator", f.data)
	}
	var labels []string
	var events, cases []int
	for i, p := range data.series.Points {
		if p.Missing {
			continue
		}
		if p.Num != float64(int(p.Num)) || p.N != float64(int(p.N)) {
			return fmt.Errorf("%s: row %d (%s): not whole counts", f.data, i+1, p.Label)
		}
		labels, events, cases = append(labels, p.Label), append(events, int(p.Num)), append(cases, int(p.N))
	}
	d, err := funnelOf(labels, events, cases, f.target, hasTarget)
	if err != nil {
		return fmt.Errorf("%s: %w", f.data, err)
	}
	if f.out != "" {
		if err := drawFunnel(f, d); err != nil {
			return err
		}
	}
	if f.json {
		text, err := json.MarshalIndent(d, "", "  ")
		if err != nil {
			return err
		}
		fmt.Fprintln(a.out, string(text))
		return nil
	}
	fmt.Fprintf(a.out, "funnel of %s: %d units, target %.6g\n", filepath.Base(f.data), len(d.Points), d.Target)
	for _, u := range d.Points {
		if u.Outside {
			fmt.Fprintf(a.out, "outside the 99.8 %% limits: %s\n", u.Label)
		}
	}
	for _, n := range d.Notes {
		fmt.Fprintln(a.out, "note:", n)
	}
	return nil
}

func funnelOf(labels []string, events, cases []int, target float64, hasTarget bool) (funnelDoc, error) {
	d := funnelDoc{Chart: "funnel", Target: target, Limits: compare.Interpolated, Points: []funnelUnit{}, Notes: []string{}}
	if !hasTarget {
		pooled, ok, err := compare.Pooled(events, cases)
		if err != nil {
			return d, err
		}
		if !ok {
			return d, errors.New("no unit has a case")
		}
		d.Target = pooled
	}
	plain, _, err := compare.Zs(events, cases, d.Target)
	if err != nil {
		return d, err
	}
	for i, n := range cases {
		u := funnelUnit{Label: labels[i], N: n, Z: plain[i]}
		if n > 0 {
			v := float64(events[i]) / float64(n)
			u.Value = &v
			for _, l := range []struct {
				into **float64
				p    float64
			}{{&u.Lower95, innerTail}, {&u.Upper95, 1 - innerTail}, {&u.Lower998, outerTail}, {&u.Upper998, 1 - outerTail}} {
				x, err := compare.Limit(n, d.Target, l.p)
				if err != nil {
					return d, err
				}
				*l.into = &x
			}
			u.Outside = v < *u.Lower998 || v > *u.Upper998
		}
		d.Points = append(d.Points, u)
	}
	expected, _, err := compare.OutsideByChance(len(cases), 1-2*outerTail)
	if err != nil {
		return d, err
	}
	d.Notes = append(d.Notes, fmt.Sprintf("Of %d units, %.2g would lie outside the 99.8 %% limits by chance alone.", len(cases), expected))
	if len(cases) < 12 {
		d.Notes = append(d.Notes, "Too few units to judge spread.")
	}
	return d, nil
}

func drawFunnel(f chartFlags, d funnelDoc) error {
	m := funnel.Model{
		Title: f.title, XLabel: "cases", YLabel: f.axis, Format: chart.Percent, Target: d.Target,
		Notes: append([]string{"Limits: " + d.Limits + "."}, d.Notes...),
	}
	if m.Title == "" {
		m.Title = strings.TrimSuffix(filepath.Base(f.data), filepath.Ext(f.data))
	}
	most := 0
	for _, u := range d.Points {
		if u.Value != nil {
			most = max(most, u.N)
			m.Units = append(m.Units, funnel.Unit{Label: u.Label, Cases: float64(u.N), Value: *u.Value, Outside: u.Outside})
		}
	}
	m.Alt = fmt.Sprintf("Funnel plot of %d units.", len(m.Units))
	for _, l := range []struct {
		text string
		tail float64
	}{{"95 %", innerTail}, {"99.8 %", outerTail}} {
		k := funnel.Limit{Text: l.text}
		for n := 1; float64(n) <= 1.06*float64(most); n += max(1, n/40) {
			low, err := compare.Limit(n, d.Target, l.tail)
			if err != nil {
				return err
			}
			high, err := compare.Limit(n, d.Target, 1-l.tail)
			if err != nil {
				return err
			}
			k.Lower = append(k.Lower, funnel.Point{Cases: float64(n), Value: compare.Clamped(low)})
			k.Upper = append(k.Upper, funnel.Point{Cases: float64(n), Value: compare.Clamped(high)})
		}
		m.Limits = append(m.Limits, k)
	}
	drawing := funnel.Lay(m, chart.OnPage, chart.DejaVu(), chart.Numbers{})
	var b bytes.Buffer
	var err error
	switch filepath.Ext(f.out) {
	case ".svg":
		err = svg.Write(&b, drawing)
	case ".pdf":
		title := m.Title
		m.Title = "" // the page has it
		drawing = funnel.Lay(m, chart.OnPage, chart.DejaVu(), chart.Numbers{})
		err = pdf.Renderer{}.Render(&b, &reports.Document{Title: title, Sections: []reports.Section{
			{ID: "funnel", Title: "Units side by side", Blocks: []reports.Block{reports.Picture{Drawing: drawing}}},
		}}, reports.Stamp{Program: version})
	default:
		return usage("--out %s: a funnel is drawn to .svg or .pdf", f.out)
	}
	if err != nil {
		return err
	}
	return reports.WriteFile(f.out, b.Bytes())
}

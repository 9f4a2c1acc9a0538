package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"path"
	"slices"
	"time"

	"github.com/spf13/cobra"

	"chestrise/etl/record"
	"chestrise/metrics"
	"chestrise/reports"
	"chestrise/reports/chart"
	"chestrise/reports/dashboard"
	"chestrise/reports/issue"
	"chestrise/reports/pdf"
	"chestrise/reports/svg"
	"chestrise/reports/workbook"
)

// dashboardKind is the archive's word for the monthly report of a unit.
const dashboardKind = "dashboard"

func (a *app) reportCommand() *cobra.Command {
	var only, month string
	cmd := &cobra.Command{
		Use:   "report",
		Short: "Issue the monthly report of each unit whose figures changed",
		Long: "Issues the monthly report of every unit, or of one, for its last closed month or for the month asked for. A report\n" +
			"that would show the same as its last issue is not issued again; one whose figures changed gets a new number, and\n" +
			"the earlier issues stay.",
		Args: noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			ctx := cmd.Context()
			var m record.Month
			if month != "" {
				var err error
				if m, err = record.ParseMonth(month); err != nil {
					return usage("--month: %v", err)
				}
			}
			return a.with(ctx, func(c *config, s *session) error {
				e, p, err := a.engine(c, s)
				if err != nil {
					return err
				}
				if only != "" && !slices.ContainsFunc(p.units.Units, func(u unit) bool { return u.Code == only }) {
					return usage("--unit %s is not in %s", only, c.rel(c.Units))
				}
				return a.running(ctx, s, func() error {
					issued, err := a.reports(ctx, c, s, e, p, only, m)
					printIssued(a.out, issued)
					return err
				})
			})
		},
	}
	cmd.Flags().StringVar(&only, "unit", "", "one unit instead of all")
	cmd.Flags().StringVar(&month, "month", "", "YYYY-MM instead of the last closed month")
	cmd.AddCommand(a.caseReviewCommand())
	return cmd
}

// issued is one report, new or as it stood.
type issued struct {
	reports.Current
	New     bool
	Missing []string // sources that have sent nothing for the month
	Text    string   // its first sentence
}

// reports issues the monthly reports. Units without a closed month have none.
func (a *app) reports(ctx context.Context, c *config, s *session, e *metrics.Engine, p plan, only string, month record.Month) ([]issued, error) {
	deliveries, err := s.Deliveries(ctx)
	if err != nil {
		return nil, fmt.Errorf("deliveries: %w", err)
	}
	publisher := reports.Publisher{
		Root: c.rel(c.Out), Archive: s.Registry,
		Renderers: []reports.Renderer{workbook.Renderer{}, pdf.Renderer{}},
	}
	var all []issued
	for _, u := range p.units.Units {
		if only != "" && u.Code != only {
			continue
		}
		one, err := a.dashboard(ctx, c, s, e, &publisher, u, month, deliveries)
		if err != nil {
			return all, fmt.Errorf("report of %s: %w", u.Code, err)
		}
		if one != nil {
			all = append(all, *one)
		}
	}
	return all, nil
}

// dashboard issues one unit's report; nil where no month of it has closed.
func (a *app) dashboard(ctx context.Context, c *config, s *session, e *metrics.Engine, publisher *reports.Publisher,
	u unit, month record.Month, deliveries []record.Delivery,
) (*issued, error) {
	if month == 0 {
		latest, err := e.Latest(ctx, u.Code)
		if err != nil || latest == 0 {
			return nil, err
		}
		month = latest
	}
	key := issue.Key{Kind: dashboardKind, Unit: u.Code, Period: month.String()}
	build := func(before []issue.Cell) (metrics.UnitView, *reports.Document, error) {
		view, err := e.Unit(ctx, u.Code, month, figures(before))
		if err != nil {
			return view, nil, err
		}
		return view, dashboard.Build(&view, dashboard.Options{Locale: c.Locale.locale()}), nil
	}
	view, document, err := build(nil)
	if err != nil {
		return nil, err
	}
	before, err := lastIssued(ctx, s, key, month, document)
	if err != nil {
		return nil, err
	}
	if before != nil {
		if view, document, err = build(before); err != nil {
			return nil, err
		}
	}
	stamp := reports.Stamp{
		Created: extracted(deliveries, u), Generation: int64(view.Generation), Program: version,
		Catalogue: view.Catalogue, Coverage: view.CoverageIn, Synthetic: view.Synthetic,
	}
	current, fresh, err := publisher.Publish(ctx, reports.Job{
		Key: key, Name: u.Code + "-" + month.String(), Document: document, Stamp: stamp,
		Cells: cells(&view), Extra: pictures(document, stamp, c.Locale.locale()),
	})
	if err != nil {
		return nil, err
	}
	if fresh {
		if err := s.Signals(ctx, key, current.Issue, signals(&view)); err != nil {
			return nil, err
		}
	}
	one := &issued{Current: current, New: fresh, Text: view.Headline}
	for _, x := range u.Sources {
		if !slices.ContainsFunc(deliveries, func(d record.Delivery) bool { return d.Source == x && d.From <= month && month <= d.To }) {
			one.Missing = append(one.Missing, x)
		}
	}
	return one, nil
}

// lastIssued are the figures that the unit's readers were last given before
// this document: those of the issue that it replaces or, for the first issue of
// a month, of the months before it, a year back at most. A document that was
// issued already compares with what it was compared with then.
func lastIssued(ctx context.Context, s *session, k issue.Key, month record.Month, d *reports.Document) ([]issue.Cell, error) {
	model, err := reports.Digest(d)
	if err != nil {
		return nil, err
	}
	last, cells, err := s.Last(ctx, k)
	if err != nil {
		return nil, err
	}
	if last.No > 0 && last.Model == model {
		if last, cells, err = s.LastBefore(ctx, k, last.No); err != nil {
			return nil, err
		}
	}
	for back := record.Month(1); last.No == 0 && back <= 12; back++ {
		k.Period = (month - back).String()
		if last, cells, err = s.Last(ctx, k); err != nil {
			return nil, err
		}
	}
	return cells, nil
}

// extracted is when the unit's sources last extracted anything: the date a
// report carries, whatever the clock of the night says.
func extracted(all []record.Delivery, u unit) time.Time {
	var last time.Time
	for _, d := range all {
		if slices.Contains(d.Units, u.Code) && d.ExtractedAt.After(last) {
			last = d.ExtractedAt
		}
	}
	return last
}

// pictures are the charts of a document as SVG.
func pictures(d *reports.Document, stamp reports.Stamp, l reports.Locale) []reports.Extra {
	var all []reports.Extra
	for _, s := range d.Sections {
		for _, b := range s.Blocks {
			f, ok := b.(reports.Figure)
			if !ok {
				continue
			}
			all = append(all, reports.Extra{
				Name:   path.Join("charts", f.Chart.ID+".svg"),
				Render: func(w io.Writer) error { return svg.Stamped(w, f.Chart, chart.OnPage, l.Numbers(), stamp) },
			})
		}
	}
	return all
}

func figures(all []issue.Cell) []metrics.Figure {
	var out []metrics.Figure
	for _, x := range all {
		out = append(out, metrics.Figure{
			Measure: x.Measure, Month: x.Month, Met: x.Met, Known: x.Known, Eligible: x.Eligible, Value: x.Value, Basis: x.BasisHash,
		})
	}
	return out
}

func cells(v *metrics.UnitView) []issue.Cell {
	var out []issue.Cell
	for _, m := range v.Measures {
		for _, f := range m.Figures {
			out = append(out, issue.Cell{
				Measure: f.Measure, Month: f.Month, Met: f.Met, Known: f.Known, Eligible: f.Eligible, Value: f.Value,
				Text: fmt.Sprintf("%d of %d", f.Met, f.Known), BasisHash: f.Basis,
			})
		}
	}
	return out
}

// signals are the signals of a view as they were issued.
func signals(v *metrics.UnitView) []issue.Signal {
	var out []issue.Signal
	for _, m := range v.Measures {
		for i, s := range m.Chart.Signals {
			first, last := m.Points[s.Members[0]], m.Points[s.Members[len(s.Members)-1]]
			if i >= len(m.Signals) || first.From == 0 || last.To == 0 {
				continue
			}
			out = append(out, issue.Signal{
				Measure: m.Definition.ID, Rule: string(s.Rule), From: first.From, To: last.To, Direction: s.Direction.String(),
			})
		}
	}
	return out
}

func printIssued(w io.Writer, all []issued) {
	for _, x := range all {
		state := "as before"
		if x.New {
			state = "new"
		}
		fmt.Fprintf(w, "%-12s %s issue %d (%s): %s\n", x.Unit, x.Period, x.Issue, state, x.Text)
	}
}

// waiting is the verdict on reports whose month some source has not delivered.
func waiting(all []issued) error {
	var errs []error
	for _, x := range all {
		for _, m := range x.Missing {
			errs = append(errs, fmt.Errorf("%s %s: source %s has sent nothing", x.Unit, x.Period, m))
		}
	}
	return errors.Join(errs...)
}

package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"time"

	"github.com/spf13/cobra"

	"chestrise/etl/record"
	"chestrise/metrics"
	"chestrise/metrics/benchmark"
	"chestrise/metrics/cell"
	"chestrise/reports"
	"chestrise/reports/network"
	"chestrise/reports/pdf"
	"chestrise/reports/workbook"
)

// networkFlags are the choices of a comparison.
type networkFlags struct {
	from, to, unit, level, reference, out, asOf string
}

func (a *app) networkCommand() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "network",
		Short: "Compare units, and prepare, sign and verify figures that leave the house",
		Args:  noArgs,
		RunE:  func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	cmd.AddCommand(a.compareCommand())
	return cmd
}

func (f *networkFlags) add(cmd *cobra.Command) {
	fl := cmd.Flags()
	fl.StringVar(&f.from, "from", "", "first month, YYYY-MM; the usual length before --to where it is left out")
	fl.StringVar(&f.to, "to", "", "last month, YYYY-MM; the last month that every unit has closed where it is left out")
	fl.StringVar(&f.unit, "unit", "", "the reader's unit: it sees itself named and the others coded")
	fl.StringVar(&f.level, "level", "", "inside, partner or public; inside for the centre and partner for a unit where it is left out")
	fl.StringVar(&f.asOf, "as-of", "", "generation of the registry, instead of the newest")
}

func (a *app) compareCommand() *cobra.Command {
	var f networkFlags
	cmd := &cobra.Command{
		Use:   "compare",
		Short: "Write the comparison of units as PDF and workbook",
		Long: "Sets the units side by side, measure by measure: exact funnel limits, observed against expected from the other\n" +
			"units, completeness beside each. A hospital on its own compares itself with a reference file that a coordinating\n" +
			"centre returned. Units stand in the order of their codes; nobody is ranked.",
		Args: noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			ctx := cmd.Context()
			return a.with(ctx, func(c *config, s *session) error {
				w, err := a.networking(ctx, c, s, f)
				if err != nil {
					return err
				}
				comparison, err := w.compare(w.data)
				if err != nil {
					return err
				}
				return a.writeComparison(c, w, comparison, f)
			})
		},
	}
	f.add(cmd)
	cmd.Flags().StringVar(&f.reference, "reference", "", "returned reference file, for a hospital on its own")
	cmd.Flags().StringVar(&f.out, "out", "", "folder, instead of the configured place")
	return cmd
}

// networking is everything a comparison is made from.
type networking struct {
	engine   *metrics.Engine
	settings benchmark.Settings
	text     []byte // of the settings
	source   benchmark.Source
	query    benchmark.Query
	data     *benchmark.Data
	asked    benchmark.Asked
	created  time.Time
}

func (a *app) networkSettings(c *config, cat *metrics.Engine, units []string) (benchmark.Settings, []byte, error) {
	var s benchmark.Settings
	if c.Network == "" {
		return s, nil, withCode(exitConfig, fmt.Errorf("%s: network: names no file with units and rules of comparisons", c.path))
	}
	path := c.rel(c.Network)
	text, err := os.ReadFile(path)
	if err != nil {
		return s, nil, withCode(exitConfig, err)
	}
	if s, err = benchmark.ReadSettings(path, text); err != nil {
		return s, nil, withCode(exitConfig, err)
	}
	var errs []error
	for _, problem := range s.Check(units, cat.Catalogue) {
		errs = append(errs, fmt.Errorf("%s: %s", path, problem))
	}
	return s, text, withCode(exitConfig, errors.Join(errs...))
}

// networking reads settings and flags, and gathers the figures.
func (a *app) networking(ctx context.Context, c *config, s *session, f networkFlags) (*networking, error) {
	e, p, err := a.engine(c, s)
	if err != nil {
		return nil, err
	}
	var codes []string
	for _, u := range p.units.Units {
		codes = append(codes, u.Code)
	}
	w := &networking{engine: e, source: s.Registry}
	if w.settings, w.text, err = a.networkSettings(c, e, codes); err != nil {
		return nil, err
	}
	if err := w.ask(c, f); err != nil {
		return nil, err
	}
	if w.query.At, err = position(ctx, s, f.asOf); err != nil {
		return nil, err
	}
	if err := w.months(ctx, f); err != nil {
		return nil, err
	}
	if w.data, err = benchmark.Gather(ctx, w.source, w.engine, w.query); err != nil {
		return nil, err
	}
	w.created = newest(w.data.Deliveries)
	return w, nil
}

func newest(all []record.Delivery) (t time.Time) {
	for _, d := range all {
		if d.ExtractedAt.After(t) {
			t = d.ExtractedAt
		}
	}
	return t
}

func position(ctx context.Context, s *session, asOf string) (cell.Position, error) {
	p, err := s.Position(ctx)
	if err != nil || asOf == "" {
		return p, err
	}
	var g int64
	if _, err := fmt.Sscanf(asOf, "%d", &g); err != nil || g < 1 || record.Generation(g) > p.Generation {
		return p, usage("--as-of %s is no generation: 1 to %d", asOf, p.Generation)
	}
	return s.PositionOf(ctx, record.Generation(g))
}

// ask works out for whom the comparison is.
func (w *networking) ask(c *config, f networkFlags) error {
	for _, u := range w.settings.Units {
		w.query.Units = append(w.query.Units, u.Unit)
	}
	w.asked = benchmark.Asked{Level: benchmark.Level(f.level), Reader: f.unit, Names: w.engine.Names}
	if w.settings.Deployment == benchmark.OwnUnit {
		w.asked.Reader = w.settings.Units[0].Unit
		if f.reference == "" {
			return usage("a hospital on its own needs --reference FILE, as a coordinating centre returned it")
		}
		text, err := os.ReadFile(f.reference)
		if err != nil {
			return withCode(exitUsage, err)
		}
		r, err := benchmark.ReadReference(f.reference, text)
		if err != nil {
			return withCode(exitConfig, err)
		}
		w.asked.Reference = &r
	}
	if w.asked.Level == "" {
		w.asked.Level = benchmark.Inside
		if f.unit != "" {
			w.asked.Level = benchmark.Partner
		}
	}
	_, known := w.settings.Coded(f.unit)
	switch {
	case !slices.Contains(benchmark.Levels, w.asked.Level):
		return usage("--level %s is none of inside, partner, public", f.level)
	case f.unit != "" && !known:
		return usage("--unit %s is not in %s", f.unit, c.rel(c.Network))
	case f.unit != "" && w.asked.Level == benchmark.Public:
		return usage("a public comparison has no reader's unit\nhint: leave out --unit")
	case f.unit != "" && w.asked.Level == benchmark.Inside && w.settings.Deployment == benchmark.Centre:
		return usage("inside a unit there are no other units' figures\nhint: --level partner")
	}
	return nil
}

// months fills in the period: up to the last month that every unit has closed.
func (w *networking) months(ctx context.Context, f networkFlags) error {
	var err error
	if f.to != "" {
		if w.query.To, err = record.ParseMonth(f.to); err != nil {
			return usage("--to: %v", err)
		}
	} else {
		for _, u := range w.query.Units {
			m, err := w.engine.Latest(ctx, u)
			if err != nil {
				return err
			}
			if m == 0 {
				return fmt.Errorf("unit %s has closed no month yet\nhint: name the months with --from and --to", u)
			}
			if w.query.To == 0 || m < w.query.To {
				w.query.To = m
			}
		}
	}
	w.query.From = w.query.To - record.Month(w.settings.PeriodLast) + 1
	if f.from != "" {
		if w.query.From, err = record.ParseMonth(f.from); err != nil {
			return usage("--from: %v", err)
		}
	}
	if w.query.From > w.query.To {
		return usage("the months end before they begin: %s to %s", w.query.From, w.query.To)
	}
	return nil
}

// compare makes the comparison, and protects it where the public reads it.
func (w *networking) compare(d *benchmark.Data) (*benchmark.Comparison, error) {
	all, err := benchmark.Compare(d, w.settings, w.asked)
	if err != nil {
		return nil, err
	}
	if w.asked.Level != benchmark.Public {
		return all, nil
	}
	safe, err := benchmark.Protect(all, w.settings, nil)
	if err != nil {
		return nil, err
	}
	if bad := safe.Unprotected(); len(bad) > 0 {
		return nil, fmt.Errorf("hidden counts of these measures could be worked out: %v\nhint: leave them out, or take more months together", bad)
	}
	return safe, nil
}

func (w *networking) stamp(c *benchmark.Comparison) reports.Stamp {
	return reports.Stamp{
		Created: w.created, Generation: int64(c.At.Generation), Program: version, Catalogue: c.Catalogue, Synthetic: c.Synthetic,
	}
}

func (a *app) writeComparison(c *config, w *networking, comparison *benchmark.Comparison, f networkFlags) error {
	out := f.out
	if out == "" {
		out = filepath.Join(c.rel(c.Out), "comparison", string(w.asked.Level), f.unit, network.Period(w.query.From, w.query.To))
	}
	doc := network.Build(comparison, network.Options{Locale: c.Locale.locale()})
	for _, r := range []reports.Renderer{pdf.Renderer{}, workbook.Renderer{}} {
		content, err := render(r, doc, w.stamp(comparison))
		if err != nil {
			return err
		}
		if err := reports.WriteFile(filepath.Join(out, "comparison"+r.Ext()), content); err != nil {
			return err
		}
	}
	fmt.Fprintf(a.out, "%d measures in %d units, %s: %s\n", len(comparison.Measures), len(comparison.Units), doc.Period, out)
	return nil
}

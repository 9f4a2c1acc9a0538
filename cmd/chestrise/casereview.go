package main

import (
	"context"
	"fmt"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"chestrise/etl/derive"
	"chestrise/etl/record"
	"chestrise/etl/source"
	"chestrise/metrics"
	"chestrise/metrics/cases"
	"chestrise/reports"
	"chestrise/reports/casereview"
	"chestrise/reports/pdf"
)

// caseFlags are the choices of the case packet.
type caseFlags struct {
	unit, from, to, out string
	keys                []string
	seed                uint64
}

func (a *app) caseReviewCommand() *cobra.Command {
	var f caseFlags
	cmd := &cobra.Command{
		Use:   "case-review --unit UNIT --from YYYY-MM --to YYYY-MM",
		Short: "Write the case packet of a unit and period for a case conference",
		Long: "Chooses newborns by the triggers of the configuration, by hand (--case), and a few at random, and writes a packet:\n" +
			"a page a case with its timeline, the pathway and the unit's own charts. The packet holds no dates and no keys; the\n" +
			"keys of the cases are printed here, for those who may look a newborn up. It goes to a folder of its own, readable\n" +
			"by its owner and group alone, and is never issued by a night.",
		Args: noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			ctx := cmd.Context()
			from, errFrom := record.ParseMonth(f.from)
			to, errTo := record.ParseMonth(f.to)
			if f.unit == "" || errFrom != nil || errTo != nil || to < from {
				return usage("--unit and two months are needed, the first not later than the second\nhint: chestrise report case-review --unit alder --from 2026-08 --to 2026-10")
			}
			return a.with(ctx, func(c *config, s *session) error { return a.caseReview(ctx, c, s, f, from, to) })
		},
	}
	fl := cmd.Flags()
	fl.StringVar(&f.unit, "unit", "", "code of the unit")
	fl.StringVar(&f.from, "from", "", "first month, YYYY-MM")
	fl.StringVar(&f.to, "to", "", "last month, YYYY-MM")
	fl.StringSliceVar(&f.keys, "case", nil, "key of a newborn to take into the packet; may be repeated")
	fl.Uint64Var(&f.seed, "seed", 1, "seed of the random sample")
	fl.StringVar(&f.out, "out", "", "folder of the packet, instead of the configured place")
	return cmd
}

func (a *app) caseReview(ctx context.Context, c *config, s *session, f caseFlags, from, to record.Month) error {
	if c.CaseReview == "" {
		return withCode(exitConfig, fmt.Errorf("%s: case_review: names no file with triggers\nhint: case_review: configs/casereview.yaml", c.path))
	}
	path := c.rel(c.CaseReview)
	text, err := os.ReadFile(path)
	if err != nil {
		return withCode(exitConfig, err)
	}
	settings, err := cases.Load(path, text)
	if err != nil {
		return withCode(exitConfig, err)
	}
	e, p, err := a.engine(c, s)
	if err != nil {
		return err
	}
	q := cases.Query{
		Unit: f.unit, From: from, To: to, AsOf: 0, Settings: settings, Keys: nil, Seed: f.seed,
		Facts: derive.Facts, Training: lastTraining(p.settings, f.unit, to),
	}
	for _, k := range f.keys {
		key, ok := source.ParseKey([]byte(k))
		if !ok {
			// What was typed is not repeated: it may be somebody's number.
			return usage("--case: not a newborn's key\nhint: a key is a random UUID; chestrise report case-review prints those of the cases")
		}
		q.Keys = append(q.Keys, key)
	}
	chosen, err := cases.Select(ctx, s.Registry, q)
	if err != nil {
		return err
	}
	view, err := e.Unit(ctx, f.unit, to, nil)
	if err != nil {
		return err
	}
	packet := casereview.Build(casereview.Input{
		Selection: chosen, Settings: settings, UnitName: view.Unit.Name, Charts: &view, Locale: c.Locale.locale(), Synthetic: view.Synthetic,
	})
	deliveries, err := s.Deliveries(ctx)
	if err != nil {
		return err
	}
	stamp := reports.Stamp{
		Created: extracted(deliveries, unit{Code: f.unit}), Generation: int64(view.Generation), Program: version,
		Catalogue: view.Catalogue, Coverage: view.CoverageIn, Synthetic: view.Synthetic,
	}
	out := f.out
	if out == "" {
		out = filepath.Join(c.rel(c.Out), "case-review", f.unit, from.String()+"-to-"+to.String())
	}
	if _, err := packet.Save(out, stamp, pdf.Renderer{}); err != nil {
		return err
	}
	for i, k := range chosen.Keys {
		fmt.Fprintf(a.out, "case %d: %s\n", i+1, k)
	}
	fmt.Fprintf(a.out, "packet in %s\n", out)
	return nil
}

// lastTraining is the month of the last intervention of a unit that a chart
// labels, up to a month; 0: none.
func lastTraining(s metrics.Settings, unit string, to record.Month) record.Month {
	var last record.Month
	for _, l := range s.Interventions {
		if (l.Unit == "" || l.Unit == unit) && l.Measures == nil && l.From <= to {
			last = max(last, l.From)
		}
	}
	return last
}

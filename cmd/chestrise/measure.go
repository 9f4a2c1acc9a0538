package main

import (
	"context"
	"fmt"

	"github.com/spf13/cobra"

	"chestrise/etl/derive"
	"chestrise/metrics"
)

func (a *app) measureCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "measure",
		Short: "Work out every measure whose months changed, and freeze baselines whose months have closed",
		Args:  noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			ctx := cmd.Context()
			return a.with(ctx, func(c *config, s *session) error {
				e, p, err := a.engine(c, s)
				if err != nil {
					return err
				}
				return a.running(ctx, s, func() error {
					done, err := a.measure(ctx, s, e, p)
					if err != nil {
						return err
					}
					done.print(a)
					return nil
				})
			})
		},
	}
}

// measured is what a night worked out.
type measured struct {
	rederived int64 // newborns whose facts another version of the derivation had made
	computed  metrics.Computed
	frozen    int
}

func (a *app) measure(ctx context.Context, s *session, e *metrics.Engine, p plan) (measured, error) {
	rederived, _, err := s.Rederive(ctx, derive.Facts)
	if err != nil {
		return measured{}, fmt.Errorf("facts: %w", err)
	}
	computed, err := e.Compute(ctx)
	if err != nil {
		return measured{}, fmt.Errorf("measures: %w", err)
	}
	var codes []string
	for _, u := range p.units.Units {
		codes = append(codes, u.Code)
	}
	frozen, err := e.Freeze(ctx, codes)
	if err != nil {
		return measured{}, fmt.Errorf("baselines: %w", err)
	}
	for _, b := range frozen {
		a.log().Info("baseline stored", "unit", b.Unit, "measure", b.Measure, "from", b.From.String(), "to", b.To.String())
	}
	return measured{rederived: rederived, computed: computed, frozen: len(frozen)}, nil
}

func (m measured) print(a *app) {
	if m.rederived > 0 {
		fmt.Fprintf(a.out, "facts: made anew for %d newborns, by a new version of the derivation\n", m.rederived)
	}
	fmt.Fprintf(a.out, "measures: %d unit-months worked out from %d newborns, %d cells; %d baselines stored\n",
		len(m.computed.UnitMonths), m.computed.Newborns, m.computed.Cells, m.frozen)
}

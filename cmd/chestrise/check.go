package main

import (
	"context"
	"fmt"

	"github.com/spf13/cobra"
)

func (a *app) checkCommand() *cobra.Command {
	var blanks bool
	cmd := &cobra.Command{
		Use:   "check",
		Short: "Check configuration, measures and their worked examples",
		Long: "Reads the configuration and every definition, runs every condition past the database and every worked example\n" +
			"through the production statement, and reports each misfit with its file and line. --blanks also prints what\n" +
			"becomes of an answer when a fact is blank.",
		Args: noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			ctx := cmd.Context()
			return a.with(ctx, func(c *config, s *session) error { return a.check(ctx, c, s, blanks) })
		},
	}
	cmd.Flags().BoolVar(&blanks, "blanks", false, "print what a blank does to each measure")
	return cmd
}

func (a *app) check(ctx context.Context, c *config, s *session, blanks bool) error {
	cat, err := a.catalogue(c)
	if err != nil {
		return err
	}
	if _, err := a.maps(c); err != nil {
		return err
	}
	if _, err := a.plans(c); err != nil {
		return err
	}
	done, err := cat.Check(ctx, s.Registry)
	if err != nil {
		return err
	}
	if err := done.Problems.Err(); err != nil {
		return withCode(exitConfig, err)
	}
	if blanks {
		for _, b := range done.Blanks {
			fmt.Fprintln(a.out, b)
		}
	}
	fmt.Fprintf(a.out, "%d measures and %d worked examples are right\n", len(cat.Measures), done.Examples)
	return nil
}

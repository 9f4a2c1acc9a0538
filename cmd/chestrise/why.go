package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"chestrise/etl/source"
)

func (a *app) whyCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "why KEY [MEASURE]",
		Short: "Say how a measure came to its answer for one newborn",
		Long: "Evaluates every condition of a measure, or of all measures, for one newborn and says which one decided. KEY is the\n" +
			"newborn's key, or enough of its beginning to tell it from all others.",
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) < 1 || len(args) > 2 {
				return usage("why needs a key, and may have a measure\nhint: chestrise why KEY MEASURE")
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			ctx := cmd.Context()
			return a.with(ctx, func(c *config, s *session) error {
				e, _, err := a.engine(c, s)
				if err != nil {
					return err
				}
				id := ""
				if len(args) == 2 {
					if _, err := e.Catalogue.Named(args[1]); err != nil {
						return withCode(exitUsage, err)
					}
					id = args[1]
				}
				key, ok := source.ParseKey([]byte(args[0]))
				if !ok {
					found, err := s.Find(ctx, args[0])
					if err != nil {
						return err
					}
					if len(found) != 1 {
						return usage("%d newborns have a key that begins with %s", len(found), args[0])
					}
					key = found[0].Key
				}
				answers, err := e.Why(ctx, key, id)
				if err != nil {
					return err
				}
				for i, w := range answers {
					if i > 0 {
						fmt.Fprintln(a.out)
					}
					fmt.Fprint(a.out, w)
				}
				return nil
			})
		},
	}
}

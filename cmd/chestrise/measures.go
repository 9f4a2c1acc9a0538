package main

import (
	"fmt"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"chestrise/etl/record"
	"chestrise/metrics/measure"
)

// catalogue loads the measures of every configured folder.
func (a *app) catalogue(c *config) (measure.Catalogue, error) {
	var folders []string
	for _, f := range c.Measures {
		path, err := filepath.Abs(c.rel(f))
		if err != nil {
			return measure.Catalogue{}, withCode(exitConfig, err)
		}
		folders = append(folders, path[1:])
	}
	cat, err := measure.Load(os.DirFS("/"), "/", folders...)
	return cat, withCode(exitConfig, err)
}

func (a *app) measuresCommand() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "measures",
		Short: "List the measures",
		Args:  noArgs,
		RunE: func(*cobra.Command, []string) error {
			c, err := a.config()
			if err != nil {
				return err
			}
			cat, err := a.catalogue(c)
			if err != nil {
				return err
			}
			for _, d := range cat.Measures {
				fmt.Fprintf(a.out, "%-40s %-8s %-11s %s\n", d.ID, d.Tier, d.Family, d.Title)
			}
			return nil
		},
	}
	cmd.AddCommand(&cobra.Command{
		Use:   "show ID",
		Short: "Print a measure as a clinician can read it aloud",
		Args:  oneArg("a measure's id"),
		RunE: func(_ *cobra.Command, args []string) error {
			c, err := a.config()
			if err != nil {
				return err
			}
			cat, err := a.catalogue(c)
			if err != nil {
				return err
			}
			d, err := cat.Named(args[0])
			if err != nil {
				return withCode(exitUsage, err)
			}
			fmt.Fprint(a.out, d.Show(100))
			return nil
		},
	}, &cobra.Command{
		Use:   "facts",
		Short: "List the facts that conditions may read",
		Args:  noArgs,
		RunE: func(*cobra.Command, []string) error {
			for _, f := range record.FactSpecs {
				fmt.Fprintf(a.out, "%s\n    %s\n", f.Name, f.Meaning)
				if len(f.Codes) > 0 {
					fmt.Fprintf(a.out, "    one of: %v\n", f.Codes)
				}
				if f.Only != "" {
					fmt.Fprintf(a.out, "    only where: %s\n", f.Only)
				}
			}
			return nil
		},
	})
	return cmd
}

// oneArg wants exactly one word, as a usage error.
func oneArg(what string) cobra.PositionalArgs {
	return func(cmd *cobra.Command, args []string) error {
		if len(args) != 1 {
			return usage("%s needs %s\nhint: %s --help", cmd.CommandPath(), what, cmd.CommandPath())
		}
		return nil
	}
}

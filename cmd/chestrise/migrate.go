package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"chestrise/sql/localpg"
	"chestrise/sql/migrations"
	"chestrise/sql/registry"
)

func (a *app) migrateCommand() *cobra.Command {
	var roles bool
	cmd := &cobra.Command{
		Use:   "migrate",
		Short: "Bring the registry's schema to this program",
		Long: "Makes the registry's tables, or brings them to what this program knows. The private server is migrated by every\n" +
			"command; a server of your own only by this one. --roles prints the statements that a database administrator\n" +
			"runs where this program may not make roles itself.",
		Args: noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if roles {
				text, err := migrations.Roles(registry.DefaultRolePrefix)
				if err != nil {
					return err
				}
				fmt.Fprint(a.out, text)
				return nil
			}
			ctx := cmd.Context()
			c, err := a.config()
			if err != nil {
				return err
			}
			s := &session{}
			dsn := c.Registry.DSN
			if dsn == "" {
				if s.lease, err = localpg.Acquire(ctx, localpg.Options{Dir: c.rel(c.Registry.Folder), Name: c.Registry.Name, Log: a.log()}); err != nil {
					return withCode(exitRegistry, err)
				}
				defer func() { _ = s.release() }()
				dsn = s.lease.DSN(c.Registry.Database)
			}
			r, err := registry.Open(ctx, dsn, registry.Options{Log: a.log(), Now: a.now, Create: s.lease != nil, Program: "chestrise " + version})
			if err != nil {
				return withCode(exitRegistry, err)
			}
			defer r.Close()
			steps, err := r.Migrate(ctx)
			if err != nil {
				return withCode(exitRegistry, err)
			}
			for _, step := range steps {
				fmt.Fprintln(a.out, "applied", step)
			}
			fmt.Fprintf(a.out, "the schema is up to date, %d steps applied now\n", len(steps))
			return nil
		},
	}
	cmd.Flags().BoolVar(&roles, "roles", false, "print the statements that make the roles")
	return cmd
}

package main

import (
	"fmt"
	"strings"
	"time"

	"github.com/spf13/cobra"
)

// version is set by the build (-ldflags "-X main.version=...").
var version = "development"

// app is what every subcommand has at hand.
type app struct {
	streams
	now        func() time.Time
	configPath string
	verbose    bool
}

func newRoot(s streams, now func() time.Time) *cobra.Command {
	a := &app{streams: s, now: now}
	root := &cobra.Command{
		Use:   "chestrise",
		Short: "Turn delivery-room resuscitation records into a registry, measures and control-chart reports",
		Long: "Every night chestrise takes what the sources delivered, sets aside what it cannot trust, keeps the rest in a\n" +
			"Postgres registry, works out every measure the night touched, and issues the reports that are due.\n\n" +
			exitTable(),
		Version:       version,
		SilenceErrors: true,
		SilenceUsage:  true,
		Args:          cobra.ArbitraryArgs,
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) > 0 {
				return usage("there is no command %q\nhint: chestrise help", args[0])
			}
			return cmd.Help()
		},
	}
	root.SetFlagErrorFunc(func(cmd *cobra.Command, err error) error {
		return usage("%v\nhint: %s --help", err, cmd.CommandPath())
	})
	root.SetVersionTemplate("chestrise {{.Version}}\n")
	f := root.PersistentFlags()
	f.StringVar(&a.configPath, "config", "", "configuration file (or CHESTRISE_CONFIG)")
	f.BoolVarP(&a.verbose, "verbose", "v", false, "log what is done, not only what matters")
	root.AddCommand(
		a.nightlyCommand(), a.loadCommand(), a.measureCommand(), a.reportCommand(), a.checkCommand(),
		a.migrateCommand(), a.contractCommand(), a.measuresCommand(), a.whyCommand(), a.chartCommand(),
		a.networkCommand(),
	)
	return root
}

func exitTable() string {
	var b strings.Builder
	b.WriteString("Exit codes:\n")
	for _, m := range exitMeanings {
		fmt.Fprintf(&b, "  %-4s %s\n", m[0], m[1])
	}
	return strings.TrimRight(b.String(), "\n")
}

// noArgs refuses words that a command has no use for, as a usage error.
func noArgs(cmd *cobra.Command, args []string) error {
	if len(args) > 0 {
		return usage("%s takes no %q\nhint: %s --help", cmd.CommandPath(), args[0], cmd.CommandPath())
	}
	return nil
}

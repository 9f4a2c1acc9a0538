package main

import (
	"github.com/spf13/cobra"

	"chestrise/etl"
)

func (a *app) contractCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "contract",
		Short: "Print what a delivery must look like, as a Table Schema (JSON)",
		Long: "Prints every column, event kind, code list, section and rule of a delivery as one JSON document: a Frictionless\n" +
			"Table Schema for each file, with units, limits and meanings.",
		Args: noArgs,
		RunE: func(*cobra.Command, []string) error { return etl.WriteContract(a.out) },
	}
}

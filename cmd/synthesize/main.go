// Command synthesize writes the invented deliveries of a scenario. It cannot
// reach a database.
package main

import (
	"errors"
	"flag"
	"fmt"
	"io"
	"os"

	"chestrise/etl/synth"
)

func main() { os.Exit(run(os.Args[1:], os.Stdout, os.Stderr)) }

// run is main without the process: arguments and streams in, exit code out.
func run(args []string, stdout, stderr io.Writer) int {
	flags := flag.NewFlagSet("synthesize", flag.ContinueOnError)
	flags.SetOutput(stderr)
	scenario := flags.String("scenario", "", "scenario file (YAML)")
	out := flags.String("out", "", "folder to write the deliveries to")
	broken := flags.String("broken", "", "folder to write the broken delivery to, in which three newborns break each rule")
	seed := flags.Uint64("seed", 0, "seed to use instead of the scenario's own")
	if err := flags.Parse(args); err != nil {
		if errors.Is(err, flag.ErrHelp) {
			return 0
		}
		return 2
	}
	if *scenario == "" || *out == "" || flags.NArg() > 0 {
		fmt.Fprintln(stderr, "synthesize: --scenario and --out are needed")
		fmt.Fprintln(stderr, "hint: synthesize --scenario configs/demo/scenario.yaml --out out/demo/deliveries")
		return 2
	}
	s, err := synth.Load(*scenario)
	if err != nil {
		fmt.Fprintf(stderr, "synthesize: %v\n", err)
		return 10
	}
	g := synth.NewGenerator(s, *seed)
	if *broken != "" {
		if err := g.WriteBroken(*broken); err != nil {
			fmt.Fprintf(stderr, "synthesize: %v\n", err)
			return 1
		}
	}
	written, err := g.Write(*out)
	if err != nil {
		fmt.Fprintf(stderr, "synthesize: %v\n", err)
		return 1
	}
	fmt.Fprintf(stdout, "%-40s %9s %9s %6s %8s %10s\n", "delivery", "newborns", "events", "late", "revised", "withdrawn")
	for _, w := range written {
		fmt.Fprintf(stdout, "%-40s %9d %9d %6d %8d %10d\n", w.Folder, w.Newborns, w.Events, w.Late, w.Revised, w.Withdrawn)
	}
	return 0
}

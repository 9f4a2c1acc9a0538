package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"path/filepath"

	"github.com/spf13/cobra"

	"chestrise/etl"
	"chestrise/etl/derive"
	"chestrise/etl/record"
	"chestrise/reports"
)

func (a *app) nightlyCommand() *cobra.Command {
	var inbox []string
	cmd := &cobra.Command{
		Use:   "nightly",
		Short: "The whole job: load what came, work out what changed, issue what is due",
		Long: "Takes every delivery of the inbox, works out the measures of the months that changed, stores baselines whose months\n" +
			"have closed, issues the reports whose figures changed, and writes run.json beside them. It may be run again at any\n" +
			"time: what was done is not done twice.\n\n" + exitTable(),
		Args: noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			ctx := cmd.Context()
			return a.with(ctx, func(c *config, s *session) error { return a.nightly(ctx, c, s, inbox) })
		},
	}
	cmd.Flags().StringSliceVar(&inbox, "inbox", nil, "folder of deliveries, instead of the configured ones")
	return cmd
}

func (a *app) nightly(ctx context.Context, c *config, s *session, inbox []string) error {
	e, p, err := a.engine(c, s)
	if err != nil {
		return err
	}
	var night night
	err = a.running(ctx, s, func() (err error) {
		if night.loaded, err = a.load(ctx, c, s, inbox); err != nil {
			return err
		}
		night.loaded.print(a.out)
		if night.measured, err = a.measure(ctx, s, e, p); err != nil {
			return err
		}
		night.measured.print(a)
		if night.issued, err = a.reports(ctx, c, s, e, p, "", 0); err != nil {
			return err
		}
		printIssued(a.out, night.issued)
		return nil
	})
	verdict := err
	if err == nil {
		verdict = errors.Join(night.loaded.verdict(c), withCode(exitIncomplete, waiting(night.issued)))
	}
	if e := night.write(c, e.Catalogue.Version(), verdict); e != nil {
		return errors.Join(verdict, e)
	}
	fmt.Fprintf(a.out, "reports in %s\n", c.rel(c.Out))
	return verdict
}

// night is what a night did, for run.json.
type night struct {
	loaded   loaded
	measured measured
	issued   []issued
}

// runFile is run.json: what the night did, in numbers. It holds no time of the
// clock, so that an idle night can be told from a busy one by its content.
type runFile struct {
	Program    string            `json:"program"`
	Catalogue  string            `json:"catalogue"`
	Derivation int16             `json:"derivation"`
	Before     record.Generation `json:"generation_before"`
	After      record.Generation `json:"generation_after"`
	Deliveries []runDelivery     `json:"deliveries"`
	Rows       []runRows         `json:"rows"`
	Measures   runMeasures       `json:"measures"`
	Reports    []runReport       `json:"reports"`
	Error      string            `json:"error,omitempty"`
}

type runDelivery struct {
	Folder     string           `json:"folder"`
	Source     string           `json:"source"`
	Sequence   int64            `json:"sequence"`
	State      string           `json:"state"`
	Generation int64            `json:"generation,omitempty"`
	Problems   []string         `json:"problems,omitempty"`
	Held       map[string]int64 `json:"held_by_rule,omitempty"`
}

type runRows struct {
	File       string           `json:"file"`
	Read       int64            `json:"read"`
	Loaded     int64            `json:"loaded"`
	Revised    int64            `json:"revised"`
	Unchanged  int64            `json:"unchanged"`
	Withdrawn  int64            `json:"withdrawn"`
	Superseded int64            `json:"superseded"`
	Duplicate  int64            `json:"duplicate"`
	Held       int64            `json:"held"`
	HeldWith   int64            `json:"held_with"`
	SetAside   map[string]int64 `json:"set_aside"`
}

type runMeasures struct {
	UnitMonths int   `json:"unit_months"`
	Newborns   int64 `json:"newborns"`
	Cells      int64 `json:"cells"`
	Baselines  int   `json:"baselines_stored"`
}

type runReport struct {
	reports.Current
	New     bool     `json:"new"`
	Missing []string `json:"missing_sources,omitempty"`
}

// write puts run.json into the output folder, also after a failure.
func (n *night) write(c *config, catalogue string, verdict error) error {
	f := runFile{
		Program: version, Catalogue: catalogue, Derivation: derive.Version,
		Deliveries: []runDelivery{}, Rows: []runRows{}, Reports: []runReport{},
		Measures: runMeasures{
			UnitMonths: len(n.measured.computed.UnitMonths), Newborns: n.measured.computed.Newborns,
			Cells: n.measured.computed.Cells, Baselines: n.measured.frozen,
		},
	}
	for i, s := range n.loaded.summaries {
		if i == 0 {
			f.Before = s.Before
		}
		f.After = s.After
	}
	for _, d := range n.loaded.deliveries() {
		f.Deliveries = append(f.Deliveries, delivery(d))
	}
	for _, name := range n.loaded.files() {
		t := n.loaded.rows(name)
		f.Rows = append(f.Rows, runRows{
			File: name, Read: t.Read, Loaded: t.ByFate[record.Loaded], Revised: t.ByFate[record.Revised],
			Unchanged: t.ByFate[record.Unchanged], Withdrawn: t.ByFate[record.Withdrawn], Superseded: t.ByFate[record.Superseded],
			Duplicate: t.ByFate[record.Duplicate], Held: t.ByFate[record.Held], HeldWith: t.ByFate[record.HeldWith], SetAside: t.SetAside,
		})
	}
	for _, x := range n.issued {
		f.Reports = append(f.Reports, runReport{x.Current, x.New, x.Missing})
	}
	if verdict != nil {
		f.Error = verdict.Error()
	}
	text, err := json.MarshalIndent(f, "", "  ")
	if err != nil {
		return err
	}
	return reports.WriteFile(filepath.Join(c.rel(c.Out), "run.json"), append(text, '\n'))
}

func delivery(d etl.Outcome) runDelivery {
	r := runDelivery{Folder: d.Folder, Source: d.Source, Sequence: d.Sequence, State: string(d.State), Generation: int64(d.Generation), Held: d.HeldByRule}
	for _, p := range d.Problems {
		r.Problems = append(r.Problems, p.Error())
	}
	return r
}

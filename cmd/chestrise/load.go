package main

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"maps"
	"slices"
	"sort"
	"strings"

	"github.com/spf13/cobra"

	"chestrise/etl"
	"chestrise/etl/derive"
	"chestrise/etl/record"
	"chestrise/etl/rule"
)

func (a *app) loadCommand() *cobra.Command {
	var inbox []string
	cmd := &cobra.Command{
		Use:   "load",
		Short: "Load deliveries into the registry, and nothing else",
		Args:  noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			ctx := cmd.Context()
			return a.with(ctx, func(c *config, s *session) error {
				var l loaded
				err := a.running(ctx, s, func() (err error) {
					l, err = a.load(ctx, c, s, inbox)
					return err
				})
				l.print(a.out)
				if err != nil {
					return err
				}
				return l.verdict(c)
			})
		},
	}
	cmd.Flags().StringSliceVar(&inbox, "inbox", nil, "folder of deliveries, instead of the configured ones")
	return cmd
}

// loaded is what the inboxes of a night held.
type loaded struct{ summaries []etl.Summary }

// load takes every delivery of every inbox.
func (a *app) load(ctx context.Context, c *config, s *session, inbox []string) (loaded, error) {
	if len(inbox) == 0 {
		for _, folder := range c.Inbox {
			inbox = append(inbox, c.rel(folder))
		}
	}
	maps, err := a.maps(c)
	if err != nil {
		return loaded{}, err
	}
	var l loaded
	for _, folder := range inbox {
		sum, err := etl.Run(ctx, etl.Options{
			Inbox: folder, Registry: intake{s.Registry}, Derive: derive.Facts, Maps: maps, Keys: c.rel(c.KeyFiles),
			Random: rand.Reader, Now: a.now(), Log: a.log(),
		})
		l.summaries = append(l.summaries, sum)
		if err != nil {
			return l, err
		}
	}
	return l, nil
}

// deliveries lists every delivery met, in order.
func (l loaded) deliveries() []etl.Outcome {
	var all []etl.Outcome
	for _, s := range l.summaries {
		all = append(all, s.Deliveries...)
	}
	return all
}

// rows adds up the tallies of all files with a name.
func (l loaded) rows(file string) record.Tally {
	total := record.Tally{File: file, SetAside: map[string]int64{}}
	for _, d := range l.deliveries() {
		for _, t := range d.Tallies {
			if t.File != file {
				continue
			}
			total.Read += t.Read
			for f, n := range t.ByFate {
				total.ByFate[f] += n
			}
			for id, n := range t.SetAside {
				total.SetAside[id] += n
			}
		}
	}
	return total
}

// files lists the names of the files met, newborns first.
func (l loaded) files() []string {
	seen := map[string]bool{}
	for _, d := range l.deliveries() {
		for _, t := range d.Tallies {
			seen[t.File] = true
		}
	}
	var names []string
	for n := range seen {
		names = append(names, n)
	}
	sort.Slice(names, func(i, j int) bool { return names[i] > names[j] })
	return names
}

func (l loaded) print(w io.Writer) {
	ds := l.deliveries()
	if len(ds) == 0 {
		fmt.Fprintln(w, "no delivery was found")
		return
	}
	for _, d := range ds {
		fmt.Fprintf(w, "%-44s %s", d.Folder, d.State)
		if d.State == etl.Loaded {
			fmt.Fprintf(w, ", generation %d", d.Generation)
		}
		fmt.Fprintln(w)
		printProblems(w, d.Problems)
		printHeld(w, d)
	}
	for _, name := range l.files() {
		t := l.rows(name)
		fmt.Fprintf(w, "%-14s read %d =", name, t.Read)
		for i, f := range record.Fates {
			if i > 0 {
				fmt.Fprint(w, " +")
			}
			fmt.Fprintf(w, " %s %d", f, t.ByFate[f])
		}
		fmt.Fprintln(w)
		if words := byRule(t.SetAside); words != "" {
			fmt.Fprintf(w, "%-14s values set aside: %s\n", "", words)
		}
	}
}

func printProblems(w io.Writer, all []record.Problem) {
	const most = 20
	for i, p := range all {
		if i == most {
			fmt.Fprintf(w, "    and %d more\n", len(all)-most)
			return
		}
		for j, line := range strings.Split(p.Error(), "\n") {
			fmt.Fprintf(w, "    %s%s\n", strings.Repeat("  ", min(j, 1)), line)
		}
	}
}

// printHeld says by which rules rows are held back, and where the first are.
func printHeld(w io.Writer, d etl.Outcome) {
	const places = 3
	at := map[string][]string{}
	for _, h := range d.Held {
		if !h.With && len(at[h.Rule]) < places {
			at[h.Rule] = append(at[h.Rule], fmt.Sprintf("%s:%d", h.File, h.Line))
		}
	}
	for _, id := range slices.Sorted(maps.Keys(d.HeldByRule)) {
		r, _ := rule.Of(id)
		fmt.Fprintf(w, "    held back %d by %s (%s): %s\n", d.HeldByRule[id], id, strings.Join(at[id], ", "), r.Words)
	}
}

func byRule(counts map[string]int64) string {
	var ids []string
	for id, n := range counts {
		if n > 0 {
			ids = append(ids, id)
		}
	}
	sort.Strings(ids)
	for i, id := range ids {
		ids[i] = fmt.Sprintf("%s %d", id, counts[id])
	}
	return strings.Join(ids, ", ")
}

// verdict is the exit of a night: failed where every delivery was refused,
// incomplete where one of several was or too many newborns are held back.
func (l loaded) verdict(c *config) error {
	var why []string
	refused, code := 0, exitIncomplete
	for _, d := range l.deliveries() {
		if d.State == etl.Refused {
			refused++
		}
	}
	if refused > 0 && refused == len(l.deliveries()) {
		code = exitFailed
	}
	if refused > 0 {
		why = append(why, fmt.Sprintf("%d of %d deliveries refused", refused, len(l.deliveries())))
	}
	t := l.rows("newborns.csv")
	if held := t.ByFate[record.Held]; t.Read > 0 && float64(held) > c.HeldAlarm*float64(t.Read) {
		why = append(why, fmt.Sprintf("%d of %d newborn rows held back", held, t.Read))
	}
	if len(why) == 0 {
		return nil
	}
	return withCode(code, errors.New(strings.Join(why, ", ")+"\nhint: the reasons stand above, with file and line"))
}

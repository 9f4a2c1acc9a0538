// Package etl takes what the sources delivered and loads it into the registry,
// one delivery one transaction:
//
//  1. extract: the manifest is read, every file is checked against it (hash,
//     rows, encoding, header, order); the two sorted files are joined in one
//     pass, newborn by newborn.
//  2. transform: every cell is parsed by the dictionary. What is wrong costs as
//     little as it can: a value is set aside, a row is held, a file is refused,
//     by the rules of package rule.
//  3. load: documents go to the registry by digest in batches; only what
//     changed is derived and stored. Every row read has one fate, and the fates
//     add up.
//
// The same delivery again changes nothing.
package etl

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"time"

	"chestrise/etl/record"
	"chestrise/etl/rule"
	"chestrise/etl/source"
)

// DefaultBatch is how many documents are put to the registry at a time.
const DefaultBatch = 10_000

// Options says what to load and with what.
type Options struct {
	// Inbox is a delivery folder, or a folder with delivery folders at any depth.
	Inbox    string
	Registry Registry
	// Derive computes the facts of a document that is present.
	Derive func(*record.Document) record.Facts
	// Maps translate sources that do not send the shape of the contract, by source.
	Maps map[string]*source.Map
	// Keys is the folder of the key files of mapped sources, Random draws new
	// keys; both are needed where Maps is not empty.
	Keys   string
	Random io.Reader
	// Now is the time of the run; a delivery extracted more than a day later is
	// refused, unless it is synthetic: an invented night has an invented clock. The
	// zero time checks nothing.
	Now   time.Time
	Batch int          // 0: DefaultBatch
	Log   *slog.Logger // nil: silent
	// Progress, where there is one, hears after every batch.
	Progress func(Progress)
}

// Progress says how far a delivery is.
type Progress struct {
	Folder       string
	Rows, OfRows int64
}

// State is what became of a delivery.
type State string

// The states of a delivery.
const (
	Loaded        State = "loaded"
	AlreadyLoaded State = "already loaded"
	Refused       State = "refused"
	Failed        State = "failed"      // stopped by the registry or an interruption; nothing of it remains
	NotReached    State = "not reached" // after one that failed
)

// Outcome is what became of one delivery.
type Outcome struct {
	Folder     string // below the inbox; "." is the inbox itself
	Source     string
	Sequence   int64
	Synthetic  bool
	State      State
	Problems   []record.Problem // why it was refused
	Held       []record.HeldRow // the first 1,000 rows found unusable, also where it was refused for them
	HeldByRule map[string]int64 // of a loaded delivery: rows held, those held with their newborn left out
	Tallies    []record.Tally   // by file; of a loaded delivery
	Generation record.Generation
}

// Summary is what a run of the etl did. It is complete also where the run
// failed: it says what was done before.
type Summary struct {
	Before, After record.Generation
	Deliveries    []Outcome // in the order in which they were taken
	// Stray are CSV files that lie outside any delivery folder: nothing was
	// done with them.
	Stray []string
}

// Count returns how many deliveries are in a state.
func (s *Summary) Count(state State) int {
	n := 0
	for i := range s.Deliveries {
		if s.Deliveries[i].State == state {
			n++
		}
	}
	return n
}

// Rows adds up the newborn rows, or all rows, of the loaded deliveries by fate.
func (s *Summary) Rows() record.Tally {
	total := record.Tally{SetAside: map[string]int64{}}
	for i := range s.Deliveries {
		for _, t := range s.Deliveries[i].Tallies {
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

// Run loads all deliveries of the inbox in the order of source and sequence,
// whatever the order of their arrival. A refused delivery stops no other. The
// error is of the registry, the inbox or the context; the summary then says
// which deliveries were loaded before, and nothing is left half done.
func Run(ctx context.Context, o Options) (Summary, error) {
	if o.Batch <= 0 {
		o.Batch = DefaultBatch
	}
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	var s Summary
	found, stray, err := discover(o.Inbox)
	if err != nil {
		return s, fmt.Errorf("inbox: %w", err)
	}
	s.Stray = stray
	for _, path := range stray {
		o.Log.Warn("file lies outside any delivery", "file", path)
	}
	if s.Before, err = o.Registry.Generation(ctx); err != nil {
		return s, fmt.Errorf("generation: %w", err)
	}
	s.After = s.Before
	for i := range found {
		if err != nil {
			s.Deliveries = append(s.Deliveries, found[i].outcome(NotReached))
			continue
		}
		var out Outcome
		out, err = o.one(ctx, &found[i])
		if err != nil {
			err = fmt.Errorf("delivery %s: %w", found[i].folder, err)
		}
		if out.State == Loaded {
			s.After = max(s.After, out.Generation)
		}
		s.Deliveries = append(s.Deliveries, out)
		o.Log.Info("delivery", "folder", out.Folder, "source", out.Source, "sequence", out.Sequence, "state", string(out.State), "problems", len(out.Problems))
	}
	if err != nil {
		err = fmt.Errorf("%w (%d of %d deliveries were loaded, %d not reached)", err, s.Count(Loaded), len(found), s.Count(NotReached))
	}
	return s, err
}

// one loads one delivery.
func (o *Options) one(ctx context.Context, f *found) (Outcome, error) {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel() // rolls back what did not end
	out := f.outcome(Failed)
	if f.problems == nil && !o.Now.IsZero() && !f.manifest.Synthetic && f.manifest.ExtractedAt.After(o.Now.Add(24*time.Hour)) {
		f.problems = []record.Problem{{
			Rule: rule.ManifestValue, File: source.ManifestName, Message: "extracted_at lies in the future",
			Hint: "compare the clocks of the source and of this machine",
		}}
	}
	if f.problems != nil {
		return o.refused(ctx, out, refuse(&f.manifest, f.problems, nil), o.Registry.Refuse)
	}
	loading, err := o.Registry.Begin(ctx, f.manifest)
	switch {
	case errors.Is(err, record.ErrAlreadyLoaded):
		out.State = AlreadyLoaded
		return out, nil
	case errors.Is(err, record.ErrSequenceReused):
		return o.refused(ctx, out, refuse(&f.manifest, []record.Problem{{
			Rule: rule.SequenceReused, File: source.ManifestName, Message: fmt.Sprintf("sequence %d of source %s was used by a delivery with other content", f.manifest.Sequence, f.manifest.Source),
			Hint: "the source counts up with every delivery, also when it sends the same period again",
		}}, nil), o.Registry.Refuse)
	case err != nil:
		return out, err
	}
	l, err := o.load(ctx, f, loading)
	if err == nil {
		out.Generation, err = loading.Commit(ctx, l.used())
	}
	var why *record.Refusal
	switch {
	case errors.As(err, &why):
		return o.refused(ctx, out, why, loading.Refuse)
	case err != nil:
		return out, err
	}
	out.State, out.Tallies, out.Held, out.HeldByRule = Loaded, l.used(), l.told, l.heldBy
	return out, nil
}

// refused records a refusal.
func (o *Options) refused(ctx context.Context, out Outcome, why *record.Refusal, record func(context.Context, *record.Refusal) error) (Outcome, error) {
	out.Problems, out.Held = why.Problems(), why.Held
	if err := record(ctx, why); err != nil {
		return out, fmt.Errorf("recording that the delivery is refused (%w): %w", why, err)
	}
	out.State = Refused
	return out, nil
}

// load surveys a delivery and loads its rows.
func (o *Options) load(ctx context.Context, f *found, loading Loading) (*loader, error) {
	d, problems, err := o.open(f)
	if err != nil {
		return nil, err
	}
	if problems != nil {
		return nil, refuse(&f.manifest, problems, nil)
	}
	defer func() { _ = d.Close() }()
	survey, problems, err := d.Survey(ctx)
	if err != nil {
		return nil, err
	}
	if problems != nil {
		return nil, refuse(&f.manifest, problems, nil)
	}
	l, err := o.loader(ctx, f, d, survey, loading)
	if err != nil {
		return nil, err
	}
	return l, l.load(d)
}

func (o *Options) open(f *found) (*source.Delivery, []record.Problem, error) {
	m := o.Maps[f.manifest.Source]
	if m == nil {
		d, problems := source.Open(f.path, f.manifest)
		return d, problems, nil
	}
	return source.OpenMapped(f.path, f.manifest, m, o.Keys, o.Random)
}

func (o *Options) loader(ctx context.Context, f *found, d *source.Delivery, survey *source.Survey, loading Loading) (*loader, error) {
	newborns, events, births := d.Names()
	l := &loader{ctx: ctx, loading: loading, derive: o.Derive, heldBy: map[string]int64{}}
	l.reader = reader{delivery: &f.manifest, survey: survey, newbornColumns: source.NewbornColumns(f.manifest.Privacy), eventColumns: source.EventColumns()}
	l.broken = map[record.Key]bool{}
	var err error
	l.newbornRows = cursor{name: newborns, columns: l.newbornColumns}
	if l.newbornRows.rows, err = d.Newborns(); err != nil {
		return nil, l.refusal(err)
	}
	l.eventRows = cursor{name: events, columns: l.eventColumns}
	if l.eventRows.rows, err = d.Events(); err != nil {
		return nil, l.refusal(err)
	}
	var all int64
	for i, name := range []string{newborns, events, births} {
		l.tallies[i] = record.Tally{File: name, SetAside: map[string]int64{}}
		for _, file := range f.manifest.Files {
			if file.Name == name {
				l.tallies[i].SHA256 = file.SHA256
				all += file.Rows
				if i == ofNewborns { // a small delivery needs no large batch
					l.batch = make([]pending, 0, max(1, min(int64(o.Batch), file.Rows)))
				}
			}
		}
	}
	if o.Progress != nil {
		l.progress = func(rows int64) { o.Progress(Progress{Folder: f.folder, Rows: rows, OfRows: all}) }
	}
	return l, nil
}

// used are the tallies of the files that the delivery has.
func (l *loader) used() []record.Tally {
	var all []record.Tally
	for _, t := range l.tallies {
		if t.File != "" {
			all = append(all, t)
		}
	}
	return all
}

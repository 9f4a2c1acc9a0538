package synth

import (
	"bytes"
	"crypto/sha256"
	"encoding/csv"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"sort"
	"time"

	"chestrise/etl/record"
	"chestrise/etl/source"
)

// Written says what a drop's folder of one source holds.
type Written struct {
	Folder           string
	Newborns, Events int
	Late, Revised    int
	Again, Withdrawn int
}

// Write draws the whole scenario and writes every drop: one folder a drop and
// source under dir. A folder appears whole or not at all.
func (g *Generator) Write(dir string) ([]Written, error) {
	var all []Written
	for i := range g.scenario.Units {
		w, err := g.writeUnit(dir, &g.scenario.Units[i])
		if err != nil {
			return nil, err
		}
		all = append(all, w...)
	}
	return all, nil
}

// writeUnit writes the drops of one unit; a unit is a source of its own.
func (g *Generator) writeUnit(dir string, u *Unit) ([]Written, error) {
	months := map[record.Month][]Born{}
	for m := g.from; m <= g.to; m++ {
		months[m] = g.Month(u.Code, m, 0)
	}
	if g.scenario.Partial > 0 {
		months[g.to+1] = g.Month(u.Code, g.to+1, g.scenario.Partial)
	}
	var written []Written
	sent, done := g.from-1, g.from-1 // last months of the two drops before
	for i, drop := range g.scenario.Drops {
		through, err := record.ParseMonth(drop.Through)
		if err != nil {
			return nil, fmt.Errorf("drop %s: %w", drop.Folder, err)
		}
		w := Written{Folder: filepath.Join(drop.Folder, u.Source)}
		var docs []record.Document
		for m := g.from; m <= through; m++ {
			for _, b := range months[m] {
				recent := m > through-lateMonths
				next := m > done-lateMonths && m > sent && m <= done
				if d, ok := w.take(b, m > done, recent, next, m == done); ok {
					docs = append(docs, d)
				}
			}
		}
		sort.Slice(docs, func(a, b int) bool { return docs[a].Key.String() < docs[b].Key.String() })
		w.Newborns = len(docs)
		if err := g.deliver(filepath.Join(dir, w.Folder), u, drop, int64(i+1), g.from, through, docs, &w); err != nil {
			return nil, err
		}
		written = append(written, w)
		sent, done = done, through
	}
	return written, nil
}

// lateMonths is how far back records are late, revised or withdrawn: a source
// that sends four years at once has them complete but for the last months.
const lateMonths = 2

// take decides whether a record is in a drop, and in which form. fresh: its
// month is new in this drop; recent: and one of its last ones, in which records
// are late; next: its month was new in the drop before, so
// that late, revised and withdrawn records come now; again: its month was the
// last of the drop before and is sent once more, as extracts overlap.
func (w *Written) take(b Born, fresh, recent, next, again bool) (record.Document, bool) {
	d := b.Document
	switch {
	case fresh:
		return d, !b.Late || !recent
	case next && b.Late:
		w.Late++
	case next && b.Recalled:
		w.Withdrawn++
		return record.Document{Key: d.Key, Unit: d.Unit, Month: d.Month, Withdrawn: true}, true
	case next && b.Revised:
		w.Revised++
		yes(&d.Newborn, record.Debriefing, true)
	case again:
		w.Again++
	default:
		return d, false
	}
	return d, true
}

// deliver writes one delivery folder.
func (g *Generator) deliver(dir string, u *Unit, drop Drop, sequence int64, from, to record.Month, docs []record.Document, w *Written) error {
	tmp := dir + ".part"
	if err := os.RemoveAll(tmp); err != nil {
		return err
	}
	if err := os.MkdirAll(tmp, 0o750); err != nil {
		return err
	}
	newborns, err := writeCSV(filepath.Join(tmp, source.NewbornsName), source.NewbornColumns(record.Inside), func(row func([]string) error) error {
		for i := range docs {
			if err := row(newbornRow(&docs[i])); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	events, err := writeCSV(filepath.Join(tmp, source.EventsName), source.EventColumns(), func(row func([]string) error) error {
		for i := range docs {
			for _, e := range docs[i].Events {
				w.Events++
				if err := row(eventRow(&docs[i], e)); err != nil {
					return err
				}
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	newborns.Rows, events.Rows = int64(len(docs)), int64(w.Events)
	extracted, err := time.Parse(time.RFC3339, drop.Extracted)
	if err != nil {
		return fmt.Errorf("drop %s: extracted: %w", drop.Folder, err)
	}
	err = writeManifest(tmp, record.Delivery{
		Source: u.Source, Units: []string{u.Code}, From: from, To: to,
		Coverage: record.Coverage(record.CodeOf(record.Coverages, u.Coverage)), Mode: record.Changes, Sequence: sequence,
		ExtractedAt: extracted, Privacy: record.Inside, Synthetic: true,
		Files: []record.File{newborns, events}, Recording: recordings(u, to),
	})
	if err != nil {
		return err
	}
	if err := os.RemoveAll(dir); err != nil {
		return err
	}
	return os.Rename(tmp, dir)
}

func writeManifest(dir string, d record.Delivery) error {
	var text bytes.Buffer
	if err := source.WriteManifest(&text, d); err != nil {
		return err
	}
	return os.WriteFile(filepath.Join(dir, source.ManifestName), text.Bytes(), 0o640)
}

// recordings declares the changes of recording that the scenario plants.
func recordings(u *Unit, to record.Month) []record.Recording {
	var all []record.Recording
	for _, e := range u.Effects {
		from := e.from
		if from > to {
			continue
		}
		switch e.Kind {
		case timer:
			all = append(all, record.Recording{Unit: u.Code, From: from, How: record.ByDevice, TimeUnit: 1})
		case form:
			all = append(all, record.Recording{Unit: u.Code, From: from, Form: "second form"})
		}
	}
	sort.Slice(all, func(i, j int) bool { return all[i].From < all[j].From })
	return all
}

func writeCSV(path string, header []string, rows func(func([]string) error) error) (record.File, error) {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o640)
	if err != nil {
		return record.File{}, err
	}
	defer f.Close()
	hash := sha256.New()
	w := csv.NewWriter(io.MultiWriter(f, hash))
	if err := w.Write(header); err != nil {
		return record.File{}, err
	}
	if err := rows(w.Write); err != nil {
		return record.File{}, err
	}
	w.Flush()
	if err := w.Error(); err != nil {
		return record.File{}, err
	}
	return record.File{Name: filepath.Base(path), SHA256: [32]byte(hash.Sum(nil))}, f.Sync()
}

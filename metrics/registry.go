package metrics

import (
	"context"
	"iter"

	"chestrise/etl/record"
	"chestrise/metrics/cell"
)

// Facts answers conditions over the facts of newborns. Conditions are compiled
// by metrics/measure; the registry alone makes a statement of them.
type Facts interface {
	// Check prepares every condition alone and reads no row. It returns what the
	// database refuses, in the order of the projection; none: empty.
	Check(ctx context.Context, p cell.Projection) ([]cell.Fault, error)
	// Project runs the projection once over the scope, ordered by unit, month,
	// birth sequence and key. The row is valid during the call only. Where measures
	// fail on the data the rest is projected and *cell.Uncomputable is returned.
	Project(ctx context.Context, p cell.Projection, s cell.Scope, row func(*cell.Row) error) error
	// Examples runs the same statement over rows given as text by column name;
	// a column that is not given is null. The answer has the length of rows.
	Examples(ctx context.Context, p cell.Projection, rows []map[string]string) ([]cell.Row, error)
	// Judge evaluates every condition of the projection for the current facts of
	// one newborn. It returns the newborn's row and, indexed like p.Measures, the
	// judgements in the order population, exclusion 1.., met, missed, presumed,
	// low, high, end, open, exception 1..; absent conditions are left out.
	// record.ErrNoSuchKey where the registry has no such newborn.
	Judge(ctx context.Context, p cell.Projection, key record.Key) (cell.Row, [][]cell.Judgement, error)
}

// Store keeps cells and baselines.
type Store interface {
	// Stale lists the unit-months that hold a document, or hold a cell, and whose
	// cells are missing for a measure of basis, rest on another basis, or are of
	// an earlier generation than the newest change of a document in that
	// unit-month (a version opened or closed). Sorted by unit and month.
	Stale(ctx context.Context, basis map[string]cell.Basis) ([]cell.UnitMonth, error)
	// Replace deletes every cell of the scope and inserts these, in one
	// transaction. Every unit-month of the scope has at least one cell a measure,
	// unless the measure could not be computed.
	Replace(ctx context.Context, scope []cell.UnitMonth, cells iter.Seq[cell.Cell]) error
	// Cells lists the cells of a measure in the units (nil: all), sorted by unit,
	// month and band.
	Cells(ctx context.Context, units []string, measure string) ([]cell.Cell, error)
	// Baselines lists the stored baselines of a unit, sorted by measure, phase
	// and generation.
	Baselines(ctx context.Context, unit string) ([]cell.Baseline, error)
	// Freeze stores a baseline for good. cell.ErrFrozen where one is stored for
	// the same unit, measure, phase and basis.
	Freeze(ctx context.Context, b cell.Baseline) error
	// Define keeps a definition as it was written, under the hash that cells and
	// baselines name; one that is kept already stays.
	Define(ctx context.Context, id, hash, version, text string) error
	// Generation is the registry's current generation; 0: empty.
	Generation(ctx context.Context) (record.Generation, error)
}

// Ledger tells what the sources sent.
type Ledger interface {
	// Deliveries lists the manifests of the deliveries that were loaded, by
	// source and sequence. Files may be left out.
	Deliveries(ctx context.Context) ([]record.Delivery, error)
	// Births lists what births.csv says of the units (nil: all), summed over
	// sources, sorted by unit, month and gestation.
	Births(ctx context.Context, units []string) ([]record.Births, error)
	// Held counts the newborns kept out, by rule, of deliveries whose period
	// covers the unit's month, that no later delivery settled.
	Held(ctx context.Context, unit string, month record.Month) (map[string]int64, error)
	// SetAside counts the values set aside, by rule, in the current documents of
	// the unit's month.
	SetAside(ctx context.Context, unit string, month record.Month) (map[string]int64, error)
}

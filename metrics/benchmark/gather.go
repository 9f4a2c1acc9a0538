package benchmark

import (
	"context"
	"encoding/hex"
	"errors"
	"fmt"
	"iter"
	"slices"

	"chestrise/etl/record"
	"chestrise/metrics"
	"chestrise/metrics/cell"
	"chestrise/metrics/measure"
)

// Source is the registry, read as it stood at a position.
type Source interface {
	metrics.Facts
	// Touched lists the unit-months in which a version of a document was opened or
	// closed after a generation.
	Touched(ctx context.Context, since record.Generation) ([]cell.UnitMonth, error)
	// DeliveriesAt, BirthsAt and HeldAt tell what the sources had sent.
	DeliveriesAt(ctx context.Context, p cell.Position) ([]record.Delivery, error)
	BirthsAt(ctx context.Context, units []string, p cell.Position) ([]record.Births, error)
	HeldAt(ctx context.Context, from, to record.Month, p cell.Position) (map[string]map[string]int64, error)
	// Head is a digest over the ledger up to a position.
	Head(ctx context.Context, p cell.Position) ([32]byte, error)
}

// Query says what to gather.
type Query struct {
	At       cell.Position
	From, To record.Month
	Units    []string
}

// Data is everything a comparison is made from.
type Data struct {
	Query
	Catalogue  measure.Catalogue
	Head       string // of the ledger, in hexadecimal
	Standing   map[string]metrics.Standing
	Births     map[string]int64 // of births.csv, over the period; a unit that sends none is left out
	Held       map[string]map[string]int64
	Deliveries []record.Delivery
	Moved      map[string]metrics.Counts
	Synthetic  bool

	cells map[string]map[string][]cell.Cell // by measure and unit, all months up to To
}

// Gather counts every measure of the engine's catalogue from the facts as they stood,
// for every month up to the period's last. The engine's own store is not touched.
func Gather(ctx context.Context, src Source, e *metrics.Engine, q Query) (*Data, error) {
	if q.From > q.To || len(q.Units) == 0 {
		return nil, fmt.Errorf("comparison of %d units from %s to %s", len(q.Units), q.From, q.To)
	}
	extra, err := moved()
	if err != nil {
		return nil, err
	}
	d := &Data{
		Query: q, Catalogue: e.Catalogue, Head: "", Standing: map[string]metrics.Standing{}, Births: map[string]int64{}, Held: nil,
		Deliveries: nil, Moved: map[string]metrics.Counts{}, Synthetic: false, cells: map[string]map[string][]cell.Cell{},
	}
	then := *e
	then.Catalogue.Measures = append(slices.Clone(e.Catalogue.Measures), extra)
	store := &collected{at: q.At, cells: nil}
	then.Store, then.Facts, then.Ledger = store, src, past{src: src, at: q.At}
	scope, err := src.Touched(ctx, 0)
	if err != nil {
		return nil, err
	}
	scope = slices.DeleteFunc(scope, func(u cell.UnitMonth) bool { return u.Month > q.To || !slices.Contains(q.Units, u.Unit) })
	done, err := then.ComputeFor(ctx, scope)
	if err != nil {
		return nil, err
	}
	if len(done.Failed) > 0 {
		return nil, &cell.Uncomputable{Faults: done.Failed}
	}
	for _, c := range store.cells {
		if d.cells[c.Measure] == nil {
			d.cells[c.Measure] = map[string][]cell.Cell{}
		}
		d.cells[c.Measure][c.Unit] = append(d.cells[c.Measure][c.Unit], c)
	}
	if err := d.describe(ctx, src, &then); err != nil {
		return nil, err
	}
	for _, u := range q.Units {
		d.Moved[u] = metrics.CountUp(extra, d.inPeriod(extra.ID, u))
	}
	return d, nil
}

func (d *Data) describe(ctx context.Context, src Source, e *metrics.Engine) error {
	head, err := src.Head(ctx, d.At)
	if err != nil {
		return err
	}
	d.Head = hex.EncodeToString(head[:])
	if d.Deliveries, err = src.DeliveriesAt(ctx, d.At); err != nil {
		return err
	}
	if d.Held, err = src.HeldAt(ctx, d.From, d.To, d.At); err != nil {
		return err
	}
	births, err := src.BirthsAt(ctx, d.Units, d.At)
	if err != nil {
		return err
	}
	for _, b := range births {
		if b.Month >= d.From && b.Month <= d.To {
			d.Births[b.Unit] += b.Births
		}
	}
	for _, u := range d.Units {
		s, err := e.Standing(ctx, u, d.From, d.To)
		if err != nil {
			return err
		}
		d.Standing[u] = s
		d.Synthetic = d.Synthetic || s.Synthetic
	}
	return nil
}

func (d *Data) inPeriod(id, unit string) []cell.Cell {
	var out []cell.Cell
	for _, c := range d.cells[id][unit] {
		if c.Month >= d.From && c.Month <= d.To {
			out = append(out, c)
		}
	}
	return out
}

// Counted is a measure in one unit, in all and by gestation band.
type Counted struct {
	All    metrics.Counts
	ByBand [numBands]metrics.Counts
}

// counted adds up cells by band.
func counted(def measure.Definition, cells []cell.Cell) Counted {
	var by [numBands][]cell.Cell
	for _, c := range cells {
		by[c.Band] = append(by[c.Band], c)
	}
	var out Counted
	for b := range by {
		out.ByBand[b] = metrics.CountUp(def, by[b])
		out.All = out.All.Add(out.ByBand[b])
	}
	return out
}

// Count is a measure in a unit over the period.
func (d *Data) Count(def measure.Definition, unit string) Counted {
	return counted(def, d.inPeriod(def.ID, unit))
}

// CountIn is a measure in a unit over some of the months up to the period's last.
func (d *Data) CountIn(def measure.Definition, unit string, from, to record.Month) Counted {
	var some []cell.Cell
	for _, c := range d.cells[def.ID][unit] {
		if c.Month >= from && c.Month <= to {
			some = append(some, c)
		}
	}
	return counted(def, some)
}

// collected is a store that keeps what is computed in memory, and nothing else.
type collected struct {
	at    cell.Position
	cells []cell.Cell
}

// past is the ledger as it stood.
type past struct {
	src Source
	at  cell.Position
}

var errNotKept = errors.New("a comparison keeps no baselines")

// Stale lists nothing: what to compute is said outright.
func (c *collected) Stale(context.Context, map[string]cell.Basis) ([]cell.UnitMonth, error) {
	return nil, nil
}

// Replace keeps the cells.
func (c *collected) Replace(_ context.Context, _ []cell.UnitMonth, cells iter.Seq[cell.Cell]) error {
	c.cells = slices.AppendSeq(c.cells, cells)
	return nil
}

// Cells lists those of a measure.
func (c *collected) Cells(_ context.Context, units []string, id string) ([]cell.Cell, error) {
	var out []cell.Cell
	for _, x := range c.cells {
		if x.Measure == id && (units == nil || slices.Contains(units, x.Unit)) {
			out = append(out, x)
		}
	}
	return out, nil
}

// Baselines lists none.
func (c *collected) Baselines(context.Context, string) ([]cell.Baseline, error) { return nil, nil }

// Freeze refuses.
func (c *collected) Freeze(context.Context, cell.Baseline) error { return errNotKept }

// Define keeps nothing.
func (c *collected) Define(context.Context, string, string, string, string) error { return nil }

// Generation is the one that is read.
func (c *collected) Generation(context.Context) (record.Generation, error) {
	return c.at.Generation, nil
}

// Deliveries lists those up to the position.
func (p past) Deliveries(ctx context.Context) ([]record.Delivery, error) {
	return p.src.DeliveriesAt(ctx, p.at)
}

// Births lists what had been sent.
func (p past) Births(ctx context.Context, units []string) ([]record.Births, error) {
	return p.src.BirthsAt(ctx, units, p.at)
}

// Held counts the newborns kept out.
func (p past) Held(ctx context.Context, unit string, month record.Month) (map[string]int64, error) {
	m, err := p.src.HeldAt(ctx, month, month, p.at)
	return m[unit], err
}

// SetAside is not told as of the past.
func (p past) SetAside(context.Context, string, record.Month) (map[string]int64, error) {
	return nil, nil
}

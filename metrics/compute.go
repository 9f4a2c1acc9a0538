package metrics

import (
	"context"
	"errors"
	"fmt"
	"iter"
	"slices"
	"strconv"

	"chestrise/etl/record"
	"chestrise/metrics/cell"
	"chestrise/metrics/measure"
)

// batch is how many unit-months are projected and replaced at a time: bounded
// memory, and a batch that was cut short is found stale again.
const batch = 600

// Computed says what a computation did.
type Computed struct {
	UnitMonths []cell.UnitMonth // that were computed
	Newborns   int64            // rows that were projected
	Cells      int64            // cells that were written
	Generation record.Generation
	Failed     []cell.Fault // measures that fail on the data; their months have no cells and stay stale
}

// Compute brings every stale cell up to date: those of months that the deliveries
// touched, and those whose definition or derivation is no longer the same. Nothing
// stale: nothing is written.
func (e *Engine) Compute(ctx context.Context) (Computed, error) {
	stale, err := e.Store.Stale(ctx, e.Bases())
	if err != nil {
		return Computed{}, fmt.Errorf("stale cells: %w", err)
	}
	return e.ComputeFor(ctx, stale)
}

// ComputeFor computes the cells of the given unit-months, stale or not. The cells
// are those that Compute would write, but for the generation they carry.
func (e *Engine) ComputeFor(ctx context.Context, scope []cell.UnitMonth) (Computed, error) {
	out := Computed{UnitMonths: scope, Newborns: 0, Cells: 0, Generation: 0, Failed: nil}
	gen, err := e.Store.Generation(ctx)
	if err != nil {
		return out, fmt.Errorf("generation: %w", err)
	}
	out.Generation = gen
	if len(scope) == 0 {
		return out, nil
	}
	for _, d := range e.Catalogue.Measures {
		if err := e.Store.Define(ctx, d.ID, d.Hash, strconv.Itoa(d.Version), d.Text); err != nil {
			return out, fmt.Errorf("keeping the definition of %s: %w", d.ID, err)
		}
	}
	p := e.Catalogue.Projection(e.Settings.Editions)
	for part := range slices.Chunk(scope, batch) {
		t := newTable(e, part, gen)
		err := e.Facts.Project(ctx, p, cell.Scope{AsOf: gen, Units: nil, From: 0, To: 0, UnitMonths: part}, func(r *cell.Row) error {
			out.Newborns++
			return t.add(r)
		})
		if failed, ok := errors.AsType[*cell.Uncomputable](err); ok {
			e.Log.WarnContext(ctx, "measures could not be computed", "error", failed.Error())
			out.Failed = append(out.Failed, failed.Faults...)
			t.drop(failed.Faults)
		} else if err != nil {
			return out, fmt.Errorf("projecting %d unit-months: %w", len(part), err)
		}
		counted := func(yield func(cell.Cell) bool) {
			for c := range t.cells() {
				out.Cells++
				if !yield(c) {
					return
				}
			}
		}
		if err := e.Store.Replace(ctx, part, counted); err != nil {
			return out, fmt.Errorf("replacing cells of %d unit-months: %w", len(part), err)
		}
	}
	e.Log.InfoContext(ctx, "cells computed", "unit_months", len(scope), "newborns", out.Newborns, "cells", out.Cells, "generation", int64(gen))
	return out, nil
}

// table counts rows into cells.
type table struct {
	defs   []measure.Definition
	bases  []cell.Basis
	gen    record.Generation
	scope  []cell.UnitMonth
	place  map[cell.UnitMonth]int
	counts [][]bands // by unit-month, then measure
}

// bands are the cells of one unit-month and measure by gestation band; births is
// the length of the order of births, over all bands.
type bands struct {
	cells  map[uint8]*cell.Cell
	births int32
}

func newTable(e *Engine, scope []cell.UnitMonth, gen record.Generation) *table {
	t := &table{defs: e.Catalogue.Measures, bases: nil, gen: gen, scope: scope, place: make(map[cell.UnitMonth]int, len(scope)), counts: make([][]bands, len(scope))}
	for _, d := range t.defs {
		t.bases = append(t.bases, e.basis(d))
	}
	for i, um := range scope {
		t.place[um] = i
		t.counts[i] = make([]bands, len(t.defs))
		for j := range t.defs {
			// A cell without any newborn says that the month was computed.
			t.cell(um, j, 0)
		}
	}
	return t
}

func (t *table) cell(um cell.UnitMonth, measureNo int, band uint8) *cell.Cell {
	b := &t.counts[t.place[um]][measureNo]
	if b.cells == nil {
		b.cells = map[uint8]*cell.Cell{}
	}
	c := b.cells[band]
	if c == nil {
		d := t.defs[measureNo]
		c = &cell.Cell{
			Unit: um.Unit, Month: um.Month, Measure: d.ID, Band: band, Outside: 0, EligibilityUnknown: 0,
			Excluded: make([]int32, len(d.Exclusions)), Exceptions: make([]int32, len(d.Exceptions)),
			Unknown: 0, Undecided: 0, NotMet: 0, Met: 0, Presumed: 0, Items: nil, Births: 0,
			Basis: t.bases[measureNo], Generation: t.gen,
		}
		b.cells[band] = c
	}
	return c
}

// add counts one newborn for every measure.
func (t *table) add(r *cell.Row) error {
	um := cell.UnitMonth{Unit: r.Unit, Month: r.Month}
	at, ok := t.place[um]
	if !ok {
		return fmt.Errorf("projection returned %s %s, which was not asked for", r.Unit, r.Month)
	}
	for j, d := range t.defs {
		c := t.cell(um, j, r.Band)
		if err := t.count(c, &t.counts[at][j], d, r, j); err != nil {
			return err
		}
	}
	return nil
}

func (t *table) count(c *cell.Cell, b *bands, d measure.Definition, r *cell.Row, j int) error {
	code := r.Codes[j]
	counts := true // answered within the population, reasons aside
	switch code {
	case cell.Outside:
		c.Outside++
		counts = false
	case cell.EligibilityUnknown:
		c.EligibilityUnknown++
		counts = false
	case cell.Unknown:
		c.Unknown++
	case cell.Undecided:
		c.Undecided++
	case cell.NotMet:
		c.NotMet++
	case cell.Met:
		c.Met++
	case cell.Failed:
		return nil
	case cell.Valued:
		// Met: the sign was reached; not met: another end came first.
		if d.Sign(r.End[j]) {
			c.Met++
		} else {
			c.NotMet++
		}
		c.Items = append(c.Items, cell.Item{Order: r.Order, Low: r.Low[j], High: r.High[j], End: r.End[j]})
	default:
		x, y := int(code)-int(cell.FirstExclusion), int(code)-int(cell.FirstException)
		switch {
		case x >= 0 && x < len(c.Excluded):
			c.Excluded[x]++
			counts = false
		case y >= 0 && y < len(c.Exceptions):
			c.Exceptions[y]++
			counts = false
		default:
			return fmt.Errorf("measure %s: code %q is none of its own", d.ID, string(rune(code)))
		}
	}
	if counts && j < len(r.Presumed) && r.Presumed[j] {
		c.Presumed++
	}
	if d.Data == measure.RareEvent && code != cell.Outside && code != cell.EligibilityUnknown {
		b.births++
		c.Births++
		if code == cell.Met {
			place := b.births
			if r.Order == 0 {
				place = 0 // the place among the births is not known
			}
			c.Items = append(c.Items, cell.Item{Order: place, Low: 0, High: 0, End: ""})
		}
	}
	return nil
}

// drop leaves out the measures that could not be computed.
func (t *table) drop(faults []cell.Fault) {
	for _, f := range faults {
		for j, d := range t.defs {
			if d.ID != f.Measure {
				continue
			}
			for i := range t.counts {
				t.counts[i][j].cells = nil
			}
		}
	}
}

// cells yields the cells by unit-month, measure and band.
func (t *table) cells() iter.Seq[cell.Cell] {
	return func(yield func(cell.Cell) bool) {
		for i := range t.scope {
			for j := range t.defs {
				b := t.counts[i][j]
				var order []uint8
				for k := range b.cells {
					order = append(order, k)
				}
				slices.Sort(order)
				for _, k := range order {
					if !yield(*b.cells[k]) {
						return
					}
				}
			}
		}
	}
}

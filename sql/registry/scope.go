package registry

import (
	"context"
	"fmt"
	"slices"

	"github.com/jmoiron/sqlx"
	"github.com/lib/pq"

	"chestrise/etl/record"
	"chestrise/metrics/cell"
	"chestrise/sql/queries"
)

// place is a month of a unit with the unit's number.
type place struct {
	Unit  string       `db:"unit"`
	No    int16        `db:"unit_no"`
	Month record.Month `db:"month"`
}

// places lists the unit-months of a scope that ever held a document, sorted by
// unit and month.
func places(ctx context.Context, tx *sqlx.Tx, s *cell.Scope) ([]place, error) {
	var all []place
	if err := tx.SelectContext(ctx, &all, queries.Text("unit_months")); err != nil {
		return nil, fmt.Errorf("unit-months: %w", err)
	}
	var wanted map[cell.UnitMonth]bool
	if s.UnitMonths != nil {
		wanted = make(map[cell.UnitMonth]bool, len(s.UnitMonths))
		for _, um := range s.UnitMonths {
			wanted[um] = true
		}
	}
	return slices.DeleteFunc(all, func(p place) bool {
		return s.Units != nil && !slices.Contains(s.Units, p.Unit) ||
			s.From != 0 && p.Month < s.From || s.To != 0 && p.Month > s.To ||
			wanted != nil && !wanted[cell.UnitMonth{Unit: p.Unit, Month: p.Month}]
	}), nil
}

// pin returns the generation that a scope reads: the one it names or the newest.
func pin(ctx context.Context, tx *sqlx.Tx, asOf record.Generation) (record.Generation, error) {
	var newest record.Generation
	if err := tx.GetContext(ctx, &newest, queries.Text("generation")); err != nil {
		return 0, fmt.Errorf("generation: %w", err)
	}
	if asOf < 0 || asOf > newest {
		return 0, fmt.Errorf("generation %d does not exist, the newest is %d", asOf, newest)
	}
	if asOf == 0 {
		return newest, nil
	}
	return asOf, nil
}

// arrays are the arguments of the table of unit-months: number, unit, month.
func arrays(all []place) (no pq.Int32Array, unit, month any) {
	no = make(pq.Int32Array, len(all))
	units := make(pq.Int32Array, len(all))
	months := make(pq.StringArray, len(all))
	for i, p := range all {
		no[i], units[i], months[i] = int32(i+1), int32(p.No), string(appendMonth(nil, p.Month))
	}
	return no, units, months
}

// values lists a parameter's value in each unit-month.
func values(q *cell.Parameter, all []place) pq.Float64Array {
	changes := map[string][]cell.Change{}
	for _, c := range q.Changes {
		changes[c.Unit] = append(changes[c.Unit], c)
	}
	for _, c := range changes {
		slices.SortStableFunc(c, func(a, b cell.Change) int { return int(a.From - b.From) })
	}
	out := make(pq.Float64Array, len(all))
	for i, p := range all {
		out[i] = q.Default
		for _, c := range changes[p.Unit] {
			if c.From <= p.Month {
				out[i] = c.Value
			}
		}
	}
	return out
}

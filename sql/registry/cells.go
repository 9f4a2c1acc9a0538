package registry

import (
	"context"
	"database/sql"
	"fmt"
	"iter"
	"strconv"

	"github.com/jmoiron/sqlx"
	"github.com/lib/pq"

	"chestrise/etl/record"
	"chestrise/metrics/cell"
	"chestrise/sql/queries"
)

// Stale lists the unit-months that ever held a document and whose cells are
// missing for a measure of basis, rest on another basis, or are older than the
// newest change of a document in that unit-month. Sorted by unit and month.
func (r *Registry) Stale(ctx context.Context, basis map[string]cell.Basis) ([]cell.UnitMonth, error) {
	var measures, definitions pq.StringArray
	var derivations pq.Int32Array
	for m, b := range basis {
		measures = append(measures, m)
		definitions = append(definitions, b.Definition)
		derivations = append(derivations, int32(b.Derivation))
	}
	return r.unitMonths(ctx, "cells_stale", measures, definitions, derivations)
}

// Touched lists the unit-months in which a version of a document was opened or
// closed after a generation, sorted by unit and month.
func (r *Registry) Touched(ctx context.Context, since record.Generation) ([]cell.UnitMonth, error) {
	return r.unitMonths(ctx, "unit_months_touched", since)
}

func (r *Registry) unitMonths(ctx context.Context, query string, args ...any) ([]cell.UnitMonth, error) {
	var rows []struct {
		Unit  string       `db:"unit"`
		Month record.Month `db:"month"`
	}
	if err := r.db.SelectContext(ctx, &rows, queries.Text(query), args...); err != nil {
		return nil, fmt.Errorf("unit-months: %w", err)
	}
	out := make([]cell.UnitMonth, len(rows))
	for i, row := range rows {
		out[i] = cell.UnitMonth(row)
	}
	return out, nil
}

// Replace deletes every cell of the scope and inserts these, in one transaction
// of the current run. A cell outside the scope is an error.
func (r *Registry) Replace(ctx context.Context, scope []cell.UnitMonth, cells iter.Seq[cell.Cell]) error {
	err := r.write(ctx, func(tx *sqlx.Tx, u *Run) error {
		n, err := readNames(ctx, tx)
		if err != nil {
			return err
		}
		inside := make(map[cell.UnitMonth]bool, len(scope))
		units := make(pq.Int32Array, 0, len(scope))
		months := make(pq.StringArray, 0, len(scope))
		for _, um := range scope {
			no, ok := n.units[um.Unit]
			if !ok {
				return fmt.Errorf("unit %s is not in the registry", um.Unit)
			}
			inside[um] = true
			units = append(units, int32(no))
			months = append(months, string(appendMonth(nil, um.Month)))
		}
		if _, err := tx.ExecContext(ctx, queries.Text("cells_delete"), units, months); err != nil {
			return err
		}
		rows := line{fresh: true}
		for c := range cells {
			if !inside[cell.UnitMonth{Unit: c.Unit, Month: c.Month}] {
				return fmt.Errorf("%s of %s %s is outside the scope", c.Measure, c.Unit, c.Month)
			}
			rows.cell(n.units[c.Unit], &c)
			if len(rows.buf) > flushAt {
				if err := u.copy(ctx, queries.Text("copy_cells"), &rows); err != nil {
					return violation(err)
				}
			}
		}
		return violation(u.copy(ctx, queries.Text("copy_cells"), &rows))
	})
	if err != nil {
		return fmt.Errorf("replacing cells: %w", err)
	}
	return nil
}

// cell appends a cell's row; the order is that of the statement copy_cells.
func (l *line) cell(unit int16, c *cell.Cell) {
	counts := func(n []int32) {
		l.list(len(n), func(b []byte, i int) []byte { return strconv.AppendInt(b, int64(n[i]), 10) })
	}
	item := func(put func([]byte, *cell.Item) []byte) {
		l.list(len(c.Items), func(b []byte, i int) []byte { return put(b, &c.Items[i]) })
	}
	l.int(int64(unit))
	l.month(c.Month)
	l.text(c.Measure)
	l.int(int64(c.Band))
	l.int(int64(c.Outside))
	l.int(int64(c.EligibilityUnknown))
	counts(c.Excluded)
	counts(c.Exceptions)
	l.int(int64(c.Unknown))
	l.int(int64(c.Undecided))
	l.int(int64(c.NotMet))
	l.int(int64(c.Met))
	l.int(int64(c.Presumed))
	item(func(b []byte, i *cell.Item) []byte { return strconv.AppendInt(b, int64(i.Order), 10) })
	item(func(b []byte, i *cell.Item) []byte { return strconv.AppendFloat(b, i.Low, 'g', -1, 64) })
	item(func(b []byte, i *cell.Item) []byte { return strconv.AppendFloat(b, i.High, 'g', -1, 64) })
	item(func(b []byte, i *cell.Item) []byte { return appendQuoted(b, i.End) })
	l.int(int64(c.Births))
	l.text(c.Basis.Definition)
	l.int(int64(c.Basis.Derivation))
	l.int(int64(c.Generation))
	l.end()
}

// appendQuoted writes a text as an element of an array inside COPY text, where
// a backslash is undone twice.
func appendQuoted(b []byte, s string) []byte {
	b = append(b, '"')
	for i := 0; i < len(s); i++ {
		switch c := s[i]; c {
		case '"':
			b = append(b, `\\"`...)
		case '\\':
			b = append(b, `\\\\`...)
		case '\t':
			b = append(b, `\t`...)
		case '\n':
			b = append(b, `\n`...)
		case '\r':
			b = append(b, `\r`...)
		default:
			b = append(b, c)
		}
	}
	return append(b, '"')
}

// Cells lists the cells of a measure in the units (nil: all), sorted by unit,
// month and band.
func (r *Registry) Cells(ctx context.Context, units []string, measure string) ([]cell.Cell, error) {
	rows, err := r.db.QueryContext(ctx, queries.Text("cells"), measure, listed(units))
	if err != nil {
		return nil, fmt.Errorf("cells of %s: %w", measure, err)
	}
	defer func() { _ = rows.Close() }()
	var out []cell.Cell
	for rows.Next() {
		c, err := scanCell(rows)
		if err != nil {
			return nil, fmt.Errorf("cells of %s: %w", measure, err)
		}
		out = append(out, c)
	}
	if err := rows.Err(); err != nil {
		return nil, fmt.Errorf("cells of %s: %w", measure, err)
	}
	return out, nil
}

func scanCell(rows *sql.Rows) (cell.Cell, error) {
	var c cell.Cell
	var excluded, exceptions, order pq.Int32Array
	var low, high pq.Float64Array
	var end pq.StringArray
	err := rows.Scan(&c.Unit, &c.Month, &c.Measure, &c.Band, &c.Outside, &c.EligibilityUnknown, &excluded, &exceptions,
		&c.Unknown, &c.Undecided, &c.NotMet, &c.Met, &c.Presumed, &order, &low, &high, &end, &c.Births,
		&c.Basis.Definition, &c.Basis.Derivation, &c.Generation)
	if err != nil {
		return c, err
	}
	if len(excluded) > 0 {
		c.Excluded = excluded
	}
	if len(exceptions) > 0 {
		c.Exceptions = exceptions
	}
	for i := range order {
		c.Items = append(c.Items, cell.Item{Order: order[i], Low: low[i], High: high[i], End: end[i]})
	}
	return c, nil
}

// listed is a list of texts as an argument; nil means all and is null.
func listed(s []string) any {
	if s == nil {
		return nil
	}
	return pq.StringArray(s)
}

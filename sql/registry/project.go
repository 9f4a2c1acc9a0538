package registry

import (
	"context"
	"database/sql/driver"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/jmoiron/sqlx"
	"github.com/lib/pq"

	"chestrise/etl/record"
	"chestrise/metrics/cell"
	"chestrise/sql/queries"
)

var projectionTemplate = queries.Template("projection")

// Project runs the projection once over the facts in scope, in the order of
// unit, month, birth sequence (not recorded last) and key. The row is valid
// during the call only; an error of row ends the projection and is returned.
//
// A measure that the database cannot compute (a number that overflows) does not
// stop the others: its codes are cell.Failed in every row, and after the last
// row the error is a *cell.Uncomputable that names it.
func (r *Registry) Project(ctx context.Context, p cell.Projection, s cell.Scope, row func(*cell.Row) error) error {
	if len(p.Measures) == 0 {
		return errors.New("projection without measures")
	}
	job := job{r: r, p: &p, s: &s, row: row}
	return job.run(ctx)
}

// job is one projection with what of it turned out not to work.
type job struct {
	r      *Registry
	p      *cell.Projection
	s      *cell.Scope
	row    func(*cell.Row) error
	failed map[int]cell.Fault
	only   *owner // one newborn
}

type owner struct {
	source int16
	key    record.Key
}

func (j *job) run(ctx context.Context) error {
	all := make([]int, len(j.p.Measures))
	for i := range all {
		all[i] = i
	}
	began, err := j.pass(ctx, all, j.row)
	if err == nil || began || !isData(err) {
		return err
	}
	// Someone's condition fails on someone's facts. Halves of the measures tell
	// whose.
	j.failed = map[int]cell.Fault{}
	if err := j.seek(ctx, all); err != nil {
		return err
	}
	all = slices.DeleteFunc(all, func(i int) bool { _, bad := j.failed[i]; return bad })
	if _, err := j.pass(ctx, all, j.row); err != nil {
		return err
	}
	var faults []cell.Fault
	for i := range j.p.Measures {
		if f, bad := j.failed[i]; bad {
			faults = append(faults, f)
		}
	}
	return &cell.Uncomputable{Faults: faults}
}

// isData tells whether an error comes from the data that a condition met.
func isData(err error) bool { return strings.HasPrefix(state(err), "22") }

func (j *job) seek(ctx context.Context, some []int) error {
	if len(some) == 0 {
		return nil
	}
	_, err := j.pass(ctx, some, func(*cell.Row) error { return nil })
	if err == nil || !isData(err) {
		return err
	}
	if len(some) == 1 {
		j.failed[some[0]] = cell.Fault{
			Measure: j.p.Measures[some[0]].Measure, Part: "", Where: j.p.Measures[some[0]].Population, Rune: 0, State: state(err), Message: pqError(err).Message,
		}
		return nil
	}
	half := len(some) / 2
	if err := j.seek(ctx, some[:half]); err != nil {
		return err
	}
	return j.seek(ctx, some[half:])
}

// pass runs some of the measures. It tells whether row was called.
func (j *job) pass(ctx context.Context, some []int, row func(*cell.Row) error) (began bool, err error) {
	part := *j.p
	part.Measures = nil
	for _, i := range some {
		part.Measures = append(part.Measures, j.p.Measures[i])
	}
	compiled, err := compileAll(&part, false, 7)
	if err != nil {
		return false, err
	}
	err = j.r.judging(ctx, func(tx *sqlx.Tx, raw rawQuery) error {
		g, err := pin(ctx, tx, j.s.AsOf)
		if err != nil {
			return err
		}
		all, err := places(ctx, tx, j.s)
		if err != nil || len(all) == 0 {
			return err
		}
		no, unit, month := arrays(all)
		args := []any{no, unit, month, int64(g), nil, nil}
		if j.only != nil {
			args[4], args[5] = j.only.key.String(), int64(j.only.source)
		}
		for i := range part.Parameters {
			args = append(args, values(&part.Parameters[i], all))
		}
		if err := j.r.change(ctx, tx); err != nil {
			return err
		}
		d := newDecoder(j.p, &compiled, some, all)
		return raw(ctx, fill(projectionTemplate, compiled), args, func(cells []driver.Value) error {
			out, err := d.decode(cells)
			if err != nil {
				return err
			}
			began = true
			return row(out)
		})
	})
	return began, err
}

// rawQuery runs a query and hands each row over as the driver decoded it.
type rawQuery func(ctx context.Context, query string, args []any, row func([]driver.Value) error) error

// judging runs f in a read-only transaction for conditions. After f has called
// change it has no rights beyond reading, so f reads what else it needs before.
func (r *Registry) judging(ctx context.Context, f func(*sqlx.Tx, rawQuery) error) error {
	conn, err := r.db.Connx(ctx)
	if err != nil {
		return fmt.Errorf("reading the registry: %w", err)
	}
	defer func() { _ = conn.Close() }()
	tx, err := conn.BeginTxx(ctx, readOnly)
	if err != nil {
		return fmt.Errorf("reading the registry: %w", err)
	}
	defer func() { _ = tx.Rollback() }()
	return f(tx, func(ctx context.Context, query string, args []any, row func([]driver.Value) error) error {
		named := make([]driver.NamedValue, len(args))
		for i, a := range args {
			v := a
			if valuer, ok := a.(driver.Valuer); ok {
				var err error
				if v, err = valuer.Value(); err != nil {
					return err
				}
			}
			named[i] = driver.NamedValue{Ordinal: i + 1, Value: v}
		}
		return inside(conn, func(c any) error { return each(ctx, c, query, named, row) })
	})
}

// change gives up all rights beyond reading for the rest of the transaction.
func (r *Registry) change(ctx context.Context, tx *sqlx.Tx) error {
	if _, err := tx.ExecContext(ctx, queries.Text("reader_settings")); err != nil {
		return fmt.Errorf("reading the registry: %w", err)
	}
	if r.role == "" {
		return nil
	}
	if _, err := tx.ExecContext(ctx, fill(readerRole, pq.QuoteIdentifier(r.role))); err != nil {
		return fmt.Errorf("role %s: %w", r.role, err)
	}
	return nil
}

var readerRole = queries.Template("reader_role")

func each(ctx context.Context, c any, query string, args []driver.NamedValue, row func([]driver.Value) error) error {
	rows, err := c.(driver.QueryerContext).QueryContext(ctx, query, args)
	if err != nil {
		return err
	}
	defer func() { _ = rows.Close() }()
	cells := make([]driver.Value, len(rows.Columns()))
	for {
		switch err := rows.Next(cells); {
		case errors.Is(err, io.EOF):
			return nil
		case err != nil:
			return err
		}
		if err := row(cells); err != nil {
			return err
		}
	}
}

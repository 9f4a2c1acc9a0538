package registry

import (
	"context"
	"fmt"

	"github.com/jmoiron/sqlx"

	"chestrise/etl/record"
	"chestrise/sql/queries"
)

// Rederive makes the facts anew of every current document whose facts another
// version of the derivation made, in one transaction, and returns the number of
// documents and the generation: a new one, or the one before where there were
// none. The old facts stay readable as of the generations before. It needs the
// run lock.
func (r *Registry) Rederive(ctx context.Context, facts func(*record.Document) record.Facts) (int64, record.Generation, error) {
	var n int64
	var g record.Generation
	err := r.write(ctx, func(tx *sqlx.Tx, u *Run) error {
		var needed bool
		if err := tx.GetContext(ctx, &needed, queries.Text("rederive_needed"), r.o.Derivation); err != nil {
			return err
		}
		if !needed {
			return tx.GetContext(ctx, &g, queries.Text("generation"))
		}
		for _, s := range []string{"load_settings", "arrival"} {
			if _, err := tx.ExecContext(ctx, queries.Text(s)); err != nil {
				return err
			}
		}
		var err error
		if n, err = r.rederived(ctx, tx, u, facts); err != nil {
			return err
		}
		if n == 0 {
			return tx.GetContext(ctx, &g, queries.Text("generation"))
		}
		if err := tx.GetContext(ctx, &g, queries.Text("next_generation")); err != nil {
			return err
		}
		if _, err := tx.ExecContext(ctx, queries.Text("rederive_close"), g); err != nil {
			return err
		}
		result, err := tx.ExecContext(ctx, openFacts, g)
		if err != nil {
			return violation(err)
		}
		if opened, err := result.RowsAffected(); err != nil || opened != n {
			return fmt.Errorf("%d facts were expected and %d written: %w", n, opened, err)
		}
		if _, err := tx.ExecContext(ctx, queries.Text("rederive_changed"), g); err != nil {
			return err
		}
		_, err = tx.ExecContext(ctx, queries.Text("generation_record"), g, "derivation", nil, nil)
		return err
	})
	if err != nil {
		return 0, 0, fmt.Errorf("deriving facts anew: %w", err)
	}
	return n, g, nil
}

// rederived copies new facts. It reads over another connection than the run's:
// one connection cannot read and copy at the same time, and nobody else writes.
func (r *Registry) rederived(ctx context.Context, tx *sqlx.Tx, u *Run, facts func(*record.Document) record.Facts) (int64, error) {
	names, err := readNames(ctx, tx)
	if err != nil {
		return 0, err
	}
	var n int64
	rows := line{fresh: true}
	err = r.snapshot(ctx, func(read *sqlx.Tx) error {
		behind, err := read.QueryContext(ctx, behindQuery, r.o.Derivation)
		if err != nil {
			return err
		}
		return readDocuments(behind, func(source int16, d *record.Document) error {
			f := facts(d)
			if err := rows.facts(source, names.units[d.Unit], r.o.Derivation, d.Key, d.Month, &f); err != nil {
				return fmt.Errorf("newborn %s: %w", d.Key, err)
			}
			n++
			if len(rows.buf) > flushAt {
				return u.copy(ctx, copyFacts, &rows)
			}
			return nil
		})
	})
	if err != nil {
		return 0, err
	}
	return n, u.copy(ctx, copyFacts, &rows)
}

// Movement is what happened to the newborns of a unit's month since a
// generation.
type Movement struct {
	Month     record.Month `db:"month"`
	Added     int64        `db:"added"`     // not in the registry then
	Revised   int64        `db:"revised"`   // other content
	Withdrawn int64        `db:"withdrawn"` // no longer in the registry
	MovedIn   int64        `db:"moved_in"`  // in another unit or month then
	MovedOut  int64        `db:"moved_out"` // in another unit or month now
}

// Movements tells why figures of a unit may differ from those of a generation,
// by month; months in which nothing happened are left out.
func (r *Registry) Movements(ctx context.Context, unit string, since record.Generation) ([]Movement, error) {
	var out []Movement
	if err := r.db.SelectContext(ctx, &out, queries.Text("movements"), unit, since); err != nil {
		return nil, fmt.Errorf("movements of %s: %w", unit, err)
	}
	return out, nil
}

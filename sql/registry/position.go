package registry

import (
	"context"
	"crypto/sha256"
	"fmt"
	"time"

	"github.com/jmoiron/sqlx"

	"chestrise/etl/record"
	"chestrise/metrics/cell"
	"chestrise/sql/queries"
)

// Position tells where the registry stands now.
func (r *Registry) Position(ctx context.Context) (cell.Position, error) {
	var p cell.Position
	if err := r.db.GetContext(ctx, &p, queries.Text("position")); err != nil {
		return p, fmt.Errorf("position: %w", err)
	}
	return p, nil
}

// PositionAt tells where the registry stood when all that was extracted up to a
// moment was in, and nothing extracted later. Astray counts deliveries extracted in
// time that came in after a later one: no position has them without it. Newest is
// the latest extraction on record, zero where there is none.
func (r *Registry) PositionAt(ctx context.Context, at time.Time) (p cell.Position, astray int, newest time.Time, err error) {
	var row struct {
		cell.Position
		Astray int        `db:"astray"`
		Newest *time.Time `db:"newest"`
	}
	if err := r.db.GetContext(ctx, &row, queries.Text("position_at"), at); err != nil {
		return p, 0, newest, fmt.Errorf("position at %s: %w", at.UTC().Format(time.DateOnly), err)
	}
	if row.Newest != nil {
		newest = row.Newest.UTC()
	}
	return row.Position, row.Astray, newest, nil
}

// Head is a digest over the ledger up to a position: each loaded delivery with its
// manifest's hash, each of its files with its hash and the fates of its rows, each
// generation with its cause, chained in the order in which they came,
//
//	h = SHA-256(h before, line)
//
// so that a ledger that was changed anywhere before the position has another head.
func (r *Registry) Head(ctx context.Context, p cell.Position) ([32]byte, error) {
	var h [32]byte
	rows, err := r.db.QueryContext(ctx, queries.Text("ledger_rows"), p.Delivery, p.Generation)
	if err != nil {
		return h, fmt.Errorf("head of the ledger: %w", err)
	}
	defer func() { _ = rows.Close() }()
	for rows.Next() {
		var line string
		if err := rows.Scan(&line); err != nil {
			return h, fmt.Errorf("head of the ledger: %w", err)
		}
		h = sha256.Sum256(append(h[:], line...))
	}
	if err := rows.Err(); err != nil {
		return h, fmt.Errorf("head of the ledger: %w", err)
	}
	return h, nil
}

// Since counts the generations after one by cause: "delivery", "derivation",
// "purge", "baseline". After a purge the past can no longer be read whole.
func (r *Registry) Since(ctx context.Context, g record.Generation) (map[string]int64, error) {
	var rows []struct {
		Cause string `db:"cause"`
		N     int64  `db:"n"`
	}
	if err := r.db.SelectContext(ctx, &rows, queries.Text("generations_since"), g); err != nil {
		return nil, fmt.Errorf("generations since %d: %w", g, err)
	}
	m := make(map[string]int64, len(rows))
	for _, row := range rows {
		m[row.Cause] = row.N
	}
	return m, nil
}

// DeliveriesAt lists what Deliveries listed at a position.
func (r *Registry) DeliveriesAt(ctx context.Context, p cell.Position) ([]record.Delivery, error) {
	return r.deliveries(ctx, &p.Delivery)
}

// BirthsAt lists what Births listed at a position.
func (r *Registry) BirthsAt(ctx context.Context, units []string, p cell.Position) ([]record.Births, error) {
	var out []record.Births
	err := r.snapshot(ctx, func(tx *sqlx.Tx) error {
		var rows []struct {
			Unit      string       `db:"unit"`
			Month     record.Month `db:"month"`
			Gestation int          `db:"gestation"`
			Births    int64        `db:"births"`
		}
		if err := tx.SelectContext(ctx, &rows, queries.Text("births_as_of"), listed(units), p.Generation); err != nil {
			return err
		}
		for _, b := range rows {
			out = append(out, record.Births(b))
		}
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("births: %w", err)
	}
	return out, nil
}

// HeldAt counts the newborns kept out at a position, by unit and rule, of
// deliveries that touch the months from to to. A row that is held has no month of
// its own, so a delivery that reaches beyond the months counts whole.
func (r *Registry) HeldAt(ctx context.Context, from, to record.Month, p cell.Position) (map[string]map[string]int64, error) {
	var rows []struct {
		Unit string `db:"unit"`
		Rule string `db:"rule"`
		N    int64  `db:"n"`
	}
	if err := r.db.SelectContext(ctx, &rows, queries.Text("held_as_of"), p.Delivery, p.Generation, day(from), day(to)); err != nil {
		return nil, fmt.Errorf("held newborns, %s to %s: %w", from, to, err)
	}
	m := map[string]map[string]int64{}
	for _, row := range rows {
		if m[row.Unit] == nil {
			m[row.Unit] = map[string]int64{}
		}
		m[row.Unit][row.Rule] = row.N
	}
	return m, nil
}

// PositionOf tells where the registry stood while a generation was its newest.
func (r *Registry) PositionOf(ctx context.Context, g record.Generation) (cell.Position, error) {
	var p cell.Position
	if err := r.db.GetContext(ctx, &p, queries.Text("position_of"), g); err != nil {
		return p, fmt.Errorf("position of generation %d: %w", g, err)
	}
	return p, nil
}

package registry

import (
	"context"
	"fmt"

	"github.com/jmoiron/sqlx"

	"chestrise/etl/record"
	"chestrise/metrics/cell"
	"chestrise/sql/queries"
)

// Baselines lists the stored baselines of a unit, sorted by measure, phase and
// generation.
func (r *Registry) Baselines(ctx context.Context, unit string) ([]cell.Baseline, error) {
	var rows []struct {
		Phase       record.Month      `db:"phase"`
		From        record.Month      `db:"month_from"`
		To          record.Month      `db:"month_to"`
		Measure     string            `db:"measure"`
		Chart       string            `db:"chart"`
		Period      string            `db:"period"`
		Centre      float64           `db:"centre"`
		Spread      float64           `db:"spread"`
		Points      int               `db:"points"`
		Denominator int64             `db:"denominator"`
		Provisional bool              `db:"provisional"`
		Reason      string            `db:"reason"`
		Definition  string            `db:"definition"`
		Derivation  int16             `db:"derivation"`
		Generation  record.Generation `db:"generation"`
	}
	if err := r.db.SelectContext(ctx, &rows, queries.Text("baselines"), unit); err != nil {
		return nil, fmt.Errorf("baselines of %s: %w", unit, err)
	}
	out := make([]cell.Baseline, len(rows))
	for i, b := range rows {
		out[i] = cell.Baseline{
			Unit: unit, Measure: b.Measure, Phase: b.Phase, From: b.From, To: b.To, Chart: b.Chart, Period: b.Period,
			Centre: b.Centre, Spread: b.Spread, Points: b.Points, Denominator: b.Denominator, Provisional: b.Provisional,
			Reason: b.Reason, Basis: cell.Basis{Definition: b.Definition, Derivation: b.Derivation}, Generation: b.Generation,
		}
	}
	return out, nil
}

// Freeze stores a baseline for good. It returns cell.ErrFrozen where one is
// stored for the same unit, measure, phase and basis. It needs the run lock.
func (r *Registry) Freeze(ctx context.Context, b cell.Baseline) error {
	return r.write(ctx, func(tx *sqlx.Tx, _ *Run) error {
		n, err := readNames(ctx, tx)
		if err != nil {
			return err
		}
		unit, ok := n.units[b.Unit]
		if !ok {
			return fmt.Errorf("baseline of %s: unit %s is not in the registry", b.Measure, b.Unit)
		}
		result, err := tx.ExecContext(ctx, queries.Text("baseline_freeze"), unit, b.Measure, day(b.Phase), b.Basis.Definition,
			b.Basis.Derivation, day(b.From), day(b.To), b.Chart, b.Period, b.Centre, b.Spread, b.Points, b.Denominator,
			b.Provisional, b.Reason, b.Generation)
		if err != nil {
			return fmt.Errorf("baseline of %s, %s: %w", b.Measure, b.Unit, violation(err))
		}
		stored, err := result.RowsAffected()
		if err != nil {
			return err
		}
		if stored == 0 {
			return fmt.Errorf("%s, %s, phase %s: %w", b.Measure, b.Unit, b.Phase, cell.ErrFrozen)
		}
		return nil
	})
}

// Define keeps a definition as it was written, under the hash that cells and
// baselines name. A definition that is kept already stays. It needs the run lock.
func (r *Registry) Define(ctx context.Context, id, hash, version, text string) error {
	return r.write(ctx, func(tx *sqlx.Tx, _ *Run) error {
		if _, err := tx.ExecContext(ctx, queries.Text("definition_keep"), id, hash, version, text); err != nil {
			return fmt.Errorf("definition %s: %w", id, err)
		}
		return nil
	})
}

package registry

import (
	"context"
	"fmt"
	"slices"
	"time"

	"github.com/jmoiron/sqlx"
	"github.com/lib/pq"

	"chestrise/etl/record"
	"chestrise/sql/queries"
)

// Deliveries lists the manifests of the deliveries that were loaded, without
// their files, by source and sequence.
func (r *Registry) Deliveries(ctx context.Context) ([]record.Delivery, error) {
	return r.deliveries(ctx, nil)
}

// deliveries lists those up to a number; nil: all.
func (r *Registry) deliveries(ctx context.Context, through *int64) ([]record.Delivery, error) {
	var out []record.Delivery
	err := r.snapshot(ctx, func(tx *sqlx.Tx) error {
		var rows []struct {
			No          int64          `db:"no"`
			Source      string         `db:"source"`
			Manifest    []byte         `db:"manifest"`
			Sequence    int64          `db:"sequence"`
			Coverage    string         `db:"coverage"`
			Mode        string         `db:"mode"`
			Privacy     string         `db:"privacy"`
			Agreement   string         `db:"agreement"`
			Synthetic   bool           `db:"synthetic"`
			ExtractedAt time.Time      `db:"extracted_at"`
			From        record.Month   `db:"month_from"`
			To          record.Month   `db:"month_to"`
			Units       pq.StringArray `db:"units"`
		}
		if err := tx.SelectContext(ctx, &rows, queries.Text("deliveries"), through); err != nil {
			return err
		}
		changes, err := recordings(ctx, tx)
		if err != nil {
			return err
		}
		for _, d := range rows {
			out = append(out, record.Delivery{
				Source: d.Source, Units: d.Units, From: d.From, To: d.To, Sequence: d.Sequence, ExtractedAt: d.ExtractedAt.UTC(),
				Coverage: record.Coverage(record.CodeOf(record.Coverages, d.Coverage)), Mode: record.Mode(record.CodeOf(record.Modes, d.Mode)),
				Privacy: record.Privacy(record.CodeOf(record.Privacies, d.Privacy)), Agreement: d.Agreement, Synthetic: d.Synthetic,
				Recording: changes[d.No], Manifest: [32]byte(d.Manifest),
			})
		}
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("deliveries: %w", err)
	}
	return out, nil
}

func recordings(ctx context.Context, tx *sqlx.Tx) (map[int64][]record.Recording, error) {
	var rows []struct {
		No       int64        `db:"delivery_no"`
		Unit     string       `db:"unit"`
		From     record.Month `db:"month_from"`
		How      string       `db:"how"`
		TimeUnit uint8        `db:"time_unit_s"`
		Form     string       `db:"form"`
		TempSite string       `db:"temp_site"`
	}
	if err := tx.SelectContext(ctx, &rows, queries.Text("recordings")); err != nil {
		return nil, err
	}
	m := map[int64][]record.Recording{}
	for _, c := range rows {
		m[c.No] = append(m[c.No], record.Recording{
			Unit: c.Unit, From: c.From, How: record.How(max(0, slices.Index(record.Hows[:], c.How))),
			TimeUnit: c.TimeUnit, Form: c.Form, TempSite: c.TempSite,
		})
	}
	return m, nil
}

// Births lists what births.csv says of the units (nil: all), summed over
// sources, sorted by unit, month and gestation.
func (r *Registry) Births(ctx context.Context, units []string) ([]record.Births, error) {
	var rows []struct {
		Unit      string       `db:"unit"`
		Month     record.Month `db:"month"`
		Gestation int          `db:"gestation"`
		Births    int64        `db:"births"`
	}
	if err := r.db.SelectContext(ctx, &rows, queries.Text("births"), listed(units)); err != nil {
		return nil, fmt.Errorf("births: %w", err)
	}
	out := make([]record.Births, len(rows))
	for i, b := range rows {
		out[i] = record.Births(b)
	}
	return out, nil
}

// Held counts the newborns kept out, by rule, of deliveries whose period covers
// the unit's month, that no later delivery settled. A row that is held has no
// month of its own, so it counts in every month of its delivery.
func (r *Registry) Held(ctx context.Context, unit string, month record.Month) (map[string]int64, error) {
	return r.byRule(ctx, "held_newborns", unit, month)
}

// SetAside counts the values set aside, by rule, in the current documents of the
// unit's month.
func (r *Registry) SetAside(ctx context.Context, unit string, month record.Month) (map[string]int64, error) {
	return r.byRule(ctx, "set_aside_values", unit, month)
}

func (r *Registry) byRule(ctx context.Context, query, unit string, month record.Month) (map[string]int64, error) {
	var rows []struct {
		Rule string `db:"rule"`
		N    int64  `db:"n"`
	}
	if err := r.db.SelectContext(ctx, &rows, queries.Text(query), unit, day(month)); err != nil {
		return nil, fmt.Errorf("%s of %s, %s: %w", query, unit, month, err)
	}
	m := make(map[string]int64, len(rows))
	for _, row := range rows {
		m[row.Rule] = row.N
	}
	return m, nil
}

package registry

import (
	"context"
	"database/sql"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/jmoiron/sqlx"
	"github.com/lib/pq"

	"chestrise/etl/record"
	"chestrise/metrics/cell"
	"chestrise/sql/queries"
)

// documentsQuery reads the documents of a scope, behindQuery those whose facts
// another derivation made.
var (
	documentsQuery = fill(queries.Template("documents"), documentsData{Fields: fieldNames()})
	behindQuery    = fill(queries.Template("documents"), documentsData{Fields: fieldNames(), Behind: true})
)

type documentsData struct {
	Fields []string
	Behind bool
}

func fieldNames() []string {
	names := make([]string, len(record.Fields))
	for i, s := range record.Fields {
		names[i] = s.Name
	}
	return names
}

// Documents hands over the documents in scope, withdrawn ones left out, in the
// order of unit, month, birth sequence and key; only those of keys where keys is
// not nil. A value that the dictionary rules out is not recorded here: the four
// states are told apart by the etl. The document is valid during the call only.
func (r *Registry) Documents(ctx context.Context, s cell.Scope, keys []record.Key, f func(*record.Document) error) error {
	return r.snapshot(ctx, func(tx *sqlx.Tx) error {
		g, err := pin(ctx, tx, s.AsOf)
		if err != nil {
			return err
		}
		all, err := places(ctx, tx, &s)
		if err != nil {
			return err
		}
		_, units, months := arrays(all)
		var wanted any
		if keys != nil {
			list := make(pq.StringArray, len(keys))
			for i, k := range keys {
				list[i] = k.String()
			}
			wanted = list
		}
		rows, err := tx.QueryContext(ctx, documentsQuery, g, units, months, wanted)
		if err != nil {
			return fmt.Errorf("documents: %w", err)
		}
		return readDocuments(rows, func(_ int16, d *record.Document) error { return f(d) })
	})
}

// readDocuments hands over each row with the number of its source.
func readDocuments(rows *sql.Rows, f func(source int16, d *record.Document) error) error {
	defer func() { _ = rows.Close() }()
	var row documentRow
	targets := row.targets()
	for rows.Next() {
		if err := rows.Scan(targets...); err != nil {
			return fmt.Errorf("documents: %w", err)
		}
		d, err := row.document()
		if err != nil {
			return err
		}
		if err := f(row.source, d); err != nil {
			return err
		}
	}
	if err := rows.Err(); err != nil {
		return fmt.Errorf("documents: %w", err)
	}
	return nil
}

// documentRow is a row of the query documents.
type documentRow struct {
	key, unit                     string
	month                         record.Month
	withdrawn                     bool
	aside, damaged                pq.StringArray
	at, group                     []sql.NullInt32
	unitOf, how, clock, kind, cod pq.Int32Array
	value                         []sql.NullFloat64
	source                        int16
	fields                        [record.NumFields]sql.NullString
}

func (w *documentRow) targets() []any {
	t := []any{
		&w.key, &w.unit, &w.month, &w.withdrawn, &w.aside, &w.damaged, pq.Array(&w.at), &w.unitOf, &w.how, &w.clock,
		&w.kind, &w.cod, pq.Array(&w.value), pq.Array(&w.group), &w.source,
	}
	for i := range w.fields {
		t = append(t, &w.fields[i])
	}
	return t
}

func (w *documentRow) document() (*record.Document, error) {
	d := &record.Document{Unit: w.unit, Month: w.month, Withdrawn: w.withdrawn}
	if err := parseKey(&d.Key, w.key); err != nil {
		return nil, err
	}
	for i := range w.fields {
		v, err := parseValue(&record.Fields[i], w.fields[i])
		if err != nil {
			return nil, fmt.Errorf("newborn %s: %w", w.key, err)
		}
		if slices.Contains(w.aside, record.Fields[i].Name) {
			v = record.Value{State: record.SetAside}
		}
		d.Newborn[i] = v
	}
	for s := range record.SectionNames {
		if s > 0 && slices.Contains(w.damaged, record.SectionNames[s]) {
			d.Damaged = d.Damaged.With(record.Section(s))
		}
	}
	d.Events = make([]record.Event, len(w.kind))
	for i := range d.Events {
		d.Events[i] = record.Event{
			At: w.at[i].Int32, Timed: w.at[i].Valid, Clock: record.Clock(w.clock[i]), How: record.How(w.how[i]),
			Unit: uint8(w.unitOf[i]), Kind: record.Kind(w.kind[i]), Code: record.EventCode(w.cod[i]),
			Value: w.value[i].Float64, Valued: w.value[i].Valid, Group: w.group[i].Int32, Grouped: w.group[i].Valid,
		}
	}
	return d, nil
}

// parseValue reads a newborn's value as the database writes it as text.
func parseValue(s *record.Spec, text sql.NullString) (record.Value, error) {
	v := record.Value{State: record.Recorded}
	if !text.Valid {
		return record.Value{}, nil
	}
	switch s.Type {
	case record.CodeType:
		if v.Code = record.CodeOf(s.Codes, text.String); v.Code == 0 {
			return v, fmt.Errorf("%s: a code is not in the dictionary", s.Name)
		}
	case record.YesNoType, record.MarkType:
		v.Code = record.No
		if text.String == "true" {
			v.Code = record.Yes
		}
	case record.SetType:
		for word := range strings.SplitSeq(strings.Trim(text.String, "{}"), ",") {
			if word == "" {
				continue
			}
			c := record.CodeOf(s.Codes, word)
			if c == 0 {
				return v, fmt.Errorf("%s: a code is not in the dictionary", s.Name)
			}
			v.Set |= 1 << (c - 1)
		}
	case record.IntegerType, record.DecimalType:
		n, err := strconv.ParseFloat(text.String, 64)
		if err != nil {
			return v, fmt.Errorf("%s: not a number", s.Name)
		}
		v.Number = n
	case record.UUIDType:
		return v, parseKey(&v.ID, text.String)
	}
	return v, nil
}

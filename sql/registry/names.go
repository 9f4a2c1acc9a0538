package registry

import (
	"context"
	"errors"
	"fmt"

	"github.com/jmoiron/sqlx"

	"chestrise/sql/queries"
)

// names are the numbers of units and sources as one transaction sees them.
type names struct {
	units, sources map[string]int16
}

// reader is a transaction or a pool.
type reader interface {
	sqlx.QueryerContext
}

func readNames(ctx context.Context, q reader) (names, error) {
	n := names{}
	var err error
	if n.units, err = readCodes(ctx, q, "unit_list"); err != nil {
		return n, err
	}
	n.sources, err = readCodes(ctx, q, "source_list")
	return n, err
}

func readCodes(ctx context.Context, q reader, query string) (map[string]int16, error) {
	var rows []struct {
		No   int16  `db:"no"`
		Code string `db:"code"`
	}
	if err := sqlx.SelectContext(ctx, q, &rows, queries.Text(query)); err != nil {
		return nil, fmt.Errorf("codes: %w", err)
	}
	m := make(map[string]int16, len(rows))
	for _, r := range rows {
		m[r.Code] = r.No
	}
	return m, nil
}

// unit returns the number of a unit and gives it one if it has none.
func (n names) unit(ctx context.Context, tx *sqlx.Tx, code string) (int16, error) {
	return number(ctx, tx, n.units, code, "unit")
}

// source returns the number of a source and gives it one if it has none.
func (n names) source(ctx context.Context, tx *sqlx.Tx, code string) (int16, error) {
	return number(ctx, tx, n.sources, code, "source")
}

func number(ctx context.Context, tx *sqlx.Tx, known map[string]int16, code, what string) (int16, error) {
	if no, ok := known[code]; ok {
		return no, nil
	}
	if code == "" {
		return 0, errors.New("no " + what + " is named")
	}
	var no int16
	if err := tx.GetContext(ctx, &no, queries.Text(what+"_add"), code); err != nil {
		return 0, fmt.Errorf("%s %s: %w", what, code, err)
	}
	known[code] = no
	return no, nil
}

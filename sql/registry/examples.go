package registry

import (
	"context"
	"database/sql/driver"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/jmoiron/sqlx"
	"github.com/lib/pq"

	"chestrise/metrics/cell"
)

// Examples runs the same statement over rows given as text by fact; a fact that
// is not given is null. A name that begins with a colon gives the row a
// parameter's value. The answer has the length of rows.
func (r *Registry) Examples(ctx context.Context, p cell.Projection, rows []map[string]string) ([]cell.Row, error) {
	if len(p.Measures) == 0 || len(rows) == 0 {
		return nil, errors.New("examples without measures or rows")
	}
	compiled, err := compileAll(&p, true, 3)
	if err != nil {
		return nil, err
	}
	body, parameters, err := examples(&p, rows)
	if err != nil {
		return nil, err
	}
	no := make(pq.Int32Array, len(rows))
	all := make([]place, len(rows))
	for i := range no {
		no[i] = int32(i + 1)
	}
	args := append([]any{no, string(body)}, parameters...)
	some := make([]int, len(p.Measures))
	for i := range some {
		some[i] = i
	}
	var out []cell.Row
	err = r.judging(ctx, func(tx *sqlx.Tx, raw rawQuery) error {
		if err := r.change(ctx, tx); err != nil {
			return err
		}
		d := newDecoder(&p, &compiled, some, all)
		return raw(ctx, fill(projectionTemplate, compiled), args, func(cells []driver.Value) error {
			row, err := d.decode(cells)
			if err != nil {
				return err
			}
			out = append(out, clone(row))
			return nil
		})
	})
	if err != nil {
		return nil, fmt.Errorf("examples: %w", err)
	}
	if len(out) != len(rows) {
		return nil, fmt.Errorf("examples: %d rows were given and %d came back", len(rows), len(out))
	}
	return out, nil
}

// examples turns rows into JSON for the database and lists the parameters'
// values a row.
func examples(p *cell.Projection, rows []map[string]string) ([]byte, []any, error) {
	list := make([]pq.Float64Array, len(p.Parameters))
	for i, q := range p.Parameters {
		for range rows {
			list[i] = append(list[i], q.Default)
		}
	}
	facts := make([]map[string]string, len(rows))
	for n, row := range rows {
		facts[n] = map[string]string{}
		for name, value := range row {
			if parameter, ok := strings.CutPrefix(name, ":"); ok {
				i := slices.IndexFunc(p.Parameters, func(q cell.Parameter) bool { return q.Name == parameter })
				if i < 0 {
					return nil, nil, fmt.Errorf("example %d: parameter %s is not declared", n+1, name)
				}
				if _, err := fmt.Sscan(value, &list[i][n]); err != nil {
					return nil, nil, fmt.Errorf("example %d: parameter %s is not a number", n+1, name)
				}
				continue
			}
			if _, ok := factOf[name]; !ok {
				return nil, nil, fmt.Errorf("example %d: %s is not a fact", n+1, name)
			}
			facts[n][name] = value
		}
	}
	body, err := json.Marshal(facts)
	if err != nil {
		return nil, nil, fmt.Errorf("examples: %w", err)
	}
	args := make([]any, len(list))
	for i := range list {
		args[i] = list[i]
	}
	return body, args, nil
}

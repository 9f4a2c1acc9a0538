package registry

import (
	"context"
	"fmt"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/jmoiron/sqlx"

	"chestrise/metrics/cell"
	"chestrise/sql/queries"
)

var conditionTemplate = queries.Template("condition")

// Check has the database prepare every condition alone and reads no row. It
// returns what the database refuses, with the place in the condition, in the
// order of the projection; none: empty.
func (r *Registry) Check(ctx context.Context, p cell.Projection) ([]cell.Fault, error) {
	known := map[string]bool{}
	var parameters []argument
	for _, q := range p.Parameters {
		if !parameterName.MatchString(q.Name) {
			return nil, fmt.Errorf("parameter %q: a name is lower case", q.Name)
		}
		known[q.Name] = true
		parameters = append(parameters, argument{Name: column(q.Name)})
	}
	var faults []cell.Fault
	err := r.judging(ctx, func(tx *sqlx.Tx, _ rawQuery) error {
		if err := r.change(ctx, tx); err != nil {
			return err
		}
		for i := range p.Measures {
			for _, c := range parts(&p.Measures[i]) {
				fault, err := prepare(ctx, tx, c, known, parameters)
				if err != nil {
					return fmt.Errorf("measure %s, %s: %w", p.Measures[i].Measure, c.name, err)
				}
				if fault != nil {
					fault.Measure = p.Measures[i].Measure
					faults = append(faults, *fault)
				}
			}
		}
		return nil
	})
	return faults, err
}

// prepare plans one condition inside a savepoint; nil: nothing is wrong.
func prepare(ctx context.Context, tx *sqlx.Tx, c part, known map[string]bool, parameters []argument) (*cell.Fault, error) {
	z, unfit := compile(c.c, known)
	if unfit != nil {
		return &cell.Fault{Measure: "", Part: c.name, Where: c.c, Rune: 0, State: "", Message: unfit.Error()}, nil //nolint:nilerr // what is refused here is a fault of the condition's author, reported beside the others
	}
	statement := fill(conditionTemplate, struct {
		Text, Cast string
		Parameters []argument
	}{z.text, c.cast, parameters})
	if _, err := tx.ExecContext(ctx, queries.Text("savepoint")); err != nil {
		return nil, err
	}
	_, refused := tx.ExecContext(ctx, statement)
	if _, err := tx.ExecContext(ctx, queries.Text("savepoint_back")); err != nil {
		return nil, err
	}
	if refused == nil {
		return nil, nil
	}
	e := pqError(refused)
	if e == nil {
		return nil, refused
	}
	fault := &cell.Fault{Measure: "", Part: c.name, Where: c.c, Rune: 0, State: string(e.Code), Message: e.Message}
	if e.Hint != "" {
		// The author of a condition knows no table f.
		fault.Message += " (" + strings.ReplaceAll(e.Hint, `"f.`, `"`) + ")"
	}
	// The server counts runes of the statement; the condition begins after the
	// statement's first bracket.
	before := utf8.RuneCountInString(statement[:strings.IndexByte(statement, '(')+1])
	if at, err := strconv.Atoi(e.Position); err == nil && at > before {
		if at -= before; at <= utf8.RuneCountInString(z.text) {
			fault.Rune = z.original(at)
		}
	}
	return fault, nil
}

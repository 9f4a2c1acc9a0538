package registry

import (
	"context"
	"database/sql/driver"
	"errors"
	"fmt"
	"strconv"
	"strings"

	"github.com/jmoiron/sqlx"

	"chestrise/etl/record"
	"chestrise/metrics/cell"
	"chestrise/sql/queries"
)

// Found is a newborn of the registry in its current version.
type Found struct {
	Source    string
	Key       record.Key
	Unit      string
	Month     record.Month
	Withdrawn bool

	no int16
}

// maxFound bounds how many newborns one search returns.
const maxFound = 20

// Find lists the newborns whose key begins with the given hexadecimal digits,
// hyphens aside, at most 20. None: empty. A prefix that is not hexadecimal is an
// error.
func (r *Registry) Find(ctx context.Context, prefix string) ([]Found, error) {
	digits := strings.ToLower(strings.ReplaceAll(strings.TrimSpace(prefix), "-", ""))
	if len(digits) > 32 || strings.Trim(digits, "0123456789abcdef") != "" || digits == "" {
		return nil, errors.New("a key is made of up to 32 hexadecimal digits\nhint: the first few digits are enough")
	}
	low := digits + strings.Repeat("0", 32-len(digits))
	high := digits + strings.Repeat("f", 32-len(digits))
	var rows []struct {
		Source    string       `db:"source"`
		SourceNo  int16        `db:"source_no"`
		Key       string       `db:"key"`
		Unit      string       `db:"unit"`
		Month     record.Month `db:"month"`
		Withdrawn bool         `db:"withdrawn"`
	}
	if err := r.db.SelectContext(ctx, &rows, queries.Text("newborn_find"), low, high, maxFound); err != nil {
		return nil, fmt.Errorf("finding a newborn: %w", err)
	}
	found := make([]Found, len(rows))
	for i, row := range rows {
		found[i] = Found{Source: row.Source, Unit: row.Unit, Month: row.Month, Withdrawn: row.Withdrawn, no: row.SourceNo}
		if err := parseKey(&found[i].Key, row.Key); err != nil {
			return nil, err
		}
	}
	return found, nil
}

var judgeTemplate = queries.Template("judge")

// Judge evaluates every condition of the projection for the current facts of one
// newborn. It returns the newborn's row and, indexed like p.Measures, the
// judgements in the order population, exclusions, met, missed, presumed, low,
// high, end, open, exceptions; absent conditions are left out. The error wraps
// record.ErrNoSuchKey where no source has such a newborn that is not withdrawn.
func (r *Registry) Judge(ctx context.Context, p cell.Projection, key record.Key) (cell.Row, [][]cell.Judgement, error) {
	found, err := r.Find(ctx, key.String())
	if err != nil {
		return cell.Row{}, nil, err
	}
	var one []Found
	for _, f := range found {
		if !f.Withdrawn {
			one = append(one, f)
		}
	}
	switch len(one) {
	case 0:
		return cell.Row{}, nil, fmt.Errorf("%s: %w", key, record.ErrNoSuchKey)
	case 1:
		return r.judge(ctx, &p, &one[0])
	}
	return cell.Row{}, nil, fmt.Errorf("%s: %d sources have a newborn of this key", key, len(one))
}

func (r *Registry) judge(ctx context.Context, p *cell.Projection, f *Found) (cell.Row, [][]cell.Judgement, error) {
	var row cell.Row
	seen := 0
	scope := cell.Scope{AsOf: 0, Units: []string{f.Unit}, From: f.Month, To: f.Month, UnitMonths: nil}
	j := job{r: r, p: p, s: &scope, only: &owner{f.no, f.Key}, row: func(c *cell.Row) error {
		row = clone(c)
		seen++
		return nil
	}}
	var failed *cell.Uncomputable
	if err := j.run(ctx); err != nil && !errors.As(err, &failed) {
		return cell.Row{}, nil, err
	}
	if seen != 1 {
		return cell.Row{}, nil, fmt.Errorf("%s: %w", f.Key, record.ErrNoSuchKey)
	}
	all := make([][]cell.Judgement, len(p.Measures))
	for i := range p.Measures {
		if _, bad := j.failed[i]; bad {
			continue
		}
		var err error
		if all[i], err = r.judgeMeasure(ctx, p, &p.Measures[i], f); err != nil {
			return cell.Row{}, nil, err
		}
	}
	return row, all, nil
}

func (r *Registry) judgeMeasure(ctx context.Context, p *cell.Projection, m *cell.Projected, f *Found) ([]cell.Judgement, error) {
	known := map[string]bool{}
	var data struct {
		Conditions, Facts []string
		Parameters        []argument
	}
	where := []place{{Unit: f.Unit, Month: f.Month}}
	var args []any
	for i := range p.Parameters {
		known[p.Parameters[i].Name] = true
		data.Parameters = append(data.Parameters, argument{column(p.Parameters[i].Name), "$" + strconv.Itoa(4+i)})
		args = append(args, values(&p.Parameters[i], where)[0])
	}
	list := parts(m)
	at := map[string]int{} // column of each fact
	for _, c := range list {
		z, err := compile(c.c, known)
		if err != nil {
			return nil, fmt.Errorf("measure %s, %s: %w", m.Measure, c.name, err)
		}
		data.Conditions = append(data.Conditions, z.text)
		for _, name := range c.c.Facts {
			if _, ok := factOf[name]; !ok {
				return nil, fmt.Errorf("measure %s, %s: %s is not a fact", m.Measure, c.name, name)
			}
			if _, ok := at[name]; !ok {
				at[name] = len(data.Facts)
				data.Facts = append(data.Facts, name)
			}
		}
	}
	var out []cell.Judgement
	err := r.judging(ctx, func(tx *sqlx.Tx, raw rawQuery) error {
		g, err := pin(ctx, tx, 0)
		if err != nil {
			return err
		}
		if err := r.change(ctx, tx); err != nil {
			return err
		}
		args = append([]any{int64(f.no), f.Key.String(), int64(g)}, args...)
		return raw(ctx, fill(judgeTemplate, data), args, func(c []driver.Value) error {
			for i, q := range list {
				j := cell.Judgement{Part: q.name, Text: q.c.Text, Answer: "not recorded", Facts: map[string]string{}}
				if c[i] != nil {
					j.Answer = answer(q, asText(c[i]))
				}
				for _, name := range q.c.Facts {
					if v := c[len(list)+at[name]]; v != nil {
						j.Facts[name] = inWords(name, asText(v))
					}
				}
				out = append(out, j)
			}
			return nil
		})
	})
	if err != nil {
		return nil, fmt.Errorf("measure %s: %w", m.Measure, err)
	}
	return out, nil
}

// answer is a condition's value in words. A value that is a yes/no fact comes as
// true or false.
func answer(p part, text string) string {
	if p.cast != isText || len(p.c.Facts) != 1 {
		return text
	}
	return inWords(p.c.Facts[0], text)
}

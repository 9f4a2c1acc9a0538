package registry

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"math"

	"github.com/jmoiron/sqlx"

	"chestrise/etl/record"
	"chestrise/reports/issue"
	"chestrise/sql/queries"
)

// issueRow is a row of issue.issue.
type issueRow struct {
	Kind       string            `db:"kind"`
	Unit       string            `db:"unit"`
	Period     string            `db:"period"`
	No         int               `db:"no"`
	Replaces   int               `db:"replaces"`
	State      string            `db:"state"`
	Model      []byte            `db:"model"`
	Generation record.Generation `db:"generation"`
}

func (w *issueRow) issue() issue.Issue {
	return issue.Issue{
		Key: issue.Key{Kind: w.Kind, Unit: w.Unit, Period: w.Period}, No: w.No, Replaces: w.Replaces,
		State: issue.State(w.State), Model: [32]byte(w.Model), Generation: w.Generation,
	}
}

// Plan gives the next number for a report whose model differs from the last
// published issue's, and remembers its figures durably before it returns. It
// answers false, with the last issue and its files, where the model is the one
// that was published last. A number that was planned and never published is
// given again. It needs the run lock.
func (r *Registry) Plan(ctx context.Context, k issue.Key, model [32]byte, generation record.Generation, cells []issue.Cell) (issue.Issue, bool, error) {
	var out issue.Issue
	due := false
	err := r.write(ctx, func(tx *sqlx.Tx, _ *Run) error {
		if _, err := tx.ExecContext(ctx, queries.Text("synchronous")); err != nil {
			return err
		}
		last, err := lastIssue(ctx, tx, k, noIssueYet)
		if err != nil {
			return err
		}
		if _, err := tx.ExecContext(ctx, queries.Text("issue_drop_figures"), k.Kind, k.Unit, k.Period); err != nil {
			return err
		}
		if last.No > 0 && last.Model == model {
			out = last
			_, err := tx.ExecContext(ctx, queries.Text("issue_drop_planned"), k.Kind, k.Unit, k.Period)
			return err
		}
		due = true
		out = issue.Issue{Key: k, No: last.No + 1, Replaces: last.No, State: issue.Planned, Model: model, Generation: generation}
		_, err = tx.ExecContext(ctx, queries.Text("issue_plan"), k.Kind, k.Unit, k.Period, out.No, out.Replaces, model[:], generation)
		if err != nil {
			return violation(err)
		}
		for i, c := range cells {
			_, err := tx.ExecContext(ctx, queries.Text("issue_cell"), k.Kind, k.Unit, k.Period, out.No, i+1, c.Measure,
				day(c.Month), c.Met, c.Known, c.Eligible, c.Value, c.Text, c.BasisHash)
			if err != nil {
				return fmt.Errorf("figure %d, %s: %w", i+1, c.Measure, violation(err))
			}
		}
		return nil
	})
	if err != nil {
		return issue.Issue{}, false, fmt.Errorf("planning %s of %s for %s: %w", k.Kind, k.Unit, k.Period, err)
	}
	return out, due, nil
}

// Signals remembers the signals of a planned issue, in the order in which they
// are printed. It needs the run lock.
func (r *Registry) Signals(ctx context.Context, k issue.Key, no int, signals []issue.Signal) error {
	return r.write(ctx, func(tx *sqlx.Tx, _ *Run) error {
		for i, s := range signals {
			_, err := tx.ExecContext(ctx, queries.Text("issue_signal"), k.Kind, k.Unit, k.Period, no, i+1, s.Measure, s.Rule,
				day(s.From), day(s.To), s.Direction)
			if err != nil {
				return fmt.Errorf("issue %d of %s, %s: signal of %s: %w", no, k.Unit, k.Period, s.Measure, violation(err))
			}
		}
		return nil
	})
}

// Published marks an issue as published with these files. For an issue that is
// published already, whose folder was lost and drawn again, the files are
// replaced. It needs the run lock.
func (r *Registry) Published(ctx context.Context, k issue.Key, no int, files []issue.File) error {
	err := r.write(ctx, func(tx *sqlx.Tx, _ *Run) error {
		if _, err := tx.ExecContext(ctx, queries.Text("synchronous")); err != nil {
			return err
		}
		result, err := tx.ExecContext(ctx, queries.Text("issue_publish"), k.Kind, k.Unit, k.Period, no)
		if err != nil {
			return err
		}
		n, err := result.RowsAffected()
		if err != nil {
			return err
		}
		if n == 0 {
			return errors.New("it was never planned")
		}
		if _, err := tx.ExecContext(ctx, queries.Text("issue_drop_files"), k.Kind, k.Unit, k.Period, no); err != nil {
			return err
		}
		for _, f := range files {
			_, err := tx.ExecContext(ctx, queries.Text("issue_file"), k.Kind, k.Unit, k.Period, no, f.Name, f.SHA256[:], f.Bytes)
			if err != nil {
				return fmt.Errorf("%s: %w", f.Name, violation(err))
			}
		}
		return nil
	})
	if err != nil {
		return fmt.Errorf("publishing issue %d of %s, %s, %s: %w", no, k.Kind, k.Unit, k.Period, err)
	}
	return nil
}

// Unfinished lists the issues that were planned and never published.
func (r *Registry) Unfinished(ctx context.Context) ([]issue.Issue, error) {
	var rows []issueRow
	if err := r.db.SelectContext(ctx, &rows, queries.Text("issue_unfinished")); err != nil {
		return nil, fmt.Errorf("unfinished issues: %w", err)
	}
	out := make([]issue.Issue, len(rows))
	for i := range rows {
		out[i] = rows[i].issue()
	}
	return out, nil
}

// Last returns the last published issue with its files and its figures; number
// 0: none was published.
func (r *Registry) Last(ctx context.Context, k issue.Key) (issue.Issue, []issue.Cell, error) {
	return r.LastBefore(ctx, k, noIssueYet)
}

// noIssueYet is a number that no issue has reached.
const noIssueYet = math.MaxInt32

// LastBefore returns the last published issue with a number under no, as Last.
func (r *Registry) LastBefore(ctx context.Context, k issue.Key, no int) (issue.Issue, []issue.Cell, error) {
	var out issue.Issue
	var cells []issue.Cell
	err := r.snapshot(ctx, func(tx *sqlx.Tx) error {
		var err error
		if out, err = lastIssue(ctx, tx, k, no); err != nil || out.No == 0 {
			return err
		}
		var rows []struct {
			Measure  string       `db:"measure"`
			Month    record.Month `db:"month"`
			Met      int32        `db:"met"`
			Known    int32        `db:"known"`
			Eligible int32        `db:"eligible"`
			Value    *float64     `db:"value"`
			Text     string       `db:"printed"`
			Basis    string       `db:"basis"`
		}
		if err := tx.SelectContext(ctx, &rows, queries.Text("issue_cells"), k.Kind, k.Unit, k.Period, out.No); err != nil {
			return err
		}
		for _, c := range rows {
			cells = append(cells, issue.Cell{
				Measure: c.Measure, Month: c.Month, Met: c.Met, Known: c.Known, Eligible: c.Eligible,
				Value: c.Value, Text: c.Text, BasisHash: c.Basis,
			})
		}
		return nil
	})
	if err != nil {
		return issue.Issue{}, nil, fmt.Errorf("last issue of %s, %s, %s: %w", k.Kind, k.Unit, k.Period, err)
	}
	return out, cells, nil
}

// LastSignals returns the signals of the last published issue.
func (r *Registry) LastSignals(ctx context.Context, k issue.Key) ([]issue.Signal, error) {
	var out []issue.Signal
	err := r.snapshot(ctx, func(tx *sqlx.Tx) error {
		last, err := lastIssue(ctx, tx, k, noIssueYet)
		if err != nil || last.No == 0 {
			return err
		}
		var rows []struct {
			Measure   string       `db:"measure"`
			Rule      string       `db:"rule"`
			From      record.Month `db:"month_from"`
			To        record.Month `db:"month_to"`
			Direction string       `db:"direction"`
		}
		if err := tx.SelectContext(ctx, &rows, queries.Text("issue_signals"), k.Kind, k.Unit, k.Period, last.No); err != nil {
			return err
		}
		for _, s := range rows {
			out = append(out, issue.Signal(s))
		}
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("signals of %s, %s, %s: %w", k.Kind, k.Unit, k.Period, err)
	}
	return out, nil
}

// lastIssue returns the last published issue under a number with its files;
// number 0: none.
func lastIssue(ctx context.Context, tx *sqlx.Tx, k issue.Key, below int) (issue.Issue, error) {
	var w issueRow
	err := tx.GetContext(ctx, &w, queries.Text("issue_last_published"), k.Kind, k.Unit, k.Period, below)
	if errors.Is(err, sql.ErrNoRows) {
		return issue.Issue{Key: k}, nil
	}
	if err != nil {
		return issue.Issue{}, err
	}
	out := w.issue()
	var files []struct {
		Name   string `db:"name"`
		SHA256 []byte `db:"sha256"`
		Bytes  int64  `db:"bytes"`
	}
	if err := tx.SelectContext(ctx, &files, queries.Text("issue_files"), k.Kind, k.Unit, k.Period, w.No); err != nil {
		return issue.Issue{}, err
	}
	for _, f := range files {
		out.Files = append(out.Files, issue.File{Name: f.Name, SHA256: [32]byte(f.SHA256), Bytes: f.Bytes})
	}
	return out, nil
}

package registry

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"chestrise/etl/record"
	"chestrise/sql/queries"
)

// newbornsFile is the file whose tally must agree with the fates decided here.
const newbornsFile = "newborns.csv"

// Commit closes old versions, opens new ones, proves the counts against the
// rows that the server wrote, records the delivery and returns the generation:
// a new one, or the one before where nothing changed. On an error nothing of
// the delivery remains, except that [Loading.Refuse] may still be called; a
// *record.Refusal means that it should.
func (l *Loading) Commit(ctx context.Context, tallies []record.Tally) (record.Generation, error) {
	if l.ended {
		return 0, errors.New("the delivery has ended already")
	}
	g, err := l.commit(ctx, tallies)
	if err != nil {
		_ = l.tx.Rollback()
		return 0, fmt.Errorf("source %s, sequence %d: %w", l.d.Source, l.d.Sequence, err)
	}
	l.ended = true
	return g, nil
}

func (l *Loading) commit(ctx context.Context, tallies []record.Tally) (record.Generation, error) {
	if err := l.flush(ctx); err != nil {
		return 0, err
	}
	if err := l.prove(tallies); err != nil {
		return 0, err
	}
	if err := l.own(ctx); err != nil {
		return 0, err
	}
	births, err := l.arriveBirths(ctx)
	if err != nil {
		return 0, err
	}
	no, err := l.nextDelivery(ctx)
	if err != nil {
		return 0, err
	}
	changed := l.copied > 0 || births
	var g record.Generation
	if changed {
		if g, err = l.apply(ctx); err != nil {
			return 0, err
		}
	}
	if err := l.account(ctx, no, g, tallies); err != nil {
		return 0, err
	}
	if !changed {
		if err := l.tx.GetContext(ctx, &g, queries.Text("generation")); err != nil {
			return 0, fmt.Errorf("generation: %w", err)
		}
	}
	if err := l.tx.Commit(); err != nil {
		return 0, l.u.lost(ctx, err)
	}
	return g, nil
}

// prove compares what was decided, what was handed over, and what was counted.
func (l *Loading) prove(tallies []record.Tally) error {
	for _, f := range []record.Fate{record.Loaded, record.Revised, record.Withdrawn} {
		if l.put[f] != l.decided[f] {
			return fmt.Errorf("%d documents are %s and %d were handed over", l.decided[f], f, l.put[f])
		}
	}
	if l.copied != l.opened {
		return fmt.Errorf("%d documents changed and %d arrived", l.opened, l.copied)
	}
	if want := l.opened - l.put[record.Withdrawn]; l.factsCopied != want {
		return fmt.Errorf("%d documents have facts and %d facts arrived", want, l.factsCopied)
	}
	var held int64
	aside := map[string]int64{}
	for i := range tallies {
		t := &tallies[i]
		if t.Sum() != t.Read {
			return fmt.Errorf("%s: %d rows were read and %d accounted for", t.File, t.Read, t.Sum())
		}
		held += t.ByFate[record.Held] + t.ByFate[record.HeldWith]
		for rule, n := range t.SetAside {
			aside[rule] += n
		}
		if t.File != newbornsFile {
			continue
		}
		for f := record.Loaded; f <= record.Superseded; f++ {
			if t.ByFate[f] != l.decided[f] {
				return fmt.Errorf("%s: %d newborns are counted as %s and %d were", t.File, t.ByFate[f], f, l.decided[f])
			}
		}
	}
	if held != int64(len(l.held)) {
		return fmt.Errorf("%d rows are counted as held and %d are listed", held, len(l.held))
	}
	for _, u := range l.aside {
		aside[u.Rule]--
	}
	for rule, n := range aside {
		if n != 0 {
			return fmt.Errorf("rule %s: the count of values set aside and their list differ by %d", rule, n)
		}
	}
	return nil
}

// own makes the source the owner of the unit-months that it brought, or refuses.
func (l *Loading) own(ctx context.Context) error {
	if l.copied == 0 {
		return nil
	}
	if _, err := l.tx.ExecContext(ctx, queries.Text("arrival_analyze")); err != nil {
		return fmt.Errorf("documents: %w", err)
	}
	if _, err := l.tx.ExecContext(ctx, queries.Text("arrival_owners")); err != nil {
		return fmt.Errorf("unit-months: %w", err)
	}
	var strangers []struct {
		Unit   string       `db:"unit"`
		Month  record.Month `db:"month"`
		Source string       `db:"source"`
	}
	if err := l.tx.SelectContext(ctx, &strangers, queries.Text("arrival_strangers")); err != nil {
		return fmt.Errorf("unit-months: %w", err)
	}
	if len(strangers) == 0 {
		return nil
	}
	var list []string
	for _, s := range strangers {
		list = append(list, fmt.Sprintf("%s %s (%s)", s.Unit, s.Month, s.Source))
		if len(list) == 5 && len(strangers) > 5 {
			list = append(list, fmt.Sprintf("and %d more", len(strangers)-5))
			break
		}
	}
	return &record.Refusal{
		Rule: "unit-month-owned", Message: "another source owns " + strings.Join(list, ", "),
		Hint: "newborns of one month of a unit come from one source, or they would count twice", Delivery: l.d,
	}
}

// apply writes the new generation.
func (l *Loading) apply(ctx context.Context) (record.Generation, error) {
	var g record.Generation
	if err := l.tx.GetContext(ctx, &g, queries.Text("next_generation")); err != nil {
		return 0, fmt.Errorf("generation: %w", err)
	}
	for _, step := range []struct {
		what, statement string
		want            int64
	}{
		{"versions closed", queries.Text("document_close"), l.closed},
		{"versions opened", openDocuments, l.opened},
		{"facts closed", queries.Text("facts_close"), l.factsClosed},
		{"facts opened", openFacts, l.factsCopied},
	} {
		if l.copied == 0 {
			break
		}
		result, err := l.tx.ExecContext(ctx, step.statement, g)
		if err != nil {
			return 0, violation(err)
		}
		n, err := result.RowsAffected()
		if err != nil {
			return 0, err
		}
		if n != step.want {
			return 0, fmt.Errorf("%s: %d were expected and %d written", step.what, step.want, n)
		}
	}
	if l.copied > 0 {
		if _, err := l.tx.ExecContext(ctx, queries.Text("unit_months_changed"), g); err != nil {
			return 0, fmt.Errorf("unit-months: %w", err)
		}
	}
	if len(l.births) > 0 {
		if _, err := l.tx.ExecContext(ctx, queries.Text("births_close"), l.source, g); err != nil {
			return 0, fmt.Errorf("births: %w", violation(err))
		}
		if _, err := l.tx.ExecContext(ctx, queries.Text("births_open"), l.source, g); err != nil {
			return 0, fmt.Errorf("births: %w", violation(err))
		}
	}
	return g, nil
}

// violation names the rule that a row broke. The server's detail is left out:
// it quotes the row.
func violation(err error) error {
	if p := pqError(err); p != nil && p.Constraint != "" {
		return fmt.Errorf("a row breaks the rule %s of %s.%s", p.Constraint, p.Schema, p.Table)
	}
	return err
}

// arriveBirths puts what births.csv says beside the stored and keeps what is
// new. It tells whether anything is.
func (l *Loading) arriveBirths(ctx context.Context) (bool, error) {
	if len(l.births) == 0 {
		return false, nil
	}
	if _, err := l.tx.ExecContext(ctx, queries.Text("births_arrival")); err != nil {
		return false, fmt.Errorf("births: %w", err)
	}
	rows := line{fresh: true}
	for _, b := range l.births {
		unit, err := l.names.unit(ctx, l.tx, b.Unit)
		if err != nil {
			return false, fmt.Errorf("births: %w", err)
		}
		rows.int(int64(unit))
		rows.month(b.Month)
		rows.int(int64(b.Gestation))
		rows.int(b.Births)
		rows.end()
	}
	if err := l.u.copy(ctx, queries.Text("copy_births"), &rows); err != nil {
		return false, fmt.Errorf("births: %w", violation(err))
	}
	if _, err := l.tx.ExecContext(ctx, queries.Text("births_seen"), l.source, l.d.Sequence); err != nil {
		return false, fmt.Errorf("births: %w", err)
	}
	if _, err := l.tx.ExecContext(ctx, queries.Text("births_mark"), l.source, l.d.Sequence); err != nil {
		return false, fmt.Errorf("births: %w", err)
	}
	if _, err := l.tx.ExecContext(ctx, queries.Text("births_drop_same"), l.source); err != nil {
		return false, fmt.Errorf("births: %w", err)
	}
	var n int64
	if err := l.tx.GetContext(ctx, &n, queries.Text("births_count")); err != nil {
		return false, fmt.Errorf("births: %w", err)
	}
	return n > 0, nil
}

package registry

import (
	"context"
	"database/sql"
	"errors"
	"fmt"

	"github.com/jmoiron/sqlx"

	"chestrise/etl/record"
	"chestrise/sql/queries"
)

// flushAt is how many bytes of encoded rows are kept before they are copied.
const flushAt = 8 << 20

// Loading is one delivery being loaded: one transaction of the current run. It
// is used from one goroutine. It ends with Commit or Refuse; where ctx of
// [Registry.Begin] is cancelled, or neither is called before the run ends,
// nothing of it remains.
type Loading struct {
	r      *Registry
	u      *Run
	tx     *sqlx.Tx
	d      record.Delivery
	source int16
	names  names
	ended  bool

	docs, facts line
	put         [record.HeldWith + 1]int64 // documents handed over, by fate
	decided     [record.HeldWith + 1]int64 // documents decided, by fate
	opened      int64                      // versions to be opened
	closed      int64                      // versions to be closed
	factsClosed int64
	copied      int64 // rows that the server took
	factsCopied int64

	held   []record.HeldRow
	aside  []record.Unusable
	births []record.Births
}

// Begin opens the transaction of a delivery. It needs the run lock. The error
// wraps record.ErrAlreadyLoaded where the same manifest was loaded before,
// record.ErrSequenceReused where the sequence belongs to other content, and
// record.ErrSuperseded where another run has taken over. A sequence lower than
// the last is legal: what it brings is superseded newborn by newborn.
func (r *Registry) Begin(ctx context.Context, d record.Delivery) (*Loading, error) {
	tx, u, err := r.begin(ctx)
	if err != nil {
		return nil, err
	}
	l := &Loading{r: r, u: u, tx: tx, d: d}
	l.docs.reset()
	l.facts.reset()
	if err := l.prepare(ctx); err != nil {
		_ = tx.Rollback()
		return nil, err
	}
	return l, nil
}

func (l *Loading) prepare(ctx context.Context) error {
	if l.d.Source == "" {
		return errors.New("delivery without a source")
	}
	var same bool
	err := l.tx.GetContext(ctx, &same, queries.Text("delivery_known"), l.d.Manifest[:], l.d.Source, l.d.Sequence)
	switch {
	case err == nil && same:
		return fmt.Errorf("source %s, sequence %d: %w", l.d.Source, l.d.Sequence, record.ErrAlreadyLoaded)
	case err == nil:
		return fmt.Errorf("source %s, sequence %d: %w\nhint: the source must count up with every delivery", l.d.Source, l.d.Sequence, record.ErrSequenceReused)
	case !errors.Is(err, sql.ErrNoRows):
		return fmt.Errorf("delivery: %w", err)
	}
	// Losing the last seconds to a crash is harmless while loading: the delivery
	// is still there, and comes again.
	if _, err := l.tx.ExecContext(ctx, queries.Text("load_settings")); err != nil {
		return fmt.Errorf("delivery: %w", err)
	}
	if _, err := l.tx.ExecContext(ctx, queries.Text("arrival")); err != nil {
		return fmt.Errorf("delivery: %w", err)
	}
	if l.names, err = readNames(ctx, l.tx); err != nil {
		return err
	}
	l.source, err = l.names.source(ctx, l.tx, l.d.Source)
	return err
}

// Put hands over a document whose fate is Loaded, Revised or Withdrawn. The
// document and the facts may be reused after the call; facts may be nil where
// the document is withdrawn.
func (l *Loading) Put(ctx context.Context, fate record.Fate, stamp record.Stamp, doc *record.Document, facts *record.Facts) error {
	if fate != record.Loaded && fate != record.Revised && fate != record.Withdrawn {
		return fmt.Errorf("newborn %s: a document that is %s is not handed over", stamp.Key, fate)
	}
	if stamp.Withdrawn != (fate == record.Withdrawn) || stamp.Withdrawn != doc.Withdrawn || stamp.Key != doc.Key {
		return fmt.Errorf("newborn %s: stamp, fate and document do not belong together", stamp.Key)
	}
	if doc.Month <= 0 {
		return fmt.Errorf("newborn %s: document without a month", stamp.Key)
	}
	unit, err := l.names.unit(ctx, l.tx, doc.Unit)
	if err != nil {
		return fmt.Errorf("newborn %s: %w", stamp.Key, err)
	}
	if err := l.docs.document(l.source, unit, l.d.Sequence, &stamp, doc); err != nil {
		return fmt.Errorf("newborn %s: %w", stamp.Key, err)
	}
	if !stamp.Withdrawn {
		if facts == nil {
			return fmt.Errorf("newborn %s: document without facts", stamp.Key)
		}
		if err := l.facts.facts(l.source, unit, l.r.o.Derivation, stamp.Key, doc.Month, facts); err != nil {
			return fmt.Errorf("newborn %s: %w", stamp.Key, err)
		}
	}
	l.put[fate]++
	if len(l.docs.buf)+len(l.facts.buf) > flushAt {
		return l.flush(ctx)
	}
	return nil
}

// flush copies what is buffered.
func (l *Loading) flush(ctx context.Context) error {
	docs, facts := l.docs.rows, l.facts.rows
	if err := l.u.copy(ctx, copyDocuments, &l.docs); err != nil {
		return fmt.Errorf("documents: %w", err)
	}
	if err := l.u.copy(ctx, copyFacts, &l.facts); err != nil {
		return fmt.Errorf("facts: %w", err)
	}
	l.copied += docs
	l.factsCopied += facts
	return nil
}

// Hold records a row kept out.
func (l *Loading) Hold(_ context.Context, h record.HeldRow) error {
	l.held = append(l.held, h)
	return nil
}

// SetAside records a value set aside.
func (l *Loading) SetAside(_ context.Context, u record.Unusable) error {
	l.aside = append(l.aside, u)
	return nil
}

// Births records one row of births.csv. What a delivery says of a unit's month
// replaces all that earlier sequences said of it.
func (l *Loading) Births(_ context.Context, b record.Births) error {
	l.births = append(l.births, b)
	return nil
}

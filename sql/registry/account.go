package registry

import (
	"context"
	"fmt"
	"time"

	"github.com/jmoiron/sqlx"

	"chestrise/etl/record"
	"chestrise/sql/queries"
)

// delivered is a row of ledger.delivery; nil is null.
type delivered struct {
	No             int64              `db:"no"`
	Run            int64              `db:"run_no"`
	Source         *int16             `db:"source_no"`
	Manifest       []byte             `db:"manifest"`
	Sequence       *int64             `db:"sequence"`
	From           *string            `db:"month_from"`
	To             *string            `db:"month_to"`
	Coverage       *string            `db:"coverage"`
	Mode           *string            `db:"mode"`
	Privacy        *string            `db:"privacy"`
	Agreement      *string            `db:"agreement"`
	Synthetic      *bool              `db:"synthetic"`
	ExtractedAt    *time.Time         `db:"extracted_at"`
	Outcome        string             `db:"outcome"`
	Generation     *record.Generation `db:"generation"`
	RefusedRule    *string            `db:"refused_rule"`
	RefusedPlace   *string            `db:"refused_place"`
	RefusedMessage *string            `db:"refused_message"`
}

func describe(d *record.Delivery, no, run int64, outcome string) delivered {
	row := delivered{
		No: no, Run: run, Outcome: outcome, Coverage: word(d.Coverage.String()), Mode: word(d.Mode.String()),
		Privacy: word(d.Privacy.String()), Agreement: word(d.Agreement), Synthetic: &d.Synthetic,
		From: day(d.From), To: day(d.To),
	}
	if d.Manifest != [32]byte{} {
		row.Manifest = d.Manifest[:]
	}
	if d.Sequence != 0 || outcome == "loaded" {
		row.Sequence = &d.Sequence
	}
	if !d.ExtractedAt.IsZero() {
		row.ExtractedAt = &d.ExtractedAt
	}
	return row
}

// word is null for the empty string.
func word(s string) *string {
	if s == "" {
		return nil
	}
	return &s
}

// day is the first day of a month, null for no month.
func day(m record.Month) *string {
	if m <= 0 {
		return nil
	}
	s := string(appendMonth(nil, m))
	return &s
}

func (l *Loading) nextDelivery(ctx context.Context) (no int64, err error) {
	if err := l.tx.GetContext(ctx, &no, queries.Text("delivery_next")); err != nil {
		return 0, fmt.Errorf("ledger: %w", err)
	}
	return no, nil
}

// account writes the ledger of a loaded delivery; g is 0 where nothing changed.
func (l *Loading) account(ctx context.Context, no int64, g record.Generation, tallies []record.Tally) error {
	row := describe(&l.d, no, l.u.no, "loaded")
	row.Source = &l.source
	if g > 0 {
		row.Generation = &g
	}
	if _, err := l.tx.NamedExecContext(ctx, queries.Text("delivery_record"), row); err != nil {
		return fmt.Errorf("ledger: %w", violation(err))
	}
	if g > 0 {
		if _, err := l.tx.ExecContext(ctx, queries.Text("generation_record"), g, "delivery", no, row.ExtractedAt); err != nil {
			return fmt.Errorf("ledger: %w", violation(err))
		}
	}
	for _, code := range l.d.Units {
		unit, err := l.names.unit(ctx, l.tx, code)
		if err != nil {
			return fmt.Errorf("ledger: %w", err)
		}
		if _, err := l.tx.ExecContext(ctx, queries.Text("delivery_unit"), no, unit); err != nil {
			return fmt.Errorf("ledger: %w", violation(err))
		}
	}
	for _, c := range l.d.Recording {
		unit, err := l.names.unit(ctx, l.tx, c.Unit)
		if err != nil {
			return fmt.Errorf("ledger: %w", err)
		}
		_, err = l.tx.ExecContext(ctx, queries.Text("delivery_recording"), no, unit, day(c.From), c.How.String(), int16(c.TimeUnit), c.Form, c.TempSite)
		if err != nil {
			return fmt.Errorf("ledger: recording of %s: %w", c.Unit, violation(err))
		}
	}
	for i := range tallies {
		t := &tallies[i]
		_, err := l.tx.ExecContext(ctx, queries.Text("delivery_file"), no, t.File, t.SHA256[:], t.Read,
			t.ByFate[record.Loaded], t.ByFate[record.Revised], t.ByFate[record.Unchanged], t.ByFate[record.Withdrawn],
			t.ByFate[record.Superseded], t.ByFate[record.Duplicate], t.ByFate[record.Held], t.ByFate[record.HeldWith])
		if err != nil {
			return fmt.Errorf("ledger: file %s: %w", t.File, violation(err))
		}
	}
	if err := l.u.list(ctx, no, l.held); err != nil {
		return err
	}
	rows := line{fresh: true}
	for i := range l.aside {
		a := &l.aside[i]
		rows.place(no, a.File, a.Line, a.Column, a.Rule, a.Field)
		rows.uuid(a.Key)
		rows.end()
	}
	if err := l.u.copy(ctx, queries.Text("copy_set_aside"), &rows); err != nil {
		return fmt.Errorf("ledger: values set aside: %w", violation(err))
	}
	return nil
}

// list copies held rows into the ledger.
func (u *Run) list(ctx context.Context, no int64, held []record.HeldRow) error {
	rows := line{fresh: true}
	for i := range held {
		h := &held[i]
		rows.place(no, h.File, h.Line, h.Column, h.Rule, h.Field)
		if h.Key != nil {
			rows.uuid(*h.Key)
		} else {
			rows.null()
		}
		rows.bool(h.With)
		rows.end()
	}
	if err := u.copy(ctx, queries.Text("copy_held"), &rows); err != nil {
		return fmt.Errorf("ledger: held rows: %w", violation(err))
	}
	return nil
}

func (l *line) place(no int64, file string, row, column int, rule, field string) {
	l.int(no)
	l.text(file)
	l.int(int64(row))
	l.int(int64(column))
	l.text(rule)
	l.text(field)
}

// Refuse rolls the delivery back, then records the refusal and its held rows.
func (l *Loading) Refuse(ctx context.Context, why *record.Refusal) error {
	if l.ended {
		return fmt.Errorf("source %s, sequence %d: the delivery has ended already", l.d.Source, l.d.Sequence)
	}
	l.ended = true
	_ = l.tx.Rollback() // the connection tells in the next statement if it is lost
	all := *why
	all.Delivery = l.d
	known := map[heldAt]bool{}
	for i := range why.Held {
		known[at(&why.Held[i])] = true
	}
	all.Held = append([]record.HeldRow(nil), why.Held...)
	for i := range l.held {
		if !known[at(&l.held[i])] {
			all.Held = append(all.Held, l.held[i])
		}
	}
	return l.r.Refuse(ctx, &all)
}

type heldAt struct {
	file         string
	line, column int
	rule         string
}

func at(h *record.HeldRow) heldAt { return heldAt{h.File, h.Line, h.Column, h.Rule} }

// Refuse records a delivery that was refused, as far as its manifest could be
// read, with its held rows. The same refusal of the same delivery is recorded
// once, however often it comes.
func (r *Registry) Refuse(ctx context.Context, why *record.Refusal) error {
	return r.write(ctx, func(tx *sqlx.Tx, u *Run) error {
		var no int64
		if err := tx.GetContext(ctx, &no, queries.Text("delivery_next")); err != nil {
			return fmt.Errorf("ledger: %w", err)
		}
		row := describe(&why.Delivery, no, u.no, "refused")
		if why.Delivery.Source != "" {
			n, err := readNames(ctx, tx)
			if err != nil {
				return err
			}
			source, err := n.source(ctx, tx, why.Delivery.Source)
			if err != nil {
				return fmt.Errorf("ledger: %w", err)
			}
			row.Source = &source
		}
		place := why.File
		if why.Line > 0 {
			place = fmt.Sprintf("%s:%d", place, why.Line)
		}
		if why.Line > 0 && why.Column > 0 {
			place = fmt.Sprintf("%s:%d", place, why.Column)
		}
		row.RefusedRule, row.RefusedPlace, row.RefusedMessage = &why.Rule, &place, &why.Message
		if _, err := tx.ExecContext(ctx, queries.Text("delivery_forget_refusal"), row.Manifest, place, why.Rule); err != nil {
			return fmt.Errorf("ledger: %w", err)
		}
		if _, err := tx.NamedExecContext(ctx, queries.Text("delivery_record"), row); err != nil {
			return fmt.Errorf("ledger: %w", violation(err))
		}
		return u.list(ctx, no, why.Held)
	})
}

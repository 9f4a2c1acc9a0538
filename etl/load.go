package etl

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"slices"

	"chestrise/etl/record"
	"chestrise/etl/rule"
	"chestrise/etl/source"
)

// The most held rows that a refusal carries.
const mostHeldTold = 1000

// A delivery is refused where the held rows of a file are more than this share
// and at least this many. One bad row in a night of seven is no reason to lose
// the other six.
const (
	heldShare = 0.10
	heldLeast = 20
)

// loader loads one delivery.
type loader struct {
	extractor
	ctx      context.Context
	loading  Loading
	derive   func(*record.Document) record.Facts
	progress func(int64)

	batch   []pending
	stamps  []record.Stamp
	order   []int
	tallies [3]record.Tally // newborns, events, births
	told    []record.HeldRow
	heldBy  map[string]int64
	digest  digester
}

// pending is a document waiting for its fate.
type pending struct {
	document record.Document
	events   int
}

const (
	ofNewborns = iota
	ofEvents
	ofBirths
)

// load reads a surveyed delivery to its end. A *record.Refusal comes back where
// the content refuses the whole delivery; any other error is the registry's or
// the context's.
func (l *loader) load(d *source.Delivery) error {
	var f family
	var o outcome
	if err := l.start(); err != nil {
		return l.refusal(err)
	}
	for {
		err := l.next(&f)
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return l.refusal(err)
		}
		l.transform(&f, &o)
		if err := l.take(&o); err != nil {
			return err
		}
	}
	if err := l.flush(); err != nil {
		return err
	}
	l.tallies[ofNewborns].Read, l.tallies[ofEvents].Read = l.newbornRows.read, l.eventRows.read
	if err := l.births(d); err != nil {
		return l.refusal(err)
	}
	return l.judge()
}

// refusal turns a problem of a file into a refusal; other errors stay.
func (l *loader) refusal(err error) error {
	if p, ok := errors.AsType[record.Problem](err); ok {
		return refuse(l.delivery, []record.Problem{p}, l.told)
	}
	return err
}

// take puts an outcome into the batch and the ledger.
func (l *loader) take(o *outcome) error {
	for _, h := range o.held {
		fate := record.Held
		if h.With {
			fate = record.HeldWith
		}
		of := ofNewborns
		if h.File == l.eventRows.name {
			of = ofEvents
		}
		if err := l.hold(of, fate, h); err != nil {
			return err
		}
	}
	l.tallies[ofNewborns].ByFate[record.Duplicate] += int64(o.duplicates)
	l.tallies[ofEvents].ByFate[record.Duplicate] += int64(o.again)
	if !o.loads {
		return nil
	}
	p := grow(&l.batch)
	events := p.document.Events[:0]
	events = append(events, o.document.Events...)
	p.document = o.document
	p.document.Events = events
	p.events = o.events
	for _, u := range o.unusable {
		of := ofNewborns
		if u.File == l.eventRows.name {
			of = ofEvents
		}
		l.tallies[of].SetAside[u.Rule]++
		if err := l.loading.SetAside(l.ctx, u); err != nil {
			return fmt.Errorf("newborn %s: %w", u.Key, err)
		}
	}
	if len(l.batch) == cap(l.batch) {
		return l.flush()
	}
	return nil
}

func (l *loader) hold(of int, fate record.Fate, h record.HeldRow) error {
	l.tallies[of].ByFate[fate]++
	if fate == record.Held {
		l.heldBy[h.Rule]++
	}
	if len(l.told) < mostHeldTold {
		l.told = append(l.told, h)
	}
	return l.loading.Hold(l.ctx, h)
}

// flush asks for the fates of the batch and hands over what changed. Only that
// is derived and stored.
func (l *loader) flush() error {
	if err := l.ctx.Err(); err != nil {
		return err
	}
	if l.progress != nil {
		l.progress(l.newbornRows.read + l.eventRows.read)
	}
	if len(l.batch) == 0 {
		return nil
	}
	l.order = l.order[:0]
	for i := range l.batch {
		l.order = append(l.order, i)
	}
	slices.SortFunc(l.order, func(a, b int) int {
		return bytes.Compare(l.batch[a].document.Key[:], l.batch[b].document.Key[:])
	})
	l.stamps = l.stamps[:0]
	for _, i := range l.order {
		d := &l.batch[i].document
		l.stamps = append(l.stamps, record.Stamp{Key: d.Key, Digest: l.digest.digest(d), Withdrawn: d.Withdrawn})
	}
	fates, err := l.loading.Fates(l.ctx, l.stamps)
	if err != nil {
		return fmt.Errorf("fates of %d documents: %w", len(l.stamps), err)
	}
	if len(fates) != len(l.stamps) {
		return fmt.Errorf("the registry answered %d fates to %d documents", len(fates), len(l.stamps))
	}
	for n, i := range l.order {
		if err := l.put(&l.batch[i], l.stamps[n], fates[n]); err != nil {
			return err
		}
	}
	l.batch = l.batch[:0]
	return nil
}

func (l *loader) put(p *pending, stamp record.Stamp, fate record.Fate) error {
	l.tallies[ofNewborns].ByFate[fate]++
	l.tallies[ofEvents].ByFate[fate] += int64(p.events)
	switch {
	case fate == record.Unchanged || fate == record.Superseded:
		return nil
	case fate != record.Loaded && fate != record.Revised && fate != record.Withdrawn:
		return fmt.Errorf("the registry answered the fate %q for newborn %s", fate, stamp.Key)
	}
	var facts record.Facts
	if !p.document.Withdrawn {
		facts = l.derive(&p.document)
	}
	if err := l.loading.Put(l.ctx, fate, stamp, &p.document, &facts); err != nil {
		return fmt.Errorf("newborn %s: %w", stamp.Key, err)
	}
	return nil
}

// births loads births.csv, where the delivery has one.
func (l *loader) births(d *source.Delivery) error {
	_, _, name := d.Names()
	if name == "" {
		return nil
	}
	rows, err := d.Births()
	if err != nil {
		return err
	}
	t := &l.tallies[ofBirths]
	counted := map[record.Births]int64{} // by unit, month and week
	for {
		row, err := rows.Next()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
		t.Read++
		h := record.HeldRow{File: name, Line: row.Line, Rule: row.Fault}
		var b record.Births
		if row.Fault == "" {
			var broken *fault
			if b, broken = l.reader.births(row); broken != nil {
				h.Rule, h.Field, h.Column = broken.rule, broken.field, rows.Column(broken.column)
			}
		}
		cell := b
		cell.Births = 0
		before, again := counted[cell]
		if h.Rule == "" && again && before != b.Births {
			h.Rule = rule.BirthsRepeated
		}
		switch {
		case h.Rule != "":
			err = l.hold(ofBirths, record.Held, h)
		case again:
			t.ByFate[record.Duplicate]++
		default:
			counted[cell] = b.Births
			t.ByFate[record.Loaded]++
			err = l.loading.Births(l.ctx, b)
		}
		if err != nil {
			return fmt.Errorf("%s:%d: %w", name, row.Line, err)
		}
	}
}

// judge looks at the counts: they must add up, and not too many rows may be
// held.
func (l *loader) judge() error {
	var problems []record.Problem
	for _, t := range l.tallies {
		if t.Read != t.Sum() {
			return fmt.Errorf("%s: %d rows read, %d accounted for: the program has a fault", t.File, t.Read, t.Sum())
		}
		held := t.ByFate[record.Held]
		if held >= heldLeast && float64(held) > heldShare*float64(t.Read) {
			problems = append(problems, record.Problem{
				Rule: rule.TooManyHeld, File: t.File, Message: fmt.Sprintf("%d of %d rows would be held", held, t.Read),
				Hint: "the rules are listed with the refusal; mend them at the source and deliver again under the next sequence",
			})
		}
	}
	if t := l.tallies[ofNewborns]; t.Read > 0 && t.ByFate[record.Held] == t.Read {
		problems = append(problems, record.Problem{Rule: rule.NoGoodRow, File: t.File, Message: fmt.Sprintf("none of %d rows can be taken", t.Read)})
	}
	if problems != nil {
		return refuse(l.delivery, problems, l.told)
	}
	return nil
}

// refuse makes one refusal of all problems.
func refuse(d *record.Delivery, problems []record.Problem, held []record.HeldRow) *record.Refusal {
	first := problems[0]
	return &record.Refusal{
		Rule: first.Rule, File: first.File, Line: first.Line, Column: first.Column, Message: first.Message, Hint: first.Hint,
		Others: problems[1:], Held: held, Delivery: *d,
	}
}

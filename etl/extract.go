package etl

import (
	"bytes"
	"errors"
	"io"

	"chestrise/etl/record"
	"chestrise/etl/rule"
	"chestrise/etl/source"
)

// mostEvents bounds the event rows of one newborn, and with them the memory
// that one newborn can take.
const mostEvents = 5000

// family is one newborn as the files have it: all its rows, parsed, and the
// rows met on the way that belong to no newborn that can be found.
type family struct {
	newborns []newbornRow
	events   []eventRow
	beyond   []int // lines of event rows beyond mostEvents
	damaged  bool  // an event row with its key cannot be read at all
	held     []record.HeldRow
}

// extractor joins the two sorted files in one pass.
type extractor struct {
	reader
	newbornRows, eventRows cursor
	// broken holds the keys of unreadable event rows until their newborn comes.
	broken map[record.Key]bool
}

// cursor stands on a row of a file, looking one row ahead.
type cursor struct {
	name     string
	columns  []string
	rows     source.Rows
	row      *source.Row // nil at the end
	unit     string
	key      record.Key
	at       bool   // the row has a usable unit and key
	why      string // else the rule
	column   int
	keyKnown bool
	read     int64
}

// Unit and key are the first two columns of both files.
const (
	unitColumn = source.NewbornUnit
	keyColumn  = source.NewbornKey
)

func (c *cursor) next(units []string) error {
	row, err := c.rows.Next()
	if errors.Is(err, io.EOF) {
		c.row = nil
		return nil
	}
	if err != nil {
		return err
	}
	c.row, c.at, c.why, c.column, c.keyKnown = row, false, row.Fault, -1, false
	c.read++
	if row.Fault != "" {
		c.key, c.keyKnown = row.Key, row.Keyed
		return nil
	}
	c.key, c.keyKnown = source.ParseKey(row.Cells[keyColumn])
	var listed bool
	c.unit, listed = known(units, row.Cells[unitColumn])
	switch {
	case !listed && looksLikeIdentifier(row.Cells[unitColumn]):
		c.why, c.column = rule.Identifier, unitColumn
	case !listed:
		c.why, c.column = rule.UnitUnknown, unitColumn
	case !c.keyKnown:
		c.why, c.column = rule.KeyShape, keyColumn
	default:
		c.at = true
	}
	return nil
}

// hold says of the row under the cursor why it is kept out.
func (c *cursor) hold(id string, column int) record.HeldRow {
	h := record.HeldRow{File: c.name, Line: c.row.Line, Rule: id}
	if column >= 0 {
		h.Column, h.Field = c.rows.Column(column), c.columns[column]
	}
	if c.keyKnown {
		key := c.key
		h.Key = &key
	}
	return h
}

func (x *extractor) start() error {
	if err := x.newbornRows.next(x.delivery.Units); err != nil {
		return err
	}
	return x.eventRows.next(x.delivery.Units)
}

// next reads the next newborn with all its rows, or io.EOF. A family without
// newborn rows holds only rows kept out.
func (x *extractor) next(f *family) error {
	f.newborns, f.events, f.beyond, f.damaged, f.held = f.newborns[:0], f.events[:0], f.beyond[:0], false, f.held[:0]
	n, e := &x.newbornRows, &x.eventRows
	for n.row != nil && !n.at {
		f.held = append(f.held, n.hold(n.why, n.column))
		if err := n.next(x.delivery.Units); err != nil {
			return err
		}
		if len(f.held) >= mostEvents {
			return nil
		}
	}
	if n.row == nil && e.row == nil {
		if len(f.held) > 0 {
			return nil
		}
		return io.EOF
	}
	unit, key, found := n.unit, n.key, n.row != nil
	for found && n.row != nil && (!n.at || n.unit == unit && n.key == key) {
		if n.at {
			x.newborn(n.row, unit, key, grow(&f.newborns))
		} else {
			f.held = append(f.held, n.hold(n.why, n.column))
		}
		if err := n.next(x.delivery.Units); err != nil {
			return err
		}
	}
	for e.row != nil {
		order := -1 // before the newborn, or no newborn left: belongs to none
		if e.at && found {
			if order = compare(e.unit, e.key, unit, key); order > 0 {
				break
			}
		}
		switch {
		case !e.at:
			f.held = append(f.held, e.hold(e.why, e.column))
			if e.keyKnown {
				x.broken[e.key] = true
			}
		case order < 0:
			f.held = append(f.held, e.hold(rule.EventWithoutNewborn, -1))
		case len(f.events) < mostEvents:
			x.event(e.row, grow(&f.events))
		default:
			f.beyond = append(f.beyond, e.row.Line)
		}
		if err := e.next(x.delivery.Units); err != nil {
			return err
		}
		if len(f.held) >= mostEvents && len(f.newborns) == 0 {
			return nil
		}
	}
	f.damaged = found && x.broken[key]
	delete(x.broken, key)
	return nil
}

func compare(unitA string, keyA record.Key, unitB string, keyB record.Key) int {
	if unitA != unitB {
		if unitA < unitB {
			return -1
		}
		return 1
	}
	return bytes.Compare(keyA[:], keyB[:])
}

// grow lengthens a slice by one, keeping what the element holds for reuse.
func grow[T any](s *[]T) *T {
	if len(*s) < cap(*s) {
		*s = (*s)[:len(*s)+1]
	} else {
		var zero T
		*s = append(*s, zero)
	}
	return &(*s)[len(*s)-1]
}

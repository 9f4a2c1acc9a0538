package registry

import (
	"fmt"
	"strconv"

	"chestrise/etl/record"
)

// document appends a document's row; see documentColumns for the order.
func (l *line) document(source, unit int16, sequence int64, stamp *record.Stamp, d *record.Document) error {
	l.int(int64(source))
	l.uuid(stamp.Key)
	l.int(sequence)
	l.uuid(stamp.Digest)
	l.bool(stamp.Withdrawn)
	l.int(int64(unit))
	l.month(d.Month)
	if stamp.Withdrawn {
		// Nothing of a withdrawn newborn is kept.
		for range record.Fields {
			l.null()
		}
		for range 10 {
			l.list(0, nil)
		}
		l.end()
		return nil
	}
	for f := range record.Fields {
		if err := l.value(&record.Fields[f], &d.Newborn[f]); err != nil {
			return err
		}
	}
	l.asides(d)
	l.events(d.Events)
	l.end()
	return nil
}

// facts appends the row of facts of a document; see factColumns.
func (l *line) facts(source, unit, derivation int16, key record.Key, month record.Month, facts *record.Facts) error {
	l.int(int64(source))
	l.uuid(key)
	l.int(int64(derivation))
	l.int(int64(unit))
	l.month(month)
	for f := range record.FactSpecs {
		if err := l.value(&record.FactSpecs[f], &facts[f]); err != nil {
			return err
		}
	}
	l.end()
	return nil
}

// value appends one value; whatever is not recorded is null.
func (l *line) value(s *record.Spec, v *record.Value) error {
	if v.State != record.Recorded {
		l.null()
		return nil
	}
	switch s.Type {
	case record.CodeType:
		if v.Code == 0 || int(v.Code) > len(s.Codes) {
			return fmt.Errorf("%s: code %d is not in the list", s.Name, v.Code)
		}
		l.text(s.Codes[v.Code-1])
	case record.YesNoType:
		l.bool(v.Code == record.Yes)
	case record.MarkType:
		l.bool(true)
	case record.SetType:
		if int(v.Set) >= 1<<len(s.Codes) {
			return fmt.Errorf("%s: the set has codes that are not in the list", s.Name)
		}
		n := 0
		l.sep()
		l.buf = append(l.buf, '{')
		for i, code := range s.Codes {
			if v.Set&(1<<i) == 0 {
				continue
			}
			if n > 0 {
				l.buf = append(l.buf, ',')
			}
			n++
			l.buf = append(l.buf, code...)
		}
		l.buf = append(l.buf, '}')
	case record.IntegerType, record.DecimalType:
		l.number(v.Number)
	case record.UUIDType:
		l.uuid(v.ID)
	default:
		return fmt.Errorf("%s: unknown type %d", s.Name, s.Type)
	}
	return nil
}

// asides appends the columns set_aside and damaged.
func (l *line) asides(d *record.Document) {
	var set []string
	for f := range d.Newborn {
		if d.Newborn[f].State == record.SetAside {
			set = append(set, record.Fields[f].Name)
		}
	}
	l.list(len(set), func(b []byte, i int) []byte { return append(b, set[i]...) })
	var damaged []string
	for s := range record.SectionNames {
		if s > 0 && d.Damaged.Has(record.Section(s)) {
			damaged = append(damaged, record.SectionNames[s])
		}
	}
	l.list(len(damaged), func(b []byte, i int) []byte { return append(b, damaged[i]...) })
}

// events appends the events as parallel arrays.
func (l *line) events(e []record.Event) {
	number := func(of func(*record.Event) int64) {
		l.list(len(e), func(b []byte, i int) []byte { return strconv.AppendInt(b, of(&e[i]), 10) })
	}
	perhaps := func(of func(*record.Event) (int64, bool)) {
		l.list(len(e), func(b []byte, i int) []byte {
			if n, ok := of(&e[i]); ok {
				return strconv.AppendInt(b, n, 10)
			}
			return append(b, "NULL"...)
		})
	}
	perhaps(func(e *record.Event) (int64, bool) { return int64(e.At), e.Timed })
	number(func(e *record.Event) int64 { return int64(e.Unit) })
	number(func(e *record.Event) int64 { return int64(e.How) })
	number(func(e *record.Event) int64 { return int64(e.Clock) })
	number(func(e *record.Event) int64 { return int64(e.Kind) })
	number(func(e *record.Event) int64 { return int64(e.Code) })
	l.list(len(e), func(b []byte, i int) []byte {
		if e[i].Valued {
			return strconv.AppendFloat(b, e[i].Value, 'g', -1, 64)
		}
		return append(b, "NULL"...)
	})
	perhaps(func(e *record.Event) (int64, bool) { return int64(e.Group), e.Grouped })
}

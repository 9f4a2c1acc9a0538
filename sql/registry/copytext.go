package registry

import (
	"strconv"

	"chestrise/etl/record"
)

// line builds rows of PostgreSQL's COPY text format: columns parted by tabs,
// rows ended by newlines, null as \N. Rows are appended to one buffer; a value
// a row boxed into an interface would cost more than all other work of a load.
type line struct {
	buf   []byte
	rows  int64
	fresh bool // no column of the current row has been written
}

func (l *line) reset() { l.buf, l.rows, l.fresh = l.buf[:0], 0, true }

func (l *line) sep() {
	if !l.fresh {
		l.buf = append(l.buf, '\t')
	}
	l.fresh = false
}

func (l *line) end() {
	l.buf = append(l.buf, '\n')
	l.rows++
	l.fresh = true
}

func (l *line) null() {
	l.sep()
	l.buf = append(l.buf, '\\', 'N')
}

func (l *line) int(n int64) {
	l.sep()
	l.buf = strconv.AppendInt(l.buf, n, 10)
}

func (l *line) number(f float64) {
	l.sep()
	l.buf = strconv.AppendFloat(l.buf, f, 'f', -1, 64)
}

func (l *line) bool(b bool) {
	l.sep()
	if b {
		l.buf = append(l.buf, 't')
	} else {
		l.buf = append(l.buf, 'f')
	}
}

func (l *line) text(s string) {
	l.sep()
	for i := 0; i < len(s); i++ {
		switch c := s[i]; c {
		case '\\':
			l.buf = append(l.buf, '\\', '\\')
		case '\t':
			l.buf = append(l.buf, '\\', 't')
		case '\n':
			l.buf = append(l.buf, '\\', 'n')
		case '\r':
			l.buf = append(l.buf, '\\', 'r')
		default:
			l.buf = append(l.buf, c)
		}
	}
}

func (l *line) uuid(id [16]byte) {
	l.sep()
	l.buf = appendUUID(l.buf, id)
}

func (l *line) month(m record.Month) {
	l.sep()
	l.buf = appendMonth(l.buf, m)
}

// list writes an array of n elements; put appends one of them. Elements must
// not need quoting: numbers, NULL and words of the dictionary.
func (l *line) list(n int, put func(b []byte, i int) []byte) {
	l.sep()
	l.buf = append(l.buf, '{')
	for i := range n {
		if i > 0 {
			l.buf = append(l.buf, ',')
		}
		l.buf = put(l.buf, i)
	}
	l.buf = append(l.buf, '}')
}

func appendUUID(b []byte, id [16]byte) []byte {
	const digits = "0123456789abcdef"
	for _, c := range id {
		b = append(b, digits[c>>4], digits[c&15])
	}
	return b
}

// appendMonth writes the first day of a month.
func appendMonth(b []byte, m record.Month) []byte {
	y, n := m.Year(), m.Number()
	b = append(b, byte('0'+y/1000%10), byte('0'+y/100%10), byte('0'+y/10%10), byte('0'+y%10), '-')
	return append(b, byte('0'+n/10), byte('0'+n%10), '-', '0', '1')
}

// split undoes a row of the format: its columns as text, nil where null. It
// serves the driver's slow way of copying.
func split(row []byte) []any {
	var out []any
	cell := []byte{}
	null := false
	flush := func() {
		if null {
			out = append(out, nil)
		} else {
			out = append(out, string(cell))
		}
		cell, null = cell[:0], false
	}
	for i := 0; i < len(row); i++ {
		c := row[i]
		switch {
		case c == '\t':
			flush()
		case c == '\\' && i+1 < len(row):
			i++
			switch row[i] {
			case 'N':
				null = true
			case 't':
				cell = append(cell, '\t')
			case 'n':
				cell = append(cell, '\n')
			case 'r':
				cell = append(cell, '\r')
			default:
				cell = append(cell, row[i])
			}
		default:
			cell = append(cell, c)
		}
	}
	flush()
	return out
}

package source

import (
	"bufio"
	"bytes"
	"errors"
	"io"
	"unicode/utf8"

	"chestrise/etl/rule"
)

// longestLine bounds the memory that one line can take. A row of the contract
// has some 700 bytes.
const longestLine = 1<<16 - 1

// lines reads a CSV text line by line. A cell never holds a line break in the
// contract, so a quote that does not close spoils its own row and no other, and
// memory does not depend on the file. Blank lines are no rows.
type lines struct {
	in     *bufio.Reader
	line   int    // number of the line read last, from 1
	start  int64  // its byte offset
	end    int64  // byte offset behind it
	text   []byte // the line, as far as it was kept
	cells  [][]byte
	onlyCR bool // a carriage return was met inside a line
}

func newLines(r io.Reader) *lines {
	return &lines{in: bufio.NewReaderSize(r, longestLine+1)}
}

var errNUL = errors.New("NUL byte")

// next reads a line that is not blank and cuts it into cells, which are valid
// until the next call. A fault names the rule by which the row is unusable; an
// error ends the file: io.EOF, errNUL, or that of the reader below.
func (l *lines) next() (cells [][]byte, fault string, err error) {
	for {
		text, tooLong, err := l.read()
		if err != nil {
			return nil, "", err
		}
		if bytes.IndexByte(text, 0) >= 0 {
			return nil, "", errNUL
		}
		l.text = text
		if tooLong {
			return nil, rule.RowEncoding, nil
		}
		if len(text) == 0 {
			continue
		}
		if !utf8.Valid(text) {
			return nil, rule.RowEncoding, nil
		}
		var ok bool
		if l.cells, ok = cut(text, l.cells[:0]); !ok {
			return nil, rule.RowShape, nil
		}
		return l.cells, "", nil
	}
}

// read returns the next line without its end.
func (l *lines) read() (text []byte, tooLong bool, err error) {
	l.start = l.end
	text, err = l.in.ReadSlice('\n')
	l.end += int64(len(text))
	var head []byte
	for errors.Is(err, bufio.ErrBufferFull) {
		if !tooLong {
			head = bytes.Clone(text[:1024])
		}
		tooLong = true
		if bytes.IndexByte(text, 0) >= 0 {
			l.line++
			return nil, true, errNUL
		}
		text, err = l.in.ReadSlice('\n')
		l.end += int64(len(text))
	}
	if err != nil && (!errors.Is(err, io.EOF) || len(text) == 0 && !tooLong) {
		return nil, false, err
	}
	l.line++
	text = bytes.TrimSuffix(text, []byte{'\n'})
	text = bytes.TrimSuffix(text, []byte{'\r'})
	if bytes.IndexByte(text, '\r') >= 0 {
		l.onlyCR = true
	}
	if tooLong {
		return head, true, nil
	}
	return text, false, nil
}

// cut cuts a line into cells by commas; a cell may stand in double quotes, a
// quote inside is doubled. It changes text in place. It fails where a quote
// stands in a bare cell, does not close, or is followed by more text.
func cut(text []byte, cells [][]byte) ([][]byte, bool) {
	for {
		if len(text) > 0 && text[0] == '"' {
			cell, rest, ok := quoted(text[1:])
			if !ok {
				return cells, false
			}
			cells = append(cells, cell)
			if rest == nil {
				return cells, true
			}
			text = rest
			continue
		}
		i := bytes.IndexByte(text, ',')
		cell := text
		if i >= 0 {
			cell = text[:i]
		}
		if bytes.IndexByte(cell, '"') >= 0 {
			return cells, false
		}
		cells = append(cells, cell)
		if i < 0 {
			return cells, true
		}
		text = text[i+1:]
	}
}

// quoted reads a cell whose opening quote is gone; rest is nil at the end of
// the line, else what follows the comma.
func quoted(text []byte) (cell, rest []byte, ok bool) {
	out := 0
	for i := 0; i < len(text); i++ {
		if text[i] != '"' {
			text[out] = text[i]
			out++
			continue
		}
		switch {
		case i+1 == len(text):
			return text[:out], nil, true
		case text[i+1] == '"':
			text[out] = '"'
			out++
			i++
		case text[i+1] == ',':
			return text[:out], text[i+2:], true
		default:
			return nil, nil, false
		}
	}
	return nil, nil, false
}

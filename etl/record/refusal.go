package record

import (
	"errors"
	"strconv"
)

// Errors by which the registry answers a delivery. Callers branch on them.
var (
	// ErrAlreadyLoaded: the same manifest was loaded before; nothing to do.
	ErrAlreadyLoaded = errors.New("delivery is already loaded")
	// ErrSequenceReused: another delivery of the source has this sequence.
	ErrSequenceReused = errors.New("sequence was used by a delivery with other content")
	// ErrLocked: another run holds the run lock.
	ErrLocked = errors.New("another run holds the lock")
	// ErrSuperseded: this run was declared over, its writes are fenced off.
	ErrSuperseded = errors.New("this run has been superseded")
	// ErrSchemaBehind: the database has not been migrated to this program.
	ErrSchemaBehind = errors.New("the registry's schema is behind this program")
	// ErrNoSuchKey: the registry has no newborn of this key.
	ErrNoSuchKey = errors.New("no newborn of this key")
)

// Refusal says why a whole delivery was refused. It never holds content.
type Refusal struct {
	Rule     string
	File     string // empty: the delivery as a whole
	Line     int
	Column   int
	Message  string
	Hint     string
	Others   []Problem // what else is wrong, where more than one thing is
	Held     []HeldRow // rows found before the refusal, the first 1,000
	Delivery Delivery  // as far as the manifest could be read
}

// Error prints file:line:column, the rule and the message.
func (r *Refusal) Error() string { return place(r.File, r.Line, r.Column) + r.Rule + ": " + r.Message }

// Problems lists everything that is wrong, the refusal's own first.
func (r *Refusal) Problems() []Problem {
	own := Problem{Rule: r.Rule, File: r.File, Line: r.Line, Column: r.Column, Message: r.Message, Hint: r.Hint}
	return append([]Problem{own}, r.Others...)
}

// Problem is one thing wrong with a file, and where. It never holds content.
type Problem struct {
	Rule    string
	File    string // empty: the delivery as a whole
	Line    int    // 0: the file as a whole
	Column  int    // 0: the line as a whole
	Message string
	Hint    string // what to do about it; empty: nothing helpful to say
}

// Error prints file:line:column, the rule and the message.
func (p Problem) Error() string { return place(p.File, p.Line, p.Column) + p.Rule + ": " + p.Message }

func place(file string, line, column int) string {
	switch {
	case file == "":
		return ""
	case line == 0:
		return file + ": "
	case column == 0:
		return file + ":" + strconv.Itoa(line) + ": "
	}
	return file + ":" + strconv.Itoa(line) + ":" + strconv.Itoa(column) + ": "
}

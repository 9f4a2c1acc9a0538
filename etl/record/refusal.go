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
	// ErrNoSuchKey: the registry has no newborn of this key.
	ErrNoSuchKey = errors.New("no newborn of this key")
	// ErrSchemaBehind: the database has not been migrated to this program.
	ErrSchemaBehind = errors.New("the registry's schema is behind this program")
)

// Refusal says why a whole delivery was refused. It never holds content.
type Refusal struct {
	Rule     string
	File     string // empty: the delivery as a whole
	Line     int
	Column   int
	Message  string
	Hint     string
	Held     []HeldRow // rows found before the refusal
	Delivery Delivery  // as far as the manifest could be read
}

// Error prints file:line:column, the rule and the message.
func (r *Refusal) Error() string { return place(r.File, r.Line, r.Column) + r.Rule + ": " + r.Message }

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

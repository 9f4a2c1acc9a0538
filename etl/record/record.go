// Package record holds what every stage agrees on: the document (one newborn
// and all its events), the enumerations, and the data dictionary that says of
// every field what it may hold and what it means. It is a leaf: types and
// tables only, no input, no output, no derivation.
package record

import (
	"errors"
	"fmt"
	"time"
)

// Key is a newborn's random key (UUID version 4), unique within its source.
type Key [16]byte

// String prints the key in the usual hyphenated form.
func (k Key) String() string {
	return fmt.Sprintf("%x-%x-%x-%x-%x", k[0:4], k[4:6], k[6:8], k[8:10], k[10:16])
}

// Month is a calendar month as year*12 + month-1, so that months can be
// subtracted. The zero Month is no month.
type Month int32

// MonthOf returns the Month of a year and a month number from 1 to 12.
func MonthOf(year, month int) Month { return Month(year*12 + month - 1) }

// ParseMonth reads "2026-03".
func ParseMonth(s string) (Month, error) {
	t, err := time.Parse("2006-01", s)
	if err != nil || len(s) != 7 {
		return 0, errors.New("month is not of the form YYYY-MM")
	}
	return MonthOf(t.Year(), int(t.Month())), nil
}

// Year returns the calendar year.
func (m Month) Year() int { return int(m) / 12 }

// Number returns the month of the year, 1 to 12.
func (m Month) Number() int { return int(m)%12 + 1 }

// String prints "2026-03".
func (m Month) String() string { return fmt.Sprintf("%04d-%02d", m.Year(), m.Number()) }

// Generation is the version of the registry's data: a gapless number taken by
// every transaction that changed something. Zero is the empty registry.
type Generation int64

// State says what is known of a value.
type State uint8

// The four states of a value. Blank is the zero value: not recorded.
const (
	Blank         State = iota // the source sent nothing
	Recorded                   // the value is usable
	NotApplicable              // the dictionary rules the question out
	SetAside                   // a value was sent, a rule found it unusable
)

// Value is one cell of a newborn or one fact. What it holds depends on the
// field's Type: Code for code lists (1-based) and yes/no (1 = yes, 2 = no),
// Set for joined codes (bit i-1 = code i), Number for numbers, ID for keys.
// Only a Recorded value holds anything.
type Value struct {
	State  State
	Code   uint8
	Set    uint16
	Number float64
	ID     Key
}

// Newborn is one row of newborns.csv, indexed by Field.
type Newborn [NumFields]Value

// Event is one row of events.csv.
type Event struct {
	At      int32 // seconds as typed; meaningful where Timed
	Timed   bool  // false: done, time not recorded
	Clock   Clock
	How     How
	Unit    uint8 // time unit in seconds: 1, 5, 10, 30, 60; 0 = not stated
	Kind    Kind
	Code    EventCode // 0: none
	Value   float64
	Valued  bool // Value is recorded
	Group   int32
	Grouped bool // Group is recorded
}

// Document is the unit of change: a newborn with all its events.
type Document struct {
	Key       Key
	Unit      string // unit code
	Month     Month
	Withdrawn bool // the source withdrew the newborn; nothing else is held then
	Newborn   Newborn
	Events    []Event  // in row order: time, then kind, untimed last
	Damaged   Sections // sections that lost an event row or a value: a blank in them is never "not done"
}

// Facts are what the measures read: derived from a document by the etl,
// indexed by Fact.
type Facts [NumFacts]Value

// Stamp identifies one version of a document for the digest-first load.
type Stamp struct {
	Key       Key
	Digest    [16]byte
	Withdrawn bool
}

// Fate is what became of a newborn row.
type Fate uint8

// The fates. Every row of a file has exactly one; Held and HeldWith are
// decided by the etl, the others by the registry.
const (
	Loaded     Fate = iota + 1 // first version of a document
	Revised                    // a new version of a known document
	Unchanged                  // the same content as before
	Withdrawn                  // the source withdrew the document
	Superseded                 // a later sequence of the same key is already here
	Duplicate                  // the same document twice in one delivery
	Held                       // kept out: identifier, bad key, bad unit or month
	HeldWith                   // an event row whose newborn is held
)

// Fates lists the fates in the order in which they are printed.
var Fates = []Fate{Loaded, Revised, Unchanged, Withdrawn, Superseded, Duplicate, Held, HeldWith}

// String returns the fate's name as printed in the ledger.
func (f Fate) String() string {
	names := [...]string{"", "loaded", "revised", "unchanged", "withdrawn", "superseded", "duplicate", "held", "held_with"}
	if int(f) < len(names) {
		return names[f]
	}
	return "unknown"
}

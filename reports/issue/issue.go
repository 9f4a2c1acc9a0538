// Package issue holds the types of the archive of issued reports. It is a
// leaf: types only.
package issue

import "chestrise/etl/record"

// Key names a report: one of a kind, for a unit and a period.
type Key struct {
	Kind   string // "dashboard"
	Unit   string
	Period string // "2026-03"
}

// State says how far an issue has come.
type State string

// The states. A planned issue that was never published is rendered again.
const (
	Planned   State = "planned"
	Published State = "published"
)

// Issue is one numbered, never rewritten edition of a report.
type Issue struct {
	Key        Key
	No         int
	Replaces   int // 0: the first
	State      State
	Model      [32]byte // digest of the document without its stamp
	Generation record.Generation
	Files      []File
}

// File is a file of an issue.
type File struct {
	Name   string
	SHA256 [32]byte
	Bytes  int64
}

// Cell is a figure as it was issued, to be compared with what it became.
type Cell struct {
	Measure   string
	Month     record.Month
	Met       int32
	Known     int32
	Eligible  int32
	Value     *float64
	Text      string // as printed
	BasisHash string
}

// Signal is a signal as it was issued.
type Signal struct {
	Measure   string
	Rule      string
	From, To  record.Month // of its first and last point
	Direction string       // as printed
}

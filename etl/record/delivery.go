package record

import "time"

// Delivery is what a manifest says of a delivery.
type Delivery struct {
	Source      string
	Units       []string
	From, To    Month // first and last month covered, both included
	Coverage    Coverage
	Mode        Mode
	Sequence    int64 // the source's own counter; grows
	ExtractedAt time.Time
	Privacy     Privacy
	Agreement   string // agreement id; required where Privacy is Limited
	Synthetic   bool   // invented records; printed on every page
	Files       []File
	Recording   []Recording
	Manifest    [32]byte // SHA-256 of the manifest file
}

// File is a file of a delivery as its manifest announces it.
type File struct {
	Name   string
	Rows   int64
	SHA256 [32]byte
}

// Recording declares that a unit changed how it writes things down. A change
// breaks the chart, because habits of typing alone move a measure.
type Recording struct {
	Unit     string
	From     Month
	How      How
	TimeUnit uint8 // seconds
	Form     string
	TempSite string
}

// Coverage says which births a source sends.
type Coverage uint8

// What the rows of a source are.
const (
	EveryBirth Coverage = iota + 1
	NewbornTeamAttended
	NewbornHelped
)

// Coverages are the words of Coverage in a manifest, in order.
var Coverages = []string{"every-birth", "newborn-team-attended", "newborn-helped"}

// String returns the word in the manifest.
func (c Coverage) String() string { return word(Coverages, int(c)) }

// Mode says whether a delivery holds what changed or everything.
type Mode uint8

// The modes. A complete delivery lists absent keys and withdraws nothing.
const (
	Changes Mode = iota + 1
	Complete
)

// Modes are the words of Mode in a manifest, in order.
var Modes = []string{"changes", "complete"}

// String returns the word in the manifest.
func (m Mode) String() string { return word(Modes, int(m)) }

// Privacy is the mode under which records may be sent.
type Privacy uint8

// The privacy modes.
const (
	Inside   Privacy = iota + 1 // inside the covered hospital: month and sequence
	Limited                     // under an agreement
	YearOnly                    // no months, no order
)

// Privacies are the words of Privacy in a manifest, in order.
var Privacies = []string{"inside", "limited", "year-only"}

// String returns the word in the manifest.
func (p Privacy) String() string { return word(Privacies, int(p)) }

// HeldRow is a row that was kept out, and why. It never holds content.
type HeldRow struct {
	File   string
	Line   int
	Column int // 0: the whole row
	Rule   string
	Field  string
	Key    *Key // where the key itself was readable
	With   bool // an event row held because its newborn is
	// Of a newborn row, where they could be read; else empty.
	Unit  string
	Month Month
}

// Unusable is a value set aside, and why. It never holds the value.
type Unusable struct {
	File   string
	Line   int
	Column int
	Rule   string
	Field  string
	Key    Key
}

// Tally counts one file's rows by fate. Read is the sum of ByFate, always.
type Tally struct {
	File     string
	SHA256   [32]byte
	Read     int64
	ByFate   [HeldWith + 1]int64
	SetAside map[string]int64 // values set aside, by rule; apart from the sum
}

// Sum adds up the fates.
func (t Tally) Sum() int64 {
	var n int64
	for _, f := range Fates {
		n += t.ByFate[f]
	}
	return n
}

// Births is one row of births.csv: births of a unit, month and completed week
// of gestation (0: not known).
type Births struct {
	Unit      string
	Month     Month
	Gestation int
	Births    int64
}

func word(words []string, i int) string {
	if i >= 1 && i <= len(words) {
		return words[i-1]
	}
	return ""
}

package synth

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"sort"
	"strconv"
	"time"

	"chestrise/etl/record"
	"chestrise/etl/rule"
	"chestrise/etl/source"
)

// rowsARule is how many newborns of the broken delivery break each rule.
const rowsARule = 3

// BrokenSource is the source of the broken delivery.
const BrokenSource = "broken-birth-record"

// sheet is a newborn on its way into the broken delivery: its row, and its
// event rows.
type sheet struct {
	row    []string
	events [][]string
}

func (s *sheet) set(column, value string) {
	s.row[slices.Index(source.NewbornColumns(record.Inside), column)] = value
}

// event adds an event row, given by what differs from an empty one; group
// keeps attributes with their event.
func (s *sheet) event(at, kind, code, value, group string) {
	s.events = append(s.events, []string{s.row[0], s.row[1], at, "birth", "live", "1", kind, code, value, group})
}

// breaks says how to break each rule that a row can break in a delivery of the
// privacy mode "inside". n counts the newborns that break the same rule.
var breaks = map[string]func(s *sheet, n int){
	// Nobody can tell whose events those of an unreadable row or key are: these
	// have none.
	rule.RowShape:    func(s *sheet, _ int) { s.row, s.events = append(s.row, "one cell too many"), nil },
	rule.RowEncoding: func(s *sheet, _ int) { s.set("sex", "fem\xffle"); s.events = nil },
	rule.Identifier: func(s *sheet, n int) {
		s.set("presentation", []string{"a.person@example.org", "555-010-0199", "2026-03-14"}[n])
	},
	rule.IdentifierInEvents: func(s *sheet, _ int) { s.event("70", "operator", "a.person@example.org", "", "90") },
	rule.KeyShape: func(s *sheet, n int) {
		s.row[1], s.events = []string{"17", "not-a-key", "00000000-0000-1000-8000-000000000001"}[n], nil
	},
	rule.StatusUnknown:      func(s *sheet, _ int) { s.set("record_status", "maybe") },
	rule.UnitUnknown:        func(s *sheet, _ int) { s.row[0], s.events = "zz-nowhere", nil },
	rule.MonthShape:         func(s *sheet, n int) { s.set("month", []string{"2026-13", "26-13", "first"}[n]) },
	rule.MonthOutsidePeriod: func(s *sheet, _ int) { s.set("month", "1999-01") },
	rule.MonthInFuture:      func(s *sheet, _ int) { s.set("month", "2026-12") },
	rule.EventKind:          func(s *sheet, _ int) { s.event("70", "applause", "", "", "") },

	rule.CodeUnknown:           func(s *sheet, _ int) { s.set("mode_of_birth", "by-helicopter") },
	rule.NotNumber:             func(s *sheet, _ int) { s.set("birth_weight_g", "heavy") },
	rule.NotWhole:              func(s *sheet, _ int) { s.set("birth_weight_g", "2500.5") },
	rule.OutOfRange:            func(s *sheet, _ int) { s.set("birth_weight_g", "90") },
	rule.KeyValueShape:         func(s *sheet, _ int) { s.set("birth_set", "twins") },
	rule.NoneWithOthers:        func(s *sheet, _ int) { s.set("major_anomaly", "none+heart") },
	rule.TemperatureFahrenheit: func(s *sheet, _ int) { s.set("admission_temp_cel", "98.1") },
	rule.OxygenFraction:        func(s *sheet, _ int) { s.event("70", "oxygen", "set", "0.3", "") },
	rule.NotApplicable:         func(s *sheet, _ int) { s.set("air_leak", "no"); s.set("air_leak_min", "30") },
	rule.BirthSequenceRepeated: func(s *sheet, _ int) { s.set("month", "2026-05"); s.set("birth_sequence", "9001") },
	rule.BornHereOutside:       func(s *sheet, _ int) { s.set("place", "outside"); s.set("born_here", "yes") },
	rule.DiedThenAdmitted: func(s *sheet, _ int) {
		s.set("care_ended", "died")
		s.set("died_place", "birth")
		s.set("admitted", "yes")
	},
	rule.CordHelpWithSetup: func(s *sheet, _ int) {
		s.set("cord_exception", "help-needed-no-setup")
		s.set("cord_intact_setup", "used")
	},
	rule.EventCode:       func(s *sheet, _ int) { s.event("70", "breathing", "sighing", "", "") },
	rule.EventEmpty:      func(s *sheet, _ int) { s.event("70", "heart-rate", "", "", "") },
	rule.EventNoValue:    func(s *sheet, _ int) { s.event("70", "breathing", "none", "4", "") },
	rule.TimeBeforeBirth: func(s *sheet, _ int) { s.event("-30", "breathing", "none", "", "") },
	rule.EndBeforeBegin: func(s *sheet, _ int) {
		s.event("300", "support-begun", "cpap", "", "91")
		s.event("200", "support-ended", "cpap", "", "91")
	},
	rule.PressureOrder: func(s *sheet, _ int) {
		s.event("70", "support-begun", "ppv", "", "92")
		s.event("70", "pip", "", "5", "92")
		s.event("70", "peep", "", "6", "92")
	},
	rule.CPAPSelfInflating: func(s *sheet, _ int) {
		s.event("70", "support-begun", "cpap", "", "93")
		s.event("70", "device", "self-inflating", "", "93")
	},
	rule.OutcomeContradiction: func(s *sheet, _ int) {
		s.event("70", "airway-attempt-begun", "tube", "", "94")
		s.event("90", "outcome", "placed", "", "94")
		s.event("90", "outcome", "failed", "", "94")
	},
	rule.DoseImplausible: func(s *sheet, _ int) { s.event("200", "dose", "epinephrine-iv", "2", "") },
}

func (s *sheet) reunit(unit string) {
	s.row[0] = unit
	for _, e := range s.events {
		e[0] = unit
	}
}

// BrokenRules lists the rules that the broken delivery breaks, sorted.
func BrokenRules() []string {
	ids := []string{rule.KeyRepeated, rule.EventWithoutNewborn}
	for id := range breaks {
		ids = append(ids, id)
	}
	sort.Strings(ids)
	return ids
}

// WriteBroken writes a delivery in which three newborns break each rule that a
// row can break, among enough healthy ones that the delivery is not refused.
func (g *Generator) WriteBroken(dir string) error {
	unit := g.scenario.Units[0].Code
	var all []sheet
	for m := g.from; len(all) < 900 && m <= g.to; m++ {
		for _, b := range g.Month(unit, m, 0) {
			if len(b.Document.Events) > 4 {
				continue // newborns of whom little was written down: what breaks is what is added
			}
			s := sheet{row: newbornRow(&b.Document)}
			for _, e := range b.Document.Events {
				s.events = append(s.events, eventRow(&b.Document, e))
			}
			s.reunit("broken")
			all = append(all, s)
		}
	}
	next := 0
	take := func() *sheet { next += 2; return &all[next-2] }
	var more []sheet
	for _, id := range BrokenRules() {
		for n := range rowsARule {
			s := take()
			switch id {
			case rule.KeyRepeated:
				twin := sheet{row: slices.Clone(s.row)}
				twin.set("birth_weight_g", strconv.Itoa(3000+n))
				s.set("birth_weight_g", "2999")
				s.events = nil
				more = append(more, twin)
			case rule.EventWithoutNewborn:
				orphan := sheet{row: nil}
				orphan.events = [][]string{{"broken", g.dice("broken", 0, n).key().String(), "40", "birth", "live", "1", "breathing", "crying", "", ""}}
				more = append(more, orphan)
			default:
				breaks[id](s, n)
			}
		}
	}
	return writeSheets(dir, append(all, more...))
}

// writeSheets writes newborns.csv, events.csv and the manifest. The folder
// appears whole or not at all.
func writeSheets(final string, all []sheet) error {
	dir := final + ".part"
	if err := errors.Join(os.RemoveAll(dir), os.MkdirAll(dir, 0o750)); err != nil {
		return err
	}
	var rows, events [][]string
	for _, s := range all {
		if s.row != nil {
			rows = append(rows, s.row)
		}
		events = append(events, s.events...)
	}
	byKey := func(x [][]string) func(i, j int) bool {
		return func(i, j int) bool {
			if x[i][0] != x[j][0] {
				return x[i][0] < x[j][0]
			}
			return x[i][1] < x[j][1]
		}
	}
	sort.SliceStable(rows, byKey(rows))
	sort.SliceStable(events, func(i, j int) bool {
		a, b := events[i], events[j]
		if a[0] != b[0] || a[1] != b[1] {
			return byKey(events)(i, j)
		}
		return secondsOf(a[2]) < secondsOf(b[2])
	})
	write := func(name string, header []string, content [][]string) (record.File, error) {
		f, err := writeCSV(filepath.Join(dir, name), header, func(put func([]string) error) error {
			for _, r := range content {
				if err := put(r); err != nil {
					return err
				}
			}
			return nil
		})
		f.Rows = int64(len(content))
		return f, err
	}
	newborns, err := write(source.NewbornsName, source.NewbornColumns(record.Inside), rows)
	if err != nil {
		return err
	}
	timed, err := write(source.EventsName, source.EventColumns(), events)
	if err != nil {
		return err
	}
	err = writeManifest(dir, record.Delivery{
		Source: BrokenSource, Units: []string{"broken"}, From: record.MonthOf(2022, 11), To: record.MonthOf(2026, 12),
		Coverage: record.EveryBirth, Mode: record.Changes, Sequence: 1, ExtractedAt: time.Date(2026, 11, 9, 1, 30, 0, 0, time.UTC),
		Privacy: record.Inside, Synthetic: true, Files: []record.File{newborns, timed},
	})
	if err != nil {
		return err
	}
	if err := os.RemoveAll(final); err != nil {
		return err
	}
	return os.Rename(dir, final)
}

// secondsOf orders event rows as the contract does: by time, blank last.
func secondsOf(cell string) int {
	if cell == "" {
		return 1 << 30
	}
	n := 0
	if _, err := fmt.Sscan(cell, &n); err != nil {
		return 1 << 30
	}
	return n
}

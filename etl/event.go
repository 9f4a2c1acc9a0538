package etl

import (
	"slices"

	"chestrise/etl/record"
	"chestrise/etl/rule"
	"chestrise/etl/source"
)

// An event lies at most an hour before and a day after birth.
const (
	earliestEvent = -3600
	latestEvent   = 86400
)

// eventRow is a parsed row of events.csv.
type eventRow struct {
	line     int
	event    record.Event
	unusable []fault
	held     *fault
	dropped  bool // the event was set aside whole: without its code it says nothing
	again    bool // the same row a second time
}

func (e *eventRow) setAside(id string, column int, columns []string) {
	e.unusable = append(e.unusable, fault{id, column, columns[column]})
}

// section is the section that suffers from what was set aside.
func (e *eventRow) section() record.Section { return record.Events[e.event.Kind].Section }

// event parses a row whose unit and key are known to be good.
func (r *reader) event(row *source.Row, into *eventRow) {
	*into = eventRow{line: row.Line, unusable: into.unusable[:0]}
	e := &into.event
	cell := func(column int) []byte { return row.Cells[column] }
	// broken sets a value aside; an identifier holds the row instead.
	broken := func(id string, column int) {
		if looksLikeIdentifier(cell(column)) {
			into.held = &fault{rule.Identifier, column, r.eventColumns[column]}
			return
		}
		into.setAside(id, column, r.eventColumns)
	}
	if e.Kind = record.KindOf(string(cell(source.EventKind))); e.Kind == 0 {
		into.held = &fault{rule.EventKind, source.EventKind, r.eventColumns[source.EventKind]}
		for column := source.EventAt; column <= source.EventGroup; column++ {
			if looksLikeIdentifier(cell(column)) {
				into.held = &fault{rule.Identifier, column, r.eventColumns[column]}
			}
		}
		return
	}
	if c := cell(source.EventAt); len(c) > 0 {
		at, id := parseNumber(c, true, earliestEvent, latestEvent)
		if id != "" {
			broken(id, source.EventAt)
		} else {
			e.At, e.Timed = int32(at), true
		}
	}
	if c := cell(source.EventClock); len(c) > 0 {
		code, id := parseCode(record.Clocks[:], c)
		if id != "" {
			broken(id, source.EventClock)
		} else {
			e.Clock = record.Clock(code - 1)
		}
	}
	if c := cell(source.EventHow); len(c) > 0 {
		code, id := parseCode(record.Hows[1:], c)
		if id != "" {
			broken(id, source.EventHow)
		}
		e.How = record.How(code)
	}
	if c := cell(source.EventTimeUnit); len(c) > 0 {
		s, id := parseNumber(c, true, 1, 60)
		if id == "" && !slices.Contains(record.TimeUnits, uint8(s)) {
			id = rule.OutOfRange
		}
		if id != "" {
			broken(id, source.EventTimeUnit)
		} else {
			e.Unit = uint8(s)
		}
	}
	if c := cell(source.EventGroup); len(c) > 0 {
		g, id := parseNumber(c, true, 0, 9999)
		if id != "" {
			broken(id, source.EventGroup)
		} else {
			e.Group, e.Grouped = int32(g), true
		}
	}
	r.meaning(row, into, broken)
}

// meaning parses the code and the value by the dictionary of the kind.
func (r *reader) meaning(row *source.Row, into *eventRow, broken func(string, int)) {
	e := &into.event
	spec := &record.Events[e.Kind]
	code, value := row.Cells[source.EventCode], row.Cells[source.EventValue]
	switch {
	case len(code) > 0:
		c, id := parseCode(spec.Codes, code)
		if id != "" {
			broken(rule.EventCode, source.EventCode)
			into.dropped = !spec.Optional || len(value) == 0
		}
		e.Code = record.EventCode(c)
	case len(spec.Codes) > 0 && !spec.Optional:
		broken(rule.EventCode, source.EventCode)
		into.dropped = true
	case spec.Value && len(value) == 0:
		broken(rule.EventEmpty, source.EventValue)
		into.dropped = true
	}
	if len(value) == 0 {
		return
	}
	if into.dropped { // only what must not be there matters
		if looksLikeIdentifier(value) {
			broken(rule.Identifier, source.EventValue)
		}
		return
	}
	if !spec.Value || !takesValue(e) {
		broken(rule.EventNoValue, source.EventValue)
		return
	}
	x, id := parseNumber(value, spec.Whole, spec.Min, spec.Max)
	if (id == rule.OutOfRange || id == rule.NotWhole) && e.Kind == record.Oxygen {
		if y, bad := parseNumber(value, false, 0, 1); bad == "" && y > 0 {
			id = rule.OxygenFraction
		}
	}
	if id != "" {
		broken(id, source.EventValue)
		if e.Code == 0 {
			into.dropped = true // nothing is left of it
		}
		return
	}
	e.Value, e.Valued = x, true
}

// takesValue says whether an event with its code can have a value: a band, or
// a sensor without a reading, has none.
func takesValue(e *record.Event) bool {
	if e.Kind == record.HeartRate {
		return e.Code < record.HRAbsent
	}
	if e.Kind == record.Saturation {
		return e.Code != record.SaturationNoReading
	}
	return e.Kind != record.CorrectiveStep || e.Code == record.StepPressure
}

package etl

import (
	"cmp"
	"slices"

	"chestrise/etl/record"
	"chestrise/etl/rule"
	"chestrise/etl/source"
)

// outcome is what became of a family: a document to load, or none, and what
// was kept out.
type outcome struct {
	loads      bool
	document   record.Document
	events     int // event rows that go with the document
	duplicates int // newborn rows
	again      int // event rows
	held       []record.HeldRow
	unusable   []record.Unusable
}

// transform turns a family into a document, by scope: what spoils the document
// holds its rows, what spoils a value sets the value aside.
func (x *extractor) transform(f *family, o *outcome) {
	o.loads, o.events, o.duplicates, o.again = false, 0, 0, 0
	o.held = append(o.held[:0], f.held...)
	o.unusable = o.unusable[:0]
	if len(f.newborns) == 0 {
		return
	}
	first := &f.newborns[0]
	if x.holdNewborn(f, o) {
		return
	}
	o.loads = true
	o.duplicates = len(f.newborns) - 1
	d := &o.document
	*d = record.Document{Key: first.key, Unit: first.unit, Month: first.month, Withdrawn: first.withdrawn, Events: d.Events[:0]}
	if first.withdrawn {
		o.events = len(f.events) + len(f.beyond)
		return
	}
	x.contradictions(first)
	d.Newborn = first.values
	d.Damaged = first.sections()
	x.eventContradictions(f.events, first)
	x.gatherEvents(f, o)
	if f.damaged {
		d.Damaged = record.AllSections
	}
	for _, u := range first.unusable {
		o.unusable = append(o.unusable, record.Unusable{File: x.newbornRows.name, Line: first.line, Column: x.newbornRows.rows.Column(u.column), Rule: u.rule, Field: u.field, Key: first.key})
	}
}

// holdNewborn decides whether the newborn is held, and if so holds all rows of
// the family.
func (x *extractor) holdNewborn(f *family, o *outcome) bool {
	first := &f.newborns[0]
	why := ""
	switch {
	case x.survey.KeyRepeated(first.key):
		why = rule.KeyRepeated
	case len(f.beyond) > 0 && !first.withdrawn:
		why = rule.EventTooMany
	}
	for i := range f.newborns[1:] {
		if !first.same(&f.newborns[i+1]) {
			why = rule.KeyRepeated
		}
	}
	if why == "" && first.held == nil && !first.withdrawn && slices.ContainsFunc(f.events, func(e eventRow) bool { return e.held != nil && e.held.rule == rule.Identifier }) {
		why = rule.IdentifierInEvents
	}
	if why == "" && first.held == nil {
		return false
	}
	key := first.key
	start := len(o.held)
	for i := range f.newborns {
		row := &f.newborns[i]
		h := record.HeldRow{File: x.newbornRows.name, Line: row.line, Rule: why, Key: &key, Unit: row.unit, Month: row.month}
		if row.held != nil {
			h.Rule, h.Field, h.Column = row.held.rule, row.held.field, x.newbornRows.rows.Column(row.held.column)
		} else if why == "" {
			h.Rule = rule.KeyRepeated
		}
		o.held = append(o.held, h)
	}
	with := record.HeldRow{File: x.eventRows.name, Rule: o.held[start].Rule, Key: &key, With: true}
	for i := range f.events {
		if e := &f.events[i]; e.held != nil {
			o.held = append(o.held, x.heldEvent(e, &key))
		} else {
			with.Line = e.line
			o.held = append(o.held, with)
		}
	}
	for _, with.Line = range f.beyond {
		o.held = append(o.held, with)
	}
	return true
}

func (x *extractor) heldEvent(e *eventRow, key *record.Key) record.HeldRow {
	return record.HeldRow{
		File: x.eventRows.name, Line: e.line, Column: x.eventRows.rows.Column(e.held.column),
		Rule: e.held.rule, Field: e.held.field, Key: key,
	}
}

// gatherEvents sorts the events into the document and marks the sections that
// lost something.
func (x *extractor) gatherEvents(f *family, o *outcome) {
	d := &o.document
	slices.SortStableFunc(f.events, func(a, b eventRow) int { return compareEvents(&a.event, &b.event) })
	for i := range f.events {
		e := &f.events[i]
		switch {
		case e.held != nil:
			key := d.Key
			o.held = append(o.held, x.heldEvent(e, &key))
			d.Damaged = record.AllSections // its kind is not known
			continue
		case e.again:
			o.again++
			continue
		}
		o.events++
		if len(e.unusable) > 0 {
			d.Damaged = d.Damaged.With(e.section())
		}
		for _, u := range e.unusable {
			o.unusable = append(o.unusable, record.Unusable{File: x.eventRows.name, Line: e.line, Column: x.eventRows.rows.Column(u.column), Rule: u.rule, Field: u.field, Key: d.Key})
		}
		if !e.dropped {
			d.Events = append(d.Events, e.event)
		}
	}
}

// compareEvents orders events by time, those without one last, then by kind in
// the order of the dictionary, so that an event comes before its attributes.
func compareEvents(a, b *record.Event) int {
	switch {
	case a.Timed != b.Timed:
		if a.Timed {
			return -1
		}
		return 1
	case a.Timed && a.At != b.At:
		return cmp.Compare(a.At, b.At)
	}
	return cmp.Compare(a.Kind, b.Kind)
}

// eventContradictions applies the rules that compare the events of a newborn.
func (x *extractor) eventContradictions(events []eventRow, newborn *newbornRow) {
	columns := x.eventColumns
	before := newborn.code(record.BegunBeforeBirth) == record.Yes
	repetitions(events)
	for i := range events {
		e := &events[i]
		if e.held != nil || e.dropped || e.again {
			continue
		}
		if e.event.Timed && e.event.At < 0 && !before {
			e.event.Timed, e.event.At = false, 0
			e.setAside(rule.TimeBeforeBirth, source.EventAt, columns)
		}
		if ten := tenfold(&e.event); ten > 0 && e.event.Valued && e.event.Value >= ten {
			e.event.Valued, e.event.Value = false, 0
			e.setAside(rule.DoseImplausible, source.EventValue, columns)
		}
	}
	for i := range events {
		e := &events[i]
		if e.held != nil || e.dropped || e.again {
			continue
		}
		if begun, ends := begunBy[e.event.Kind]; ends {
			endsTooEarly(events, e, begun, columns)
		}
		groupContradiction(events, e, columns)
	}
}

// repetitions marks timed rows that say the same as an earlier one. Two rows
// without a time may be two events.
func repetitions(events []eventRow) {
	for i := range events {
		e := &events[i]
		if e.held != nil || e.dropped || len(e.unusable) > 0 || !e.event.Timed {
			continue
		}
		for j := i - 1; j >= 0 && !e.again; j-- {
			o := &events[j]
			if o.held != nil || !o.event.Timed {
				continue
			}
			if o.event.At != e.event.At {
				break
			}
			e.again = !o.dropped && len(o.unusable) == 0 && o.event == e.event
		}
	}
}

// tenfold is ten times the usual lower dose of epinephrine, 0.01 mg/kg into a
// vein and 0.05 mg/kg into the trachea; 0 for other doses.
func tenfold(e *record.Event) float64 {
	switch {
	case e.Kind == record.Dose && e.Code == record.DoseEpinephrineIV:
		return 0.1
	case e.Kind == record.Dose && e.Code == record.DoseEpinephrineTracheal:
		return 0.5
	}
	return 0
}

// begunBy says which kind of event an end belongs to.
var begunBy = map[record.Kind]record.Kind{
	record.SupportEnded: record.SupportBegun, record.AirwayEnded: record.AirwayBegun, record.CompressionsEnded: record.CompressionsBegun,
}

// endsTooEarly takes the time off an end that, with all the room its and the
// begins' time units leave, lies before every begin it could belong to.
func endsTooEarly(events []eventRow, end *eventRow, begun record.Kind, columns []string) {
	if !end.event.Timed {
		return
	}
	found := false
	for i := range events {
		b := &events[i]
		if b.held != nil || b.dropped || b.event.Kind != begun || b.event.Code != end.event.Code ||
			b.event.Grouped != end.event.Grouped || b.event.Group != end.event.Group {
			continue
		}
		if !b.event.Timed || b.event.Clock != end.event.Clock || 2*b.event.At-room(&b.event) <= 2*end.event.At+room(&end.event) {
			return
		}
		found = true
	}
	if found {
		end.event.Timed, end.event.At = false, 0
		end.setAside(rule.EndBeforeBegin, source.EventAt, columns)
	}
}

// room is how far a recorded time may lie from the true one, in half seconds.
func room(e *record.Event) int32 {
	halves, minute := e.Precision()
	if minute {
		return 2 * 60
	}
	return halves
}

// groupContradiction looks for what cannot stand beside an attribute in its
// group.
func groupContradiction(events []eventRow, e *eventRow, columns []string) {
	if k := e.event.Kind; !e.event.Grouped || k != record.PIP && k != record.Device && k != record.Outcome {
		return
	}
	var other *eventRow
	cpap, ppv := false, false
	for i := range events {
		o := &events[i]
		if o.held != nil || o.dropped || o.again || !o.event.Grouped || o.event.Group != e.event.Group {
			continue
		}
		switch {
		case o.event.Kind == record.SupportBegun:
			cpap = cpap || o.event.Code == record.SupportCPAP
			ppv = ppv || o.event.Code == record.SupportPPV
		case e.event.Kind == record.PIP && o.event.Kind == record.PEEP && e.event.Timed == o.event.Timed && e.event.At == o.event.At && e.event.Clock == o.event.Clock &&
			e.event.Valued && o.event.Valued && e.event.Value <= o.event.Value:
			other = o
		case e.event.Kind == record.Outcome && o.event.Kind == record.Outcome &&
			e.event.Code == record.OutcomePlaced && o.event.Code == record.OutcomeFailed:
			other = o
		}
	}
	switch {
	case e.event.Kind == record.PIP && other != nil:
		for _, row := range []*eventRow{e, other} {
			row.dropped = true
			row.setAside(rule.PressureOrder, source.EventValue, columns)
		}
	case e.event.Kind == record.Outcome && other != nil:
		for _, row := range []*eventRow{e, other} {
			row.dropped = true
			row.setAside(rule.OutcomeContradiction, source.EventCode, columns)
		}
	case e.event.Kind == record.Device && e.event.Code == record.DeviceSelfInflating && cpap && !ppv:
		e.dropped = true
		e.setAside(rule.CPAPSelfInflating, source.EventCode, columns)
	}
}

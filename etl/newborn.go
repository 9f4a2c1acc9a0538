package etl

import (
	"regexp"
	"slices"
	"strconv"

	"chestrise/etl/record"
	"chestrise/etl/rule"
	"chestrise/etl/source"
)

// fault is a broken rule and where in the row it was broken.
type fault struct {
	rule   string
	column int // of the contract
	field  string
}

// newbornRow is a parsed row of newborns.csv.
type newbornRow struct {
	line      int
	unit      string
	key       record.Key
	month     record.Month
	withdrawn bool
	values    record.Newborn
	unusable  []fault
	held      *fault // the row cannot be taken
}

// same says whether two rows of one key say the same.
func (r *newbornRow) same(o *newbornRow) bool {
	return r.held == nil && o.held == nil && r.unit == o.unit && r.month == o.month &&
		r.withdrawn == o.withdrawn && r.values == o.values
}

// reader parses rows for one delivery.
type reader struct {
	delivery *record.Delivery
	survey   *source.Survey

	newbornColumns, eventColumns []string
}

// newborn parses a row whose unit and key are known to be good.
func (r *reader) newborn(row *source.Row, unit string, key record.Key, into *newbornRow) {
	*into = newbornRow{line: row.Line, unit: unit, key: key, unusable: into.unusable[:0]}
	hold := func(id string, column int) {
		if into.held == nil {
			into.held = &fault{id, column, r.newbornColumns[column]}
		}
	}
	switch status := string(row.Cells[source.NewbornStatus]); {
	case status == source.Withdrawn:
		into.withdrawn = true
	case status == source.Present:
	case looksLikeIdentifier(row.Cells[source.NewbornStatus]):
		hold(rule.Identifier, source.NewbornStatus)
	default:
		hold(rule.StatusUnknown, source.NewbornStatus)
	}
	month, broken := r.month(row.Cells[source.NewbornMonth])
	if broken != "" {
		hold(broken, source.NewbornMonth)
	}
	into.month = month
	if into.withdrawn {
		return // what else a withdrawn row says is not read
	}
	for f := range record.NumFields {
		column := source.NewbornFields + int(f)
		cell := row.Cells[column]
		v, broken := parseValue(&record.Fields[f], cell)
		into.values[f] = v
		if broken == "" {
			continue
		}
		if looksLikeIdentifier(cell) {
			hold(rule.Identifier, column)
			continue
		}
		into.unusable = append(into.unusable, fault{broken, column, record.Fields[f].Name})
	}
	if r.delivery.Privacy == record.YearOnly {
		for _, f := range []record.Field{record.BirthSequence, record.Shift} {
			if into.values[f].State == record.Recorded {
				hold(rule.PrivacyMode, source.NewbornFields+int(f))
			}
		}
	}
}

// monthLike is what the month column is for, also where there is no such month.
var monthLike = regexp.MustCompile(`^\d{4}-\d{2}$`)

// month reads a row's month and says by which rule it cannot be one.
func (r *reader) month(cell []byte) (record.Month, string) {
	m, err := source.ParseMonth(string(cell), r.delivery.Privacy)
	switch {
	case err != nil && looksLikeIdentifier(cell) && (r.delivery.Privacy == record.YearOnly || !monthLike.Match(cell)):
		return 0, rule.Identifier
	case err != nil:
		return 0, rule.MonthShape
	case m < r.delivery.From || m > r.delivery.To:
		return m, rule.MonthOutsidePeriod
	case m > record.MonthOf(r.delivery.ExtractedAt.Year(), int(r.delivery.ExtractedAt.Month())):
		return m, rule.MonthInFuture
	}
	return m, ""
}

// setAside blanks a value by a rule.
func (r *newbornRow) setAside(f record.Field, id string) {
	r.values[f] = record.Value{State: record.SetAside}
	r.unusable = append(r.unusable, fault{id, source.NewbornFields + int(f), record.Fields[f].Name})
}

func (r *newbornRow) code(f record.Field) uint8 {
	if v := r.values[f]; v.State == record.Recorded {
		return v.Code
	}
	return 0
}

// contradictions applies the rules that compare the values of one row. The
// value that cannot stand is set aside, never the newborn.
func (r *reader) contradictions(row *newbornRow) {
	if v := row.values[record.BirthSequence]; v.State == record.Recorded && r.survey.SequenceRepeated(row.unit, row.month, int(v.Number)) {
		row.setAside(record.BirthSequence, rule.BirthSequenceRepeated)
	}
	if r.delivery.Privacy == record.YearOnly && row.values[record.BirthSet].State == record.Recorded {
		row.setAside(record.BirthSet, rule.PrivacyBirthSet)
	}
	if row.code(record.Place) == record.PlaceOutside && row.code(record.BornHere) == record.Yes {
		row.setAside(record.BornHere, rule.BornHereOutside)
	}
	if row.code(record.DiedPlace) == record.DiedPlaceBirth && row.code(record.Admitted) == record.Yes {
		row.setAside(record.DiedPlace, rule.DiedThenAdmitted)
		row.setAside(record.Admitted, rule.DiedThenAdmitted)
	}
	if row.code(record.CordException) == record.CordExceptionHelpNeededNoSetup && row.code(record.CordIntactSetup) == record.CordIntactSetupUsed {
		row.setAside(record.CordException, rule.CordHelpWithSetup)
	}
	for _, q := range ruledOut {
		if !q.out(row) {
			continue
		}
		for _, f := range q.fields {
			switch row.values[f].State {
			case record.Recorded:
				row.setAside(f, rule.NotApplicable)
			case record.Blank:
				row.values[f].State = record.NotApplicable
			case record.SetAside, record.NotApplicable:
			}
		}
	}
}

// ruledOut are the questions that another answer rules out. A blank answer
// rules out nothing.
var ruledOut = []struct {
	fields []record.Field
	out    func(*newbornRow) bool
}{
	{[]record.Field{record.CareEndedMin}, func(r *newbornRow) bool { return r.code(record.CareEnded) == record.CareEndedStayed }},
	{[]record.Field{record.GestationD}, func(r *newbornRow) bool { return r.values[record.GestationWk].State == record.Blank }},
	{[]record.Field{record.PlanLimits}, func(r *newbornRow) bool { return r.code(record.PlanOfCare) == record.PlanOfCareFull }},
	{[]record.Field{record.ExceptionS}, func(r *newbornRow) bool { return r.values[record.ExceptionReason].State == record.Blank }},
	{[]record.Field{record.AdmittedDirect}, func(r *newbornRow) bool { return r.code(record.Admitted) == record.No }},
	{[]record.Field{record.AirLeakMin, record.AirLeakSymptomatic, record.AirLeakAfterSurgery}, func(r *newbornRow) bool { return r.code(record.AirLeak) == record.No }},
}

// sections are those in which a value was set aside: a blank in them is not
// known to mean "not done".
func (r *newbornRow) sections() record.Sections {
	var damaged record.Sections
	for _, u := range r.unusable {
		if s := record.Fields[u.column-source.NewbornFields].Section; s != record.NoSection {
			damaged = damaged.With(s)
		}
	}
	return damaged
}

func known(units []string, unit []byte) (string, bool) {
	i := slices.IndexFunc(units, func(u string) bool { return u == string(unit) })
	if i < 0 {
		return "", false
	}
	return units[i], true
}

// births parses a row of births.csv.
func (r *reader) births(row *source.Row) (record.Births, *fault) {
	columns := source.BirthsColumns(r.delivery.Privacy)
	broken := func(id string, column int) (record.Births, *fault) {
		if looksLikeIdentifier(row.Cells[column]) {
			id = rule.Identifier
		}
		return record.Births{}, &fault{id, column, columns[column]}
	}
	unit, ok := known(r.delivery.Units, row.Cells[source.BirthsUnit])
	if !ok {
		return broken(rule.UnitUnknown, source.BirthsUnit)
	}
	month, id := r.month(row.Cells[source.BirthsMonth])
	if id != "" {
		return broken(id, source.BirthsMonth)
	}
	b := record.Births{Unit: unit, Month: month}
	if cell := row.Cells[source.BirthsGestation]; len(cell) > 0 {
		spec := &record.Fields[record.GestationWk]
		wk, id := parseNumber(cell, true, spec.Min, spec.Max)
		if id != "" {
			return broken(rule.BirthsValue, source.BirthsGestation)
		}
		b.Gestation = int(wk)
	}
	n, err := strconv.ParseUint(string(row.Cells[source.BirthsCount]), 10, 20)
	if err != nil {
		return broken(rule.BirthsValue, source.BirthsCount)
	}
	b.Births = int64(n)
	return b, nil
}

package source

import (
	"bytes"
	"context"
	"errors"
	"io"
	"slices"
	"strconv"

	"chestrise/etl/record"
	"chestrise/etl/rule"
)

// Survey is what can only be seen across the rows of a delivery.
type Survey struct {
	repeatedKeys map[record.Key]bool
	repeatedSeqs map[numbered]bool
}

// numbered is a birth_sequence of a unit and month.
type numbered struct {
	unit   string
	month  record.Month
	number int
}

// KeyRepeated says whether a key stands under more than one unit.
func (s *Survey) KeyRepeated(k record.Key) bool { return s.repeatedKeys[k] }

// SequenceRepeated says whether a birth_sequence stands at more than one
// newborn of a unit and month.
func (s *Survey) SequenceRepeated(unit string, month record.Month, number int) bool {
	return s.repeatedSeqs[numbered{unit, month, number}]
}

// Survey reads all files once. Every problem that refuses a file comes back;
// the error is the context's.
func (d *Delivery) Survey(ctx context.Context) (*Survey, []record.Problem, error) {
	s := &Survey{repeatedKeys: map[record.Key]bool{}, repeatedSeqs: map[numbered]bool{}}
	if d.mapped != nil {
		problems, err := d.mapped.survey(ctx, d, s)
		return s, problems, err
	}
	mode := d.Manifest.Privacy
	var problems []record.Problem
	var segments []int64
	for _, name := range []string{NewbornsName, EventsName, BirthsName} {
		if _, ok := d.files[name]; !ok {
			continue
		}
		var columns []string
		var visit func(*Row, int64) *record.Problem
		switch name {
		case NewbornsName:
			columns = NewbornColumns(mode)
			n := &newbornSurvey{survey: s, units: d.Manifest.Units, mode: mode}
			visit = func(r *Row, at int64) *record.Problem {
				p := n.visit(r, at)
				segments = n.segments
				return p
			}
		case EventsName:
			columns = EventColumns()
			visit = (&eventSurvey{units: d.Manifest.Units}).visit
		default:
			columns = BirthsColumns(mode)
			visit = func(*Row, int64) *record.Problem { return nil }
		}
		found, err := d.scan(ctx, name, columns, nil, visit, nil)
		if err != nil {
			return nil, nil, err
		}
		problems = append(problems, found...)
	}
	if len(problems) == 0 && len(segments) > 1 {
		problem := d.acrossUnits(segments, s)
		if problem != nil {
			problems = append(problems, *problem)
		}
	}
	return s, problems, nil
}

// scan reads a file to its end, whatever is found on the way, so that its hash
// and its rows can be compared with the manifest. opened, where given, sees the
// table once its header has been read.
func (d *Delivery) scan(ctx context.Context, name string, columns, ignored []string, visit func(*Row, int64) *record.Problem, opened func(*table)) ([]record.Problem, error) {
	in, err := d.rewind(name)
	if err != nil {
		p, _ := errors.AsType[record.Problem](err)
		return []record.Problem{p}, nil
	}
	t, problems := newTable(name, in, columns, ignored)
	if problems == nil {
		if opened != nil {
			opened(t)
		}
		var rows int64
		for ordered := true; ; rows++ {
			row, err := t.Next()
			if errors.Is(err, io.EOF) {
				break
			}
			if p, ok := errors.AsType[record.Problem](err); ok {
				problems = append(problems, p)
				break
			}
			if rows%4096 == 0 && ctx.Err() != nil {
				return nil, ctx.Err()
			}
			if ordered {
				if p := visit(row, t.lines.start); p != nil {
					p.File = name
					problems = append(problems, *p)
					ordered = false
				}
			}
		}
		want, _ := d.announced(name)
		if broken := slices.ContainsFunc(problems, func(p record.Problem) bool { return p.Rule != rule.SortOrder }); !broken && rows != want.Rows {
			problems = append(problems, rowsProblem(name, rows, want.Rows))
		}
	}
	ok, err := in.matches()
	if err != nil {
		return append(problems, record.Problem{Rule: rule.FileUnreadable, File: name, Message: plain(err)}), nil
	}
	if !ok {
		problems = append(problems, hashProblem(name, [32]byte(in.sum.Sum(nil))))
	}
	return problems, nil
}

// place is the unit and key of a row; rows without a usable one take no part
// in the order.
type place struct {
	unit []byte
	key  record.Key
	any  bool
}

// step moves to a row's place and says how it compares with the one before:
// below zero where the order is broken. ok is false for rows without a place.
func (p *place) step(unit, key []byte, units []string) (order int, ok bool) {
	k, good := ParseKey(key)
	if !good || !slices.Contains(units, string(unit)) {
		return 0, false
	}
	order = 1
	if p.any {
		order = bytes.Compare(unit, p.unit)
		if order == 0 {
			order = bytes.Compare(k[:], p.key[:])
		}
	}
	p.unit, p.key, p.any = append(p.unit[:0], unit...), k, true
	return order, true
}

// newbornSurvey checks the order of the newborns and finds numbers given twice.
type newbornSurvey struct {
	survey   *Survey
	units    []string
	mode     record.Privacy
	place    place
	unit     string
	segments []int64 // where each unit's rows start
	numbers  map[record.Month]*[largestSequence/64 + 1]uint64
}

const largestSequence = 99999

func (n *newbornSurvey) visit(r *Row, at int64) *record.Problem {
	if r.Fault != "" {
		return nil
	}
	order, ok := n.place.step(r.Cells[NewbornUnit], r.Cells[NewbornKey], n.units)
	switch {
	case !ok || order == 0:
		return nil
	case order < 0:
		return outOfOrder(r.Line, "the row's unit and key come before those of an earlier row")
	case string(n.place.unit) != n.unit:
		n.unit = string(n.place.unit)
		n.segments = append(n.segments, at)
		n.numbers = map[record.Month]*[largestSequence/64 + 1]uint64{}
	}
	if string(r.Cells[NewbornStatus]) == Withdrawn {
		return nil // a withdrawn number is no birth
	}
	month, number, ok := n.number(r)
	if !ok {
		return nil // whether it may stay is not decided here
	}
	seen := n.numbers[month]
	if seen == nil {
		seen = new([largestSequence/64 + 1]uint64)
		n.numbers[month] = seen
	}
	bit := uint64(1) << (number % 64)
	if seen[number/64]&bit != 0 {
		n.survey.repeatedSeqs[numbered{n.unit, month, number}] = true
	}
	seen[number/64] |= bit
	return nil
}

// number reads the row's month and birth_sequence, where it has both.
func (n *newbornSurvey) number(r *Row) (month record.Month, number int, ok bool) {
	month, noMonth := ParseMonth(string(r.Cells[NewbornMonth]), n.mode)
	number, noNumber := strconv.Atoi(string(r.Cells[NewbornFields+int(record.BirthSequence)]))
	return month, number, noMonth == nil && noNumber == nil && number >= 1 && number <= largestSequence
}

// eventSurvey checks the order of the events.
type eventSurvey struct {
	units []string
	place place
	at    int
	blank bool // the newborn's last event has no time
	any   bool // the newborn has had an event whose time, or lack of one, is known
}

func (e *eventSurvey) visit(r *Row, _ int64) *record.Problem {
	if r.Fault != "" {
		return nil
	}
	order, ok := e.place.step(r.Cells[EventUnit], r.Cells[EventKey], e.units)
	switch {
	case !ok:
		return nil
	case order < 0:
		return outOfOrder(r.Line, "the row's unit and key come before those of an earlier row")
	case order > 0:
		e.any = false
	}
	cell := r.Cells[EventAt]
	at, notNumber := strconv.Atoi(string(cell))
	if notNumber != nil && len(cell) > 0 {
		return nil // the time will be set aside
	}
	blank := len(cell) == 0
	if e.any && (e.blank && !blank || !e.blank && !blank && at < e.at) {
		return outOfOrder(r.Line, "the event's time comes before that of an earlier event of the newborn")
	}
	e.at, e.blank, e.any = at, blank, true
	return nil
}

func outOfOrder(line int, message string) *record.Problem {
	return &record.Problem{
		Rule: rule.SortOrder, Line: line, Message: message,
		Hint: "sort newborns.csv by unit and key, events.csv by unit, key and at_s (blank last), by bytes",
	}
}

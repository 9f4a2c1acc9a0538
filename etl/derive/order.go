package derive

// Questions about the order of rows. Rows of one clock keep the order in which
// they were written down; across clocks nothing is known.

// ordered says whether a comes before b in this trial. Rows at the very same
// time and of different kinds come in either order; callers for which that
// matters ask strictlyBefore.
func (t *trial) ordered(a, b row) bool {
	if a.Timed && b.Timed && a.Clock == b.Clock {
		if a.At != b.At {
			return a.At < b.At
		}
		if a.Kind == b.Kind {
			return a.nth < b.nth
		}
	}
	return t.within(a.at, b.at, 0)
}

// notAfter says whether a is at the time of b or before it. Rows in the same
// minute are simultaneous.
func (t *trial) notAfter(a, b row) bool { return t.within(a.at, b.at, 0) }

// strictlyBefore says whether a comes before b, not at the same time. Whether a
// row in the same clock minute came before cannot be told: both are tried.
func (t *trial) strictlyBefore(a, b row) bool {
	if a.minute && b.minute && a.at == b.at && a.nth != b.nth {
		return t.cameFirst(a.nth, b.nth)
	}
	return t.less(a.at, b.at, 0)
}

// cameFirst tries both orders of two rows in the same minute, and stays with the
// answer for the rest of the trial.
func (t *trial) cameFirst(a, b int) bool {
	for _, p := range t.pairs {
		switch {
		case p.a == a && p.b == b:
			return p.first
		case p.a == b && p.b == a && p.first:
			return false
		}
	}
	first := t.either()
	t.pairs = append(t.pairs, pair{a, b, first})
	return first
}

// pair is an answer on two rows in the same minute.
type pair struct {
	a, b  int
	first bool
}

// earliest returns the first of the rows, or nil.
func earliest[R any](t *trial, rows []R, of func(R) row) *R {
	var first *R
	for i := range rows {
		if first == nil || !t.ordered(of(*first), of(rows[i])) {
			first = &rows[i]
		}
	}
	return first
}

// latest returns the last of the rows for which upTo holds, or nil. Rows are
// asked from the last one back, since one that is in leaves the earlier ones of
// its clock without a say.
func latest[R any](t *trial, rows []R, of func(R) row, upTo func(row) bool) *R {
	var last *R
	for i := len(rows) - 1; i >= 0; i-- {
		r := of(rows[i])
		if last != nil && t.ordered(r, of(*last)) {
			continue
		}
		if upTo(r) {
			last = &rows[i]
		}
	}
	return last
}

// sorted returns the rows in the order of this trial. The input is in row order,
// so that on one clock nothing moves.
func sorted[R any](t *trial, rows []R, of func(R) row) []R {
	out := append([]R(nil), rows...)
	for i := 1; i < len(out); i++ {
		for j := i; j > 0 && !t.ordered(of(out[j-1]), of(out[j])); j-- {
			out[j-1], out[j] = out[j], out[j-1]
		}
	}
	return out
}

// the row of a row, for the functions above.
func itself(r row) row   { return r }
func rateRow(r rate) row { return r.row }

// length is the span from a to b, b known to be no earlier than a. Two different
// rows in the same clock minute lie less than a minute apart.
func (t *trial) length(a, b row) span {
	if a.minute && b.minute && a.at == b.at && a.nth != b.nth {
		return span{some: true, up: lessThan(minuteHalves), down: atMost(0)}
	}
	return t.between(b.at, a.at).cutBelow(0)
}

// soon says whether the row lies within a limit of five minutes or more, for
// which any clock will do. A row without a time counts as given.
func (tl *timeline) soon(t *trial, r row, seconds int32) bool {
	return !r.Timed || t.within(r.at, tl.late(r), seconds)
}

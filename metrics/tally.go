package metrics

import (
	"slices"

	"chestrise/etl/record"
	"chestrise/metrics/cell"
	"chestrise/metrics/measure"
)

// tally is what a measure counted over one or more months and bands.
type tally struct {
	outside, eligibilityUnknown     int32
	excluded, exceptions            []int32
	unknown, undecided, notMet, met int32
	presumed                        int32
	births                          int32
	items                           []item  // value measures, in order of birth
	events                          []int32 // rare events: places among the births, from 1; 0: not known
}

// item is one newborn's value with its month.
type item struct {
	cell.Item
	month record.Month
}

// add takes in a cell of the next band of the same month.
func (t *tally) add(d measure.Definition, c cell.Cell) {
	t.outside += c.Outside
	t.eligibilityUnknown += c.EligibilityUnknown
	t.excluded = sum(t.excluded, c.Excluded)
	t.exceptions = sum(t.exceptions, c.Exceptions)
	t.unknown += c.Unknown
	t.undecided += c.Undecided
	t.notMet += c.NotMet
	t.met += c.Met
	t.presumed += c.Presumed
	t.births += c.Births
	for _, it := range c.Items {
		if d.Data == measure.RareEvent {
			t.events = append(t.events, it.Order)
		} else {
			t.items = append(t.items, item{Item: it, month: c.Month})
		}
	}
	slices.Sort(t.events)
	slices.SortStableFunc(t.items, func(a, b item) int {
		if a.month != b.month {
			return int(a.month - b.month)
		}
		return int(a.Order - b.Order)
	})
}

// join adds up tallies of successive months; places of events move on by the
// births before them.
func join(ts ...tally) tally {
	var out tally
	for _, t := range ts {
		out.outside += t.outside
		out.eligibilityUnknown += t.eligibilityUnknown
		out.excluded = sum(out.excluded, t.excluded)
		out.exceptions = sum(out.exceptions, t.exceptions)
		out.unknown += t.unknown
		out.undecided += t.undecided
		out.notMet += t.notMet
		out.met += t.met
		out.presumed += t.presumed
		for _, p := range t.events {
			if p > 0 {
				p += out.births
			}
			out.events = append(out.events, p)
		}
		out.births += t.births
		out.items = append(out.items, t.items...)
	}
	return out
}

func sum(a, b []int32) []int32 {
	out := make([]int32, max(len(a), len(b)))
	copy(out, a)
	for i, v := range b {
		out[i] += v
	}
	return out
}

func total(x []int32) int32 {
	var n int32
	for _, v := range x {
		n += v
	}
	return n
}

// all is every newborn that was looked at.
func (t tally) all() int32 {
	return t.outside + t.eligibilityUnknown + total(t.excluded) + total(t.exceptions) + t.eligible()
}

// eligible are the newborns that the measure asks about, answered or not.
func (t tally) eligible() int32 { return t.unknown + t.undecided + t.notMet + t.met }

func (t tally) known() int32 { return t.notMet + t.met }

// open are those who belong and whose answer could be either.
func (t tally) open() int32 { return t.unknown + t.undecided }

// bounds is the share had none, or all, of the newborns without an answer been met.
// Newborns of whom it cannot be told whether they belong are counted apart and not in
// here: most of them do not. Nil where there is nothing to bound.
func (t tally) bounds() *Bounds {
	n := t.known() + t.open()
	if t.open() == 0 || n == 0 {
		return nil
	}
	return &Bounds{Low: float64(t.met) / float64(n), High: float64(t.met+t.open()) / float64(n)}
}

// share turns a value measure's tally into one of newborns with a sign at or under
// the limit. Whoever met another end first is not met, whenever it came: no sign
// can follow. An interval with the limit inside is undecided.
func (t tally) share(d measure.Definition, limit float64) tally {
	out := t
	out.met, out.notMet = 0, 0
	for _, it := range t.items {
		switch {
		case !d.Sign(it.End) || it.Low > limit:
			out.notMet++
		case it.High <= limit:
			out.met++
		default:
			out.undecided++
		}
	}
	return out
}

// counted applies the measure's missing-data rule and its share, if it asks for one.
func (t tally) counted(d measure.Definition) tally {
	if d.Data == measure.Value && d.Chart.Within > 0 {
		t = t.share(d, d.Chart.Within)
	}
	if d.Missing.Rule == measure.CountNotMet {
		t.notMet += t.unknown
		t.unknown = 0
	}
	return t
}

// history is a measure's tallies by month.
type history map[record.Month]tally

func newHistory(d measure.Definition, cells []cell.Cell) history {
	h := history{}
	for _, c := range cells {
		t := h[c.Month]
		t.add(d, c)
		h[c.Month] = t
	}
	return h
}

// over joins the months that are there.
func (h history) over(ms []record.Month) tally {
	var ts []tally
	for _, m := range ms {
		if t, ok := h[m]; ok {
			ts = append(ts, t)
		}
	}
	return join(ts...)
}

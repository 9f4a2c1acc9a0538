package metrics

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"chestrise/etl/record"
	"chestrise/metrics/measure"
)

// calendar says of one unit which months are there, which have closed, and what
// its sources declared.
type calendar struct {
	unit       string
	first      record.Month // first month with a document; 0: none
	last       record.Month // last month with a document
	deliveries []record.Delivery
	closed     map[record.Month]bool
	recording  []record.Recording // declarations of this unit, by month
	settings   Settings
	documents  map[record.Month]int32
}

// newCalendar closes months by what the manifests say, never by the clock, so that
// an idle night changes nothing. A month has closed when every source that has ever
// sent this unit has covered it with a delivery extracted at least grace days after
// the month's end, and no fewer newborns are on record than births.csv expects.
//
// documents counts the newborns on record by month.
func newCalendar(unit string, deliveries []record.Delivery, births []record.Births, documents map[record.Month]int32, s Settings) calendar {
	c := calendar{unit: unit, first: 0, last: 0, deliveries: nil, closed: map[record.Month]bool{}, recording: nil, settings: s, documents: documents}
	for _, d := range deliveries {
		if slices.Contains(d.Units, unit) {
			c.deliveries = append(c.deliveries, d)
			for _, r := range d.Recording {
				if r.Unit == unit {
					c.recording = append(c.recording, r)
				}
			}
		}
	}
	slices.SortStableFunc(c.recording, func(a, b record.Recording) int { return int(a.From - b.From) })
	for m, n := range documents {
		if n == 0 {
			continue
		}
		if c.first == 0 || m < c.first {
			c.first = m
		}
		c.last = max(c.last, m)
	}
	expected := map[record.Month]int64{}
	for _, b := range births {
		if b.Unit == unit {
			expected[b.Month] += b.Births
		}
	}
	if c.first == 0 {
		return c
	}
	end := c.last
	for _, d := range c.deliveries {
		end = max(end, d.To)
	}
	for _, m := range months(c.first, end) {
		if len(c.missing(m)) == 0 && int64(documents[m]) >= expected[m] {
			c.closed[m] = true
		}
	}
	return c
}

// sources are the names of the unit's sources, in order.
func (c calendar) sources() []string {
	var out []string
	for _, d := range c.deliveries {
		if !slices.Contains(out, d.Source) {
			out = append(out, d.Source)
		}
	}
	slices.Sort(out)
	return out
}

// missing are the sources that have not yet covered the month with a delivery
// extracted late enough. A source counts from the first month it covered on, until
// a person declares it retired. A source that sends changes names only the months
// it touches, so that any later delivery that reaches the month covers it.
func (c calendar) missing(m record.Month) []string {
	due := time.Date((m + 1).Year(), time.Month((m + 1).Number()), 1+c.settings.GraceDays, 0, 0, 0, 0, time.UTC)
	var out []string
	expected := false
	for _, s := range c.sources() {
		if last, ok := c.settings.Retired[s]; ok && m > last {
			continue
		}
		begun, covered := false, false
		for _, d := range c.deliveries {
			if d.Source == s {
				begun = begun || d.From <= m
				covered = covered || d.To >= m && !d.ExtractedAt.Before(due)
			}
		}
		expected = expected || begun
		if begun && !covered {
			out = append(out, s)
		}
	}
	if !expected {
		return []string{"no source has sent this month"}
	}
	return out
}

// latest is the last closed month up to m; 0: none.
func (c calendar) latest(m record.Month) record.Month {
	for x := m; c.first != 0 && x >= c.first; x-- {
		if c.closed[x] {
			return x
		}
	}
	return 0
}

// allClosed says whether every month from a to b has closed.
func (c calendar) allClosed(a, b record.Month) bool {
	for _, m := range months(a, b) {
		if !c.closed[m] {
			return false
		}
	}
	return true
}

// coverage is what the rows of the unit's sources are, the narrowest where they
// differ; 0 where nothing was delivered.
func (c calendar) coverage() record.Coverage {
	var out record.Coverage
	for _, d := range c.deliveries {
		out = max(out, d.Coverage)
	}
	return out
}

func (c calendar) synthetic() bool {
	return slices.ContainsFunc(c.deliveries, func(d record.Delivery) bool { return d.Synthetic })
}

// change is a declared change of how things are written down.
type change struct {
	from  record.Month
	what  []string // "how times are taken", ...
	text  string
	facts func(name string) bool // the facts it moves
	marks bool                   // it moves what a blank means
}

// changes lists the declared changes. A declaration names what is new from a month
// on; what it leaves blank stays as it was. One from the first month of the data, or
// earlier, describes how it has always been.
func (c calendar) changes() []change {
	var out []change
	var now record.Recording
	for _, r := range c.recording {
		news := func(is, was bool) bool { return is && !was && r.From > c.first }
		times := news(r.How != 0, r.How == now.How) || news(r.TimeUnit != 0, r.TimeUnit == now.TimeUnit)
		form := news(r.Form != "", r.Form == now.Form)
		site := news(r.TempSite != "", r.TempSite == now.TempSite)
		now.How, now.TimeUnit = cmp.Or(r.How, now.How), cmp.Or(r.TimeUnit, now.TimeUnit)
		now.Form, now.TempSite = cmp.Or(r.Form, now.Form), cmp.Or(r.TempSite, now.TempSite)
		ch := change{from: r.From, what: nil, text: "", facts: nil, marks: form}
		if times {
			ch.what = append(ch.what, "how times are taken")
		}
		if form {
			ch.what = append(ch.what, "the form")
		}
		if site {
			ch.what = append(ch.what, "where temperature is taken")
		}
		if ch.what == nil {
			continue
		}
		ch.text = fmt.Sprintf("From %s the unit declared a change of %s.", MonthName(r.From), strings.Join(ch.what, " and of "))
		ch.facts = func(name string) bool {
			return times && timed(name) || site && strings.HasPrefix(name, "admission_temp")
		}
		out = append(out, ch)
	}
	return out
}

// timed says whether a fact rests on seconds as somebody or something took them.
func timed(name string) bool {
	if strings.HasSuffix(name, "_lo") || strings.HasSuffix(name, "_hi") {
		return true
	}
	switch name {
	case "need", "secondary_need", "hr_at_start", "first_end", "effective", "heart_rate_rechecked", "rose_to_100",
		"first_check", "step_when_needed", "oximeter_in_time", "saturation_fall":
		return true
	}
	return false
}

// moves says whether a change moves the measure.
func (ch change) moves(d measure.Definition) bool {
	return slices.ContainsFunc(d.Facts(), ch.facts) || ch.marks && d.Limits.Section != record.NoSection
}

// MonthName prints "Mar 2026".
func MonthName(m record.Month) string {
	return time.Month(m.Number()).String()[:3] + " " + strconv.Itoa(m.Year())
}

// calendarOf reads what a unit's calendar rests on. Cells of any one measure count
// every newborn on record.
func (e *Engine) calendarOf(ctx context.Context, unit string) (calendar, error) {
	deliveries, err := e.Ledger.Deliveries(ctx)
	if err != nil {
		return calendar{}, fmt.Errorf("deliveries: %w", err)
	}
	births, err := e.Ledger.Births(ctx, []string{unit})
	if err != nil {
		return calendar{}, fmt.Errorf("births: %w", err)
	}
	documents := map[record.Month]int32{}
	for _, d := range e.Catalogue.Measures {
		cells, err := e.Store.Cells(ctx, []string{unit}, d.ID)
		if err != nil {
			return calendar{}, fmt.Errorf("cells of %s: %w", d.ID, err)
		}
		for m, t := range newHistory(d, cells) {
			documents[m] = max(documents[m], t.all())
		}
		if len(documents) > 0 {
			break // one measure is enough, unless it could not be computed
		}
	}
	return newCalendar(unit, deliveries, births, documents, e.Settings), nil
}

// Package dashboard builds the monthly report of one unit: what changed, what
// is signal, what is missing, what last month's numbers became. It lays out
// what metrics worked out and computes nothing of its own.
package dashboard

import (
	"fmt"
	"strings"

	"chestrise/etl/record"
	"chestrise/metrics"
	"chestrise/metrics/measure"
	"chestrise/reports"
)

// Options are the choices of the reader's hospital.
type Options struct {
	Locale reports.Locale
}

// Build lays out the report. Every measure of the core tier has a page in the
// PDF and a sheet in the workbook; further measures have a sheet alone.
func Build(v *metrics.UnitView, o Options) *reports.Document {
	b := builder{view: v, locale: o.Locale}
	d := &reports.Document{
		Title:    fmt.Sprintf("%s, %s: resuscitation at birth", v.Unit.Name, b.month(v.Month)),
		Subject:  "Monthly control charts of newborn resuscitation at birth",
		Keywords: []string{"newborn", "ventilation", "control chart", v.Unit.Code, v.Month.String()},
		Unit:     v.Unit.Name,
		Period:   b.month(v.Month),
		Notices:  notices(v),
		Locale:   o.Locale,
	}
	d.Sections = append(d.Sections, b.front())
	if s, ok := b.further(); ok {
		d.Sections = append(d.Sections, s)
	}
	for _, tier := range []measure.Tier{measure.Core, measure.Further} {
		for i := range v.Measures {
			if m := &v.Measures[i]; m.Definition.Tier == tier {
				d.Sections = append(d.Sections, b.page(m))
			}
		}
	}
	return withAppendix(d, &b)
}

func withAppendix(d *reports.Document, b *builder) *reports.Document {
	d.Sections = append(d.Sections, b.missing())
	d.Sections = append(d.Sections, b.restated()...)
	d.Sections = append(d.Sections, b.definitions(measure.Core), b.definitions(measure.Further), b.methods())
	return d
}

type builder struct {
	view   *metrics.UnitView
	locale reports.Locale
}

func notices(v *metrics.UnitView) []string {
	var all []string
	if v.Synthetic {
		all = append(all, "Synthetic data: invented newborns, for demonstration only.")
	}
	return append(all, "For improvement of a unit's care, not for the care of one newborn. Local policy and licensed practice decide.")
}

var english = []string{"Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"}

// short is the month's name without its year, month with it.
func (b *builder) short(m record.Month) string {
	names := english
	if len(b.locale.Months) == 12 {
		names = b.locale.Months
	}
	return names[m.Number()-1]
}

func (b *builder) month(m record.Month) string { return fmt.Sprintf("%s %d", b.short(m), m.Year()) }

// span writes a stretch of months.
func (b *builder) span(from, to record.Month) string {
	switch {
	case from == to:
		return b.month(from)
	case from.Year() == to.Year():
		return b.short(from) + " to " + b.month(to)
	}
	return b.month(from) + " to " + b.month(to)
}

// label is how a point is named in words: a month, a quarter, or an event.
func (b *builder) label(p metrics.Point, period metrics.Period) string {
	if period == metrics.ByEvent || p.From == 0 {
		return p.Label
	}
	return b.span(p.From, p.To)
}

func sectionID(d *measure.Definition) string { return "measure-" + d.ID }

// sheetName cuts a title to what a workbook allows, at a word.
func sheetName(title string) string {
	const most = 31
	if len([]rune(title)) <= most {
		return title
	}
	cut := string([]rune(title)[:most])
	if i := strings.LastIndexByte(cut, ' '); i > 12 {
		cut = cut[:i]
	}
	return strings.TrimRight(cut, " ,;")
}

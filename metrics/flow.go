package metrics

import (
	"fmt"
	"slices"

	"chestrise/etl/record"
	"chestrise/metrics/cell"
	"chestrise/metrics/measure"
)

// flows tell how newborns come down to the answer, for the latest closed point and
// for twelve months.
func (b *builder) flows() {
	if b.u.Latest == 0 {
		return
	}
	from, to := b.u.Latest, b.u.Latest
	name := MonthName(to)
	if b.now >= 0 && b.m.Period == Quarterly {
		p := b.m.Points[b.now]
		from, to, name = p.From, p.To, p.Label
	}
	b.m.Flow = flowOf(b.d, b.h, name, from, to, b.u.Coverage)
	year := max(b.c.first, b.u.Latest-11)
	b.m.Year = flowOf(b.d, b.h, MonthName(year)+" to "+MonthName(b.u.Latest), year, b.u.Latest, b.u.Coverage)
}

// flowOf names and counts every loss on the way. The remaining counts and the
// losses between two of them always add up.
func flowOf(d measure.Definition, h history, name string, from, to record.Month, cov record.Coverage) Flow {
	t := h.over(months(from, to))
	counted := t.counted(d)
	f := Flow{Label: name, From: from, To: to, Steps: nil}
	add := func(kind, name string, n int32, loss bool) {
		f.Steps = append(f.Steps, Step{Name: name, Count: int64(n), Loss: loss, Kind: kind})
	}
	first := map[record.Coverage]string{
		record.EveryBirth: "births on record", record.NewbornTeamAttended: "births attended by a newborn team, on record", record.NewbornHelped: "newborns helped, on record",
	}[cov]
	if first == "" {
		first = "newborns on record"
	}
	add("births", first, t.all(), false)
	add("outside", "outside the population", t.outside, true)
	add("eligibility-unknown", "cannot be told whether they belong", t.eligibilityUnknown, true)
	inside := t.all() - t.outside - t.eligibilityUnknown
	add("population", "in the population", inside, false)
	for i, r := range d.Exclusions {
		add("excluded", "left out: "+r.Reason, at(t.excluded, i), true)
	}
	for i, r := range d.Exceptions {
		add("exception", "not met, with a documented reason: "+r.Reason, at(t.exceptions, i), true)
	}
	if d.Data == measure.RareEvent {
		add("unknown", "births whose outcome is not known (counted as births)", t.unknown+t.undecided, false)
		add("met", "events", t.met, false)
		return f
	}
	add("unknown", "answer not recorded", counted.unknown, true)
	add("undecided", "recorded times allow both answers", counted.undecided, true)
	add("known", "known", counted.known(), false)
	if d.Presumed.Present() {
		add("presumed", "of those, counted as presumed", t.presumed, false)
	}
	switch {
	case d.Data == measure.Value && d.Chart.Kind == "p":
		add("met", fmt.Sprintf("sign within %s %s", measure.Number(d.Chart.Within), d.UnitWords), counted.met, false)
		late := counted.notMet
		ends := otherEnds(d, t.items)
		for _, e := range ends {
			late -= int32(e.Count)
		}
		add("not-met", "sign later", late, false)
		for _, e := range ends {
			add("end", "no sign, ended by "+e.Name, int32(e.Count), false)
		}
	default:
		add("met", "met", counted.met, false)
		add("not-met", "not met", counted.notMet, false)
	}
	return f
}

func at(x []int32, i int) int32 {
	if i < len(x) {
		return x[i]
	}
	return 0
}

// otherEnds counts what came first instead of a sign, in the order of the words.
func otherEnds(d measure.Definition, items []item) []Count {
	by := map[string]int64{}
	for _, it := range items {
		if !d.Sign(it.End) {
			by[endWords(d, it.End)]++
		}
	}
	return counts(by)
}

func endWords(d measure.Definition, end string) string {
	if w := d.Ends[end]; w != "" {
		return w
	}
	if end == "" {
		return "an end without a name"
	}
	return end
}

// smallRate is how many known newborns a stratum needs before a rate is printed.
const smallRate = 20

// addBands adds the table by gestation band of the two years up to the latest closed
// month: counts, and a rate only from twenty known newborns on.
func addBands(m *MeasureView, d measure.Definition, cells []cell.Cell, latest record.Month) {
	if m.Absent != "" || latest == 0 || !slices.Contains(d.Strata, "gestation_band") {
		return
	}
	from := latest - 23
	by := map[uint8]tally{}
	first := latest
	for _, c := range cells {
		if c.Month < from || c.Month > latest {
			continue
		}
		first = min(first, c.Month)
		t := by[c.Band]
		t.add(d, c)
		by[c.Band] = t
	}
	s := Stratum{Title: "By gestation", From: first, To: latest, Rows: nil}
	names := record.FactSpecs[record.FactGestationBand].Codes
	for band := 0; band <= len(names); band++ {
		t, ok := by[uint8(band)]
		if !ok || t.all()-t.outside == 0 {
			continue
		}
		t = t.counted(d)
		name := "outside every band"
		if band > 0 {
			name = bandName(names[band-1])
		}
		row := StratumRow{Name: name, Met: t.met, Known: t.known(), Eligible: t.eligible(), Excluded: total(t.excluded) + total(t.exceptions), Rate: nil}
		if t.known() >= smallRate {
			rate := float64(t.met) / float64(t.known())
			row.Rate = &rate
		}
		s.Rows = append(s.Rows, row)
	}
	if len(s.Rows) > 0 {
		m.Strata = append(m.Strata, s)
	}
}

// addPreterm splits the two years up to the latest closed month at 32 weeks; without
// anyone of known gestation there is nothing to split.
func addPreterm(m *MeasureView, d measure.Definition, cells []cell.Cell, latest record.Month) {
	if m.Absent != "" || latest == 0 {
		return
	}
	names := record.FactSpecs[record.FactGestationBand].Codes
	var under, from tally
	for _, c := range cells {
		if c.Month < latest-23 || c.Month > latest || c.Band == 0 || int(c.Band) > len(names) {
			continue
		}
		switch names[c.Band-1] {
		case "22-24", "25-27", "28-31":
			under.add(d, c)
		case "32-33", "34-36", "37-plus":
			from.add(d, c)
		}
	}
	row := func(name string, t tally) StratumRow {
		t = t.counted(d)
		r := StratumRow{Name: name, Met: t.met, Known: t.known(), Eligible: t.eligible(), Excluded: total(t.excluded) + total(t.exceptions), Rate: nil}
		if t.known() >= smallRate {
			rate := float64(t.met) / float64(t.known())
			r.Rate = &rate
		}
		return r
	}
	if under.all()+from.all() > 0 {
		m.Preterm = &Split{Under: row("under 32 weeks", under), From: row("32 weeks or more", from)}
	}
}

func bandName(code string) string {
	switch code {
	case "unknown":
		return "gestation unknown"
	case "37-plus":
		return "37 weeks or more"
	default:
		return code + " weeks"
	}
}

package cases

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"chestrise/etl/record"
)

// build makes the case of a chosen newborn.
func (s *selector) build(c *candidate, why Why, number int, siblings []int) Case {
	set := s.q.Settings
	show := coarsen(c.birth, s.births, set.Rare)
	context, coarsened := c.context(show, set.Rare)
	out := Case{
		Number: number, Why: why, Hits: nil, Switched: c.switched, Unexpected: "", Context: context, Coarsened: coarsened, Siblings: nil,
		Limits: limits(&c.doc), Timeline: newTimeline(&c.doc, set), Outcome: outcome(&c.doc), Differed: differed(&c.doc, c.facts, show),
		Gaps: gaps(&c.doc, c.facts), Equipment: equipment(&c.doc), Published: published(&c.doc, c.facts, set), Expectation: nil, Measures: nil,
	}
	if show.trait[multiple] {
		out.Siblings = siblings
	}
	for _, h := range c.hits {
		out.Hits = append(out.Hits, Hit{ID: h.trigger.ID, Title: h.trigger.Title})
		for _, m := range h.trigger.Measures {
			if !slices.Contains(out.Measures, m) {
				out.Measures = append(out.Measures, m)
			}
		}
	}
	out.Unexpected = unexpected(c, show)
	if set.Expectations.On {
		out.Expectation = expectations(&c.doc, c.facts, set.Expectations.Lines)
	}
	return out
}

// unexpected says how rare the least expected trigger is. The number tells the
// gestation band, so that it is not given where the band is not.
func unexpected(c *candidate, show shown) string {
	var least *hit
	for i := range c.hits {
		if h := &c.hits[i]; h.known && (least == nil || h.share < least.share) {
			least = h
		}
	}
	switch {
	case least == nil:
		return ""
	case !show.trait[gestation] || show.wide:
		return "How unexpected this is in its gestation band is not said: it would tell the gestation."
	}
	which := ""
	if len(c.hits) > 1 {
		which = "Least expected of these: " + lower(least.trigger.Title) + ". "
	}
	where := "At " + bandWords[c.birth[gestation]]
	if c.birth[gestation] == record.BandUnknown {
		where = "Gestation is not known; where it is rarest"
	}
	return fmt.Sprintf("%s%s it is expected in about 1 of %s newborns (%s).", which, where, oneIn(least.share), least.trigger.Expected.Source)
}

// lower makes a sentence's first letter small, but not that of a name.
func lower(s string) string {
	r := []rune(s)
	if strings.HasPrefix(s, "Apgar") {
		return s
	}
	if len(r) > 1 && r[0] >= 'A' && r[0] <= 'Z' && r[1] >= 'a' {
		return string(r[0]+'a'-'A') + string(r[1:])
	}
	return s
}

// oneIn writes a share as the number of newborns for one, to two digits.
func oneIn(share float64) string {
	x := 1 / share
	if x < 10 {
		return number(math.Round(x*10) / 10)
	}
	p := math.Pow(10, math.Floor(math.Log10(x))-1)
	return thousands(int(math.Round(x/p) * p))
}

func thousands(n int) string {
	if n < 1000 {
		return number(float64(n))
	}
	return fmt.Sprintf("%d,%03d", n/1000, n%1000)
}

// limits are what was agreed before birth.
func limits(d *record.Document) []string {
	var out []string
	switch d.Newborn[record.PlanOfCare].Code {
	case record.PlanOfCareComfort:
		out = append(out, "Comfort care was planned before birth.")
	case record.PlanOfCareLimitsAgreed:
		var names []string
		for _, l := range []struct {
			step uint8
			name string
		}{{record.PlanLimitsCompressions, "compressions"}, {record.PlanLimitsDrugs, "drugs"}, {record.PlanLimitsAirway, "an airway attempt"}} {
			if limited(d, l.step) {
				names = append(names, l.name)
			}
		}
		if len(names) == 0 {
			names = []string{"which ones is not recorded"}
		}
		out = append(out, "Limits were agreed before birth: no "+list(names)+". Triggers and expectation lines for them are off.")
		if names[0] == "which ones is not recorded" {
			out[len(out)-1] = "Limits were agreed before birth; which ones is not recorded."
		}
	}
	return out
}

// outcome is what became of the newborn, as far as it is recorded.
func outcome(d *record.Document) [][2]string {
	n := &d.Newborn
	var out [][2]string
	add := func(name, words string) { out = append(out, [2]string{name, words}) }
	if v := n[record.FirstPh]; v.State == record.Recorded {
		add("First gas", fmt.Sprintf("pH %.2f", v.Number))
	}
	if a := apgar(n); a != "" {
		add("Apgar", a)
	}
	if v := n[record.SupportOnLeaving]; v.State == record.Recorded {
		w := say(leavingWords[:], v.Code)
		if m := n[record.LeftMin]; m.State == record.Recorded {
			w += ", left at " + minutes(m.Number)
		}
		add("On leaving", w)
	}
	switch n[record.Admitted].Code {
	case record.Yes:
		w := "admitted"
		if n[record.AdmittedDirect].Code == record.Yes {
			w += " directly"
		}
		if m := n[record.ArrivedMin]; m.State == record.Recorded {
			w += ", arrived at " + minutes(m.Number)
		}
		add("Unit", w)
	case record.No:
		add("Unit", "not admitted to a newborn unit here")
	}
	if v := n[record.CoolingTreatment]; v.State == record.Recorded {
		w := record.YesNo[v.Code-1]
		if m := n[record.CoolingStartMin]; m.State == record.Recorded {
			w += ", from " + minutes(m.Number)
		}
		add("Cooling", w)
	}
	if v := n[record.Seizures]; v.State == record.Recorded {
		add("Seizures", record.YesNo[v.Code-1])
	}
	if v := n[record.AirLeak]; v.State == record.Recorded && v.Code == record.Yes {
		w := "yes"
		if m := n[record.AirLeakMin]; m.State == record.Recorded {
			w += ", at " + minutes(m.Number)
		}
		add("Air leak", w)
	}
	if v := n[record.SkinInjuryMask]; v.State == record.Recorded && v.Code != record.SkinInjuryMaskNone {
		add("Skin under the mask", map[uint8]string{record.SkinInjuryMaskRedness: "redness", record.SkinInjuryMaskBrokenSkin: "broken skin"}[v.Code])
	}
	return append(out, [2]string{"Alive", alive(n)})
}

// alive says what is known of survival. Days are given by the last of a few
// marks that was passed, because an exact age can tell a date.
func alive(n *record.Newborn) string {
	if v := n[record.DiedMin]; v.State == record.Recorded {
		w := "died at " + minutes(v.Number)
		if p := n[record.DiedPlace]; p.State == record.Recorded {
			w += map[uint8]string{record.DiedPlaceBirth: ", where born", record.DiedPlaceUnit: ", on the unit", record.DiedPlaceElsewhere: ", elsewhere"}[p.Code]
		}
		return w
	}
	switch n[record.CareEnded].Code {
	case record.CareEndedDied:
		return "died; when is not recorded"
	case record.CareEndedMoved:
		w := "moved to another hospital"
		if m := n[record.CareEndedMin]; m.State == record.Recorded {
			w += " at " + minutes(m.Number)
		}
		return w + "; not known afterwards"
	}
	if v := n[record.AliveAtD]; v.State == record.Recorded {
		for _, day := range []float64{365, 90, 28, 7, 1} {
			if v.Number >= day {
				return "known to be alive at " + plural(int(day), "day", "days")
			}
		}
		return "known to be alive after birth"
	}
	return "not recorded"
}

func apgar(n *record.Newborn) string {
	var w []string
	for _, a := range []struct {
		f record.Field
		m string
	}{{record.Apgar1, "1"}, {record.Apgar5, "5"}, {record.Apgar10, "10"}} {
		if v := n[a.f]; v.State == record.Recorded {
			w = append(w, number(v.Number)+" at "+a.m+" min")
		}
	}
	return list(w)
}

// expectations put local aims beside what was recorded.
func expectations(d *record.Document, f record.Facts, lines []ExpectationLine) []string {
	var out []string
	for _, l := range lines {
		off := limitedStep(d, l.Step)
		if v := d.Newborn[record.ExceptionReason]; l.Await && v.State == record.Recorded && v.Code == record.ExceptionReasonDecisionAwaited {
			off = true
		}
		lo, hi := f[l.fact], f[l.upper]
		unit := ""
		if l.Unit != "" {
			unit = " " + l.Unit
		}
		switch {
		case off || lo.State == record.NotApplicable:
		case lo.State != record.Recorded:
			out = append(out, fmt.Sprintf("%s: not on record, or cannot be told; local aim %s", upper(l.Words), l.Aim))
		case hi.State != record.Recorded:
			out = append(out, fmt.Sprintf("%s recorded later than %s%s, or not at all; local aim %s", upper(l.Words), number(lo.Number), unit, l.Aim))
		case lo.Number == hi.Number && record.FactSpecs[l.fact].Codes == nil:
			out = append(out, fmt.Sprintf("%s recorded at %s%s; local aim %s", upper(l.Words), number(lo.Number), unit, l.Aim))
		case record.FactSpecs[l.fact].Codes != nil || record.FactSpecs[l.fact].Type == record.YesNoType:
			out = append(out, fmt.Sprintf("%s recorded: %s; local aim %s", upper(l.Words), word(f, l.fact), l.Aim))
		default:
			out = append(out, fmt.Sprintf("%s recorded between %s and %s%s; local aim %s", upper(l.Words), number(math.Floor(lo.Number)), number(math.Ceil(hi.Number)), unit, l.Aim))
		}
	}
	return out
}

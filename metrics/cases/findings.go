package cases

import (
	"fmt"
	"math"
	"slices"

	"chestrise/etl/record"
)

// differed lists what was not as planned, in the record's own terms. It is no
// verdict: a plan that changes is often the right thing.
func differed(d *record.Document, f record.Facts, show shown) []string {
	n := &d.Newborn
	var out []string
	if n[record.PlanOfCare].Code == record.PlanOfCareComfort && !yes(f, record.FactComfortOnly) {
		out = append(out, "Comfort care was planned; help was given.")
	}
	if v := n[record.ExceptionReason]; v.State == record.Recorded {
		w := map[uint8]string{
			record.ExceptionReasonDecisionAwaited: "A decision was awaited", record.ExceptionReasonLimitAgreed: "A limit had been agreed",
			record.ExceptionReasonOther: "A reason for waiting or leaving out a step was given",
		}[v.Code]
		if s := n[record.ExceptionS]; s.State == record.Recorded {
			w += ", documented at " + seconds(s.Number)
		}
		out = append(out, w+".")
	}
	if v := n[record.Place]; show.trait[place] && (v.Code == record.PlaceOtherBirthRoom || v.Code == record.PlaceElsewhereInHospital) {
		out = append(out, "Born in another place than planned.")
	}
	if v := n[record.NewbornTeamAtBirth]; v.Code == record.No {
		out = append(out, "Nobody whose only task was the newborn was there at birth.")
	}
	if v := n[record.NoticeMin]; v.State == record.Recorded {
		out = append(out, "Notice before birth: "+minutes(v.Number)+".")
	}
	for _, b := range []struct {
		f    record.Field
		what string
	}{{record.Briefing, "briefing before the birth"}, {record.Debriefing, "debriefing"}} {
		if v := n[b.f]; v.State == record.Recorded && v.Code == record.No {
			out = append(out, "No "+b.what+" is recorded as held.")
		}
	}
	if n[record.BegunBeforeBirth].Code == record.Yes {
		out = append(out, "Ventilation began with the cord attached before complete birth.")
	}
	if yes(f, record.FactSecondaryNeed) {
		out = append(out, "Ventilation began after the first minute in a newborn who had been breathing.")
	}
	if yes(f, record.FactLaterResuscitation) {
		out = append(out, "Help was needed again, or first, more than 20 minutes after birth.")
	}
	return out
}

func whole(f record.Facts, i record.Fact) (int, bool) {
	if f[i].State != record.Recorded {
		return 0, false
	}
	return int(f[i].Number), true
}

// longLook is how many seconds of ventilation without a heart rate are named as a
// gap. Guidance asks for a look about every 30 s; twice that is named.
const longLook = 60

// gaps lists what the record cannot tell.
func gaps(d *record.Document, f record.Facts) []string {
	var out []string
	var open []string
	for s := record.Assessments; s <= record.Team; s++ {
		if !charted(d, s) {
			open = append(open, map[record.Section]string{
				record.Assessments: "assessments", record.Support: "support", record.Steps: "corrective steps", record.Airway: "airway",
				record.CompressionsDrugs: "compressions and drugs", record.Cord: "cord", record.Temperature: "temperature", record.Team: "team",
			}[s])
		}
	}
	switch len(open) {
	case 0:
	case int(record.Team):
		out = append(out, "No section is marked as filled in: a blank says nothing.")
	default:
		out = append(out, "Not marked as filled in, so that a blank says nothing: "+list(open)+".")
	}
	aside := 0
	for i := range d.Newborn {
		if d.Newborn[i].State == record.SetAside {
			aside++
		}
	}
	if aside > 0 || d.Damaged != 0 {
		w := plural(aside, "value was", "values were") + " set aside as not usable"
		if aside == 0 {
			w = "At least one event was set aside as not usable"
		}
		out = append(out, w+".")
	}
	untimed, after := 0, 0
	for i := range d.Events {
		e := &d.Events[i]
		if record.Events[e.Kind].Attribute {
			continue
		}
		if !e.Timed {
			untimed++
		} else if e.How == record.After {
			after++
		}
	}
	if untimed > 0 {
		out = append(out, plural(untimed, "event has", "events have")+" no time.")
	}
	if after > 0 {
		out = append(out, plural(after, "time was", "times were")+" typed afterwards; differences under about 15 s are noise.")
	}
	if code(f, record.FactAirwayReason) == uint8(record.ReasonMaskVentilationFailing) && code(f, record.FactAnyStep) == record.No {
		out = append(out, "No record of a corrective step before the airway.")
	}
	if r, ok := whole(f, record.FactBasicStepsRequired); ok {
		if k, ok := whole(f, record.FactBasicStepsOnRecord); ok {
			out = append(out, fmt.Sprintf("Of %d basic steps counted here, %d are on record before the airway.", r, k))
		}
	}
	helped := code(f, record.FactSupported) == record.SupportedYes || code(f, record.FactTube) == record.TubeYes
	if helped {
		out = append(out, missing(d)...)
		if g := unlooked(d); g != "" {
			out = append(out, g)
		}
	}
	return out
}

// missing names what is not on record of a newborn who was helped.
func missing(d *record.Document) []string {
	var names []string
	lacks := func(name string, has bool) {
		if !has {
			names = append(names, name)
		}
	}
	kind := func(k record.Kind) bool {
		return slices.ContainsFunc(d.Events, func(e record.Event) bool { return e.Kind == k })
	}
	field := func(f record.Field) bool { return d.Newborn[f].State == record.Recorded }
	lacks("breathing", kind(record.Breathing))
	lacks("a heart rate", kind(record.HeartRate))
	lacks("a saturation", kind(record.Saturation))
	lacks("oxygen", kind(record.Oxygen))
	lacks("chest movement or CO₂", kind(record.ChestMovement) || kind(record.ExhaledCO2) || !ventilated(d))
	lacks("mask size", kind(record.MaskSize) || !kind(record.Interface))
	lacks("pressures", kind(record.PIP) || !ventilated(d))
	lacks("cord clamping", kind(record.CordClamped))
	lacks("when the team was called", field(record.TeamCalledS))
	lacks("when it arrived", field(record.TeamArrivedS))
	lacks("how many were present", field(record.PeoplePresent))
	lacks("a first gas", field(record.FirstPh))
	lacks("survival", field(record.AliveAtD) || field(record.DiedMin) || d.Newborn[record.CareEnded].Code == record.CareEndedDied)
	var open []string
	for _, pair := range []struct {
		begun, ended record.Kind
		what         string
	}{{record.SupportBegun, record.SupportEnded, "support"}, {record.CompressionsBegun, record.CompressionsEnded, "compressions"}, {record.AirwayBegun, record.AirwayEnded, "an airway attempt"}} {
		if kind(pair.begun) && !kind(pair.ended) {
			open = append(open, pair.what)
		}
	}
	var out []string
	if len(names) > 0 {
		out = append(out, "No record of "+list(names)+".")
	}
	if len(open) > 0 {
		out = append(out, "No end on record of "+list(open)+".")
	}
	return out
}

func ventilated(d *record.Document) bool {
	return slices.ContainsFunc(d.Events, func(e record.Event) bool {
		return e.Kind == record.SupportBegun && e.Code == record.SupportPPV
	})
}

// unlooked names the longest stretch of ventilation without a heart rate on
// record, where it is longer than a minute.
func unlooked(d *record.Document) string {
	for c := range record.Clocks {
		from, to := math.Inf(1), math.Inf(-1)
		var seen []float64
		for i := range d.Events {
			e := &d.Events[i]
			if !e.Timed || int(e.Clock) != c {
				continue
			}
			at := float64(e.At)
			switch {
			case e.Kind == record.SupportBegun && e.Code == record.SupportPPV:
				from = min(from, at)
			case e.Kind == record.SupportEnded && e.Code == record.SupportPPV:
				to = max(to, at)
			case e.Kind == record.HeartRate && (e.Valued || e.Code >= record.HRAbsent && e.Code <= record.HR100OrMore):
				seen = append(seen, at)
			}
		}
		if math.IsInf(from, 1) || to <= from {
			continue
		}
		seen = append(slices.DeleteFunc(seen, func(x float64) bool { return x < from || x > to }), from, to)
		slices.Sort(seen)
		longest, at := 0.0, 0.0
		for i := 1; i < len(seen); i++ {
			if seen[i]-seen[i-1] > longest {
				longest, at = seen[i]-seen[i-1], seen[i-1]
			}
		}
		if longest > longLook {
			return fmt.Sprintf("No heart rate on record from %s to %s of ventilation.", seconds(at), seconds(at+longest))
		}
	}
	return ""
}

// equipment lists what is on record of devices and sensors.
func equipment(d *record.Document) []string {
	var out []string
	used := map[string]bool{}
	var names, kept []string
	for i := range d.Events {
		e := &d.Events[i]
		switch e.Kind { //nolint:exhaustive // the other kinds are no equipment
		case record.Device:
			if w := say(deviceWords[:], e.Code); !used[w] {
				used[w] = true
				names = append(names, w)
			}
		case record.DeviceNotKept:
			if w := say(deviceWords[:], e.Code); !slices.Contains(kept, w) {
				kept = append(kept, w)
			}
		case record.GasFailure:
			out = append(out, "The gas supply failed.")
		}
	}
	if len(names) > 0 {
		out = append([]string{"Used: " + list(names) + "."}, out...)
	}
	if len(kept) > 0 {
		out = append(out, "Not kept where the newborn was born: "+list(kept)+".")
	}
	if v := d.Newborn[record.CordIntactSetup]; v.Code == record.CordIntactSetupNone {
		out = append(out, "No set-up for help with the cord intact was there.")
	}
	return out
}

// Package derive turns a document into the facts that measures read. It is
// pure: no input, no output, no clock.
//
// A recorded time is an interval, not a point: "about 60 s", typed afterwards,
// may be anything from 45 to 75 s, and two readings of whole clock minutes say
// little of the seconds between them. A verdict that rests on such times is
// worked out for every placement of the times inside their intervals that keeps
// the order of the rows of one clock. If all placements agree, that is the
// verdict; if not, it is left blank, and a value is given by its lowest and its
// highest. Nothing is sampled: the verdict is written once as ordinary code
// that asks "is this at most so much later than that?", and where the intervals
// do not decide the answer both answers are followed (see trial).
package derive

import "chestrise/etl/record"

// Version is the version of the derivation. It grows with every change that can
// give another fact for the same document, so that a night knows what is stale.
const Version int16 = 1

// Facts derives the facts of a document. A fact that cannot be told from the
// record is blank; a fact whose question does not arise is not applicable. A
// withdrawn document has no facts.
func Facts(d *record.Document) record.Facts {
	var f record.Facts
	if d.Withdrawn {
		return f
	}
	for fact, field := range record.Passed {
		f[fact] = d.Newborn[field]
	}
	c := newCourse(d)
	for _, derive := range []func(*course, *record.Facts){
		population, plan, team,
		ventilation, need, start, steps, tube, compressions, later, temperature,
		support, heartRate, stretch, rise, firstCheck, basicSteps, devices, oxygen,
		oximeter, saturation, ecg, total, attempts, secondDevice, leaving, cord,
	} {
		derive(c, &f)
	}
	if c.loose {
		f[record.FactOrderLoose] = yesNo(true)
	} else {
		f[record.FactOrderLoose] = yesNo(false)
	}
	applicable(&f)
	return f
}

// applicable marks the facts whose question does not arise. A question that may
// arise, because what it hangs on cannot be told, stays open.
func applicable(f *record.Facts) {
	for _, q := range []struct {
		only string
		on   record.Fact
		code uint8
	}{
		{"ventilated", record.FactVentilated, record.VentilatedYes},
		{"mask_ventilated", record.FactMaskVentilated, record.Yes},
		{"tube", record.FactTube, record.TubeYes},
		{"supported", record.FactSupported, record.SupportedYes},
		{"first check failed", record.FactFirstCheck, record.CheckFailed},
	} {
		on := f[q.on]
		if on.State == record.Blank || on.State == record.Recorded && on.Code == q.code {
			continue
		}
		for i := record.FactInPopulation; i < record.NumFacts; i++ {
			if record.FactSpecs[i].Only == q.only {
				f[i] = record.Value{State: record.NotApplicable}
			}
		}
	}
}

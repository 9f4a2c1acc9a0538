package derive

import "chestrise/etl/record"

// population derives whether the newborn counts as a birth of this hospital:
// any sign of life or any resuscitation begun; born inside its buildings; 22
// completed weeks or more, or gestation unknown with a weight of 500 g or more or
// unknown. One part that says no decides, one that cannot be told leaves it blank.
func population(c *course, f *record.Facts) {
	verdict := record.Yes
	for _, part := range []uint8{c.alive(), c.bornHere(), c.mature()} {
		if part == record.No {
			verdict = record.No
			break
		}
		if part == 0 {
			verdict = 0
		}
	}
	f[record.FactInPopulation] = code(verdict)
	f[record.FactGestationBand] = code(c.band())
	f[record.FactMultiple] = code(c.multiple())
}

// band returns the band of completed weeks, 0 below 22 weeks.
func (c *course) band() uint8 {
	if !c.has(record.GestationWk) {
		return record.BandUnknown
	}
	switch wk := c.doc.Newborn[record.GestationWk].Number; {
	case wk < 22:
		return 0
	case wk < 25:
		return record.Band22
	case wk < 28:
		return record.Band25
	case wk < 32:
		return record.Band28
	case wk < 34:
		return record.Band32
	case wk < 37:
		return record.Band34
	}
	return record.Band37
}

// mature judges gestation, and weight where gestation is unknown.
func (c *course) mature() uint8 {
	v := yesNo(c.band() != 0)
	if !c.has(record.GestationWk) && c.has(record.BirthWeightG) {
		v = yesNo(c.doc.Newborn[record.BirthWeightG].Number >= 500)
	}
	return v.Code
}

// bornHere judges the place of birth. A birth outside that claims to be a birth
// here contradicts itself and cannot be told.
func (c *course) bornHere() uint8 {
	outside := c.is(record.Place, record.PlaceOutside)
	claim := c.doc.Newborn[record.BornHere]
	switch {
	case c.is(record.BornHere, record.No):
		return record.No
	case outside && (claim.State == record.Recorded || claim.State == record.SetAside):
		return 0
	case outside:
		return record.No
	case c.is(record.BornHere, record.Yes), c.has(record.Place):
		return record.Yes
	}
	return 0
}

// alive judges signs of life, which may also show in what was recorded, and
// whether any resuscitation was begun.
func (c *course) alive() uint8 {
	signs := c.doc.Newborn[record.SignsOfLife]
	begun := c.is(record.ResuscitationBegun, record.Yes) || c.given()
	switch {
	case begun, coded(signs) == record.Yes, coded(signs) == 0 && c.livingRow():
		return record.Yes
	case coded(signs) == 0, c.damaged(record.Support), c.damaged(record.Airway), c.damaged(record.CompressionsDrugs):
		return 0
	case c.doc.Newborn[record.ResuscitationBegun].State == record.SetAside:
		return 0
	}
	return record.No
}

// given says whether ventilation, CPAP, an airway attempt, compressions or a drug
// is on record, at any time.
func (c *course) given() bool {
	for i := range c.doc.Events {
		switch e := &c.doc.Events[i]; e.Kind {
		case record.SupportBegun:
			if e.Code == record.SupportPPV || e.Code == record.SupportCPAP {
				return true
			}
		case record.AirwayBegun, record.CompressionsBegun, record.Dose:
			return true
		default: // an observation or an end: nothing was given by it
		}
	}
	return false
}

// livingRow says whether a row shows a sign of life: breathing, a heart rate, a
// point of an Apgar score, or admission.
func (c *course) livingRow() bool {
	for i := range c.doc.Events {
		e := &c.doc.Events[i]
		switch {
		case e.Kind == record.Breathing && e.Code > record.BreathingNone:
			return true
		case e.Kind == record.HeartRate && (e.Valued && e.Value > 0 || bands[e.Code][0] > 0):
			return true
		}
	}
	for _, field := range []record.Field{record.Apgar1, record.Apgar5, record.Apgar10} {
		if c.has(field) && c.doc.Newborn[field].Number > 0 {
			return true
		}
	}
	return c.is(record.Admitted, record.Yes)
}

// multiple judges from the set of siblings and the order of birth.
func (c *course) multiple() uint8 {
	order := c.doc.Newborn[record.BirthOrder]
	switch {
	case c.has(record.BirthSet), c.has(record.Placenta), order.State == record.Recorded && order.Number > 1:
		return record.Yes
	case order.State == record.Recorded:
		return record.No
	}
	return 0
}

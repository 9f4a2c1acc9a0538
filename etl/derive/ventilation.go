package derive

import "chestrise/etl/record"

// inflations returns the rows that begin ventilation; the earliest is the first
// inflation.
func (tl *timeline) inflations() []row { return tl.of(record.SupportBegun, record.SupportPPV) }

// ventilation derives whether the newborn was ventilated, when first, and with
// what. At least one inflation through mask, nasal interface, supraglottic
// airway or tube begun up to 20 minutes after birth anywhere in this hospital
// counts; CPAP alone does not. No row means not ventilated, unless a row of the
// section was lost.
func ventilation(c *course, f *record.Facts) {
	tl := c.order
	if tl == nil {
		return
	}
	ppv := tl.inflations()
	if len(ppv) == 0 {
		f[record.FactVentilated] = code(c.withoutInflations())
		f[record.FactMaskVentilated] = f[record.FactVentilated]
		if coded(f[record.FactVentilated]) == record.VentilatedLater {
			f[record.FactMaskVentilated] = yesNo(false)
		} else if coded(f[record.FactVentilated]) == record.VentilatedYes {
			f[record.FactMaskVentilated] = record.Value{}
		}
		return
	}
	var verdict, mask, face, device same
	var first span
	if !c.explore(tl, func(t *trial) {
		fi := *earliest(t, ppv, itself)
		if !tl.soon(t, fi, windowS) {
			verdict.add(record.VentilatedLater)
			mask.add(record.No)
			return
		}
		verdict.add(record.VentilatedYes)
		face.add(uint8(c.attribute(fi, record.Interface)))
		device.add(uint8(c.attribute(fi, record.Device)))
		first.join(t.between(fi.at, tl.birth(fi)))
		mask.add(c.masked(t, tl, ppv))
	}) {
		return
	}
	f[record.FactVentilated] = code(verdict.agreed())
	f[record.FactMaskVentilated] = code(mask.agreed())
	if verdict.agreed() == record.VentilatedYes {
		f[record.FactFirstInterface] = code(face.agreed())
		f[record.FactFirstDevice] = code(device.agreed())
		put(f, record.FactFirstInflationLo, record.FactFirstInflationHi, first)
	}
}

// withoutInflations is the verdict where no inflation in the window is on record.
func (c *course) withoutInflations() uint8 {
	switch {
	case c.is(record.BegunBeforeBirth, record.Yes):
		return record.VentilatedYes
	case c.order.any(record.SupportBegun, record.SupportPPV):
		return record.VentilatedLater
	case c.damaged(record.Support):
		return 0
	}
	return record.VentilatedNo
}

// masked says whether any ventilation in the window went through a mask or nasal
// interface. An episode whose interface is not recorded leaves it open.
func (c *course) masked(t *trial, tl *timeline, ppv []row) uint8 {
	verdict := record.No
	for _, r := range ppv {
		switch c.attribute(r, record.Interface) {
		case record.InterfaceMask, record.InterfaceNasal:
			if tl.soon(t, r, windowS) {
				return record.Yes
			}
		case 0:
			if tl.soon(t, r, windowS) {
				verdict = 0
			}
		default: // a tube or a laryngeal mask airway: another way than the one asked for
		}
	}
	return verdict
}

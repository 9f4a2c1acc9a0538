package derive

import "chestrise/etl/record"

// steps derives whether corrective steps are on record from the first inflation
// to the first airway attempt after it, and how many, for a newborn ventilated by
// mask or nasal interface. A row makes "any" yes whatever the section's mark; a
// blank means none, and a count is known, only in a section marked as charted. A
// step without a time counts as taken while ventilating, unless an airway attempt
// makes its place in the order matter.
func steps(c *course, f *record.Facts) {
	if coded(f[record.FactMaskVentilated]) != record.Yes || c.order == nil {
		return
	}
	tl := c.order
	ppv, taken, attempts := tl.inflations(), tl.of(record.CorrectiveStep), tl.of(record.AirwayBegun)
	var some, count same
	if len(ppv) == 0 || !c.explore(tl, func(t *trial) {
		first := *earliest(t, ppv, itself)
		attempt := nextAfter(t, attempts, first)
		n := 0
		for _, s := range taken {
			switch {
			case !s.Timed && attempt == nil:
				n++
			case t.notAfter(first, s) && (attempt == nil || t.notAfter(s, *attempt)):
				n++
			}
		}
		some.add(coded(yesNo(n > 0)))
		count.add(uint8(min(n, 99)))
	}) {
		return
	}
	charted := c.charted(record.Steps)
	if some.agreed() == record.Yes || charted {
		f[record.FactAnyStep] = code(some.agreed())
	}
	if charted && !count.many {
		f[record.FactStepCount] = number(float64(count.code))
	}
}

// nextAfter returns the first of the rows that comes after the given one, or nil.
func nextAfter(t *trial, rows []row, a row) *row {
	var next *row
	for i := range rows {
		if t.strictlyBefore(a, rows[i]) && (next == nil || !t.ordered(*next, rows[i])) {
			next = &rows[i]
		}
	}
	return next
}

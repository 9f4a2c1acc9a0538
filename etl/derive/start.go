package derive

import (
	"math"

	"chestrise/etl/record"
)

// The windows of the heart rate at the start of ventilation, in seconds.
const (
	startBeforeS = 30  // last heart rate up to so long before the first inflation
	startAfterS  = 10  // else the first up to so long after
	startLateS   = 120 // else the first up to so long after, if below 100
)

// initial is the heart rate at the start of ventilation in one trial.
type initial struct {
	code  uint8   // of hr_at_start; 0: unknown
	value float64 // NaN: only a band, or not known
}

var unknownStart = initial{0, math.NaN()}

func (r rate) initial() initial {
	i := initial{0, math.NaN()}
	switch {
	case r.hi < 100:
		i.code = record.HrAtStartBelow100
	case r.lo >= 100:
		i.code = record.HrAtStart100OrMore
	}
	if r.valued {
		i.value = r.lo
	}
	return i
}

// initialRate judges the heart rate at the start: the last one from 30 s before
// to the first inflation, else the first one up to 10 s after; else, if the first
// one up to 120 s after is below 100 and nothing that ends the course lies
// between, below 100 with the value unknown. All ends are included. Rates come in
// the order of the trial; the second result is the index of the first rate after
// the first inflation.
func initialRate(t *trial, rates []rate, first row, ends []end) (initial, int) {
	next := len(rates)
	for next > 0 && !t.notAfter(rates[next-1].row, first) {
		next--
	}
	if next > 0 && t.within(first.at, rates[next-1].at, startBeforeS) {
		return rates[next-1].initial(), next
	}
	if next == len(rates) {
		return unknownStart, next
	}
	r := rates[next]
	if t.within(r.at, first.at, startAfterS) {
		return r.initial(), next
	}
	if r.hi < 100 && t.within(r.at, first.at, startLateS) && !anyBefore(t, ends, r.row) {
		return initial{record.HrAtStartBelow100, math.NaN()}, next
	}
	return unknownStart, next
}

// anyBefore says whether one of the ends comes before the row, not at the same time.
func anyBefore(t *trial, ends []end, r row) bool {
	for _, e := range ends {
		if e.before(t, r) {
			return true
		}
	}
	return false
}

// start derives the heart rate at the start of ventilation and what came first
// after it: a recorded sign that ventilation works, or an end that competes.
func start(c *course, f *record.Facts) {
	if coded(f[record.FactVentilated]) != record.VentilatedYes || c.order == nil {
		return
	}
	v := newEffect(c, c.order)
	if v == nil {
		return
	}
	var s startFacts
	if !c.explore(c.order, func(t *trial) { v.judge(t, &s) }) {
		return
	}
	s.write(f)
}

// startFacts gathers what the trials found.
type startFacts struct {
	code, end, effective same
	least                uint8 // the first in the dictionary of the ends found
	value                float64
	values               bool // more than one value
	trials               bool
	unknown, unsigned    bool // some trial could not tell; some trial found no sign
	length, at           span // of the first end
	toSign, sign         span
}

func (s *startFacts) rate(i initial) {
	s.code.add(i.code)
	if s.trials && !(s.value == i.value || math.IsNaN(s.value) && math.IsNaN(i.value)) {
		s.values = true
	}
	s.value, s.trials = i.value, true
}

func (s *startFacts) write(f *record.Facts) {
	f[record.FactHrAtStart] = code(s.code.agreed())
	if s.code.agreed() != 0 && !s.values && !math.IsNaN(s.value) {
		f[record.FactHrAtStartValue] = number(math.Round(s.value))
	}
	if s.unknown || !s.end.some {
		return
	}
	f[record.FactFirstEnd] = code(s.end.agreed())
	switch {
	case s.end.many && s.effective.agreed() == record.Yes:
		f[record.FactFirstEnd] = code(s.least)
	case s.end.many:
		f[record.FactFirstEnd] = code(record.FirstEndUndecided)
	}
	f[record.FactEffective] = code(s.effective.agreed())
	put(f, record.FactToFirstEndLo, record.FactToFirstEndHi, s.length)
	put(f, record.FactFirstEndLo, record.FactFirstEndHi, s.at)
	put(f, record.FactToSignLo, record.FactToSignHi, s.toSign)
	put(f, record.FactSignLo, record.FactSignHi, s.sign)
	if s.unsigned {
		f[record.FactToSignHi], f[record.FactSignHi] = record.Value{}, record.Value{}
	}
}

package derive

import (
	"math"

	"chestrise/etl/record"
)

// effect is the question when a sign that ventilation works was first recorded.
// With a heart rate below 100 at the start the sign is a heart rate of 100 or
// more, or one that rose by 20 and stayed so at the next reading; with 100 or
// more at the start, or an unknown one, it is chest movement or exhaled carbon
// dioxide. Whatever ends the course before that is the end on record instead.
type effect struct {
	c       *course
	tl      *timeline
	ppv     []row
	rates   []rate
	signs   []end // chest movement and exhaled carbon dioxide, with their codes
	looked  []row // any record of chest movement or exhaled carbon dioxide
	actions []end // airway attempts, compressions, drugs
	stops   []row // rows that end ventilation
}

// newEffect gathers the rows of a timeline, nil where there is no inflation on
// record.
func newEffect(c *course, tl *timeline) *effect {
	v := &effect{c: c, tl: tl, ppv: tl.inflations(), rates: tl.rates(), stops: tl.of(record.SupportEnded, record.SupportPPV)}
	if len(v.ppv) == 0 {
		return nil
	}
	for _, k := range []record.Kind{record.ChestMovement, record.ExhaledCO2} {
		v.looked = append(v.looked, tl.of(k)...)
	}
	gather := func(to *[]end, rows []row, code uint8) {
		for _, r := range rows {
			*to = append(*to, end{r, code})
		}
	}
	gather(&v.signs, tl.of(record.ChestMovement, record.ChestMoving), record.FirstEndChestMovement)
	gather(&v.signs, tl.of(record.ExhaledCO2, record.CO2Detected), record.FirstEndExhaledCo2)
	gather(&v.actions, tl.of(record.AirwayBegun), record.FirstEndAirwayAttempt)
	gather(&v.actions, tl.of(record.CompressionsBegun), record.FirstEndCompressions)
	gather(&v.actions, tl.of(record.Dose), record.FirstEndDrug)
	return v
}

// judge adds one trial.
func (v *effect) judge(t *trial, s *startFacts) {
	first := *earliest(t, v.ppv, itself)
	ends := v.ends(t, first)
	rates := sorted(t, v.rates, rateRow)
	begin, next := initialRate(t, rates, first, ends)
	s.rate(begin)
	var sign *end
	if begin.code == record.HrAtStartBelow100 {
		sign = rateSign(t, rates[next:], begin, ends)
	} else {
		sign = v.chestSign(t, first)
	}
	last := firstEnd(t, ends)
	if sign != nil && last.before(t, sign.row) {
		sign = nil
	}
	if v.open(t, sign, *last, first, rates[next:], begin) {
		s.unknown = true
		return
	}
	found := last
	if sign != nil {
		found = sign
	}
	at := t.between(found.at, v.tl.birth(first))
	if !s.end.some || found.code < s.least {
		s.least = found.code
	}
	s.end.add(found.code)
	s.length.join(t.length(first, found.row))
	s.at.join(at)
	if sign == nil {
		s.effective.add(record.No)
		s.unsigned = true
		return
	}
	s.effective.add(record.Yes)
	s.toSign.join(t.length(first, found.row))
	s.sign.join(at)
}

// riseBy is the rise of the heart rate that counts as a sign, nextS how soon the
// next reading must confirm it, in seconds.
const (
	riseBy = 20
	nextS  = 60
)

// rateSign returns the first heart rate after the first inflation that is a sign:
// 100 or more; or, where the start is a value of at least 1, 20 above it and
// still so at the next reading at most 60 s later with no end between the two. A
// band counts by its whole interval. The sign is timed at the first reading.
func rateSign(t *trial, rates []rate, begin initial, ends []end) *end {
	for i, r := range rates {
		if r.lo >= 100 {
			return &end{r.row, record.FirstEndHeartRate100}
		}
		if math.IsNaN(begin.value) || begin.value < 1 || r.lo < begin.value+riseBy || i+1 == len(rates) {
			continue
		}
		next := rates[i+1]
		if next.lo >= begin.value+riseBy && t.within(next.at, r.at, nextS) && !anyBetween(t, ends, r.row, next.row) {
			return &end{r.row, record.FirstEndHeartRateRise}
		}
	}
	return nil
}

// anyBetween says whether an end lies between two readings.
func anyBetween(t *trial, ends []end, a, b row) bool {
	for _, e := range ends {
		if t.strictlyBefore(a, e.row) && e.before(t, b) {
			return true
		}
	}
	return false
}

// chestSign returns the first chest movement or exhaled carbon dioxide from the
// first inflation on.
func (v *effect) chestSign(t *trial, first row) *end {
	var sign *end
	for i := range v.signs {
		s := &v.signs[i]
		if t.notAfter(first, s.row) && (sign == nil || t.less(s.at, sign.at, 0)) {
			sign = s
		}
	}
	return sign
}

// open says whether the trial cannot be judged. A sign cannot be, where an airway
// attempt, compressions or a drug may be in a lost row. Without a sign, a stop or
// the end of observation means nothing if nobody is on record as having looked:
// no check of the kind that would show the sign, in a section that is not marked
// as charted. An airway attempt, compressions and a drug speak for themselves.
func (v *effect) open(t *trial, sign *end, last end, first row, rates []rate, begin initial) bool {
	c := v.c
	if sign != nil {
		return v.lost(record.FirstEndAirwayAttempt, record.Airway) || v.lost(record.FirstEndCompressions, record.CompressionsDrugs)
	}
	if c.damaged(record.Assessments) {
		return true
	}
	switch last.code {
	case record.FirstEndObservationEnd:
		unplaced := c.is(record.DiedPlace, record.DiedPlaceBirth) && !c.has(record.DiedMin)
		if unplaced || c.damaged(record.Support) || v.lost(record.FirstEndAirwayAttempt, record.Airway) || v.lost(record.FirstEndCompressions, record.CompressionsDrugs) {
			return true
		}
	case record.FirstEndStopped:
		if v.lost(record.FirstEndAirwayAttempt, record.Airway) || v.lost(record.FirstEndCompressions, record.CompressionsDrugs) {
			return true
		}
	default:
		return false
	}
	if c.charted(record.Assessments) {
		return false
	}
	if begin.code == record.HrAtStartBelow100 {
		return len(rates) == 0 || last.before(t, rates[0].row)
	}
	for _, r := range v.looked {
		if t.notAfter(first, r) && !last.before(t, r) {
			return false
		}
	}
	return true
}

// lost says whether an end of this code may be in a row that was lost: the
// section is damaged and has no such row.
func (v *effect) lost(code uint8, s record.Section) bool {
	if !v.c.damaged(s) {
		return false
	}
	for _, e := range v.actions {
		if e.code == code || s == record.CompressionsDrugs && e.code == record.FirstEndDrug {
			return false
		}
	}
	return true
}

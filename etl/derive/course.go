package derive

import (
	"math"
	"slices"

	"chestrise/etl/record"
)

// course is a document made ready for the verdicts: its rows by kind, without
// those of a later resuscitation unless the name says so.
type course struct {
	doc   *record.Document
	order *timeline // rows in the same clock minute are simultaneous
	wide  *timeline // rows in the same clock minute lie up to a minute apart; made when asked for
	loose bool      // a verdict was given up because too many orders are possible

	sections record.Sections // marked as charted and undamaged
}

// newCourse prepares a document.
func newCourse(d *record.Document) *course {
	c := &course{doc: d, order: newTimeline(d, true)}
	if c.order == nil {
		c.loose = true
	} else {
		c.order.markLater()
	}
	for s, f := range map[record.Section]record.Field{
		record.Assessments: record.ChartedAssessments, record.Support: record.ChartedSupport,
		record.Steps: record.ChartedSteps, record.Airway: record.ChartedAirway,
		record.CompressionsDrugs: record.ChartedCompressionsDrugs, record.Cord: record.ChartedCord,
		record.Temperature: record.ChartedTemperature, record.Team: record.ChartedTeam,
	} {
		if c.is(f, record.Yes) && !d.Damaged.Has(s) {
			c.sections = c.sections.With(s)
		}
	}
	return c
}

// markLater marks the rows of the groups that the source names a later
// resuscitation. Where such a row has a time since birth of at most 20 minutes,
// the time decides, since ventilation counts anywhere in the hospital.
func (tl *timeline) markLater() {
	groups := map[int32]bool{}
	for _, r := range tl.rows {
		if r.Kind == record.LaterResuscitation && r.Grouped {
			groups[r.Group] = true
		}
	}
	for i := range tl.rows {
		r := &tl.rows[i]
		r.later = r.Grouped && groups[r.Group] && (!r.Timed || !r.Clock.FromBirth() || r.At > windowS)
	}
}

// windowS is the delivery room's window: what begins later than 20 minutes after
// birth is a later resuscitation.
const windowS = 1200

// lengths returns the timeline on which lengths are judged, or nil.
func (c *course) lengths() *timeline {
	if c.wide == nil {
		readings := map[reading]bool{}
		c.wide = c.order
		for _, r := range c.order.rows {
			if !r.minute {
				continue
			}
			key := reading{r.Clock, r.At}
			if readings[key] {
				if c.wide = newTimeline(c.doc, false); c.wide == nil {
					c.loose = true
					return nil
				}
				c.wide.markLater()
				break
			}
			readings[key] = true
		}
	}
	return c.wide
}

// explore runs a verdict over all placements on the given timeline. It returns
// false, and notes it, where that is too much.
func (c *course) explore(tl *timeline, verdict func(*trial)) bool {
	if tl == nil || !explore(tl.base, verdict) {
		c.loose = true
		return false
	}
	return true
}

// is says whether a field of codes holds this one.
func (c *course) is(f record.Field, code uint8) bool {
	v := c.doc.Newborn[f]
	return v.State == record.Recorded && v.Code == code
}

// has says whether a field holds a usable value.
func (c *course) has(f record.Field) bool { return c.doc.Newborn[f].State == record.Recorded }

// charted says whether a blank in the section means "not done".
func (c *course) charted(s record.Section) bool { return c.sections.Has(s) }

// damaged says whether the section lost a row or a value.
func (c *course) damaged(s record.Section) bool { return c.doc.Damaged.Has(s) }

// of returns the rows of a kind with one of the codes (none: any), without those
// of a later resuscitation.
func (tl *timeline) of(k record.Kind, codes ...record.EventCode) []row {
	var out []row
	for _, r := range tl.rows {
		if r.Kind == k && !r.later && among(r.Code, codes) {
			out = append(out, r)
		}
	}
	return out
}

// any says whether there is a row of the kind and codes at all, later ones included.
func (tl *timeline) any(k record.Kind, codes ...record.EventCode) bool {
	for _, r := range tl.rows {
		if r.Kind == k && among(r.Code, codes) {
			return true
		}
	}
	return false
}

func among(code record.EventCode, codes []record.EventCode) bool {
	if slices.Contains(codes, code) {
		return true
	}
	return len(codes) == 0
}

// attribute returns the code of the attribute of a row: the row of that kind in
// the same group and, where it has a time, at the same one. 0: none on record, or
// two that differ.
func (c *course) attribute(r row, k record.Kind) record.EventCode {
	var found record.EventCode
	if !r.Grouped {
		return 0
	}
	for i := range c.doc.Events {
		e := &c.doc.Events[i]
		if e.Kind != k || !e.Grouped || e.Group != r.Group || e.Timed && (!r.Timed || e.At != r.At || e.Clock != r.Clock) {
			continue
		}
		if found != 0 && found != e.Code {
			return 0
		}
		found = e.Code
	}
	return found
}

// birth is the point of complete birth on the row's clock, late the point from
// which limits of five minutes or more are counted.
func (tl *timeline) birth(r row) point { return tl.frames[r.Clock].birth }
func (tl *timeline) late(r row) point  { return tl.frames[r.Clock].late }

// reading is a heart rate as an interval: a band, or a value with both ends alike.
type rate struct {
	row
	lo, hi float64
	valued bool // a value, not a band
}

// bands are the heart rates that a band code stands for.
var bands = map[record.EventCode][2]float64{
	record.HRAbsent: {0, 0}, record.HRBelow60: {1, 59}, record.HR60To99: {60, 99}, record.HR100OrMore: {100, math.Inf(1)},
}

// rates returns the known heart rates: values, bands and absent. A row without a
// value, or a sensor without a reading, is none.
func (tl *timeline) rates() []rate {
	var out []rate
	for _, r := range tl.of(record.HeartRate) {
		band, banded := bands[r.Code]
		switch {
		case r.Code == record.HRNoReading:
		case r.Valued:
			out = append(out, rate{r, r.Value, r.Value, !banded})
		case banded:
			out = append(out, rate{r, band[0], band[1], false})
		}
	}
	return out
}

// yesNo, code and number make facts.
func yesNo(yes bool) record.Value {
	if yes {
		return code(record.Yes)
	}
	return code(record.No)
}

// code makes a coded fact; 0 is blank.
func code(c uint8) record.Value {
	if c == 0 {
		return record.Value{}
	}
	return record.Value{State: record.Recorded, Code: c}
}

func number(x float64) record.Value { return record.Value{State: record.Recorded, Number: x} }

// coded returns the code of a recorded fact, 0 for a blank.
func coded(v record.Value) uint8 {
	if v.State != record.Recorded {
		return 0
	}
	return v.Code
}

// put writes an interval into a pair of facts. An end that nothing bounds, or
// that the dictionary has no room for, stays blank.
func put(f *record.Facts, lo, hi record.Fact, s span) {
	if !s.some {
		return
	}
	if s.down != unbounded {
		f[lo] = fitting(lo, -s.down.seconds())
	}
	if s.up != unbounded {
		f[hi] = fitting(hi, s.up.seconds())
	}
}

func fitting(f record.Fact, x float64) record.Value {
	if spec := record.FactSpecs[f]; x < spec.Min || x > spec.Max {
		return record.Value{}
	}
	return number(x + 0) // no negative zero
}

// same collects the codes of the trials: agreed returns the one they all gave.
type same struct {
	some bool
	code uint8
	many bool
}

func (s *same) add(code uint8) {
	s.many = s.many || s.some && s.code != code
	s.some, s.code = true, code
}

// agreed returns the code all trials gave, 0 where they differ or gave none.
func (s *same) agreed() uint8 {
	if s.many {
		return 0
	}
	return s.code
}

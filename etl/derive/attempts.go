package derive

import "chestrise/etl/record"

// Windows of a tube attempt, in seconds, and the fall that is severe whatever the
// other attempts did, in points of saturation.
const (
	fallBeforeS = 60
	fallAfterS  = 60
	severeFall  = 20
)

// outcomeOf returns the outcome of an attempt: placed also where the tube was
// later dislodged, failed, or 0 if not recorded.
func (c *course) outcomeOf(begun row) record.EventCode {
	var found record.EventCode
	for i := range c.doc.Events {
		e := &c.doc.Events[i]
		if e.Kind != record.Outcome || !e.Grouped || !begun.Grouped || e.Group != begun.Group {
			continue
		}
		if e.Code == record.OutcomePlaced || e.Code == record.OutcomeDislodged {
			return record.OutcomePlaced
		}
		found = e.Code
	}
	return found
}

// attempts derives the first series of tube attempts begun within 15 minutes of
// birth: it ends with the first tube placed. An attempt lasts from blade in to
// blade out. The fall of saturation is the largest one known; where an attempt
// has no reading on either side and no other fell by 20 points, it is blank.
func attempts(c *course, f *record.Facts) {
	if coded(f[record.FactTube]) != record.TubeYes || c.order == nil {
		return
	}
	tl := c.lengths()
	if tl == nil {
		return
	}
	a := tried{c: c, tl: tl, begun: tl.of(record.AirwayBegun, record.AttemptTube), ended: tl.of(record.AirwayEnded, record.AttemptTube), read: tl.readings()}
	if len(a.begun) == 0 {
		return
	}
	var count, reason, placed same
	var longest span
	if !c.explore(tl, func(t *trial) {
		series, known := a.series(t)
		if len(series) == 0 {
			count.add(0)
			return
		}
		reason.add(uint8(c.attribute(series[0], record.Reason)))
		switch c.outcomeOf(series[0]) {
		case record.OutcomePlaced:
			placed.add(record.Yes)
		case record.OutcomeFailed:
			placed.add(record.No)
		default:
			placed.add(0)
		}
		if !known {
			count.add(0)
			return
		}
		count.add(uint8(min(len(series), 30)))
		longest.join(a.longest(t, series))
	}) {
		return
	}
	f[record.FactTubeReason] = code(reason.agreed())
	f[record.FactFirstTubePlaced] = code(placed.agreed())
	if n := count.agreed(); n > 0 {
		f[record.FactTubeAttempts] = number(float64(n))
		put(f, record.FactLongestAttemptLo, record.FactLongestAttemptHi, longest)
		var fall values
		if c.explore(tl, func(t *trial) {
			series, _ := a.series(t)
			fall.add(a.fall(t, series))
			t.enough = fall.none || fall.many // then no fall can be told
		}) {
			f[record.FactSaturationFall] = fall.agreed()
		}
	}
}

type tried struct {
	c                  *course
	tl                 *timeline
	begun, ended, read []row
}

// series returns the attempts of the first series in order. It is not known where
// an attempt without an outcome is followed by another.
func (a *tried) series(t *trial) (series []row, known bool) {
	for _, r := range sorted(t, a.begun, itself) {
		if !a.tl.soon(t, r, tubeS) {
			break
		}
		if n := len(series); n > 0 && a.c.outcomeOf(series[n-1]) == 0 {
			return series, false
		}
		series = append(series, r)
		if a.c.outcomeOf(r) == record.OutcomePlaced {
			break
		}
	}
	return series, true
}

// end returns the row that ends an attempt, or nil.
func (a *tried) end(t *trial, begun row) *row {
	for i := range a.ended {
		e := &a.ended[i]
		if e.Grouped && begun.Grouped && e.Group == begun.Group && t.notAfter(begun, *e) {
			return e
		}
	}
	return nil
}

func (a *tried) longest(t *trial, series []row) span {
	s := span{some: true, up: atMost(0), down: atMost(0)}
	for _, r := range series {
		e := a.end(t, r)
		if e == nil {
			s.up = unbounded
			continue
		}
		l := t.length(r, *e)
		s.up, s.down = max(s.up, l.up), min(s.down, l.down)
	}
	return s
}

// fall returns the largest fall of saturation as the value of a row, or nil.
func (a *tried) fall(t *trial, series []row) *row {
	var most *float64
	complete := true
	for _, r := range series {
		var high, low *float64
		out := a.end(t, r)
		for _, s := range a.read {
			if t.within(r.at, s.at, fallBeforeS) && t.notAfter(s, r) && (high == nil || s.Value > *high) {
				high = &s.Value
			}
			if out != nil && t.notAfter(r, s) && t.within(s.at, out.at, fallAfterS) && (low == nil || s.Value < *low) {
				low = &s.Value
			}
		}
		if high == nil || low == nil {
			complete = false
			continue
		}
		if fell := *high - *low; most == nil || fell > *most {
			most = &fell
		}
	}
	if most == nil || !complete && *most < severeFall {
		return nil
	}
	return &row{Event: &record.Event{Value: *most}}
}

// secondDevice derives, where mask ventilation was failing and a supraglottic
// airway was tried or a tube attempt failed, whether the supraglottic airway was
// tried before a second tube attempt. Only attempts within 15 minutes of birth
// count; a reason not recorded leaves it blank.
func secondDevice(c *course, f *record.Facts) {
	tl := c.order
	if tl == nil {
		return
	}
	begun := tl.of(record.AirwayBegun)
	if len(begun) == 0 {
		return
	}
	var verdict same
	if c.explore(tl, func(t *trial) { verdict.add(c.supraglotticFirst(t, begun)) }) {
		f[record.FactSupraglotticBeforeSecondTube] = code(verdict.agreed())
	}
}

func (c *course) supraglotticFirst(t *trial, begun []row) uint8 {
	var failing, tried, failed, before bool
	tubes := 0
	for _, r := range sorted(t, begun, itself) {
		if !c.order.soon(t, r, tubeS) {
			break
		}
		failing = failing || c.attribute(r, record.Reason) == record.ReasonMaskVentilationFailing
		if r.Code == record.AttemptSupraglottic {
			tried = true
			before = before || tubes < 2
			continue
		}
		tubes++
		failed = failed || c.outcomeOf(r) == record.OutcomeFailed
	}
	if !failing || !tried && !failed {
		return 0
	}
	return coded(yesNo(before))
}

// leaving derives whether a tube was placed or attempted within 15 minutes of
// birth or before leaving the place of birth, whichever is later.
func leaving(c *course, f *record.Facts) {
	tube := coded(f[record.FactTube])
	switch {
	case tube == record.TubeYes, c.is(record.SupportOnLeaving, record.SupportOnLeavingTube):
		f[record.FactTubeBeforeLeaving] = yesNo(true)
	case tube == record.TubeNo:
		f[record.FactTubeBeforeLeaving] = yesNo(false)
	case c.has(record.LeftMin) && c.order != nil:
		rows := c.order.of(record.AirwayBegun, record.AttemptTube)
		limit := max(tubeS, int32(c.doc.Newborn[record.LeftMin].Number*60))
		if verdict, ok := c.window(rows, limit); ok && len(rows) > 0 && verdict != 0 {
			f[record.FactTubeBeforeLeaving] = yesNo(verdict == 1)
		} else if len(rows) == 0 && tube == record.TubeLater {
			f[record.FactTubeBeforeLeaving] = yesNo(false)
		}
	}
}

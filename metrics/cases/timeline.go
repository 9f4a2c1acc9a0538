package cases

import "chestrise/etl/record"

// Zero says from what the seconds of a timeline count.
type Zero uint8

// The zeros.
const (
	FromBirth Zero = iota // complete birth
	OwnClock              // a clock whose zero is not birth, or not known
)

// LaneID names a lane of a timeline.
type LaneID uint8

// The lanes, in the order in which they are drawn.
const (
	TeamLane LaneID = iota
	BreathingLane
	HeartRateLane
	SaturationLane
	OxygenLane
	SupportLane
	ChestLane
	StepsLane
	AirwayLane
	CompressionsLane
	DrugsLane
	CordLane
	WarmthLane
	OutcomeLane
	numLanes
)

var laneNames = [numLanes]string{
	"Team", "Breathing", "Heart rate", "Saturation", "Oxygen", "Support", "Chest and CO₂", "Corrective steps", "Airway attempts", "Compressions", "Drugs, volume", "Cord", "Warmth", "Outcome",
}

var laneSections = [numLanes]record.Section{
	record.Team, record.Assessments, record.Assessments, record.Assessments, record.Support, record.Support, record.Assessments,
	record.Steps, record.Airway, record.CompressionsDrugs, record.CompressionsDrugs, record.Cord, record.Temperature, record.NoSection,
}

// Time is where on the axis a record stands: at the typed second, possible from
// Lo to Hi. An exact time has Lo = At = Hi.
type Time struct{ At, Lo, Hi float64 }

// Exact says whether the time is a point.
func (t Time) Exact() bool { return t.Lo == t.Hi }

// Words writes the time: "94 s", "between 75 and 105 s".
func (t Time) Words() string {
	if t.Exact() {
		return seconds(t.At)
	}
	if t.Hi < 600 {
		return number(t.Lo) + "–" + number(t.Hi) + " s"
	}
	return seconds(t.Lo) + "–" + seconds(t.Hi)
}

// Mark is something that happened at a time.
type Mark struct {
	Time  Time
	Words string
}

// Span is something that went on. A missing end is not on record.
type Span struct {
	From, To *Time
	Kind     uint8  // of a support lane: the code of record.SupportBegun; otherwise 0
	Words    string // what it was
	Detail   string // device, interface, pressures; empty: none on record
	Goes     bool   // ended by a change of device or interface, not by an end
}

// Reading is a measured value, a band, or a sensor without a value.
type Reading struct {
	Time      Time
	Has       bool    // Value is one
	Value     float64 // /min or %
	Banded    bool    // Low to High is known, no value
	Low, High float64
	Way       string   // how it was taken; empty: not recorded
	Until     *float64 // of oxygen: how long it certainly stood
}

// Lane is one line of a timeline.
type Lane struct {
	ID       LaneID
	Name     string
	Marks    []Mark
	Spans    []Span
	Readings []Reading
	Notes    []string // what belongs to the lane and has no place on the axis
	Absent   string   // why there is nothing; empty: there is something
}

// Empty says whether nothing at all is on record in the lane.
func (l *Lane) Empty() bool { return len(l.Marks)+len(l.Spans)+len(l.Readings)+len(l.Notes) == 0 }

// Drawn says whether something stands on the axis.
func (l *Lane) Drawn() bool { return len(l.Marks)+len(l.Spans)+len(l.Readings) > 0 }

// Timeline is what is on record of one newborn, on one axis of seconds.
type Timeline struct {
	Zero    Zero
	Axis    string // what the seconds count from
	Caption string // what a reader must know of the times
	Lanes   []Lane // all of them, in order
	Band    []BandPoint
	BandIs  string // name and source of the band; empty: no band is drawn
	Records int    // events on the axis
	Untimed int    // events on record without a place on the axis
	Vague   int    // events on the axis whose time is an interval
	Nothing string // the sentence where nothing is on record; empty otherwise
	Ended   string // death, where it is all that is on record or ends the line; empty otherwise
}

// Lane returns a lane.
func (t *Timeline) Lane(id LaneID) *Lane { return &t.Lanes[id] }

// placer puts the events of a document on an axis.
type placer struct {
	d        *record.Document
	s        *Settings
	t        *Timeline
	on       [len(record.Clocks)]bool // clocks whose seconds the axis shows
	unread   [len(record.Clocks)]bool
	birth    record.Value // unit of the birth's own reading
	attached map[int][]int
}

func newTimeline(d *record.Document, s *Settings) Timeline {
	t := Timeline{Zero: FromBirth, Axis: "", Caption: "", Lanes: make([]Lane, numLanes), Band: nil, BandIs: "", Records: 0, Untimed: 0, Vague: 0, Nothing: "", Ended: ""}
	for i := range t.Lanes {
		t.Lanes[i] = Lane{ID: LaneID(i), Name: laneNames[i], Marks: nil, Spans: nil, Readings: nil, Notes: nil, Absent: ""}
	}
	p := &placer{d: d, s: s, t: &t, on: [len(record.Clocks)]bool{}, unread: d.Contradictory(), birth: d.Newborn[record.BirthTimeUnitS], attached: attributes(d)}
	p.chooseClock()
	p.events()
	p.spans()
	p.fields()
	p.absent()
	p.caption()
	return t
}

// fromBirth says whether a clock counts from complete birth.
func (p *placer) fromBirth(c record.Clock) bool { return c.FromBirth() && !p.unread[c] }

// chooseClock takes the clock with the most rows; what stands on another clock
// keeps its words and loses its place, since nothing is inferred across clocks.
// The birth clock and another sheet's share their zero, complete birth.
func (p *placer) chooseClock() {
	var rows [len(record.Clocks)]int
	birth := 0
	for i := range p.d.Events {
		e := &p.d.Events[i]
		if !e.Timed || record.Events[e.Kind].Attribute {
			continue
		}
		if p.fromBirth(e.Clock) {
			birth++
		} else {
			rows[e.Clock]++
		}
	}
	best := record.ClockUnknown
	for c := range rows {
		if rows[c] > rows[best] {
			best = record.Clock(c)
		}
	}
	if rows[best] > birth {
		p.t.Zero = OwnClock
		p.on[best] = true
		switch {
		case best == record.ClockWarmer:
			p.t.Axis = "seconds on a timer started at the warmer"
			p.t.Caption = "Order known, seconds not: these times are from a timer started at the warmer, and when it started after birth is not recorded."
		case p.unread[best]:
			p.t.Axis = "seconds on a clock whose zero is not known"
			p.t.Caption = "Order known, seconds not: by this clock the cord was clamped after ventilation had begun, with no set-up for that, so it cannot have started at birth."
		default:
			p.t.Axis = "seconds on a clock whose zero is not known"
			p.t.Caption = "Order known, seconds not: it is not recorded from what the clock of these times counts."
		}
		return
	}
	p.t.Axis = "seconds from complete birth"
	for c := range p.on {
		p.on[c] = p.fromBirth(record.Clock(c))
	}
}

// time gives an event's place; false: it has none on this axis.
func (p *placer) time(e *record.Event) (Time, bool) {
	if !e.Timed || !p.on[e.Clock] {
		return nowhere, false
	}
	at := float64(e.At)
	halves, minute := e.Precision()
	room := float64(halves) / 2
	if minute {
		room = 60
	}
	if p.t.Zero == FromBirth {
		switch p.birth.Number {
		case 30:
			room += 15
		case 60:
			room = max(room, 60)
		}
	}
	t := Time{At: at, Lo: at - room, Hi: at + room}
	if p.t.Zero == FromBirth && at >= 0 {
		t.Lo = max(t.Lo, 0)
	}
	return t, true
}

// elsewhere says in words what has no place on the axis.
func (p *placer) elsewhere(e *record.Event, words string) string {
	if !e.Timed {
		return words + ", time not recorded"
	}
	at := seconds(float64(e.At))
	switch {
	case p.fromBirth(e.Clock):
		return words + ", " + at + " from birth on another record"
	case e.Clock == record.ClockWarmer:
		return words + ", " + at + " on a timer started at the warmer"
	}
	return words + ", " + at + " on a clock whose zero is not known"
}

// mark puts an event into a lane, on the axis or in words.
func (p *placer) mark(lane LaneID, e *record.Event, words string) {
	l := p.t.Lane(lane)
	if t, ok := p.time(e); ok {
		l.Marks = append(l.Marks, Mark{Time: t, Words: words})
		p.counted(t)
		return
	}
	p.t.Untimed++
	l.Notes = append(l.Notes, p.elsewhere(e, words))
}

func (p *placer) counted(t Time) {
	p.t.Records++
	if !t.Exact() {
		p.t.Vague++
	}
}

func (p *placer) read(lane LaneID, e *record.Event, r Reading, words string) {
	l := p.t.Lane(lane)
	t, ok := p.time(e)
	if !ok {
		p.t.Untimed++
		l.Notes = append(l.Notes, p.elsewhere(e, words))
		return
	}
	r.Time = t
	l.Readings = append(l.Readings, r)
	p.counted(t)
}

// attributes lists, for every row that has some, the rows that describe it: those
// of its group at its time, else the last before them.
func attributes(d *record.Document) map[int][]int {
	out := map[int][]int{}
	for i := range d.Events {
		a := &d.Events[i]
		if !record.Events[a.Kind].Attribute || !a.Grouped {
			continue
		}
		best := -1
		for k := range d.Events {
			e := &d.Events[k]
			if !e.Grouped || e.Group != a.Group || !describes(a.Kind, e.Kind) || e.Clock != a.Clock {
				continue
			}
			switch {
			case e.Timed && a.Timed && e.At > a.At:
			case best < 0, e.At == a.At && d.Events[best].At != a.At, e.At > d.Events[best].At:
				best = k
			}
		}
		if best >= 0 {
			out[best] = append(out[best], i)
		}
	}
	return out
}

// describes says to what kind of row an attribute belongs.
func describes(a, e record.Kind) bool {
	switch a { //nolint:exhaustive // the other attributes describe support
	case record.Reason, record.Operator, record.Scope, record.TubeSize, record.Depth:
		return e == record.AirwayBegun
	case record.Outcome, record.Confirmed:
		return e == record.AirwayBegun || e == record.AirwayEnded
	}
	return e == record.SupportBegun
}

// attribute returns the first row of a kind among those that describe row i.
func (p *placer) attribute(i int, k record.Kind) *record.Event {
	if i < 0 {
		return nil
	}
	for _, a := range p.attached[i] {
		if p.d.Events[a].Kind == k {
			return &p.d.Events[a]
		}
	}
	return nil
}

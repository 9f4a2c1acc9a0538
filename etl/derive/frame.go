package derive

import "chestrise/etl/record"

// frame is what is known of one clock: the point of its zero, and the points
// from which time since birth is counted.
type frame struct {
	used  bool
	zero  point
	birth point // complete birth; bound to nothing where the clock does not start at birth
	late  point // from which limits of five minutes or more are counted: birth, or the zero of any other clock
}

// row is an event with its point.
type row struct {
	*record.Event
	at     point
	minute bool // a reading of whole clock minutes
	nth    int  // place in the order of rows
	later  bool // belongs to a resuscitation later than 20 minutes after birth, or elsewhere
}

// timeline places the events of a document. The zone knows nothing between
// different clocks.
type timeline struct {
	base   *zone
	frames [len(record.Clocks)]frame
	rows   []row // in row order, attributes left out
	free   point // a time of which nothing is known
}

// maxNodes bounds the times of one document that are placed separately.
const maxNodes = 160

// newTimeline places the events of a document. With simultaneous, rows in the
// same minute of one clock have the same time, as the order of events is judged;
// without, they may lie up to a minute apart. It returns nil where there are more
// imprecise times than can be placed.
func newTimeline(d *record.Document, simultaneous bool) *timeline {
	tl := &timeline{}
	b := builder{simultaneous: simultaneous, minutes: map[reading]int{}}
	b.document(d, tl)
	if b.nodes > maxNodes {
		return nil
	}
	tl.base = newZone(b.nodes, b.limits)
	return tl
}

// reading is a whole-minute reading of a clock.
type reading struct {
	clock record.Clock
	at    int32
}

type builder struct {
	simultaneous bool
	nodes        int
	limits       []limit
	minutes      map[reading]int
	unread       [len(record.Clocks)]bool // clocks that contradict themselves
}

func (b *builder) node() int {
	b.nodes++
	return b.nodes - 1
}

// limit imposes p - q <= v; it shifts the points' offsets away.
func (b *builder) limit(p, q point, v bound) {
	if p.node != q.node {
		b.limits = append(b.limits, limit{p.node, q.node, v.shift(q.off - p.off)})
	}
}

func (b *builder) document(d *record.Document, tl *timeline) {
	b.unread = d.Contradictory()
	before := d.Newborn[record.BegunBeforeBirth].Code == record.Yes
	birthUnit := d.Newborn[record.BirthTimeUnitS]
	for i := range d.Events {
		e := &d.Events[i]
		if record.Events[e.Kind].Attribute {
			continue
		}
		f := &tl.frames[e.Clock]
		if !f.used {
			b.frame(f, e.Clock, birthUnit)
		}
		r := row{Event: e, nth: i}
		b.place(&r, f)
		if e.Timed {
			b.fromBirth(&r, f, birthUnit, before)
		}
		tl.rows = append(tl.rows, r)
	}
	b.order(tl.rows)
	tl.free = point{node: b.node()}
}

// frame makes the nodes of a clock. Birth shares the node of the clock's zero
// unless its own reading is imprecise or the clock does not start there.
func (b *builder) frame(f *frame, c record.Clock, birthUnit record.Value) {
	f.used = true
	f.zero = point{node: b.node()}
	f.birth, f.late = f.zero, f.zero
	if !c.FromBirth() || b.unread[c] {
		f.birth = point{node: b.node()}
		return
	}
	switch birthUnit.Number {
	case 60:
		f.birth = point{node: b.node()}
	case 30:
		f.birth = point{node: b.node()}
		b.limit(f.zero, f.birth, atMost(30))
		b.limit(f.birth, f.zero, atMost(30))
	}
	f.late = f.birth
}

// place gives a row its point: on the zero's node if exact, on the node of its
// minute if such rows are simultaneous, else on a node of its own.
func (b *builder) place(r *row, f *frame) {
	if !r.Timed {
		r.at = point{node: b.node()}
		return
	}
	s := slackOf(r.Event)
	typed := point{f.zero.node, 2 * r.At}
	r.minute = s.minute
	if s.exact() {
		r.at = typed
		return
	}
	key := reading{r.Clock, r.At}
	n, known := b.minutes[key]
	if s.minute && b.simultaneous && known {
		r.at = point{node: n}
		return
	}
	r.at = point{node: b.node()}
	if s.minute {
		b.minutes[key] = r.at.node
	}
	b.around(r.at, typed, s.apart(slack{}))
}

// around bounds p to both sides of q.
func (b *builder) around(p, q point, v bound) {
	b.limit(p, q, v)
	b.limit(q, p, v)
}

// fromBirth bounds a row's time since birth: within a minute, both ends open,
// where birth itself was read to the minute, and not before birth unless
// ventilation was begun with the cord attached before complete birth.
func (b *builder) fromBirth(r *row, f *frame, birthUnit record.Value, before bool) {
	zero := f.zero
	if r.Clock.FromBirth() && !b.unread[r.Clock] {
		zero = f.birth
		if birthUnit.Number == 60 {
			b.around(r.at, point{zero.node, 2 * r.At}, lessThan(minuteHalves))
		}
	}
	if r.At >= 0 && (!before || r.Kind != record.SupportBegun) {
		b.limit(zero, r.at, atMost(0))
	}
}

// order bounds the rows of one clock to one another: whole-minute readings share
// their minute's bounds, and no row comes before one typed earlier, nor before an
// earlier row of the same kind typed alike.
func (b *builder) order(rows []row) {
	for i := range rows {
		for j := range i {
			p, q := &rows[j], &rows[i]
			if !p.Timed || !q.Timed || p.Clock != q.Clock || p.at.node == q.at.node {
				continue
			}
			if p.At > q.At {
				p, q = q, p
			}
			if p.minute && q.minute {
				b.limit(q.at, point{p.at.node, 2 * (q.At - p.At)}, lessThan(minuteHalves))
				b.limit(point{p.at.node, 2 * (q.At - p.At)}, q.at, lessThan(minuteHalves))
			}
			if p.At < q.At || p.Kind == q.Kind && !p.minute && !q.minute {
				b.limit(p.at, q.at, atMost(0))
			}
		}
	}
}

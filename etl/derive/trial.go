package derive

// point is a time: so many half seconds after a node of the zone. Times that are
// known exactly from one another share a node.
type point struct {
	node int
	off  int32
}

// after returns the point so many seconds later.
func (p point) after(seconds int32) point { return point{p.node, p.off + 2*seconds} }

// trial is one way in which the recorded times may have fallen. A verdict asks
// it questions; a question that the times do not decide is answered both ways,
// in this trial and in another one.
type trial struct {
	zone   zone
	script []bool // answers to the undecided questions, in the order in which they are asked
	asked  int
	pairs  []pair // answers on rows in the same clock minute
	enough bool   // set by a verdict that no further trial can change
}

// maxTrials bounds the trials of one verdict. A record that needs more has its
// verdict left blank and says so in order_loose.
const maxTrials = 1024

// explore runs the verdict once for every combination of answers that some
// placement of the times gives, or until the verdict has heard enough. It
// returns false where there are too many.
func explore(base *zone, verdict func(*trial)) bool {
	var t trial
	for range maxTrials {
		t.zone.copyFrom(base)
		t.asked = 0
		t.pairs = t.pairs[:0]
		verdict(&t)
		if t.enough {
			return true
		}
		last := len(t.script) - 1
		for last >= 0 && !t.script[last] {
			last--
		}
		if last < 0 {
			return true
		}
		t.script = t.script[:last+1]
		t.script[last] = false
	}
	return false
}

// either answers a question on which the times say nothing.
func (t *trial) either() bool {
	if t.asked == len(t.script) {
		t.script = append(t.script, true)
	}
	t.asked++
	return t.script[t.asked-1]
}

// holds says whether p - q keeps the bound.
func (t *trial) holds(p, q point, b bound) bool {
	b = b.shift(q.off - p.off)
	i, j := p.node, q.node
	if i == j {
		return atMost(0) <= b
	}
	if t.zone.at(i, j) <= b {
		return true
	}
	if t.zone.at(j, i) <= b.refuted() {
		return false
	}
	if t.either() {
		t.zone.impose(i, j, b)
		return true
	}
	t.zone.impose(j, i, b.refuted())
	return false
}

// within says whether p is at most so many seconds after q.
func (t *trial) within(p, q point, seconds int32) bool { return t.holds(p, q, atMost(2*seconds)) }

// less says whether p is less than so many seconds after q.
func (t *trial) less(p, q point, seconds int32) bool { return t.holds(p, q, lessThan(2*seconds)) }

// span is an interval of seconds, built up over trials. The zero span is empty.
type span struct {
	some     bool
	up, down bound // of the value, and of its negative
}

// between is the span of p - q in this trial.
func (t *trial) between(p, q point) span {
	off := p.off - q.off
	return span{some: true, up: t.zone.at(p.node, q.node).shift(off), down: t.zone.at(q.node, p.node).shift(-off)}
}

// join widens the span to hold the other too.
func (s *span) join(o span) {
	switch {
	case !o.some:
	case !s.some:
		*s = o
	default:
		s.up, s.down = max(s.up, o.up), max(s.down, o.down)
	}
}

// cutBelow raises the lower end to at least so many seconds.
func (s span) cutBelow(seconds int32) span {
	s.down = min(s.down, atMost(-2*seconds))
	return s
}

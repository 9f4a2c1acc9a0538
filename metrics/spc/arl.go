package spc

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"

	"chestrise/metrics/dist"
)

// RunLength gives the average run length (ARL) of a rule set on independent normal
// points whose mean has moved by shift sigma: the mean number of points to the
// first signal, started without history. The value is exact up to rounding: a Markov
// chain over everything the rules need to remember, found by following every zone a
// point can fall in.
//
// Rules that compare values with each other (trends, alternation) have no finite
// memory in zones, and the run-chart rules need the number of points: both are
// errors, see SimulatedRunLength. A set without rules is an error: it never signals.
// Source: Champ & Woodall, Technometrics 29 (1987) 393-399.
func RunLength(set RuleSet, shift float64) (float64, error) {
	if !usable(shift) {
		return 0, fmt.Errorf("run length: shift %v", shift)
	}
	m, err := newMemoryOf(set)
	if err != nil {
		return 0, err
	}
	return m.arl(shift)
}

// zones are the eight bands between the lines at 0, 1, 2 and 3 sigma, from below -3
// to above 3.
var zoneEdges = []float64{-3, -2, -1, 0, 1, 2, 3}

// zoneProbabilities are the chances of the eight bands after a shift.
func zoneProbabilities(shift float64) [8]float64 {
	var p [8]float64
	for z := range p {
		switch {
		case z == 0:
			p[z] = dist.NormalCDF(zoneEdges[0] - shift)
		case z == 7:
			p[z] = dist.NormalTail(zoneEdges[6] - shift)
		case zoneEdges[z-1]-shift > 0:
			p[z] = dist.NormalTail(zoneEdges[z-1]-shift) - dist.NormalTail(zoneEdges[z]-shift)
		default:
			p[z] = dist.NormalCDF(zoneEdges[z]-shift) - dist.NormalCDF(zoneEdges[z-1]-shift)
		}
	}
	return p
}

// memoryOf is the finite memory of a rule set: its states and where each zone leads.
type memoryOf struct {
	rules []Rule
	next  [][8]int // state, zone -> state; -1 is a signal
}

// history is what a state remembers: the run on one side, the runs inside and
// outside one sigma, and for each zone rule the last m-1 points beyond its zone
// above and below, newest in the lowest bit.
type history struct {
	run, inner, outer int8
	above, below      [4]uint16
}

func newMemoryOf(set RuleSet) (*memoryOf, error) {
	ids := set.Rules
	if ids == nil {
		ids = ruleSets["default"]
	}
	m := &memoryOf{}
	zoned := 0
	for _, id := range ids {
		r, ok := RuleByID(id)
		if !ok {
			return nil, fmt.Errorf("run length: rule %q is not known", id)
		}
		switch r.class {
		case beyond, sideRun, inner, outer:
		case zone:
			if zoned++; zoned > 4 {
				return nil, errors.New("run length: more than four zone rules")
			}
		default:
			return nil, fmt.Errorf("run length: the rule %q has no finite memory\nhint: simulate it", id)
		}
		m.rules = append(m.rules, r)
	}
	if len(m.rules) == 0 {
		return nil, errors.New("run length: no rules, so no signal ever")
	}
	index := map[history]int{{}: 0}
	todo := []history{{}}
	for len(todo) > 0 {
		h := todo[0]
		todo = todo[1:]
		var to [8]int
		for z := range to {
			g, signal := m.step(h, z)
			if signal {
				to[z] = -1
				continue
			}
			i, ok := index[g]
			if !ok {
				i = len(index)
				index[g] = i
				todo = append(todo, g)
			}
			to[z] = i
		}
		m.next = append(m.next, to)
	}
	return m, nil
}

// step adds one point in a zone to a history and says whether a rule is completed.
func (m *memoryOf) step(h history, z int) (history, bool) {
	side, level := Up, z-4 // level: whole sigmas from the centre, 0 to 3
	if z < 4 {
		side, level = Down, 3-z
	}
	signal := false
	zoned := 0
	for _, r := range m.rules {
		switch r.class {
		case beyond:
			signal = signal || level == 3
		case sideRun:
			n := int8(1)
			if h.run > 0 == (side == Up) && h.run != 0 {
				n += max(h.run, -h.run)
			}
			signal = signal || int(n) >= r.k
		case inner:
			signal = signal || level == 0 && int(h.inner)+1 >= r.k
		case outer:
			signal = signal || level >= 1 && int(h.outer)+1 >= r.k
		case zone:
			beyondZone := level >= int(r.zone)
			mask := uint16(1)<<(r.m-1) - 1
			up, down := h.above[zoned], h.below[zoned]
			if beyondZone && side == Up {
				signal = signal || onesIn(up)+1 >= r.k
			}
			if beyondZone && side == Down {
				signal = signal || onesIn(down)+1 >= r.k
			}
			h.above[zoned] = (up<<1 | bit(beyondZone && side == Up)) & mask
			h.below[zoned] = (down<<1 | bit(beyondZone && side == Down)) & mask
			zoned++
		default: // newMemoryOf has refused the classes without a finite memory
		}
	}
	h = m.advance(h, side, level)
	return h, signal
}

// advance moves the run lengths on, remembering no more than the rules ask for.
func (m *memoryOf) advance(h history, side Direction, level int) history {
	var run, in, out int8
	for _, r := range m.rules {
		switch r.class {
		case sideRun:
			run = max(run, int8(r.k))
		case inner:
			in = max(in, int8(r.k))
		case outer:
			out = max(out, int8(r.k))
		default: // beyond looks at one point; a zone rule keeps its own bits
		}
	}
	switch {
	case run == 0:
		h.run = 0
	case side == Up:
		h.run = min(max(h.run, 0)+1, run)
	default:
		h.run = max(min(h.run, 0)-1, -run)
	}
	if level == 0 && in > 0 {
		h.inner = min(h.inner+1, in)
	} else {
		h.inner = 0
	}
	if level >= 1 && out > 0 {
		h.outer = min(h.outer+1, out)
	} else {
		h.outer = 0
	}
	return h
}

func onesIn(v uint16) (n int) {
	for ; v > 0; v &= v - 1 {
		n++
	}
	return n
}

func bit(b bool) uint16 {
	if b {
		return 1
	}
	return 0
}

// arl adds up the chances that no signal has come by each point. Once the chances of
// the states no longer change in proportion the rest is a geometric series.
func (m *memoryOf) arl(shift float64) (float64, error) {
	p := zoneProbabilities(shift)
	state, next := make([]float64, len(m.next)), make([]float64, len(m.next))
	state[0] = 1
	alive, total, ratio, still := 1.0, 0.0, 0.0, 0
	for range 2000000 {
		total += alive
		clear(next)
		left := 0.0
		for i, q := range state {
			if q == 0 {
				continue
			}
			for z, to := range m.next[i] {
				if to >= 0 {
					next[to] += q * p[z]
					left += q * p[z]
				}
			}
		}
		state, next = next, state
		if left <= alive*1e-17 || left < 1e-300 {
			return total + left, nil
		}
		r := left / alive
		if math.Abs(r-ratio) < 1e-13 {
			still++
		} else {
			still = 0
		}
		alive, ratio = left, r
		if still >= 20 && 1-r > 1e-12 {
			return total + alive/(1-r), nil
		}
	}
	return 0, errors.New("run length: a signal is too rare to be followed")
}

// SimulatedRunLength estimates the average run length of any rule set of an
// individuals chart by simulation, with its standard error; the random source is
// given, so the same seed gives the same answer. Each run is cut at limit points,
// which makes the mean too small if many reach it; cut says how many did.
func SimulatedRunLength(rng *rand.Rand, set RuleSet, shift float64, runs, limit int) (arl, stdErr float64, cut int, err error) {
	if runs < 2 || limit < 1 {
		return 0, 0, 0, fmt.Errorf("run length: %d runs of at most %d points", runs, limit)
	}
	rules, _, err := choose(set, XmR, false)
	if err != nil {
		return 0, 0, 0, err
	}
	lengths := make([]float64, runs)
	const chunk = 64
	for i := range lengths {
		c := Chart{Kind: XmR, Rules: rules}
		lengths[i] = float64(limit)
		for done := false; !done && len(c.Points) < limit; {
			for range min(chunk, limit-len(c.Points)) {
				p := Point{X: len(c.Points), Value: rng.NormFloat64() + shift, Has: true}
				p.within(0, 1)
				c.Points = append(c.Points, p)
			}
			ph := Phase{From: 0, To: len(c.Points) - 1}
			for _, r := range rules {
				for _, s := range r.apply(c.Points, 0, ph) {
					if n := float64(s.At[0] + 1); n < lengths[i] || !done && n <= lengths[i] {
						lengths[i], done = n, true
					}
				}
			}
		}
		if lengths[i] == float64(limit) {
			cut++
		}
	}
	return mean(lengths), stdDev(lengths) / math.Sqrt(float64(runs)), cut, nil
}

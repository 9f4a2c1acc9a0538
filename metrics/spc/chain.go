package spc

import (
	"slices"

	"chestrise/metrics/dist"
)

// step holds the chances of one period: strictly beyond the upper or lower limit, and
// not beyond but above, below or on the centre.
type step struct{ upper, lower, above, below, on float64 }

// law gives the probabilities of 0, 1, 2, ... events in a period of n at a rate.
func (w Watch) law(n, rate float64) []float64 {
	if w.Kind == P || w.Kind == NP {
		out := make([]float64, int(n)+1)
		for k := range out {
			out[k] = dist.BinomialPMF(k, int(n), rate)
		}
		return out
	}
	m := rate * n
	out := make([]float64, dist.PoissonQuantile(1-1e-13, m)+2)
	for k := range out {
		out[k] = dist.PoissonPMF(k, m)
	}
	return out
}

// centre is a centre the baseline may give, with its probability.
type centre struct{ rate, weight float64 }

func (w Watch) centres(rate float64) []centre {
	if w.BaselineN == nil {
		return []centre{{rate: rate, weight: 1}}
	}
	total := 0.0
	for _, n := range w.BaselineN {
		if w.Kind == C {
			n = 1
		}
		total += n
	}
	if total == 0 {
		return []centre{{rate: rate, weight: 1}}
	}
	var out []centre
	add := func(k int, p float64) {
		if p > 1e-9 {
			out = append(out, centre{rate: float64(k) / total, weight: p})
		}
	}
	if w.Kind == P || w.Kind == NP {
		lo, hi := dist.BinomialQuantile(1e-7, int(total), rate), dist.BinomialQuantile(1-1e-7, int(total), rate)
		for k := lo; k <= hi; k++ {
			add(k, dist.BinomialPMF(k, int(total), rate))
		}
	} else {
		lo, hi := dist.PoissonQuantile(1e-7, rate*total), dist.PoissonQuantile(1-1e-7, rate*total)
		for k := lo; k <= hi; k++ {
			add(k, dist.PoissonPMF(k, rate*total))
		}
	}
	out = thin(out)
	sum := 0.0
	for _, c := range out {
		sum += c.weight
	}
	for i := range out {
		out[i].weight /= sum
	}
	return out
}

// thin groups neighbouring centres of a large baseline, so that no more than some
// two hundred are followed; a group keeps its total weight and mean rate.
func thin(in []centre) []centre {
	const most = 200
	if len(in) <= most {
		return in
	}
	size := (len(in) + most - 1) / most
	var out []centre
	for g := range slices.Chunk(in, size) {
		var c centre
		for _, x := range g {
			c.weight += x.weight
			c.rate += x.weight * x.rate
		}
		c.rate /= c.weight
		out = append(out, c)
	}
	return out
}

// step classifies every count a period can give against the limits that Plot would
// draw for it.
func (w Watch) step(n, rate float64, law []float64) step {
	var s step
	if n == 0 && w.Kind != C {
		return step{upper: 0, lower: 0, above: 0, below: 0, on: 1}
	}
	p := Point{N: n, Has: true}
	b := Baseline{Centre: rate}
	for k, prob := range law {
		p.num, p.Value = float64(k), float64(k)
		if w.Kind.ratio() {
			p.Value = float64(k) / n
		}
		if k == 0 {
			placeAttribute(w.Kind, &p, b, w.Limits)
		}
		switch p.beyondLimit() {
		case Up:
			s.upper += prob
			continue
		case Down:
			s.lower += prob
			continue
		default: // within the limits: its side counts
		}
		switch p.side() {
		case Up:
			s.above += prob
		case Down:
			s.below += prob
		default:
			s.on += prob
		}
	}
	return s
}

// run follows one centre. State r > 0 is a run of r above, r < 0 below; with k the
// length that signals. Absorbing: the chance of a first signal by each period is
// added up; otherwise the chance that a period completes a rule.
func (c centre) run(steps map[float64]step, sizes []float64, beyondRule bool, k int, want Direction, absorbing bool, total []float64) {
	if k == 0 {
		k = 1 << 20 // no rule of runs: the state never reaches it
	}
	width := min(k, 64)
	state := make([]float64, 2*width+1) // index r + width
	next := make([]float64, len(state))
	state[width] = 1
	done := 0.0
	for t := range total {
		s := steps[sizes[t%len(sizes)]]
		clear(next)
		completed := 0.0
		// move puts probability into the state after a point on a side; beyond tells
		// whether the point itself signals.
		move := func(r int, p float64, side Direction, isBeyond bool) {
			if p == 0 {
				return
			}
			to := r
			switch side {
			case Up:
				to = max(r, 0) + 1
			case Down:
				to = min(r, 0) - 1
			default: // on the centre: the run neither grows nor breaks
			}
			hit := isBeyond && beyondRule || side != Level && k <= width && (to >= k || to <= -k)
			if hit && (want == Level || side == want) {
				completed += p
				if absorbing {
					return
				}
			}
			next[min(max(to, -width), width)+width] += p
		}
		for i, p := range state {
			if p == 0 {
				continue
			}
			r := i - width
			move(r, p*s.upper, Up, true)
			move(r, p*s.lower, Down, true)
			move(r, p*s.above, Up, false)
			move(r, p*s.below, Down, false)
			move(r, p*s.on, Level, false)
		}
		state, next = next, state
		if absorbing {
			done += completed
			total[t] += c.weight * done
		} else {
			total[t] += c.weight * completed
		}
	}
}

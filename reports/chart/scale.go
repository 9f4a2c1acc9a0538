package chart

import "math"

// scale maps values to heights; ticks ascend.
type scale struct {
	min, max    float64
	step        float64
	ticks       []float64
	top, bottom float64 // millimetres, of max and of min
}

func (s scale) y(v float64) float64 {
	return s.bottom - (v-s.min)/(s.max-s.min)*(s.bottom-s.top)
}

// tickGap is the distance between two ticks that a reader finds comfortable.
const tickGap = 9.0

// newScale chooses the range of an axis: everything that is drawn, the wishes
// of the model, zero where it is near, and never beyond what the quantity can
// be (a share ends at none and at all).
func newScale(m Model, height float64) scale {
	lo, hi := math.Inf(1), math.Inf(-1)
	take := func(v *float64) {
		if v != nil {
			lo, hi = min(lo, *v), max(hi, *v)
		}
	}
	for i := range m.Points {
		p := &m.Points[i]
		if p.Has {
			take(&p.Value)
		}
		for _, v := range []*float64{p.Low, p.High, p.Centre, p.Lower, p.Upper} {
			take(v)
		}
	}
	if m.Target != nil {
		take(&m.Target.Value)
	}
	dataLo, dataHi := lo, hi
	take(m.Y.Min)
	take(m.Y.Max)
	if lo > hi {
		lo, hi, dataLo, dataHi = 0, 1, 0, 1
	}
	if hi == lo {
		pad := max(math.Abs(lo)*0.1, smallest(m.Y.Format))
		lo, hi = lo-pad, hi+pad
		if dataLo >= 0 {
			lo = max(lo, 0)
		}
	}
	span := hi - lo
	zero := m.Y.Format != Celsius && dataLo >= 0 && lo > 0 && lo < 0.6*span
	switch {
	case zero:
		lo = 0
	case lo != 0 && (m.Y.Min == nil || dataLo < *m.Y.Min+0.02*span):
		lo -= 0.05 * span
		if dataLo >= 0 {
			lo = max(lo, 0)
		}
	}
	if m.Y.Max == nil || dataHi > *m.Y.Max-0.02*span {
		hi += 0.05 * span
	}
	if m.Y.Format == Percent && dataHi <= 1 {
		hi = min(hi, 1)
	}
	s := scale{min: lo, max: hi, step: step(m.Y.Format, hi-lo, max(3.5, height/tickGap))}
	if math.Ceil(lo/s.step-1e-9)*s.step > hi+1e-9*s.step { // all between two ticks: both are shown
		s.min, s.max = math.Floor(lo/s.step)*s.step, math.Ceil(hi/s.step)*s.step
		lo, hi = s.min, s.max
	}
	for k := math.Ceil(lo/s.step - 1e-9); k*s.step <= hi+1e-9*s.step; k++ {
		s.ticks = append(s.ticks, k*s.step)
	}
	return s
}

// smallest is half a sensible range around a value that never varies.
func smallest(f Format) float64 {
	switch f {
	case Percent:
		return 0.05
	case Celsius:
		return 0.5
	case Seconds, Births, Count, Plain:
	}
	return 1
}

// step gives the distance of ticks: 1, 2 or 5 times a power of ten; for
// seconds the parts and multiples of a minute.
func step(f Format, span, ticks float64) float64 {
	raw := span / ticks
	if f == Seconds {
		for _, s := range []float64{1, 2, 5, 10, 15, 20, 30, 60, 120, 300, 600, 1200} {
			if s >= raw && raw > 0.5 {
				return s
			}
		}
	}
	p := math.Pow(10, math.Floor(math.Log10(raw)))
	s := 10 * p
	nice := []float64{1, 2, 5}
	if f == Percent && raw > 0.1 {
		nice = []float64{1, 2, 2.5, 5} // quarters of all
	}
	for _, k := range nice {
		if k*p >= raw*(1-1e-9) {
			s = k * p
			break
		}
	}
	switch f {
	case Births, Count:
		s = max(s, 1)
	case Celsius:
		s = max(s, 0.1)
	case Percent, Seconds, Plain:
	}
	return s
}

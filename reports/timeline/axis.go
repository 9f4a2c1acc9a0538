package timeline

import (
	"fmt"
	"math"
	"slices"
)

// piece is a stretch of the axis with one scale.
type piece struct {
	from, to float64 // seconds
	x0, x1   float64 // millimetres
}

func (p piece) scale() float64 { return (p.x1 - p.x0) / (p.to - p.from) }

// axis maps seconds to places. Every piece is to scale and says its scale; where
// nothing is on record for a long time the axis is cut.
type axis struct{ pieces []piece }

const (
	cutGap    = 600.0 // seconds without a record from which the axis is cut
	cutWidth  = 7.0
	leastAxis = 60.0  // seconds that an axis shows at least
	leastPart = 14.0  // millimetres of a piece
	detailMax = 300.0 // seconds of the wider-drawn beginning at most
)

// newAxis makes the axis of the times of all records, ascending; start is where
// it begins at the latest.
func newAxis(times []float64, start, left, right float64) axis {
	times = append(slices.Clone(times), start)
	slices.Sort(times)
	var segments [][2]float64
	from := times[0]
	for i, t := range times {
		if i > 0 && t-times[i-1] > cutGap && len(segments) < 4 {
			segments = append(segments, [2]float64{from, times[i-1]})
			from = t
		}
	}
	segments = append(segments, [2]float64{from, times[len(times)-1]})
	var a axis
	cuts := 0
	for i, s := range segments {
		begin, end := round(s[0], -1), round(s[1], 1)
		if i > 0 {
			cuts++
		}
		if end-begin < leastAxis {
			end = begin + leastAxis
		}
		if w := detail(times, begin, end); w > 0 {
			a.pieces = append(a.pieces, piece{from: begin, to: begin + w}, piece{from: begin + w, to: end})
			continue
		}
		a.pieces = append(a.pieces, piece{from: begin, to: end})
	}
	a.share(times, left, right-left-float64(cuts)*cutWidth)
	return a
}

// round moves a time outwards to a round one.
func round(t, way float64) float64 {
	step := 10.0
	switch {
	case math.Abs(t) > 1800:
		step = 60
	case math.Abs(t) > 300:
		step = 30
	}
	if way < 0 {
		return math.Floor(t/step) * step
	}
	return math.Ceil(t/step) * step
}

// detail is the length of a beginning that is drawn wider: whole minutes that
// hold three quarters of the records in at most half of the time; 0: none.
func detail(times []float64, begin, end float64) float64 {
	if end-begin <= detailMax {
		return 0
	}
	all := count(times, begin, end)
	for w := 60.0; w <= min(detailMax, (end-begin)/2); w += 60 {
		if count(times, begin, begin+w)*4 >= all*3 {
			return w
		}
	}
	return 0
}

func count(times []float64, from, to float64) float64 {
	n := 0.0
	for _, t := range times {
		if t >= from && t <= to {
			n++
		}
	}
	return n
}

// share gives each piece its width: by how much is on record in it and by the
// root of its length, and never too little to be read.
func (a *axis) share(times []float64, left, width float64) {
	weights, sum, rootSum, all := make([]float64, len(a.pieces)), 0.0, 0.0, 0.0
	for _, p := range a.pieces {
		rootSum += math.Sqrt(p.to - p.from)
		all += count(times, p.from, p.to)
	}
	for i, p := range a.pieces {
		weights[i] = 0.6*count(times, p.from, p.to)/max(all, 1) + 0.4*math.Sqrt(p.to-p.from)/rootSum
		weights[i] = max(weights[i], leastPart/width)
		sum += weights[i]
	}
	x := left
	for i := range a.pieces {
		p := &a.pieces[i]
		if i > 0 && a.pieces[i-1].to < p.from {
			x += cutWidth
		}
		p.x0 = x
		p.x1 = x + width*weights[i]/sum
		x = p.x1
	}
}

// x is the place of a second; what lies in a cut stands in the middle of it, what
// lies outside at the end.
func (a axis) x(t float64) float64 {
	for i, p := range a.pieces {
		if t < p.from {
			if i == 0 {
				return p.x0
			}
			return (a.pieces[i-1].x1 + p.x0) / 2
		}
		if t <= p.to {
			return p.x0 + (t-p.from)*p.scale()
		}
	}
	return a.pieces[len(a.pieces)-1].x1
}

func (a axis) end() float64   { return a.pieces[len(a.pieces)-1].to }
func (a axis) begin() float64 { return a.pieces[0].from }

// stretches are the pieces that lie between two times, as seconds.
func (a axis) stretches(from, to float64) [][2]float64 {
	var out [][2]float64
	for _, p := range a.pieces {
		if lo, hi := max(from, p.from), min(to, p.to); lo <= hi {
			out = append(out, [2]float64{lo, hi})
		}
	}
	return out
}

// ticks of a piece, so that labels are at least room millimetres apart.
func (p piece) ticks(room float64) []float64 {
	step := 3600.0
	for _, s := range []float64{5, 10, 15, 30, 60, 120, 300, 600, 1200, 1800} {
		if s*p.scale() >= room {
			step = s
			break
		}
	}
	var out []float64
	for t := math.Ceil(p.from/step) * step; t <= p.to; t += step {
		out = append(out, t)
	}
	return out
}

// clock writes a tick: seconds below two minutes, minutes and seconds above.
func clock(t float64) string {
	sign := ""
	if t < 0 {
		sign, t = "−", -t
	}
	if t < 120 {
		return fmt.Sprintf("%s%.0f s", sign, t)
	}
	return fmt.Sprintf("%s%d:%02d", sign, int(t)/60, int(t)%60)
}

// length writes a length of time: "24 min".
func length(s float64) string {
	if s < 120 {
		return fmt.Sprintf("%.0f s", s)
	}
	return fmt.Sprintf("%.0f min", s/60)
}

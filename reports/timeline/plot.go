package timeline

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"chestrise/metrics/cases"
	"chestrise/reports/chart"
)

// joined is how many seconds two readings may lie apart to be joined by a line.
// Guidance asks for a look about every 30 s; beyond twice that nobody knows what
// lay between.
const joined = 60

func times(n int) string { return fmt.Sprintf(" ×%d", n) }

func whole(r cases.Reading) string {
	if !r.Has {
		return "oxygen, value not recorded"
	}
	return fmt.Sprintf("%g %%", r.Value)
}

// plot draws a lane with a scale: heart rate or saturation.
func (l *layout) plot(n *cases.Lane) {
	from := l.y - 0.7
	all := l.labels(n)
	l.y += l.stack(all)
	base := l.y
	lo, hi, ticks := scaleOf(n)
	closest := hi - lo // two marked levels: their numbers must not meet
	for i := 1; i < len(ticks); i++ {
		closest = min(closest, ticks[i]-ticks[i-1])
	}
	number := l.f.Text("level", "0", l.small, true, chart.Soft)
	least := (number.Ascent + number.Descent) * (hi - lo) / closest
	height := max(17*l.o.Type+l.stretch, least)
	top := l.y + 1.2
	bottom := top + height
	y := func(v float64) float64 { return bottom - (min(max(v, lo), hi)-lo)/(hi-lo)*height }
	l.write(all, base, top+1)
	if n.ID == cases.SaturationLane {
		l.band(y)
	}
	for _, v := range ticks {
		s := chart.Stroke{Colour: chart.Hair, Width: 0.15}
		bold := n.ID == cases.HeartRateLane && (v == 100 || v == 60)
		if bold {
			s = chart.Stroke{Colour: chart.Rule, Width: 0.25}
		}
		l.back = append(l.back, chart.Line{From: chart.Pos{X: l.left, Y: y(v)}, To: chart.Pos{X: l.right, Y: y(v)}, Stroke: s})
		t := l.f.Text("level", fmt.Sprintf("%g", v), l.small, bold, chart.Soft)
		t.At, t.Anchor = chart.Pos{X: l.left - 0.8, Y: y(v) + t.Ascent*0.48}, chart.End
		l.items = append(l.items, t)
	}
	l.traces(n.Readings, y)
	for _, r := range n.Readings {
		l.reading(r, y, bottom, n.ID == cases.HeartRateLane)
	}
	for _, r := range n.Readings {
		l.value(r, y, top, bottom)
	}
	l.y = bottom + 0.8
	l.rows = append(l.rows, [2]float64{from, l.y})
	if words := key(n, l.t.BandIs, l.a.end()); words != "" {
		l.para("key", words, l.left+1, l.full, l.small, false, chart.Soft)
	}
}

// scaleOf gives the range of a lane and the levels that are marked.
func scaleOf(n *cases.Lane) (lo, hi float64, ticks []float64) {
	if n.ID == cases.HeartRateLane {
		lo, hi, ticks = 0, 200, []float64{0, 60, 100, 160}
		for _, r := range n.Readings {
			if r.Has && r.Value > 200 {
				hi, ticks = 300, []float64{0, 60, 100, 200, 300}
			}
		}
		return lo, hi, ticks
	}
	lo, hi, ticks = 40, 100, []float64{40, 60, 80, 100}
	for _, r := range n.Readings {
		if r.Has && r.Value < 40 {
			lo, ticks = 0, []float64{0, 20, 40, 60, 80, 100}
		}
	}
	return lo, hi, ticks
}

// band draws the published band where the axis reaches.
func (l *layout) band(y func(float64) float64) {
	for i := 1; i < len(l.t.Band); i++ {
		p, q := l.t.Band[i-1], l.t.Band[i]
		at := func(s float64) (low, high float64) {
			w := (s/60 - p.Minute) / (q.Minute - p.Minute)
			return p.Low + w*(q.Low-p.Low), p.High + w*(q.High-p.High)
		}
		for _, s := range l.a.stretches(p.Minute*60, q.Minute*60) {
			if s[0] == s[1] {
				continue
			}
			low0, high0 := at(s[0])
			low1, high1 := at(s[1])
			l.back = append(l.back, chart.Polygon{Points: []chart.Pos{
				{X: l.a.x(s[0]), Y: y(high0)}, {X: l.a.x(s[1]), Y: y(high1)}, {X: l.a.x(s[1]), Y: y(low1)}, {X: l.a.x(s[0]), Y: y(low0)},
			}, Fill: chart.Hair, Stroke: chart.Stroke{}})
		}
	}
}

// traces join readings that lie no further apart than somebody may be expected to
// look; the others stay apart.
func (l *layout) traces(all []cases.Reading, y func(float64) float64) {
	var last *cases.Reading
	for i := range all {
		r := &all[i]
		if !r.Has {
			last = nil
			continue
		}
		if last != nil && r.Time.At > last.Time.At && r.Time.At-last.Time.At <= joined && r.Time.Exact() && last.Time.Exact() && len(l.a.stretches(last.Time.At, r.Time.At)) > 0 {
			points := []chart.Pos{{X: l.a.x(last.Time.At), Y: y(last.Value)}}
			for _, p := range l.a.pieces { // a line bends where the scale changes
				if p.from > last.Time.At && p.from < r.Time.At {
					w := (p.from - last.Time.At) / (r.Time.At - last.Time.At)
					points = append(points, chart.Pos{X: p.x0, Y: y(last.Value + w*(r.Value-last.Value))})
				}
			}
			points = append(points, chart.Pos{X: l.a.x(r.Time.At), Y: y(r.Value)})
			l.items = append(l.items, chart.Polyline{Points: points, Stroke: chart.Stroke{Colour: chart.Ink, Width: 0.3}})
			l.keepClear(points)
		}
		last = r
	}
}

// keepClear notes where a line runs, so that no number is written on it.
func (l *layout) keepClear(points []chart.Pos) {
	const step = 0.5
	for i := 1; i < len(points); i++ {
		p, q := points[i-1], points[i]
		n := max(int(math.Hypot(q.X-p.X, q.Y-p.Y)/step), 1)
		for k := range n {
			w := (float64(k) + 0.5) / float64(n)
			l.taken = append(l.taken, chart.Box{X: p.X + w*(q.X-p.X) - step/4, Y: p.Y + w*(q.Y-p.Y) - step/4, W: step / 2, H: step / 2})
		}
	}
}

// reading draws one reading: by shape the way it was taken, as a box what is only
// known as a band in a stretch of time, as a cross a sensor without a value.
func (l *layout) reading(r cases.Reading, y func(float64) float64, bottom float64, ways bool) {
	x, q := l.a.x(r.Time.At), 0.85*l.o.Type
	ink := chart.Stroke{Colour: chart.Ink, Width: 0.3}
	switch {
	case r.Banded:
		a, b := l.a.x(r.Time.Lo), l.a.x(r.Time.Hi)
		if b-a < 1.4 {
			a, b = x-0.7, x+0.7
		}
		box := chart.Box{X: a, Y: y(r.High), W: b - a, H: y(r.Low) - y(r.High)}
		l.items = append(l.items, chart.Rect{Box: box, Fill: chart.Tint, Stroke: ink})
		l.taken = append(l.taken, box)
	case !r.Has:
		at := bottom - q - 0.3
		l.items = append(l.items,
			chart.Line{From: chart.Pos{X: x - q, Y: at - q}, To: chart.Pos{X: x + q, Y: at + q}, Stroke: ink},
			chart.Line{From: chart.Pos{X: x - q, Y: at + q}, To: chart.Pos{X: x + q, Y: at - q}, Stroke: ink})
		l.taken = append(l.taken, chart.Box{X: x - q, Y: at - q, W: 2 * q, H: 2 * q})
	default:
		at := chart.Pos{X: x, Y: y(r.Value)}
		if !r.Time.Exact() {
			l.whisker(r.Time, at.Y)
		}
		edge := chart.Stroke{Colour: chart.Paper, Width: 0.2}
		switch {
		case r.Way == "ECG":
			k := q * 1.3
			l.items = append(l.items, chart.Polygon{Points: []chart.Pos{{X: x, Y: at.Y - k}, {X: x + k, Y: at.Y}, {X: x, Y: at.Y + k}, {X: x - k, Y: at.Y}}, Fill: chart.Ink, Stroke: edge})
		case r.Way == "oximeter":
			l.items = append(l.items, chart.Rect{Box: chart.Box{X: x - q*0.9, Y: at.Y - q*0.9, W: q * 1.8, H: q * 1.8}, Fill: chart.Ink, Stroke: edge})
		case r.Way == "" && ways:
			l.items = append(l.items, chart.Circle{Centre: at, Radius: q, Fill: chart.Paper, Stroke: ink})
		default:
			l.items = append(l.items, chart.Circle{Centre: at, Radius: q, Fill: chart.Ink, Stroke: edge})
		}
		l.taken = append(l.taken, chart.Box{X: x - q, Y: at.Y - q, W: 2 * q, H: 2 * q})
	}
}

// value writes a reading's number where there is room; the scale tells it where
// there is none.
func (l *layout) value(r cases.Reading, y func(float64) float64, top, bottom float64) {
	if !r.Has {
		return
	}
	x, q := l.a.x(r.Time.At), 0.85*l.o.Type+0.2
	t := l.f.Text("value", fmt.Sprintf("%g", r.Value), l.small, false, chart.Ink)
	at := y(r.Value)
	for _, place := range []struct {
		x, base float64
		a       chart.Anchor
	}{
		{x, at - q - t.Descent, chart.Middle},
		{x, at + q + t.Ascent, chart.Middle},
		{x + q + 0.3, at + t.Ascent*0.45, chart.Start},
		{x - q - 0.3, at + t.Ascent*0.45, chart.End},
	} {
		t.At, t.Anchor = chart.Pos{X: place.x, Y: place.base}, place.a
		box := t.Box()
		if box.Y < top-1.2 || box.Bottom() > bottom+0.6 || box.X < l.left || box.Right() > l.full || slices.ContainsFunc(l.taken, apart(box).Meets) {
			continue
		}
		l.items = append(l.items, t)
		l.taken = append(l.taken, apart(box))
		return
	}
}

// apart is the room that a number wants to either side of it.
func apart(b chart.Box) chart.Box {
	const gap = 0.45
	return chart.Box{X: b.X - gap, Y: b.Y + 0.05, W: b.W + 2*gap, H: b.H - 0.1}
}

// key says what the shapes are, of those that are there.
func key(n *cases.Lane, band string, end float64) string {
	var w []string
	has := func(ok func(r cases.Reading) bool) bool { return slices.ContainsFunc(n.Readings, ok) }
	if n.ID == cases.HeartRateLane {
		for _, k := range []struct {
			way   []string
			words string
		}{
			{[]string{"auscultation", "palpation"}, "● by stethoscope or hand"}, {[]string{"oximeter"}, "■ oximeter"}, {[]string{"ECG"}, "◆ ECG"},
		} {
			if has(func(r cases.Reading) bool { return r.Has && slices.Contains(k.way, r.Way) }) {
				w = append(w, k.words)
			}
		}
		if has(func(r cases.Reading) bool { return r.Has && r.Way == "" }) {
			w = append(w, "○ way not recorded")
		}
	}
	if has(func(r cases.Reading) bool { return r.Banded }) {
		w = append(w, "box: known only as a band")
	}
	if has(func(r cases.Reading) bool { return !r.Has && !r.Banded }) {
		w = append(w, "× sensor without a reading")
	}
	if n.ID == cases.SaturationLane && band != "" && end >= 90 {
		w = append(w, "shaded: "+band)
	}
	if len(w) == 0 {
		return ""
	}
	return upper(strings.Join(w, "; ")) + "."
}

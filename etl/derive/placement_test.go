package derive

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"chestrise/etl/record"
)

// The symbolic run of a verdict is compared with brute force: every placement on
// a grid of half seconds, each judged as if its times were exact.
//
// The grid is fine enough to meet every verdict there is: typed times and windows
// are multiples of 5 s here, so all limits lie on multiples of 2.5 s, and a set of
// placements cut out by such limits, open or closed, of at most four imprecise
// times holds a point of the half-second grid.
func TestVerdictsAgreeWithEveryPlacement(t *testing.T) {
	judges := map[string]func(c *course) func(*trial) string{
		"need": func(c *course) func(*trial) string {
			n := needed{c: c, tl: c.order, ppv: c.order.inflations(), breathing: c.order.of(record.Breathing), rates: c.order.rates()}
			return func(t *trial) string {
				verdict, secondary := n.judge(t)
				return fmt.Sprint("need ", verdict, secondary)
			}
		},
		"start": func(c *course) func(*trial) string {
			v := newEffect(c, c.order)
			return func(t *trial) string {
				if v == nil {
					return ""
				}
				var s startFacts
				v.judge(t, &s)
				return fmt.Sprint("start ", s.code.code, s.value, " end ", s.end.code, s.unknown)
			}
		},
	}
	rapid.Check(t, func(t *rapid.T) {
		d := impreciseDocument(t)
		c := newCourse(d)
		for name, judge := range judges {
			verdict := judge(c)
			symbolic := map[string]bool{}
			if !explore(c.order.base, func(tr *trial) { symbolic[verdict(tr)] = true }) {
				t.Fatalf("%s: too many orders", name)
			}
			brute := map[string]bool{}
			everyPlacement(c.order, func(point *zone) {
				if !explore(point, func(tr *trial) { brute[verdict(tr)] = true }) {
					t.Fatalf("%s: a point has too many orders", name)
				}
			})
			got, want := slices.Sorted(maps.Keys(symbolic)), slices.Sorted(maps.Keys(brute))
			if !slices.Equal(got, want) {
				t.Fatalf("%s: by symbolic run %v, by every placement %v", name, got, want)
			}
		}
	})
}

// The length to the first end, and its time from birth, span exactly what the
// placements span. An end that is not itself possible is met to within half a second
// for each open limit on the way to it.
func TestSpansAgreeWithEveryPlacement(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := newCourse(impreciseDocument(t))
		v := newEffect(c, c.order)
		if v == nil {
			return
		}
		var symbolic, brute startFacts
		if !explore(c.order.base, func(tr *trial) { v.judge(tr, &symbolic) }) {
			t.Fatal("too many orders")
		}
		everyPlacement(c.order, func(point *zone) {
			explore(point, func(tr *trial) { v.judge(tr, &brute) })
		})
		for _, s := range [][2]span{{symbolic.length, brute.length}, {symbolic.at, brute.at}, {symbolic.toSign, brute.toSign}} {
			if s[0].some != s[1].some {
				t.Fatalf("span %v, by every placement %v", s[0], s[1])
			}
			for _, ends := range [][2]bound{{s[0].up, s[1].up}, {s[0].down, s[1].down}} {
				gap := ends[0] - ends[1] // in bounds: 2 a half second
				closed := ends[0]&1 == 1
				if s[0].some && (gap < 0 || closed && gap != 0 || gap > 8) {
					t.Fatalf("span %v, by every placement %v", s[0], s[1])
				}
			}
		}
	})
}

// everyPlacement gives a zone holding a single point for every placement on the
// half-second grid. The clock of the document starts at birth.
func everyPlacement(tl *timeline, f func(*zone)) {
	base := tl.base
	var nodes []int
	for i := range base.n {
		if i != tl.free.node {
			nodes = append(nodes, i)
		}
	}
	at := make([]int32, base.n)
	var place func(k int)
	place = func(k int) {
		if k == len(nodes) {
			z := &zone{n: base.n, d: make([]bound, base.n*base.n)}
			for i := range z.n {
				for j := range z.n {
					z.d[i*z.n+j] = atMost(at[i] - at[j])
				}
			}
			f(z)
			return
		}
		i, zero := nodes[k], nodes[0]
		if i == zero {
			place(k + 1)
			return
		}
		lo, hi := -int32(base.at(zero, i)>>1), int32(base.at(i, zero)>>1)
		for at[i] = lo; at[i] <= hi; at[i]++ {
			fits := true
			for _, j := range nodes[:k] {
				fits = fits && atMost(at[i]-at[j]) <= base.at(i, j) && atMost(at[j]-at[i]) <= base.at(j, i)
			}
			if fits {
				place(k + 1)
			}
		}
	}
	place(0)
}

// impreciseDocument draws a resuscitation of a few rows, up to two of them typed
// to 30 s or read to the minute, or up to three typed to 5 s, the rest exact.
func impreciseDocument(t *rapid.T) *record.Document {
	d := &record.Document{}
	d.Newborn[record.ChartedAssessments] = code(record.Yes)
	coarse := rapid.Bool().Draw(t, "coarse")
	vague := rapid.IntRange(0, 2).Draw(t, "vague")
	if !coarse {
		vague++
	}
	n := rapid.IntRange(1, 7).Draw(t, "rows")
	for i := range n {
		k := rapid.SampledFrom([]struct {
			kind  record.Kind
			code  record.EventCode
			value float64
		}{
			{record.SupportBegun, record.SupportPPV, 0},
			{record.SupportBegun, record.SupportPPV, 0},
			{record.SupportEnded, record.SupportPPV, 0},
			{record.Breathing, record.BreathingNone, 0},
			{record.Breathing, record.BreathingCrying, 0},
			{record.HeartRate, record.HRECG, 60},
			{record.HeartRate, record.HRECG, 80},
			{record.HeartRate, record.HRECG, 80},
			{record.HeartRate, record.HRECG, 110},
			{record.HeartRate, record.HR60To99, 0},
			{record.ChestMovement, record.ChestMoving, 0},
			{record.ExhaledCO2, record.CO2Detected, 0},
			{record.AirwayBegun, record.AttemptTube, 0},
			{record.CompressionsBegun, 0, 0},
			{record.Dose, record.DoseEpinephrineIV, 0},
		}).Draw(t, "kind")
		e := record.Event{Timed: true, Clock: record.ClockBirth, How: record.Live, Unit: 1, Kind: k.kind, Code: k.code, Value: k.value, Valued: k.value > 0}
		e.At = int32(5 * rapid.IntRange(0, 36).Draw(t, "at"))
		if i < vague {
			e.How, e.Unit = record.After, 5
			if coarse {
				e.Unit = rapid.SampledFrom([]uint8{30, 60}).Draw(t, "unit")
			}
			if e.Unit == 60 {
				e.At = e.At / 60 * 60
			}
		}
		d.Events = append(d.Events, e)
	}
	slices.SortStableFunc(d.Events, func(a, b record.Event) int {
		return cmp.Or(cmp.Compare(a.At, b.At), cmp.Compare(a.Kind, b.Kind))
	})
	return d
}

// A closed zone answers like its points: bounds are tight, and imposing one more
// limit gives the same zone as closing it anew.
func TestZone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 5).Draw(t, "n")
		var limits []limit
		for i := 1; i < n; i++ {
			w := int32(rapid.IntRange(0, 20).Draw(t, "w"))
			at := int32(rapid.IntRange(0, 40).Draw(t, "at"))
			limits = append(limits, limit{i, 0, atMost(at + w)}, limit{0, i, lessThan(w - at + 1)})
		}
		z := newZone(n, limits)
		i, j := rapid.IntRange(0, n-1).Draw(t, "i"), rapid.IntRange(0, n-1).Draw(t, "j")
		if i == j {
			return
		}
		b := atMost(int32(rapid.IntRange(-60, 60).Draw(t, "b")))
		tr := &trial{}
		for _, want := range []bool{true, false} {
			tr.zone.copyFrom(z)
			tr.script, tr.asked = []bool{want}, 0
			got := tr.holds(point{node: i}, point{node: j}, b)
			if tr.asked == 0 {
				if (z.at(i, j) <= b) != got {
					t.Fatal("a decided question got the other answer")
				}
				continue
			}
			l := limit{i, j, b}
			if !want {
				l = limit{j, i, b.refuted()}
			}
			require.Equal(t, newZone(n, append(slices.Clip(limits), l)).d, tr.zone.d)
			for k := range n {
				require.GreaterOrEqual(t, tr.zone.at(k, k), atMost(0), "the answer is possible")
			}
		}
	})
}

func TestBounds(t *testing.T) {
	require.Equal(t, 60.0, atMost(120).seconds())
	require.Equal(t, 59.75, lessThan(120).seconds(), "an end that is not itself possible lies a quarter of a second inside")
	require.Equal(t, -60.25, lessThan(-120).seconds())
	require.Equal(t, lessThan(30), atMost(10).plus(lessThan(20)))
	require.Equal(t, atMost(30), atMost(10).plus(atMost(20)))
	require.Equal(t, unbounded, atMost(1).plus(unbounded))
	require.Equal(t, lessThan(-10), atMost(10).refuted())
	require.Equal(t, atMost(10), lessThan(-10).refuted())
	require.Less(t, lessThan(10), atMost(10))
}

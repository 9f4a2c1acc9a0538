package disclosure

import (
	"fmt"
	"slices"
)

// Window is a published count over consecutive periods, From to To, both included;
// periods are numbered in order.
type Window struct {
	From, To int
	Count    int
}

// Stretch is a count over periods that follows from published windows by adding and
// subtracting them.
type Stretch struct {
	From, To int
	Count    int
	Small    bool // too small to publish
}

// Stretches gives every stretch of periods whose count follows from the windows, and
// which of them are too small. A rolling twelve-month count issued twice a year gives the
// difference of the half-years away. Windows that contradict each other, or are no
// windows, are errors.
//
// A window fixes the difference of two running totals, after To and before From. Totals
// that hang together through windows fix each other.
func Stretches(published []Window, p Policy) ([]Stretch, error) {
	if err := p.check(); err != nil {
		return nil, err
	}
	type edge struct{ to, count int }
	edges := map[int][]edge{}
	for i, w := range published {
		if w.To < w.From || w.Count < 0 {
			return nil, fmt.Errorf("window %d: periods %d to %d, count %d", i+1, w.From, w.To, w.Count)
		}
		edges[w.From] = append(edges[w.From], edge{w.To + 1, w.Count})
		edges[w.To+1] = append(edges[w.To+1], edge{w.From, -w.Count})
	}
	var points []int
	for at := range edges {
		points = append(points, at)
	}
	slices.Sort(points)
	type place struct{ group, total int }
	where := map[int]place{}
	for g, start := range points {
		if _, ok := where[start]; ok {
			continue
		}
		where[start] = place{g, 0}
		for todo := []int{start}; len(todo) > 0; {
			at := todo[0]
			todo = todo[1:]
			for _, e := range edges[at] {
				total := where[at].total + e.count
				if known, ok := where[e.to]; ok {
					if known.total != total {
						return nil, fmt.Errorf("the published windows contradict each other before period %d", e.to)
					}
					continue
				}
				where[e.to] = place{g, total}
				todo = append(todo, e.to)
			}
		}
	}
	out := []Stretch{}
	for i, a := range points {
		for _, b := range points[i+1:] {
			if where[a].group != where[b].group {
				continue
			}
			count := where[b].total - where[a].total
			if count < 0 {
				return nil, fmt.Errorf("the published windows give a negative count for periods %d to %d", a, b-1)
			}
			out = append(out, Stretch{From: a, To: b - 1, Count: count, Small: p.small(count)})
		}
	}
	return out, nil
}

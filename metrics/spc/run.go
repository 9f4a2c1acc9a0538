package spc

import (
	"fmt"
	"math"

	"chestrise/metrics/dist"
)

// RunLimits gives, for n useful points (those not on the median), the fewest
// crossings of the median and the longest run on one side that chance still
// allows. Fewer crossings than minCrossings, or a run longer than longestRun, is a
// signal: strict both ways.
//
//	minCrossings = lower 5 % quantile of Binomial(n-1, 1/2)
//	longestRun   = log2(n) + 3, rounded
//
// 0, 0 for fewer than two points. The false-signal rate is near 5 %, not exactly
// so (3.7 % at n = 13, 7.1 % at n = 20). Source: Anhoej & Olesen, PLoS ONE 9 (2014)
// e113825.
func RunLimits(n int) (minCrossings, longestRun int) {
	if n < 2 {
		return 0, 0
	}
	return dist.BinomialQuantile(0.05, n-1, 0.5), int(math.Round(math.Log2(float64(n)) + 3))
}

// minUseful is the number of useful points under which the run-chart rules are not
// judged. Source: Anhoej & Olesen 2014 tabulate from 10.
const minUseful = 10

// runStat is what the runs about a median look like.
type runStat struct {
	useful    []int   // points off the median
	runs      [][]int // maximal runs on one side
	crossings int
	longest   int
}

func runsAbout(pts []Point, phase Phase) runStat {
	var s runStat
	side := Level
	for _, i := range judged(pts, phase) {
		d := pts[i].side()
		if d == Level {
			continue
		}
		s.useful = append(s.useful, i)
		if d != side {
			s.runs = append(s.runs, nil)
			side = d
		}
		last := len(s.runs) - 1
		s.runs[last] = append(s.runs[last], i)
		s.longest = max(s.longest, len(s.runs[last]))
	}
	s.crossings = max(0, len(s.runs)-1)
	return s
}

// aboutMedian applies the longest-run and the crossings rule to one phase.
func (r Rule) aboutMedian(pts []Point, ph int, phase Phase) []Signal {
	s := runsAbout(pts, phase)
	if len(s.useful) < minUseful {
		return nil
	}
	fewest, longest := RunLimits(len(s.useful))
	var out []Signal
	if r.ID == FewCrossings {
		if s.crossings < fewest {
			out = append(out, Signal{
				Rule: r.ID, At: s.useful[len(s.useful)-1:], Members: s.useful, Direction: Level, Phase: ph,
				Bridged: bridged(s.useful, pts),
			})
		}
		return out
	}
	for _, run := range s.runs {
		if len(run) > longest {
			out = append(out, Signal{
				Rule: r.ID, At: run[longest:], Members: run, Direction: pts[run[0]].side(), Phase: ph,
				Bridged: bridged(run, pts),
			})
		}
	}
	return out
}

func runSummary(pts []Point, phase Phase) Summary {
	s := runsAbout(pts, phase)
	fewest, longest := RunLimits(len(s.useful))
	var out Summary
	if phase.Baseline.Points == 0 && !phase.Stored {
		out.none("median")
	} else {
		out.add("median", phase.Baseline.Centre)
	}
	out.add("points", float64(len(judged(pts, phase))))
	out.add("useful", float64(len(s.useful)))
	out.add("runs", float64(len(s.runs)))
	out.add("crossings", float64(s.crossings))
	out.add("longest_run", float64(s.longest))
	if len(s.useful) >= minUseful {
		out.add("min_crossings", float64(fewest))
		out.add("max_longest_run", float64(longest))
	} else {
		out.none("min_crossings")
		out.none("max_longest_run")
	}
	return out
}

func runWarnings(pts []Point, phase Phase) []Warning {
	if n := len(runsAbout(pts, phase).useful); n < minUseful {
		return []Warning{{Code: FewPoints, Text: fmt.Sprintf("%s off the median: the run-chart rules need at least %d and are not judged.", points(n), minUseful)}}
	}
	return nil
}

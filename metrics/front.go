package metrics

import (
	"fmt"
	"slices"

	"chestrise/metrics/measure"
	"chestrise/metrics/spc"
)

// conclude makes page one from the measures.
func (e *Engine) conclude(v *UnitView) {
	rank := map[ChangeKind]int{Signalled: 0, NotJudged: 2, Stopped: 3, Continues: 4}
	for _, m := range v.Measures {
		if m.Definition.Tier != measure.Core || m.Absent != "" || !m.Drawn {
			continue
		}
		if m.Change.Kind != NoChange {
			v.Changed = append(v.Changed, m.Change)
		}
		if m.NotJudged == "" {
			v.Charts++
			v.ByChance += m.chance
		}
	}
	slices.SortStableFunc(v.Changed, func(a, b Change) int {
		r := func(c Change) int {
			if c.Kind == Signalled && c.Verdict == spc.Worse {
				return -1
			}
			return rank[c.Kind]
		}
		return r(a) - r(b)
	})
	n, held := 0, 0
	for _, c := range v.Changed {
		switch c.Kind {
		case Signalled, Stopped:
			n++
		case NotJudged:
			held++
		default: // nothing new
		}
	}
	switch {
	case v.Latest == 0:
		v.Headline = "No month has closed yet."
	case n == 0 && held == 0:
		v.Headline = MonthName(v.Latest) + ": nothing to bring to the meeting."
	case n == 0:
		v.Headline = fmt.Sprintf("%s: no signal; %d %s could not be judged.", MonthName(v.Latest), held, plural(int64(held), "chart", "charts"))
	default:
		v.Headline = fmt.Sprintf("%s: %d %s to look at.", MonthName(v.Latest), n, plural(int64(n), "chart", "charts"))
	}
	if v.Charts > 0 {
		v.ByChanceIn = fmt.Sprintf("Of %d charts judged, about %.2f would signal this month by chance alone, or one in about %s.", v.Charts, v.ByChance, every(v.ByChance))
	}
}

// every says how often something of a monthly chance happens.
func every(perMonth float64) string {
	if perMonth <= 0 {
		return "never"
	}
	return fmt.Sprintf("%.0f months", 1/perMonth)
}

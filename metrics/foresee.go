package metrics

import (
	"fmt"
	"math"

	"chestrise/metrics/spc"
)

// horizon is how many months ahead detectability looks.
const horizon = 60

// foresee says how long a change of a stated size would take to show, and what the
// chart signals by chance.
func (b *builder) foresee() error {
	if b.now < 0 || b.silent || !b.m.Baseline.HasCentre {
		return nil
	}
	if b.plan.kind == spc.G {
		b.foreseeGaps()
		return nil
	}
	if b.plan.kind != spc.P {
		return nil
	}
	n, count := 0.0, 0
	for i := b.now; i >= 0 && count < 12; i-- {
		if p := b.m.Chart.Points[i]; p.Has {
			n += p.N
			count++
		}
	}
	n = math.Round(n / float64(count))
	centre := b.m.Baseline.Centre
	if n < 1 || centre <= 0 || centre >= 1 {
		return nil
	}
	ph := b.m.Chart.Phases[b.m.Chart.Points[b.now].Phase]
	var base []float64
	if size := math.Round(ph.Baseline.MeanN); size >= 1 {
		for range ph.Baseline.Points {
			base = append(base, size)
		}
	}
	w := spc.Watch{Kind: spc.P, N: []float64{n}, BaselineN: base, Limits: spc.Auto, Rules: spc.RuleSet{Name: "", Rules: nil}}
	periods := horizon
	if b.plan.period == Quarterly {
		periods = horizon / 3
	}
	found, err := w.Detect(centre, target(centre, b.m.Chart.Favourable), periods)
	if err != nil {
		return fmt.Errorf("detectability: %w", err)
	}
	b.m.Detectability = detectionWords(found, n, b.plan.period)
	at := b.now - ph.From + 1
	chance, err := w.PerPeriod(centre, min(at, 100))
	if err != nil {
		return fmt.Errorf("false signals: %w", err)
	}
	b.m.chance = chance[len(chance)-1]
	if b.plan.period == Quarterly {
		b.m.chance /= 3 // a quarter closes once in three months
	}
	return nil
}

// detectionWords says how long a change would take to show.
func detectionWords(d spc.Detection, n float64, period Period) string {
	head := fmt.Sprintf("With about %.0f known newborns a %s, a change from %s to %s would ", n, period, percent(d.From), percent(d.To))
	switch {
	case !d.Reached:
		return head + fmt.Sprintf("most likely not show within %d %ss.", d.Limit, period)
	case d.Median == 1:
		return head + fmt.Sprintf("show within about one %s.", period)
	default:
		return head + fmt.Sprintf("take about %d %ss to show.", d.Median, period)
	}
}

// percent prints whole percent from ten on, one decimal below.
func percent(x float64) string {
	if x < 0.1 {
		return fmt.Sprintf("%.1f %%", 100*x)
	}
	return fmt.Sprintf("%.0f %%", 100*x)
}

// target is the changed share that a detectability sentence names: fifteen points in
// the favourable direction (up where there is none), a doubling where the share is
// under ten percent, and half where fifteen points down would leave too little.
func target(centre float64, favourable spc.Direction) float64 {
	const step = 0.15
	switch {
	case favourable == spc.Down && centre > 2*step:
		return centre - step
	case favourable == spc.Down:
		return centre / 2
	case centre < 0.1:
		return 2 * centre
	case centre+step > 0.98:
		return centre - step
	default:
		return centre + step
	}
}

// foreseeGaps does the same for a g chart: after a doubling of the rate a single
// point cannot show it; a run of eight gaps under the median can. The mean number of
// gaps until a run of k with chance p each is (1 - p^k) / ((1 - p) p^k) (Feller, An
// Introduction to Probability Theory, vol. 1, XIII.7, from memory).
func (b *builder) foreseeGaps() {
	gap := b.m.Baseline.Centre
	p := b.m.Chart.Points[b.now]
	if gap <= 0 || p.Centre == nil {
		return
	}
	from := max(b.c.first, b.u.Latest-11)
	births := float64(b.h.over(months(from, b.u.Latest)).births) * 12 / float64(b.u.Latest-from+1)
	rate := 1 / (gap + 1)
	const k = 8
	below := func(rate float64) float64 { return 1 - math.Pow(1-rate, *p.Centre) }
	run := func(q float64) float64 {
		q = math.Min(math.Max(q, 1e-9), 1-1e-9)
		return (1 - math.Pow(q, k)) / ((1 - q) * math.Pow(q, k))
	}
	doubled := math.Min(1, 2*rate)
	gaps := run(below(doubled))
	perYear := births * doubled
	if perYear <= 0 {
		return
	}
	b.m.Detectability = fmt.Sprintf("One event in about %.0f births, about %.0f births a year: if events became twice as frequent, a run of eight short gaps would take about %.0f events, or %.1f years, to show; no single point can show it.",
		gap+1, births, gaps, gaps/perYear)
	perMonth := births * rate / 12
	b.m.chance = perMonth * (0.00135 + 1/run(below(rate)) + 1/run(1-below(rate)))
}

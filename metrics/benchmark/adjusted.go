package benchmark

import (
	"fmt"
	"math"

	"chestrise/metrics"
	"chestrise/metrics/compare"
	"chestrise/metrics/measure"
)

// ratioLevel is the level of the interval of a ratio.
const ratioLevel = 0.95

// adjusted sets each unit against the rates of the others in its own gestation bands,
// or against those of a reference. Newborns of unknown gestation have no comparable
// band and are in neither number.
func (c *Comparison) adjusted(m *Measure, all []Counted) (*Adjusted, error) {
	a := &Adjusted{Against: "the other units together, band by band; the unit itself is left out", Lines: nil, Bands: nil, Notes: nil}
	var units [][]compare.Cell
	var reference []compare.Cell
	if c.Reference != nil {
		r, why := c.Reference.of(m.Definition)
		if why != "" {
			a.Against, a.Notes = "", append(a.Notes, why)
			return a, nil
		}
		reference = r.cells()
		a.Against = fmt.Sprintf("%s, version %s, dated %s", c.Reference.Source, c.Reference.Version, c.Reference.Dated)
	}
	for i := range all {
		units = append(units, bandCells(all[i]))
	}
	pooled := make([]compare.Cell, len(Bands))
	for _, u := range units {
		for b, x := range u {
			pooled[b].Events += x.Events
			pooled[b].Cases += x.Cases
		}
	}
	if reference != nil {
		pooled = reference
	}
	for b, x := range pooled {
		if standardised(b + 1) {
			a.Bands = append(a.Bands, BandRate{Band: Bands[b], Met: x.Events, Known: x.Cases})
		}
	}
	out, err := c.standardise(units, reference)
	if err != nil {
		return nil, err
	}
	for i := range all {
		line := Ratio{ //nolint:exhaustruct // without a ratio yet
			Absent: m.Figures[i].Absent, Observed: out[i].Observed, Expected: out[i].Expected, Left: m.Figures[i].Known(),
		}
		for b, x := range units[i] {
			if standardised(b+1) && out[i].Defined {
				others := pooled[b].Cases - x.Cases
				if reference != nil {
					others = reference[b].Cases
				}
				if others > 0 {
					line.Left -= x.Cases
				}
			}
		}
		if line.Absent == "" && !out[i].Defined {
			line.Absent = "Nothing is expected here from the others' rates."
		}
		if line.Absent == "" {
			if err := line.judge(out[i]); err != nil {
				return nil, err
			}
		}
		a.Lines = append(a.Lines, line)
	}
	a.Notes = append(a.Notes,
		"The expected number adjusts for gestation only.",
		"A ratio belongs to its own unit's newborns. Two units' ratios must not be compared with each other: their newborns differ.")
	return a, nil
}

// bandCells are the known newborns by band; bands that cannot be compared are empty.
func bandCells(n Counted) []compare.Cell {
	out := make([]compare.Cell, len(Bands))
	for b := 1; b < numBands; b++ {
		if standardised(b) {
			out[b-1] = compare.Cell{Events: n.ByBand[b].Met, Cases: n.ByBand[b].Known()}
		}
	}
	return out
}

func (c *Comparison) standardise(units [][]compare.Cell, reference []compare.Cell) ([]compare.Standardised, error) {
	if reference == nil {
		return compare.LeaveOneOut(units, ratioLevel)
	}
	out := make([]compare.Standardised, len(units))
	for i, u := range units {
		strata := make([]compare.Stratum, len(u))
		for b, x := range u {
			strata[b] = compare.Stratum{
				Observed: x.Events, Amount: float64(x.Cases),
				ReferenceEvents: float64(reference[b].Events), ReferenceAmount: float64(reference[b].Cases),
			}
		}
		var err error
		if out[i], err = compare.Standardise(strata, ratioLevel); err != nil {
			return nil, err
		}
	}
	return out, nil
}

func (r *Ratio) judge(s compare.Standardised) error {
	ratio, low, high := s.Ratio, s.Exact.Lower, s.Exact.Upper
	r.Ratio, r.Low, r.High = &ratio, &low, &high
	for i, tail := range []float64{outerTail, innerTail, 1 - innerTail, 1 - outerTail} {
		x, err := compare.RatioLimit(s.Expected, tail)
		if err != nil {
			return err
		}
		x = math.Max(0, x)
		r.Limits[i] = &x
	}
	r.Place, r.Outside = place(ratio, *r.Limits[1], *r.Limits[2], *r.Limits[0], *r.Limits[3])
	return nil
}

// enoughEvents is how many expected events a year a sum needs. Rates on fewer are
// marked unstable in print. Source: CDC, WISQARS and cancer statistics.
const enoughEvents = 20

// riskGroups is into how many groups of one predicted risk a unit's newborns are put
// to find the limit of its sum.
const riskGroups = 6

// sums follow every unit month by month against the rates of the others in the months
// before. The order of newborns within a month is not used: the sum moves once a
// month, which makes false signals no more frequent than the limit promises.
func (c *Comparison) sums(d *Data, s Settings, w SumWish, def measure.Definition, figures []Figure) (*Sums, error) {
	out := &Sums{Odds: w.Odds, From: w.From, To: w.To, Years: w.Years, Lines: nil}
	if w.To >= d.To {
		return nil, fmt.Errorf("the sum's rates rest on months up to %s: nothing is left to follow up to %s", w.To, d.To)
	}
	base := make([][]compare.Cell, len(s.Units))
	for i, u := range s.Units {
		base[i] = make([]compare.Cell, len(Bands))
		if figures[i].Absent == "" {
			base[i] = bandCells(d.CountIn(def, u.Unit, w.From, w.To))
		}
	}
	for i, u := range s.Units {
		if figures[i].Absent != "" {
			out.Lines = append(out.Lines, Sum{Absent: figures[i].Absent}) //nolint:exhaustruct // no sum
			continue
		}
		risks := make([]float64, len(Bands))
		for b := range Bands {
			events, cases := 0, 0
			for j := range base {
				if j != i {
					events, cases = events+base[j][b].Events, cases+base[j][b].Cases
				}
			}
			risks[b] = math.NaN()
			if cases > 0 {
				risks[b] = float64(events) / float64(cases)
			}
		}
		line, err := follow(d, w, def, u.Unit, risks)
		if err != nil {
			return nil, fmt.Errorf("unit %s: %w", u.Code, err)
		}
		out.Lines = append(out.Lines, line)
	}
	return out, nil
}

// follow is one unit's sum.
func follow(d *Data, w SumWish, def measure.Definition, unit string, risks []float64) (Sum, error) {
	s := Sum{Absent: "", Months: nil, Values: nil, Limit: 0, Signals: nil, Expected: 0, Observed: 0, Text: ""}
	weights := make([]compare.Weights, len(risks))
	var months [][]compare.Cell
	var all []float64
	for b, p := range risks {
		if math.IsNaN(p) {
			continue
		}
		var err error
		if weights[b], err = compare.RiskWeights(p, 1, w.Odds); err != nil {
			return s, err
		}
	}
	for m := w.To + 1; m <= d.To; m++ {
		cells := bandCells(d.CountIn(def, unit, m, m))
		for b := range cells {
			if math.IsNaN(risks[b]) {
				cells[b] = compare.Cell{Events: 0, Cases: 0}
			}
			s.Expected += float64(cells[b].Cases) * nanZero(risks[b])
			s.Observed += cells[b].Events
			for range cells[b].Cases {
				all = append(all, risks[b])
			}
		}
		months, s.Months = append(months, cells), append(s.Months, m)
	}
	years := float64(len(months)) / 12
	if s.Expected/years < enoughEvents || len(all) == 0 {
		s.Absent = fmt.Sprintf("%.1f events expected a year: too few to follow as a sum (at least %d).", s.Expected/years, enoughEvents)
		s.Months, s.Values = nil, nil
		return s, nil
	}
	mix, err := compare.Mix(all, riskGroups)
	if err != nil {
		return s, err
	}
	if s.Limit, err = compare.RiskLimit(mix, w.Odds, math.Ceil(float64(len(all))/years*w.Years)); err != nil {
		return s, err
	}
	sum := 0.0
	for i, cells := range months {
		for b, x := range cells {
			sum += float64(x.Events)*weights[b].Event + float64(x.Cases-x.Events)*weights[b].NoEvent
		}
		sum = math.Max(0, sum)
		s.Values = append(s.Values, sum)
		if sum > s.Limit {
			s.Signals = append(s.Signals, i)
			sum = 0
		}
	}
	s.Text = fmt.Sprintf("%d observed, %.1f expected from the others' rates.", s.Observed, s.Expected)
	for _, i := range s.Signals {
		s.Text += " Passed its limit in " + metrics.MonthName(s.Months[i]) + "."
	}
	if len(s.Signals) == 0 {
		s.Text += " The limit was not passed."
	}
	return s, nil
}

func nanZero(x float64) float64 {
	if math.IsNaN(x) {
		return 0
	}
	return x
}

package benchmark

import (
	"fmt"
	"math"

	"chestrise/metrics"
	"chestrise/metrics/compare"
	"chestrise/metrics/measure"
)

// The tails of the funnel: 95 % and 99.8 % of units lie within, where nothing differs.
const (
	innerTail = .025
	outerTail = .001
)

// Asked says for whom to compare.
type Asked struct {
	Level     Level
	Reader    string            // unit; empty: the centre, or the public
	Names     map[string]string // printed names by unit
	Reference *Reference        // sums of others, for a hospital on its own
}

// Compare sets the units of the settings beside each other. At the level of partners
// an agreement must be named. Nothing is hidden here: see [Protect].
func Compare(d *Data, s Settings, a Asked) (*Comparison, error) {
	if a.Level == Partner && s.Agreement == "" {
		return nil, fmt.Errorf("figures for partners need an agreement\nhint: name its id under the key %q of the network file", "agreement")
	}
	if (a.Reference != nil) != (s.Deployment == OwnUnit) {
		if s.Deployment == OwnUnit {
			return nil, fmt.Errorf("a hospital on its own has no other units' records\nhint: name a returned reference file")
		}
		return nil, fmt.Errorf("a coordinating centre compares its units with each other, not with a reference file")
	}
	c := &Comparison{
		Network: s.Network, Deployment: s.Deployment, Level: a.Level, Agreement: "", Reader: a.Reader, From: d.From, To: d.To, At: d.At, Head: d.Head,
		Catalogue: d.Catalogue.Version(), Units: nil, Measures: nil, Moved: nil, MovedAll: MovedLine{Moved: 0, Of: 0, Unknown: 0, Hidden: false, Text: ""},
		Held: 0, HeldHidden: false, Reference: a.Reference, Synthetic: d.Synthetic, Notes: nil, Rule: nil, Audit: nil,
	}
	if a.Level == Partner {
		c.Agreement = s.Agreement
	}
	c.units(d, s, a)
	for _, w := range s.Measures {
		def, err := d.Catalogue.Named(w.Measure)
		if err != nil {
			return nil, err
		}
		m, err := c.measure(d, s, w, def)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", w.Measure, err)
		}
		c.Measures = append(c.Measures, m)
	}
	c.moved(d, s)
	c.notes()
	return c, nil
}

func (c *Comparison) units(d *Data, s Settings, a Asked) {
	for _, u := range s.Units {
		st := d.Standing[u.Unit]
		own := a.Reader == u.Unit
		out := Unit{
			Unit: "", Label: "unit " + u.Code, Named: own || a.Level == Inside && a.Reader == "", Own: own, Coverage: st.CoverageIn,
			Open: len(st.Open), Held: 0, Births: d.Births[u.Unit], HasBirth: d.Births[u.Unit] > 0,
		}
		if out.Named {
			out.Unit, out.Label = u.Unit, u.Unit
			if n := a.Names[u.Unit]; n != "" {
				out.Label = n
			}
		}
		for _, n := range d.Held[u.Unit] {
			out.Held += n
		}
		c.Held += out.Held
		c.Units = append(c.Units, out)
	}
}

func (c *Comparison) measure(d *Data, s Settings, w Wish, def measure.Definition) (Measure, error) {
	m := Measure{
		Definition: def, Title: def.Title, Why: w.Why, Pooled: Figure{}, Target: nil, Limits: nil, //nolint:exhaustruct // an empty figure
		Spread: Spread{Judged: false, Phi: 0, Called: false, Inflate: 1, Text: ""}, ByChance: "", Figures: nil, Adjusted: nil, Sums: nil, Notes: nil,
	}
	all := make([]Counted, len(s.Units))
	pooled := metrics.Counts{} //nolint:exhaustruct // nothing counted yet
	for i, u := range s.Units {
		st := d.Standing[u.Unit]
		f := Figure{Absent: st.Absent(def)} //nolint:exhaustruct // a figure without counts
		if f.Absent == "" {
			all[i] = d.Count(def, u.Unit)
			f = figureOf(all[i].All)
			pooled = pooled.Add(all[i].All)
		}
		m.Figures = append(m.Figures, f)
	}
	m.Pooled = figureOf(pooled)
	if err := c.target(&m, def); err != nil {
		return m, err
	}
	if err := m.funnel(); err != nil {
		return m, err
	}
	if w.Adjust {
		a, err := c.adjusted(&m, all)
		if err != nil {
			return m, err
		}
		m.Adjusted = a
	}
	for _, wish := range s.Sums {
		if wish.Measure == def.ID && c.Deployment == Centre {
			sums, err := c.sums(d, s, wish, def, m.Figures)
			if err != nil {
				return m, err
			}
			m.Sums = sums
		}
	}
	return m, nil
}

// figureOf is what was counted, with what the share would be had none or all of the
// newborns without an answer been met.
func figureOf(n metrics.Counts) Figure {
	total := func(x []int) (t int) {
		for _, v := range x {
			t += v
		}
		return t
	}
	f := Figure{ //nolint:exhaustruct // limits come later
		Met: n.Met, NotMet: n.NotMet, Unknown: n.Unknown, Undecided: n.Undecided, EligibilityUnknown: n.EligibilityUnknown,
		Excluded: total(n.Excluded), Exceptions: total(n.Exceptions),
	}
	if k := f.Known(); k > 0 {
		share := float64(f.Met) / float64(k)
		f.Share = &share
	}
	if e := f.Eligible(); e > 0 {
		known := float64(f.Known()) / float64(e)
		f.Completeness = &known
		if open := f.Unknown + f.Undecided; open > 0 {
			f.Bounds = &metrics.Bounds{Low: float64(f.Met) / float64(e), High: float64(f.Met+open) / float64(e)}
		}
	}
	return f
}

// target is the share of all units together, or that of a reference.
func (c *Comparison) target(m *Measure, def measure.Definition) error {
	if c.Reference != nil {
		r, why := c.Reference.of(def)
		if why != "" {
			m.Notes = append(m.Notes, why)
			return nil
		}
		met, known := r.sum()
		if known == 0 {
			m.Notes = append(m.Notes, "The reference holds no newborn for this measure.")
			return nil
		}
		m.Target = &Target{Value: float64(met) / float64(known), Text: fmt.Sprintf("%s, version %s, dated %s: %d of %d in %d units", c.Reference.Source, c.Reference.Version, c.Reference.Dated, met, known, r.Units)}
		return nil
	}
	if m.Pooled.Share != nil {
		m.Target = &Target{Value: *m.Pooled.Share, Text: "all units together"}
	}
	return nil
}

// funnel adds exact limits, distances, places and curves, over the figures that are
// there.
func (m *Measure) funnel() error {
	m.Limits, m.ByChance = nil, ""
	m.Spread = Spread{Judged: false, Phi: 0, Called: false, Inflate: 1, Text: ""}
	if m.Target == nil {
		m.Spread.Text = "No target: nothing to judge against."
		return nil
	}
	t := m.Target.Value
	if t == 0 || t == 1 {
		m.Spread.Text = "Every newborn met the measure, or none did: there are no limits to judge against."
		return nil
	}
	var z, s []float64
	most, with := 0, 0
	for i := range m.Figures {
		f := &m.Figures[i]
		n := f.Known()
		if f.Absent != "" || n == 0 {
			continue
		}
		with++
		most = max(most, n)
		se := math.Sqrt(t * (1 - t) / float64(n))
		dist := (*f.Share - t) / se
		f.Z = &dist
		z, s = append(z, dist), append(s, se)
	}
	if err := m.judgeSpread(z, s, with); err != nil {
		return err
	}
	for i := range m.Figures {
		f := &m.Figures[i]
		if f.Absent != "" || f.Known() == 0 {
			continue
		}
		if err := f.judge(t, m.Spread.Inflate); err != nil {
			return err
		}
	}
	return m.curves(t, most, with)
}

func (m *Measure) judgeSpread(z, s []float64, units int) error {
	if units < compare.MinUnits || len(z) < compare.MinUnits {
		m.Spread.Text = fmt.Sprintf("%d units: too few units to judge spread between them. Plain limits are drawn.", units)
		if units == 1 {
			m.Spread.Text = "One unit: spread between units cannot be judged. Plain limits are drawn."
		}
		return nil
	}
	o, err := compare.Spread(z, s, compare.Type7)
	if err != nil {
		return err
	}
	m.Spread.Judged, m.Spread.Phi, m.Spread.Called = true, o.Phi, o.Called
	if !o.Called {
		m.Spread.Text = fmt.Sprintf("%d units differ no more than chance would have it (mean squared distance %.2f). Plain limits are drawn.", units, o.Phi)
		return nil
	}
	m.Spread.Inflate = o.Inflate
	m.Spread.Text = fmt.Sprintf("%d units differ by more than chance (mean squared distance %.2f): limits are drawn wider by a factor of %.2f.", units, o.Phi, o.Inflate)
	return nil
}

// limit is the exact limit for n cases, widened about the target.
func limit(n int, target, tail, inflate float64) (float64, error) {
	x, err := compare.Limit(n, target, tail)
	if err != nil {
		return 0, err
	}
	return compare.Clamped(target + (x-target)*inflate), nil
}

func (f *Figure) judge(t, inflate float64) error {
	for _, l := range []struct {
		to   **float64
		tail float64
	}{{&f.Lower95, innerTail}, {&f.Upper95, 1 - innerTail}, {&f.Lower998, outerTail}, {&f.Upper998, 1 - outerTail}} {
		x, err := limit(f.Known(), t, l.tail, inflate)
		if err != nil {
			return err
		}
		*l.to = &x
	}
	f.Place, f.Outside = place(*f.Share, *f.Lower95, *f.Upper95, *f.Lower998, *f.Upper998)
	return nil
}

// place says in words where a figure lies; a figure on a limit is inside.
func place(v, l95, u95, l998, u998 float64) (string, bool) {
	switch {
	case v > u998:
		return "above 99.8 %", true
	case v < l998:
		return "below 99.8 %", true
	case v > u95:
		return "above 95 %", false
	case v < l95:
		return "below 95 %", false
	}
	return "within", false
}

// curves computes the limits to be drawn and what chance would put outside.
func (m *Measure) curves(t float64, most, units int) error {
	end := int(math.Ceil(1.06 * float64(most)))
	for _, l := range []struct {
		text string
		tail float64
	}{{"95 %", innerTail}, {"99.8 %", outerTail}} {
		k := Limit{Text: l.text, Tail: l.tail, Points: nil}
		for n := 1; n <= end; n += max(1, n/30) {
			low, err := limit(n, t, l.tail, m.Spread.Inflate)
			if err != nil {
				return err
			}
			high, err := limit(n, t, 1-l.tail, m.Spread.Inflate)
			if err != nil {
				return err
			}
			k.Points = append(k.Points, CurvePoint{Cases: n, Lower: low, Upper: high})
		}
		m.Limits = append(m.Limits, k)
	}
	inner, _, err := compare.OutsideByChance(units, 1-2*innerTail)
	if err != nil {
		return err
	}
	outer, one, err := compare.OutsideByChance(units, 1-2*outerTail)
	if err != nil {
		return err
	}
	m.ByChance = fmt.Sprintf("Of %d units, %s would lie outside the 95 %% limits and %s outside the 99.8 %% limits if nothing differed but chance; the chance that at least one of them lies outside the 99.8 %% limits is %s.",
		units, few(inner), few(outer), percent(one))
	if units == 1 {
		m.ByChance = "If nothing differed but chance, one comparison in 20 would lie outside the 95 % limits and one in 500 outside the 99.8 % limits."
	}
	return nil
}

// few writes a small expected number with two significant digits.
func few(x float64) string { return fmt.Sprintf("%.2g", x) }

func percent(x float64) string { return fmt.Sprintf("%.2g %%", 100*x) }

func (c *Comparison) moved(d *Data, s Settings) {
	line := func(n metrics.Counts) MovedLine {
		l := MovedLine{Moved: n.Met, Of: n.Eligible(), Unknown: n.Unknown + n.Undecided, Hidden: false, Text: ""}
		l.Text = fmt.Sprintf("Born here, moved within 24 h, outcome unknown: %d", l.Moved)
		return l
	}
	all := metrics.Counts{} //nolint:exhaustruct // nothing counted yet
	for _, u := range s.Units {
		c.Moved = append(c.Moved, line(d.Moved[u.Unit]))
		all = all.Add(d.Moved[u.Unit])
	}
	c.MovedAll = line(all)
}

// notes are what every reader must know.
func (c *Comparison) notes() {
	c.Notes = append(c.Notes,
		"No unit is better or worse for its place in a table: units stand in the order of their codes, always the same.",
		"A figure outside the limits says that chance alone is an unlikely reason. Case mix, how things are written down and how completely come first.",
	)
	if c.Deployment == Centre && c.Level != Inside {
		c.Notes = append(c.Notes, "Codes are a courtesy, not a protection: units differ in size, and whoever knows the sizes may recognise them.")
	}
	if c.Held > 0 {
		c.Notes = append(c.Notes, fmt.Sprintf("Newborns held back in deliveries that touch these months, and in no figure: %d.", c.Held))
	}
	open := 0
	for _, u := range c.Units {
		if u.Open > 0 {
			open++
		}
	}
	if open > 0 {
		c.Notes = append(c.Notes, fmt.Sprintf("Units with months that have not closed: %d. Their figures may still change.", open))
	}
}

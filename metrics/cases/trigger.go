package cases

import (
	"slices"

	"chestrise/etl/record"
)

// answer is what the record says to a question.
type answer uint8

const (
	no answer = iota
	maybe
	holds
)

// Trigger is a reason to look at a newborn's record. It holds where every
// condition holds for certain.
type Trigger struct {
	ID       string
	Title    string
	When     []Condition
	Step     string // compressions, drugs or airway: a limit agreed before birth for it switches the trigger off
	Comfort  bool   // switched off where comfort care was agreed and given
	Expected Expected
	Measures []string // ids of the charts that belong to it
}

// Condition is one question to a record: of a fact, or of an event.
type Condition struct {
	Fact   string // a fact's name; of an interval, the name without _lo and _hi
	lo, hi record.Fact
	Is     []string // the fact is one of these words

	Above, Below, AtLeast, AtMost *float64

	BlankIsNo bool // nothing on record means that it does not hold, as for a death

	Event string // or: an event of this kind is on record
	kind  record.Kind
	Codes []string // with one of these codes; empty: any
	codes []record.EventCode
}

// Expected is how often a trigger is to be expected, as a share of the newborns
// of a gestation band.
type Expected struct {
	Source string
	Shares map[uint8]float64 // by code of record.FactGestationBand
}

// in gives the share in a newborn's band. Where the gestation is not known the
// smallest share of all bands stands: it could be the least expected. false: no
// share is given, and the trigger counts as expected.
func (e Expected) in(f record.Facts) (float64, bool) {
	b := code(f, record.FactGestationBand)
	if s, ok := e.Shares[b]; ok {
		return s, true
	}
	if b != record.BandUnknown || len(e.Shares) == 0 {
		return 1, false
	}
	least := 1.0
	for _, s := range e.Shares {
		least = min(least, s)
	}
	return least, true
}

func (t *Trigger) holds(d *record.Document, f record.Facts) answer {
	a := holds
	for i := range t.When {
		a = min(a, t.When[i].ask(d, f))
	}
	return a
}

// switchedOff says whether a limit agreed before birth names the trigger's step.
func (t *Trigger) switchedOff(d *record.Document, f record.Facts) bool {
	if t.Comfort && yes(f, record.FactComfortOnly) {
		return true
	}
	return limitedStep(d, t.Step)
}

// limitedStep says whether a limit agreed before birth names a step of the settings.
func limitedStep(d *record.Document, step string) bool {
	switch step {
	case "compressions":
		return limited(d, record.PlanLimitsCompressions)
	case "drugs":
		return limited(d, record.PlanLimitsDrugs)
	case "airway":
		return limited(d, record.PlanLimitsAirway)
	}
	return false
}

// limited says whether a step is excluded by a limit agreed before birth.
func limited(d *record.Document, step uint8) bool {
	v := d.Newborn[record.PlanLimits]
	return v.State == record.Recorded && v.Set&(1<<(step-1)) != 0
}

func (c *Condition) ask(d *record.Document, f record.Facts) answer {
	if c.Event != "" {
		for i := range d.Events {
			e := &d.Events[i]
			if e.Kind == c.kind && (len(c.codes) == 0 || slices.Contains(c.codes, e.Code)) {
				return holds
			}
		}
		if d.Damaged.Has(record.Events[c.kind].Section) {
			return maybe
		}
		return no
	}
	lo, hi := f[c.lo], f[c.hi]
	switch lo.State {
	case record.Recorded:
	case record.NotApplicable:
		return no
	case record.Blank, record.SetAside:
		if c.BlankIsNo && lo.State == record.Blank {
			return no
		}
		return maybe
	}
	if len(c.Is) > 0 {
		return truth(slices.Contains(c.Is, word(f, c.lo)))
	}
	open := hi.State != record.Recorded // without an upper end
	a := holds
	for _, q := range []struct {
		limit   *float64
		certain func(x float64) bool
		never   func(x float64) bool
	}{
		{c.Above, func(x float64) bool { return lo.Number > x }, func(x float64) bool { return !open && hi.Number <= x }},
		{c.AtLeast, func(x float64) bool { return lo.Number >= x }, func(x float64) bool { return !open && hi.Number < x }},
		{c.Below, func(x float64) bool { return !open && hi.Number < x }, func(x float64) bool { return lo.Number >= x }},
		{c.AtMost, func(x float64) bool { return !open && hi.Number <= x }, func(x float64) bool { return lo.Number > x }},
	} {
		switch {
		case q.limit == nil || q.certain(*q.limit):
		case q.never(*q.limit):
			return no
		default:
			a = maybe
		}
	}
	return a
}

func truth(b bool) answer {
	if b {
		return holds
	}
	return no
}

// code is the code of a recorded fact, 0 otherwise.
func code(f record.Facts, i record.Fact) uint8 {
	if f[i].State != record.Recorded {
		return 0
	}
	return f[i].Code
}

func yes(f record.Facts, i record.Fact) bool { return code(f, i) == record.Yes }

// word is the word of a recorded fact that has codes, "" otherwise.
func word(f record.Facts, i record.Fact) string {
	v, spec := f[i], record.FactSpecs[i]
	codes := spec.Codes
	if spec.Type == record.YesNoType || spec.Type == record.MarkType {
		codes = record.YesNo
	}
	if v.State != record.Recorded || v.Code == 0 || int(v.Code) > len(codes) {
		return ""
	}
	return codes[v.Code-1]
}

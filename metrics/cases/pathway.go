package cases

import (
	"cmp"
	"slices"
	"sort"

	"chestrise/etl/record"
)

// PathwayCaption stands under every pathway.
const PathwayCaption = "Order reflects habit. This page cannot show which step works."

// Pathway counts corrective steps and what followed them, over a period or over
// its two sides of a training.
type Pathway struct {
	Training record.Month // 0: none; its own month belongs to neither side
	Parts    []PathwayPart
}

// PathwayPart is one side of a training, or the whole period.
type PathwayPart struct {
	Name       string
	Ventilated int // newborns ventilated by mask or nasal interface within 20 minutes
	Charted    int // of them, with the section of steps marked as filled in
	AnyStep    int // newborns with a step on record before any airway attempt
	Steps      []StepCount
	Ends       []EndCount
	Answers    []Answer // newborns with a heart rate below 100 at the start
}

// StepCount is one kind of step. The heart rate answers 20 to 30 s after
// ventilation begins to work and is never credited to a step: it belongs to the
// round. Chest movement or exhaled CO2 within ten seconds is counted.
type StepCount struct {
	Name     string
	Records  int // of this step
	Newborns int // with at least one
	Timed    int // records with a usable time
	Followed int // of those, by chest movement or CO2 within 10 s
}

// EndCount is what came first after the first inflation.
type EndCount struct {
	Name     string
	Newborns int
}

// Answer is one newborn's time from the first inflation to the first end, for the
// curve. Sign: the end is a sign of effective ventilation; otherwise another end
// came first.
type Answer struct {
	Low, High float64
	Sign      bool
}

// followS is within how many seconds after a step chest movement or CO2 counts as
// having followed it.
const followS = 10

func newPathway(training record.Month) *Pathway {
	p := &Pathway{Training: training, Parts: nil}
	names := []string{"The period"}
	if training != 0 {
		names = []string{"Before the last training", "After the last training"}
	}
	for _, n := range names {
		part := PathwayPart{Name: n, Ventilated: 0, Charted: 0, AnyStep: 0, Steps: nil, Ends: nil, Answers: nil}
		for c := record.StepAirwayClearing; c <= record.StepPressure; c++ {
			part.Steps = append(part.Steps, StepCount{Name: stepWords[c], Records: 0, Newborns: 0, Timed: 0, Followed: 0})
		}
		for _, e := range endWords {
			part.Ends = append(part.Ends, EndCount{Name: e, Newborns: 0})
		}
		p.Parts = append(p.Parts, part)
	}
	return p
}

// endWords are the words of record.FactFirstEnd, in the order of its codes; the
// last stands for a blank.
var endWords = []string{
	"heart rate 100 or more", "heart rate up by 20", "chest movement", "exhaled CO₂", "airway attempt", "compressions", "drug", "ventilation stopped", "died", "20 minutes of observation", "cannot be told which came first", "not recorded",
}

// part is the side of the training on which a month lies, nil for the training's
// own month.
func (p *Pathway) part(m record.Month) *PathwayPart {
	switch {
	case p.Training == 0 || m < p.Training:
		return &p.Parts[0]
	case m == p.Training:
		return nil
	}
	return &p.Parts[1]
}

func (p *Pathway) count(d *record.Document, f record.Facts) {
	part := p.part(d.Month)
	if part == nil || !yes(f, record.FactMaskVentilated) {
		return
	}
	part.Ventilated++
	if charted(d, record.Steps) {
		part.Charted++
	}
	if yes(f, record.FactAnyStep) {
		part.AnyStep++
	}
	end := code(f, record.FactFirstEnd)
	if end == 0 {
		end = uint8(len(endWords))
	}
	part.Ends[end-1].Newborns++
	lo, hi := f[record.FactToFirstEndLo], f[record.FactToFirstEndHi]
	if code(f, record.FactHrAtStart) == record.HrAtStartBelow100 && lo.State == record.Recorded && hi.State == record.Recorded && end < record.FirstEndUndecided {
		part.Answers = append(part.Answers, Answer{Low: lo.Number, High: hi.Number, Sign: end <= record.FirstEndExhaledCo2})
	}
	part.steps(d)
}

func (part *PathwayPart) steps(d *record.Document) {
	var seen [record.StepPressure + 1]bool
	for i := range d.Events {
		e := &d.Events[i]
		if e.Kind != record.CorrectiveStep || e.Code == 0 || later(d, e) {
			continue
		}
		s := &part.Steps[e.Code-1]
		s.Records++
		if !seen[e.Code] {
			seen[e.Code] = true
			s.Newborns++
		}
		halves, minute := e.Precision()
		if !e.Timed || minute || halves > 2*followS {
			continue
		}
		s.Timed++
		for k := range d.Events {
			o := &d.Events[k]
			good := o.Kind == record.ChestMovement && o.Code == record.ChestMoving || o.Kind == record.ExhaledCO2 && o.Code == record.CO2Detected
			if good && o.Timed && o.Clock == e.Clock && o.At >= e.At && o.At <= e.At+followS {
				s.Followed++
				break
			}
		}
	}
}

// later says whether a row belongs to a resuscitation later than the birth.
func later(d *record.Document, e *record.Event) bool {
	for i := range d.Events {
		if o := &d.Events[i]; o.Kind == record.LaterResuscitation && o.Grouped && e.Grouped && o.Group == e.Group {
			return true
		}
	}
	return false
}

// sorted puts the steps into the order of their names: neither of how often they
// were taken nor of what followed them. The answers go into an order that does not
// depend on that of the births.
func (p *Pathway) sorted() Pathway {
	for i := range p.Parts {
		s := p.Parts[i].Steps
		sort.Slice(s, func(a, b int) bool { return s[a].Name < s[b].Name })
		slices.SortFunc(p.Parts[i].Answers, func(a, b Answer) int {
			return cmp.Or(cmp.Compare(a.Low, b.Low), cmp.Compare(a.High, b.High), signFirst(a, b))
		})
	}
	return *p
}

func signFirst(a, b Answer) int {
	switch {
	case a.Sign == b.Sign:
		return 0
	case a.Sign:
		return -1
	}
	return 1
}

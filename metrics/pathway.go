package metrics

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"chestrise/etl/record"
	"chestrise/metrics/cell"
	"chestrise/metrics/estimate"
)

// PathwayCaption stands under every pathway.
const PathwayCaption = "Order reflects habit. This page cannot show which step works."

// PathwayContext is what is published on the same question, with its source.
const PathwayContext = "Published for comparison of counts only: 41 corrective actions on video in 30 newborns under 32 weeks, taking a median of 15 s (quartiles 7 and 29). Source: Yang 2020, Arch Dis Child Fetal Neonatal Ed, doi 10.1136/archdischild-2019-318579."

// Documents hands over documents; the pathway is the one view that needs the rows
// themselves.
type Documents interface {
	// Documents hands over the documents in scope, withdrawn ones left out, in a
	// fixed order. The document is valid during the call only.
	Documents(ctx context.Context, s cell.Scope, keys []record.Key, f func(*record.Document) error) error
}

// Pathway counts corrective steps as they were recorded from the first inflation to
// the first airway attempt, and what is on record after them. It counts; it neither
// ranks nor rates steps. Every list is in the order of its words, never of how often
// something was done or of what followed.
type Pathway struct {
	Unit     UnitName
	From, To record.Month
	Group    PathwayGroup // everyone
	By       []PathwayBy  // the same as counts, by device and by gestation
	Orders   []PathwayOrder
	Pairs    []PathwayPair
	Between  PathwayGaps
	Rounds   PathwayRounds
	Caption  string
	Context  string
	Notes    []string
}

// PathwayGroup are the counts of some newborns.
type PathwayGroup struct {
	Name       string
	Newborns   int // ventilated by mask or nasal interface within 20 minutes
	Charted    int // of them, with the section of steps marked as filled in
	AnyStep    int // with a step on record
	Failed     int // with a failed first check
	FailedStep int // of those, with a step from 5 s before to 30 s after it
	Airway     int // an airway attempt ended the pathway
	Steps      []PathwayStep
}

// PathwayStep is one kind of step. The heart rate answers 20 to 30 s after
// ventilation begins to work and is never credited to a step: it belongs to the
// round. Only chest movement or exhaled CO2 within ten seconds is counted.
type PathwayStep struct {
	Code     string
	Name     string
	Records  int
	Newborns int // with at least one
	First    int // newborns whose first recorded step it was
	Timed    int // records with a time precise enough to see ten seconds
	Followed int // of those, by chest movement or exhaled CO2 within 10 s
	Text     string
}

// PathwayBy is a table of counts by one property of the birth.
type PathwayBy struct {
	Title  string
	Groups []PathwayGroup
}

// PathwayOrder is a recorded order of steps with how many newborns had it.
type PathwayOrder struct {
	Steps    []string // names; steps of the same second are joined by "with"
	Text     string
	Newborns int
}

// PathwayPair counts how often one step was recorded next after another.
type PathwayPair struct {
	First, Next string
	Count       int
}

// PathwayGaps are the seconds between one step and the next.
type PathwayGaps struct {
	Gaps     int
	Untold   int // pairs of steps whose times are not precise enough
	Median   *float64
	Quartile [2]*float64 // nil under twenty gaps
	Text     string
}

// PathwayRounds are steps recorded close together, and the heart rate after them.
type PathwayRounds struct {
	Apart    int // steps at most this many seconds apart belong to one round
	After    int // seconds after a round in which a heart rate is looked for
	Rounds   int
	Recorded int // with a heart rate on record after the round, in time and before the next
	Risen    int // of those, 100 or more, or 20 above the last one before the round
	Text     string
}

// PathwayQuery says which pathway is wanted.
type PathwayQuery struct {
	Unit     string
	From, To record.Month
	AsOf     record.Generation // 0: now
	// Facts derives the facts of a document, as the registry does.
	Facts func(*record.Document) record.Facts
}

// The windows of a pathway, in seconds: after a step, between the steps of a round,
// and after a round. The first is that of the catalogue; the others are common
// practice, no source.
const (
	followedS   = 10
	roundApartS = 30
	afterRoundS = 60
	riseBy      = 20
)

// smallCount is how many cases a rate, a median or a quartile needs; quantileType the
// definition of a quartile.
const (
	smallCount   = 20
	quantileType = 7 // Hyndman & Fan 1996, the default of most numeric libraries
)

// Pathway reads the documents of a unit's months once and counts. The same documents
// give the same counts in whatever order they come. A period without newborns gives
// zeros.
func (e *Engine) Pathway(ctx context.Context, src Documents, q PathwayQuery) (Pathway, error) {
	w := newPathwayCount()
	scope := cell.Scope{AsOf: q.AsOf, Units: []string{q.Unit}, From: q.From, To: q.To, UnitMonths: nil}
	if err := src.Documents(ctx, scope, nil, func(d *record.Document) error {
		if !d.Withdrawn {
			w.take(d, q.Facts(d))
		}
		return nil
	}); err != nil {
		return Pathway{}, fmt.Errorf("pathway of %s: %w", q.Unit, err)
	}
	return w.finish(e.name(q.Unit), q.From, q.To)
}

// stepNames are the printed names of the steps, indexed like the dictionary's codes.
var stepNames = map[string]string{
	"airway-clearing": "airway cleared", "head-position": "head position", "mask-seal": "mask seal", "mouth-opening": "mouth opened", "pressure": "pressure raised",
}

func newGroup(name string) PathwayGroup {
	g := PathwayGroup{Name: name, Newborns: 0, Charted: 0, AnyStep: 0, Failed: 0, FailedStep: 0, Airway: 0, Steps: nil}
	for _, code := range record.Events[record.CorrectiveStep].Codes {
		g.Steps = append(g.Steps, PathwayStep{Code: code, Name: stepNames[code], Records: 0, Newborns: 0, First: 0, Timed: 0, Followed: 0, Text: ""})
	}
	return g
}

type pathwayCount struct {
	all     PathwayGroup
	by      [2]map[string]*PathwayGroup // by device, by gestation band
	orders  map[string]*PathwayOrder
	pairs   map[[2]string]int
	gaps    []float64
	untold  int
	loose   int // newborns whose order of steps cannot be told
	rounds  int
	read    int
	risen   int
	untimed int // steps without a time
}

func newPathwayCount() *pathwayCount {
	return &pathwayCount{
		all: newGroup("all"), by: [2]map[string]*PathwayGroup{{}, {}}, orders: map[string]*PathwayOrder{}, pairs: map[[2]string]int{},
		gaps: nil, untold: 0, loose: 0, rounds: 0, read: 0, risen: 0, untimed: 0,
	}
}

// byFacts are the properties of the tables by group.
var byFacts = [2]struct {
	title string
	fact  record.Fact
}{{"By device at the first inflation", record.FactFirstDevice}, {"By gestation", record.FactGestationBand}}

func word(f *record.Facts, fact record.Fact) string {
	v := f[fact]
	if v.State != record.Recorded || v.Code == 0 {
		return ""
	}
	codes := record.FactSpecs[fact].Codes
	if record.FactSpecs[fact].Type == record.YesNoType {
		codes = record.YesNo
	}
	if int(v.Code) > len(codes) {
		return ""
	}
	return codes[v.Code-1]
}

func (w *pathwayCount) take(d *record.Document, f record.Facts) {
	const yes = "yes"
	if word(&f, record.FactInPopulation) != yes || word(&f, record.FactMaskVentilated) != yes {
		return
	}
	groups := []*PathwayGroup{&w.all}
	for i, b := range byFacts {
		name := cmp.Or(word(&f, b.fact), "not recorded")
		g := w.by[i][name]
		if g == nil {
			x := newGroup(name)
			g = &x
			w.by[i][name] = g
		}
		groups = append(groups, g)
	}
	taken := stepsOf(d)
	charted := d.Newborn[record.ChartedSteps].State == record.Recorded && !d.Damaged.Has(record.Steps)
	for _, g := range groups {
		g.Newborns++
		g.Charted += one(charted)
		g.AnyStep += one(len(taken.rows) > 0)
		g.Failed += one(word(&f, record.FactFirstCheck) == "failed")
		g.FailedStep += one(word(&f, record.FactStepWhenNeeded) == yes)
		g.Airway += one(taken.airway)
		g.count(d, taken)
	}
	w.order(taken)
	w.round(d, taken)
}

func one(b bool) int {
	if b {
		return 1
	}
	return 0
}

// taken are the steps of one newborn from the first inflation to the first airway
// attempt, in row order.
type taken struct {
	rows   []*record.Event
	airway bool
}

// stepsOf finds them. A row of another clock than the inflation's, or without a time,
// belongs to the pathway unless an airway attempt makes its place matter. Times are
// compared as typed.
func stepsOf(d *record.Document) taken {
	var first, attempt *record.Event
	begins := func(e *record.Event) bool { return e.Kind == record.SupportBegun && e.Code == record.SupportPPV }
	for i := range d.Events {
		e := &d.Events[i]
		if !e.Timed || laterRow(d, e) {
			continue
		}
		if begins(e) && (first == nil || e.At < first.At) {
			first = e
		}
		if e.Kind == record.AirwayBegun && (attempt == nil || e.At < attempt.At) {
			attempt = e
		}
	}
	t := taken{rows: nil, airway: attempt != nil}
	for i := range d.Events {
		e := &d.Events[i]
		if e.Kind != record.CorrectiveStep || e.Code == 0 || laterRow(d, e) {
			continue
		}
		placed := e.Timed && first != nil && e.Clock == first.Clock
		switch {
		case placed && e.At < first.At:
		case attempt != nil && (!e.Timed || e.Clock != attempt.Clock || e.At > attempt.At):
		default:
			t.rows = append(t.rows, e)
		}
	}
	return t
}

// laterRow says whether a row belongs to a resuscitation later than the birth.
func laterRow(d *record.Document, e *record.Event) bool {
	for i := range d.Events {
		if o := &d.Events[i]; o.Kind == record.LaterResuscitation && o.Grouped && e.Grouped && o.Group == e.Group {
			return true
		}
	}
	return false
}

// sharp says whether a time is precise enough to see ten seconds.
func sharp(e *record.Event) bool {
	halves, minute := e.Precision()
	return e.Timed && !minute && halves <= 2*followedS
}

func (g *PathwayGroup) count(d *record.Document, t taken) {
	var seen [record.StepPressure + 1]bool
	first, told := firstStep(t)
	for _, e := range t.rows {
		s := &g.Steps[e.Code-1]
		s.Records++
		if !seen[e.Code] {
			seen[e.Code] = true
			s.Newborns++
			s.First += one(told && first == e.Code)
		}
		if !sharp(e) {
			continue
		}
		s.Timed++
		s.Followed += one(slices.ContainsFunc(d.Events, func(o record.Event) bool {
			good := o.Kind == record.ChestMovement && o.Code == record.ChestMoving || o.Kind == record.ExhaledCO2 && o.Code == record.CO2Detected
			return good && o.Timed && o.Clock == e.Clock && o.At >= e.At && o.At <= e.At+followedS
		}))
	}
}

// firstStep is the step recorded first; false where it cannot be told.
func firstStep(t taken) (record.EventCode, bool) {
	seq, ok := sequence(t)
	if !ok || len(seq) == 0 || len(seq[0]) != 1 {
		return 0, false
	}
	return seq[0][0].Code, true
}

// sequence puts the steps into their order: steps typed for the same exact second
// stand together. False where imprecise times overlap, a time is missing, or two
// clocks are used.
func sequence(t taken) ([][]*record.Event, bool) {
	rows := slices.Clone(t.rows)
	for _, e := range rows {
		if !e.Timed || e.Clock != rows[0].Clock {
			return nil, false
		}
	}
	slices.SortStableFunc(rows, func(a, b *record.Event) int { return cmp.Or(cmp.Compare(a.At, b.At), cmp.Compare(a.Code, b.Code)) })
	var out [][]*record.Event
	for i, e := range rows {
		if i == 0 {
			out = append(out, []*record.Event{e})
			continue
		}
		before := rows[i-1]
		a, minuteA := before.Precision()
		b, minuteB := e.Precision()
		switch {
		case a == 0 && b == 0 && !minuteA && !minuteB && before.At == e.At:
			out[len(out)-1] = append(out[len(out)-1], e)
		case minuteA || minuteB || 2*(e.At-before.At) <= a+b:
			return nil, false
		default:
			out = append(out, []*record.Event{e})
		}
	}
	return out, true
}

func (w *pathwayCount) order(t taken) {
	for _, e := range t.rows {
		w.untimed += one(!e.Timed)
	}
	if len(t.rows) == 0 {
		return
	}
	seq, ok := sequence(t)
	if !ok {
		w.loose++
		w.untold += len(t.rows) - 1
		return
	}
	var names []string
	for i, together := range seq {
		var now []string
		for _, e := range together {
			now = append(now, stepNames[record.Events[record.CorrectiveStep].Codes[e.Code-1]])
		}
		slices.Sort(now)
		names = append(names, strings.Join(now, " with "))
		if i == 0 {
			continue
		}
		w.pairs[[2]string{names[i-1], names[i]}]++
		before := seq[i-1][len(seq[i-1])-1]
		if sharp(before) && sharp(together[0]) {
			w.gaps = append(w.gaps, float64(together[0].At-before.At))
		} else {
			w.untold++
		}
	}
	text := strings.Join(names, ", then ")
	o := w.orders[text]
	if o == nil {
		o = &PathwayOrder{Steps: names, Text: text, Newborns: 0}
		w.orders[text] = o
	}
	o.Newborns++
}

// round counts rounds of steps whose order can be told, and the heart rate after each.
func (w *pathwayCount) round(d *record.Document, t taken) {
	seq, ok := sequence(t)
	if !ok {
		return
	}
	type stretch struct{ from, to int32 }
	var rounds []stretch
	for _, s := range seq {
		at := s[0].At
		if n := len(rounds); n > 0 && at-rounds[n-1].to <= roundApartS {
			rounds[n-1].to = at
			continue
		}
		rounds = append(rounds, stretch{at, at})
	}
	for i, r := range rounds {
		w.rounds++
		until := r.to + afterRoundS
		if i+1 < len(rounds) {
			until = min(until, rounds[i+1].from-1)
		}
		var before, after *record.Event
		for k := range d.Events {
			e := &d.Events[k]
			if e.Kind != record.HeartRate || !e.Timed || e.Clock != seq[0][0].Clock || e.Code == record.HRNoReading || laterRow(d, e) {
				continue
			}
			if e.At <= r.from && (before == nil || e.At >= before.At) {
				before = e
			}
			if e.At > r.to && e.At <= until && (after == nil || e.At >= after.At) {
				after = e
			}
		}
		if after == nil {
			continue
		}
		w.read++
		low, _ := rateOf(after)
		rose := low >= 100
		if before != nil {
			_, top := rateOf(before)
			rose = rose || top >= 1 && low >= top+riseBy
		}
		w.risen += one(rose)
	}
}

// rateOf is a heart rate as an interval: a band by its ends.
func rateOf(e *record.Event) (low, high float64) {
	switch {
	case e.Valued:
		return e.Value, e.Value
	case e.Code == record.HRBelow60:
		return 1, 59
	case e.Code == record.HR60To99:
		return 60, 99
	case e.Code == record.HR100OrMore:
		return 100, 300
	}
	return 0, 0
}

func (w *pathwayCount) finish(unit UnitName, from, to record.Month) (Pathway, error) {
	p := Pathway{
		Unit: unit, From: from, To: to, Group: w.all.sorted(), By: nil, Orders: nil, Pairs: nil,
		Between: PathwayGaps{Gaps: len(w.gaps), Untold: w.untold, Median: nil, Quartile: [2]*float64{nil, nil}, Text: ""},
		Rounds:  PathwayRounds{Apart: roundApartS, After: afterRoundS, Rounds: w.rounds, Recorded: w.read, Risen: w.risen, Text: ""},
		Caption: PathwayCaption, Context: PathwayContext, Notes: nil,
	}
	for i, b := range byFacts {
		t := PathwayBy{Title: b.title, Groups: nil}
		for _, name := range append(slices.Clone(record.FactSpecs[b.fact].Codes), "not recorded") {
			if g := w.by[i][name]; g != nil {
				if b.fact == record.FactGestationBand && name != "not recorded" {
					g.Name = bandName(name)
				}
				t.Groups = append(t.Groups, g.sorted())
			}
		}
		p.By = append(p.By, t)
	}
	for _, o := range w.orders {
		p.Orders = append(p.Orders, *o)
	}
	slices.SortFunc(p.Orders, func(a, b PathwayOrder) int { return cmp.Compare(a.Text, b.Text) })
	for k, n := range w.pairs {
		p.Pairs = append(p.Pairs, PathwayPair{First: k[0], Next: k[1], Count: n})
	}
	slices.SortFunc(p.Pairs, func(a, b PathwayPair) int { return cmp.Or(cmp.Compare(a.First, b.First), cmp.Compare(a.Next, b.Next)) })
	if err := p.Between.fill(w.gaps); err != nil {
		return p, err
	}
	p.Rounds.Text = fmt.Sprintf("%d %s of steps at most %d s apart; after %d a heart rate is on record within %d s, and in %d of those it was 100 or more or had risen by %d.",
		w.rounds, plural(int64(w.rounds), "round", "rounds"), roundApartS, w.read, afterRoundS, w.risen, riseBy)
	if n := w.all.Newborns - w.all.Charted; n > 0 {
		p.Notes = append(p.Notes, fmt.Sprintf("For %d of %d newborns the section of steps is not marked as charted: that no step is on record does not mean that none was taken.", n, w.all.Newborns))
	}
	if w.loose > 0 {
		p.Notes = append(p.Notes, fmt.Sprintf("For %d %s the order of steps cannot be told from the times as recorded.", w.loose, plural(int64(w.loose), "newborn", "newborns")))
	}
	if w.untimed > 0 {
		p.Notes = append(p.Notes, fmt.Sprintf("%d %s no time: counted, and in no order.", w.untimed, plural(int64(w.untimed), "step has", "steps have")))
	}
	return p, nil
}

// sorted puts steps into the order of their names and says each in words: counts, and
// a rate only from twenty on.
func (g PathwayGroup) sorted() PathwayGroup {
	g.Steps = slices.Clone(g.Steps)
	for i := range g.Steps {
		s := &g.Steps[i]
		s.Text = fmt.Sprintf("%d of %d", s.Followed, s.Timed)
		if s.Timed >= smallCount {
			s.Text += fmt.Sprintf(" (%.0f %%)", 100*float64(s.Followed)/float64(s.Timed))
		}
	}
	slices.SortFunc(g.Steps, func(a, b PathwayStep) int { return cmp.Compare(a.Name, b.Name) })
	return g
}

func (b *PathwayGaps) fill(gaps []float64) error {
	b.Text = fmt.Sprintf("%d %s from one step to the next", b.Gaps, plural(int64(b.Gaps), "interval", "intervals"))
	if b.Gaps >= smallCount {
		var q [3]float64
		for i, p := range []float64{0.25, 0.5, 0.75} {
			x, _, err := estimate.Quantile(gaps, p, quantileType)
			if err != nil {
				return fmt.Errorf("seconds between steps: %w", err)
			}
			q[i] = x
		}
		b.Quartile, b.Median = [2]*float64{&q[0], &q[2]}, &q[1]
		b.Text += fmt.Sprintf(": median %.0f s, quartiles %.0f and %.0f s", q[1], q[0], q[2])
	}
	if b.Untold > 0 {
		b.Text += fmt.Sprintf("; for %d the times are not precise enough", b.Untold)
	}
	b.Text += "."
	return nil
}
